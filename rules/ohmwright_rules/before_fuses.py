"""What a battery feeds before any fuse or breaker, by the graph alone."""

from __future__ import annotations

from ohmwright.circuit.graph import Branch
from ohmwright.protection.ways import DEVICE
from ohmwright.study import Study

from ohmwright_rules.kept import kept
from ohmwright_rules.live_sides import live_sides

__all__ = ["feeds_unfused"]


def _unfused(study: Study) -> frozenset[str]:
    """Return the nodes that the live post of a battery reaches past no device, in any setting of what can be closed at the same time."""
    found: set[str] = set()
    for poles in live_sides(study):
        ways = poles.ways
        starts = [pole.cluster for pole in poles.all if pole.source.kind == "battery"]
        seen = ways.reach(starts, frozenset(ways.of_kind(DEVICE)).__contains__)
        for cluster, reached in enumerate(seen):
            if reached and not poles.returns[cluster]:
                found.update(ways.members[cluster])
    return frozenset(found)


def feeds_unfused(study: Study, wire: Branch) -> bool:
    """Tell whether a battery feeds a conductor past no fuse or breaker, so that nothing opens when it touches the case."""
    found = kept(study, _unfused)
    return wire.start in found or wire.end in found
