"""Whether a value lies inside what can be: what its datum allows, and what its unit's dimension does."""

from __future__ import annotations

import functools
import math
from dataclasses import fields, is_dataclass
from typing import Any

from ohmwright_grammar.quantities import DIMENSIONS, Quantity
from ohmwright_grammar.things import Datum
from ohmwright_grammar.units import dimensions_of

__all__ = ["why_senseless"]

_MOST_COUNTED = 1e6  # of anything that is counted: more is a slip, and would be held in memory one by one


def why_senseless(datum: Datum[Any], value: Any) -> str | None:
    """Return what a value that is outside what can be has to be instead, in words; None where it makes sense."""
    dimension = datum.dimension
    if datum.make is not None and not isinstance(value, Quantity):
        limits = [(low, high, *_limits_of_unit(unit)) for low, high, unit in _ends_of_record(value)]
        if all(floor <= low and high <= ceiling for low, high, floor, ceiling in limits):
            return None
        return "Check its numbers and their units."
    if datum.above is None and datum.at_least is None and datum.at_most is None and dimension is None:
        return None
    floor = dimension.low if dimension is not None else None
    ceiling = dimension.high if dimension is not None else None
    lowest = max((limit for limit in (floor, datum.at_least) if limit is not None), default=None)
    highest = min((limit for limit in (ceiling, datum.at_most) if limit is not None), default=None)
    if datum.shape == "count" and highest is None:
        highest = _MOST_COUNTED
    for low, high in _ends(value):
        too_low = (lowest is not None and low < lowest) or (datum.above is not None and low <= datum.above)
        too_high = highest is not None and high > highest
        if too_low or too_high:
            from ohmwright_grammar.explaining import limits_of

            return limits_of(datum, lowest, highest if too_high or datum.at_most is not None else None)
    return None


def _ends_of_record(value: Any) -> list[tuple[float, float, str]]:
    """Return the ends and the unit of every quantity in a record."""
    if not is_dataclass(value) or isinstance(value, type):
        return []
    found = [getattr(value, part.name) for part in fields(value)]
    return [(low, high, item.unit) for item in found if isinstance(item, Quantity) for low, high in _ends(item)]


@functools.cache
def _limits_of_unit(unit: str) -> tuple[float, float]:
    """Return what a value in this unit can be, at most: the widest of the dimensions that know it."""
    known = [DIMENSIONS[name] for name in dimensions_of(unit)] if unit else []
    if not known:
        return -math.inf, math.inf
    return min(item.low for item in known), max(item.high for item in known)


def _ends(value: Any) -> list[tuple[float, float]]:
    if isinstance(value, Quantity):
        low = value.high if value.form == "at most" else value.low
        return [(low, value.low if value.form == "at least" else value.high)]
    if isinstance(value, int) and not isinstance(value, bool):
        number = float(min(value, 10**300))
        return [(number, number)]
    return []
