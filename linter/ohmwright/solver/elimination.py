"""Elimination of unknowns in conductance form: a star of conductances becomes the mesh that does the same.

Written with the conductance to the fixed potential in place of the diagonal, a network of resistors is eliminated by additions
only, so that even a net that is tied to its reference by a leak of 1e-15 S keeps all its digits. The pivots are those of the
usual symmetric factor L D L^T: all positive means that the operating point can be reached from zero load.
"""

from __future__ import annotations

from .ordering import MANY, ONE, TWO, Pattern

__all__ = ["back", "factor", "factor_two_sided", "forward", "solve", "solve_two_sided"]


def factor(pattern: Pattern, values: list[float]) -> list[float]:
    """Factor in place; returns the pivots by rank.

    Afterwards the conductances between unknowns hold the multipliers. A pivot of exactly zero raises ZeroDivisionError.
    """
    pivots = [1.0] * pattern.size
    for kind, steps in pattern.runs:
        if kind == ONE:
            for k, i, p in steps:
                ground = values[k]
                edge = values[p]
                pivots[k] = d = ground + edge
                values[p] = m = edge / d
                values[i] += m * ground
        elif kind == TWO:
            for k, i, j, p, q, t in steps:
                ground = values[k]
                one = values[p]
                two = values[q]
                pivots[k] = d = ground + one + two
                values[p] = m = one / d
                values[q] = n = two / d
                values[i] += m * ground
                values[j] += n * ground
                values[t] += m * two
        elif kind == MANY:
            for k, start, rows, targets in steps:
                count = len(rows)
                ground = values[k]
                edges = values[start : start + count]
                pivots[k] = d = ground + sum(edges)
                at = 0
                for a in range(count):
                    m = edges[a] / d
                    values[start + a] = m
                    values[rows[a]] += m * ground
                    for b in range(a + 1, count):
                        values[targets[at]] += m * edges[b]
                        at += 1
        else:
            for (k,) in steps:
                pivots[k] = d = values[k]
                if not d:
                    raise ZeroDivisionError
    return pivots


def forward(pattern: Pattern, values: list[float], right: list[float]) -> None:
    """Apply the inverse of L to `right`, in place."""
    for kind, steps in pattern.runs:
        if kind == ONE:
            for k, i, p in steps:
                right[i] += values[p] * right[k]
        elif kind == TWO:
            for k, i, j, p, q, _ in steps:
                y = right[k]
                right[i] += values[p] * y
                right[j] += values[q] * y
        elif kind == MANY:
            for k, start, rows, _ in steps:
                y = right[k]
                for i in rows:
                    right[i] += values[start] * y
                    start += 1


def back(pattern: Pattern, values: list[float], pivots: list[float], right: list[float]) -> None:
    """Apply the inverse of D L^T to `right`, in place."""
    for kind, steps in reversed(pattern.runs):
        if kind == ONE:
            for k, i, p in reversed(steps):
                right[k] = right[k] / pivots[k] + values[p] * right[i]
        elif kind == TWO:
            for k, i, j, p, q, _ in reversed(steps):
                right[k] = right[k] / pivots[k] + values[p] * right[i] + values[q] * right[j]
        elif kind == MANY:
            for k, start, rows, _ in reversed(steps):
                x = right[k] / pivots[k]
                for i in rows:
                    x += values[start] * right[i]
                    start += 1
                right[k] = x
        else:
            for (k,) in steps:
                right[k] /= pivots[k]


def solve(pattern: Pattern, values: list[float], pivots: list[float], right: list[float]) -> None:
    """Replace `right` (injected currents by rank) by the potentials that they cause."""
    forward(pattern, values, right)
    back(pattern, values, pivots, right)


def factor_two_sided(pattern: Pattern, upper: list[float], lower: list[float]) -> list[float]:
    """Factor an unsymmetric matrix on the same pattern, in place; returns the pivots by rank.

    `upper` holds the sums of the rows (in place of conductances to the fixed potential) and the entries right of the diagonal,
    `lower` those below it, both with the sign of a conductance. The determinant's sign is that of the product of the pivots.
    """
    pivots = [1.0] * pattern.size
    for kind, steps in pattern.runs:
        if kind == ONE:
            for k, i, p in steps:
                total = upper[k]
                edge = upper[p]
                pivots[k] = d = total + edge
                lower[p] = m = lower[p] / d
                upper[i] += m * total
                upper[p] = edge / d
        elif kind == TWO:
            for k, i, j, p, q, t in steps:
                total = upper[k]
                one = upper[p]
                two = upper[q]
                pivots[k] = d = total + one + two
                lower[p] = m = lower[p] / d
                lower[q] = n = lower[q] / d
                upper[i] += m * total
                upper[j] += n * total
                upper[t] += m * two
                lower[t] += n * one
                upper[p] = one / d
                upper[q] = two / d
        elif kind == MANY:
            for k, start, rows, targets in steps:
                count = len(rows)
                total = upper[k]
                edges = upper[start : start + count]
                pivots[k] = d = total + sum(edges)
                multipliers = [v / d for v in lower[start : start + count]]
                at = 0
                for a in range(count):
                    m = multipliers[a]
                    edge = edges[a]
                    upper[rows[a]] += m * total
                    lower[start + a] = m
                    upper[start + a] = edge / d
                    for b in range(a + 1, count):
                        t = targets[at]
                        upper[t] += m * edges[b]
                        lower[t] += multipliers[b] * edge
                        at += 1
        else:
            for (k,) in steps:
                pivots[k] = d = upper[k]
                if not d:
                    raise ZeroDivisionError
    return pivots


def solve_two_sided(pattern: Pattern, upper: list[float], lower: list[float], pivots: list[float], right: list[float]) -> None:
    """Replace `right` by the solution, after `factor_two_sided`."""
    forward(pattern, lower, right)
    back(pattern, upper, pivots, right)
