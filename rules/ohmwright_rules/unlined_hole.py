"""A conductor that passes a hole without a grommet or bushing."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.references import Reference
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright_grammar.kinds.enclosure import Hole
from ohmwright_grammar.records import record

from ohmwright_rules.openings import openings_of
from ohmwright_rules.wording import listed

RULE = Rule(
    id="unlined-hole",
    title="Wire through a bare hole",
    family="enclosure",
    subject="hole",
    covers=("D14",),
    grades=(
        Grade("unfused", Severity.ERROR, "a conductor that no fuse protects passes a hole without a grommet"),
        Grade("bare", Severity.WARNING, "a conductor passes a hole without a grommet"),
    ),
    references=(
        Reference("33 CFR 183.445", "as on a law mirror, undated", "(a)", "read"),
        Reference("fire claims of a boat insurer", "2003, as the press told it", "chafed wires", "secondary"),
    ),
)


@record
class _Passage:
    """A hole with the name of what it is in, and the conductors that pass it."""

    name: str
    hole: Hole
    wires: tuple[Branch, ...]
    names: frozenset[str]


def check(study: Study) -> Iterator[Outcome]:
    """Ask every hole that conductors pass for a grommet, and every conductor for the hole that it names."""
    from ohmwright_rules.before_fuses import feeds_unfused

    named: dict[str, list[Branch]] = {}
    wires = (*study.circuit.wires(), *(branch for branch in study.circuit.ac_branches if branch.conductor is not None))
    for wire in sorted(wires, key=lambda wire: wire.name):
        assert wire.conductor is not None
        for hole in wire.conductor.holes or ():
            named.setdefault(hole, []).append(wire)
    unused = 0
    known: set[str] = set()
    for passage in _passages(study, wires, named):
        known.update(passage.names)
        if passage.wires:
            yield from _judge(study, passage)
        else:
            unused += 1
    for hole, through in sorted(named.items()):
        if hole not in known:
            grade = "unfused" if any(feeds_unfused(study, wire) for wire in through) else "bare"
            names = tuple(wire.name for wire in through)
            declare = f"hole {hole} {{ grommet }}"
            yield NotChecked(grade, (hole, *names), f"what lines the hole {hole}", through[0].span, declare=declare)
    if unused:
        yield DoesNotApply("a hole that no conductor passes", unused)


def _passages(study: Study, wires: tuple[Branch, ...], named: dict[str, list[Branch]]) -> Iterator[_Passage]:
    by_part: dict[str, list[Branch]] = {}
    for wire in wires:
        for name in {wire.name, wire.part}:
            by_part.setdefault(name, []).append(wire)
    for opening in openings_of(study):
        through = [wire for name in sorted(opening.names) for wire in named.get(name, ())]
        through.extend(by_part.get(opening.hole.part or "", ()))
        unique = {wire.name: wire for wire in through}
        yield _Passage(opening.name, opening.hole, tuple(unique[name] for name in sorted(unique)), opening.names)


def _judge(study: Study, passage: _Passage) -> Iterator[Outcome]:
    from ohmwright_rules.before_fuses import feeds_unfused

    hole, wires = passage.hole, passage.wires
    before = [wire for wire in wires if feeds_unfused(study, wire)]
    grade = "unfused" if before else "bare"
    subject = (passage.name, *(wire.name for wire in wires))
    if hole.grommet or hole.gland is not None:
        yield Passed(grade, subject)
    elif hole.grommet is None:
        yield NotChecked(grade, subject, f"what lines the hole {passage.name}", hole.span, declare="grommet")
    else:
        names = listed([wire.name for wire in (before or wires)])
        why = (
            "no fuse stands before it: once the edge is through, the battery burns it from end to end"
            if before
            else "its edge cuts into the insulation with every shake"
        )
        yield Finding(
            grade,
            subject,
            f"{passage.name}: {names} {'passes' if len(before or wires) == 1 else 'pass'} this hole without a grommet; {why}.",
            hole.span,
            remedy="Line the hole with a grommet or bushing, or bring the conductor in through a gland.",
            related=tuple(Related(f"{wire.name} passes here", wire.span) for wire in wires[:8]),
        )
