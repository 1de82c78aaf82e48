"""In which case a part lies."""

from __future__ import annotations

from ohmwright.study import Study
from ohmwright_grammar.kinds.enclosure import Enclosure
from ohmwright_grammar.kinds.site import Zone

__all__ = ["case_of"]


def case_of(study: Study, name: str) -> Enclosure | None:
    """Return the case that a part lies in: that of its zone, or the only case there is where its zone names none; None where that is not said."""
    cases = {case.name: case for case in study.of(Enclosure)}
    at = study.zone_of(name)
    if at in cases:
        return cases[at]
    zone = next((zone for zone in study.of(Zone) if zone.name == at), None)
    if zone is None:
        return None
    if zone.enclosure is not None:
        return cases.get(zone.enclosure)
    return next(iter(cases.values())) if len(cases) == 1 else None
