"""A flexible cord that enters a case with nothing that takes its pull, or through a gland that does not hold its diameter."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.references import Reference
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.cable import Cable
from ohmwright_grammar.kinds.connector import Half
from ohmwright_grammar.kinds.enclosure import Hole

from ohmwright_rules.casing import case_of
from ohmwright_rules.openings import Opening, openings_of

RULE = Rule(
    id="unrelieved-cord",
    title="Flexible cord without strain relief",
    family="connectors",
    subject="cable",
    covers=("G15",),
    grades=(
        Grade("missing", Severity.WARNING, "a flexible cord enters a case without a gland or clamp", absence="itself"),
        Grade("wrong-size", Severity.WARNING, "the gland or clamp of an entry does not hold the diameter of the cord"),
    ),
    references=(Reference("NFPA 70 (NEC)", "not stated", "400.14, pull at joints and terminals", "secondary"),),
)
_KIND = "kind of the cable"
_DIAMETER = "outer diameter of the cord"
_FIXED = "is no flexible cord"
_OUTSIDE = "enters no case: it ends in plugs, or in parts that lie in none"


def check(study: Study) -> Iterator[Outcome]:
    """Look at every cable that enters a case, and at the gland or clamp of each hole that it passes."""
    left: Counter[str] = Counter()
    openings = openings_of(study)
    ends = _ends(study)
    for cable in sorted(study.of(Cable), key=lambda thing: thing.name):
        entries = _entries(cable, openings)
        cases = _entered(study, ends.get(cable.name, []))
        if not entries and not cases:
            left[_OUTSIDE] += 1
        elif cable.cable_kind is None and not cable.household_cord:
            if all(_has_gland(hole) for _, hole in entries) and entries:
                yield from _fit(cable, entries)
            else:
                yield NotChecked("missing", (cable.name,), _KIND, cable.span, declare="flexible cord")
        elif cable.cable_kind not in (None, "flexible cord"):
            left[_FIXED] += 1
        else:
            yield from _judge(cable, entries, cases)
    for condition, count in sorted(left.items()):
        yield DoesNotApply(condition, count)


def _judge(cable: Cable, entries: list[tuple[str, Hole]], cases: list[str]) -> Iterator[Outcome]:
    bare = [(case, hole) for case, hole in entries if not _has_gland(hole)]
    remedy = f"Lead it through a gland or clamp{_for(cable)}, and say so at the hole (gland … to …)."
    for case, hole in bare:
        yield Finding(
            "missing",
            tuple(name for name in (cable.name, case, hole.name) if name),
            f"{cable.name}: it passes {_place(case, hole)} without a gland or clamp; a pull reaches the joint.",
            hole.span,
            remedy=remedy,
            related=(Related(f"{cable.name}, the cord", cable.span),),
        )
    if not entries:
        yield Finding(
            "missing",
            (cable.name, *cases),
            f"{cable.name}: it enters {cases[0]}, and no hole with a gland or clamp is declared for it; a pull reaches the joint.",
            cable.span,
            remedy=remedy,
        )
    elif not bare:
        yield Passed("missing", (cable.name,))
    yield from _fit(cable, [entry for entry in entries if entry not in bare])


def _fit(cable: Cable, entries: list[tuple[str, Hole]]) -> Iterator[Outcome]:
    diameter = cable.outer_diameter
    for case, hole in entries:
        gland = hole.gland
        if gland is None:
            continue  # stated in another document
        subject = tuple(name for name in (cable.name, case, hole.name) if name)
        if diameter is None:
            yield NotChecked("wrong-size", subject, _DIAMETER, cable.span, declare="outer diameter 9 mm")
            continue
        thin, thick = float(diameter.low), float(diameter.high)
        loose = thin < float(gland.low) * (1 - 1e-9)
        tight = thick > float(gland.high) * (1 + 1e-9)
        # what holds it is told against the end that it is nearer to
        upper = tight or (not loose and thick / float(gland.high) >= float(gland.low) / thin)
        measured = Amount(thick if upper else thin, "length", diameter.unit)
        limit = Amount(float(gland.high if upper else gland.low), "length", diameter.unit)
        if not loose and not tight:
            yield Passed("wrong-size", subject, measured, limit, "at-most" if upper else "at-least")
            continue
        has, bears = shown_pair(measured, limit)
        how = "too thick" if tight else "too thin"
        words = "at most" if tight else "at least"
        yield Finding(
            "wrong-size",
            subject,
            f"{cable.name}: with {has} it is {how} for {_place(case, hole)}, whose gland or clamp holds {words} {bears}.",
            hole.span,
            measured,
            limit,
            "at-most" if tight else "at-least",
            remedy=f"Use a gland or clamp for {has}.",
            related=(Related(f"{cable.name}, the cord", cable.span),),
        )


def _place(case: str, hole: Hole) -> str:
    return f"{hole.name} of {case}" if case else hole.name


def _for(cable: Cable) -> str:
    if cable.outer_diameter is None:
        return ""
    return f" for {shown(Amount(float(cable.outer_diameter.nominal), 'length', cable.outer_diameter.unit))}"


def _has_gland(hole: Hole) -> bool:
    return hole.is_documented(Hole.gland) and not hole.says_none(Hole.gland)


def _entries(cable: Cable, openings: Sequence[Opening]) -> list[tuple[str, Hole]]:
    """Return the holes that a cable passes, each with its case: those that are for it, and those that it names."""
    named = set(cable.holes or ())
    return [
        (opening.case, opening.hole)
        for opening in openings
        if opening.hole.part == cable.name or not named.isdisjoint(opening.names)
    ]


def _ends(study: Study) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for run in study.build.runs:
        if run.cable and not run.conductor.inside_device:
            found.setdefault(run.cable, []).extend(study.build.nodes.get(node, "") for node in (run.start, run.end))
    return found


def _entered(study: Study, ends: list[str]) -> list[str]:
    """Return the cases that a cable enters: it ends at a terminal inside, and its other end does not lie there."""
    where = {name: case_of(study, name) for name in ends}
    return sorted(
        {
            case.name
            for name, case in where.items()
            if case is not None and not isinstance(study.part(name), Half) and any(other != case for other in where.values())
        }
    )
