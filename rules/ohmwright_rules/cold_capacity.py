"""A battery that has to work in the cold and does not say what it gives there."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown_pair
from ohmwright_grammar.kinds.battery import LEAD_ACID, Battery
from ohmwright_grammar.kinds.load import Load
from ohmwright_grammar.kinds.requirement import Requirement

RULE = Rule(
    id="cold-capacity",
    title="Capacity in the cold not declared",
    family="energy",
    subject="battery",
    covers=("J7",),
    grades=(
        Grade(
            "not-declared",
            Severity.WARNING,
            "a battery of an energy budget gets colder than 10 degC and says no capacity for that",
            "itself",
        ),
    ),
    references=(Reference("a battery vendor's page", "", "at 0 degC lead-acid down to 50 %, LFP 90 %", "secondary"),),
)
_GRADE = "not-declared"


def check(study: Study) -> Iterator[Outcome]:
    """Ask every battery that gets cold for its capacity there, where anything is promised of the bank or hours are said."""
    from ohmwright_rules.energy import MILD, cold_of_battery

    promised = any(item.run is not None or item.days_without_sun is not None for item in study.of(Requirement))
    batteries = sorted(study.of(Battery), key=lambda part: part.name)
    if not promised and not any(load.hours is not None or load.hours_by_month is not None for load in study.of(Load)):
        yield DoesNotApply("nothing is promised, and no load says its hours a day", len(batteries))
        return
    for battery in batteries:
        subject = (battery.name,)
        air = cold_of_battery(study, battery)
        if battery.capacity_by_temperature or battery.is_documented(Battery.capacity_by_temperature):
            yield Passed(_GRADE, subject)
        elif air is None:
            yield Missing(f"coldest air at {battery.name}", battery.span, "site { ambient 0 degC to 40 degC }").outcome(
                _GRADE, subject
            )
        elif not is_broken(air, MILD, "at-least"):
            yield Passed(_GRADE, subject, Amount(air, "temperature"), Amount(MILD, "temperature"), "at-least")
        else:
            yield _finding(battery, air)


def _finding(battery: Battery, air: float) -> Finding:
    from ohmwright_rules.energy import MILD

    measured, limit = Amount(air, "temperature"), Amount(MILD, "temperature")
    cold, mild = shown_pair(measured, limit)
    usual = "about half" if battery.chemistry in LEAD_ACID else "about 90 %"
    return Finding(
        _GRADE,
        (battery.name,),
        f"{battery.name}: it gets as cold as {cold} and says no capacity below {mild}; at 0 degC {usual} is usual, and the energy budget counts on it.",
        battery.span,
        measured,
        limit,
        "at-least",
        remedy=f"Declare it from the data sheet, for instance: capacity 80 % at {air:.3g} degC",
    )
