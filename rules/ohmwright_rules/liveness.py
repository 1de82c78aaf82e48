"""Which halves of connectors stay live when they are apart: from which source, at which voltage, behind which device.

By connection, with everything else closed, mated and whole: the worst that a hand can meet.
"""

from __future__ import annotations

from ohmwright.circuit.graph import Branch, Source
from ohmwright.missing import Missing
from ohmwright.states.reaching import levers_of
from ohmwright.study import Study
from ohmwright_grammar.kinds.array import Array
from ohmwright_grammar.kinds.connector import Half
from ohmwright_grammar.kinds.controller import Controller
from ohmwright_grammar.kinds.inverter import Inverter
from ohmwright_grammar.records import record

from ohmwright_rules.bonding import earth_starts, hot_pole, joined_to
from ohmwright_rules.halves import closed_gates
from ohmwright_rules.strings import arrangements, joined
from ohmwright_rules.voltage_lines import Line, lines_of

__all__ = ["LiveHalf", "LivePin", "live_half"]


@record
class LivePin:
    """A pin that stays joined to the plus of a source; `devices` lie between them, none where a battery reaches it unfused.

    `turned` tells that it is joined to the minus: the plus of that source is earthed, or bonded to a case.
    """

    node: str
    source: str
    devices: tuple[Branch, ...]
    unfused: bool
    turned: bool

    @property
    def name(self) -> str:
        """The pin's own name."""
        return self.node.rpartition(".")[2]


@record
class LiveHalf:
    """The live pins of one half apart from its mates, and the highest voltage on them."""

    half: Half
    pins: tuple[LivePin, ...]
    highest: Line | None
    unknown: Missing | None  # what keeps the highest voltage from being known
    switch: str  # what a hand can open to make it dead, "" where nothing does


def live_half(study: Study, half: Half) -> LiveHalf | Missing | None:
    """Return what of a half stays live when it is apart; None where nothing does, a datum where that decides."""
    gates = _apart(study, half.name)
    pins = _live_pins(study, half.name, gates)
    if not pins:
        return _backfeed_unknown(study, half.name, gates)
    highest, unknown = _highest(study, half.name, pins)
    return LiveHalf(half, pins, highest, unknown, _switch(study, half.name, gates))


def _apart(study: Study, half: str) -> frozenset[str]:
    """Return the gates that are open while a half is apart: its matings, and links of rows that can never be mated."""
    return frozenset(study.anatomy.matings_of.get(half, ())) | study.anatomy.never_joined


def _live_pins(study: Study, half: str, gates: frozenset[str]) -> tuple[LivePin, ...]:
    group = joined(study, gates)
    feeding = _feeding(study, group)
    earthed = _earthed(study, gates)
    back = [
        (f"{part.name}.pv_plus", f"{part.name}.batt_plus")
        for part in study.of(Controller)
        if part.lets_current_back and f"{part.name}.pv_plus" in group and f"{part.name}.batt_plus" in group
    ]
    found = []
    for node in study.circuit.nodes_of(half):
        near = {group[node]}
        behind = [end for start, end in back if group[start] == group[node]]
        near |= {group[end] for end in behind}
        sources = [
            source
            for source in feeding
            if group[hot_pole(source, earthed)] in near and group[source.minus] != group[source.plus] and node not in earthed
        ]
        if not sources:
            continue
        unlimited = [source for source in sources if source.limit is None]
        chief = (unlimited or sources)[0]
        hot = hot_pole(chief, earthed)
        bare = study.circuit.reach([node, *behind], lambda branch: not branch.device, gates)
        unfused = any(hot_pole(source, earthed) in bare for source in unlimited)
        way = next(
            (way for start in (node, *behind) if (way := study.circuit.path(start, (hot,), open_gates=gates)) is not None),
            (),
        )
        devices = tuple(branch for branch in way if branch.device)
        found.append(LivePin(node, chief.name, devices, unfused, hot != chief.plus))
    return tuple(found)


def _earthed(study: Study, gates: frozenset[str]) -> set[str]:
    """Return the nodes that stay joined with earth or with a bonded case while a half is apart."""
    return joined_to(study, earth_starts(study), open_gates=gates)


def _feeding(study: Study, group: dict[str, int]) -> list[Source]:
    """Return the sources that give voltage while a half is apart: batteries first, then what only gives so much."""
    sources = sorted(study.circuit.sources, key=lambda source: (source.kind != "battery", source.name))
    firm = [source for source in sources if source.kind in ("battery", "array", "charger")]
    fed = {group[source.plus] for source in firm}
    found = list(firm)
    for source in sources:
        name = source.part.name
        if source.kind == "converter" and group.get(f"{name}.in_plus") in fed:
            found.append(source)
        if source.kind == "controller" and group.get(f"{name}.pv_plus") in fed:
            found.append(source)
    for consumer in study.circuit.consumers:
        part = consumer.part
        if isinstance(part, Inverter) and part.input_capacitance is not None and part.bleed_resistor is None:
            found.append(
                Source(f"the charged input capacitors of {part.name}", "charger", consumer.plus, consumer.minus, part, 0.0)
            )
    return found


def _backfeed_unknown(study: Study, half: str, gates: frozenset[str]) -> Missing | None:
    """Return what is missing where strings side by side hang on a controller that does not say whether it lets current back (readings.md, A7)."""
    group = joined(study, gates)
    nodes = {group[node] for node in study.circuit.nodes_of(half)}
    for part in study.of(Controller):
        if (
            part.lets_current_back is not None
            or part.says_none(Controller.lets_current_back)
            or group.get(f"{part.name}.pv_plus") not in nodes
        ):
            continue
        ways = arrangements(study, "array", f"{part.name}.pv_minus", f"{part.name}.pv_plus")
        strings = sum(_side_by_side(study, string) for string in (max((way.strings for way in ways), key=len) if ways else ()))
        if strings >= 2:
            return Missing(f"whether {part.name} lets current back into the array", part.span, "no current back into the array")
    return None


def _side_by_side(study: Study, string: tuple[str, ...]) -> int:
    parts = [study.part(name) for name in string]
    return max((part.most_in_parallel for part in parts if isinstance(part, Array)), default=1)


def _highest(study: Study, half: str, pins: tuple[LivePin, ...]) -> tuple[Line | None, Missing | None]:
    gates = closed_gates(study, frozenset(study.anatomy.matings_of.get(half, ())))
    lines = lines_of(study)
    group = lines.groups(gates)
    minus = [source.minus for source in study.circuit.sources]
    plus = [source.plus for source in study.circuit.sources]
    best: Line | None = None
    unknown: Missing | None = None
    seen: set[tuple[int, int]] = set()
    for pin in pins:
        for other in (*study.circuit.nodes_of(half), *(plus if pin.turned else minus)):
            high, low = (other, pin.node) if pin.turned else (pin.node, other)
            key = (group[high], group[low])
            if key in seen or key[0] == key[1]:
                continue
            seen.add(key)
            found, gaps = lines.between(gates, high, low)
            for line in found:
                if best is None or line.value > best.value:
                    best = line
            if gaps and unknown is None:
                unknown = Missing(gaps[0].missing, gaps[0].span, gaps[0].declare)
    return best, unknown


def _switch(study: Study, half: str, gates: frozenset[str]) -> str:
    """Return a switch or breaker that makes a half dead, "" where there is none."""
    for lever in levers_of(study.build, study.circuit, study.anatomy):
        if lever.kind == "switch" and not _live_pins(study, half, gates | frozenset(lever.gates)):
            return lever.word
    return ""
