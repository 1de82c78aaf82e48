"""Which conductors a rule about protection asks about: the live ones. Returns, what is joined to no source and what belongs to a bought device are left out."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.findings import DoesNotApply
from ohmwright.study import Study

from ohmwright_rules.guarding import Guarding

__all__ = ["Left", "standings"]


class Left:
    """Conductors that a rule has nothing to ask of, counted by the reason."""

    def __init__(self) -> None:
        self.counts: dict[str, int] = {}

    def add(self, reason: str) -> None:
        """Count one more."""
        self.counts[reason] = self.counts.get(reason, 0) + 1

    def outcomes(self) -> Iterator[DoesNotApply]:
        """Yield one outcome for each reason, in the order of their words."""
        for reason in sorted(self.counts):
            yield DoesNotApply(reason, self.counts[reason])


def standings(study: Study, guard: Guarding, left: Left) -> Iterator[Branch]:
    """Yield every live conductor in the order of the circuit; count the others."""
    for wire in study.circuit.wires():
        conductor = wire.conductor
        assert conductor is not None
        if conductor.inside_device:
            left.add("part of a bought device")
            continue
        found = {protection.standing(wire) for protection in guard.protections if wire.name in protection.ways.edge_of}
        if "live" in found:
            yield wire
        elif "return" in found:
            left.add("a return: the devices in the feeds cover it")
        else:
            left.add("joined to no source")
