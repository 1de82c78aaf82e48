"""A switch or a battery's management system that meets the rush into empty input capacitors."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.batteries import resistance_high, resistance_low, rest_voltage_of
from ohmwright.circuit.graph import Branch
from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.battery import Battery, Bms
from ohmwright_grammar.kinds.capacitors import InputCapacitors
from ohmwright_grammar.kinds.inverter import Inverter
from ohmwright_grammar.kinds.part import Part
from ohmwright_grammar.kinds.switch import Switching
from ohmwright_grammar.quantities import Ampere, Quantity
from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Span

from ohmwright_rules.capacitors import Capacitors, Inrush, capacitors_of, inrush, settling
from ohmwright_rules.conductors import said_of_missing
from ohmwright_rules.live_sides import live_sides
from ohmwright_rules.silent_battery import silent_voltage

RULE = Rule(
    id="capacitor-inrush",
    title="Rush into empty input capacitors",
    family="switching",
    subject="part",
    covers=("I3",),
    grades=(
        Grade("over-making", Severity.WARNING, "the rush into empty capacitors is more than a switch on the way makes"),
        Grade(
            "trips-battery", Severity.WARNING, "the rush is more than the short-circuit trip of a battery's management system"
        ),
        Grade("short-precharge", Severity.WARNING, "the precharge ends before the capacitors are charged"),
    ),
    references=(
        Reference("practice of precharging, as makers of relays and of battery systems tell it", "", "", "secondary"),
        Reference("reports of management systems that trip on inverters", "", "", "secondary"),
    ),
)
_LEAST_SHARE = 1e-6  # of the peak: less is rounding
_USUAL = 10.0  # ohm: a usual precharge resistor (catalogue, I3)
_NO_CAPACITORS = "has no input capacitors"
_NOTHING_TO_MEET = "no battery comes to its input, or nothing on the way meets the rush: no switch or management system, or one with a precharge of its own"


@record
class _Meets:
    """What a rush meets: a switch or a battery, with its current [A], and what it bears."""

    part: Part
    ampere: float
    bears: Quantity[Ampere] | None
    place: Span
    rush: Inrush
    state: str = ""


def check(study: Study) -> Iterator[Outcome]:
    """Let every switch on the way to input capacitors close onto them while they are empty."""
    parts = [part for part in study.build.parts.values() if isinstance(part, InputCapacitors)]
    parts = [part for part in parts if isinstance(part, Inverter) or part.input_capacitance is not None]
    none = idle = 0
    for part in sorted(parts, key=lambda part: part.name):
        capacitors = capacitors_of(part)
        if part.says_none(InputCapacitors.input_capacitance):
            none += 1
        elif capacitors is None and isinstance(part, Inverter):
            yield Missing("input capacitance", part.span, "input capacitance 10 mF").outcome("over-making", (part.name,))
        elif capacitors is not None:
            found = list(_judge(study, capacitors))
            idle += not found
            yield from found
    if none:
        yield DoesNotApply(_NO_CAPACITORS, none)
    if idle or not parts:
        yield DoesNotApply(_NOTHING_TO_MEET, max(idle, 1))


def _judge(study: Study, capacitors: Capacitors) -> Iterator[Outcome]:
    part = capacitors.part
    assert isinstance(part, InputCapacitors)
    through = float(part.precharge_resistor.low) if part.precharge_resistor is not None else 0.0
    switches, batteries = _met(study, capacitors, through)
    if not switches and not batteries:
        return
    if part.precharge_resistor is not None:
        yield _precharge(study, capacitors, float(part.precharge_resistor.high))
    gap = _unknown(study, capacitors)
    for met in switches:
        yield _verdict(study, capacitors, met, "over-making", gap)
    for met in batteries:
        yield _verdict(study, capacitors, met, "trips-battery", gap)


# what meets the rush -------------------------------------------------------------------------------------------------


def _met(study: Study, capacitors: Capacitors, through: float) -> tuple[list[_Meets], list[_Meets]]:
    """Return the switches and the batteries that a rush meets, each at its worst, in name order."""
    switches: dict[str, _Meets] = {}
    batteries: dict[str, _Meets] = {}
    for poles in live_sides(study):
        barred = poles.ways.open_gates
        whole = inrush(study, capacitors, barred, through)
        if whole is None:
            continue
        carrying = _switches(study, whole)
        series = [branch for branch in carrying if not _comes(study, capacitors, barred | {branch.gate}, precharged=True)]
        apart = frozenset(branch.gate for branch in carrying) - {branch.gate for branch in series}
        rushes = [(branch, whole) for branch in series]
        for branch in carrying:
            if branch not in series and _comes(study, capacitors, barred | {branch.gate}):
                alone = inrush(study, capacitors, barred | (apart - {branch.gate}), through)
                rushes.append((branch, alone or whole))
        met = [] if carrying else [whole]  # without a switch its plug, or the management system itself, closes onto them
        for branch, rush in rushes:
            switch = study.part(branch.part)
            if isinstance(switch, Switching) and not switch.joins_through:
                met.append(rush)
                ampere = abs(rush.currents.get(branch.name, 0.0))
                _keep(switches, _Meets(switch, ampere, switch.makes, switch.place_of(Switching.makes), rush))
        for battery in study.of(Battery):
            bms = battery.bms
            for rush in met if bms is not None else ():
                ampere = abs(rush.currents.get(battery.name, 0.0))
                if bms is not None and ampere > _LEAST_SHARE * rush.ampere:
                    trip = bms.place_of(Bms.short_circuit_trip)
                    _keep(batteries, _Meets(battery, ampere, bms.short_circuit_trip, trip, rush))
    return [switches[name] for name in sorted(switches)], [batteries[name] for name in sorted(batteries)]


def _keep(found: dict[str, _Meets], met: _Meets) -> None:
    known = found.get(met.part.name)
    if known is None or met.ampere > known.ampere:
        found[met.part.name] = met


def _switches(study: Study, rush: Inrush) -> list[Branch]:
    """Return the switches that carry a rush, one branch for each gate: that which carries most."""
    found: dict[str, Branch] = {}
    for branch in study.circuit.branches:
        carries = abs(rush.currents.get(branch.name, 0.0))
        if branch.gate and isinstance(study.part(branch.part), Switching) and carries > _LEAST_SHARE * rush.ampere:
            known = found.get(branch.gate)
            if known is None or carries > abs(rush.currents.get(known.name, 0.0)):
                found[branch.gate] = branch
    return [found[gate] for gate in sorted(found)]


def _comes(study: Study, capacitors: Capacitors, open_gates: frozenset[str], precharged: bool = False) -> bool:
    """Tell whether a battery still comes to both poles of some capacitors with some gates open, by resistors as well or without them."""
    poles = {pole for source in study.circuit.sources if source.kind == "battery" for pole in (source.plus, source.minus)}

    def passes(branch: Branch) -> bool:
        return branch.kind != "diode" and (precharged or branch.kind != "resistor")

    near = [study.circuit.reach(node, passes, open_gates) for node in (capacitors.plus, capacitors.minus)]
    return all(not poles.isdisjoint(nodes) for nodes in near)


# verdicts ------------------------------------------------------------------------------------------------------------


def _unknown(study: Study, capacitors: Capacitors) -> Missing | None:
    """Return what is not declared and lets the rush look larger than it is."""
    part = capacitors.part
    for battery in sorted(study.of(Battery), key=lambda battery: battery.name):
        if rest_voltage_of(battery, 1.0) is None:
            return silent_voltage(battery)
        if resistance_low(battery) is None:
            what = "measured internal resistance" if resistance_high(battery) is not None else "internal resistance"
            return Missing(f"{what} of {battery.name}", battery.span, "internal resistance 3 mohm")
    if capacitors.ohm is None:
        return Missing("resistance of its input capacitors", part.span, "input capacitors 10 mohm")
    return None


def _verdict(study: Study, capacitors: Capacitors, met: _Meets, grade: str, gap: Missing | None) -> Outcome:
    subject = (capacitors.part.name, met.part.name)
    measured = Amount(met.ampere, "current")
    bears = met.bears if met.bears is not None else _carries(met.part)
    if bears is not None and not is_broken(met.ampere, float(bears.low), "at-most"):
        return Passed(grade, subject, measured, Amount(float(bears.low), "current", bears.unit))
    if met.bears is None:
        what, line = (
            ("inrush that it makes", "makes 1000 A")
            if grade == "over-making"
            else ("short-circuit trip", "bms { short-circuit trip 600 A }")
        )
        return Missing(f"{what} of {met.part.name}", met.part.span, line).outcome(grade, subject)
    if gap is not None:
        return gap.outcome(grade, subject)
    wire = _unmeasured(study, met.rush)
    if wire is not None and wire.conductor is not None:
        missing = "gauge" if wire.conductor.gauge is None else "length"
        return Missing(f"{missing} of {wire.name}", wire.span, said_of_missing(missing)).outcome(grade, subject)
    return _finding(capacitors, met, grade, subject, Amount(float(met.bears.low), "current", met.bears.unit))


def _carries(part: Part) -> Quantity[Ampere] | None:
    """Return what a switch carries, or a management system lets out, for long: it makes, or lets pass, as much for a moment."""
    if isinstance(part, Battery):
        return part.bms.discharge_current_limit if part.bms is not None else None
    return part.rated_current if isinstance(part, Switching) else None


def _unmeasured(study: Study, rush: Inrush) -> Branch | None:
    """Return a conductor on the way whose resistance is not declared."""
    return next(
        (
            wire
            for wire in study.circuit.wires()
            if wire.assumed and abs(rush.currents.get(wire.name, 0.0)) > _LEAST_SHARE * rush.ampere
        ),
        None,
    )


def _finding(capacitors: Capacitors, met: _Meets, grade: str, subject: tuple[str, ...], limit: Amount) -> Finding:
    part, rush = capacitors.part, met.rush
    flows, allowed = shown_pair(Amount(met.ampere, "current"), limit)
    farad = f"{capacitors.farad * 1e3:.3g} mF"
    if grade == "over-making":
        what = f"closing {met.part.name} onto its empty input capacitors ({farad}) draws {flows} for a moment; its contacts make {allowed}, and may weld."
    else:
        what = f"its empty input capacitors ({farad}) draw {flows} from {met.part.name} for a moment; its management system takes more than {allowed} for a short circuit and opens."
    ohm = max(_USUAL, rush.volt / limit.value)
    time = shown(Amount(settling(ohm, capacitors.farad), "time"))
    share = f"share of {met.part.name}"
    return Finding(
        grade,
        subject,
        f"{part.name}: {what}",
        part.place_of(InputCapacitors.input_capacitance),
        Amount(met.ampere, "current"),
        limit,
        working=(
            Step("U", "full batteries, at rest", rush.volt, "V", "rest voltages"),
            Step("R", f"loop {rush.loop_ohm:.4g} ohm, copper at 20 degC, and the capacitors' own {rush.ohm - rush.loop_ohm:.3g} ohm", rush.ohm, "ohm", "the circuit"),
            Step("I_peak", f"{rush.volt:.4g} V / {rush.ohm:.4g} ohm", rush.ampere, "A", "Ohm's law"),
            *((Step("I", share, met.ampere, "A", "the circuit"),) if met.ampere < rush.ampere * (1 - _LEAST_SHARE) else ()),
            Step("I2t", f"{rush.volt:.4g}^2 x {capacitors.farad * 1e3:.4g} mF / (2 x {rush.ohm:.4g})", rush.heat, "A2s", "charging of a capacitor"),
        ),
        remedy=f"Charge the capacitors first, through {shown(Amount(ohm, 'resistance'))} for {time} or longer.",
        related=(Related(f"{met.part.name}: what it bears", met.place),),
        reference=RULE.references[0 if grade == "over-making" else 1],
    )  # fmt: skip


def _precharge(study: Study, capacitors: Capacitors, ohm: float) -> Outcome:
    """Hold the time of a precharge against five time constants."""
    part = capacitors.part
    assert isinstance(part, InputCapacitors)
    subject = (part.name,)
    said = part.precharge_time
    if said is None:
        return Missing("how long the precharge lasts", part.span, "precharge for 2 s").outcome("short-precharge", subject)
    lasts = Amount(float(said.low), "time", said.unit)
    needed = Amount(settling(ohm, capacitors.farad), "time", said.unit)
    if not is_broken(lasts.value, needed.value, "at-least"):
        return Passed("short-precharge", subject, lasts, needed, "at-least")
    ends, takes = shown_pair(lasts, needed)
    most = shown(Amount(lasts.value / settling(1.0, capacitors.farad), "resistance"))
    return Finding(
        "short-precharge",
        subject,
        f"{part.name}: its precharge ends after {ends}; its input capacitors take {takes} to charge, and the rest rushes in.",
        part.place_of(InputCapacitors.precharge_time),
        lasts,
        needed,
        "at-least",
        working=(Step("t", f"5 x {ohm:.4g} ohm x {capacitors.farad * 1e3:.4g} mF", needed.value, "s", "as declared"),),
        remedy=f"Let the precharge last {takes} or longer, or use a resistor of {most} or less.",
    )
