"""Loose things that are kept in the same space as bare terminals."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.references import Reference
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright_grammar.kinds.connector import Half
from ohmwright_grammar.kinds.enclosure import Cover, Enclosure
from ohmwright_grammar.kinds.part import Part
from ohmwright_grammar.kinds.site import Zone
from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Span

from ohmwright_rules.terminals import stud_at
from ohmwright_rules.wording import listed

RULE = Rule(
    id="loose-metal",
    title="Loose things beside bare terminals",
    family="enclosure",
    subject="zone",
    covers=("L1",),
    grades=(Grade("bare", Severity.ERROR, "loose things are kept beside terminals that nothing covers"),),
    references=(
        Reference("33 CFR 183.420", "as on a law mirror, undated", "(b)", "read"),
        Reference("49 CFR 173.159", "as on a law mirror", "batteries protected from shorts", "secondary"),
    ),
)
_GRADE = "bare"
_INSULATED = frozenset({"spring cage", "crimp"})  # what holds the wire lies inside plastic


@record
class _Space:
    """One case with its zones, or one zone that lies in none; `zones` are those that are declared."""

    name: str
    span: Span
    zones: tuple[Zone, ...]
    parts: tuple[Part, ...]


@record
class _Ends:
    """Terminals of a zone ("" for the case itself) that are said to be bare, and those of which nothing is said."""

    bare: tuple[str, ...]
    silent: tuple[str, ...]


def check(study: Study) -> Iterator[Outcome]:
    """Look at every space in which loose things are kept, or may be, for terminals that they can bridge."""
    covered = {name for cover in study.of(Cover) for name in cover.covers or ()}
    empty = 0
    spaces = list(_spaces(study))
    for space in spaces:
        ends = _ends(study, space, covered)
        if ends is None:
            empty += 1
        else:
            yield from _judge(space, ends)
    if not spaces:
        yield DoesNotApply("no case and no zone")
    if empty:
        yield DoesNotApply("a case or zone without terminals", empty)


def _spaces(study: Study) -> Iterator[_Space]:
    zones = {zone.name: zone for zone in study.of(Zone)}
    cased: set[str] = set()
    for contents in study.contents:
        cased.update(contents.zones)
        its = tuple(zones[name] for name in sorted(contents.zones) if name in zones)
        yield _Space(contents.case.name, contents.case.span, its, contents.parts)
    for name in sorted(zones.keys() - cased):
        parts = tuple(part for _, part in sorted(study.build.parts.items()) if study.zone_of(part.name) == name)
        yield _Space(name, zones[name].span, (zones[name],), parts)


def _ends(study: Study, space: _Space, covered: set[str]) -> dict[str, _Ends] | None:
    """Return the terminals of a space by the zone that they lie in, None where there are none at all."""
    bare: dict[str, list[str]] = {}
    silent: dict[str, list[str]] = {}
    any_at_all = False
    for part in space.parts:
        if isinstance(part, Half | Cover | Enclosure):
            continue
        zone = study.zone_of(part.name)
        for node in study.circuit.nodes_of(part.name):
            any_at_all = True
            terminal = stud_at(study, node)
            if node in covered or part.name in covered:
                continue
            if terminal is not None and (terminal.boot or terminal.kind in _INSULATED):
                continue
            said = terminal is not None and terminal.boot is False
            (bare if said else silent).setdefault(zone, []).append(node)
    if not any_at_all:
        return None
    return {zone: _Ends(tuple(bare.get(zone, ())), tuple(silent.get(zone, ()))) for zone in sorted(bare.keys() | silent.keys())}


def _judge(space: _Space, ends: dict[str, _Ends]) -> Iterator[Outcome]:
    keeping = [zone for zone in space.zones if zone.loose_things]
    quiet = [zone for zone in space.zones if zone.loose_things is None]
    for zone in keeping:
        yield _beside(space, zone, ends)
    if keeping:
        return
    if not ends or (space.zones and not quiet):
        yield Passed(_GRADE, (space.name,))
    elif quiet:
        zone = max(quiet, key=lambda zone: (zone.name in ends, zone.name))
        missing = f"whether loose things are kept in {zone.name}"
        yield NotChecked(_GRADE, (space.name, zone.name), missing, zone.span, declare="no loose things")
    else:
        declare = f"zone inside {{ in {space.name}; no loose things }}"
        yield NotChecked(_GRADE, (space.name,), f"whether loose things are kept in {space.name}", space.span, declare=declare)


def _beside(space: _Space, zone: Zone, ends: dict[str, _Ends]) -> Outcome:
    """Judge one zone in which loose things are kept: what lies bare in it, and in the rest of its case where no partition keeps them apart."""
    subject = (zone.name, space.name) if space.name != zone.name else (zone.name,)
    if zone.insulating_partition:
        return Passed(_GRADE, subject)
    here = ends.get(zone.name, _Ends((), ()))
    rest = [found for name, found in ends.items() if name != zone.name]
    apart = zone.insulating_partition is False
    bare = [*here.bare, *(node for found in rest for node in found.bare if apart)]
    if bare:
        also = "" if here.bare else f" in the same case ({space.name}), with no partition between"
        return Finding(
            _GRADE,
            (*subject, *bare),
            f"{zone.name}: loose things are kept here beside {listed(bare)}{also}; a clip, a spanner or a plug that falls across them shorts the battery.",
            zone.place_of(Zone.loose_things),
            remedy="Cover every terminal, fix an insulating partition between them, or keep the things elsewhere.",
            related=tuple(Related(f"{node} is bare", _place(space, node)) for node in bare[:8]),
        )
    silent = [*here.silent, *(node for found in rest for node in found.silent if apart)]
    if silent:
        missing = f"a boot or cover over {listed(silent)}"
        return NotChecked(_GRADE, subject, missing, zone.span, declare="all terminals { boot }")
    if not apart and any(found.bare or found.silent for found in rest):
        missing = f"a partition between {zone.name} and the terminals in {space.name}"
        return NotChecked(_GRADE, subject, missing, zone.span, declare="insulating partition")
    return Passed(_GRADE, subject)


def _place(space: _Space, node: str) -> Span:
    part = max(
        (part for part in space.parts if node == part.name or node.startswith(f"{part.name}.")), key=lambda part: len(part.name)
    )
    return part.span
