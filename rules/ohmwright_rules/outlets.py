"""Where a user can plug something in that the build does not name."""

from __future__ import annotations

from ohmwright.study import Study
from ohmwright_grammar.kinds.connector import Half

__all__ = ["is_outlet"]

_PATTERNS = ("mains socket", "lighter socket")


def is_outlet(study: Study, half: Half) -> bool:
    """Tell whether a user can plug a load of his own into a connector half.

    An outlet by its words or its pattern is one. Any other is where the circuit ends at it: where it has no mate in the build and is no inlet.
    """
    if half.direction in ("outlet", "both") or half.family in _PATTERNS:
        return True
    mated = any(half.name in (mating.first, mating.second) for mating in study.build.matings)
    return half.direction != "inlet" and not mated
