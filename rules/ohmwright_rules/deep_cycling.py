"""A bank that is budgeted deeper than its chemistry bears for long."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.tables import load as table
from ohmwright.values import Amount, shown_pair
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.load import Load
from ohmwright_grammar.kinds.requirement import Requirement

from ohmwright_rules.basis import TABLES
from ohmwright_rules.wording import listed

if TYPE_CHECKING:
    from ohmwright_rules.promised_runs import Asked

RULE = Rule(
    id="deep-cycling",
    title="Bank budgeted too deep",
    family="energy",
    subject="battery",
    covers=("J5",),
    grades=(
        Grade(
            "over-depth",
            Severity.WARNING,
            "more is taken than half of a lead-acid bank, or nine tenths of a lithium one, that says no depth of its own",
        ),
    ),
    references=(Reference("usual depths of discharge", "", "", "from-memory"),),
)
_GRADE = "over-depth"
_DEPTH = table(TABLES, "battery_depth")


def check(study: Study) -> Iterator[Outcome]:
    """Hold what is promised, else a day's loads, against the nominal energy of the bank."""
    from ohmwright_rules.promised_runs import Asked, asked_by_day, asked_by_days, asked_by_run, every_battery

    asked: list[Asked | Missing] = []
    for requirement in study.of(Requirement):
        if requirement.run is not None:
            asked.append(asked_by_run(study, requirement))
        if requirement.days_without_sun is not None:
            asked.append(asked_by_days(study, requirement))
    if not asked and any(item.hours is not None or item.hours_by_month is not None for item in study.of(Load)):
        asked.append(asked_by_day(study, 1.0, "a day of its loads"))
    if not asked:
        yield DoesNotApply("nothing is promised, and no load says its hours a day")
        return
    known = [item for item in asked if isinstance(item, Asked)]
    lacking = [item for item in asked if isinstance(item, Missing)]
    if known:
        yield _judge(study, max(known, key=lambda item: item.energy))
    elif lacking:
        yield lacking[0].outcome(_GRADE, every_battery(study))


def _judge(study: Study, asked: Asked) -> Outcome:
    from ohmwright_rules.energy import usable_energy

    names = tuple(dict.fromkeys(name for string in asked.strings for name in string))
    batteries = [part for name in names if isinstance(part := study.part(name), Battery)]
    if all(battery.usable_depth is not None for battery in batteries):
        return Passed(_GRADE, names)  # what it says itself holds, and run-time holds it against that
    usable = usable_energy(study, asked.strings, None)
    if isinstance(usable, Missing):
        return usable.outcome(_GRADE, names)
    depths: list[tuple[float, str]] = []
    for battery in batteries:
        if battery.usable_depth is None:
            row = {"LFP": "LFP, usual in practice", "other lithium": "LFP, usual in practice"}.get(
                battery.chemistry or "", battery.chemistry or ""
            )
            cell = _DEPTH.cell(row, "usable_percent")
            if cell is None:
                return Missing(f"chemistry of {battery.name}", battery.span, "AGM").outcome(_GRADE, names)
            depths.append((cell.value / 100.0, battery.chemistry or ""))
    line, chemistry = min(depths)
    share = asked.energy / usable.nominal
    measured, limit = Amount(share, "share"), Amount(line, "share")
    if not is_broken(asked.least / usable.nominal if asked.unsaid is not None else share, line, "at-most"):
        return asked.unsaid.outcome(_GRADE, names) if asked.unsaid is not None else Passed(_GRADE, names, measured, limit)
    takes, allowed = shown_pair(measured, limit)
    return Finding(
        _GRADE,
        names,
        f"{listed(names)}: {asked.words} takes {takes} of the bank; {allowed} is what {chemistry} bears again and again, and it says no depth of its own.",
        study.span(names[0]),
        measured,
        limit,
        working=(*asked.steps, Step("E_nom", "nominal voltage x capacity", usable.nominal / 3600.0, "Wh", "as declared")),
        remedy=f"Use a bank {share / line:.3g} times as large, take less, or declare what the data sheet permits: usable 60 %",
        related=tuple(Related(f"{name}: its capacity", study.span(name)) for name in names),
    )
