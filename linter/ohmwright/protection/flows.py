"""The most that can flow into either end of a conductor: device ratings and source limits as capacities, a shared device counted once.

Where the circuit is a tree the flows are summed along it, twice (towards a root and back); a part with loops keeps a graph of its own, in which the largest flow
is found by augmenting ways. So a circuit costs time in proportion to its size, with its loops a little more.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import NamedTuple

from ohmwright_grammar.records import record

from ohmwright.circuit.graph import Branch
from ohmwright.protection.bridges import bridges, parts
from ohmwright.protection.largest_flow import Cut, Flow, FlowNet, Link
from ohmwright.protection.ways import DEVICE, ONE_WAY, WIRE, Ways

__all__ = ["Feed", "Feeding", "Flow", "Flows"]

_INFINITE = float("inf")
_NOTHING = Flow(0.0, 0)


@record
class Feed:
    """A source that can push current in at a cluster: its name and the most that it gives [A]."""

    name: str
    cluster: int
    most: float


class Feeding(NamedTuple):
    """The largest flows into the start and into the end of a conductor, each without the conductor itself."""

    into_start: Flow
    into_end: Flow

    @property
    def larger(self) -> Flow:
        """The larger of the two."""
        return max(self, key=lambda flow: flow.ampere)


class Flows:
    """The largest flows of one setting of the circuit; `backwards` where the minus poles are live.

    A part is a set of clusters that loops hold together, bridges lie between parts; a zone is a set of clusters of one part that conductors hold together.
    """

    def __init__(self, ways: Ways, feeds: Iterable[Feed], capacity: Callable[[int], float], backwards: bool = False) -> None:
        self.ways = ways
        self.capacity = capacity
        self.backwards = backwards
        joined = [(edge, ways.a[edge], ways.b[edge]) for edge in range(len(ways.branches)) if ways.a[edge] != ways.b[edge]]
        self._bridges = bridges(ways.count, joined)
        inner = [item for item in joined if item[0] not in self._bridges]
        wires = [item for item in inner if ways.kinds[item[0]] == WIRE]
        self._part = parts(ways.count, ((one, two) for _, one, two in inner))
        self._zone = parts(ways.count, ((one, two) for _, one, two in wires))
        self._splitting = bridges(ways.count, wires)
        self._links: dict[int, list[Link]] = {}
        mixed = {self._part[one] for edge, one, _ in inner if ways.kinds[edge] != WIRE}
        for edge, one, two in inner:
            if self._part[one] in mixed:
                self._links.setdefault(self._part[one], []).append(self._link(edge, one, two))
        self._clusters_of: dict[int, list[int]] = {}
        for cluster, zone in enumerate(self._zone):
            self._clusters_of.setdefault(zone, []).append(cluster)
        self._entering: dict[int, list[Feed | int]] = {}  # what comes in at a cluster: sources, and bridges
        self._bridges_of: dict[int, list[int]] = {}
        for feed in feeds:
            self._entering.setdefault(feed.cluster, []).append(feed)
        for edge in sorted(self._bridges):
            for end in (ways.a[edge], ways.b[edge]):
                self._entering.setdefault(end, []).append(edge)
                self._bridges_of.setdefault(self._part[end], []).append(edge)
        self._inflow: dict[tuple[int, int], Flow] = {}  # (bridge, part that it leads into)
        self._complete: dict[int, tuple[float, int, int]] = {}  # by zone: finite sum, pieces of all, number of infinite flows
        self._nets: dict[int, FlowNet] = {}
        self._others: dict[int, Cut] = {}
        self._run()

    def _link(self, edge: int, one: int, two: int) -> Link:
        kind = self.ways.kinds[edge]
        if kind == ONE_WAY:
            start, end = (two, one) if self.backwards else (one, two)
            return Link(edge, start, end, _INFINITE, 0.0)
        most = self.capacity(edge) if kind == DEVICE else _INFINITE
        return Link(edge, one, two, most, most)

    # the two passes --------------------------------------------------------------------------------------------------

    def _run(self) -> None:
        done: set[int] = set()
        for root in range(self.ways.count):
            part = self._part[root]
            if part in done or part not in self._bridges_of:
                continue
            order: list[tuple[int, int]] = [(part, -1)]
            done.add(part)
            for here, _ in order:
                for edge in self._bridges_of.get(here, ()):
                    far = self._other_part(edge, here)
                    if far not in done:
                        done.add(far)
                        order.append((far, edge))
            for here, up in reversed(order):
                if up >= 0:
                    zone = self._zone[self._end_in(up, here)]
                    direct = _sum(self._flow_of(item, here) for item in self._items(zone) if item != up)
                    others = (
                        self._net(here).to(self._clusters_of[zone][0], mute=self._mute(zone)).flow
                        if here in self._links
                        else _NOTHING
                    )
                    self._send(here, up, _sum((direct, others)))
            self._nets.clear()
            for here, up in order:
                for edge in self._bridges_of.get(here, ()):
                    if edge != up:
                        self._send(here, edge, self._to_zone(here, self._zone[self._end_in(edge, here)], edge))

    def _other_part(self, edge: int, part: int) -> int:
        one, two = self._part[self.ways.a[edge]], self._part[self.ways.b[edge]]
        return two if one == part else one

    def _end_in(self, edge: int, part: int) -> int:
        one = self.ways.a[edge]
        return one if self._part[one] == part else self.ways.b[edge]

    def _send(self, part: int, edge: int, flow: Flow) -> None:
        """Note what passes a bridge out of a part, of what can flow to it there."""
        kind = self.ways.kinds[edge]
        if kind == ONE_WAY:
            start = self.ways.b[edge] if self.backwards else self.ways.a[edge]
            flow = flow if self._part[start] == part else _NOTHING
        elif kind == DEVICE and flow.pieces and self.capacity(edge) <= flow.ampere:
            flow = Flow(self.capacity(edge), 1) if self.capacity(edge) > 0 else _NOTHING
        self._inflow[edge, self._other_part(edge, part)] = flow

    # flows at a zone -------------------------------------------------------------------------------------------------

    def _items(self, zone: int) -> Iterable[Feed | int]:
        return (item for cluster in self._clusters_of[zone] for item in self._entering.get(cluster, ()))

    def _flow_of(self, item: Feed | int, part: int) -> Flow:
        return Flow(item.most, int(item.most > 0)) if isinstance(item, Feed) else self._inflow.get((item, part), _NOTHING)

    def _net(self, part: int) -> FlowNet:
        """Return the graph of a part, with what is known by now to come in at each cluster."""
        known = self._nets.get(part)
        if known is None:
            links = self._links.get(part, [])
            clusters = {end for link in links for end in (link.start, link.end)}
            supplies = {
                cluster: _sum(self._flow_of(item, part) for item in self._entering[cluster])
                for cluster in clusters
                if cluster in self._entering
            }
            known = self._nets[part] = FlowNet(links, supplies)
        return known

    def _mute(self, zone: int) -> frozenset[int]:
        return frozenset(self._clusters_of[zone])

    def _from_others(self, part: int, zone: int) -> Cut:
        """Return the largest flow to a zone from the other zones of its part; all of it must be known."""
        known = self._others.get(zone)
        if known is None:
            sink = self._clusters_of[zone][0]
            known = self._others[zone] = self._net(part).to(sink, mute=self._mute(zone))
        return known

    def _to_zone(self, part: int, zone: int, without: int = -1) -> Flow:
        """Return the largest flow to a zone of a part, one bridge at that zone left out; all of it must be known."""
        known = self._complete.get(zone)
        if known is None:
            flows = [self._flow_of(item, part) for item in self._items(zone)]
            finite = sum(flow.ampere for flow in flows if flow.ampere != _INFINITE)
            pieces, infinite = sum(flow.pieces for flow in flows), sum(flow.ampere == _INFINITE for flow in flows)
            known = self._complete[zone] = (finite, pieces, infinite)
        ampere, pieces, infinite = known
        left_out = self._inflow.get((without, part), _NOTHING) if without >= 0 else _NOTHING
        pieces -= left_out.pieces
        if left_out.ampere == _INFINITE:
            infinite -= 1
        else:
            ampere -= left_out.ampere
        direct = Flow(_INFINITE if infinite else ampere if pieces else 0.0, pieces)
        return _sum((direct, self._from_others(part, zone).flow)) if part in self._links else direct

    # answers ---------------------------------------------------------------------------------------------------------

    def into(self, wire: Branch) -> Feeding:
        """Return the largest flows into both ends of a conductor."""
        edge = self.ways.edge_of[wire.name]
        sides = self.ways.cluster[wire.start], self.ways.cluster[wire.end]
        if edge in self._bridges:
            return Feeding(*(self._to_zone(self._part[side], self._zone[side], edge) for side in sides))
        if edge not in self._splitting:
            flow = self._to_zone(self._part[sides[0]], self._zone[sides[0]])
            return Feeding(flow, flow)
        return Feeding(*(self._net(self._part[side]).to(side, edge).flow for side in sides))

    def at(self, cluster: int) -> Flow:
        """Return the largest flow to a cluster from all sides."""
        return self._to_zone(self._part[cluster], self._zone[cluster])

    def pieces_at(self, cluster: int) -> tuple[tuple[str, float], ...]:
        """Return the devices and sources that bound the flow to a cluster, each with its amperes, in name order."""
        return self._named([(self._part[cluster], self._zone[cluster], -1)], {})

    def pieces(self, wire: Branch, into_end: bool) -> tuple[tuple[str, float], ...]:
        """Return the devices and sources that bound the flow into one end of a conductor, each with its amperes, in name order."""
        edge = self.ways.edge_of[wire.name]
        side = self.ways.cluster[wire.end if into_end else wire.start]
        found: dict[str, float] = {}
        todo: list[tuple[int, int, int]] = []
        if edge in self._splitting:
            self._name(self._part[side], [], self._net(self._part[side]).to(side, edge), found, todo)
        else:
            todo.append((self._part[side], self._zone[side], edge))
        return self._named(todo, found)

    def _named(self, todo: list[tuple[int, int, int]], found: dict[str, float]) -> tuple[tuple[str, float], ...]:
        while todo:
            part, zone, without = todo.pop()
            cut = self._from_others(part, zone) if part in self._links else Cut(_NOTHING, (), ())
            self._name(part, [item for item in self._items(zone) if item != without], cut, found, todo)
        return tuple(sorted(found.items()))

    def _name(
        self, part: int, items: list[Feed | int], cut: Cut, found: dict[str, float], todo: list[tuple[int, int, int]]
    ) -> None:
        """Name what bounds the flow of some items into a part, and of a cut inside it; what lies further back is put on the list."""
        for edge in cut.edges:
            found[self.ways.wire(edge).name] = self.capacity(edge)
        more = (item for cluster in cut.supplies for item in self._entering.get(cluster, ()))
        for item in (*items, *more):
            if isinstance(item, Feed):
                found[item.name] = item.most
            else:
                self._expand(item, part, found, todo)

    def _expand(self, edge: int, part: int, found: dict[str, float], todo: list[tuple[int, int, int]]) -> None:
        if not self._inflow.get((edge, part), _NOTHING).pieces:
            return
        far = self._other_part(edge, part)
        zone = self._zone[self._end_in(edge, far)]
        if self.ways.kinds[edge] == DEVICE and self.capacity(edge) <= self._to_zone(far, zone, edge).ampere:
            found[self.ways.wire(edge).name] = self.capacity(edge)
        else:
            todo.append((far, zone, edge))


def _sum(flows: Iterable[Flow]) -> Flow:
    ampere, pieces = 0.0, 0
    for flow in flows:
        ampere += flow.ampere
        pieces += flow.pieces
    return Flow(ampere, pieces)
