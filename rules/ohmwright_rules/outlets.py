"""Where a user can plug something in that the build does not name."""

from __future__ import annotations

from ohmwright.study import Study
from ohmwright_grammar.kinds.connector import Half

__all__ = ["is_outlet", "takes_a_load"]

_PATTERNS = ("mains socket", "lighter socket")


def is_outlet(study: Study, half: Half) -> bool:
    """Tell whether a user can plug a load of his own into a connector half.

    An outlet by its words or its pattern is one. Any other is where the circuit ends at it: where it has no mate in the build and is no inlet.
    """
    if half.direction in ("outlet", "both") or half.family in _PATTERNS:
        return True
    mated = any(half.name in (mating.first, mating.second) for mating in study.build.matings)
    return half.direction != "inlet" and not mated


def takes_a_load(study: Study, half: Half) -> bool:
    """Tell whether a user can plug a load of his own into a half in this build: into an outlet, and into what has no mate and is no inlet.

    A half through which packs join, both ways, is taken while its mate is in it.
    """
    if half.direction == "outlet" or half.family in _PATTERNS:
        return True
    mated = any(half.name in (mating.first, mating.second) for mating in study.build.matings)
    return half.direction != "inlet" and not mated
