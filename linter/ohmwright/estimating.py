"""How much memory a build will take, estimated before it is taken: from the number of its things, its conductors and its states."""

from __future__ import annotations

from ohmwright_grammar.kinds.connector import Half
from ohmwright_grammar.model import Build

__all__ = ["MOST_OBJECTS", "megabytes_for", "objects_of", "states_that_fit"]

MOST_OBJECTS = 50_000  # parts, conductors, pins and states after placing: design.md section 8
# Measured on radial nets of 200 to 10,000 wires and 5 to 50 states (tests/benchmarks prints the like): 4.7 to 8.3 kB for a thing as read, up to 0.71 kB
# for a branch of a solved state. What rules say of a thing is counted with as much again.
_THING = 0.012
_BRANCH_OF_STATE = 0.00075


def objects_of(build: Build) -> int:
    """Return the number of parts, conductors, pins and states."""
    pins = sum(len(part.pins or ()) for part in build.parts.values() if isinstance(part, Half))
    return len(build.parts) + len(build.runs) + pins + len(build.states)


def megabytes_for(objects: int, branches: int, states: int) -> float:
    """Return the memory [MB] that a study will take."""
    return objects * _THING + branches * states * _BRANCH_OF_STATE


def states_that_fit(objects: int, branches: int, megabytes: float) -> int:
    """Return how many states can be kept within the memory [MB]; 0 where not even the things fit.

    >>> states_that_fit(1000, 1000, 100.0)
    117
    """
    left = megabytes - objects * _THING
    if left <= 0:
        return 0
    return int(min(left / (max(branches, 1) * _BRANCH_OF_STATE), 1e9))
