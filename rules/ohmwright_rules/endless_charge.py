"""A charger that never stops on a lead-acid battery."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from ohmwright.circuit.batteries import cells_of
from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.tables import load
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.battery import LITHIUM, Battery
from ohmwright_grammar.kinds.charging import Charger, Charging
from ohmwright_grammar.kinds.enclosure import Enclosure

from ohmwright_rules.basis import TABLES
from ohmwright_rules.charging import NO_BATTERY, String, charged

RULE = Rule(
    id="endless-charge",
    title="Charger that never stops on a lead-acid battery",
    family="controllers",
    subject="controller or charger",
    covers=("B4",),
    grades=(
        Grade(
            "in-closed-case", Severity.ERROR, "it neither floats nor ends by a timer, and a battery of it lies in a closed case"
        ),
        Grade(
            "in-the-open", Severity.WARNING, "it neither floats nor ends by a timer, and no battery of it lies in a closed case"
        ),
    ),
    references=(Reference("installers' list of accidents", "", "a battery that boiled dry under a charger", "secondary"),),
)
_USUAL = load(TABLES, "battery_charge")
_NOT_LEAD = "no lead-acid battery"
_WITH_ENGINE = "it charges only while an engine runs"


def check(study: Study) -> Iterator[Outcome]:
    """Ask everything that charges lead-acid how its charge ends."""
    left: Counter[str] = Counter()
    for item in charged(study):
        if isinstance(item.part, Charger) and item.part.kind_of_charger == "alternator":
            left[_WITH_ENGINE] += 1
            continue
        if not item.strings:
            left[NO_BATTERY] += 1
        for string in item.strings:
            if any(battery.chemistry in LITHIUM for battery in string.batteries):
                left[_NOT_LEAD] += 1
            else:
                yield from _judge(study, item.part, string)
    for condition, count in sorted(left.items()):
        yield DoesNotApply(condition, count)


def _judge(study: Study, part: Charging, string: String) -> Iterator[Outcome]:
    from ohmwright_rules.casing import case_of

    subject = (part.name, *string.names)
    holds = _holds_at_float(part, string)
    if part.float_stage or part.timer or part.float_voltage is not None or part.absorption_time is not None or holds:
        yield Passed("in-closed-case", subject, *(holds or ()))
        yield Passed("in-the-open", subject, *(holds or ()))
        return
    silent = _silent(part)
    unknown = next((battery for battery in string.batteries if battery.chemistry is None), None)
    if unknown is not None:
        silent = silent or Missing(f"chemistry of {unknown.name}", unknown.span, "AGM")
    if silent is not None:
        yield silent.outcome("in-closed-case", subject)
        yield silent.outcome("in-the-open", subject)
        return
    from ohmwright.thermal.walls import is_closed  # few chargers come this far

    cases = [(battery, case_of(study, battery.name)) for battery in string.batteries]
    closed = next(((battery, case) for battery, case in cases if case is not None and is_closed(case)), None)
    if closed is not None:
        yield _finding(part, string, *closed)
        return
    open_question = next((case for _, case in cases if case is not None and is_closed(case) is None), None)
    if open_question is not None:
        yield Missing(f"whether {open_question.name} is closed", open_question.span, "closed").outcome(
            "in-closed-case", subject
        )
    elif next(study.of(Enclosure), None) is not None and (loose := _anywhere(study, cases)) is not None:
        missing = Missing(f"whether {loose.name} lies in a case", loose.span, "in inside")
        yield missing.outcome("in-closed-case", subject)
    else:
        yield Passed("in-closed-case", subject)
    yield _finding(part, string, None, None)


def _anywhere(study: Study, cases: list[tuple[Battery, Enclosure | None]]) -> Battery | None:
    """Return the first battery of which nobody says where it lies."""
    return next((battery for battery, case in cases if case is None and not study.zone_of(battery.name)), None)


def _silent(part: Charging) -> Missing | None:
    """Return what a charger does not say of how its charge ends; None where it denies both a float stage and a timer."""
    no_float = part.float_stage is False or part.says_none(Charging.float_voltage)
    if no_float and part.timer is False:
        return None
    if no_float:
        return Missing("whether a timer ends its charge", part.span, "no timer")
    if part.timer is False:
        return Missing("whether it has a float stage", part.span, "float ~13.6 V")
    return Missing("float stage or timer", part.span, "float ~13.6 V")


def _limit(string: String) -> float | None:
    """Return the voltage that batteries in series may be held at for good [V]: as declared, else the usual of lead-acid."""
    total = 0.0
    for battery in string.batteries:
        if battery.highest_float_voltage is not None:
            total += float(battery.highest_float_voltage.low)
            continue
        cell = _USUAL.cell(battery.chemistry or "", "float_most_V")
        cells = cells_of(battery)
        if cell is None or not cells:
            return None
        total += cell.value * cells / 6
    return total


def _holds_at_float(part: Charging, string: String) -> tuple[Amount, Amount] | None:
    """Return the only voltage of a charger and what the batteries bear for good, where the one does not pass the other."""
    said, limit = part.absorption_voltage, _limit(string)
    if said is None or limit is None or is_broken(float(said.high), limit, "at-most"):
        return None
    return Amount(float(said.high), "voltage", said.unit), Amount(limit, "voltage", said.unit)


def _finding(part: Charging, string: String, battery: Battery | None, case: Enclosure | None) -> Finding:
    said, limit = part.absorption_voltage, _limit(string)
    volts = ""
    measured: Amount | None = None
    allowed: Amount | None = None
    steps: tuple[Step, ...] = ()
    if said is not None:
        measured = Amount(float(said.high), "voltage", said.unit)
        volts = shown(measured)
        steps = (Step("V_charge", f"{part.name}, held without an end", measured.value, "V", "as declared"),)
        if limit is not None:
            allowed = Amount(limit, "voltage", said.unit)
            steps += (
                Step("V_float", f"{string.words}, highest for good", limit, "V", "as declared, else usual for lead-acid"),
            )
    holds = f"it holds {volts} on" if volts else "it goes on charging"
    at_most = f" {string.words} bears {shown_pair(measured, allowed)[1]} for good." if measured and allowed else ""
    if battery is not None and case is not None:
        grade, effect = "in-closed-case", f"The gas of {battery.name} stays in {case.name}, which is closed."
    else:
        grade, effect = "in-the-open", "Its water boils off, its plates warp and short."
    return Finding(
        grade,
        (part.name, *string.names),
        f"{part.name}: {holds} {string.words} for as long as it is fed, with neither a float stage nor a timer.{at_most} {effect}",
        part.span,
        measured,
        allowed,
        working=steps,
        remedy="Use one that goes to float, or put a timer before it and declare: timer",
        related=tuple(Related(item.name, item.span) for item in (*string.batteries, *((case,) if case is not None else ()))),
    )
