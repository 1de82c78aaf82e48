"""In which case a part lies."""

from __future__ import annotations

from ohmwright.study import Study
from ohmwright_grammar.kinds.enclosure import Enclosure

from ohmwright_rules.kept import kept

__all__ = ["case_of", "space_of"]


def case_of(study: Study, name: str) -> Enclosure | None:
    """Return the case that a part lies in (as `study.contents` has it); None outside of every case, and where that is not said."""
    return kept(study, _cases).get(name)


def space_of(study: Study, name: str) -> str:
    """Return the case that a part lies in, else its zone; "" for one of which nobody says where it is."""
    case = case_of(study, name)
    return case.name if case is not None else study.zone_of(name)


def _cases(study: Study) -> dict[str, Enclosure]:
    if next(study.of(Enclosure), None) is None:
        return {}
    return {part.name: contents.case for contents in study.contents for part in contents.parts}
