"""Where arrays push: into controllers, and straight into batteries without one. By connection, with every switch closed and every plug mated."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from ohmwright.missing import Missing
from ohmwright.protection.largest_flow import Flow as Supply
from ohmwright.protection.largest_flow import FlowNet, Link
from ohmwright.study import Study
from ohmwright_grammar.kinds.array import Array
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.controller import Controller
from ohmwright_grammar.kinds.fuse import Fuse
from ohmwright_grammar.records import record

from ohmwright_rules.kept import kept
from ohmwright_rules.strings import Arrangement, arrangements, joined, strings_in
from ohmwright_rules.sunside import sides

__all__ = ["ENDLESS_SHARE", "Pushed", "Target", "can_reach", "capacity_of", "pushed_by_batteries", "straight_on", "targets"]

ENDLESS_SHARE = 0.015  # of the capacity in an hour, which lead-acid bears for ever: catalogue, A12
_HOUR = 3600.0
_INFINITE = float("inf")


@record
class Target:
    """What arrays push into, in one position of selectors: a controller's input, or banks of batteries (`controller` None).

    `banks` are the strings of batteries between the same two nodes.
    """

    minus: str
    plus: str
    arrangement: Arrangement
    controller: Controller | None = None
    banks: tuple[tuple[str, ...], ...] = ()

    @property
    def names(self) -> tuple[str, ...]:
        """The controller, or the batteries in name order."""
        if self.controller is not None:
            return (self.controller.name,)
        return tuple(sorted({name for bank in self.banks for name in bank}))


@record
class Pushed:
    """What batteries can push to a node [A], infinite where nothing holds it; `unknown` is a device whose rating would tell more."""

    most: float
    least: float
    unknown: str = ""


def targets(study: Study) -> tuple[Target, ...]:
    """Return everything that arrays push into: controllers in name order, then banks without one."""
    return kept(study, _targets)


def straight_on(study: Study) -> tuple[Target, ...]:
    """Return the banks that arrays can be joined to with no controller between, diodes or not."""
    return tuple(target for target in targets(study) if target.controller is None)


def _targets(study: Study) -> tuple[Target, ...]:
    found = [
        Target(f"{side.controller.name}.pv_minus", f"{side.controller.name}.pv_plus", way, side.controller)
        for side in sides(study)
        for way in side.arrangements
    ]
    return (*found, *_straight(study))


def _straight(study: Study) -> Iterator[Target]:
    """Yield the banks that lie between the same two nodes as a string of arrays, each pair of nodes once."""
    arrays = sorted(study.of(Array), key=lambda part: part.name)
    batteries = sorted(study.of(Battery), key=lambda part: part.name)
    if not arrays or not batteries:
        return
    group = joined(study, frozenset())
    ends: dict[str, dict[int, str]] = {}
    for pole in ("minus", "plus"):
        pushing = {group[node] for array in arrays if (node := f"{array.name}.{pole}") in group}
        near = ends[pole] = {}
        for battery in batteries:
            node = f"{battery.name}.{pole}"
            if node in group and group[node] in pushing:
                near.setdefault(group[node], node)
    for minus in ends["minus"].values():
        for plus in ends["plus"].values():
            for way in arrangements(study, "array", minus, plus):
                banks = strings_in(study, "battery", minus, plus, way.open_gates)
                if banks:
                    yield Target(minus, plus, way, None, banks)


def capacity_of(study: Study, target: Target) -> tuple[float, str] | Missing:
    """Return the capacity of the banks [C], with its working: of a string its smallest, of strings side by side their sum."""
    total = 0.0
    words = []
    for bank in target.banks:
        smallest: float | None = None
        for name in bank:
            battery = study.part(name)
            assert isinstance(battery, Battery)
            if battery.capacity is None:
                return Missing(f"capacity of {name}", battery.span, "100 Ah")
            own = float(battery.capacity.charge.low)
            smallest = own if smallest is None else min(smallest, own)
        assert smallest is not None
        total += smallest
        words.append(f"{' + '.join(bank)}: {smallest / _HOUR:.4g}")
    return total, ", ".join(words)


def can_reach(
    study: Study, start: str, ends: Collection[str], open_gates: frozenset[str] = frozenset(), *, backwards: bool = False
) -> bool:
    """Tell whether current can come from a node to one of several others by wires, contacts, and diodes in their own direction.

    With `backwards` it is the others that it comes from.
    """
    known = kept(study, _known_reach)
    key = (start, open_gates, backwards)
    if key not in known:
        known[key] = _reach(study, start, open_gates, backwards)
    return not known[key].isdisjoint(ends)


def _known_reach(study: Study) -> dict[tuple[str, frozenset[str], bool], frozenset[str]]:
    del study
    return {}


def _reach(study: Study, start: str, open_gates: frozenset[str], backwards: bool) -> frozenset[str]:
    queue = [start]
    seen = {start}
    while queue:
        node = queue.pop()
        for branch in study.circuit.at_node.get(node, ()):
            if branch.kind == "resistor" or (branch.gate and branch.gate in open_gates):
                continue
            if branch.kind == "diode" and (branch.end if backwards else branch.start) != node:
                continue
            other = branch.other(node)
            if other not in seen:
                seen.add(other)
                queue.append(other)
    return frozenset(seen)


def pushed_by_batteries(study: Study, node: str, open_gates: frozenset[str] = frozenset()) -> Pushed:
    """Return the most that batteries can push to a node, held by the ratings of fuses and breakers on the way."""
    known = kept(study, _known_pushed)
    key = (node, open_gates)
    if key not in known:
        known[key] = _pushed(study, node, open_gates)
    return known[key]


def _known_pushed(study: Study) -> dict[tuple[str, frozenset[str]], Pushed]:
    del study
    return {}


def _pushed(study: Study, node: str, open_gates: frozenset[str]) -> Pushed:
    unrated = sorted(
        {branch.part for branch in study.circuit.branches if branch.device and _rating(study, branch.part) is None}
    )
    most = _flow(study, node, open_gates, _INFINITE)
    if not unrated:
        return Pushed(most, most)
    least = _flow(study, node, open_gates, 0.0)
    return Pushed(most, least, "" if most == least else unrated[0])


def _rating(study: Study, name: str) -> float | None:
    part = study.part(name)
    return float(part.rated_current.high) if isinstance(part, Fuse) and part.rated_current is not None else None


def _flow(study: Study, node: str, open_gates: Collection[str], unrated: float) -> float:
    number = {name: place for place, name in enumerate(study.circuit.nodes)}
    if node not in number:
        return 0.0
    links = []
    for edge, branch in enumerate(study.circuit.branches):
        if branch.kind == "resistor" or (branch.gate and branch.gate in open_gates):
            continue
        most = _INFINITE
        if branch.device:
            rating = _rating(study, branch.part)
            most = rating if rating is not None else unrated
        back = 0.0 if branch.kind == "diode" else most
        links.append(Link(edge, number[branch.start], number[branch.end], most, back))
    supplies = {number[source.plus]: Supply(_INFINITE, 1) for source in study.circuit.sources if source.kind == "battery"}
    if number[node] in supplies:
        return _INFINITE
    return FlowNet(links, supplies).to(number[node]).flow.ampere
