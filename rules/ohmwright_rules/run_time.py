"""A bank that runs its loads for less time than is promised, and the verdict on every promise of run time."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, common_practice
from ohmwright.results import Promise, Verdict
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.load import Load
from ohmwright_grammar.kinds.requirement import Requirement

from ohmwright_rules.energy import Usable, usable_energy
from ohmwright_rules.promised_runs import Asked, asked_by_day, asked_by_days, asked_by_run, every_battery
from ohmwright_rules.wording import listed

RULE = Rule(
    id="run-time",
    title="Bank empty before the promised time",
    family="energy",
    subject="battery",
    covers=("J1", "J6", "J11"),
    grades=(
        Grade("under-promise", Severity.ERROR, "what is promised to run takes more than the bank gives"),
        Grade("over-a-day", Severity.NOTE, "nothing is promised, and a day's loads take more than the bank gives"),
    ),
    references=(
        common_practice("nominal energy times depth, cold and age; sizing steps"),
        Reference("a stand-alone sizing guide", "", "sizing steps", "secondary"),
    ),
)
_RUN = "sum of P x h / share left after wiring <= V x Ah x depth x k_T x k_age"
_DAYS = "energy of a day x days <= V x Ah x depth x k_T x k_age"
_DAY = 86400.0


def check(study: Study) -> Iterator[Outcome | Promise]:
    """Hold the energy of every promised run, and of promised days without sun, against what the bank gives."""
    if next(study.of(Battery), None) is None:
        yield DoesNotApply("there is no battery")
        return
    asked = False
    for requirement in study.of(Requirement):
        if requirement.run is not None:
            asked = True
            yield from _answers(study, requirement, asked_by_run(study, requirement), _RUN)
        if requirement.days_without_sun is not None:
            asked = True
            yield from _answers(study, requirement, asked_by_days(study, requirement), _DAYS)
    if asked:
        return
    if not any(load.hours is not None or load.hours_by_month is not None for load in study.of(Load)):
        yield DoesNotApply("no run time is promised, and no load says its hours a day")
        return
    found = asked_by_day(study, 1.0, "a day of its loads")
    if isinstance(found, Missing):
        yield found.outcome("over-a-day", every_battery(study))
    else:
        yield _judge(study, found, None)[0]


# verdicts ----------------------------------------------------------------------------------------------------------


def _answers(study: Study, requirement: Requirement, asked: Asked | Missing, formula: str) -> Iterator[Outcome | Promise]:
    if isinstance(asked, Missing):
        yield asked.outcome("under-promise", every_battery(study))
        yield Promise(requirement.name, formula, None, None, "not-checked", requirement.span)
        return
    outcome, usable = _judge(study, asked, requirement)
    yield outcome
    verdict: Verdict = "broken" if isinstance(outcome, Finding) else "met" if isinstance(outcome, Passed) else "not-checked"
    value = Amount(asked.energy, "energy", "Wh")
    limit = Amount(usable.energy, "energy", "Wh") if usable is not None else None
    steps = (*asked.steps, *(usable.steps if usable is not None else ()))
    yield Promise(requirement.name, formula, value, limit, verdict, requirement.span, steps)


def _judge(study: Study, asked: Asked, requirement: Requirement | None) -> tuple[Outcome, Usable | None]:
    grade = "under-promise" if requirement is not None else "over-a-day"
    bank = tuple(dict.fromkeys(name for string in asked.strings for name in string))
    subject = (*bank, *asked.loads)
    usable = usable_energy(study, asked.strings, asked.power)
    if isinstance(usable, Missing):
        return usable.outcome(grade, subject), None
    measured = Amount(asked.energy, "energy", "Wh")
    limit = Amount(usable.energy, "energy", "Wh")
    surely = is_broken(asked.least if asked.unsaid is not None else asked.energy, limit.value, "at-most")
    if surely:
        return _finding(study, asked, usable, requirement, grade, bank, subject), usable
    unsaid = asked.unsaid or usable.unsaid
    if unsaid is not None:
        return unsaid.outcome(grade, subject), usable
    return Passed(grade, subject, measured, limit), usable


def _finding(
    study: Study,
    asked: Asked,
    usable: Usable,
    requirement: Requirement | None,
    grade: str,
    bank: tuple[str, ...],
    subject: tuple[str, ...],
) -> Finding:
    measured = Amount(asked.energy, "energy", "Wh")
    limit = Amount(usable.energy, "energy", "Wh")
    takes, gives = shown_pair(measured, limit)
    short = shown(Amount(asked.energy - usable.energy, "energy", "Wh"))
    promised = ", as promised," if requirement is not None else ""
    more = f" ({usable.unsaid.what} would make it less still)" if usable.unsaid is not None else ""
    lasts = Amount(usable.energy / asked.power, "time", "h" if asked.time < 3 * _DAY else "days")
    factor = asked.energy / usable.energy if usable.energy > 0 else 0.0
    charge = sum(_charge(study, string) for string in asked.strings) * factor
    larger = f"Use a bank of {shown(Amount(charge, 'charge', 'Ah'))} or more" if charge > 0 else "Use a larger bank"
    remedy = f"{larger}, or take less: with this bank it lasts {shown(lasts)}."
    return Finding(
        grade,
        subject,
        f"{listed(bank)}: {asked.words}{promised} takes {takes} from it; it gives {gives}{more}, {short} short.",
        requirement.span if requirement is not None else study.span(bank[0]),
        measured,
        limit,
        working=(*asked.steps, *usable.steps),
        remedy=remedy,
        related=tuple(Related(f"{name}: its capacity", study.span(name)) for name in bank),
        reference=usable.reference if asked.energy <= usable.nominal else RULE.references[0],
    )


def _charge(study: Study, string: tuple[str, ...]) -> float:
    """Return the smallest capacity in a string [C]."""
    parts = [study.part(name) for name in string]
    return min(float(part.capacity.charge.low) for part in parts if isinstance(part, Battery) and part.capacity is not None)
