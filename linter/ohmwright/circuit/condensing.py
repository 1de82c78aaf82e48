"""Solving many states of one circuit: what carries no current is left out, wires in series become one, equal circuits are solved once.

A `Skeleton` is made once for a circuit: its branches cut into chains between the nodes where something else begins. A `Frame` lays the sources and
consumers of one setup over it. For each set of open gates the frame strips what ends in the air, and asks a `Bench` for the operating point of what
is left; two states in which the same elements can carry current share one `Point`, whatever hangs on it without current.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence

from ohmwright_grammar.records import record

from ohmwright.solver import elements as el
from ohmwright.solver.operation import Island, Operation
from ohmwright.solver.solver import GIVING, Solver

__all__ = ["Bench", "Frame", "Point", "Skeleton", "bms_gate"]

_PASSIVE = (el.Resistor, el.PowerLoad, el.CurrentLoad)
_LOADS = (el.PowerLoad, el.CurrentLoad)
_SERIAL = (*_PASSIVE, el.Diode, el.Emf, el.Array)  # what may lie in one series with resistors
_TWO_SIDED = (el.Converter, el.Tracker, el.SeriesController)


def bms_gate(battery: str) -> str:
    """Return the gate that is open while the management system of a battery has cut it off."""
    return f"\0{battery}"


def _pair(element: el.Element) -> tuple[int, int]:
    """Return the nodes of an element with one side, in the direction in which its current counts as positive through it."""
    if isinstance(element, el.Resistor):
        return element.a, element.b
    if isinstance(element, el.Diode):
        return element.anode, element.cathode
    assert not isinstance(element, _TWO_SIDED)
    return element.plus, element.minus


@record
class _Chain:
    """Branches in series between two kept nodes: their places in the circuit, each with whether the chain runs from its first node to its second."""

    a: int
    b: int
    branches: tuple[tuple[int, bool], ...]
    gates: int  # bits of the gates that close it


class Skeleton:
    """The branches of a circuit in chains; `kept` are nodes of sources and consumers, which never lie inside a chain."""

    def __init__(
        self,
        ends: Sequence[tuple[int, int]],
        gates: Sequence[str],
        kept: Iterable[int],
        nodes: int,
        batteries: Iterable[str] = (),
    ) -> None:
        self.nodes = nodes
        names = dict.fromkeys((*(gate for gate in gates if gate), *(bms_gate(name) for name in batteries)))
        self.bit = {gate: 1 << place for place, gate in enumerate(names)}
        self.near: list[list[tuple[int, int]]] = [[] for _ in range(nodes)]  # node -> (other node, branch)
        for branch, (a, b) in enumerate(ends):
            self.near[a].append((b, branch))
            self.near[b].append((a, branch))
        self.gate_of = [self.bit.get(gate, 0) for gate in gates]
        keeps = [len(found) != 2 for found in self.near]
        for node in kept:
            keeps[node] = True
        self.is_kept = keeps
        self.chains = tuple(self._chains(ends, keeps))

    def _chains(self, ends: Sequence[tuple[int, int]], keeps: list[bool]) -> Iterable[_Chain]:
        done = [False] * len(ends)
        for start in (node for node, keep in enumerate(keeps) if keep):
            for other, first in self.near[start]:
                if done[first]:
                    continue
                way = [(first, ends[first][0] == start)]
                done[first] = True
                at = other
                while not keeps[at]:
                    (one, k), (two, m) = self.near[at]
                    branch, beyond = (m, two) if done[k] else (k, one)
                    if done[branch]:
                        break  # a ring that comes back to itself
                    done[branch] = True
                    way.append((branch, ends[branch][0] == at))
                    at = beyond
                if at != start:  # a ring of wires on one node carries nothing
                    mask = 0
                    for branch, _ in way:
                        mask |= self.gate_of[branch]
                    yield _Chain(start, at, tuple(way), mask)

    def mask(self, open_gates: Collection[str]) -> int:
        """Return the bits of some open gates."""
        bit = self.bit
        found = 0
        for gate in open_gates:
            found |= bit.get(gate, 0)
        return found


class Point:
    """The operating point of everything that can carry current in a state; shared by all states in which that is the same.

    `currents` [A] are by element, as in an Operation; what has no entry carries none.
    """

    __slots__ = ("currents", "cut_off", "fed", "is_whole", "live", "operation", "volts", "where")

    def __init__(self, live: int, operation: Operation, currents: dict[str, float], is_whole: bool = False) -> None:
        self.live = live
        self.operation = operation
        self.currents = currents
        self.volts: dict[int, float | None] = {}
        self.where: dict[int, int] = {}  # node -> island
        self.fed: tuple[bool, ...] = ()  # of each island, whether a source feeds it
        self.cut_off: Point | None = None
        self.is_whole = is_whole  # solved as it stands, with nothing left out


@record
class _Series:
    """Passive elements in series between two nodes: each with its direction and the node behind it."""

    a: int
    b: int
    items: tuple[tuple[el.Element, bool, int], ...]


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
        self.condenses = all(skeleton.is_kept[node] for element in parts for node in _nodes(element))
        ids = bench.ids
        self.a: list[int] = []
        self.b: list[int] = []
        self.gates: list[int] = []
        self.bits: list[int] = []
        self.passive: list[bool] = []  # may be stripped where it ends in the air
        self.serial: list[bool] = []  # may be joined with what it is in series with
        wire_bits = bench.bits_of(wires)
        for chain in skeleton.chains:
            self.a.append(chain.a)
            self.b.append(chain.b)
            self.gates.append(chain.gates)
            bits = 0
            for branch, _ in chain.branches:
                bits |= wire_bits[branch]
            self.bits.append(bits)
            self.passive.append(True)
            self.serial.append(True)
        self.first_part = len(self.a)
        self.changes = 0  # bits of the parts that are others at their cut-off voltage
        self.owner: list[int] = []  # edge - first_part -> part
        bit = skeleton.bit
        for place, element in enumerate(parts):
            gate = bit.get(bms_gate(element.name), 0) if isinstance(element, el.Emf) else 0
            one = 1 << ids.setdefault(element, len(ids))
            if cut[place] != element:
                self.changes |= one
            for a, b in _pairs(element):
                self.a.append(a)
                self.b.append(b)
                self.gates.append(gate)
                self.bits.append(one)
                self.passive.append(isinstance(element, _PASSIVE))
                self.serial.append(isinstance(element, _SERIAL))
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
            known = self.bench.points[live] = self._solve(edges, live, mask, self.parts)
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

    def _solve(self, edges: list[int], live: int, mask: int, parts: tuple[el.Element, ...]) -> Point:
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
            nodes.update(_nodes(parts[place]))
        number = {node: place for place, node in enumerate(sorted(nodes))}
        count = len(number)
        items: list[el.Element] = []
        led: list[_Led] = []
        for item in series:
            count = _lay_out(item, number, count, items, led)
        items.extend(_renumbered(parts[place], number) for place in active)
        references = tuple(number[node] for node in self.bench.references if node in number)
        operation = self.bench.solver.solve(el.Network(count, tuple(items), references), self.bench.modes)
        self.bench.modes.update((name, mode) for name, mode in operation.modes.items() if mode in GIVING)
        if operation.conflicts:
            return self._solve_whole(live, mask, parts)
        return _expanded(live, operation, number, led)

    def _solve_whole(self, live: int, mask: int, parts: tuple[el.Element, ...]) -> Point:
        """Solve everything as it stands, without leaving anything out."""
        gate_of = self.skeleton.gate_of
        wires = [wire for wire, gate in zip(self.wires, gate_of, strict=True) if not gate & mask]
        bit = self.skeleton.bit
        kept = [part for part in parts if not (isinstance(part, el.Emf) and bit.get(bms_gate(part.name), 0) & mask)]
        operation = self.bench.solver.solve(el.Network(self.skeleton.nodes, (*wires, *kept), self.bench.references))
        return Point(live, operation, operation.currents, is_whole=True)

    def _in_series(self, edges: list[int], parts: tuple[el.Element, ...]) -> tuple[list[_Series], list[int]]:
        """Return the edges joined in series wherever nothing else meets them, and those of rings that nothing feeds."""
        at: dict[int, list[int]] = {}
        for edge in edges:
            at.setdefault(self.a[edge], []).append(edge)
            at.setdefault(self.b[edge], []).append(edge)
        serial, passive = self.serial, self.passive
        found: list[_Series] = []
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

    def _series(self, start: int, end: int, way: list[tuple[int, bool]], parts: tuple[el.Element, ...]) -> _Series:
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
                one, two = _pair(element)
                items.append((element, runs, two if runs else one))
        return _Series(start, end, tuple(items))

    # the whole circuit -------------------------------------------------------------------------------------------

    def potentials(
        self, point: Point, open_gates: Collection[str]
    ) -> tuple[list[float | None], list[list[int]], dict[int, int]]:
        """Return the voltage [V] of every node, the nodes of each island, and the node that it is measured against where a source feeds it.

        The islands of the point come first. Of the nodes that the circuit names as references an island takes the first that lies in it.
        """
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
                found = [other for other, branch in near[node] if where[other] < 0 and not gate_of[branch] & mask]
                if node in ties:
                    found.extend(ties[node])
                for other in found:
                    if where[other] < 0:
                        where[other] = island
                        volts[other] = volt
                        members[island].append(other)
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
        return volts, members, against

    def lay(self, point: Point, open_gates: Collection[str]) -> Operation:
        """Return the operating point of everything, what hangs on it without current included."""
        operation = point.operation
        if point.is_whole or not (operation.solved or operation.voltages):
            return operation
        volts, members, against = self.potentials(point, open_gates)
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
        return [part.name for part in self.parts if isinstance(part, _LOADS) and not point.live >> ids[part] & 1]


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

    def bits_of(self, wires: tuple[el.Element, ...]) -> list[int]:
        """Return the bit of each element; the same elements always get the same ones."""
        known = self._bits.get(id(wires))
        if known is None:
            ids = self.ids
            known = self._bits[id(wires)] = (wires, [1 << ids.setdefault(wire, len(ids)) for wire in wires])
        return known[1]


# helpers -----------------------------------------------------------------------------------------------------------


def _pairs(element: el.Element) -> tuple[tuple[int, int], ...]:
    if isinstance(element, _TWO_SIDED):
        return (element.in_plus, element.in_minus), (element.out_plus, element.out_minus)
    return (_pair(element),)


def _nodes(element: el.Element) -> tuple[int, ...]:
    return tuple(node for pair in _pairs(element) for node in pair)


def _renumbered(element: el.Element, number: dict[int, int]) -> el.Element:
    """Return an element of a source between the nodes of the condensed network."""
    match element:
        case el.Charger():
            return el.Charger(element.name, number[element.plus], number[element.minus], element.volt, element.ampere)
        case el.CurrentSource():
            return el.CurrentSource(element.name, number[element.plus], number[element.minus], element.ampere)
        case el.Converter():
            return el.Converter(
                element.name, number[element.in_plus], number[element.in_minus], number[element.out_plus],
                number[element.out_minus], element.volt, element.ohm, element.efficiency, element.idle, element.ampere,
            )  # fmt: skip
        case el.Tracker():
            return el.Tracker(
                element.name, number[element.in_plus], number[element.in_minus], number[element.out_plus],
                number[element.out_minus], element.efficiency, element.volt, element.ampere,
            )  # fmt: skip
        case el.SeriesController():
            return el.SeriesController(
                element.name, number[element.in_plus], number[element.in_minus], number[element.out_plus],
                number[element.out_minus], element.volt, element.ampere, element.ohm,
            )  # fmt: skip
    raise TypeError(f"{element!r} is no source that stands alone")


def _between(element: el.Element, plus: int, minus: int, ohm: float) -> el.Element:
    """Return an element between two other nodes, with a resistance added to its own where it has one."""
    match element:
        case el.PowerLoad():
            return el.PowerLoad(element.name, plus, minus, element.watt)
        case el.CurrentLoad():
            return el.CurrentLoad(element.name, plus, minus, element.ampere)
        case el.Diode():
            return el.Diode(element.name, plus, minus, element.saturation, element.slope, element.ohm + ohm)
        case el.Emf():
            return el.Emf(element.name, plus, minus, element.volt, element.ohm + ohm)
        case el.Array():
            series = element.series + ohm
            return el.Array(element.name, plus, minus, element.photo, element.saturation, element.slope, series, element.shunt)
    raise TypeError(f"{element!r} is in no series")


@record
class _Led:
    """How a series stands in a condensed network: the element that tells its current and the sign of that, the ends of what is no resistor in it,
    and how much resistance [ohm] that took in."""

    series: _Series
    leader: str
    sign: float
    drops: tuple[tuple[int, int], ...]
    taken_in: float = 0.0


def _lay_out(item: _Series, number: dict[int, int], count: int, items: list[el.Element], led: list[_Led]) -> int:
    """Add the elements that stand for a series to a condensed network; returns the new number of nodes."""
    total = 0.0
    others: list[tuple[el.Element, bool]] = []
    first = ""
    for element, forward, _ in item.items:
        if isinstance(element, el.Resistor):
            total += element.ohm
            first = first or element.name
        else:
            others.append((element, forward))
    at, end = number[item.a], number[item.b]
    if not others:
        items.append(el.Resistor(first, at, end, total))
        led.append(_Led(item, first, 1.0, ()))
        return count
    if len(others) == 1 and isinstance(others[0][0], el.Emf | el.Array | el.Diode):
        element, forward = others[0]
        plus, minus = (at, end) if forward else (end, at)
        items.append(_between(element, plus, minus, total))
        out = forward == isinstance(element, el.Diode)  # what a source gives counts out of its plus
        led.append(_Led(item, element.name, 1.0 if out else -1.0, ((at, end),), total))
        return count
    drops: list[tuple[int, int]] = []
    leader, sign = "", 1.0
    if total > 0:
        items.append(el.Resistor(first, at, count, total))
        at, count = count, count + 1
        leader = first
    for place, (element, forward) in enumerate(others):
        if place < len(others) - 1:
            beyond, count = count, count + 1
        else:
            beyond = end
        plus, minus = (at, beyond) if forward else (beyond, at)
        items.append(_between(element, plus, minus, 0.0))
        drops.append((at, beyond))
        if not leader:
            out = forward == (not isinstance(element, el.Emf | el.Array))
            leader, sign = element.name, 1.0 if out else -1.0
        at = beyond
    led.append(_Led(item, leader, sign, tuple(drops)))
    return count


def _expanded(live: int, operation: Operation, number: dict[int, int], led: list[_Led]) -> Point:
    """Return the operating point of all live elements from that of the condensed network."""
    currents = dict(operation.currents)
    powers = dict(operation.powers)
    shares: dict[str, tuple[str, ...]] = {}
    flows: list[float] = []
    for item in led:
        i = operation.currents.get(item.leader)
        flows.append(item.sign * i if i is not None else 0.0)
        resistors = [(element, forward) for element, forward, _ in item.series.items if isinstance(element, el.Resistor)]
        if item.taken_in and i is not None:
            source = isinstance(next(e for e, _, _ in item.series.items if not isinstance(e, el.Resistor)), el.Emf | el.Array)
            powers[item.leader] += i * i * item.taken_in * (1.0 if source else -1.0)
        for element, forward in resistors:
            powers.pop(element.name, None)
            if i is not None:
                currents[element.name] = flows[-1] if forward else -flows[-1]
        zeros = tuple(element.name for element, _ in resistors if element.ohm == 0)
        if zeros:
            shares[item.leader] = zeros
    volts: dict[int, float | None] = {}
    where: dict[int, int] = {}
    voltages = operation.voltages
    island_of = {node: index for index, island in enumerate(operation.islands) for node in island.nodes}
    for node, place in number.items():
        volts[node] = voltages[place] if voltages else None
        where[node] = island_of[place]
    for item, flow in zip(led, flows, strict=True):
        _inside(item, flow, voltages, island_of, volts, where)
    shared = tuple(tuple(name for element in group for name in shares.get(element, (element,))) for group in operation.shared)
    told = Operation(
        operation.solved, operation.reason, operation.voltages, operation.currents, powers, operation.modes, operation.islands,
        operation.dead, (), shared, operation.collapse,
    )  # fmt: skip
    point = Point(live, told, currents)
    point.volts = volts
    point.where = where
    point.fed = tuple(island.has_source for island in operation.islands)
    return point


def _inside(
    item: _Led,
    flow: float,
    voltages: tuple[float | None, ...],
    island_of: dict[int, int],
    volts: dict[int, float | None],
    where: dict[int, int],
) -> None:
    """Note the voltages and islands of the nodes inside a series: by the drops from its start, behind the last load from its end."""
    series = item.series
    last = len(series.items) - 1
    volt = volts[series.a]
    island = where[series.a]
    passed = 0
    for place, (element, _, node) in enumerate(series.items):
        if place == last:
            break
        if isinstance(element, el.Resistor):
            volt = None if volt is None else volt - flow * element.ohm
        else:
            one, two = item.drops[passed]
            passed += 1
            over, under = (voltages[one], voltages[two]) if voltages else (None, None)
            if over is not None and under is not None and volt is not None and island_of[one] == island_of[two]:
                volt -= over - under - flow * item.taken_in
            elif passed == len(item.drops):
                volt, island = volts[series.b], where[series.b]
                if volt is not None:
                    volt += flow * sum(e.ohm for e, _, _ in series.items[place + 1 :] if isinstance(e, el.Resistor))
            else:
                volt, island = under, island_of[two]
        volts[node] = volt
        where[node] = island
