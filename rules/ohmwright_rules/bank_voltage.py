"""Batteries wired to another voltage than the system's, or in a loop that leaves a voltage over."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ohmwright.circuit.batteries import capacity_of, nominal_voltage, rest_voltage_of
from ohmwright.circuit.graph import Consumer
from ohmwright.findings import (
    DoesNotApply,
    Finding,
    NotChecked,
    Outcome,
    Passed,
    Related,
    Sense,
    Severity,
    StateMeasure,
    margin_of,
)
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step, common_practice
from ohmwright.rules import Case, Grade, Rule, compare, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.inverter import Inverter
from ohmwright_grammar.kinds.load import Load
from ohmwright_grammar.kinds.switch import Relay
from ohmwright_grammar.quantities import Quantity, Volt
from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Span

from ohmwright_rules.banks import Feeding, Loop, batteries, feeding, left_over, loop_resistance, loops, open_strings
from ohmwright_rules.nets import SHORT_OHM, Field, Layout, Push, layout_of
from ohmwright_rules.silent_battery import silent_voltage
from ohmwright_rules.wording import listed

if TYPE_CHECKING:
    from ohmwright_rules.positions import Position

RULE = Rule(
    id="bank-voltage",
    title="Batteries wired to a wrong voltage",
    family="wiring",
    subject="battery",
    covers=("C9",),
    grades=(
        Grade("off-nominal", Severity.ERROR, "strings as wired lie more than 10 % off the nominal voltage of what they feed"),
        Grade("loop", Severity.ERROR, "a loop of batteries below 0.1 ohm leaves more than 0.5 V over at equal charge"),
    ),
    references=(
        common_practice("10 % either way"),
        Reference("common practice, no source", "", "0.5 V left over in a loop below 0.1 ohm", "common-practice"),
    ),
)
_SPREAD = 0.1
_LEFT_OVER = 0.5  # V
_ROUNDING = 1e-9
_SYSTEM = "nominal system voltage"
_RESISTANCE = "internal resistance"


@record
class _Wanted:
    """The nominal voltage of something that a bank feeds, from `low` to `high` [V], and who says so."""

    who: str
    low: float
    high: float
    span: Span


def check(study: Study) -> Iterator[Outcome]:
    """Hold the sum of every string against the nominal voltage of what it feeds, and every loop of batteries against what it leaves over."""
    if not batteries(study):
        yield DoesNotApply("no battery")
        return
    every = tuple(_places(study))
    yield from _voltages(study, every)
    yield from _loops(study, every)


def _places(study: Study) -> Iterator[tuple[Layout, Position | None]]:
    """Yield the layouts to look at: only one with everything closed where its loops leave nothing over, since no switch changes anything then."""
    from ohmwright_rules.positions import positions

    layout = layout_of(study)
    if all(_is_even(loop) for loop in loops(study, layout)):
        yield layout, None
        return
    for position in positions(study):
        if not any(state.setup.after_failure for state in position.states):
            yield layout_of(study, position.open_gates), position


def _is_even(loop: Loop) -> bool:
    left = None if loop.is_ring else left_over(loop)
    return left is not None and left[0] <= _LEFT_OVER * (1 + _ROUNDING)


# voltages ----------------------------------------------------------------------------------------------------------


def _voltages(study: Study, every: tuple[tuple[Layout, Position | None], ...]) -> Iterator[Outcome]:
    main = _main(study)
    strings: dict[tuple[str, ...], tuple[Battery, ...]] = {}
    cases: dict[tuple[str, ...], list[tuple[Case, Sense]]] = {}
    silent: dict[tuple[str, ...], Battery] = {}
    for layout, position in every:
        study.options.budget.check()
        for bank in feeding(study, layout, position.without if position is not None else ()):
            missing = _silent(bank.batteries)
            if missing is not None:
                silent.setdefault(bank.names, missing)
                continue
            strings[bank.names] = bank.batteries
            found = cases.setdefault(bank.names, [])
            for volt, wanted in _given(study, layout, bank, main in bank.names):
                found.append(_case(volt, wanted, position))
    idle = {battery.name for battery in batteries(study)} - {name for names in (*cases, *silent) for name in names}
    for string in open_strings(study, layout_of(study), idle):
        names = _names(string)
        missing = _silent(string)
        system = study.system_voltage
        if missing is not None:
            silent[names] = missing
        else:
            strings[names] = string
            cases[names] = []
            if system is not None:
                cases[names].append(_case(_height(study, string), _Wanted("", system, system, study.build.rig.span), None))
        idle -= set(names)
    for names, battery in sorted(silent.items(), key=lambda item: item[0]):
        yield silent_voltage(battery).outcome("off-nominal", names)
    for names, found in sorted(cases.items()):
        if found:
            yield _verdict(study, strings[names], found)
        else:
            yield NotChecked("off-nominal", names, _SYSTEM, study.build.rig.span, declare="system ~12 V")
    if idle:
        yield DoesNotApply("short-circuited, which is a matter of its own", len(idle))


def _names(bank: tuple[Battery, ...]) -> tuple[str, ...]:
    return tuple(battery.name for battery in bank)


def _silent(bank: tuple[Battery, ...]) -> Battery | None:
    """Return the first battery whose nominal voltage is not known, None where all are."""
    return next((battery for battery in bank if nominal_voltage(battery) is None), None)


def _main(study: Study) -> str:
    """Return the battery with the greatest capacity: the nominal voltage of the system is that of its bank."""
    return min(batteries(study), key=lambda battery: (-capacity_of(battery), battery.name)).name


def _field(study: Study, layout: Layout, bank: tuple[Battery, ...]) -> Field:
    sources = {source.name: source for source in study.circuit.sources if source.kind == "battery"}
    return Field(layout, [Push(sources[battery.name], nominal_voltage(battery) or 0.0) for battery in bank])


def _height(study: Study, string: tuple[Battery, ...]) -> float:
    """Return the largest voltage between two poles of a string [V]."""
    volts = _field(study, layout_of(study), string)
    heights = [volts.height(f"{battery.name}.{pole}") for battery in string for pole in ("plus", "minus")]
    return max(heights) - min(heights)


def _given(study: Study, layout: Layout, bank: Feeding, main: bool) -> Iterator[tuple[float, _Wanted]]:
    """Yield the voltages that a bank gives, each with what wants which; which way round they lie is a matter of its own."""
    volts = _field(study, layout, bank.batteries)
    system = study.system_voltage
    given = [(consumer, abs(volts.between(consumer.plus, consumer.minus) or 0.0)) for consumer in bank.consumers]
    declared = False
    for consumer, volt in given:
        nominal = _nominal_of(consumer)
        if nominal is not None:
            declared = True
            yield volt, _Wanted(consumer.part.name, float(nominal.low), float(nominal.high), consumer.part.span)
    if system is None or (declared and not main):
        return
    silent = [(consumer, volt) for consumer, volt in given if _nominal_of(consumer) is None]
    for consumer, volt in silent:
        yield volt, _Wanted(consumer.part.name, system, system, consumer.part.span)
    if not silent:
        consumer, volt = max(given, key=lambda item: item[1])
        yield volt, _Wanted("", system, system, consumer.part.span)


def _nominal_of(consumer: Consumer) -> Quantity[Volt] | None:
    part = consumer.part
    if consumer.kind == "coil":
        return part.coil_voltage if isinstance(part, Relay) else None
    return part.nominal_voltage if isinstance(part, Load | Inverter) else None


def _case(volt: float, wanted: _Wanted, position: Position | None) -> tuple[Case, Sense]:
    middle = (wanted.low + wanted.high) / 2
    sense: Sense = "at-most" if volt >= middle else "at-least"
    limit = wanted.high * (1 + _SPREAD) if volt >= middle else wanted.low * (1 - _SPREAD)
    name = position.name if position is not None else ""
    return Case(name, Amount(volt, "voltage"), Amount(limit, "voltage"), wanted), sense


def _verdict(study: Study, bank: tuple[Battery, ...], cases: list[tuple[Case, Sense]]) -> Outcome:
    names = _names(bank)
    _, sense = min(cases, key=lambda item: margin_of(item[0].measured, item[0].limit, item[1]) or 0.0)
    worst, broken = compare([case for case, its in cases if its == sense], sense)
    if not broken:
        return Passed("off-nominal", names, worst.measured, worst.limit, sense, worst.state)
    wanted = worst.note
    assert isinstance(wanted, _Wanted)
    volt = shown(worst.measured)
    made = shown(Amount(wanted.low, "voltage"))
    if wanted.high > wanted.low:
        made += f" to {shown(Amount(wanted.high, 'voltage'))}"
    who = listed(names)
    where = f" in state {worst.state!r}" if worst.state else ""
    gives = "gives" if len(names) == 1 else "give"
    said = wanted.who if wanted.who and _says(study, wanted.who) else ""
    if said:
        text = f"{who} as wired {gives} {volt} to {wanted.who}{where}, which is made for {made}."
    elif wanted.who:
        text = f"{who} as wired {gives} {volt} to {wanted.who}{where}; the system is one of {made}."
    else:
        text = f"{who} as wired {gives} {volt}{where}; the system is one of {made}."
    steps = tuple(Step(f"U({battery.name})", _from(battery), nominal_voltage(battery), "V", "as declared") for battery in bank)
    return Finding(
        "off-nominal",
        (*names, *_hit(cases, sense)),
        text,
        study.span(names[0]),
        worst.measured,
        worst.limit,
        sense,
        state=worst.state,
        states=tuple(item for item in broken if item.state),
        working=(*steps, Step("U", "sum of the strings as wired", worst.measured.value, "V", "the circuit as declared")),
        remedy=_remedy(bank, wanted),
        related=tuple(
            [Related(f"{wanted.who} is fed by it" if not said else f"{wanted.who} says {made}", wanted.span)]
            if wanted.who
            else []
        ),
    )


def _hit(cases: list[tuple[Case, Sense]], sense: Sense) -> list[str]:
    """Return what is fed with a wrong voltage: that is a consequence."""
    hit: set[str] = set()
    for case, its in cases:
        if its == sense and isinstance(case.note, _Wanted) and is_broken(case.measured.value, case.limit.value, sense):
            hit.add(case.note.who)
    return sorted(hit - {""})


def _says(study: Study, name: str) -> bool:
    return any(_nominal_of(consumer) is not None for consumer in study.circuit.consumers if consumer.part.name == name)


def _from(battery: Battery) -> str:
    if battery.nominal_voltage is not None or battery.cells is None:
        return "nominal voltage"
    each = (nominal_voltage(battery) or 0.0) / battery.cells
    return f"{battery.cells} cells of {battery.chemistry or 'its kind'} x {each:.3g} V"


def _remedy(bank: tuple[Battery, ...], wanted: _Wanted) -> str:
    low, high = wanted.low * (1 - _SPREAD), wanted.high * (1 + _SPREAD)
    each = [nominal_voltage(battery) or 0.0 for battery in bank]
    count = len(each)
    window = f"{shown(Amount(low, 'voltage'))} to {shown(Amount(high, 'voltage'))}"
    alike = max(each) - min(each) <= _SPREAD * max(each)
    if count > 1 and alike:
        for series in range(1, count + 1):
            total = each[0] * series
            if count % series == 0 and low <= total <= high:
                gives = shown(Amount(total, "voltage"))
                if series == 1:
                    return f"Join them in parallel, which gives {gives}, or use parts for the voltage that they have in series."
                return f"Join {series} in series, which gives {gives}, or use parts for the voltage that they give now."
    return f"Use batteries whose strings give {window} nominal, or parts for the voltage that these give."


# loops -------------------------------------------------------------------------------------------------------------


def _loops(study: Study, every: tuple[tuple[Layout, Position | None], ...]) -> Iterator[Outcome]:
    """Hold what each loop of two batteries or more leaves over against 0.5 V; one in which all push the same way is a short circuit."""
    worst: dict[tuple[str, ...], tuple[float, Loop, Position, float]] = {}
    broken: dict[tuple[str, ...], list[StateMeasure]] = {}
    held: dict[tuple[str, ...], tuple[float, str]] = {}
    unknown: dict[tuple[str, ...], Missing] = {}
    high: set[tuple[str, ...]] = set()
    for layout, position in every:
        for loop in loops(study, layout, position.without if position is not None else ()):
            if loop.is_ring:
                continue
            names = loop.names
            left = left_over(loop)
            if left is None:
                silent = next(battery for battery, _ in loop.members if rest_voltage_of(battery, 0.5) is None)
                unknown.setdefault(names, silent_voltage(silent))
            elif position is None or left[0] <= _LEFT_OVER * (1 + _ROUNDING):
                if names not in held or held[names][0] < left[0]:
                    held[names] = (left[0], position.name if position is not None else "")
            else:
                ohm = loop_resistance(study, loop, position.open_gates)
                if isinstance(ohm, str):
                    unknown.setdefault(names, Missing(_RESISTANCE, study.span(ohm), "internal resistance 5 mohm"))
                elif ohm < SHORT_OHM:
                    broken.setdefault(names, []).extend(_measures(position, left[0]))
                    if names not in worst or worst[names][0] < left[0]:
                        worst[names] = (left[0], loop, position, ohm)
                else:
                    high.add(names)
    limit = Amount(_LEFT_OVER, "voltage")
    for names in sorted({*worst, *held, *unknown}):
        if names in worst:
            yield _loop_finding(study, *worst[names], tuple(broken[names]))
        elif names in unknown:
            yield unknown[names].outcome("loop", names)
        else:
            yield Passed("loop", names, Amount(held[names][0], "voltage"), limit, state=held[names][1])
    if high - set(worst):
        yield DoesNotApply("a loop of batteries with 0.1 ohm or more in it", len(high - set(worst)))


def _measures(position: Position, left: float) -> list[StateMeasure]:
    limit = Amount(_LEFT_OVER, "voltage")
    measured = Amount(left, "voltage")
    return [StateMeasure(state.name, measured, limit, margin_of(measured, limit, "at-most")) for state in position.states]


def _loop_finding(
    study: Study, left: float, loop: Loop, position: Position, ohm: float, states: tuple[StateMeasure, ...]
) -> Finding:
    names = loop.names
    measured, limit = Amount(left, "voltage"), Amount(_LEFT_OVER, "voltage")
    told, allowed = shown_pair(measured, limit)
    _, level = left_over(loop) or (0.0, 0.0)
    current = left / ohm if ohm > 0 else None
    flows = f", so that {shown(Amount(current, 'current'))} would flow between them" if current is not None else ""
    steps = [
        Step(f"U({battery.name})", f"at {level * 100:g} %", rest_voltage_of(battery, level), "V", "rest voltage")
        for battery, _ in loop.members
    ]
    steps.append(Step("R", "the loop, copper at 20 degC", ohm, "ohm", "the circuit as declared"))
    if current is not None:
        steps.append(Step("I", f"{left:.4g} V / {ohm:.4g} ohm", current, "A", "computed"))
    return Finding(
        "loop",
        names,
        f"{listed(names)}: wires close a loop through them that leaves {told} over at equal charge in state "
        f"{position.name!r}{flows}; at most {allowed} may be left.",
        study.span(names[0]),
        measured,
        limit,
        state=position.name,
        states=states,
        working=tuple(steps),
        remedy="Join only strings of the same voltage: the same chemistry and the same number of cells in series.",
        related=tuple(Related(f"{name} is in the loop", study.span(name)) for name in names[1:]),
        reference=RULE.references[1],
    )
