"""One walk from the live pole of a source outward: how far each conductor lies from it, past which devices, and what stands beyond.

Lengths count from the source, or from the last joint with a conductor that is itself protected: the end of such a conductor, or the far side of a device at
whose joint such a conductor begins. Of several ways to one place the shortest counts, then the one with the fewest pieces. Where a conductor closes a ring, so that
it is reached from both ends, the length is that to the point of it that lies farthest: splitting a conductor in two changes nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from heapq import heappop, heappush

from ohmwright_grammar.records import record

from ohmwright.circuit.graph import Branch, Source
from ohmwright.protection.poles import Pole
from ohmwright.protection.ways import DEVICE, WIRE, Ways

__all__ = ["Beyond", "Stretch", "Walk"]

_INFINITE = float("inf")
_Near = tuple[
    float, int, bool, bool
]  # distance and number of the nearest device beyond (-1: none), whether another source, and a battery, is joined there


@record
class Beyond:
    """What lies past the near end of a conductor, away from the source.

    `device` is the nearest one of those that end the walk, `length` [m] how far it stands from the pole of the source; `joins_source` tells that another source is joined there,
    `joins_battery` that one of them is a battery.
    """

    device: Branch | None
    length: float
    joins_source: bool
    joins_battery: bool


@record
class Stretch:
    """A conductor that a source reaches, and the way from where its length counts to the far end of the conductor.

    `entry` is the node of the conductor at which the current comes in; `origin` names where the length counts from, a pole of the source, or with `from_joint`
    a joint with a protected conductor. `length` [m] holds the declared lengths; `unmeasured` tells that one on the way is not declared. `enclosed` is
    True where all of it is, False where some is not, None where nobody says; `open_at` is a conductor that decides this.
    `before` is the conductor before this one on the way; `device` the smallest device that the way passes, `own` the smallest one of those that it passes
    after `origin`.
    """

    wire: Branch
    source: Source
    entry: str
    origin: str
    from_joint: bool
    length: float
    unmeasured: Branch | None
    enclosed: bool | None
    open_at: Branch | None
    before: Branch | None
    device: Branch | None
    own: Branch | None
    beyond: Beyond
    walk: Walk

    def path(self) -> tuple[Branch, ...]:
        """Return the conductors and devices from the source to this conductor, itself not among them."""
        return self.walk.path(self.wire)


class Walk:
    """A walk from one pole over every edge that is not blocked; conductors never are.

    `covered` says of an edge whether it is enclosed (1), not (-1), or not said (0); `protected` tells conductors that are themselves protected, `guarded`
    clusters at which one begins; `rating` [A] ranks the devices that the walk passes (a larger one is the worse way of equal length).
    """

    __slots__ = (
        "_children",
        "_cover",
        "_device",
        "_distance",
        "_last",
        "_loose",
        "_near",
        "_open_at",
        "_origin",
        "_own",
        "_parent",
        "_since",
        "_through",
        "blocked",
        "pole",
        "reached",
        "tree",
        "ways",
    )

    def __init__(
        self,
        ways: Ways,
        pole: Pole,
        blocked: Callable[[int], bool],
        covered: Callable[[int], int],
        protected: Callable[[int], bool],
        guarded: bytearray,
        rating: Callable[[int], float],
    ) -> None:
        self.ways = ways
        self.pole = pole
        self.blocked = blocked
        self._parent: dict[int, int] = {}
        self._children: dict[int, list[int]] = {}
        self._through: dict[int, int] = {}  # the edge by which a cluster was reached
        self._since: dict[int, float] = {}
        self._distance: dict[int, float] = {}
        self._search(protected, guarded, rating)
        self.tree = self._order()
        self.reached = self._since.keys()
        self._follow(covered, protected, guarded, rating)
        self._near: dict[int, _Near] | None = None

    # the search --------------------------------------------------------------------------------------------------

    def _search(self, protected: Callable[[int], bool], guarded: bytearray, rating: Callable[[int], float]) -> None:
        ways = self.ways
        table = ways.back if self.pole.backwards else ways.out
        kinds, lengths, blocked = ways.kinds, ways.lengths, self.blocked
        start = self.pole.cluster
        heap: list[tuple[float, int, float, float, int, int, int]] = [(0.0, 0, 0.0, -_INFINITE, start, -1, -1)]
        since = self._since
        while heap:
            distance, pieces, along, worst, here, edge, before = heappop(heap)
            if here in since:
                continue
            since[here] = along
            self._distance[here] = distance
            self._through[here] = edge
            self._parent[here] = before
            for way, far in table[here]:
                if far in since or way == edge or blocked(way):
                    continue
                kind = kinds[way]
                if kind == WIRE:
                    length = lengths[way]
                    now = 0.0 if protected(way) else along + length
                    heappush(heap, (distance + length, pieces + 1, now, worst, far, way, here))
                elif kind == DEVICE:
                    now = 0.0 if guarded[far] else along
                    heappush(heap, (distance, pieces + 1, now, max(worst, -rating(way)), far, way, here))
                else:
                    heappush(heap, (distance, pieces + 1, along, worst, far, way, here))

    def _order(self) -> list[int]:
        for cluster, before in self._parent.items():
            self._children.setdefault(before, []).append(cluster)
        order = [self.pole.cluster]
        for here in order:
            order.extend(self._children.get(here, ()))
        return order

    def _follow(
        self,
        covered: Callable[[int], int],
        protected: Callable[[int], bool],
        guarded: bytearray,
        rating: Callable[[int], float],
    ) -> None:
        """Carry along the tree what each place needs to know of the way to it."""
        ways = self.ways
        start = self.pole.cluster
        self._cover: dict[int, int] = {start: 1}
        self._loose: dict[int, int] = {start: -1}
        self._open_at: dict[int, int] = {start: -1}
        self._origin: dict[int, int] = {start: -1}  # the edge at whose far end the length begins, -1 for the pole itself
        self._last: dict[int, int] = {start: -1}
        self._device: dict[int, int] = {start: -1}
        self._own: dict[int, int] = {start: -1}  # the smallest device since the origin
        for here in self.tree[1:]:
            before, edge = self._parent[here], self._through[here]
            kind = ways.kinds[edge]
            cover, loose, open_at = self._cover[before], self._loose[before], self._open_at[before]
            origin, last, device, own = self._origin[before], self._last[before], self._device[before], self._own[before]
            if kind == WIRE:
                last = edge
                if protected(edge):
                    cover, loose, open_at, origin, own = 1, -1, -1, edge, -1
                else:
                    if edge in ways.unmeasured and loose < 0:
                        loose = edge
                    if covered(edge) < cover:
                        cover, open_at = covered(edge), edge
            elif kind == DEVICE:
                if device < 0 or rating(edge) < rating(device):
                    device = edge
                if own < 0 or rating(edge) < rating(own):
                    own = edge
                if guarded[here]:
                    cover, loose, open_at, origin, own = 1, -1, -1, edge, -1
            self._cover[here], self._loose[here], self._open_at[here] = cover, loose, open_at
            self._origin[here], self._last[here], self._device[here], self._own[here] = origin, last, device, own

    def _beyond(self) -> dict[int, _Near]:
        """Return for each cluster the nearest device at or beyond it (distance from the source's pole and edge), and whether another source is there."""
        if self._near is not None:
            return self._near
        ways = self.ways
        table = ways.back if self.pole.backwards else ways.out
        others = [source for source in ways.circuit.sources if source is not self.pole.source]
        poles = {ways.cluster[source.plus] for source in others}
        posts = {ways.cluster[source.plus] for source in others if source.kind == "battery"}
        near: dict[int, _Near] = {}
        for here in self.tree:
            devices = [edge for edge, _ in table[here] if ways.kinds[edge] == DEVICE and self.blocked(edge)]
            first = min(devices, key=lambda edge: ways.wire(edge).name) if devices else -1
            near[here] = (self._distance[here] if devices else _INFINITE, first, here in poles, here in posts)
        for here in reversed(self.tree):
            before = self._parent[here]
            if before >= 0:
                one, two = near[before], near[here]
                nearest = two if (two[0], two[1] < 0) < (one[0], one[1] < 0) else one
                near[before] = (nearest[0], nearest[1], one[2] or two[2], one[3] or two[3])
        self._near = near
        return near

    # what it found -----------------------------------------------------------------------------------------------

    def _entry(self, edge: int) -> tuple[int, int] | None:
        """Return the cluster at which current comes into a conductor and the far one; None where the walk does not come to it."""
        one, two = self.ways.a[edge], self.ways.b[edge]
        if self._through.get(two) == edge:
            return one, two
        if self._through.get(one) == edge:
            return two, one
        if one not in self._since:
            return None  # nor is the other end: nothing blocks a conductor
        return (one, two) if self._distance[one] <= self._distance[two] else (two, one)

    def stretch(self, edge: int, cover: int) -> Stretch | None:
        """Return how a conductor lies on the walk, None where the walk does not come to it; `cover` is its own."""
        ways = self.ways
        ends = self._entry(edge)
        if ends is None:
            return None
        here, far = ends
        wire = ways.wire(edge)
        origin = self._origin[here]
        last, loose, device, own = self._last[here], self._loose[here], self._device[here], self._own[here]
        whole, open_at = self._cover[here], self._open_at[here]
        length = self._since[here] + ways.lengths[edge]
        near = self._beyond()
        distance, first, joined, battery = near[far]
        if self._through[far] != edge:
            # It closes a ring: its farthest point counts, and what lies beyond either end is beyond it.
            length = self._farthest(here, far, ways.lengths[edge])
            other = near[here]
            if other[0] < distance:
                distance, first = other[0], other[1]
            joined, battery = joined or other[2], battery or other[3]
            loose = self._loose[far] if loose < 0 else loose
            if self._cover[far] < whole:
                whole, open_at = self._cover[far], self._open_at[far]
        if loose < 0 and edge in ways.unmeasured:
            loose = edge
        if cover < whole:
            whole, open_at = cover, edge
        entry = wire.start if ways.cluster[wire.start] == here else wire.end
        return Stretch(
            wire=wire,
            source=self.pole.source,
            entry=entry,
            origin=self.pole.node if origin < 0 else _far_node(ways, origin, self, entry),
            from_joint=origin >= 0,
            length=length,
            unmeasured=ways.wire(loose) if loose >= 0 else None,
            enclosed=None if whole == 0 else whole > 0,
            open_at=ways.wire(open_at) if open_at >= 0 else None,
            before=ways.wire(last) if last >= 0 else None,
            device=ways.wire(device) if device >= 0 else None,
            own=ways.wire(own) if own >= 0 else None,
            beyond=Beyond(ways.wire(first) if first >= 0 else None, distance, joined, battery),
            walk=self,
        )

    def _farthest(self, here: int, far: int, length: float) -> float:
        """Return how far that point of a conductor lies that is equally far from the source by both of its ends (its own length counted)."""
        near_part = min(max((self._distance[far] - self._distance[here] + length) / 2, 0.0), length)
        return max(self._since[here] + near_part, self._since[far] + length - near_part)

    def edges(self) -> Iterator[int]:
        """Yield the conductors that the walk comes to, in order from the source outward."""
        ways = self.ways
        table = ways.back if self.pole.backwards else ways.out
        told: set[int] = set()
        for here in self.tree:
            edge = self._through[here]
            if edge >= 0 and ways.kinds[edge] == WIRE:
                told.add(edge)
                yield edge
            for way, far in table[here]:
                if ways.kinds[way] == WIRE and way not in told and self._through.get(far) != way:
                    told.add(way)
                    yield way

    def came_by(self, cluster: int) -> int:
        """Return the edge by which the walk came to a cluster, -1 at the source and where it does not come."""
        return self._through.get(cluster, -1)

    def before(self, cluster: int) -> int:
        """Return the cluster from which the walk came to one, -1 at the source."""
        return self._parent[cluster]

    def distance(self, cluster: int) -> float:
        """Return how far a cluster lies from the source [m]."""
        return self._distance[cluster]

    def smallest(self, cluster: int) -> int:
        """Return the edge of the smallest device on the way to a cluster, -1 without any."""
        return self._device[cluster]

    def way(self, cluster: int) -> tuple[tuple[int, int], ...]:
        """Return the way from the source to a cluster that it reaches: each edge with the cluster that it leads to."""
        found: list[tuple[int, int]] = []
        while self._through[cluster] >= 0:
            found.append((self._through[cluster], cluster))
            cluster = self._parent[cluster]
        return tuple(reversed(found))

    def beyond(self, wire: Branch) -> Iterator[int]:
        """Yield the clusters that the walk comes to through a conductor, from its far end outward; none for one that closes a ring."""
        edge = self.ways.edge_of[wire.name]
        ends = self._entry(edge)
        if ends is None or self._through.get(ends[1]) != edge:
            return
        queue = [ends[1]]
        for here in queue:
            yield here
            queue.extend(self._children.get(here, ()))

    def entry(self, edge: int) -> str | None:
        """Return the node at which current comes into a conductor, None where the walk does not come to it."""
        ends = self._entry(edge)
        if ends is None:
            return None
        wire = self.ways.wire(edge)
        return wire.start if self.ways.cluster[wire.start] == ends[0] else wire.end

    def device_before(self, edge: int) -> Branch | None:
        """Return the smallest device that the way to a conductor passes, None where it passes none."""
        ends = self._entry(edge)
        device = self._device[ends[0]] if ends is not None else -1
        return self.ways.wire(device) if device >= 0 else None

    def back(self, wire: Branch) -> Iterator[Branch]:
        """Yield the conductors and devices from a conductor, itself not among them, back to the source."""
        ends = self._entry(self.ways.edge_of[wire.name])
        here = ends[0] if ends is not None else self.pole.cluster
        while self._through[here] >= 0:
            branch = self.ways.branches[self._through[here]]
            if isinstance(branch, Branch):
                yield branch
            here = self._parent[here]

    def path(self, wire: Branch) -> tuple[Branch, ...]:
        """Return the conductors and devices from the source to a conductor, itself not among them."""
        return tuple(reversed(tuple(self.back(wire))))


def _far_node(ways: Ways, edge: int, walk: Walk, entry: str) -> str:
    """Return the node at which an edge ends, as the walk goes; a joint is named by the conductor's own end where it lies in the same cluster."""
    branch = ways.wire(edge)
    far = branch.end if walk._through.get(ways.cluster[branch.end]) == edge else branch.start
    return entry if ways.cluster[far] == ways.cluster[entry] else far
