"""Batteries as wires join them: the loops that they close with each other, the strings that feed something, and those that feed nothing."""

from __future__ import annotations

from collections.abc import Callable, Collection
from functools import partial

from ohmwright.circuit.batteries import resistance_high, resistance_low, rest_voltage_of
from ohmwright.circuit.climate import Temperatures
from ohmwright.circuit.graph import Consumer
from ohmwright.solver.blocks import blocks
from ohmwright.solver.elements import Emf, Network, Resistor
from ohmwright.study import Study
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.records import record

from ohmwright_rules.nets import SHORT_OHM, Layout

_LEVELS = tuple(step / 10 for step in range(11))

__all__ = ["Feeding", "Loop", "batteries", "feeding", "left_over", "loop_resistance", "loops", "open_strings"]


@record
class _Link:
    """A battery between two nets."""

    battery: Battery
    plus: int
    minus: int


@record
class Loop:
    """Batteries that wires close to a loop, each with whether it is gone through from minus to plus."""

    members: tuple[tuple[Battery, bool], ...]

    @property
    def names(self) -> tuple[str, ...]:
        """The names of the batteries, sorted."""
        return tuple(sorted(battery.name for battery, _ in self.members))

    @property
    def is_ring(self) -> bool:
        """Tell whether all batteries push the same way round, so that wires short-circuit the whole string."""
        return len({forward for _, forward in self.members}) == 1

    def net_emf(self, volt: Callable[[Battery], float | None]) -> float | None:
        """Return the voltage that is left over in the loop [V, without sign]; None where that of a battery is not known."""
        total = 0.0
        for battery, forward in self.members:
            value = volt(battery)
            if value is None:
                return None
            total += value if forward else -value
        return abs(total)


@record
class Feeding:
    """Batteries, and consumers that lie in loops with them."""

    batteries: tuple[Battery, ...]
    consumers: tuple[Consumer, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """The names of the batteries, sorted."""
        return tuple(battery.name for battery in self.batteries)


def batteries(study: Study, without: Collection[str] = ()) -> tuple[Battery, ...]:
    """Return every battery in name order, those named in `without` left out."""
    found = (battery for battery in study.of(Battery) if battery.name not in without)
    return tuple(sorted(found, key=lambda battery: battery.name))


def _links(study: Study, layout: Layout, without: Collection[str]) -> list[_Link]:
    return [
        _Link(battery, layout.net(f"{battery.name}.plus"), layout.net(f"{battery.name}.minus"))
        for battery in batteries(study, without)
    ]


# loops -------------------------------------------------------------------------------------------------------------


def loops(study: Study, layout: Layout, without: Collection[str] = ()) -> tuple[Loop, ...]:
    """Return loops of batteries that a layout closes, as many as there are independent ones; each battery that is not in the tree closes one."""
    at: dict[int, list[_Link]] = {}
    links = _links(study, layout, without)
    for link in links:
        at.setdefault(link.plus, []).append(link)
        at.setdefault(link.minus, []).append(link)
    seen: set[str] = set()
    found: list[Loop] = []
    for link in links:
        if link.battery.name not in seen:
            _follow(link, at, seen, found)
    return tuple(found)


def _follow(start: _Link, at: dict[int, list[_Link]], seen: set[str], found: list[Loop]) -> None:
    came: dict[int, tuple[int, _Link] | None] = {start.minus: None}
    queue = [start.minus]
    for net in queue:
        for link in at[net]:
            if link.battery.name in seen:
                continue
            seen.add(link.battery.name)
            other = link.plus if net == link.minus else link.minus
            if other in came:
                found.append(_loop(came, link))
            else:
                came[other] = (net, link)
                queue.append(other)


def _loop(came: dict[int, tuple[int, _Link] | None], closing: _Link) -> Loop:
    """Return the loop that a battery closes: from its plus and from its minus to where the two ways meet."""

    def way(net: int) -> list[tuple[int, _Link]]:
        steps: list[tuple[int, _Link]] = []
        step = came[net]
        while step is not None:
            steps.append((net, step[1]))
            net = step[0]
            step = came[net]
        return steps

    down, back = way(closing.plus), way(closing.minus)
    while down and back and down[-1][1] is back[-1][1]:
        down.pop()
        back.pop()
    members = [(closing.battery, True)]
    members += [(link.battery, net == link.minus) for net, link in down]
    members += [(link.battery, net == link.plus) for net, link in reversed(back)]
    return Loop(tuple(members))


def left_over(loop: Loop) -> tuple[float, float] | None:
    """Return the largest voltage that is left over with all at one charge level, and that level; None where a voltage is not known."""
    found: tuple[float, float] | None = None
    for level in _LEVELS:
        left = loop.net_emf(partial(rest_voltage_of, level=level))
        if left is None:
            return None
        if found is None or left > found[0] + 1e-12:
            found = (left, level)
    return found


def loop_resistance(study: Study, loop: Loop, open_gates: Collection[str]) -> float | str:
    """Return the resistance of a loop [ohm], copper at 20 degC and batteries at their lower end, or the battery whose own is not known.

    A battery that gives an upper bound alone counts with it where even that leaves the loop below 0.1 ohm.
    """
    within: dict[str, float] = {}
    silent = ""
    for battery, _ in loop.members:
        ohm = resistance_low(battery)
        if ohm is None:
            silent = silent or battery.name
            ohm = resistance_high(battery)
            if ohm is None:
                return battery.name if _wires_only(study, loop, open_gates) < SHORT_OHM else SHORT_OHM
        within[battery.name] = ohm
    total = _seen_from(study, loop, open_gates, within) + within[loop.members[0][0].name]
    return silent if silent and total >= SHORT_OHM else total


def _wires_only(study: Study, loop: Loop, open_gates: Collection[str]) -> float:
    return _seen_from(study, loop, open_gates, {battery.name: 0.0 for battery, _ in loop.members})


def _seen_from(study: Study, loop: Loop, open_gates: Collection[str], within: dict[str, float]) -> float:
    """Return the resistance of the rest of a loop as its first battery sees it [ohm]."""
    networker = study.networker
    number = networker.number
    elements = networker.branch_elements(Temperatures(), 20.0)
    items: list[Resistor | Emf] = [
        element
        for branch, element in zip(study.circuit.branches, elements, strict=True)
        if isinstance(element, Resistor) and not (branch.gate and branch.gate in open_gates)
    ]
    first, *others = (battery for battery, _ in loop.members)
    items += [
        Resistor(other.name, number[f"{other.name}.plus"], number[f"{other.name}.minus"], within[other.name])
        for other in others
    ]
    network = Network(len(number), tuple(items), networker.references)
    return study.solver.thevenin(network, [(number[f"{first.name}.plus"], number[f"{first.name}.minus"])])[0].ohm


# strings -----------------------------------------------------------------------------------------------------------


def feeding(study: Study, layout: Layout, without: Collection[str] = ()) -> tuple[Feeding, ...]:
    """Return batteries with what they feed: those that lie in loops with each other and with a consumer, in the order of their first names."""
    links = [link for link in _links(study, layout, without) if link.plus != link.minus]
    takers = [
        (consumer, plus, minus)
        for consumer in study.circuit.consumers
        if (plus := layout.net(consumer.plus)) != (minus := layout.net(consumer.minus))
    ]
    number: dict[int, int] = {}
    edges = [(link.plus, link.minus) for link in links] + [(plus, minus) for _, plus, minus in takers]
    edges += [(layout.root(one), layout.root(two)) for one, two in layout.soft]
    ends = [(number.setdefault(a, len(number)), number.setdefault(b, len(number))) for a, b in edges]
    of = blocks(len(number), ends)
    fed: dict[int, list[Consumer]] = {}
    for (consumer, _, _), block in zip(takers, of[len(links) :], strict=False):
        fed.setdefault(block, []).append(consumer)
    groups: dict[int, list[Battery]] = {}
    for link, block in zip(links, of, strict=False):
        if block in fed:
            groups.setdefault(block, []).append(link.battery)
    return tuple(Feeding(tuple(group), tuple(fed[block])) for block, group in groups.items())


def open_strings(study: Study, layout: Layout, only: Collection[str]) -> tuple[tuple[Battery, ...], ...]:
    """Return, of the batteries named in `only`, each string from an end to an end: batteries one after the other, those beside each other with them."""
    links = [link for link in _links(study, layout, ()) if link.battery.name in only and link.plus != link.minus]
    up: dict[int, list[_Link]] = {}
    down: dict[int, list[_Link]] = {}
    for link in links:
        up.setdefault(link.minus, []).append(link)
        down.setdefault(link.plus, []).append(link)
    found: dict[tuple[str, ...], tuple[Battery, ...]] = {}
    for low in sorted(set(up) - set(down)):
        above = _reach(low, up, lambda link: link.plus)
        for high in sorted(above - set(up)):
            below = _reach(high, down, lambda link: link.minus)
            string = tuple(link.battery for link in links if link.minus in above & below and link.plus in above & below)
            found[tuple(battery.name for battery in string)] = string
    return tuple(found[names] for names in sorted(found))


def _reach(start: int, at: dict[int, list[_Link]], beyond: Callable[[_Link], int]) -> set[int]:
    seen = {start}
    queue = [start]
    while queue:
        for link in at.get(queue.pop(), ()):
            net = beyond(link)
            if net not in seen:
                seen.add(net)
                queue.append(net)
    return seen
