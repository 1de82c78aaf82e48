"""The holes of cases and panels, written within their case or as blocks of their own."""

from __future__ import annotations

from ohmwright.study import Study
from ohmwright_grammar.kinds.enclosure import Enclosure, Hole, Panel
from ohmwright_grammar.records import record

from ohmwright_rules.kept import kept

__all__ = ["Opening", "openings_of"]


@record
class Opening:
    """A hole with the name by which it is told, the case or panel that it is in ("" where nobody says), and all names that may stand for it."""

    name: str
    case: str
    hole: Hole
    names: frozenset[str]


def openings_of(study: Study) -> tuple[Opening, ...]:
    """Return every hole of a build, those of the cases first, in the order of the names of the cases."""
    return kept(study, _openings)


def _openings(study: Study) -> tuple[Opening, ...]:
    found: list[Opening] = []
    inner: set[int] = set()
    for case in sorted(study.of(Enclosure), key=lambda case: case.name):
        found.extend(_within(case.name, case.name, hole) for hole in case.holes or ())
        for panel in case.panels or ():
            inner.add(id(panel))
            found.extend(_within(f"{case.name}.{panel.name}", case.name, hole) for hole in panel.holes or ())
    for panel in sorted(study.of(Panel), key=lambda panel: panel.name):
        if id(panel) not in inner:
            found.extend(_within(panel.name, panel.name, hole) for hole in panel.holes or ())
    inner.update(id(opening.hole) for opening in found)
    for hole in sorted(study.of(Hole), key=lambda hole: hole.name):
        if id(hole) in inner:
            continue
        owner = hole.panel or ""
        names = frozenset((hole.name, f"{owner}.{hole.name}")) if owner else frozenset((hole.name,))
        found.append(Opening(hole.name, owner.partition(".")[0], hole, names))
    return tuple(found)


def _within(owner: str, case: str, hole: Hole) -> Opening:
    name = f"{owner}.{hole.name}"
    return Opening(name, case, hole, frozenset((hole.name, name, f"{case}.{hole.name}")))
