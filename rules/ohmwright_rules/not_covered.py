"""The codes of the fault catalogue that no rule of this pack covers, each with its reason."""

from __future__ import annotations

__all__ = ["NOT_COVERED"]

NOT_COVERED: tuple[tuple[str, str], ...] = (
    ("J2", "answered as a promise (broken-promise), no finding without one"),
    ("J3", "no recovery margin after bad weather: no rule yet"),
    ("J4", "sized on yearly mean instead of the critical month: no rule yet"),
    ("J5", "usable depth enters the promises; by itself no rule yet"),
    ("J6", "rate loss enters the promises where an exponent is declared; by itself no rule yet"),
    ("J7", "cold capacity enters the promises; by itself no rule yet"),
    ("J9", "all loads together exceed the main: no rule yet"),
    ("J10", "charge taper forgotten: no rule yet"),
    ("J11", "conversion chain applied once instead of twice: no rule yet"),
    ("J12", "array loss factor left at 1.0: no rule yet"),
    ("M8", "drawings do not exist yet"),
    ("M9", "there is no diagram yet to disagree with the parts list"),
)
