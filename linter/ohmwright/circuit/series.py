"""Wires and loads in series as one branch: what stands for them in a condensed network, and what its operating point says of each of them."""

from __future__ import annotations

from ohmwright_grammar.records import record

from ohmwright.solver import elements as el
from ohmwright.solver.operation import Operation

__all__ = [
    "LOADS",
    "PASSIVE",
    "SERIAL",
    "Led",
    "Point",
    "Series",
    "expanded",
    "lay_out",
    "nodes_of",
    "pair_of",
    "pairs_of",
    "renumbered",
]

PASSIVE = (el.Resistor, el.PowerLoad, el.CurrentLoad)
LOADS = (el.PowerLoad, el.CurrentLoad)
SERIAL = (*PASSIVE, el.Diode, el.Emf, el.Array)  # what may lie in one series with resistors
_TWO_SIDED = (el.Converter, el.Tracker, el.SeriesController)


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
class Series:
    """Passive elements in series between two nodes: each with its direction and the node behind it."""

    a: int
    b: int
    items: tuple[tuple[el.Element, bool, int], ...]


def pair_of(element: el.Element) -> tuple[int, int]:
    """Return the nodes of an element with one side, in the direction in which its current counts as positive through it."""
    if isinstance(element, el.Resistor):
        return element.a, element.b
    if isinstance(element, el.Diode):
        return element.anode, element.cathode
    assert not isinstance(element, _TWO_SIDED)
    return element.plus, element.minus


def pairs_of(element: el.Element) -> tuple[tuple[int, int], ...]:
    if isinstance(element, _TWO_SIDED):
        return (element.in_plus, element.in_minus), (element.out_plus, element.out_minus)
    return (pair_of(element),)


def nodes_of(element: el.Element) -> tuple[int, ...]:
    return tuple(node for pair in pairs_of(element) for node in pair)


def renumbered(element: el.Element, number: dict[int, int]) -> el.Element:
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
class Led:
    """How a series stands in a condensed network: the element that tells its current and the sign of that, the ends of what is no resistor in it,
    and how much resistance [ohm] that took in."""

    series: Series
    leader: str
    sign: float
    drops: tuple[tuple[int, int], ...]
    taken_in: float = 0.0


def lay_out(item: Series, number: dict[int, int], count: int, items: list[el.Element], led: list[Led]) -> int:
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
        led.append(Led(item, first, 1.0, ()))
        return count
    if len(others) == 1 and isinstance(others[0][0], el.Emf | el.Array | el.Diode):
        element, forward = others[0]
        plus, minus = (at, end) if forward else (end, at)
        items.append(_between(element, plus, minus, total))
        out = forward == isinstance(element, el.Diode)  # what a source gives counts out of its plus
        led.append(Led(item, element.name, 1.0 if out else -1.0, ((at, end),), total))
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
    led.append(Led(item, leader, sign, tuple(drops)))
    return count


def expanded(live: int, operation: Operation, number: dict[int, int], led: list[Led]) -> Point:
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
    item: Led,
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
                volt, island = volts[series.b], where[series.b]  # nothing flows from one island to another
            else:
                volt, island = under, island_of[two]
        volts[node] = volt
        where[node] = island
