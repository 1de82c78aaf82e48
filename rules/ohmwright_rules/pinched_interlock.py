"""An interlock loop that looks like plugged in when one of its wires is pinched to the case, or its two wires to each other."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from ohmwright.circuit.graph import Branch
from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, common_practice
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright_grammar.kinds.enclosure import Enclosure
from ohmwright_grammar.records import record

from ohmwright_rules.loops import Loop, loops
from ohmwright_rules.strings import joined, ways
from ohmwright_rules.wording import named

RULE = Rule(
    id="pinched-interlock",
    title="Interlock that fails live",
    family="connectors",
    subject="interlock loop",
    covers=("H10",),
    grades=(
        Grade(
            "fails-live",
            Severity.WARNING,
            "with the plug out, one of its wires pinched to the case switches on what it must stop",
        ),
        Grade(
            "pinched-together", Severity.NOTE, "both of its wires lie in one cable: pinched together they look like plugged in"
        ),
    ),
    references=(
        Reference("student electric vehicle rules", "", "the interlock opens the supply side of the coil", "secondary"),
        common_practice("a pinched wire is the usual fault at a plug"),
    ),
)
_NO_COIL = "it feeds neither a coil nor an enable input"


@record
class _Case:
    """What a pinched wire may touch: how it is called, and the nodes that it is bonded to."""

    words: str
    nodes: tuple[str, ...]


def check(study: Study) -> Iterator[Outcome]:
    """Take the plug of every interlock loop out, short each of its conductors to the case, and look whether what it stops comes on."""
    found = loops(study)
    if not found:
        yield DoesNotApply("there is no interlock loop, and no jumper between two spare pins")
    idle = 0
    for loop in found:
        if not loop.depends.coils and not loop.depends.enables:
            idle += 1
            continue
        yield _case(study, loop)
        yield _together(study, loop)
    if idle:
        yield DoesNotApply(_NO_COIL, idle)


# to the case -------------------------------------------------------------------------------------------------------


def _case(study: Study, loop: Loop) -> Outcome:
    cases = list(study.of(Enclosure))
    metal = [case for case in cases if case.of_metal is not False]
    bonded = [_bonded(study, case) for case in metal]
    for touched in bonded:
        wires = _that_switch_on(study, loop, touched.nodes) if touched is not None else []
        if touched is not None and wires:
            return _finding(study, loop, touched, wires)
    unknown = [case for case, bond in zip(metal, bonded, strict=True) if bond is None and not _floats(study, case)]
    if unknown or not cases:
        silent = _poles(study)
        if any(_that_switch_on(study, loop, (node,)) for node in silent) and not study.build.rig.floats:
            if unknown:
                case = unknown[0]
                what, declare = f"whether {case.name} is bonded to a pole or floats", "floats"
                if case.of_metal is None:
                    what, declare = f"material of {case.name}, and whether it is bonded to a pole or floats", "polycarbonate"
                return Missing(what, case.span, declare).outcome("fails-live", loop.subject)
            missing = Missing(
                "the case: of what it is, and whether it is bonded or floats",
                study.build.rig.span,
                "case box { polycarbonate }",
            )
            return missing.outcome("fails-live", loop.subject)
    return Passed("fails-live", loop.subject)


def _floats(study: Study, case: Enclosure) -> bool:
    return bool(case.floats or study.build.rig.floats or case.says_none(Enclosure.bonded_at))


def _bonded(study: Study, case: Enclosure) -> _Case | None:
    """Return a case that is joined to a pole, by a wire or as it says; None for one that is not."""
    group = joined(study, frozenset())
    nodes = [node for node in case.bonded_at or () if node in group]
    if case.name in group:
        poles = {group[source.plus] for source in study.circuit.sources} | {
            group[source.minus] for source in study.circuit.sources
        }
        if group[case.name] in poles:
            nodes.append(case.name)
    return _Case(case.name, tuple(nodes)) if nodes else None


def _poles(study: Study) -> list[str]:
    return sorted(
        {pole for source in study.circuit.sources if source.kind == "battery" for pole in (source.plus, source.minus)}
    )


def _that_switch_on(study: Study, loop: Loop, touched: tuple[str, ...]) -> list[Branch]:
    """Return the conductors of a loop that, joined with some nodes while its plugs are out, switch on what it stops."""
    group = joined(study, frozenset(loop.matings))
    closed = joined(study, frozenset())
    return [wire for wire in loop.conductors if _comes_on(study, loop, _merged(group, (wire.start, *touched)), group, closed)]


def _merged(group: Mapping[str, int], nodes: tuple[str, ...]) -> dict[str, int]:
    """Return the groups with those of some nodes made one."""
    numbers = {group[node] for node in nodes if node in group}
    one = min(numbers, default=0)
    return {node: one if number in numbers else number for node, number in group.items()}


def _comes_on(study: Study, loop: Loop, group: Mapping[str, int], apart: Mapping[str, int], closed: Mapping[str, int]) -> bool:
    for coil, _ in loop.depends.coils:
        if ways(study, "battery", group, coil.minus, coil.plus) and not ways(study, "battery", apart, coil.minus, coil.plus):
            return True
    for inverter, is_return in loop.depends.enables:
        node = f"{inverter.name}.{'enable_return' if is_return else 'enable'}"
        pole = _pole(study, closed, node)
        if pole and _pole(study, group, node) == pole and _pole(study, apart, node) != pole:
            return True
    return False


def _pole(study: Study, group: Mapping[str, int], node: str) -> str:
    """Tell whether a node is joined to the plus or to the minus of batteries, "" for neither or both."""
    here = group.get(node, -1)
    batteries = [source for source in study.circuit.sources if source.kind == "battery"]
    plus = any(group[source.plus] == here for source in batteries)
    minus = any(group[source.minus] == here for source in batteries)
    return "" if plus == minus else "plus" if plus else "minus"


def _finding(study: Study, loop: Loop, case: _Case, wires: list[Branch]) -> Finding:
    stopped = [coil.part.name for coil, _ in loop.depends.coils] + [inverter.name for inverter, _ in loop.depends.enables]
    return Finding(
        "fails-live",
        loop.subject,
        f"{loop.words}: with its plug out, {named(wire.name for wire in wires)} pinched to {case.words} switches {named(stopped)} on; it looks like a plug"
        " that is in.",
        loop.span,
        remedy=f"Put the loop into the other lead of {named(stopped)}, so that a wire pinched to {case.words} switches it off.",
        related=(
            Related(f"{case.words}: what it is bonded to decides", study.span(case.words)),
            *(Related(f"{wire.name}: a wire of the loop", wire.span) for wire in wires[:4]),
        ),
    )


# to each other -----------------------------------------------------------------------------------------------------


def _together(study: Study, loop: Loop) -> Outcome:
    group = joined(study, frozenset(loop.matings))
    by_cable: dict[str, list[Branch]] = {}
    for wire in loop.conductors:
        if wire.part and wire.part != wire.name:
            by_cable.setdefault(wire.part, []).append(wire)
    for name in sorted(by_cable):
        wires = by_cable[name]
        sides = {group[wire.start] for wire in wires}
        if len(sides) < 2:
            continue
        return Finding(
            "pinched-together",
            loop.subject,
            f"{loop.words}: {named(wire.name for wire in wires)} lie in one cable, {name}. Pinched together they look like a plug that is in, with the plug out.",
            loop.span,
            remedy="Lead them in two cables, or take them for what they are: the loop tells that nobody pulled the plug, not that the cord is whole.",
            related=(Related(name, study.span(wires[0].name)),),
            reference=RULE.references[1],
        )
    return Passed("pinched-together", loop.subject)
