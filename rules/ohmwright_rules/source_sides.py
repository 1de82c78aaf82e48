"""On which side of a device sources lie, told at once for every device that no loop goes round."""

from __future__ import annotations

from ohmwright.protection.bridges import bridges, parts
from ohmwright.protection.poles import Poles
from ohmwright.study import Study

from ohmwright_rules.kept import kept
from ohmwright_rules.live_sides import live_sides

__all__ = ["SourceSides", "source_sides"]


class SourceSides:
    """How many poles of sources lie on either side of each bridge of one setting, whichever way current may go there."""

    def __init__(self, side: Poles) -> None:
        ways = side.ways
        self.ways = ways
        joined = [(edge, ways.a[edge], ways.b[edge]) for edge in range(len(ways.branches)) if ways.a[edge] != ways.b[edge]]
        cut = bridges(ways.count, joined)
        self._part = part = parts(ways.count, ((one, two) for edge, one, two in joined if edge not in cut))
        near: dict[int, list[tuple[int, int]]] = {}
        for edge, one, two in joined:
            if edge in cut:
                near.setdefault(part[one], []).append((edge, part[two]))
                near.setdefault(part[two], []).append((edge, part[one]))
        plus, minus = [0] * ways.count, [0] * ways.count
        for source in ways.circuit.sources:
            plus[part[ways.cluster[source.plus]]] += 1
            minus[part[ways.cluster[source.minus]]] += 1
        self._below: dict[int, tuple[int, int, int]] = {}  # by bridge: the part below it, poles of either sign there
        self._all: dict[int, tuple[int, int]] = {}  # by bridge: poles of either sign on both sides
        done: set[int] = set()
        for root in near:
            if root not in done:
                self._gather(root, near, plus, minus, done)

    def _gather(
        self, root: int, near: dict[int, list[tuple[int, int]]], plus: list[int], minus: list[int], done: set[int]
    ) -> None:
        order: list[tuple[int, int, int]] = [(root, -1, -1)]
        done.add(root)
        for here, _, _ in order:
            for edge, far in near[here]:
                if far not in done:
                    done.add(far)
                    order.append((far, edge, here))
        sums = {here: [plus[here], minus[here]] for here, _, _ in order}
        for here, edge, up in reversed(order):
            if edge >= 0:
                self._below[edge] = (here, sums[here][0], sums[here][1])
                sums[up][0] += sums[here][0]
                sums[up][1] += sums[here][1]
        for _, edge, _ in order:
            self._all[edge] = (sums[root][0], sums[root][1])

    def possible(self, edge: int) -> tuple[bool, bool]:
        """Tell whether current can come in at the start of an edge at all, and at its end: a plus lies on that side, or a minus on the other."""
        below = self._below.get(edge)
        if below is None:
            return True, True
        part, plus, minus = below
        all_plus, all_minus = self._all[edge]
        one, two = (plus, minus), (all_plus - plus, all_minus - minus)
        start, end = (one, two) if self._part[self.ways.a[edge]] == part else (two, one)
        return start[0] + end[1] > 0, end[0] + start[1] > 0


def source_sides(study: Study) -> tuple[SourceSides, ...]:
    """Return them for every setting of what cannot be closed at the same time, in the order of `live_sides`."""
    return kept(study, _source_sides)


def _source_sides(study: Study) -> tuple[SourceSides, ...]:
    return tuple(SourceSides(side) for side in live_sides(study))
