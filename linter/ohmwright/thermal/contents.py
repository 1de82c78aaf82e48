"""What lies in each case: its zones, parts and conductors.

A part or conductor lies in a case where its zone does, or where it names the case itself. A zone that names no case lies in the only one there is, unless
another zone names that one: then whoever wrote it tells which zones are in it. What is in no zone is outside.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ohmwright_grammar.kinds.enclosure import Enclosure
from ohmwright_grammar.kinds.part import Part
from ohmwright_grammar.kinds.site import Zone
from ohmwright_grammar.records import record

from ohmwright.circuit.graph import Branch

if TYPE_CHECKING:
    from ohmwright.study import Study

__all__ = ["Contents", "contents_of"]


@record
class Contents:
    """One case with what lies in it, in name order; `zones` holds the name of the case itself too."""

    case: Enclosure
    zones: frozenset[str]
    parts: tuple[Part, ...]
    branches: tuple[Branch, ...]


def contents_of(study: Study) -> tuple[Contents, ...]:
    """Return what lies in every case of a build, in name order; `study.contents` keeps it."""
    cases = sorted(study.of(Enclosure), key=lambda case: case.name)
    zones = sorted(study.of(Zone), key=lambda zone: zone.name)
    names = {case.name for case in cases}
    said = {zone.name: zone.enclosure for zone in zones if zone.enclosure is not None}
    only = cases[0].name if len(cases) == 1 and cases[0].name not in said.values() else ""
    of_zone = {name: name for name in names}
    for zone in zones:
        case = said.get(zone.name, "" if zone.says_none(Zone.enclosure) else only)
        if case in names:
            of_zone[zone.name] = case
    parts: dict[str, list[Part]] = {name: [] for name in names}
    for name, part in sorted(study.build.parts.items()):
        case = of_zone.get(study.zone_of(name), "")
        if case and case != name:
            parts[case].append(part)
    branches: dict[str, list[Branch]] = {name: [] for name in names}
    halves = {mating.name: (mating.first, mating.second) for mating in study.build.matings}
    for branch in study.circuit.branches:
        if branch.conductor is not None:
            at = {of_zone.get(branch.zone, "")}
        else:
            at = {of_zone.get(study.zone_of(name), "") for name in halves.get(branch.part, (branch.part,))}
        for case in sorted(at - {""}):
            branches[case].append(branch)
    return tuple(
        Contents(
            case,
            frozenset(zone for zone, its in of_zone.items() if its == case.name),
            tuple(parts[case.name]),
            tuple(branches[case.name]),
        )
        for case in cases
    )
