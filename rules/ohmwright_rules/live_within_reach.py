"""Mains or high direct voltage that a hand can touch once a lid is opened without a tool."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, common_practice
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown
from ohmwright_grammar.kinds.array import Array
from ohmwright_grammar.kinds.connector import Half
from ohmwright_grammar.kinds.enclosure import Cover, Enclosure
from ohmwright_grammar.kinds.load import Load
from ohmwright_grammar.kinds.part import Part
from ohmwright_grammar.kinds.site import Site
from ohmwright_grammar.records import record

from ohmwright_rules.kept import kept
from ohmwright_rules.net_voltages import could_lift, net_voltages
from ohmwright_rules.terminals import stud_at
from ohmwright_rules.wording import listed, named

RULE = Rule(
    id="live-within-reach",
    title="Mains or high voltage within reach of a hand",
    family="enclosure",
    subject="part",
    covers=("L17",),
    grades=(
        Grade("mains", Severity.ERROR, "terminals with mains or an inverter's output are not behind a cover that needs a tool"),
        Grade("high-dc", Severity.ERROR, "terminals above 60 V DC are not behind a cover that needs a tool"),
        Grade(
            "wet-dc", Severity.WARNING, "terminals above 30 V DC in damp surroundings are not behind a cover that needs a tool"
        ),
    ),
    references=(
        Reference("touch voltage, 60 V DC", "as a maker's glossary gives it", "", "secondary"),
        common_practice("mains terminals lie behind a cover that needs a tool"),
        Reference("touch voltage in the wet, 30 V DC", "", "", "from-memory"),
    ),
)
_DRY, _WET = 60.0, 30.0  # V
_NO_TERMINALS = (Array, Load, Enclosure, Cover)  # bought closed, or without terminals of their own


@record
class _Behind:
    """What covers the terminals of a part: those of which nothing is said, those that a hand reaches, the covers that it opens, one that does not say how."""

    bare: tuple[str, ...]
    reached: tuple[str, ...]
    by_hand: tuple[Cover, ...]
    silent: Cover | None


def check(study: Study) -> Iterator[Outcome]:
    """Ask for a cover that needs a tool over everything that can hold a person."""
    site = study.one(Site)
    damp = site.damp if site is not None else None
    mains, direct = _by_part(study)
    yield from _mains(study, mains)
    moderate: list[Part] = []
    harmless = 0
    for part, nodes in direct:
        found = [(net_voltages(study).of(node), node) for node in nodes]
        volts = {node: highest.line.value for highest, node in found if highest.line is not None}
        high = tuple(node for node in nodes if is_broken(volts.get(node, 0.0), _DRY, "at-most"))
        if high:
            yield _judge(study, part, "high-dc", high, max(volts[node] for node in high))
            continue
        gap = next((gap for highest, _ in found if (gap := could_lift(study, highest, _DRY)) is not None), None)
        if gap is not None:
            yield NotChecked("high-dc", (part.name,), gap.missing, gap.span, declare=gap.declare)
            continue
        wet = tuple(node for node in nodes if is_broken(volts.get(node, 0.0), _WET, "at-most"))
        if wet and damp:
            yield _judge(study, part, "wet-dc", wet, max(volts[node] for node in wet))
        elif wet and damp is None:
            outcome = _judge(study, part, "wet-dc", wet, max(volts[node] for node in wet))
            if isinstance(outcome, Passed):
                yield outcome
            else:
                moderate.append(part)
        else:
            harmless += 1
    if moderate:
        where = site.span if site is not None else moderate[0].span
        subject = tuple(part.name for part in moderate)
        yield NotChecked("wet-dc", subject, "whether the surroundings are damp", where, declare="site { not damp }")
    if harmless:
        yield DoesNotApply("carries neither mains nor a voltage that holds a person", harmless)
    elif not mains and not direct:
        yield DoesNotApply("no terminals that carry mains or a voltage")


def _by_part(study: Study) -> tuple[list[tuple[Part, tuple[str, ...]]], list[tuple[Part, tuple[str, ...]]]]:
    """Return the parts with terminals that carry mains, and those with terminals of the DC circuit, each with these, in name order."""
    joined = {node for branch in study.circuit.ac_branches for node in (branch.start, branch.end)}
    found: list[list[tuple[Part, tuple[str, ...]]]] = []
    for nodes in (study.circuit.ac_nodes & joined, study.circuit.nodes):
        of: dict[str, list[str]] = {}
        for node in sorted(nodes):
            name = study.build.nodes.get(node, "")
            part = study.part(name)
            if part is not None and not isinstance(part, _NO_TERMINALS) and (not isinstance(part, Half) or part.on_panel):
                of.setdefault(name, []).append(node)
        found.append([(study.build.parts[name], tuple(its)) for name, its in sorted(of.items())])
    return found[0], found[1]


def _mains(study: Study, parts: list[tuple[Part, tuple[str, ...]]]) -> Iterator[Outcome]:
    for part, nodes in parts:
        yield _judge(study, part, "mains", nodes, None)


def _covers(study: Study) -> dict[str, list[Cover]]:
    """Return the covers of a build by what they cover."""
    found: dict[str, list[Cover]] = {}
    for cover in sorted(study.of(Cover), key=lambda cover: cover.name):
        for name in cover.covers or ():
            found.setdefault(name, []).append(cover)
    return found


def _behind(study: Study, part: Part, nodes: tuple[str, ...]) -> _Behind:
    covers = kept(study, _covers)
    bare: list[str] = []
    reached: list[str] = []
    by_hand: dict[str, Cover] = {}
    silent: Cover | None = None
    for node in nodes:
        over = [*covers.get(node, ()), *covers.get(part.name, ())]
        if any(cover.opens_by == "tool" for cover in over):
            continue
        unsaid = next((cover for cover in over if cover.opens_by is None), None)
        if unsaid is not None:
            silent = silent or unsaid
        elif over:
            by_hand.update((cover.name, cover) for cover in over)
            reached.append(node)
        else:
            terminal = stud_at(study, node)
            (reached if terminal is not None and terminal.boot is False else bare).append(node)
    return _Behind(tuple(bare), tuple(reached), tuple(by_hand.values()), silent)


def _judge(study: Study, part: Part, grade: str, nodes: tuple[str, ...], volts: float | None) -> Outcome:
    subject = (part.name,)
    behind = _behind(study, part, nodes)
    what = "mains or an inverter's output" if volts is None else f"up to {shown(Amount(volts, 'voltage'))} DC"
    limit = None if volts is None else Amount(_DRY if grade == "high-dc" else _WET, "voltage")
    measured = None if volts is None else Amount(volts, "voltage")
    if behind.reached:
        terminals = named([node.removeprefix(f"{part.name}.") for node in behind.reached])
        why = (
            f"{listed([cover.name for cover in behind.by_hand])} over them opens by hand"
            if behind.by_hand
            else "nothing is over them"
        )
        return Finding(
            grade,
            subject,
            f"{part.name}: {terminals} {'carries' if len(behind.reached) == 1 else 'carry'} {what}, and {why}.",
            part.span,
            measured,
            limit,
            remedy="Put a cover over them that needs a tool to take off.",
            related=tuple(Related(f"{cover.name} opens by hand", cover.place_of(Cover.opens_by)) for cover in behind.by_hand),
            reference={"mains": RULE.references[1], "wet-dc": RULE.references[2]}.get(grade),
        )
    if behind.silent is not None:
        missing = Missing(f"how {behind.silent.name} opens", behind.silent.span, "opens with a tool")
        return missing.outcome(grade, subject)
    if behind.bare:
        own = "".join(letter if letter.isalnum() else "_" for letter in part.name)
        declare = f"cover over_{own} {{ over {', '.join(behind.bare)}; opens with a tool }}"
        return NotChecked(grade, subject, f"a cover over {named(behind.bare)}", part.span, declare=declare)
    return Passed(grade, subject)
