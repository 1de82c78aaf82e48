"""Solving many states of one circuit: what carries no current is left out, wires in series become one, equal circuits are solved once.

A `Skeleton` is made once for a circuit: its branches cut into chains between the nodes where something else begins. A `Frame` lays the sources and
consumers of one setup over it. For each set of open gates the frame strips what ends in the air, and asks a `Bench` for the operating point of what
is left; two states in which the same elements can carry current share one `Point`, whatever hangs on it without current.
"""

from __future__ import annotations

from collections.abc import Collection
from functools import reduce
from operator import or_
from typing import NamedTuple

from ohmwright.circuit.series import (
    LOADS,
    PASSIVE,
    SERIAL,
    Led,
    Point,
    Series,
    expanded,
    lay_out,
    nodes_of,
    pair_of,
    pairs_of,
    renumbered,
)
from ohmwright.circuit.skeleton import Skeleton, bms_gate
from ohmwright.solver import elements as el
from ohmwright.solver.operation import Island, Operation
from ohmwright.solver.solver import GIVING, Solver

__all__ = ["Bench", "Frame", "Potentials"]


class Potentials(NamedTuple):
    """The voltage [V] and the island of every node, the nodes of each island, and the node that an island is measured against where a source feeds it.

    The islands of the point come first. Of the nodes that the circuit names as references an island takes the first that lies in it.
    """

    volts: list[float | None]
    where: list[int]
    members: list[list[int]]
    against: dict[int, int]


class Frame:
    """One setup's circuit with every gate closed.

    `wires` are the elements of the branches, `parts` those of sources and consumers, `cut` the same with constant-power consumers at their cut-off
    voltage.
    """

    def __init__(
        self, bench: Bench, wires: tuple[el.Element, ...], parts: tuple[el.Element, ...], cut: tuple[el.Element, ...]
    ) -> None:
        self.bench = bench
        skeleton = self.skeleton = bench.skeleton
        self.wires = wires
        self.parts = parts
        self.cut = cut
        self.condenses = all(skeleton.is_kept[node] for element in parts for node in nodes_of(element))
        ids = bench.ids
        self.a = [chain.a for chain in skeleton.chains]
        self.b = [chain.b for chain in skeleton.chains]
        self.gates = [chain.gates for chain in skeleton.chains]
        self.bits = bench.bits_of_chains(wires)
        self.first_part = len(self.a)
        self.passive = [True] * self.first_part  # may be stripped where it ends in the air
        self.serial = [True] * self.first_part  # may be joined with what it is in series with
        self.changes = 0  # bits of the parts that are others at their cut-off voltage
        self.cut_ampere: dict[str, float] = {}  # what each of them takes there [A]
        self.owner: list[int] = []  # edge - first_part -> part
        bit = skeleton.bit
        for place, element in enumerate(parts):
            gate = bit.get(bms_gate(element.name), 0) if isinstance(element, el.Emf) else 0
            one = 1 << ids.setdefault(element, len(ids))
            other = cut[place]
            if isinstance(other, el.CurrentLoad) and isinstance(element, el.PowerLoad):
                self.changes |= one
                self.cut_ampere[element.name] = other.ampere
            for a, b in pairs_of(element):
                self.a.append(a)
                self.b.append(b)
                self.gates.append(gate)
                self.bits.append(one)
                self.passive.append(isinstance(element, PASSIVE))
                self.serial.append(isinstance(element, SERIAL))
                self.owner.append(place)
        self.ties: dict[int, list[int]] = {}  # node -> nodes that a resistor among the parts joins it with
        for element in parts:
            if isinstance(element, el.Resistor):
                self.ties.setdefault(element.a, []).append(element.b)
                self.ties.setdefault(element.b, []).append(element.a)

    # what is left when gates are open ----------------------------------------------------------------------------

    def point(self, open_gates: Collection[str]) -> Point:
        """Return the operating point with some gates open, solved now or known from an equal circuit."""
        mask = self.skeleton.mask(open_gates)
        edges, live = self._strip(mask)
        known = self.bench.points.get(live)
        if known is None:
            known = self.bench.points[live] = self._solve(edges, live, mask, self.parts, with_cut_off=live & self.changes != 0)
            self.bench.solved += 1
        return known

    def at_cut_off(self, point: Point, open_gates: Collection[str]) -> Point:
        """Return the same with every constant-power consumer at its cut-off voltage."""
        if point.cut_off is None:
            if not point.live & self.changes:
                point.cut_off = point
            else:
                mask = self.skeleton.mask(open_gates)
                edges, live = self._strip(mask)
                point.cut_off = self._solve(edges, live, mask, self.cut)
                self.bench.solved += 1
        return point.cut_off

    def _strip(self, mask: int) -> tuple[list[int], int]:
        """Return the edges that are left when passive ends in the air are taken away, and the key of what they are."""
        a, b, passive = self.a, self.b, self.passive
        degree = [0] * self.skeleton.nodes
        across = [0] * self.skeleton.nodes  # the only edge at a node, where its degree is 1
        closed = [edge for edge, gates in enumerate(self.gates) if not gates & mask]
        for edge in closed:
            i, j = a[edge], b[edge]
            degree[i] += 1
            degree[j] += 1
            across[i] ^= edge
            across[j] ^= edge
        gone: set[int] = set()
        for edge in closed:
            if passive[edge] and edge not in gone:
                node = a[edge] if degree[a[edge]] == 1 else b[edge]
                while degree[node] == 1 and passive[across[node]]:
                    leaf = across[node]
                    gone.add(leaf)
                    degree[node] = 0
                    node = a[leaf] ^ b[leaf] ^ node
                    degree[node] -= 1
                    across[node] ^= leaf
        live = 0
        bits = self.bits
        left = [edge for edge in closed if edge not in gone] if gone else closed
        for edge in left:
            live |= bits[edge]
        return left, live

    # solving -----------------------------------------------------------------------------------------------------

    def _solve(
        self, edges: list[int], live: int, mask: int, parts: tuple[el.Element, ...], with_cut_off: bool = False
    ) -> Point:
        """Return the operating point; `with_cut_off` also looks for that at cut-off, from the one that was found, and notes it where that works out."""
        if not self.condenses:
            return self._solve_whole(live, mask, parts)
        series, idle = self._in_series(edges, parts)
        for edge in idle:
            live &= ~self.bits[edge]
        active = dict.fromkeys(
            self.owner[edge - self.first_part] for edge in edges if edge >= self.first_part and not self.serial[edge]
        )
        nodes = {node for item in series for node in (item.a, item.b)}
        for place in active:
            nodes.update(nodes_of(parts[place]))
        number = {node: place for place, node in enumerate(sorted(nodes))}
        count = len(number)
        items: list[el.Element] = []
        led: list[Led] = []
        for item in series:
            count = lay_out(item, number, count, items, led)
        items.extend(renumbered(parts[place], number) for place in active)
        references = tuple(number[node] for node in self.bench.references if node in number)
        network = el.Network(count, tuple(items), references)
        solver, modes = self.bench.solver, self.bench.modes
        cut: Operation | None = None
        if with_cut_off:
            operation, cut = solver.solve_with_variant(network, self._cut_off_variant(network), modes)
        else:
            operation = solver.solve(network, modes)
        modes.update((name, mode) for name, mode in operation.modes.items() if mode in GIVING)
        if operation.conflicts:
            return self._solve_whole(live, mask, parts)
        point = expanded(live, operation, number, led)
        if cut is not None:
            point.cut_off = expanded(live, cut, number, led)
            self.bench.solved += 1
        return point

    def _cut_off_variant(self, network: el.Network) -> el.Network:
        """Return a condensed network with constant-power consumers at their cut-off voltage."""
        ampere = self.cut_ampere
        items = [
            el.CurrentLoad(item.name, item.plus, item.minus, ampere[item.name])
            if isinstance(item, el.PowerLoad) and item.name in ampere
            else item
            for item in network.elements
        ]
        return el.Network(network.nodes, tuple(items), network.references)

    def _solve_whole(self, live: int, mask: int, parts: tuple[el.Element, ...]) -> Point:
        """Solve everything as it stands, without leaving anything out."""
        gate_of = self.skeleton.gate_of
        wires = [wire for wire, gate in zip(self.wires, gate_of, strict=True) if not gate & mask]
        bit = self.skeleton.bit
        kept = [part for part in parts if not (isinstance(part, el.Emf) and bit.get(bms_gate(part.name), 0) & mask)]
        operation = self.bench.solver.solve(el.Network(self.skeleton.nodes, (*wires, *kept), self.bench.references))
        return Point(live, operation, operation.currents, is_whole=True)

    def _in_series(self, edges: list[int], parts: tuple[el.Element, ...]) -> tuple[list[Series], list[int]]:
        """Return the edges joined in series wherever nothing else meets them, and those of rings that nothing feeds."""
        at: dict[int, list[int]] = {}
        for edge in edges:
            at.setdefault(self.a[edge], []).append(edge)
            at.setdefault(self.b[edge], []).append(edge)
        serial, passive = self.serial, self.passive
        found: list[Series] = []
        rings: list[int] = []
        done: set[int] = set()
        for first in edges:
            if not serial[first] or first in done:
                continue
            done.add(first)
            way = [(first, True)]
            end = self._extend(way, self.b[first], at, done)
            start = self.a[first]
            if start != end:
                back: list[tuple[int, bool]] = []
                start = self._extend(back, start, at, done)
                way = [(edge, not forward) for edge, forward in reversed(back)] + way
            if start != end:
                found.append(self._series(start, end, way, parts))
                continue
            fed = next((place for place, (edge, _) in enumerate(way) if not passive[edge]), None)
            if fed is None:
                rings.extend(edge for edge, _ in way)
                continue
            for piece in (way[:fed], way[fed : fed + 1], way[fed + 1 :]):
                if piece:
                    (one, along), (two, on) = piece[0], piece[-1]
                    begin = self.a[one] if along else self.b[one]
                    found.append(self._series(begin, self.b[two] if on else self.a[two], piece, parts))
        return found, rings

    def _extend(self, way: list[tuple[int, bool]], node: int, at: dict[int, list[int]], done: set[int]) -> int:
        """Follow a series from a node as far as nothing else meets it; returns where it ends."""
        serial = self.serial
        while True:
            here = at[node]
            if len(here) != 2 or not (serial[here[0]] and serial[here[1]]):
                return node
            edge = here[1] if here[0] in done else here[0]
            if edge in done:
                return node
            done.add(edge)
            forward = self.a[edge] == node
            way.append((edge, forward))
            node = self.b[edge] if forward else self.a[edge]

    def _series(self, start: int, end: int, way: list[tuple[int, bool]], parts: tuple[el.Element, ...]) -> Series:
        items: list[tuple[el.Element, bool, int]] = []
        chains = self.skeleton.chains
        for edge, forward in way:
            if edge >= self.first_part:
                element = parts[self.owner[edge - self.first_part]]
                items.append((element, forward, self.b[edge] if forward else self.a[edge]))
                continue
            branches = chains[edge].branches
            for branch, along in branches if forward else reversed(branches):
                element = self.wires[branch]
                runs = along == forward
                one, two = pair_of(element)
                items.append((element, runs, two if runs else one))
        return Series(start, end, tuple(items))

    # the whole circuit -------------------------------------------------------------------------------------------

    def potentials(self, point: Point, open_gates: Collection[str]) -> Potentials | None:
        """Return the potentials of the whole circuit; None where the point has those of its own: nothing was left out of it, or nothing was found."""
        operation = point.operation
        if point.is_whole or not (operation.solved or operation.voltages):
            return None
        skeleton = self.skeleton
        mask = skeleton.mask(open_gates)
        volts: list[float | None] = [None] * skeleton.nodes
        where = [-1] * skeleton.nodes
        members: list[list[int]] = [[] for _ in point.fed]
        stack: list[int] = []
        for node, island in point.where.items():
            where[node] = island
            volts[node] = point.volts[node]
            members[island].append(node)
            stack.append(node)
        near, gate_of, ties = skeleton.near, skeleton.gate_of, self.ties
        rest = 0
        while True:
            while stack:
                node = stack.pop()
                island = where[node]
                volt = volts[node]
                here = members[island]
                for other, branch in near[node]:
                    if where[other] < 0 and not gate_of[branch] & mask:
                        where[other] = island
                        volts[other] = volt
                        here.append(other)
                        stack.append(other)
                for other in ties.get(node, ()):
                    if where[other] < 0:
                        where[other] = island
                        volts[other] = volt
                        here.append(other)
                        stack.append(other)
            while rest < skeleton.nodes and where[rest] >= 0:
                rest += 1
            if rest == skeleton.nodes:
                break
            where[rest] = len(members)
            members.append([rest])
            stack.append(rest)
        against: dict[int, int] = {}
        for node in self.bench.references:
            island = where[node]
            if island < len(point.fed) and point.fed[island] and island not in against:
                against[island] = node
                shift = volts[node]
                if shift:
                    for other in members[island]:
                        value = volts[other]
                        if value is not None:
                            volts[other] = value - shift
        return Potentials(volts, where, members, against)

    def lay(self, point: Point, open_gates: Collection[str], potentials: Potentials | None) -> Operation:
        """Return the operating point of everything, what hangs on it without current included."""
        operation = point.operation
        if potentials is None:
            return operation
        volts, _, members, against = potentials
        fed = point.fed
        islands = [
            Island(tuple(sorted(nodes)), against.get(k), k < len(fed) and fed[k]) for k, nodes in enumerate(members) if nodes
        ]
        currents, powers = self._all_currents(point, self.skeleton.mask(open_gates))
        idle = self._unfed(point)
        modes = {**operation.modes, **dict.fromkeys(idle, "dead")}
        return Operation(
            operation.solved, operation.reason, tuple(volts), currents, powers, modes, tuple(islands),
            (*operation.dead, *idle), (), operation.shared, operation.collapse,
        )  # fmt: skip

    def _all_currents(self, point: Point, mask: int) -> tuple[dict[str, float], dict[str, float]]:
        currents: dict[str, float] = {}
        powers: dict[str, float] = {}
        solved = point.operation.solved
        for wire, gate in zip(self.wires, self.skeleton.gate_of, strict=True):
            if not gate & mask:
                i = point.currents.get(wire.name)
                if i is None:
                    if not solved:
                        continue
                    i = 0.0
                currents[wire.name] = i
                powers[wire.name] = i * i * wire.ohm if isinstance(wire, el.Resistor) else 0.0
        currents.update(point.currents)
        powers.update(point.operation.powers)
        for part in self.parts:
            if isinstance(part, el.Resistor):
                i = currents.setdefault(part.name, 0.0)
                powers[part.name] = i * i * part.ohm
        return currents, powers

    def _unfed(self, point: Point) -> list[str]:
        """Return the loads that hang on a loose end."""
        ids = self.bench.ids
        return [part.name for part in self.parts if isinstance(part, LOADS) and not point.live >> ids[part] & 1]


class Bench:
    """What all states of one study share: the solver, the skeleton, and every operating point that was found."""

    def __init__(self, solver: Solver, skeleton: Skeleton, references: tuple[int, ...]) -> None:
        self.solver = solver
        self.skeleton = skeleton
        self.references = references
        self.ids: dict[el.Element, int] = {}
        self.points: dict[int, Point] = {}
        self.modes: dict[str, str] = {}  # in which each device was last found: the first guess for the next circuit
        self.solved = 0
        self._bits: dict[int, tuple[tuple[el.Element, ...], list[int]]] = {}

    def bits_of_chains(self, wires: tuple[el.Element, ...]) -> list[int]:
        """Return the bits of the elements of each chain of the skeleton, in a new list; the same elements always get the same ones."""
        known = self._bits.get(id(wires))
        if known is None:
            ids = self.ids
            of_wire = [1 << ids.setdefault(wire, len(ids)) for wire in wires]
            bits = [reduce(or_, [of_wire[branch] for branch, _ in chain.branches], 0) for chain in self.skeleton.chains]
            known = self._bits[id(wires)] = (wires, bits)
        return known[1][:]
