"""Which source reaches which conductor past everything that is small enough to protect it.

For each conductor every device that is small enough for it is taken away; a source that still reaches it, and that can push more than its ampacity, leaves it
unprotected. Conductors for which the same devices are small enough are asked about together, so that the work grows with the size of the circuit
times the number of different conductors.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator
from functools import cached_property
from typing import Literal

from ohmwright_grammar.records import record

from ohmwright.circuit.graph import Branch, Source
from ohmwright.protection.poles import Pole, Poles
from ohmwright.protection.walking import Stretch, Walk
from ohmwright.protection.ways import DEVICE, WIRE

__all__ = ["Exposure", "Limits", "Protection", "Standing", "Unsaid"]

_INFINITE = float("inf")
_SLACK = 1e-9

Standing = Literal["live", "return", "dead"]


@record
class Unsaid:
    """A datum that nobody declared, and the thing that it is missing of."""

    what: str
    of: str


@record
class Limits:
    """What a basis says of conductors, devices and sources, as functions.

    `alike` gives conductors of one key the same ampacity and the same devices that are small enough. `ampacity` [A] is None where it cannot be told;
    `push` is the most that a source gives [A], infinite for one that only its resistance limits, None where nobody says; `rating` that of a device.
    `enclosed` tells whether a conductor is enclosed all the way, None where nobody says.
    """

    small_enough: Callable[[Branch, Branch], bool | Unsaid]
    alike: Callable[[Branch], Hashable]
    ampacity: Callable[[Branch], float | None]
    push: Callable[[Source], float | None]
    rating: Callable[[Branch], float | None]
    enclosed: Callable[[Branch], bool | None]


@record
class Exposure:
    """A source that reaches a conductor through devices that are all too large for it.

    With `unsaid` it does so only if that datum says so.
    """

    stretch: Stretch
    unsaid: Unsaid | None = None


class _Kind:
    """Conductors that are alike: which devices are small enough for them, and what reaches them, surely or maybe."""

    def __init__(self, first: Branch, ampacity: float | None) -> None:
        self.first = first
        self.ampacity = ampacity
        self.edges: list[int] = []
        self.small: dict[int, bool | Unsaid] = {}
        self.surely = bytearray()
        self.maybe = bytearray()


class Protection:
    """What protects the conductors of a circuit under one setting of what cannot be closed at the same time."""

    def __init__(self, poles: Poles, limits: Limits) -> None:
        self.poles = poles
        self.ways = poles.ways
        self.limits = limits
        self._kinds: dict[Hashable, _Kind] = {}
        self._kind_of: dict[int, _Kind] = {}
        for wire in self.ways.of_kind(WIRE):
            self._sort(wire)
        for kind in self._kinds.values():
            self._ask(kind)
        self.exposed = {edge for edge, kind in self._kind_of.items() if self._comes_to(kind.maybe, edge)}
        self._guarded = self._guard()

    # which conductors are reached ------------------------------------------------------------------------------------

    def _sort(self, edge: int) -> None:
        wire = self.ways.wire(edge)
        key = self.limits.alike(wire)
        kind = self._kinds.get(key)
        if kind is None:
            kind = self._kinds[key] = _Kind(wire, self.limits.ampacity(wire))
        kind.edges.append(edge)
        self._kind_of[edge] = kind

    def _small(self, kind: _Kind, edge: int) -> bool | Unsaid:
        known = kind.small.get(edge)
        if known is None:
            known = kind.small[edge] = self.limits.small_enough(self.ways.wire(edge), kind.first)
        return known

    def _ask(self, kind: _Kind) -> None:
        """Find what reaches conductors of a kind, and what does only if something undeclared says so."""
        kinds = self.ways.kinds
        kind.surely = self._spread(kind, lambda edge: kinds[edge] == DEVICE and self._small(kind, edge) is not False, sure=True)
        unsaid = any(isinstance(small, Unsaid) for small in kind.small.values())
        if not unsaid and all(self._pushes(pole.source, kind) is not None for pole in self.poles.all):
            kind.maybe = kind.surely
            return
        kind.maybe = self._spread(kind, lambda edge: kinds[edge] == DEVICE and self._small(kind, edge) is True, sure=False)

    def _spread(self, kind: _Kind, blocked: Callable[[int], bool], sure: bool) -> bytearray:
        seen = bytearray(self.ways.count)
        for backwards in (False, True):
            starts = [
                pole.cluster
                for pole in self.poles.all
                if pole.backwards == backwards and self._pushes(pole.source, kind) in ((True,) if sure else (True, None))
            ]
            if starts:
                part = self.ways.reach(starts, blocked, backwards)
                seen = bytearray(one | two for one, two in zip(seen, part, strict=True)) if any(seen) else part
        return seen

    def _pushes(self, source: Source, kind: _Kind) -> bool | None:
        """Tell whether a source can push more than conductors of a kind carry; None where that is not known."""
        push = self.limits.push(source)
        if push == _INFINITE:
            return True
        if push is None or kind.ampacity is None:
            return None
        return push > kind.ampacity * (1 + _SLACK)

    def _comes_to(self, seen: bytearray, edge: int) -> bool:
        return bool(seen[self.ways.a[edge]] or seen[self.ways.b[edge]])

    def _guard(self) -> bytearray:
        """Mark the clusters at which a conductor begins that is itself protected."""
        guarded = bytearray(self.ways.count)
        for edge in self._kind_of:
            if edge not in self.exposed:
                guarded[self.ways.a[edge]] = guarded[self.ways.b[edge]] = 1
        return guarded

    # questions -----------------------------------------------------------------------------------------------------

    def standing(self, wire: Branch) -> Standing:
        """Tell whether a conductor is live, a return, or joined to no source at all."""
        edge = self.ways.edge_of[wire.name]
        ends = (self.ways.a[edge], self.ways.b[edge])
        if any(self.poles.live[end] for end in ends):
            return "live"
        return "return" if any(self.poles.returns[end] for end in ends) else "dead"

    def pushes(self, source: Source, wire: Branch) -> bool | None:
        """Tell whether a source can push more than a conductor carries; None where that is not known."""
        return self._pushes(source, self._kind_of[self.ways.edge_of[wire.name]])

    @cached_property
    def unfused(self) -> tuple[Walk, ...]:
        """One walk from every source over everything that it reaches without passing any device, in name order of the sources."""
        kinds = self.ways.kinds
        return tuple(self._walk(pole, lambda edge: kinds[edge] == DEVICE) for pole in self.poles.all)

    @cached_property
    def whole(self) -> tuple[Walk, ...]:
        """One walk from every source over everything that it reaches at all, devices passed."""
        return tuple(self._walk(pole, lambda edge: False) for pole in self.poles.all)

    def stretches(self, walk: Walk) -> Iterator[Stretch]:
        """Yield every conductor that a walk comes to, from the source outward."""
        for edge in walk.edges():
            found = walk.stretch(edge, self._covered(edge))
            assert found is not None
            yield found

    def stretch(self, walk: Walk, wire: Branch) -> Stretch | None:
        """Return how one conductor lies on a walk, None where the walk does not come to it."""
        edge = self.ways.edge_of[wire.name]
        return walk.stretch(edge, self._covered(edge))

    def overreaches(self) -> Iterator[Exposure]:
        """Yield, for every conductor, each source that reaches it only through devices, all of which are too large for it (or may be)."""
        for kind in self._kinds.values():
            reached = [edge for edge in kind.edges if self._comes_to(kind.maybe, edge)]
            for walk in self.unfused if reached else ():
                pushes = self._pushes(walk.pole.source, kind)
                left = [edge for edge in reached if not self._touches(walk, edge)]
                if pushes is not False and left:
                    yield from self._through_devices(kind, walk.pole, left, pushes)

    def _touches(self, walk: Walk, edge: int) -> bool:
        return self.ways.a[edge] in walk.reached or self.ways.b[edge] in walk.reached

    def _through_devices(self, kind: _Kind, pole: Pole, edges: list[int], pushes: bool | None) -> Iterator[Exposure]:
        kinds = self.ways.kinds
        surely = self._walk(pole, lambda edge: kinds[edge] == DEVICE and self._small(kind, edge) is not False)
        left: list[int] = []
        for edge in edges:
            found = surely.stretch(edge, self._covered(edge)) if pushes else None
            if found is not None:
                yield Exposure(found)
            else:
                left.append(edge)
        if not left:
            return
        maybe = self._walk(pole, lambda edge: kinds[edge] == DEVICE and self._small(kind, edge) is True)
        for edge in left:
            found = maybe.stretch(edge, self._covered(edge))
            if found is not None:
                yield Exposure(found, self._unsaid(kind, found))

    def _unsaid(self, kind: _Kind, stretch: Stretch) -> Unsaid:
        """Name the datum that decides whether a source reaches a conductor."""
        for branch in stretch.path():
            if branch.device:
                small = self._small(kind, self.ways.edge_of[branch.name])
                if isinstance(small, Unsaid):
                    return Unsaid(small.what, stretch.wire.name) if small.of == kind.first.name else small
        if self.limits.push(stretch.source) is None:
            return Unsaid("rated current", stretch.source.name)
        return Unsaid("ampacity", stretch.wire.name)

    # walks ---------------------------------------------------------------------------------------------------------

    def _covered(self, edge: int) -> int:
        said = self.limits.enclosed(self.ways.wire(edge))
        return 0 if said is None else (1 if said else -1)

    def _rating(self, edge: int) -> float:
        rating = self.limits.rating(self.ways.wire(edge))
        return _INFINITE if rating is None else rating

    def _walk(self, pole: Pole, blocked: Callable[[int], bool]) -> Walk:
        return Walk(self.ways, pole, blocked, self._covered, lambda edge: edge not in self.exposed, self._guarded, self._rating)
