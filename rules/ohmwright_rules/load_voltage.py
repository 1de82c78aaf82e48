"""A load that sees more voltage than it bears, or less than it needs."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.batteries import resistance_high
from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.references import Reference, Step, common_practice
from ohmwright.rules import Case, Grade, Rule
from ohmwright.study import SolvedState, Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.charging import Charger, Charging
from ohmwright_grammar.kinds.inverter import Converter, Inverter
from ohmwright_grammar.kinds.load import Load
from ohmwright_grammar.kinds.part import Part
from ohmwright_grammar.quantities import Quantity, Volt
from ohmwright_grammar.records import record

from ohmwright_rules.conductors import basis_of, named_basis, said_of_missing
from ohmwright_rules.returning import current_taken
from ohmwright_rules.trickle import held_down
from ohmwright_rules.verdicts import verdict
from ohmwright_rules.voltage_lines import Gap, Line, lines_of
from ohmwright_rules.warm_copper import Part as Lossy
from ohmwright_rules.warm_copper import WarmState, warm_state

RULE = Rule(
    id="load-voltage",
    title="Load outside its voltage window",
    family="voltages",
    subject="load",
    covers=("J8",),
    grades=(
        Grade("over-maximum", Severity.ERROR, "a load can see more voltage than it bears"),
        Grade("under-minimum", Severity.WARNING, "a load that runs gets less voltage than it needs"),
    ),
    references=(common_practice(), Reference("voltage window of the load", "", "as declared", "read")),
)
_WINDOW = "voltage window"
_NOTHING = 1e-3  # V: what is left of no voltage at all by rounding


@record
class _Eater:
    """Something with a voltage window: its terminals, the highest and the lowest voltage [V] that it works on."""

    part: Part
    consumer: int
    plus: str
    minus: str
    window: Quantity[Volt] | None
    least: float | None


def check(study: Study) -> Iterator[Outcome]:
    """Hold what every load and converter can see against the voltages that it bears and needs."""
    left = {"on mains or an inverter's output": 0, "says no permitted input voltage": 0, "runs in no solved state": 0}
    left["on mains or an inverter's output"] = sum(
        1 for name in study.anatomy.loads if "L" in study.build.parts[name].TERMINALS
    )
    states = study.telling_states
    charging_first = tuple(sorted(states, key=_charges))
    for eater in _eaters(study):
        inverter = isinstance(eater.part, Inverter)
        if eater.window is not None:
            yield from _high(study, eater, eater.window, charging_first)
        elif inverter:
            left["says no permitted input voltage"] += 1
        else:
            yield NotChecked("over-maximum", (eater.part.name,), _WINDOW, eater.part.span, declare=_declare(eater.part))
        if eater.least is not None:
            outcome = _low(study, eater, eater.least, states)
            left["runs in no solved state"] += outcome is None
            if outcome is not None:
                yield outcome
        elif not inverter:
            yield NotChecked("under-minimum", (eater.part.name,), _WINDOW, eater.part.span, declare=_declare(eater.part))
    for condition, count in left.items():
        if count:
            yield DoesNotApply(condition, count)


def _declare(part: Part) -> str:
    return said_of_missing(_WINDOW) if isinstance(part, Load) else "input ~10 V to ~16 V"


def _eaters(study: Study) -> Iterator[_Eater]:
    for number, consumer in enumerate(study.circuit.consumers):
        part = consumer.part
        window: Quantity[Volt] | None = None
        least: float | None = None
        if isinstance(part, Load):
            window = part.bears
            cut_off = part.own_cut_off
            least = float(window.low) if window is not None else float(cut_off.high) if cut_off is not None else None
        elif isinstance(part, Inverter) and consumer.kind == "inverter":
            nominal = part.nominal_voltage
            window = nominal if nominal is not None and nominal.form == "range" else None
            least = float(part.cut_off.high) if part.cut_off is not None else float(window.low) if window is not None else None
        elif isinstance(part, Converter | Charger) and consumer.kind == "converter":
            window = part.input_window
            cut_off = part.cut_off if isinstance(part, Converter) else None
            least = float(window.low) if window is not None else float(cut_off.high) if cut_off is not None else None
        else:
            continue
        yield _Eater(part, number, consumer.plus, consumer.minus, window, least)


# the high side ------------------------------------------------------------------------------------------------------


def _high(study: Study, eater: _Eater, window: Quantity[Volt], states: tuple[SolvedState, ...]) -> Iterator[Outcome]:
    subject = (eater.part.name,)
    limit = Amount(float(window.high), "voltage", window.unit)
    lines = lines_of(study)
    cases: list[Case] = []
    gaps: dict[Gap, str] = {}
    seen: set[tuple[int, float]] = set()
    for state in states:
        off = lines.off_in(state)
        held = [item for item in held_down(study, state, eater.plus, eater.minus) if not item.arrays <= off]
        found, missing = lines.between(state.open_gates, eater.plus, eater.minus, off.union(*(item.arrays for item in held)))
        for gap in (*missing, *(item.gap for item in held if item.gap is not None)):
            gaps.setdefault(gap, state.name)
        line = max((*found, *(item.line for item in held)), key=lambda line: line.value, default=None)
        solved = state.across(eater.plus, eater.minus)
        guessed = any(gap.guessed for gap in missing)
        if solved is not None and (line is None or solved > line.value) and not (guessed and solved > limit.value):
            line = Line(solved, "", "as solved")
        if line is None:
            continue
        key = (id(found) if line.holder else 0, line.value)
        if key in seen and (state.setup.origin == "reached" or line.value <= limit.value):
            continue  # says nothing that the first did not
        seen.add(key)
        cases.append(Case(state.name, Amount(line.value, "voltage", window.unit), limit, line))
    if not cases:
        for gap, name in gaps.items():
            yield NotChecked("over-maximum", subject, gap.missing, gap.span, name, gap.declare)
        if not gaps:
            yield DoesNotApply("nothing feeds it in any state")
        return
    verdicts = verdict(study, cases, "at-most", "kill")
    worst = verdicts.worst
    if not verdicts.broken:
        for gap, name in gaps.items():
            yield NotChecked("over-maximum", subject, gap.missing, gap.span, name, gap.declare)
        if not gaps:
            yield Passed("over-maximum", subject, worst.measured, worst.limit, state=worst.state)
        return
    highest = worst.note
    assert isinstance(highest, Line)
    measured, allowed = shown_pair(worst.measured, worst.limit)
    name = eater.part.name
    holder = study.part(highest.holder)
    yield Finding(
        "over-maximum",
        subject,
        f"{name}: up to {measured} can stand at it in state {worst.state!r} ({highest.words}); it bears {allowed}.",
        eater.part.span,
        worst.measured,
        worst.limit,
        state=worst.state,
        states=verdicts.broken,
        working=(*highest.steps, Step("U_max", f"{name} bears", limit.value, "V", "as declared")),
        remedy=_high_remedy(eater.part, holder, highest, limit),
        related=(Related("what holds the voltage", holder.span),) if holder is not None else (),
        reference=highest.reference,
        at_most=verdicts.at_most,
    )


def _charges(state: SolvedState) -> int:
    """Sort states in which chargers run and the sun shines to the front: of equal ones the first is told."""
    running = sum(1 for name in state.setup.chargers if state.current(name) > 0.0)
    return -running - any(value > 0 for value in state.setup.sun.values())


def _high_remedy(part: Part, holder: Part | None, line: Line, limit: Amount) -> str:
    measured = shown(Amount(line.value, "voltage", limit.unit))
    text = f"Use one that bears {measured} or more, or feed {part.name} through a converter that gives {shown(limit)} or less"
    if isinstance(holder, Charging) and line.steps:
        lower = line.steps[0].value
        assert lower is not None
        setting = lower - (line.value - limit.value)
        text += f", or set {holder.name} to {shown(Amount(setting, 'voltage', limit.unit))} or less if the battery allows it"
    return f"{text}."


# the low side -------------------------------------------------------------------------------------------------------


def _low(study: Study, eater: _Eater, least: float, states: tuple[SolvedState, ...]) -> Outcome | None:
    subject = (eater.part.name,)
    consumer = study.circuit.consumers[eater.consumer]
    limit = Amount(least, "voltage")
    cases: list[Case] = []
    unknown: tuple[str, str] | None = None
    for state in states:
        if not state.solved or current_taken(state, consumer) <= 0.0:
            continue
        if isinstance(eater.part, Inverter) and state.setup.is_surge:
            continue  # the matter of surge-cut-off
        warm = warm_state(study, state)
        volt = warm.across(eater.plus, eater.minus)
        if volt is None:
            continue
        volt = volt if abs(volt) > _NOTHING else 0.0
        cases.append(Case(state.name, Amount(volt, "voltage"), limit, warm))
        unknown = unknown or _unknown(study, eater, warm)
    if not cases:
        return None
    verdicts = verdict(study, cases, "at-least", "fails")
    worst = verdicts.worst
    if not verdicts.broken:
        if unknown is not None:
            return NotChecked("under-minimum", subject, unknown[0], eater.part.span, worst.state, unknown[1])
        return Passed("under-minimum", subject, worst.measured, worst.limit, "at-least", worst.state)
    at_worst = worst.note
    assert isinstance(at_worst, WarmState)
    measured, needed = shown_pair(worst.measured, worst.limit)
    parts = at_worst.parts(eater.plus, eater.minus)
    lost = sum(part.volt for part in parts)
    steps = tuple(part.step() for part in parts[:6])
    return Finding(
        "under-minimum",
        subject,
        f"{eater.part.name}: {measured} is left at it in state {worst.state!r}; it needs {needed}. "
        f"{shown(Amount(lost, 'voltage'))} is lost on the way out and back.",
        eater.part.span,
        worst.measured,
        worst.limit,
        sense="at-least",
        state=worst.state,
        states=verdicts.broken,
        working=(*steps, Step("U", "at its terminals, with the copper warm", worst.measured.value, "V", "solved circuit")),
        remedy=_low_remedy(study, parts, lost, worst, measured),
        at_most=verdicts.at_most,
    )


def _low_remedy(study: Study, parts: list[Lossy], lost: float, worst: Case, measured: str) -> str:
    from ohmwright_rules.drop_remedies import thicker_or_shorter

    short = worst.limit.value - worst.measured.value
    if worst.measured.value < worst.limit.value / 2:
        return "Let it run only in states in which what feeds it can carry it."
    other = f"se one that works down to {measured}, or let it run only while the battery is fuller."
    if not parts or lost <= short:
        return f"U{other}"
    basis = basis_of(study) or named_basis("us-small-craft")
    return f"{thicker_or_shorter(basis, parts, lost, lost - short)} Or u{other}"


def _unknown(study: Study, eater: _Eater, warm: WarmState) -> tuple[str, str] | None:
    """Return a missing datum that flatters the voltage, with a line that would say it; None where all is known."""
    wire = warm.unknown_on_way(eater.plus, eater.minus)
    if wire is not None:
        assert wire.conductor is not None
        missing = "gauge" if wire.conductor.gauge is None else "length"
        return f"{missing} of {wire.name}", said_of_missing(missing)
    for node in (eater.plus, eater.minus):
        battery = study.part(study.build.nodes.get(warm.root.get(node, ""), ""))
        if isinstance(battery, Battery) and resistance_high(battery) is None:
            return f"internal resistance of {battery.name}", "internal resistance 5 mohm"
    return None
