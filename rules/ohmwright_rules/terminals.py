"""What is said of the terminal at an end of a conductor: of a part's own terminal, or of a pin of a connector half."""

from __future__ import annotations

from typing import TypeVar

from ohmwright.study import Study
from ohmwright_grammar.kinds.connector import Half, Pin
from ohmwright_grammar.kinds.distribution import Bus
from ohmwright_grammar.kinds.enclosure import Enclosure
from ohmwright_grammar.kinds.part import Part, Terminal
from ohmwright_grammar.spans import Span
from ohmwright_grammar.things import Datum

__all__ = ["is_bare_metal", "nearest", "part_at", "pin_at", "place_of_terminal", "stud_at", "terminal_at"]

T = TypeVar("T")


def part_at(study: Study, node: str) -> Part | None:
    """Return the part that a node belongs to."""
    return study.build.parts.get(study.build.nodes.get(node, ""))


def pin_at(study: Study, node: str) -> tuple[Half, Pin | None] | None:
    """Return the connector half that a node is a pin of, and what is said of that pin; None for any other node."""
    half = part_at(study, node)
    if not isinstance(half, Half):
        return None
    name = node.removeprefix(f"{half.name}.")
    return half, next((pin for pin in half.pins or () if pin.name == name), None)


def terminal_at(study: Study, node: str) -> Terminal | None:
    """Return what is said of the terminal at a node, defaults included; None where nothing is."""
    pin = pin_at(study, node)
    if pin is not None and pin[1] is not None:
        return pin[1]
    return study.terminal(node)


def stud_at(study: Study, node: str) -> Terminal | None:
    """Return what is said of the terminal at a node; of a busbar or a case what is said of all of its studs."""
    return study.terminal(f"{node}.") if is_bare_metal(study, node) else terminal_at(study, node)


def nearest(terminal: Terminal | None, of_terminal: Datum[T], half: Half | None, of_half: Datum[T]) -> T | None:
    """Return what is said nearest to a contact: by its own pin, else by its connector half, else by a default that reaches the pin.

    A default for all connectors names more than one for all terminals, so that it comes before it.
    """
    own = terminal.fact(of_terminal) if terminal is not None else None
    shared = half.fact(of_half) if half is not None else None
    if own is None or (own.origin == "default" and shared is not None and shared.value is not None):
        return shared.value if shared is not None else None
    return own.value if own.value is not None or shared is None else shared.value


def is_bare_metal(study: Study, node: str) -> bool:
    """Tell whether a node is a busbar or a case: one piece of metal without terminals of its own."""
    return isinstance(part_at(study, node), Bus | Enclosure)


def place_of_terminal(study: Study, node: str) -> Span:
    """Return where a terminal, else the part that it belongs to, stands in the text."""
    terminal = terminal_at(study, node)
    part = part_at(study, node)
    if terminal is not None and terminal.facts:
        return terminal.span
    return part.span if part is not None else study.span(node)
