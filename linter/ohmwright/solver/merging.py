"""Branches without resistance: nodes joined at a fixed difference of potential, and the currents in what joins them.

Such a branch says V[b] = V[a] + c. A forest of them carries all potentials of a group by one unknown; the current in each is
what Kirchhoff's law leaves at its end. Where they close a loop, the currents are shared as if all had the same small resistance
(the least sum of squares).
"""

from __future__ import annotations

from collections.abc import Sequence

from .elimination import factor, solve
from .ordering import Pattern

__all__ = ["Forest", "crossings", "grow"]

Pairs = tuple[list[int], list[int]]
Ends = tuple[Sequence[int], Sequence[int]]  # the first and the second node of each branch of a class


class Forest:
    """The joined groups as rooted trees.

    `down` lists the steps (child, parent, branch, child is the b of the branch) from the roots on; `extra` the branches that close
    a loop and `loops`, beside them, all branches of that loop.
    """

    __slots__ = ("down", "extra", "groups", "loops", "members", "merges")

    def __init__(self, merges: Pairs) -> None:
        self.merges = merges
        self.down: list[tuple[int, int, int, bool]] = []
        self.extra: list[int] = []
        self.loops: list[list[int]] = []
        self.members: list[int] = []
        self.groups: list[int] = []  # for each of `members`, the root of its tree

    def offsets(self, nodes: int, volts: list[float]) -> list[float]:
        """The potential of every node against the unknown of its group."""
        offset = [0.0] * nodes
        for child, parent, k, is_b in self.down:
            offset[child] = offset[parent] + volts[k] if is_b else offset[parent] - volts[k]
        return offset

    def currents(self, leaving: list[float]) -> list[float]:
        """The current from a to b in every joining branch, from the currents that leave each node by all others (used up)."""
        flow = [0.0] * len(self.merges[0])
        if self.extra:
            self._share(leaving, flow)
        for child, parent, k, is_b in reversed(self.down):
            here = leaving[child]
            flow[k] += here if is_b else -here
            leaving[parent] += here
        return flow

    def _share(self, leaving: list[float], flow: list[float]) -> None:
        """Set the currents of the loop-closing branches so that the sum of all squares is least, and take them out of `leaving`."""
        ones, others = self.merges
        home = dict(zip(self.members, self.groups, strict=True))
        closing = [k for k in self.extra if ones[k] != others[k]]
        looped = {home[ones[k]] for k in closing}
        number: dict[int, int] = {}
        for v in self.members:
            if home[v] in looped and home[v] != v:
                number[v] = len(number)
        branches = [k for _, _, k, _ in self.down if home[ones[k]] in looped] + closing
        adjacency: list[set[int]] = [set() for _ in number]
        for k in branches:
            x, y = number.get(ones[k], -1), number.get(others[k], -1)
            if x >= 0 and y >= 0 and x != y:
                adjacency[x].add(y)
                adjacency[y].add(x)
        pattern = Pattern(adjacency)
        place = {v: pattern.rank[x] for v, x in number.items()}
        fixed = pattern.size
        values = [0.0] * pattern.length
        for k in branches:
            values[pattern.slot(place.get(ones[k], fixed), place.get(others[k], fixed))] += 1.0
        right = [0.0] * (fixed + 1)
        for v, x in place.items():
            right[x] = -leaving[v]
        pivots = factor(pattern, values)
        solve(pattern, values, pivots, right)
        right[fixed] = 0.0
        for k in closing:
            a, b = ones[k], others[k]
            flow[k] = i = right[place.get(a, fixed)] - right[place.get(b, fixed)]
            leaving[a] += i
            leaving[b] -= i


def grow(merges: Pairs, tree: list[int], extra: list[int], prefer: list[int]) -> Forest:
    """Root the trees, at the nodes of `prefer` where one of them is a member."""
    forest = Forest(merges)
    ones, others = merges
    near: dict[int, list[tuple[int, int, bool]]] = {}
    for k in tree:
        a, b = ones[k], others[k]
        near.setdefault(a, []).append((b, k, True))
        near.setdefault(b, []).append((a, k, False))
    above: dict[int, tuple[int, int]] = {}
    seen: set[int] = set()
    down = forest.down
    for start in (*prefer, *sorted(near)):
        if start in seen or start not in near:
            continue
        seen.add(start)
        stack = [start]
        for parent in stack:
            forest.members.append(parent)
            forest.groups.append(start)
            for child, k, is_b in near[parent]:
                if child not in seen:
                    seen.add(child)
                    stack.append(child)
                    above[child] = (parent, k)
                    down.append((child, parent, k, is_b))
    forest.extra = extra
    forest.loops = [_loop(above, ones[k], others[k], k) for k in extra]
    return forest


def _loop(above: dict[int, tuple[int, int]], a: int, b: int, closing: int) -> list[int]:
    """The branches on the way from a to b in the forest, and the one that closes the loop."""
    up: dict[int, int] = {a: 0}
    way: list[int] = []
    v = a
    while v in above:
        v, k = above[v]
        way.append(k)
        up[v] = len(way)
    back: list[int] = []
    v = b
    while v not in up:
        v, k = above[v]
        back.append(k)
    return [*way[: up[v]], *back, closing]


def crossings(
    forest: Forest,
    branch: int,
    branches: Sequence[Ends],
    pairs: Sequence[Sequence[int]],
    two_ports: Sequence[Sequence[int]],
    own: int,
) -> list[tuple[int, int, int]]:
    """What the current of a joining branch is made of: (class, index, sign) of all that leaves one of its two sides.

    The classes are those of `branches`, in their order, then pairs and two-ports; the sum of sign * current over the result is the current from a to b
    in the branch. What the input of the pair `own` takes follows from that current: of the two sides the one is taken whose sum does not contain it, since
    with it the sum of a controller that passes its current on would be that current itself, and say nothing.
    """
    inside: set[int] = set()
    sign = 1
    for child, parent, k, is_b in forest.down:
        if k == branch:
            inside.add(child)
            sign = 1 if is_b else -1
        elif parent in inside:
            inside.add(child)
    plus, minus = pairs[own][:2]
    if sign * ((plus in inside) - (minus in inside)) > 0:
        group = dict(zip(forest.members, forest.groups, strict=True))
        start = group[next(iter(inside))]
        inside = {v for v in forest.members if group[v] == start and v not in inside}
        sign = -sign
    found: list[tuple[int, int, int]] = []
    for kind, (starts, ends) in enumerate(branches):
        for k, (a, b) in enumerate(zip(starts, ends, strict=True)):
            leaves = (a in inside) - (b in inside)
            if leaves:
                found.append((kind, k, sign * leaves))
    kind = len(branches)
    for k, four in enumerate(pairs):
        leaves = (four[0] in inside) - (four[1] in inside)
        if leaves:
            found.append((kind, k, sign * leaves))
    for k, four in enumerate(two_ports):
        leaves = (four[0] in inside) - (four[1] in inside) - (four[2] in inside) + (four[3] in inside)
        if leaves:
            found.append((kind + 1, k, sign * leaves))
    return found
