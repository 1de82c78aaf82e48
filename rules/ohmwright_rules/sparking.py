"""Which parts of a build spark when they open or run, and whether that can reach the air around them."""

from __future__ import annotations

from ohmwright.study import Study
from ohmwright_grammar.kinds.fuse import Fuse
from ohmwright_grammar.kinds.inverter import Inverter
from ohmwright_grammar.kinds.load import Load
from ohmwright_grammar.kinds.part import Part
from ohmwright_grammar.kinds.switch import Switching

__all__ = ["motors", "sparking_parts"]


def sparking_parts(study: Study) -> tuple[Part, ...]:
    """Return every switch, relay, selector, disconnect, fuse, breaker and inverter in name order; an electronic switch has no contact that sparks."""
    found = [
        part
        for part in study.build.parts.values()
        if isinstance(part, Fuse | Inverter) or (isinstance(part, Switching) and not part.electronic)
    ]
    return tuple(sorted(found, key=lambda part: part.name))


def motors(study: Study) -> tuple[Part, ...]:
    """Return the loads that are motors, in name order."""
    return tuple(sorted((part for part in study.of(Load) if part.motor), key=lambda part: part.name))
