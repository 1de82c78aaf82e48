"""A charge set-point outside of what the battery allows."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from typing import Any

from ohmwright.circuit.batteries import cells_of
from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Sense, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.battery import LITHIUM, Battery
from ohmwright_grammar.kinds.charging import Charging
from ohmwright_grammar.kinds.site import Site
from ohmwright_grammar.quantities import Quantity
from ohmwright_grammar.records import record
from ohmwright_grammar.things import Datum

from ohmwright_rules.charging import NO_BATTERY, String, charged

RULE = Rule(
    id="charge-set-point",
    title="Charge set-point outside the battery's limits",
    family="controllers",
    subject="controller or charger",
    covers=("B3",),
    grades=(
        Grade("over-absorption", Severity.ERROR, "the absorption voltage is over the battery's highest charge voltage"),
        Grade("over-float", Severity.ERROR, "the float voltage is over the battery's highest float voltage"),
        Grade("equalises-lithium", Severity.ERROR, "equalising is on, on a lithium battery"),
        Grade("compensates-lithium", Severity.ERROR, "temperature compensation is on, on a lithium battery"),
        Grade("under-absorption", Severity.WARNING, "the absorption voltage is under the lowest that charges the battery"),
    ),
    references=(Reference("battery data sheet, as declared", "", "charge and float voltage", "computed"),),
)
_STANDARD = 25.0  # degC: readings.md, B3: both sides are compared at 25 degC
_NOT_LITHIUM = "no lithium battery (equalising and compensation belong to lead-acid)"
_NO_FLOAT = "it does not float"


@record
class _Check:
    """One set-point against one limit of the battery, and the words for both."""

    grade: str
    set_point: Datum[Quantity[Any]]
    limit: Datum[Quantity[Any]]
    sense: Sense
    what: str
    allowed: str
    examples: tuple[str, str]


_CHECKS = (
    _Check(
        "over-absorption", Charging.absorption_voltage, Battery.highest_charge_voltage, "at-most", "absorption", "highest charge voltage",
        ("absorption ~14.2 V", "charge to at most ~14.6 V"),
    ),
    _Check(
        "over-float", Charging.float_voltage, Battery.highest_float_voltage, "at-most", "float", "highest float voltage",
        ("float ~13.5 V", "float at most ~13.8 V"),
    ),
    _Check(
        "under-absorption", Charging.absorption_voltage, Battery.lowest_charge_voltage, "at-least", "absorption", "lowest useful charge voltage",
        ("absorption ~14.2 V", "lowest charge voltage ~13.8 V"),
    ),
)  # fmt: skip


def check(study: Study) -> Iterator[Outcome]:
    """Hold every set-point of everything that charges against the limits of its batteries."""
    left: Counter[str] = Counter()
    for item in charged(study):
        if not item.strings:
            left[NO_BATTERY] += 1
        for string in item.strings:
            for one in _CHECKS:
                if one.grade == "over-float" and _never_floats(item.part):
                    left[_NO_FLOAT] += 1
                else:
                    yield _voltage(item.part, string, one)
            if any(battery.chemistry in LITHIUM for battery in string.batteries):
                yield _equalising(item.part, string)
                yield _compensation(study, item.part, string)
            else:
                unknown = next((battery for battery in string.batteries if battery.chemistry is None), None)
                if unknown is None:
                    left[_NOT_LITHIUM] += 1
                else:
                    missing = Missing(f"chemistry of {unknown.name}", unknown.span, "LFP")
                    for grade in ("equalises-lithium", "compensates-lithium"):
                        yield missing.outcome(grade, (item.part.name, *string.names))
    for condition, count in sorted(left.items()):
        yield DoesNotApply(condition, count)


def _never_floats(part: Charging) -> bool:
    """Tell whether a charger is said not to float: of its voltage, or of having a float stage at all."""
    return part.says_none(Charging.float_voltage) or (part.float_stage is False and part.float_voltage is None)


def _voltage(part: Charging, string: String, check: _Check) -> Outcome:
    subject = (part.name, *string.names)
    said = _value(part, check.set_point)
    if said is None:
        return Missing(f"{check.what} voltage", part.span, check.examples[0]).outcome(check.grade, subject)
    at_most = check.sense == "at-most"
    summed = _summed(string, check.limit, (lambda q: float(q.low)) if at_most else (lambda q: float(q.high)))
    datum, allowed_words = check.limit, check.allowed
    if isinstance(summed, Missing) and check.grade == "over-float":
        # What is over the highest charge voltage is no float voltage, whatever that may be.
        whole = _summed(string, Battery.highest_charge_voltage, lambda q: float(q.low))
        if not isinstance(whole, Missing) and is_broken(float(said.high), whole, "at-most"):
            summed, datum, allowed_words = whole, Battery.highest_charge_voltage, "highest charge voltage"
    if isinstance(summed, Missing):
        return Missing(f"{check.allowed} of {summed.what}", summed.span, check.examples[1]).outcome(check.grade, subject)
    measured = Amount(float(said.high if at_most else said.low), "voltage", said.unit)
    limit = Amount(summed, "voltage", said.unit)
    if not is_broken(measured.value, limit.value, check.sense):
        return Passed(check.grade, subject, measured, limit, check.sense)
    volt, allowed = shown_pair(measured, limit)
    effect = "Every hour above it overcharges the battery." if at_most else "The battery never gets full."
    return Finding(
        check.grade,
        subject,
        f"{part.name}: its {check.what} of {volt}{_per_cell(string, measured.value)} is {'over' if at_most else 'under'} the"
        f" {allowed_words} of {string.words}, {allowed}. {effect}",
        part.place_of(check.set_point),
        measured,
        limit,
        check.sense,
        working=_steps(part, string, check.what, measured, limit, allowed_words),
        remedy=f"Set {check.what} to {allowed} or {'less' if at_most else 'more'}.",
        related=tuple(Related(f"{battery.name}: {allowed_words}", battery.place_of(datum)) for battery in string.batteries),
    )


def _value(thing: Charging | Battery, datum: Datum[Quantity[Any]]) -> Quantity[Any] | None:
    fact = thing.fact(datum)
    return fact.value if fact is not None else None


def _summed(string: String, datum: Datum[Quantity[Any]], end: Callable[[Quantity[Any]], float]) -> float | Missing:
    """Return a limit of batteries in series, summed; where one does not declare it, its name."""
    total = 0.0
    for battery in string.batteries:
        value = _value(battery, datum)
        if value is None:
            return Missing(battery.name, battery.span)
        total += end(value)
    return total


def _cells(string: String) -> float | None:
    counts = [cells_of(battery) for battery in string.batteries]
    known = [count for count in counts if count]
    return sum(known) if len(known) == len(counts) else None


def _per_cell(string: String, volt: float) -> str:
    cells = _cells(string)
    return f" ({volt / cells:.3g} V a cell)" if cells else ""


def _steps(part: Charging, string: String, what: str, measured: Amount, limit: Amount, allowed: str) -> tuple[Step, ...]:
    steps = [
        Step("V_set", f"{part.name}, {what}, at 25 degC", measured.value, "V", "as declared"),
        Step("V_limit", f"{string.words}, {allowed}, at 25 degC", limit.value, "V", "as declared"),
    ]
    cells = _cells(string)
    if cells:
        steps.append(Step("V_cell", f"{measured.value:.4g} / {cells:g}", measured.value / cells, "V", "of one cell"))
    return tuple(steps)


def _equalising(part: Charging, string: String) -> Outcome:
    subject = (part.name, *string.names)
    grade = "equalises-lithium"
    if part.says_none(Charging.equalise_voltage):
        return Passed(grade, subject)
    said = part.equalise_voltage
    if said is None:
        return Missing("whether it equalises", part.span, "equalise off").outcome(grade, subject)
    volt = float(said.high)
    limit = _summed(string, Battery.highest_charge_voltage, lambda q: float(q.low))
    over = ""
    measured: Amount | None = None
    allowed: Amount | None = None
    if not isinstance(limit, Missing) and is_broken(volt, limit, "at-most"):
        measured, allowed = Amount(volt, "voltage", said.unit), Amount(limit, "voltage", said.unit)
        over = f", over the {shown_pair(measured, allowed)[1]} that it may be charged to"
    return Finding(
        grade,
        subject,
        f"{part.name}: it equalises at {shown(Amount(volt, 'voltage', said.unit))}{_per_cell(string, volt)}{over}."
        f" {string.words} is lithium, which must not be equalised.",
        part.place_of(Charging.equalise_voltage),
        measured,
        allowed,
        working=(Step("V_equalise", part.name, volt, "V", "as declared"),),
        remedy="Turn equalising off, and declare: equalise off",
        related=tuple(
            Related(f"{battery.name}: its chemistry", battery.place_of(Battery.chemistry)) for battery in string.batteries
        ),
    )


def _compensation(study: Study, part: Charging, string: String) -> Outcome:
    subject = (part.name, *string.names)
    grade = "compensates-lithium"
    if part.says_none(Charging.temperature_compensation):
        return Passed(grade, subject)
    said = part.temperature_compensation
    if said is None:
        return Missing("whether it compensates for temperature", part.span, "no temperature compensation").outcome(
            grade, subject
        )
    per_kelvin = max(abs(float(said.low)), abs(float(said.high)))
    if per_kelvin == 0.0:
        return Passed(grade, subject)
    steps = [Step("compensation", part.name, per_kelvin, "V/K", "as declared")]
    cold = ""
    site = next(study.of(Site), None)
    if site is not None and site.ambient is not None and part.absorption_voltage is not None:
        low = float(site.ambient.low)
        volt = float(part.absorption_voltage.high) + per_kelvin * (_STANDARD - low)
        cold = f" At {low:g} degC it would charge to {shown(Amount(volt, 'voltage', part.absorption_voltage.unit))}."
        expression = f"{float(part.absorption_voltage.high):.4g} + {per_kelvin:.4g} x (25 - ({low:g}))"
        steps.append(Step("V_cold", expression, volt, "V", "absorption at the low end of the site's range"))
    return Finding(
        grade,
        subject,
        f"{part.name}: it moves its voltages with temperature; {string.words} is lithium, whose limits do not move.{cold}",
        part.place_of(Charging.temperature_compensation),
        working=tuple(steps),
        remedy="Turn temperature compensation off, and declare: no temperature compensation",
        related=tuple(
            Related(f"{battery.name}: its chemistry", battery.place_of(Battery.chemistry)) for battery in string.batteries
        ),
    )
