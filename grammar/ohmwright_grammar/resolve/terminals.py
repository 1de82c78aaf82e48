"""Which terminals a part has."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright_grammar.diagnostics import Diagnostic
from ohmwright_grammar.kinds.connector import Half
from ohmwright_grammar.kinds.distribution import Bus, FuseBlock
from ohmwright_grammar.kinds.enclosure import Enclosure
from ohmwright_grammar.kinds.fuse import Fuse
from ohmwright_grammar.kinds.part import Part
from ohmwright_grammar.kinds.switch import Selector, Switching

__all__ = ["foreign_terminals", "is_one_node", "terminal_names"]


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


def foreign_terminals(selector: Selector) -> Iterator[Diagnostic]:
    """Yield a message where positions join terminals of other parts: each would be a terminal of the selector that leads nowhere."""
    foreign = [terminal for terminal in selector.terminals_named() if "." in terminal]
    if not foreign:
        return
    own = dict(zip(foreign, _OWN, strict=False))
    kept = [
        f"position {position.position} joins {', '.join(own.get(terminal, terminal) for terminal in position.terminals)}"
        for position in selector.positions or ()
        if not own.keys().isdisjoint(position.terminals)
    ]
    said = "; ".join((*kept, *(f"{name} on {there}" for there, name in own.items())))
    yield Diagnostic(
        "unknown-name",
        f"Its positions join {' and '.join(repr(terminal) for terminal in own)}: not terminals of the selector itself.",
        selector.place_of(Selector.positions),
        f"Name terminals of its own, and say what each sits on: {said}",
        selector.name,
    )


_OWN = ("first", "second", "third", "fourth", "fifth", "sixth")  # with more terminals the first ones show how
