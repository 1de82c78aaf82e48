"""The current of a bolted short at each overcurrent device: what the batteries can push through it.

Of a short on one side of a device all batteries count that can come to its other side, the device itself taken away: at the voltages and resistances that are
given for them, behind the conductors of the live side up to the device. Returns, contacts and devices count as nothing.

A device that does not lie between batteries carries what comes to it from where it hangs; there, and beyond `MOST_SHORTS`, a way that leads round it counts
too, which can only make the current larger.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Container, Iterable, Mapping
from functools import cached_property

from ohmwright_grammar.records import record

from ohmwright.circuit.graph import Branch
from ohmwright.protection.bridges import parts
from ohmwright.protection.poles import Pole, Poles
from ohmwright.protection.ways import DEVICE, ONE_WAY, WIRE
from ohmwright.solver.blocks import blocks
from ohmwright.solver.elements import Element, Emf, Network, Resistor
from ohmwright.solver.operation import Port
from ohmwright.solver.solver import Solver

__all__ = ["MOST_SHORTS", "Battery", "Prospective", "prospective"]

MOST_SHORTS = 50_000  # conductors and devices between batteries, times devices among them


@record
class Battery:
    """A battery as the largest fault current sees it: its open voltage [V] and its resistance [ohm]."""

    volt: float
    ohm: float


@record
class Prospective:
    """The largest current of a short beyond a device [A], with the batteries behind it and the network seen from there.

    `side` is the terminal of the device that the current comes in at. `open_volt` [V] and `ohm` [ohm] are what is seen from there; a resistance of nothing
    gives an infinite current.
    """

    device: Branch
    side: str
    ampere: float
    open_volt: float
    ohm: float
    batteries: tuple[str, ...]


def prospective(
    poles: Poles, batteries: Mapping[str, Battery], ohm: Callable[[Branch], float], devices: Iterable[Branch] | None = None
) -> dict[str, Prospective]:
    """Return the prospective current of every device that a battery can come to, by its name.

    `batteries` are those that count, by the names of their sources; `ohm` gives the resistance of a conductor [ohm].
    """
    return _Shorts(poles, batteries, ohm).all(devices)


class _Shorts:
    """The shorts of one setting."""

    def __init__(self, poles: Poles, batteries: Mapping[str, Battery], ohm: Callable[[Branch], float]) -> None:
        self.ways = ways = poles.ways
        self.live = poles.live
        self.batteries = batteries
        self.ohm = ohm
        self.sources = [pole for pole in poles.all if pole.source.kind == "battery" and pole.source.name in batteries]
        self.joined = [
            (edge, ways.a[edge], ways.b[edge])
            for edge in range(len(ways.branches))
            if ways.a[edge] != ways.b[edge] and self.live[ways.a[edge]] and self.live[ways.b[edge]]
        ]
        self.reach = [(pole, ways.reach([pole.cluster], backwards=pole.backwards)) for pole in self.sources]
        self.below = {
            pole: [other for other, seen in self.reach if self.live[self._foot(pole)] and seen[self._foot(pole)]]
            for pole in self.sources
        }
        self.core = self._core()
        self.solver = Solver()

    def _foot(self, pole: Pole) -> int:
        """Return the cluster of the other pole of a battery, at which the one below it in a string comes in."""
        return self.ways.cluster[pole.source.plus if pole.backwards else pole.source.minus]

    def _with_strings(self, poles: Iterable[Pole]) -> tuple[Pole, ...]:
        """Return batteries together with those that lie below them in series."""
        found = dict.fromkeys(poles)
        queue = list(found)
        while queue:
            for other in self.below[queue.pop()]:
                if other not in found:
                    found[other] = None
                    queue.append(other)
        return tuple(pole for pole in self.sources if pole in found)

    def _core(self) -> set[int]:
        """Return the edges that lie on a way from one battery to another; all others only hang there."""
        ways = self.ways
        hub = ways.count  # all returns
        edges = [(one, two) for _, one, two in self.joined]
        batteries = [(pole.cluster, foot if self.live[foot := self._foot(pole)] else hub) for pole in self.sources]
        of = blocks(ways.count + 1, [*edges, *batteries])
        between = set(of[len(edges) :])
        core = {edge for (edge, _, _), block in zip(self.joined, of, strict=False) if block in between}
        return core if len(core) * sum(ways.kinds[edge] == DEVICE for edge in core) <= MOST_SHORTS else set()

    def _depths(self) -> list[int]:
        """Return how many edges every cluster lies from a battery."""
        depth = [-1] * self.ways.count
        queue = deque(dict.fromkeys(pole.cluster for pole in self.sources))
        for cluster in queue:
            depth[cluster] = 0
        while queue:
            here = queue.popleft()
            for _, far in self.ways.out[here]:
                if depth[far] < 0 and self.live[far]:
                    depth[far] = depth[here] + 1
                    queue.append(far)
        return depth

    def all(self, devices: Iterable[Branch] | None) -> dict[str, Prospective]:
        """Return what stands behind each device."""
        ways = self.ways
        edges = [ways.edge_of[device.name] for device in devices] if devices is not None else ways.of_kind(DEVICE)
        found: dict[str, Prospective] = {}
        hanging: dict[tuple[Pole, ...], list[tuple[int, int]]] = {}
        depth = self._depths()
        for edge in edges:
            if edge in self.core:
                for side in (ways.a[edge], ways.b[edge]):
                    sources = self._behind(edge, side)
                    if sources:
                        self._keep(found, edge, side, self._look(sources, [side], self.core, edge)[0], sources)
            elif self.live[ways.a[edge]] and self.live[ways.b[edge]]:
                one, two = ways.a[edge], ways.b[edge]
                side = one if depth[one] <= depth[two] else two
                sources = self._with_strings(pole for pole, seen in self.reach if seen[side])
                hanging.setdefault(sources, []).append((edge, side))
        everything = {edge for edge, _, _ in self.joined}
        for sources, ports in hanging.items():
            if sources:
                seen = self._look(sources, [side for _, side in ports], everything, -1)
                for (edge, side), port in zip(ports, seen, strict=True):
                    self._keep(found, edge, side, port, sources)
        return found

    @cached_property
    def _core_ways(self) -> dict[int, list[tuple[int, int, int]]]:
        """The core by cluster: edge, far cluster, and the direction in which current can take it (0 for both)."""
        ways = self.ways
        table: dict[int, list[tuple[int, int, int]]] = {}
        for edge in sorted(self.core):
            one, two = ways.a[edge], ways.b[edge]
            way = 1 if ways.kinds[edge] == ONE_WAY else 0
            table.setdefault(one, []).append((edge, two, way))
            table.setdefault(two, []).append((edge, one, -way))
        return table

    def _behind(self, device: int, side: int) -> tuple[Pole, ...]:
        """Return the batteries that can come to one side of a device of the core without that device."""
        found: list[Pole] = []
        for backwards in (False, True):
            against = 1 if backwards else -1
            seen = {side}
            queue = [side]
            while queue:  # from the device towards the batteries: against the current
                for edge, far, way in self._core_ways.get(queue.pop(), ()):
                    if edge != device and far not in seen and way in (0, against):
                        seen.add(far)
                        queue.append(far)
            found.extend(pole for pole in self.sources if pole.backwards == backwards and pole.cluster in seen)
        return self._with_strings(found)

    def _look(self, sources: tuple[Pole, ...], sides: list[int], edges: set[int], without: int) -> list[Port]:
        """Return the network as seen between each cluster and the return, with devices as nothing."""
        ways = self.ways
        kept = sorted(edge for edge in edges if edge != without)
        merged = parts(ways.count, ((ways.a[edge], ways.b[edge]) for edge in kept if ways.kinds[edge] != WIRE))

        def node(cluster: int) -> int:
            return merged[cluster] + 1 if self.live[cluster] else 0

        wires = {edge: (node(ways.a[edge]), node(ways.b[edge])) for edge in kept if ways.kinds[edge] == WIRE}
        emfs: list[Element] = []
        for pole in sources:
            battery, source = self.batteries[pole.source.name], pole.source
            ends = node(ways.cluster[source.plus]), node(ways.cluster[source.minus])
            emfs.append(Emf(f"battery {source.name}", *ends, battery.volt, battery.ohm))
        held = {
            end for pole in sources for end in (node(ways.cluster[pole.source.plus]), node(ways.cluster[pole.source.minus]))
        }
        trunk, ohm_from = self._without_ends(wires, held)
        resistors: list[Element] = [
            Resistor(ways.wire(edge).name, *wires[edge], self.ohm(ways.wire(edge))) for edge in sorted(trunk)
        ]
        wanted = {side: ohm_from(node(side)) for side in sides}
        bases = sorted({base for base, _ in wanted.values()})
        network = Network(ways.count + 1, (*resistors, *emfs), (0,))
        seen = dict(zip(bases, self.solver.thevenin(network, [(base, 0) for base in bases]), strict=True))
        return [Port(seen[base].open_volt, seen[base].ohm + ohm) for base, ohm in (wanted[side] for side in sides)]

    def _without_ends(
        self, wires: dict[int, tuple[int, int]], held: Container[int]
    ) -> tuple[set[int], Callable[[int], tuple[int, float]]]:
        """Take off the conductors that only hang somewhere; the rest, and for a node where it hangs and over which resistance."""
        near: dict[int, set[int]] = {}
        for edge, (one, two) in wires.items():
            if one != two:
                near.setdefault(one, set()).add(edge)
                near.setdefault(two, set()).add(edge)
        trunk = set(wires)
        hangs: dict[int, tuple[int, float]] = {}
        loose = [node for node, edges in near.items() if len(edges) == 1 and node not in held]
        while loose:
            here = loose.pop()
            if len(near[here]) != 1:
                continue
            edge = near[here].pop()
            trunk.discard(edge)
            one, two = wires[edge]
            far = two if one == here else one
            hangs[here] = (far, self.ohm(self.ways.wire(edge)))
            near[far].discard(edge)
            if len(near[far]) == 1 and far not in held:
                loose.append(far)

        def base(node: int) -> tuple[int, float]:
            way: list[int] = []
            while node in hangs and hangs[node][0] in hangs:
                way.append(node)
                node = hangs[node][0]
            for before in reversed(way):  # so that the next question from there takes one step
                far, ohm = hangs[before]
                hangs[before] = (hangs[far][0], ohm + hangs[far][1])
            first = way[0] if way else node
            return hangs.get(first, (first, 0.0))

        return trunk, base

    def _keep(self, found: dict[str, Prospective], edge: int, side: int, port: Port, sources: tuple[Pole, ...]) -> None:
        """Keep what stands behind one side of a device if it is more than what stands behind the other."""
        device = self.ways.wire(edge)
        volt = abs(port.open_volt)
        ampere = volt / port.ohm if port.ohm > 0 else float("inf")
        known = found.get(device.name)
        if known is None or ampere > known.ampere:
            terminal = device.start if self.ways.cluster[device.start] == side else device.end
            names = tuple(sorted(pole.source.name for pole in sources))
            found[device.name] = Prospective(device, terminal, ampere, volt, port.ohm, names)
