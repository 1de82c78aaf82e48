"""The largest flow to nodes of a graph, and the cut nearest to them that bounds it.

The search goes back from the nodes towards the supplies, straight up where it can, so that a question costs about as much as the part of the graph that lies
behind its own cut. After many augmentations it takes the shortest ways, of which no more than nodes times edges are needed.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Collection, Container, Iterable, Mapping
from typing import NamedTuple

__all__ = ["Cut", "Flow", "FlowNet", "Link"]

_INFINITE = float("inf")
_SLACK = 1e-9
_STRAIGHT = 50  # so many augmentations go straight up before shortest ways are taken


class Flow(NamedTuple):
    """A largest flow [A] and the number of devices and sources that bound it; infinite where a source stands behind no device."""

    ampere: float
    pieces: int


class Link(NamedTuple):
    """An edge with what it passes from its start to its end and back [A]."""

    edge: int
    start: int
    end: int
    forward: float
    back: float


class Cut(NamedTuple):
    """A largest flow, and the edges and the nodes with supplies that bound it."""

    flow: Flow
    edges: tuple[int, ...]
    supplies: tuple[int, ...]


_WITHOUT_BOUND = Cut(Flow(_INFINITE, 1), (), ())


class FlowNet:
    """A graph of links with supplies at its nodes. Every question leaves it as it was."""

    __slots__ = ("_came_from", "_into", "_left", "_links", "_supplies")

    def __init__(self, links: Iterable[Link], supplies: Mapping[int, Flow]) -> None:
        self._links = tuple(links)
        self._supplies = {node: flow for node, flow in supplies.items() if flow.ampere > 0}
        self._left: list[float] = []
        self._came_from: list[int] = []  # the tail of every arc; the arc back is its number with the last bit turned
        self._into: dict[int, list[int]] = {}
        for number, link in enumerate(self._links):
            self._left += (link.forward, link.back)
            self._came_from += (link.start, link.end)
            self._into.setdefault(link.end, []).append(2 * number)
            self._into.setdefault(link.start, []).append(2 * number + 1)
        level = self._levels()
        for arcs in self._into.values():
            arcs.sort(key=lambda arc: level.get(self._came_from[arc], len(self._into)), reverse=True)  # the last is tried first

    def _levels(self) -> dict[int, int]:
        """Return how many links every node lies from a supply."""
        near: dict[int, list[int]] = {}
        for link in self._links:
            near.setdefault(link.start, []).append(link.end)
            near.setdefault(link.end, []).append(link.start)
        level = dict.fromkeys(sorted(self._supplies), 0)
        queue = deque(level)
        while queue:
            here = queue.popleft()
            for far in near.get(here, ()):
                if far not in level:
                    level[far] = level[here] + 1
                    queue.append(far)
        return level

    def to(self, sink: int, without: int = -1, mute: Container[int] = ()) -> Cut:
        """Return the largest flow to a node, one edge left out and the supplies at some nodes silent."""
        supplies = {node: flow for node, flow in self._supplies.items() if node not in mute} if mute else self._supplies
        return self.between(supplies, (sink,), without)

    def between(self, supplies: Mapping[int, Flow], sinks: Collection[int], without: int = -1) -> Cut:
        """Return the largest flow from other supplies than those of the graph to some nodes together, one edge left out."""
        given = {node: flow.ampere for node, flow in supplies.items()}
        changed: dict[int, float] = {}
        total = 0.0
        tries = 0
        while True:
            found, seen, toward = self._search(sinks, without, given, straight=tries < _STRAIGHT)
            if found < 0:
                break
            tries += 1
            arcs = []
            here = found
            while here in toward:
                arcs.append(toward[here])
                here = self._came_from[toward[here] ^ 1]
            most = min((given[found], *(self._left[arc] for arc in arcs)))
            if most == _INFINITE:
                total = _INFINITE
                break
            total += most
            given[found] -= most
            for arc in arcs:
                for number, change in ((arc, -most), (arc ^ 1, most)):
                    changed.setdefault(number, self._left[number])
                    self._left[number] += change
        for arc, value in changed.items():
            self._left[arc] = value
        if total == _INFINITE:
            return _WITHOUT_BOUND
        edges = {
            self._links[arc >> 1].edge
            for node in seen
            for arc in self._into.get(node, ())
            if self._came_from[arc] not in seen and self._left[arc] > 0 and self._links[arc >> 1].edge != without
        }
        bounding = tuple(sorted(node for node, flow in supplies.items() if node in seen and flow.ampere > 0))
        pieces = len(edges) + sum(supplies[node].pieces for node in bounding)
        return Cut(Flow(total, pieces), tuple(sorted(edges)), bounding)

    def _search(
        self, sinks: Collection[int], without: int, given: Mapping[int, float], straight: bool
    ) -> tuple[int, set[int], dict[int, int]]:
        """Go back from the sinks to a node with supply left: that node (-1 where there is none), what was seen, and the arc from each towards a sink."""
        toward: dict[int, int] = {}
        seen = set(sinks)
        queue = deque(sinks)
        while queue:
            here = queue.pop() if straight else queue.popleft()
            if given.get(here, 0.0) > _SLACK:
                return here, seen, toward
            for arc in self._into.get(here, ()):
                tail = self._came_from[arc]
                if tail not in seen and self._left[arc] > _SLACK and self._links[arc >> 1].edge != without:
                    seen.add(tail)
                    toward[tail] = arc
                    queue.append(tail)
        return -1, seen, toward
