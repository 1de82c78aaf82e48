"""A switch, relay, selector or disconnect that carries more than it may for long."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step
from ohmwright.rules import Case, Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, amount, shown, shown_pair
from ohmwright_grammar.kinds.switch import Switching

from ohmwright_rules.conductors import AMBIENT, air_steps, said_of_missing, temperature_of_zone, unsaid_air
from ohmwright_rules.duty import Loading, loadings
from ohmwright_rules.temperature_curve import share_at, share_step
from ohmwright_rules.verdicts import verdict, worst_of_each_state

RULE = Rule(
    id="overloaded-switch",
    title="Switch carries more than its rating",
    family="switching",
    subject="switch",
    covers=("H11",),
    grades=(Grade("over-rating", Severity.ERROR, "a steady current is larger than the part carries for long"),),
    references=(Reference("rating of the part", "", "as declared", "read"),),
)
_GRADE = "over-rating"
_KINDS = ("switch", "relay", "selector", "disconnect")


def check(study: Study) -> Iterator[Outcome]:
    """Hold the worst steady current of every switch, relay, selector and disconnect against what it carries for long."""
    ways: dict[str, list[Branch]] = {}
    for branch in study.circuit.branches:
        if branch.kind in _KINDS:
            ways.setdefault(branch.part, []).append(branch)
    idle = 0
    for name in sorted(ways):
        part = study.part(name)
        assert isinstance(part, Switching)
        outcome = _judge(study, part, ways[name])
        idle += outcome is None
        if outcome is not None:
            yield outcome
    if idle:
        yield DoesNotApply("carries no steady current in any state", idle)


def _judge(study: Study, part: Switching, ways: list[Branch]) -> Outcome | None:
    carrying = [
        (loading, way, total) for way in ways for loading in loadings(study) if (total := loading.total(way.name)) > 0.0
    ]
    if not carrying:
        return None
    rating = part.rated_current
    if rating is None:
        return NotChecked(_GRADE, (part.name,), "current that it carries for long", part.span, declare="carries 40 A")
    rated = amount(rating, "current", "low")
    curve = part.current_by_temperature or ()
    zone = study.zone_of(part.name)
    cases: list[Case] = []
    unknown = ""
    unsaid: tuple[Missing, str] | None = None
    for loading, way, total in carrying:
        air, known = temperature_of_zone(study, zone, loading.state)
        if curve and not known:
            unknown = unknown or loading.name
        share = share_at(curve, air)
        limit = Amount(rated.value * share, "current", rated.unit)
        cases.append(Case(loading.name, Amount(total, "current"), limit, (loading, way, share, air)))
        hot = unsaid_air(study, zone, loading.state)
        if hot is not None and is_broken(total, rated.value * share_at(curve, hot[0]), "at-most"):
            unsaid = unsaid or (hot[1], loading.name)
    found = verdict(study, worst_of_each_state(cases, "at-most"), "at-most", "burn")
    worst = found.worst
    if not found.broken:
        if unknown:
            return NotChecked(_GRADE, (part.name,), AMBIENT, part.span, unknown, said_of_missing(AMBIENT))
        if unsaid is not None:
            return unsaid[0].outcome(_GRADE, (part.name,), unsaid[1])
        return Passed(_GRADE, (part.name,), worst.measured, worst.limit, state=worst.state)
    note = worst.note
    assert isinstance(note, tuple)
    loading, way, share, air = note
    assert isinstance(loading, Loading)
    measured, allowed = shown_pair(worst.measured, worst.limit)
    warm = f", {shown(rated)} times {share:.3g} in air of {shown(Amount(air, 'temperature'))}" if share < 1.0 else ""
    needed = shown(Amount(worst.measured.value / share, "current", rated.unit)) if share > 0 else ""
    larger = f"Use one that carries {needed} or more, or bring" if needed else "Move it to cooler air, or bring"
    what = f"this {part.KIND}" if way.name == part.name else f"one way of this {part.KIND}"
    return Finding(
        _GRADE,
        (part.name,),
        f"{part.name}: {measured} flows through {what} {loading.when(way.name)}; it carries {allowed}{warm}.",
        part.span,
        worst.measured,
        worst.limit,
        state=worst.state,
        states=found.broken,
        working=(
            *(air_steps(study, zone, loading.state) if curve else ()),
            Step("I_rated", "carries for long", rated.value, "A", "as declared"),
            share_step(share, air, bool(curve)),
            loading.current_step(way.name),
            *loading.steps(),
        ),
        remedy=f"{larger} the current to {allowed} or less.",
        at_most=found.at_most,
    )
