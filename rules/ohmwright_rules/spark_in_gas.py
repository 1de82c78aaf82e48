"""Parts that spark in the space into which a lead-acid battery gives off its gas."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.references import Reference, common_practice
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright_grammar.kinds.battery import LEAD_ACID, Battery
from ohmwright_grammar.kinds.part import Part

from ohmwright_rules.casing import space_of
from ohmwright_rules.sparking import sparking_parts
from ohmwright_rules.wording import listed

RULE = Rule(
    id="spark-in-gas",
    title="Sparking part where charge gas gathers",
    family="enclosure",
    subject="part",
    covers=("L4",),
    grades=(
        Grade("vented", Severity.ERROR, "a part that is not sealed sparks in the space of a vented lead-acid battery"),
        Grade("valve-regulated", Severity.WARNING, "a part that is not sealed sparks in the space of a valve-regulated one"),
    ),
    references=(
        Reference("NFPA 70 (NEC)", "2008", "552.10(D): no spark-producing equipment in the battery compartment", "secondary"),
        common_practice("valve-regulated batteries give off gas when they are overcharged"),
    ),
)


def check(study: Study) -> Iterator[Outcome]:
    """Look at every part that sparks in a case, or in a zone without a case, that holds lead-acid."""
    spaces: dict[str, list[Battery]] = {}
    lead = 0
    for battery in sorted(study.of(Battery), key=lambda part: part.name):
        if battery.chemistry in LEAD_ACID:
            lead += 1
            space = space_of(study, battery.name)
            if space:
                spaces.setdefault(space, []).append(battery)
    if not lead:
        yield DoesNotApply("no lead-acid battery")
        return
    none = True
    silent: dict[str, list[Part]] = {}
    for part in sparking_parts(study):
        space = space_of(study, part.name)
        if space not in spaces:
            continue
        none = False
        grade = min((LEAD_ACID[battery.chemistry or ""] for battery in spaces[space]), key=lambda name: name != "vented")
        batteries = [battery for battery in spaces[space] if LEAD_ACID[battery.chemistry or ""] == grade]
        if part.sealed or part.ignition_protected:
            yield Passed(grade, (part.name, *(battery.name for battery in batteries)))
        elif part.sealed is None and part.ignition_protected is None:
            silent.setdefault(f"{grade} {space}", []).append(part)
        else:
            yield _finding(part, grade, space, batteries)
    for key, parts in sorted(silent.items()):
        grade, _, space = key.partition(" ")
        names = [part.name for part in parts]
        missing = f"whether the sparks of {listed(names)} are sealed in ({space} holds lead-acid)"
        yield NotChecked(grade, tuple(names), missing, parts[0].span, declare="sealed")
    if none:
        yield DoesNotApply("nothing that sparks lies in the space of a lead-acid battery", lead)


def _finding(part: Part, grade: str, space: str, batteries: list[Battery]) -> Finding:
    names = listed([battery.name for battery in batteries])
    return Finding(
        grade,
        (part.name, *(battery.name for battery in batteries)),
        f"{part.name}: this {part.KIND} sparks, is not sealed, and lies in {space} with {names}, whose charge gas a spark lights.",
        part.span,
        remedy=f"Move it out of {space}, or use one that is sealed or ignition-protected.",
        related=tuple(Related(f"{battery.name} gives off gas when charged", battery.span) for battery in batteries[:4]),
        reference=RULE.references[0 if grade == "vented" else 1],
    )
