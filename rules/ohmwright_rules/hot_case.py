"""A case in which it gets hotter, by what is lost in it, than the parts inside bear."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Step
from ohmwright.rules import Grade, Rule
from ohmwright.study import SolvedState, Study
from ohmwright.thermal.air import Air, lasts_long
from ohmwright.thermal.contents import Contents
from ohmwright.thermal.walls import WALLS_FROM, free_area, unsure_of, wall_heat
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.enclosure import Enclosure

from ohmwright_rules.part_limits import LIMITS_FROM, Warmed, nearest_to_limit, what_it_bears
from ohmwright_rules.verdicts import verdict, worst_of_each_state
from ohmwright_rules.wording import listed

RULE = Rule(
    id="hot-case",
    title="Case hotter than its parts bear",
    family="enclosure",
    subject="case",
    covers=("L5",),
    grades=(
        Grade("over-limit", Severity.ERROR, "it gets hotter inside than the highest temperature of a part"),
        Grade("over-derating", Severity.WARNING, "it gets hotter inside than where a part derates or ages faster"),
    ),
    references=(
        WALLS_FROM,
        *LIMITS_FROM,
    ),
)


def check(study: Study) -> Iterator[Outcome]:
    """Work out how warm it gets in every case in every state, and hold that against what the parts inside bear."""
    contents = study.contents
    if not contents:
        yield DoesNotApply("no case")
    for found in contents:
        if not found.parts:
            yield DoesNotApply("a case with nothing in it")
        elif found.case.closed is False:
            yield DoesNotApply("a case that is not closed")
        else:
            yield from _judge(study, found)


def _judge(study: Study, contents: Contents) -> Iterator[Outcome]:
    case = contents.case
    limits = [limit for part in contents.parts for limit in what_it_bears(part)]
    seen: list[Warmed] = []
    lacking: dict[str, tuple[Missing, str]] = {}
    endless: list[tuple[SolvedState, Air]] = []
    for state in study.telling_states:
        if not state.solved or not lasts_long(state.setup):
            continue
        study.options.budget.check()
        by_zone: dict[str, Air | Missing] = {}
        for limit in limits:
            zone = study.zone_of(limit.part.name)
            if zone not in by_zone:
                by_zone[zone] = study.air(zone, state)
            air = by_zone[zone]
            if isinstance(air, Missing):
                lacking.setdefault(air.what, (air, state.name))
            elif limit.counts_in(state):
                seen.append(Warmed(limit, state, air))
        own = study.airs.inside(case.name, state)
        if isinstance(own, Air) and not own.balance:
            endless.append((state, own))
    if endless:
        unsure = unsure_of(case)
        yield unsure.outcome("over-limit", (case.name,), endless[0][0].name) if unsure else _endless(case, endless)
        seen = [item for item in seen if item.air.balance]
    if not seen and not lacking and not endless:
        yield DoesNotApply("no part in the case that says what it bears, in any state that lasts")
        return
    for grade in RULE.grades:
        yield from _grade(study, case, grade.name, [item for item in seen if item.limit.grade == grade.name], lacking)


def _grade(
    study: Study, case: Enclosure, grade: str, seen: list[Warmed], lacking: dict[str, tuple[Missing, str]]
) -> Iterator[Outcome]:
    subject = (case.name,)
    broken = [item for item in seen if not item.limit.silent and item.is_over()]
    silent = {item.limit.part.name: item for item in seen if item.limit.silent and item.is_over(most=True)}
    for name in sorted(silent):
        part, state = silent[name].limit.part, silent[name].state.name
        yield NotChecked(grade, (case.name, name), f"highest temperature of {name}", part.span, state, "works up to 60 degC")
    if broken:
        open_to = _unsure(case, broken)
        if open_to is not None:
            yield open_to.outcome(grade, subject, broken[0].state.name)
        else:
            yield _finding(study, case, grade, broken)
        return
    if lacking:
        missing, told = next(iter(lacking.values()))
        yield missing.outcome(grade, subject, told)
        return
    for item in seen:
        if item.is_over(most=True) and not item.limit.silent and item.air.lacking is not None:
            yield item.air.lacking.outcome(grade, subject, item.state.name)
            return
    held = [item for item in seen if item.limit.part.name not in silent]
    if held:
        passed = nearest_to_limit(held)
        yield Passed(grade, subject, passed.measured, passed.limit, state=passed.state)


def _unsure(case: Enclosure, broken: list[Warmed]) -> Missing | None:
    """Return what would have to be said before a case counts as too hot; None where a state or zone tells the temperature."""
    return None if all(item.air.told for item in broken) else unsure_of(case)


def _endless(case: Enclosure, endless: list[tuple[SolvedState, Air]]) -> Finding:
    """Tell of losses for which no temperature is hot enough."""
    state, air = max(endless, key=lambda item: item[1].power)
    area, heat = free_area(case), wall_heat(case)[0]
    if not area or heat <= 0.0:
        why, remedy = (
            "no heat can leave through its walls",
            "Let heat out: free one of its faces, let air through, or put what loses heat where it is cooler.",
        )
    else:
        why = "what is lost in its wires grows faster with the warmth than what its walls let out"
        remedy = "Use thicker wires in it, bring the current down, or use a larger case."
    power = shown(Amount(air.power, "power"))
    return Finding(
        "over-limit",
        (case.name,),
        f"{case.name}: it gets hotter in it without end in state {state.name!r}: {power} are lost inside, and {why}.",
        case.span,
        state=state.name,
        working=air.steps,
        remedy=remedy,
        reference=WALLS_FROM,
    )


def _finding(study: Study, case: Enclosure, grade: str, broken: list[Warmed]) -> Finding:
    broken = sorted(broken, key=lambda item: -item.state.temperatures.outside)  # of states alike the hottest is told
    cases = worst_of_each_state([item.case() for item in broken], "at-most")
    found = verdict(study, cases, "at-most", "burn" if grade == "over-limit" else "life")
    worst = found.worst
    item = worst.note
    assert isinstance(item, Warmed)
    part, air = item.limit.part, item.air
    names = [part.name, *sorted({other.limit.part.name for other in broken} - {part.name})]
    measured, allowed = shown_pair(worst.measured, worst.limit)
    others = f" It is too hot for {listed(names[1:])} too." if names[1:] else ""
    hot = f"the cells of {part.name} get" if item.limit.above else "it gets"
    if grade == "over-limit":
        text = f"{case.name}: {hot} {measured} hot in it in state {worst.state!r}; {part.name} bears {allowed} ({item.limit.words})."
    else:
        text = f"{case.name}: {hot} {measured} hot in it in state {worst.state!r}; from {allowed} on {part.name} derates or ages faster."
    why = (
        ""
        if air.told
        else f" {shown(Amount(air.power, 'power'))} are lost inside, {shown(Amount(air.rise, 'difference'))} above the air outside."
    )
    steps = air.steps
    if air.told:
        steps = (Step("T", f"as {_told_by(item)} says, the rise inside included", air.low, "degC", "as declared"),)
    if item.limit.above:
        steps = (
            *steps,
            Step("T_cells", f"{air.low:.4g} degC + {item.limit.above:.4g} K", worst.measured.value, "degC", "as declared"),
        )
    return Finding(
        grade,
        (case.name, *names),
        f"{text}{why}{others}",
        case.span,
        worst.measured,
        worst.limit,
        state=worst.state,
        states=found.broken,
        working=steps,
        remedy=_remedy(case, item),
        related=tuple(Related(f"{name} lies in it", study.span(name)) for name in names[:8]),
        reference=item.limit.reference if air.told or item.limit.reference.status != "common-practice" else RULE.references[0],
        at_most=found.at_most,
    )


def _told_by(item: Warmed) -> str:
    return f"state {item.state.name!r}" if item.state.setup.inside is not None else "its zone"


def _remedy(case: Enclosure, item: Warmed) -> str:
    limit, air = item.limit, item.air
    bears = limit.value - limit.above
    area, heat = free_area(case), wall_heat(case)[0]
    if air.told or bears <= air.ambient or not area or heat <= 0.0:
        return f"Use a part that bears {shown(Amount(air.low + limit.above, 'temperature'))}, or put {limit.part.name} where it is cooler."
    allowed = (bears - air.ambient) * heat * area
    needed = air.power / ((bears - air.ambient) * heat)
    most = shown(Amount(allowed, "power"))
    return (
        f"Bring the heat inside to {most} or less, use a case with {needed:.3g} m2 of free walls or more ({area:.3g} m2 now), "
        f"or let air through and declare what its walls then pass."
    )
