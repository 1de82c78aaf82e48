"""The share of its rating that a part carries when it is warm, from the points of a curve that it declares."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise

from ohmwright.references import Step
from ohmwright_grammar.kinds.values import ShareAt

__all__ = ["share_at", "share_step"]

_RATED_AT = 25.0  # degC, at which a rating holds that says nothing else: common practice, no source


def share_at(points: Iterable[ShareAt], temperature: float) -> float:
    """Return the share of its rating that a part carries at a temperature [degC], at most 1.

    Straight lines between the points; up to the first one from 100 % at 25 degC; beyond the last the last line goes on, down to 0.

    >>> share_at([], 80.0)
    1.0
    """
    curve = sorted((float(point.temperature.low), float(point.share.low)) for point in points)
    if not curve:
        return 1.0
    if curve[0][0] > _RATED_AT:
        curve.insert(0, (_RATED_AT, 1.0))
    if temperature <= curve[0][0]:
        return min(1.0, curve[0][1])
    for (cool, high), (warm, low) in pairwise(curve):
        if temperature <= warm:
            return min(1.0, high + (low - high) * (temperature - cool) / (warm - cool))
    if len(curve) == 1:
        return min(1.0, curve[0][1])
    (cool, high), (warm, low) = curve[-2:]
    slope = min(0.0, (low - high) / (warm - cool))
    return max(0.0, min(1.0, low + slope * (temperature - warm)))


def share_step(share: float, temperature: float, declared: bool) -> Step:
    """Return the line of a working for a share at a temperature [degC]."""
    source = "as declared" if declared else "no curve is declared"
    return Step("k_T", f"air at {temperature:.4g} degC", share, "1", source)
