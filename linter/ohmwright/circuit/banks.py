"""Banks: what the batteries of one string add up to, whatever joins them."""

from __future__ import annotations

from collections.abc import Callable, Collection

from ohmwright_grammar.kinds.battery import Battery

from ohmwright.circuit.graph import Circuit
from ohmwright.unions import root_of

__all__ = ["SHORT_OHM", "inner_batteries", "shorted_batteries", "string_sums"]

_NOT_A_JOINT = frozenset({"diode", "resistor"})
SHORT_OHM = 0.1  # catalogue, C9: a loop below this is as good as a wire; what leads from pole to pole through less uses nothing, it shorts


def string_sums(circuit: Circuit, value_of: Callable[[Battery], float | None]) -> tuple[float, ...]:
    """Return what a value [V] of each battery adds up to over every string in series, with everything closed that can be.

    A string that holds a battery without the value is left out. Batteries side by side are strings of their own; a battery on the inner point
    of a string adds to what lies below it.
    """
    batteries = [source for source in circuit.sources if source.kind == "battery"]
    net = _nets(circuit)
    on_minus: dict[str, list[int]] = {}
    for index, source in enumerate(batteries):
        on_minus.setdefault(net.get(source.minus, source.minus), []).append(index)
    tops = [net.get(source.plus, source.plus) for source in batteries]
    begins = [index for index, source in enumerate(batteries) if net.get(source.minus, source.minus) not in tops]
    sums: list[float] = []
    walks: list[tuple[int, float, frozenset[int]]] = []
    for index in begins or range(len(batteries)):
        walks.append((index, 0.0, frozenset()))
    steps = 0
    while walks and steps < 10_000:
        steps += 1
        index, below, seen = walks.pop()
        part = batteries[index].part
        value = value_of(part) if isinstance(part, Battery) else None
        if value is None:
            continue
        above = [other for other in on_minus.get(tops[index], ()) if other not in seen and other != index]
        if not above:
            sums.append(below + value)
        for other in above:
            walks.append((other, below + value, seen | {index}))
    return tuple(sums)


def inner_batteries(circuit: Circuit) -> frozenset[str]:
    """Return the batteries that stand on another one in a string: their minus is its plus, with everything closed that can be."""
    batteries = [source for source in circuit.sources if source.kind == "battery"]
    if len(batteries) < 2:
        return frozenset()
    net = _nets(circuit)
    on_plus: dict[str, set[str]] = {}
    for source in batteries:
        on_plus.setdefault(net.get(source.plus, source.plus), set()).add(source.name)
    return frozenset(
        source.name for source in batteries if on_plus.get(net.get(source.minus, source.minus), set()) - {source.name}
    )


def shorted_batteries(circuit: Circuit, open_gates: Collection[str] = ()) -> frozenset[str]:
    """Return the batteries whose poles wires, contacts, fuses and closed switches alone join, while some gates are open.

    Resistors of next to nothing join as well, and diodes in their own direction.
    """
    batteries = [source for source in circuit.sources if source.kind == "battery"]
    net = _nets(circuit, open_gates, SHORT_OHM) if batteries else {}
    on: dict[str, list[str]] = {}
    for branch in circuit.branches if batteries else ():
        if branch.kind == "diode":
            on.setdefault(net.get(branch.start, branch.start), []).append(net.get(branch.end, branch.end))
    return frozenset(
        source.name
        for source in batteries
        if net.get(source.minus, source.minus) in _reached(net.get(source.plus, source.plus), on)
    )


def _reached(start: str, on: dict[str, list[str]]) -> set[str]:
    """Return the nets that current comes to from one, through diodes."""
    seen = {start}
    queue = [start] if on else []
    while queue:
        for far in on.get(queue.pop(), ()):
            if far not in seen:
                seen.add(far)
                queue.append(far)
    return seen


def _nets(circuit: Circuit, open_gates: Collection[str] = (), below: float = 0.0) -> dict[str, str]:
    """Return for each node one that stands for all that wires, contacts and closed switches join with it, and resistors of less than `below` [ohm]."""
    above = {node: node for branch in circuit.branches for node in (branch.start, branch.end)}
    for branch in circuit.branches:
        if branch.gate and branch.gate in open_gates:
            continue
        if branch.kind not in _NOT_A_JOINT or (branch.kind == "resistor" and not branch.assumed and branch.ohm < below):
            above[root_of(above, branch.start)] = root_of(above, branch.end)
    return {node: root_of(above, node) for node in above}
