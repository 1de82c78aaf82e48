"""Which pole of a source is live, and what is live and what is a return.

What must be protected are live conductors: those that current comes to from the live pole of a source without passing a consumer. That is the plus pole,
unless the plus side is joined to earth or to a case and the minus side is not: then it is the minus pole. In a series string that pole of each battery is
live that lies further from earth. Where neither or both are joined (a system that floats), the plus side counts as live. The other side of the circuit are
returns: the devices in the feeds cover them. The middle of a series string is live: the source below it stands behind it.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable

from ohmwright_grammar.records import record

from ohmwright.circuit.graph import Branch, Circuit, Source
from ohmwright.protection.ways import Passage, Ways, settings

__all__ = ["Pole", "Poles", "sides"]

_NEVER = 1 << 30  # further from earth than any string is long


@record
class Pole:
    """The live pole of a source: its node and cluster; `backwards` where that is the minus, so that current comes in there."""

    source: Source
    node: str
    cluster: int
    backwards: bool


class Poles:
    """The live poles of all sources, in name order, and the live clusters and returns that follow from them."""

    def __init__(self, ways: Ways, earthed: Collection[str] = ()) -> None:
        self.ways = ways
        nets = _nets(ways)
        earth = {nets[ways.cluster[node]] for node in (*ways.circuit.case_nodes, *earthed) if node in ways.cluster}
        away = _away_from(earth, nets, ways)
        found: list[Pole] = []
        for source in sorted(ways.circuit.sources, key=lambda source: (source.name, source.kind)):
            plus, minus = ways.cluster[source.plus], ways.cluster[source.minus]
            backwards = away.get(nets[plus], _NEVER) < away.get(nets[minus], _NEVER)
            found.append(Pole(source, source.minus if backwards else source.plus, minus if backwards else plus, backwards))
        self.all = tuple(found)
        self.live = self._reach(lambda pole: pole.cluster)
        back = self._reach(lambda pole: ways.cluster[pole.source.plus if pole.backwards else pole.source.minus], other=True)
        self.returns = bytearray(one and not two for one, two in zip(back, self.live, strict=True))

    def _reach(self, start: object, other: bool = False) -> bytearray:
        """Return the clusters that can be reached from one pole of every source, nothing taken away."""
        seen = bytearray(self.ways.count)
        for backwards in (False, True):
            starts = [start(pole) for pole in self.all if pole.backwards == backwards]  # type: ignore[operator]
            if starts:
                part = self.ways.reach(starts, backwards=backwards != other)
                seen = bytearray(one | two for one, two in zip(seen, part, strict=True))
        return seen

    def at(self, cluster: int) -> tuple[Pole, ...]:
        """Return the live poles of a cluster."""
        return tuple(pole for pole in self.all if pole.cluster == cluster)


def _away_from(earth: set[int], nets: list[int], ways: Ways) -> dict[int, int]:
    """Return how many sources in series lie between earth and each net that they join to it."""
    near: dict[int, list[int]] = {}
    for source in ways.circuit.sources:
        if source.kind in ("battery", "array"):
            plus, minus = nets[ways.cluster[source.plus]], nets[ways.cluster[source.minus]]
            near.setdefault(plus, []).append(minus)
            near.setdefault(minus, []).append(plus)
    away = dict.fromkeys(sorted(earth), 0)
    queue = list(away)
    for here in queue:
        for far in near.get(here, ()):
            if far not in away:
                away[far] = away[here] + 1
                queue.append(far)
    return away


def _nets(ways: Ways) -> list[int]:
    """Return the number of the net of every cluster: what any way joins, whichever direction."""
    net = [-1] * ways.count
    for first in range(ways.count):
        if net[first] >= 0:
            continue
        net[first] = first
        queue = [first]
        while queue:
            here = queue.pop()
            for table in (ways.out, ways.back):
                for _, far in table[here]:
                    if net[far] < 0:
                        net[far] = first
                        queue.append(far)
    return net


def sides(
    circuit: Circuit,
    *,
    barred: Iterable[Iterable[str]] = (),
    passages: Iterable[Passage] = (),
    earthed: Collection[str] = (),
    stays: Callable[[Branch], bool] = lambda branch: False,
) -> tuple[Poles, ...]:
    """Return what is live and what returns, once for every setting of what cannot be closed at the same time (mostly one).

    `barred` are groups of gates of which only one is closed at a time, `passages` further one-way ways through parts, `earthed` nodes that are joined to
    earth or to a case without a branch that says so, `stays` tells of branches that are edges of their own.
    """
    ways_back = tuple(passages)
    return tuple(Poles(Ways(circuit, gates, ways_back, stays), earthed) for gates in settings(circuit, barred))
