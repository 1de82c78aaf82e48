"""Bridges of a graph: edges on whose two sides nothing else joins."""

from __future__ import annotations

from collections.abc import Iterable

from ohmwright.unions import root_of

__all__ = ["bridges", "parts"]


def bridges(count: int, edges: Iterable[tuple[int, int, int]]) -> set[int]:
    """Return the names of the edges (name, one node, the other) that no loop goes through; nodes are 0 .. count - 1.

    Depth-first search with low points, without recursion.
    """
    near: list[list[tuple[int, int]]] = [[] for _ in range(count)]
    for name, one, two in edges:
        if one != two:
            near[one].append((name, two))
            near[two].append((name, one))
    depth = [-1] * count
    low = [0] * count
    found: set[int] = set()
    for root in range(count):
        if depth[root] >= 0 or not near[root]:
            continue
        depth[root] = low[root] = 0
        stack = [(root, -1, iter(near[root]))]
        while stack:
            here, came, rest = stack[-1]
            for name, far in rest:
                if name == came:
                    continue
                if depth[far] < 0:
                    depth[far] = low[far] = depth[here] + 1
                    stack.append((far, name, iter(near[far])))
                    break
                low[here] = min(low[here], depth[far])
            else:
                stack.pop()
                if stack:
                    before = stack[-1][0]
                    low[before] = min(low[before], low[here])
                    if low[here] > depth[before]:
                        found.add(came)
    return found


def parts(count: int, edges: Iterable[tuple[int, int]]) -> list[int]:
    """Return for every node the number of the part that it belongs to, parts counted from 0 in the order of their first nodes."""
    root = list(range(count))

    for one, two in edges:
        first, second = root_of(root, one), root_of(root, two)
        if first != second:
            root[max(first, second)] = min(first, second)
    numbers: dict[int, int] = {}
    return [numbers.setdefault(root_of(root, node), len(numbers)) for node in range(count)]
