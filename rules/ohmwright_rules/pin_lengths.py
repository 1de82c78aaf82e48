"""Which contacts of a mated connector meet last and part first, which meet first and part last."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal

from ohmwright.study import Study
from ohmwright_grammar.kinds.connector import Half, Pin

from ohmwright_rules.terminals import nearest, pin_at

__all__ = ["Length", "length_of", "shorter"]

Length = Literal["short", "equal", "long", ""]


def length_of(study: Study, nodes: Iterable[str]) -> Length:
    """Return how long a contact is by what is said of its pins on either side: "short" mates last and parts first, "" where nothing is said."""
    found: list[Length] = []
    for node in nodes:
        said = pin_at(study, node)
        if said is None:
            continue
        half, pin = said
        mates = nearest(pin, Pin.mates, half, Half.mates)
        parts = pin.parts if pin is not None else None
        if mates == "last" or parts == "first":
            found.append("short")
        elif mates == "first" or parts == "last":
            found.append("long")
        elif mates is not None or parts is not None:
            found.append("equal")
    for length in ("short", "long", "equal"):
        if length in found:
            return length
    return ""


def shorter(one: Length, others: Iterable[Length]) -> bool | None:
    """Tell whether a contact is shorter than each of some others; None where that was not said.

    "Mates last" is said against the others of a connector, so that others that say nothing are longer.

    >>> shorter("short", ["", "long"]), shorter("equal", [""]), shorter("", ["long"]), shorter("", [""]), shorter("short", ["short"])
    (True, False, True, None, False)
    """
    rest = set(others)
    if one == "short":
        return "short" not in rest
    if one == "long":
        return False
    if rest == {"long"}:
        return True
    return False if one == "equal" or "short" in rest else None
