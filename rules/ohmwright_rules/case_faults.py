"""Shorts from a live conductor to a case of metal: what flows back from the case, and which share of it each conductor carries."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.batteries import resistance_low, rest_voltage_of
from ohmwright.circuit.graph import Branch
from ohmwright.solver.elements import Element, Emf, Network, Resistor
from ohmwright.study import Study
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.enclosure import Enclosure
from ohmwright_grammar.records import record

from ohmwright_rules.bonding import bonded_nodes
from ohmwright_rules.faults import Fault, Setting

__all__ = ["Carrier", "CaseFault", "case_faults", "fault_cases"]

_NEARLY_NOTHING = 1e-6  # ohm
_LEAST_SHARE = 0.01  # of the current: what carries less is no way back


@record
class Carrier:
    """A conductor between a case and the bank, and the share of the current from the case that it carries."""

    wire: Branch
    share: float


@record
class CaseFault:
    """Shorts to a case behind one device: the weakest and the largest current [A], the place of the weakest, and what carries them back."""

    case: Enclosure
    device: Branch
    least: float
    most: float
    fault: Fault
    carriers: tuple[Carrier, ...]


def fault_cases(study: Study) -> tuple[list[Enclosure], dict[str, int]]:
    """Return the cases of metal from which a short finds a way back by wire, and why others have none, counted."""
    bonded = bonded_nodes(study)
    poles = {node for source in study.circuit.sources if source.kind == "battery" for node in (source.plus, source.minus)}
    found: list[Enclosure] = []
    left: dict[str, int] = {}
    for case in sorted(study.of(Enclosure), key=lambda case: case.name):
        if not case.of_metal:
            reason = "a case that is not said to be of metal"
        elif poles.isdisjoint(bonded):
            reason = "no pole of the bank is joined to a case"
        elif case.name not in study.circuit.at_node:
            reason = "nothing but a direct bond is joined to the case"
        else:
            found.append(case)
            continue
        left[reason] = left.get(reason, 0) + 1
    return found, left


def case_faults(study: Study, setting: Setting, case: Enclosure) -> Iterator[CaseFault]:
    """Yield the shorts to a case behind every device."""
    number = study.networker.number
    weakest: dict[str, Fault] = {}
    for fault in setting.all:
        known = weakest.get(fault.device.name)
        if known is None or fault.total < known.total:
            weakest[fault.device.name] = fault
    if not weakest or case.name not in number:
        return
    devices = sorted(weakest)
    starts = [_behind(setting, weakest[name]) for name in devices]
    strong = _network(study, setting)
    target = number[case.name]
    largest = study.solver.thevenin(strong, [(number[start], target) for start in starts])
    least = study.solver.thevenin(setting.network, [(number[weakest[name].end.place.node], target) for name in devices])
    first = max(range(len(devices)), key=lambda index: abs(largest[index].open_volt) / max(largest[index].ohm, _NEARLY_NOTHING))
    if largest[first].ohm == float("inf"):
        return
    short = Resistor("\0short", number[starts[first]], target, _NEARLY_NOTHING)
    solved = study.solver.solve(Network(strong.nodes, (*strong.elements, short), strong.references))
    total = abs(solved.currents.get(short.name, 0.0))
    carriers = tuple(_carriers(study, setting, solved.currents, total)) if total > 0 else ()
    for name, one, two in zip(devices, least, largest, strict=True):
        if two.ohm < float("inf") and one.ohm < float("inf"):
            low = abs(one.open_volt) / max(one.ohm, _NEARLY_NOTHING)
            high = max(abs(two.open_volt) / max(two.ohm, _NEARLY_NOTHING), low)
            yield CaseFault(case, weakest[name].device, low, high, weakest[name], carriers)


def _behind(setting: Setting, fault: Fault) -> str:
    """Return the node of a device at which its short begins: the far one, as the battery feeds it."""
    ways, device = setting.ends.ways, fault.device
    for edge, cluster in fault.end.walk.way(fault.end.cluster):
        if ways.branches[edge] is device:
            return device.start if ways.cluster[device.start] == cluster else device.end
    return device.end


def _network(study: Study, setting: Setting) -> Network:
    """The full batteries behind the lower end of their resistance, everything closed, copper at 20 degC; the case's way back counts."""
    number = study.networker.number
    barred = setting.ends.ways.open_gates - setting.apart
    items: list[Element] = [
        Resistor(branch.name, number[branch.start], number[branch.end], branch.ohm)
        for branch in study.circuit.branches
        if (not branch.gate or branch.gate not in barred) and not setting.blocks(branch)
    ]
    for source in study.circuit.sources:
        if isinstance(source.part, Battery):
            volt = rest_voltage_of(source.part, 1.0) or study.system_voltage or 12.0
            ohm = max(resistance_low(source.part) or 0.0, _NEARLY_NOTHING)
            items.append(Emf(source.name, number[source.plus], number[source.minus], volt, ohm))
    return Network(len(number), tuple(items), study.networker.references)


def _carriers(study: Study, setting: Setting, currents: dict[str, float], total: float) -> Iterator[Carrier]:
    """Yield the conductors that are on no live side and carry a part of the current."""
    cluster, live = setting.ends.ways.cluster, setting.ends.poles.live
    for wire in study.circuit.wires():
        ends = [cluster[node] for node in (wire.start, wire.end) if node in cluster]
        share = abs(currents.get(wire.name, 0.0)) / total
        if share >= _LEAST_SHARE and not any(live[end] for end in ends):
            yield Carrier(wire, min(share, 1.0))
