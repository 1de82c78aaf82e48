"""Where a short lies far from the source: the ends of what each overcurrent device covers, the way to them and the way back.

An end is a load, a charger, an open connector half, or the near side of the next device. A short lies there between the live side and the return that belongs to
it: the other pole of a load; before a device that bar or post, on the way back of the nearest load behind it, at which three and more conductors come together.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator
from functools import cached_property
from heapq import heapify, heappop, heappush

from ohmwright_grammar.records import record

from ohmwright.circuit.graph import Branch
from ohmwright.protection.bridges import bridges
from ohmwright.protection.poles import Pole, Poles
from ohmwright.protection.walking import Walk
from ohmwright.protection.ways import DEVICE, WIRE

__all__ = ["End", "FarEnds", "Place"]

_MOST_WALKS = 16  # batteries beyond that are walked from only where no other one comes
_BAR = 3  # conductors that come together at a bar
_NOT_WHOLE = 1e12  # A: a device that carries only a part of the current ranks behind all that carry the whole


@record
class Place:
    """Where a short may lie: what stands there, its live node and the node of the return."""

    name: str
    node: str
    back: str


@record
class End:
    """A short at a place, as one battery feeds it; `device` is the smallest device on the way that carries all of it, else the first one, None without any."""

    place: Place
    walk: Walk
    cluster: int
    device: Branch | None


class FarEnds:
    """The far ends of one setting of the circuit.

    `sources` names the batteries that count, `rating` gives the rated current of a device [A], None where nobody says.
    """

    def __init__(self, poles: Poles, sources: Collection[str], rating: Callable[[Branch], float | None]) -> None:
        self.poles = poles
        self.ways = poles.ways
        self.rating = rating
        self.batteries = [pole for pole in poles.all if pole.source.kind == "battery" and pole.source.name in sources]
        self._back = _way_back(poles, self.batteries)
        self._feet: dict[Pole, str] = {}

    @cached_property
    def whole(self) -> frozenset[int]:
        """The devices through which every battery feeds what lies behind them."""
        ways, live = self.ways, self.poles.live
        edges = [
            (edge, ways.a[edge], ways.b[edge])
            for edge in range(len(ways.branches))
            if live[ways.a[edge]] and live[ways.b[edge]] and ways.a[edge] != ways.b[edge]
        ]
        hub = [(-1 - number, pole.cluster, ways.count) for number, pole in enumerate(self.batteries)]
        found = bridges(ways.count + 1, [*edges, *hub])
        return frozenset(edge for edge in found if edge >= 0 and ways.kinds[edge] == DEVICE)

    def carries_all(self, device: Branch) -> bool:
        """Tell whether all that flows into a short behind a device flows through it."""
        return self.ways.edge_of[device.name] in self.whole

    @cached_property
    def walks(self) -> tuple[Walk, ...]:
        """A walk from each battery over everything that it reaches."""
        ways = self.ways
        nothing = bytearray(ways.count)
        seen = bytearray(ways.count)
        found: list[Walk] = []
        for number, pole in enumerate(self.batteries):
            if number >= _MOST_WALKS and seen[pole.cluster]:
                continue
            walk = Walk(ways, pole, lambda edge: False, lambda edge: 0, lambda edge: False, nothing, self._rank)
            for cluster in walk.reached:
                seen[cluster] = 1
            found.append(walk)
        return tuple(found)

    def _rank(self, edge: int) -> float:
        rating = self.rating(self.ways.wire(edge))
        return _NOT_WHOLE if edge not in self.whole else _NOT_WHOLE / 2 if rating is None else rating

    # ends ------------------------------------------------------------------------------------------------------------

    def ends(self, places: Iterable[Place]) -> Iterator[End]:
        """Yield the ends at given places and before each device, for each battery that reaches them, from the battery outward."""
        at: dict[int, list[Place]] = {}
        for place in places:
            if place.node in self.ways.cluster and place.back in self.ways.cluster:
                at.setdefault(self.ways.cluster[place.node], []).append(place)
        for walk in self.walks:
            yield from self._on(walk, at)

    def _on(self, walk: Walk, at: dict[int, list[Place]]) -> Iterator[End]:
        ways = self.ways
        nearest = self._nearest(walk, at)
        table = ways.back if walk.pole.backwards else ways.out
        for cluster in walk.tree:
            number = walk.smallest(cluster)
            device = ways.wire(number) if number >= 0 else None
            for place in at.get(cluster, ()):
                yield End(place, walk, cluster, device)
            for edge, far in table[cluster]:
                if ways.kinds[edge] == DEVICE and walk.came_by(far) == edge:
                    next_one = ways.wire(edge)
                    node = next_one.start if ways.cluster[next_one.start] == cluster else next_one.end
                    yield End(Place(node, node, self._bar(nearest.get(far), walk.pole)), walk, cluster, device)

    def _nearest(self, walk: Walk, at: dict[int, list[Place]]) -> dict[int, Place]:
        """Return, for every cluster of a walk, the place that lies nearest beyond it."""
        found: dict[int, tuple[float, Place]] = {}
        for here in reversed(walk.tree):
            if here in at:
                found[here] = (walk.distance(here), at[here][0])
            before = walk.before(here)
            if here in found and before >= 0 and (before not in found or found[here][0] < found[before][0]):
                found[before] = found[here]
        return {cluster: place for cluster, (_, place) in found.items()}

    def behind(self, end: End) -> tuple[Branch, ...]:
        """Return the conductors between the device of an end and the place, from the device outward."""
        found: list[Branch] = []
        for edge, _ in reversed(end.walk.way(end.cluster)):
            if end.device is not None and self.ways.branches[edge] is end.device:
                break
            if self.ways.kinds[edge] == WIRE:
                found.append(self.ways.wire(edge))
        return tuple(reversed(found))

    def live(self, end: End) -> tuple[Branch, ...]:
        """Return the conductors and devices on the way from the battery to an end."""
        return tuple(branch for edge, _ in end.walk.way(end.cluster) if isinstance(branch := self.ways.branches[edge], Branch))

    def returns(self, end: End) -> tuple[Branch, ...]:
        """Return the conductors and devices on the shortest way back from an end."""
        return tuple(branch for branch, _ in self._returns(end.place.back))

    def return_tree(self) -> Iterator[tuple[int, Branch | None, int]]:
        """Yield each cluster of the return side with the way from it and the cluster that this leads to, the outer ones first; no way at the battery."""
        for cluster, (edge, toward) in reversed(self._back.items()):
            branch = self.ways.branches[edge] if edge >= 0 else None
            yield cluster, branch if isinstance(branch, Branch) else None, toward

    # the way back ----------------------------------------------------------------------------------------------------

    def _returns(self, node: str) -> Iterator[tuple[Branch, int]]:
        here = self.ways.cluster[node]
        while here in self._back and self._back[here][0] >= 0:
            edge, here = self._back[here]
            branch = self.ways.branches[edge]
            if isinstance(branch, Branch):
                yield branch, here

    def _bar(self, place: Place | None, pole: Pole) -> str:
        """Return the node of the return that belongs to a short before a device: where the way back of the nearest load meets others."""
        ways = self.ways
        if place is not None:
            for branch, here in self._returns(place.back):
                if len(ways.out[here]) >= _BAR:
                    return branch.start if ways.cluster[branch.start] == here else branch.end
        return self._foot(pole)

    def _foot(self, pole: Pole) -> str:
        """Return the node of the return that a battery stands on: of one in a string its other pole is live, and the lowest of the string stands on the return."""
        if pole not in self._feet:
            ways, live, here, passed = self.ways, self.poles.live, pole, {pole}
            while live[ways.cluster[_other_pole(here)]]:
                foot = ways.cluster[_other_pole(here)]
                below = next(
                    (
                        other
                        for other in self.batteries
                        if other not in passed and ways.reach([other.cluster], backwards=other.backwards)[foot]
                    ),
                    None,
                )
                if below is None:
                    break
                passed.add(below)
                here = below
            self._feet[pole] = _other_pole(here)
        return self._feet[pole]


def _other_pole(pole: Pole) -> str:
    return pole.source.plus if pole.backwards else pole.source.minus


def _way_back(poles: Poles, batteries: list[Pole]) -> dict[int, tuple[int, int]]:
    """Return for each cluster on the return side the edge to the next one, on the shortest way to the other pole of a battery (-1 at that pole)."""
    ways = poles.ways
    found: dict[int, tuple[int, int]] = {}
    feet = [ways.cluster[_other_pole(pole)] for pole in batteries]
    heap = [(0.0, 0, foot, -1, -1) for foot in feet if not poles.live[foot]]
    heapify(heap)
    while heap:
        length, pieces, here, edge, toward = heappop(heap)
        if here in found:
            continue
        found[here] = (edge, toward)
        for way, far in (*ways.out[here], *ways.back[here]):
            if far not in found and not poles.live[far]:
                heappush(heap, (length + ways.lengths[way], pieces + 1, far, way, here))
    return found
