"""What feeds what, by connection alone: which two-sided elements have a live input, and what holds the voltage of an output."""

from __future__ import annotations

from typing import NamedTuple

from ..unions import root_of
from .blocks import blocks
from .elements import (
    Array,
    Charger,
    Converter,
    CurrentLoad,
    CurrentSource,
    Diode,
    Element,
    Emf,
    Network,
    PowerLoad,
    Resistor,
    SeriesController,
    Tracker,
)

__all__ = ["Feeding", "Loops", "ends", "feeding", "held_outputs", "loops_of", "reach"]


class Loops(NamedTuple):
    """Every side of every element as (index, side), and the block of loops in which it lies."""

    sides: list[tuple[int, int]]
    block: list[int]


TwoSided = Converter | Tracker | SeriesController


def ends(element: Element) -> tuple[tuple[int, int], ...]:
    """The node pairs between which an element passes current: one, or the in side and the out side."""
    match element:
        case Resistor():
            return ((element.a, element.b),)
        case Diode():
            return ((element.anode, element.cathode),)
        case Emf() | CurrentLoad() | PowerLoad() | CurrentSource() | Charger() | Array():
            return ((element.plus, element.minus),)
        case _:
            return ((element.in_plus, element.in_minus), (element.out_plus, element.out_minus))


class Feeding(NamedTuple):
    """Elements by index: two-sided ones with something that feeds their input, outputs beside a source that holds a voltage, and current sources whose
    current has a way back."""

    live: set[int]
    beside: set[int]
    closed: set[int]


def feeding(network: Network) -> Feeding:
    """What feeds what by connection only: a live input may still turn out to have no voltage."""
    root = list(range(network.nodes))
    chargers: list[tuple[int, Charger]] = []
    two_sided: list[tuple[int, TwoSided]] = []
    for index, element in enumerate(network.elements):
        match element:
            case Resistor():
                root[root_of(root, element.a)] = root_of(root, element.b)
            case Emf() | Array():
                root[root_of(root, element.plus)] = root_of(root, element.minus)
            case Diode():
                root[root_of(root, element.anode)] = root_of(root, element.cathode)
            case Charger():
                chargers.append((index, element))
            case Converter() | Tracker() | SeriesController():
                two_sided.append((index, element))
    holders = {root_of(root, e.plus) for e in network.elements if isinstance(e, Emf)}
    beside = {
        index
        for index, e in (*chargers, *two_sided)
        if root_of(root, _plus(e)) == root_of(root, _minus(e)) and root_of(root, _plus(e)) in holders
    }
    closed = {
        index
        for index, e in enumerate(network.elements)
        if isinstance(e, CurrentSource) and root_of(root, e.plus) == root_of(root, e.minus)
    }
    for _, charger in chargers:
        root[root_of(root, charger.plus)] = root_of(root, charger.minus)
    fed: set[int] = set()
    for element in network.elements:
        if isinstance(element, Emf | Charger) or (isinstance(element, Array) and element.photo > 0):
            fed.add(root_of(root, element.plus))
    fed |= {root_of(root, e.plus) for k, e in enumerate(network.elements) if k in closed and isinstance(e, CurrentSource)}
    live: set[int] = set()
    grown = True
    while grown:
        grown = False
        fed = {root_of(root, v) for v in fed}
        for index, e in two_sided:
            if index in live:
                continue
            plus, minus = root_of(root, e.in_plus), root_of(root, e.in_minus)
            if plus == minus and plus in fed:
                live.add(index)
                root[root_of(root, e.out_plus)] = root_of(root, e.out_minus)
                fed.add(root_of(root, e.out_plus))
                fed = {root_of(root, v) for v in fed}
                grown = True
    return Feeding(live, beside, closed)


def _plus(element: Charger | TwoSided) -> int:
    return element.plus if isinstance(element, Charger) else element.out_plus


def _minus(element: Charger | TwoSided) -> int:
    return element.minus if isinstance(element, Charger) else element.out_minus


def held_outputs(network: Network, loops: Loops, dead: set[int]) -> set[int]:
    """Charge controllers whose output lies in a loop with a battery or a running converter, so that something else holds its voltage."""
    owner, numbers = loops
    of_out: dict[int, int] = {}
    held: set[int] = set()
    for (index, side), block in zip(owner, numbers, strict=True):
        element = network.elements[index]
        if isinstance(element, Emf) or (isinstance(element, Converter) and side == 1 and index not in dead):
            held.add(block)
        elif side == 1:
            of_out[index] = block
    return {index for index, block in of_out.items() if block in held}


def reach(loops: Loops, index: int) -> tuple[list[int], bool]:
    """The elements that what flows into the in side of one element depends on, and whether its own out side is among that."""
    owner, numbers = loops
    sides: dict[int, list[int]] = {}
    members: dict[int, list[int]] = {}
    for (element, _), block in zip(owner, numbers, strict=True):
        sides.setdefault(element, []).append(block)
        members.setdefault(block, []).append(element)
    start = sides[index][0]
    seen = {start}
    todo = [start]
    while todo:
        for element in members[todo.pop()]:
            if element != index and len(sides[element]) == 2:
                for block in sides[element]:
                    if block not in seen:
                        seen.add(block)
                        todo.append(block)
    found = sorted({element for block in seen for element in members[block] if element != index})
    return found, sides[index][1] in seen


def loops_of(network: Network) -> Loops:
    """The loops of a network, by connection alone."""
    owner: list[tuple[int, int]] = []
    edges: list[tuple[int, int]] = []
    for index, element in enumerate(network.elements):
        for side, pair in enumerate(ends(element)):
            owner.append((index, side))
            edges.append(pair)
    return Loops(owner, blocks(network.nodes, edges))
