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
    ("M2", "two colour schemes in one build: no rule yet"),
    ("M3", "fuse size/type not marked at the holder: no rule yet"),
    ("M4", "outlet/inlet without V, A, polarity, direction: no rule yet"),
    ("M5", "connection order not posted: no rule yet"),
    ("M6", "polarity marks at battery and pigtails: no rule yet"),
    ("M7", "wire ids missing, duplicate, or not on the drawing: no rule yet"),
    ("M8", "drawings do not exist yet"),
    ("M9", "there is no diagram yet to disagree with the parts list"),
    ("M10", "no expected meter readings: no rule yet"),
    ("M11", "chemistry, Wh, date, transport mark absent: no rule yet"),
    ("M12", "AC outlet warning absent: no rule yet"),
    ("M13", "rating with no source: no rule yet"),
    ("M14", "no version or change log; re-test not triggered: no rule yet"),
)
