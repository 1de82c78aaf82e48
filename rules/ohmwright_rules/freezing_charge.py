"""Lithium that can be charged while it is too cold."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.tables import load
from ohmwright.values import Amount, shown_pair
from ohmwright_grammar.kinds.battery import LITHIUM, Battery
from ohmwright_grammar.kinds.charging import Charging

from ohmwright_rules.basis import TABLES
from ohmwright_rules.charging import NO_BATTERY, charged
from ohmwright_rules.charging_cold import Coldest, Cut, coldest, cut_by_bms, cut_by_charger, low_of

RULE = Rule(
    id="freezing-charge",
    title="Lithium charged below freezing",
    family="controllers",
    subject="controller or charger, with each battery",
    covers=("B5",),
    grades=(
        Grade("too-cold", Severity.ERROR, "it can charge a lithium battery below the battery's lowest charge temperature"),
    ),
    references=(
        Reference("battery data sheet, as declared", "", "charge temperatures", "computed"),
        Reference("a cell maker's specification as quoted", "", "charge from 0 to 60 degC", "secondary"),
    ),
)
_GRADE = "too-cold"
_USUAL = load(TABLES, "battery_temperatures")
_NOT_LITHIUM = "no lithium battery"


def check(study: Study) -> Iterator[Outcome]:
    """Look at every pair of something that charges and a lithium battery that can be joined to it."""
    left: Counter[str] = Counter()
    for item in charged(study):
        batteries = {battery.name: battery for string in item.strings for battery in string.batteries}
        if not batteries:
            left[NO_BATTERY] += 1
        for name in sorted(batteries):
            battery = batteries[name]
            if battery.chemistry is not None and battery.chemistry not in LITHIUM:
                left[_NOT_LITHIUM] += 1
            else:
                yield _judge(study, item.part, battery, len(batteries) == 1)
    for condition, count in sorted(left.items()):
        yield DoesNotApply(condition, count)


def _judge(study: Study, part: Charging, battery: Battery, alone: bool) -> Outcome:
    subject = (part.name, battery.name)
    limit, said, reference = _least(battery)
    cold = coldest(study, part, battery)
    if battery.waits_until_warm:
        return Passed(_GRADE, subject)
    if not isinstance(cold, Missing) and not is_broken(cold.temperature, limit, "at-least"):
        return Passed(_GRADE, subject, Amount(cold.temperature, "temperature"), Amount(limit, "temperature"), "at-least")
    cuts = (cut_by_bms(battery), cut_by_charger(part, battery, alone))
    known = [cut for cut in cuts if isinstance(cut, Cut)]
    highest = max(known, key=lambda cut: cut.temperature, default=None)
    if highest is not None and not is_broken(highest.temperature, limit, "at-least"):
        return Passed(_GRADE, subject, Amount(highest.temperature, "temperature"), Amount(limit, "temperature"), "at-least")
    if isinstance(cold, Missing):
        return cold.outcome(_GRADE, subject)
    if battery.chemistry is None:
        return Missing(f"chemistry of {battery.name}", battery.span, "LFP").outcome(_GRADE, subject)
    silent = next((cut for cut in cuts if isinstance(cut, Missing)), None)
    if silent is not None:
        return silent.outcome(_GRADE, subject)
    if battery.heater and battery.waits_until_warm is None:
        missing = Missing(f"whether charging of {battery.name} waits until it is warm", battery.span, "charges only when warm")
        return missing.outcome(_GRADE, subject)
    return _finding(part, battery, cold, highest, limit, said, reference)


def _least(battery: Battery) -> tuple[float, str, Reference]:
    """Return the lowest temperature at which a battery may be charged [degC], in words from where, and what that rests on."""
    own = low_of(battery.charge_temperatures)
    if own is not None:
        return own, "as declared", RULE.references[0]
    cell = _USUAL.cell(f"{battery.chemistry or 'LFP'} charge", "least_C")
    assert cell is not None
    return cell.value, cell.place, RULE.references[1]


def _finding(
    part: Charging, battery: Battery, cold: Coldest, cut: Cut | None, limit: float, said: str, reference: Reference
) -> Finding:
    reaches = max(cold.temperature, cut.temperature) if cut is not None else cold.temperature
    measured, allowed = Amount(reaches, "temperature"), Amount(limit, "temperature")
    low, least = shown_pair(measured, allowed)
    stops = "nothing stops it" if cut is None else f"{cut.words} stops it only below {cut.temperature:g} degC"
    steps = [Step("T_low", cold.words, cold.temperature, "degC", "as declared")]
    if cut is not None:
        steps.append(Step("T_cut", cut.words, cut.temperature, "degC", "as declared"))
    steps.append(Step("T_least", f"{battery.name}, lowest charge temperature", limit, "degC", said))
    heater = " A heater helps only where charging waits for it." if battery.heater else ""
    return Finding(
        _GRADE,
        (part.name, battery.name),
        f"{part.name}: it can charge {battery.name} at {low}, and {stops}; its cells may be charged from {least} up."
        f" Below that lithium plates, a loss for good.{heater}",
        part.span,
        measured,
        allowed,
        "at-least",
        working=tuple(steps),
        remedy=f"Use a battery whose BMS blocks charge below {least}, or a charger that does so by a sensor on {battery.name}"
        f" (blocks charge below {least}; sensor on {battery.name}).",
        related=(
            Related(cold.words, cold.span),
            *((Related(f"stops below {cut.temperature:g} degC", cut.span),) if cut is not None else ()),
            Related(f"{battery.name}: its charge temperatures", battery.place_of(Battery.charge_temperatures)),
        ),
        reference=reference,
    )
