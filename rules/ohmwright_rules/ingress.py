"""Ingress codes (IEC 60529, from memory): which one is enough for another."""

from __future__ import annotations

__all__ = ["is_enough"]


def is_enough(code: str, wanted: str) -> bool:
    """Tell whether what has one ingress code may stand where another is asked for; a digit that is not stated counts as none.

    From the second digit 7 up (dipped) nothing is said of jets: it does not stand for 5 or 6.

    >>> is_enough("IP65", "IPX4"), is_enough("IP40", "IPX4"), is_enough("IP67", "IPX5"), is_enough("IP4X", "IP44")
    (True, False, False, False)
    """
    solids, water = _digits(code)
    wanted_solids, wanted_water = _digits(wanted)
    if solids < wanted_solids:
        return False
    if wanted_water in (5, 6):
        return wanted_water <= water <= 6 or water == 9
    return water >= wanted_water


def _digits(code: str) -> tuple[int, int]:
    """Return the two digits of a code, 0 where one is not stated."""
    solids, water = code[2:3], code[3:4]
    return int(solids) if solids.isdigit() else 0, int(water) if water.isdigit() else 0
