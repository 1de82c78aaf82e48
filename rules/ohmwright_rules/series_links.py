"""Inner links of series strings of batteries, and the devices that stand at the live end of the string.

No current flows in a string but through all of it: a device at its live end opens whatever comes from beyond. What it does not open is a short from the link
itself to the return, which the batteries below feed alone.
"""

from __future__ import annotations

from functools import cached_property

from ohmwright.circuit.graph import Branch
from ohmwright.protection.reaching import Protection
from ohmwright.protection.walking import Walk
from ohmwright.protection.ways import DEVICE, WIRE
from ohmwright_grammar.records import record

__all__ = ["SeriesLink", "SeriesLinks"]


@record
class SeriesLink:
    """A conductor of the way between two batteries of one string: from the live pole of `below` to the other pole of `above`.

    `devices` are those that what comes out of the string's live end meets first, in name order, none where it meets none.
    """

    below: str
    above: str
    devices: tuple[Branch, ...]


class SeriesLinks:
    """The inner links of every string, under one setting of what cannot be closed at the same time."""

    def __init__(self, protection: Protection) -> None:
        self.protection = protection
        self._walks = {walk.pole.source.name: walk for walk in protection.unfused if walk.pole.source.kind == "battery"}
        self._known: dict[str, tuple[tuple[int, str], ...]] = {}
        self._ends: dict[str, tuple[Branch, ...]] = {}

    @cached_property
    def _dead_poles(self) -> dict[int, list[str]]:
        """The batteries whose other pole lies in a cluster, in name order."""
        cluster = self.protection.ways.cluster
        found: dict[int, list[str]] = {}
        for walk in self._walks.values():
            pole = walk.pole
            node = pole.source.plus if pole.backwards else pole.source.minus
            found.setdefault(cluster[node], []).append(pole.source.name)
        return found

    def of(self, walk: Walk) -> dict[str, SeriesLink]:
        """Return the conductors between the battery of a walk and those above it in its string, by name; none where it is no battery of a string."""
        if walk.pole.source.kind != "battery":
            return {}
        ways = self.protection.ways
        found: dict[str, SeriesLink] = {}
        for cluster, above in self._above(walk):
            link = SeriesLink(walk.pole.source.name, above, self._end(above))
            for edge, _ in walk.way(cluster):
                if ways.kinds[edge] == WIRE:
                    found.setdefault(ways.wire(edge).name, link)
        return found

    def _above(self, walk: Walk) -> tuple[tuple[int, str], ...]:
        """Return the batteries whose other pole a walk comes to, each with its cluster there."""
        name = walk.pole.source.name
        if name not in self._known:
            dead, reached = self._dead_poles, walk.reached
            met = (
                (cluster for cluster in dead if cluster in reached)
                if len(dead) < len(reached)
                else (cluster for cluster in reached if cluster in dead)
            )
            self._known[name] = tuple(sorted((cluster, other) for cluster in met for other in dead[cluster] if other != name))
        return self._known[name]

    def _end(self, name: str) -> tuple[Branch, ...]:
        """Return the first devices beyond the live end of the string that goes on with a battery."""
        if name in self._ends:
            return self._ends[name]
        chain = [name]
        seen = {name}
        single = True
        devices: dict[str, Branch] = {}
        for here in chain:
            walk = self._walks[here]
            above = [other for _, other in self._above(walk)]
            single = single and len(above) < 2
            if not above:
                devices.update((device.name, device) for device in self._border(walk))
            chain.extend(other for other in above if other not in seen)
            seen.update(above)
        found = tuple(devices[key] for key in sorted(devices))
        for here in chain if single else (name,):
            self._ends[here] = found
        return found

    def _border(self, walk: Walk) -> list[Branch]:
        """Return the devices at which a walk ends."""
        ways = self.protection.ways
        table = ways.back if walk.pole.backwards else ways.out
        return [ways.wire(edge) for cluster in walk.reached for edge, _ in table[cluster] if ways.kinds[edge] == DEVICE]
