"""A bank that runs its loads for less time than is promised, and the verdict on every promise of run time."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.references import Reference, Step, common_practice
from ohmwright.results import Promise, Verdict
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.states.deriving import resting_setup
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.load import Load
from ohmwright_grammar.kinds.requirement import Requirement
from ohmwright_grammar.records import record

from ohmwright_rules.day_energy import Day, day_energy
from ohmwright_rules.energy import Usable, usable_energy
from ohmwright_rules.missing import Missing
from ohmwright_rules.run_energy import fewest_packs, lone_bank, named_loads, taken_by, wiring_share
from ohmwright_rules.wording import listed

RULE = Rule(
    id="run-time",
    title="Bank empty before the promised time",
    family="energy",
    subject="battery",
    covers=("J1",),
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
_HOUR, _DAY = 3600.0, 86400.0
_WIRING = 0.97  # of a power that says nothing of its wires: the fault catalogue's own example, J1


@record
class _Asked:
    """What one promise (or a day, where nothing is promised) takes from a bank.

    `energy` is what leaves the posts [J], `least` what it is at least while something was not said; `time` [s] what it was asked for, `power` the mean [W].
    """

    words: str
    energy: float
    least: float
    power: float
    time: float
    loads: tuple[str, ...]
    strings: tuple[tuple[str, ...], ...]
    steps: tuple[Step, ...]
    unsaid: Missing | None


def check(study: Study) -> Iterator[Outcome | Promise]:
    """Hold the energy of every promised run, and of promised days without sun, against what the bank gives."""
    if next(study.of(Battery), None) is None:
        yield DoesNotApply("there is no battery")
        return
    asked = False
    for requirement in study.of(Requirement):
        if requirement.run is not None:
            asked = True
            yield from _answers(study, requirement, _run(study, requirement), _RUN)
        if requirement.days_without_sun is not None:
            asked = True
            yield from _answers(study, requirement, _days(study, requirement), _DAYS)
    if asked:
        return
    if not any(load.hours is not None or load.hours_by_month is not None for load in study.of(Load)):
        yield DoesNotApply("no run time is promised, and no load says its hours a day")
        return
    found = _a_day(study, 1.0, "a day of its loads")
    if isinstance(found, Missing):
        yield found.outcome("over-a-day", _banked(study))
    else:
        yield _judge(study, found, None)[0]


def _banked(study: Study) -> tuple[str, ...]:
    return tuple(sorted(battery.name for battery in study.of(Battery)))


# what is asked -----------------------------------------------------------------------------------------------------


def _run(study: Study, requirement: Requirement) -> _Asked | Missing:
    run = requirement.run
    assert run is not None
    time = float(run.time.high)
    hours = shown(Amount(time, "time", run.time.unit))
    said = _wiring_said(study)
    if run.loads:
        loads = named_loads(study, run.loads)
        if isinstance(loads, Missing):
            return loads
        taken = taken_by(study, loads)
        if isinstance(taken, Missing):
            return taken
        share = wiring_share(taken, said)
        power = taken.parts / share
        steps = (
            *taken.steps,
            Step("eta_wire", "share left after the wiring", share, "1", "solved circuit" if said is None else "as required"),
            Step(
                "E_run",
                f"{taken.parts:.4g} W / {share:.3g} x {time / _HOUR:.4g} h",
                power * time / _HOUR,
                "Wh",
                "from the posts",
            ),
        )
        words = f"running {listed(run.loads)} for {hours}"
        return _Asked(words, power * time, taken.useful * time, power, time, run.loads, taken.strings, steps, taken.unsaid)
    assert run.power is not None
    watts = float(run.power.high)
    share = said if said is not None else _WIRING
    strings = _only_bank(study)
    source = "as required" if said is not None else "assumed, common practice, no source"
    steps = (
        Step("eta_wire", "share left after the wiring", share, "1", source),
        Step(
            "E_run", f"{watts:.4g} W x {time / _HOUR:.4g} h / {share:.3g}", watts * time / share / _HOUR, "Wh", "from the posts"
        ),
    )
    words = f"giving {shown(Amount(watts, 'power', run.power.unit))} for {hours}"
    return _Asked(words, watts * time / share, watts * time, watts / share, time, (), strings, steps, None)


def _wiring_said(study: Study) -> float | None:
    said = [float(item.share_after_wiring.low) for item in study.of(Requirement) if item.share_after_wiring is not None]
    return min((share for share in said if share > 0), default=None)


def _only_bank(study: Study) -> tuple[tuple[str, ...], ...]:
    """Return the strings of all batteries but packs that may be left away."""
    state = study.solve_setup(fewest_packs(study, resting_setup(study.build, study.anatomy)))
    rows = {name for row in study.build.rows for name in row.instances[row.least :]}
    names = [battery.name for battery in study.of(Battery) if not any(battery.name.startswith(f"{name}.") for name in rows)]
    return lone_bank(study, state, names)


def _days(study: Study, requirement: Requirement) -> _Asked | Missing:
    days = requirement.days_without_sun
    assert days is not None
    return _a_day(
        study, float(days.high) / _DAY, f"running for {shown(Amount(float(days.high), 'time', days.unit))} without sun"
    )


def _a_day(study: Study, days: float, words: str) -> _Asked | Missing:
    day = day_energy(study)
    if isinstance(day, Missing):
        return day
    steps = day.steps if days == 1.0 else (*day.steps, _of_days(day, days))
    energy = day.energy * days
    return _Asked(
        words,
        energy,
        energy if day.unsaid is None else 0.0,
        day.energy / _DAY,
        days * _DAY,
        (),
        day.taken.strings,
        steps,
        day.unsaid,
    )


def _of_days(day: Day, days: float) -> Step:
    return Step("E", f"{day.energy / _HOUR:.4g} Wh x {days:.4g} days", day.energy * days / _HOUR, "Wh", "days without sun")


# verdicts ----------------------------------------------------------------------------------------------------------


def _answers(study: Study, requirement: Requirement, asked: _Asked | Missing, formula: str) -> Iterator[Outcome | Promise]:
    if isinstance(asked, Missing):
        yield asked.outcome("under-promise", _banked(study))
        yield Promise(requirement.name, formula, None, None, "not-checked", requirement.span)
        return
    outcome, usable = _judge(study, asked, requirement)
    yield outcome
    verdict: Verdict = "broken" if isinstance(outcome, Finding) else "met" if isinstance(outcome, Passed) else "not-checked"
    value = Amount(asked.energy, "energy", "Wh")
    limit = Amount(usable.energy, "energy", "Wh") if usable is not None else None
    steps = (*asked.steps, *(usable.steps if usable is not None else ()))
    yield Promise(requirement.name, formula, value, limit, verdict, requirement.span, steps)


def _judge(study: Study, asked: _Asked, requirement: Requirement | None) -> tuple[Outcome, Usable | None]:
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
    asked: _Asked,
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
