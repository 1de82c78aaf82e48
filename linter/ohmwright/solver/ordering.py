"""The order in which unknowns are eliminated, and the fixed programme of steps that follows from it."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

__all__ = ["LONE", "MANY", "ONE", "TWO", "Pattern", "minimum_degree"]

# The kinds of a run of steps, by the number of neighbours that a pivot still has when its turn comes.
LONE, ONE, TWO, MANY = 0, 1, 2, 3


def minimum_degree(adjacency: list[set[int]], first: Iterable[int] = ()) -> tuple[list[int], list[list[int]]]:
    """Order the vertices so that few new edges arise, always taking one of the fewest neighbours.

    `adjacency` is used up. `first` is eliminated before all others, in its own order. Returns the order and, beside each vertex of
    it, the neighbours that were left at its turn.
    """
    count = len(adjacency)
    done = bytearray(count)
    order: list[int] = []
    columns: list[list[int]] = []
    buckets: list[list[int]] = [[] for _ in range(count + 1)]
    for vertex in range(count - 1, -1, -1):
        buckets[len(adjacency[vertex])].append(vertex)
    forced = list(first)
    forced.reverse()
    degree = 0
    while len(order) < count:
        if forced:
            vertex = forced.pop()
        else:
            while not buckets[degree]:
                degree += 1
            vertex = buckets[degree].pop()
            if done[vertex] or len(adjacency[vertex]) != degree:
                continue
        done[vertex] = 1
        near = adjacency[vertex]
        order.append(vertex)
        columns.append(list(near))
        if len(near) == 1:
            (only,) = near
            other = adjacency[only]
            other.discard(vertex)
            size = len(other)
            buckets[size].append(only)
            if size < degree:
                degree = size
        else:
            for one in near:
                other = adjacency[one]
                other |= near
                other.discard(vertex)
                other.discard(one)
                size = len(other)
                buckets[size].append(one)
                if size < degree:
                    degree = size
        adjacency[vertex] = set()
    return order, columns


class Pattern:
    """Where every number of a factor lies, and in which order it is worked out.

    Values lie in one flat list: entry k below `size` is the conductance from unknown k to the fixed potential, the entries from
    `size` on are the conductances between two unknowns, the last entry is a dump for what touches neither. `rank[v]` is the place of
    the vertex v of `adjacency` in the order; all other indices here are ranks.
    """

    __slots__ = ("dump", "length", "parents", "rank", "runs", "size", "where")

    def __init__(self, adjacency: list[set[int]], first: Iterable[int] = ()) -> None:
        order, columns = minimum_degree(adjacency, first)
        size = len(order)
        rank = [0] * size
        for place, vertex in enumerate(order):
            rank[vertex] = place
        where: list[dict[int, int]] = []
        parents: list[int] = []
        free = size
        for near in columns:
            if len(near) == 1:
                row = rank[near[0]]
                where.append({row: free})
                parents.append(row)
                free += 1
            elif near:
                rows = sorted([rank[v] for v in near])
                where.append(dict(zip(rows, range(free, free + len(rows)), strict=True)))
                parents.append(rows[0])
                free += len(rows)
            else:
                where.append({})
                parents.append(-1)
        self.size = size
        self.rank = rank
        self.where = where
        self.parents = parents
        self.dump = free
        self.length = free + 1
        self.runs = self._programme()

    def _programme(self) -> list[tuple[int, list[tuple[Any, ...]]]]:
        where = self.where
        runs: list[tuple[int, list[tuple[Any, ...]]]] = []
        last = -1
        steps: list[tuple[Any, ...]] = []
        for k, places in enumerate(where):
            count = len(places)
            kind = count if count < MANY else MANY
            if kind != last:
                steps = []
                runs.append((kind, steps))
                last = kind
            if kind == ONE:
                ((i, p),) = places.items()
                steps.append((k, i, p))
            elif kind == LONE:
                steps.append((k,))
            elif kind == TWO:
                (i, p), (j, q) = places.items()
                steps.append((k, i, j, p, q, where[i][j]))
            else:
                rows = tuple(places)
                start = places[rows[0]]
                targets = [where[i][j] for a, i in enumerate(rows) for j in rows[a + 1 :]]
                steps.append((k, start, rows, tuple(targets)))
        return runs

    def slot(self, i: int, j: int) -> int:
        """Where the conductance between two different ranks lies; a rank of `size` is the fixed potential."""
        if i > j:
            i, j = j, i
        return self.where[i][j] if j < self.size else i
