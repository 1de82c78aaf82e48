"""A floating system of which only one pole is fused: two faults to the case bypass the fuse."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.graph import Source
from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright_grammar.kinds.enclosure import Enclosure

from ohmwright_rules.bonding import bonded_nodes, joined_to
from ohmwright_rules.wording import listed, named

RULE = Rule(
    id="one-pole-fuse",
    title="Floating system fused in one pole only",
    family="protection",
    subject="battery",
    covers=("F12",),
    grades=(
        Grade("metal-case", Severity.WARNING, "no pole is bonded, the return has no device of its own, and a case is of metal"),
        Grade("plastic-case", Severity.NOTE, "no pole is bonded, the return has no device of its own, and no case is of metal"),
    ),
    references=(Reference("33 CFR 183.455", "as on a law mirror, undated", "(a): each ungrounded conductor", "read"),),
)


def check(study: Study) -> Iterator[Outcome]:
    """Look for a device on the way from each pole of every bank that floats."""
    bonded = bonded_nodes(study)
    cases = sorted(study.of(Enclosure), key=lambda case: case.name)
    if not cases:
        yield DoesNotApply("no case is declared")
        return
    grounded = 0
    told: set[str] = set()
    for source in sorted(
        (source for source in study.circuit.sources if source.kind == "battery"), key=lambda source: source.name
    ):
        if source.name in told:
            continue
        bank = _bank(study, source)
        told.update(bank)
        poles = {node for item in study.circuit.sources if item.name in bank for node in (item.plus, item.minus)}
        if not bonded.isdisjoint(poles):
            grounded += 1
        else:
            yield from _judge(study, bank, cases)
    if grounded:
        yield DoesNotApply("a pole is bonded to a case or to earth", grounded)


def _bank(study: Study, first: Source) -> tuple[str, ...]:
    """Return the batteries that wires join with one, itself first."""
    batteries = [source for source in study.circuit.sources if source.kind == "battery"]
    found = {first.name: first}
    queue = [first]
    seen: set[str] = set()
    for here in queue:
        starts = {here.plus, here.minus} - seen
        if not starts:
            continue
        near = joined_to(study, starts)
        seen |= near
        for other in batteries:
            if other.name not in found and (other.plus in near or other.minus in near):
                found[other.name] = other
                queue.append(other)
    return (first.name, *sorted(name for name in found if name != first.name))


def _judge(study: Study, bank: tuple[str, ...], cases: list[Enclosure]) -> Iterator[Outcome]:
    metal = [case for case in cases if case.of_metal]
    grade = "metal-case" if metal else "plastic-case"
    open_poles = _without_device(study, bank)
    if len(open_poles) != 1:
        yield Passed(grade, bank)  # both poles have devices; or neither has, which far-fuse tells of
        return
    silent = next((case for case in cases if case.of_metal is None), None)
    if not metal and silent is not None:
        yield Missing(f"material of {silent.name}", silent.span, "polycarbonate").outcome("metal-case", bank)
        return
    unsaid = next((case for case in metal if not case.floats and not case.says_none(Enclosure.bonded_at)), None)
    if unsaid is not None:
        yield Missing(f"whether a pole is bonded to {unsaid.name}, or it floats", unsaid.span, "floats").outcome(grade, bank)
        return
    pole, other = open_poles[0], "plus" if open_poles[0] == "minus" else "minus"
    of = listed(bank)
    battery = study.span(bank[0])
    if metal:
        what = f"two faults to {named(case.name for case in metal[:3])}, one on each side of a fuse, bypass it"
    else:
        what = "two faults to something outside the box, one on each side of a fuse, would bypass it"
    yield Finding(
        grade,
        bank,
        f"{bank[0]}: no pole of {of} is bonded, so that both are live to a fault; only the {other} side has fuses, the {pole} side has none: {what}.",
        battery,
        remedy=f"Use breakers of two poles or a second fuse in the {pole} side, or bond one pole in one place.",
        related=tuple(Related(f"the case {case.name}", case.span) for case in (metal or cases)[:4]),
    )


def _without_device(study: Study, bank: tuple[str, ...]) -> list[str]:
    """Return the poles ("plus", "minus") from which a consumer or connector is reached without passing a device."""
    circuit = study.circuit
    sources = [source for source in circuit.sources if source.name in bank]
    found = []
    for pole in ("minus", "plus"):
        near = joined_to(study, [source.minus if pole == "minus" else source.plus for source in sources], past_devices=False)
        ends = {
            consumer.minus if pole == "minus" else consumer.plus for consumer in circuit.consumers if consumer.kind != "drain"
        }
        if not near.isdisjoint(ends):
            found.append(pole)
    return found
