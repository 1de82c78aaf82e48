"""A case that stays cool enough only while its fan runs: fans stop unnoticed."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import common_practice
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright.thermal.air import Air, lasts_long
from ohmwright.thermal.contents import Contents
from ohmwright.thermal.losses import losses_in
from ohmwright.thermal.walls import free_area
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.enclosure import Enclosure

from ohmwright_rules.part_limits import LIMITS_FROM, Warmed, nearest_to_limit, what_it_bears
from ohmwright_rules.verdicts import verdict, worst_of_each_state
from ohmwright_rules.wording import listed

RULE = Rule(
    id="fan-cooled",
    title="Case too hot once its fan stops",
    family="enclosure",
    subject="case",
    covers=("L15",),
    grades=(
        Grade(
            "too-hot",
            Severity.WARNING,
            "with the fan stopped it gets hotter inside than a part bears that does not derate itself",
        ),
    ),
    references=(common_practice("a fan can stop without anybody noticing"), *LIMITS_FROM),
)
_GRADE = "too-hot"


def check(study: Study) -> Iterator[Outcome]:
    """Sum the losses of every case that has a fan, and hold the air that they make with the fan stopped against what its parts bear."""
    for found in study.contents:
        case = found.case
        if not case.fan:
            yield DoesNotApply("a case without a fan")
        elif case.closed is False:
            yield DoesNotApply("a case that is not closed")
        else:
            yield _judge(study, found)


def _stopped(case: Enclosure) -> tuple[float, str] | None:
    """Return what the walls pass with the fan stopped [W/m2K]: as said of that, else what they pass beside a figure of their own for the fan."""
    if case.heat_fan_stopped is not None:
        return float(case.heat_fan_stopped.low), "as declared, with the fan stopped"
    if case.heat_through_walls is not None and case.heat_with_fan is not None:
        return float(case.heat_through_walls.low), "as declared, without the fan"
    return None


def _judge(study: Study, contents: Contents) -> Outcome:
    case = contents.case
    limits = [
        limit
        for part in contents.parts
        if not part.derates_itself
        for limit in what_it_bears(part)
        if limit.grade == "over-limit"
    ]
    if not limits:
        return DoesNotApply("no part in the case that is hurt by heat")
    walls = _stopped(case)
    if walls is None:
        return NotChecked(
            _GRADE, (case.name,), "heat through its walls with the fan stopped", case.span, declare="fan stopped 4 W/m2K"
        )
    seen: list[Warmed] = []
    for state in study.telling_states:
        if not state.solved or not lasts_long(state.setup):
            continue
        study.options.budget.check()
        air = study.airs.air_with(contents, state, state, losses_in(study, contents, state), walls)
        if isinstance(air, Missing):
            return air.outcome(_GRADE, (case.name,), state.name)
        seen.extend(Warmed(limit, state, air) for limit in limits if limit.counts_in(state))
    broken = [item for item in seen if not item.limit.silent and item.is_over()]
    if broken:
        return _finding(study, contents, broken)
    unsure = next((item for item in seen if item.is_over(most=True)), None)
    if unsure is not None:
        part, lacking = unsure.limit.part, unsure.air.lacking
        if unsure.limit.silent or lacking is None:
            what = f"highest temperature of {part.name}"
            return NotChecked(_GRADE, (case.name, part.name), what, part.span, unsure.state.name, "works up to 60 degC")
        return lacking.outcome(_GRADE, (case.name,), unsure.state.name)
    if not seen:
        return DoesNotApply("no state that lasts")
    nearest = nearest_to_limit(seen)
    return Passed(_GRADE, (case.name,), nearest.measured, nearest.limit, state=nearest.state)


def _finding(study: Study, contents: Contents, broken: list[Warmed]) -> Finding:
    case = contents.case
    found = verdict(study, worst_of_each_state([item.case() for item in broken], "at-most"), "at-most", "burn")
    item = found.worst.note
    assert isinstance(item, Warmed)
    part, air = item.limit.part, item.air
    names = [part.name, *sorted({other.limit.part.name for other in broken} - {part.name})]
    measured, allowed = shown_pair(found.worst.measured, found.worst.limit)
    running = study.airs.air_with(contents, item.state, item.state, air.losses)
    with_fan = (
        f", {shown(Amount(running.rise, 'difference'))} with the fan"
        if isinstance(running, Air) and case.heat_with_fan is not None
        else ""
    )
    others = f" It is too hot for {listed(names[1:])} too." if names[1:] else ""
    hot = f"the cells of {part.name} get" if item.limit.above else "it gets"
    return Finding(
        _GRADE,
        (case.name, *names),
        f"{case.name}: with its fan stopped {hot} {measured} hot in it in state {found.worst.state!r}; {part.name} bears {allowed} ({item.limit.words}). "
        f"{shown(Amount(air.power, 'power'))} are lost inside, {shown(Amount(air.rise, 'difference'))} above the air outside{with_fan}.{others}",
        case.span,
        found.worst.measured,
        found.worst.limit,
        state=found.worst.state,
        states=found.broken,
        working=air.steps,
        remedy=_remedy(case, item),
        related=tuple(Related(f"{name} lies in it", study.span(name)) for name in names[:8]),
        reference=RULE.references[0],
        at_most=found.at_most,
    )


def _remedy(case: Enclosure, item: Warmed) -> str:
    bears, area, walls = item.limit.value - item.limit.above, free_area(case), _stopped(case)
    itself = f"Use a {item.limit.part.KIND} that derates itself when hot"
    if walls is None or not area or walls[0] <= 0.0 or bears <= item.air.ambient:
        return f"{itself}, or let the heat out without the fan."
    most = shown(Amount((bears - item.air.ambient) * walls[0] * area, "power"))
    needed = item.air.power / ((bears - item.air.ambient) * walls[0])
    return f"{itself}, bring the heat inside to {most} or less, or use a case with {needed:.3g} m2 of free walls or more ({area:.3g} m2 now)."
