"""The linear part of a network seen from pairs of nodes: open voltages and resistances from one factor."""

from __future__ import annotations

from collections.abc import Iterable

from .case import Plans
from .elements import Emf, Network, Resistor
from .elimination import factor, solve
from .operation import Port
from .ordering import MANY, ONE, TWO
from .plan import Plan
from .reading import read

__all__ = ["look_in"]


def look_in(network: Network, pairs: Iterable[tuple[int, int]], plans: Plans) -> list[Port]:
    """Open voltage and resistance between the nodes of each pair, with batteries and resistors only.

    A resistance is the sum of y^2 / D over the part of the forward substitution that the two nodes reach, so each pair costs
    about the depth of the elimination tree.
    """
    linear = Network(network.nodes, tuple([e for e in network.elements if isinstance(e, Emf | Resistor)]), network.references)
    reading = read(linear, {})
    plan = plans.get(reading, linear, whole=True)
    siemens = [*reading.resistor_siemens, *reading.source_siemens]
    emf = [0.0] * plan.resistors + reading.source_volts
    offset = [0.0] * network.nodes
    if plan.any_held and plan.forest is not None:
        offset = plan.forest.offsets(network.nodes, reading.merge_volts)
        emf = [e + offset[a] - offset[b] for e, a, b in zip(emf, plan.linear.node_a, plan.linear.node_b, strict=True)]
    size = plan.size
    values = [0.0] * plan.pattern.length
    right = [0.0] * (size + 2)
    for a, b, g, e, slot in zip(plan.linear.a, plan.linear.b, siemens, emf, plan.linear.slot, strict=True):
        values[slot] += g
        if e:
            right[a] -= g * e
            right[b] += g * e
    pivots = factor(plan.pattern, values)
    solve(plan.pattern, values, pivots, right)
    right[size] = right[size + 1] = 0.0
    columns = _columns(plan, values)
    island = [0] * network.nodes
    for k, (nodes, _) in enumerate(plan.islands):
        for v in nodes:
            island[v] = k
    answers = []
    for a, b in pairs:
        if a == b:
            answers.append(Port(0.0, 0.0))
        elif island[a] != island[b]:
            answers.append(Port(0.0, float("inf")))
        else:
            i, j = plan.group[a], plan.group[b]
            ohm = _resistance(columns, plan.pattern.parents, pivots, i, j)
            answers.append(Port(right[i] - right[j] + offset[a] - offset[b], ohm))
    return answers


def _columns(plan: Plan, values: list[float]) -> list[list[tuple[int, float]]]:
    """The multipliers below each pivot, by rank."""
    columns: list[list[tuple[int, float]]] = [[] for _ in range(plan.size)]
    for kind, steps in plan.pattern.runs:
        if kind == ONE:
            for k, i, p in steps:
                columns[k] = [(i, values[p])]
        elif kind == TWO:
            for k, i, j, p, q, _ in steps:
                columns[k] = [(i, values[p]), (j, values[q])]
        elif kind == MANY:
            for k, start, rows, _ in steps:
                columns[k] = list(zip(rows, values[start : start + len(rows)], strict=True))
    return columns


def _resistance(columns: list[list[tuple[int, float]]], parents: list[int], pivots: list[float], i: int, j: int) -> float:
    if i == j:
        return 0.0
    size = len(pivots)
    y: dict[int, float] = {i: 1.0, j: -1.0}
    one = i if i < size else -1
    two = j if j < size else -1
    total = 0.0
    while one >= 0 or two >= 0:
        k = one if two < 0 or 0 <= one < two else two
        value = y.pop(k)
        total += value * value / pivots[k]
        for row, multiplier in columns[k]:
            y[row] = y.get(row, 0.0) + multiplier * value
        if one == k:
            one = parents[k]
        if two == k:
            two = parents[k]
    return total
