"""What is live and what returns, for every setting of what cannot be closed at the same time; a basis is not asked for.

The graph is the linter's (ohmwright.protection). What sources can push, which ways lead back through controllers, and what is joined to earth is said here.
"""

from __future__ import annotations

from collections.abc import Callable

from ohmwright.circuit.graph import Branch, Source
from ohmwright.protection.poles import Poles, sides
from ohmwright.protection.ways import Passage, Ways, settings
from ohmwright.study import Study
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.controller import Controller
from ohmwright_grammar.kinds.enclosure import Enclosure
from ohmwright_grammar.kinds.switch import Switching

from ohmwright_rules.kept import kept

__all__ = ["live_sides", "live_sides_without", "power_sides", "push_of"]

_INFINITE = float("inf")


def live_sides(study: Study) -> tuple[Poles, ...]:
    """Return what is live, once for every setting of what cannot be closed at the same time."""
    return kept(study, power_sides)


def push_of(source: Source) -> float | None:
    """Return the most that a source can push [A], infinite for a battery, None where nobody says."""
    return _INFINITE if isinstance(source.part, Battery) else source.limit


def power_sides(study: Study, stays: Callable[[Branch], bool] = lambda branch: False) -> tuple[Poles, ...]:
    """Return what `live_sides` does, with the branches that `stays` tells of as edges of their own."""
    return sides(
        study.circuit, barred=_barred_gates(study), passages=_passages_back(study), earthed=_earthed(study), stays=stays
    )


def live_sides_without(study: Study, apart: frozenset[str]) -> tuple[Poles, ...]:
    """Return what is live while some gates stay open, once for every setting; ways back through controllers are left out."""
    if not apart and not _passages_back(study):
        return live_sides(study)
    earthed = _earthed(study)
    found = {opened | apart for opened in settings(study.circuit, _barred_gates(study))}
    return tuple(Poles(Ways(study.circuit, opened), earthed) for opened in sorted(found, key=sorted))


def _barred_gates(study: Study) -> tuple[tuple[str, ...], ...]:
    """Return groups of gates of which only one is closed at a time: switches that bar each other, plugs that fit one and the same half."""
    groups: list[tuple[str, ...]] = [tuple(group) for group in study.anatomy.barred_together]
    for part in sorted(study.of(Switching), key=lambda part: part.name):
        groups.extend((part.name, other) for other in part.barred_with or ())
    groups.extend(matings for _, matings in sorted(study.anatomy.matings_of.items()) if len(matings) > 1)
    return tuple(dict.fromkeys(tuple(sorted(group)) for group in groups))


def _passages_back(study: Study) -> tuple[Passage, ...]:
    """Return the ways that current can take back through controllers that let it into their arrays."""
    return tuple(
        Passage(f"{part.name}, back into the array", f"{part.name}.batt_plus", f"{part.name}.pv_plus")
        for part in sorted(study.of(Controller), key=lambda part: part.name)
        if part.lets_current_back
    )


def _earthed(study: Study) -> frozenset[str]:
    return frozenset(node for case in study.of(Enclosure) for node in case.bonded_at or ())
