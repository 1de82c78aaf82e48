"""Which terminals a part has."""

from __future__ import annotations

from ohmwright_grammar.kinds.connector import Half
from ohmwright_grammar.kinds.distribution import Bus, FuseBlock
from ohmwright_grammar.kinds.enclosure import Enclosure
from ohmwright_grammar.kinds.fuse import Fuse
from ohmwright_grammar.kinds.part import Part
from ohmwright_grammar.kinds.switch import Selector, Switching

__all__ = ["is_one_node", "terminal_names"]


def is_one_node(part: Part) -> bool:
    """Tell whether the part is a single node, named without a terminal: a bus, or a case."""
    return isinstance(part, Bus | Enclosure)


def terminal_names(part: Part) -> tuple[str, ...] | None:
    """Return the names of a part's terminals; None where any name will do (a connector half that does not list its pins)."""
    if isinstance(part, Half):
        return tuple(pin.name for pin in part.pins or ()) or None
    if isinstance(part, Selector):
        return (*part.TERMINALS, *part.terminals_named())
    if isinstance(part, FuseBlock) and part.ways is not None:
        return ("feed", *(str(way) for way in range(1, part.ways + 1)))
    if isinstance(part, Fuse | Switching) and part.poles is not None:
        return tuple(name for name in part.TERMINALS if not name[-1].isdigit() or int(name[-1]) <= part.poles)
    return part.TERMINALS
