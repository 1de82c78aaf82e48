"""The structure of a network: which nodes are one, what is joined to what, in which order to eliminate.

A plan depends on topology only, never on a value, and so serves every state that has the same switches closed.
"""

from __future__ import annotations

from ..unions import root_of
from .merging import Forest, crossings, grow
from .ordering import Pattern

__all__ = [
    "CURVE",
    "CURVE_SOURCE",
    "DRAW",
    "FEED",
    "FEED_TIED",
    "HELD",
    "LOAD",
    "MERGE",
    "OFF_TIED",
    "PAIR_BY_CURRENT",
    "PAIR_BY_VOLTAGE",
    "SOURCE",
    "TWO_PORT",
    "Plan",
]

# A key is a flat row of numbers: two nodes for a resistor, else one of these codes and its nodes.
MERGE = -1  # a, b: no resistance
HELD = -2  # minus, plus: a voltage without resistance
SOURCE = -3  # minus, plus: a voltage behind a resistance
LOAD = -4  # plus, minus: constant power
DRAW = -5  # plus, minus: a fixed current taken
FEED = -6  # minus, plus: a fixed current given, open where it has no way back
CURVE = -7  # a, b: a curve that only takes
CURVE_SOURCE = -8  # plus, minus: a curve that can feed
FEED_TIED = -9  # minus, plus: a fixed current given, with a leak where nothing else joins the two
OFF_TIED = -10  # minus, plus: nothing, with a leak where nothing else joins the two
PAIR_BY_CURRENT = -11  # in plus, in minus: takes by what the HELD before it gives
PAIR_BY_VOLTAGE = -12  # in plus, in minus, out plus, out minus: takes by the voltage on its other side
TWO_PORT = -13  # in plus, in minus, out plus, out minus: the same current on both sides

_ARITY = {PAIR_BY_VOLTAGE: 4, TWO_PORT: 4}

Pairs = tuple[list[int], list[int]]


class Edges:
    """Branches of one class: their nodes, their unknowns, the place of their conductance, and whether they can carry current."""

    __slots__ = ("a", "b", "live", "node_a", "node_b", "slot")

    def __init__(self, nodes: Pairs) -> None:
        self.node_a, self.node_b = nodes
        self.a: list[int] = []
        self.b: list[int] = []
        self.slot: list[int] = []
        self.live: list[bool] = []


class Plan:
    """A compiled structure.

    Unknowns are numbered in the order of their elimination. `group[node]` is the unknown of a node, `size` for the fixed potential
    and `size + 1` where nothing feeds the node. `size + 1` also stands for both ends of a branch inside one group.
    """

    __slots__ = (
        "any_held",
        "curves",
        "draws",
        "feeds",
        "forest",
        "group",
        "held_rows",
        "home",
        "islands",
        "linear",
        "loads",
        "merges",
        "pairs",
        "pattern",
        "resistors",
        "size",
        "ties",
        "touching",
        "two_ports",
    )

    def __init__(self, key: tuple[int, ...], nodes: int, references: tuple[int, ...], whole: bool = False) -> None:
        resistors: Pairs = ([], [])
        classes: dict[int, Pairs] = {}
        held: list[int] = []
        sources: list[tuple[int, int]] = []
        tied: list[tuple[int, int]] = []
        merges: Pairs = ([], [])
        self.pairs: list[tuple[int, int, int, int]] = []  # in plus, in minus, out plus, out minus
        self.two_ports: list[tuple[int, int, int, int]] = []
        rows: list[tuple[int, int]] = []  # (pair, merge)
        feeds: Pairs = ([], [])
        curves: Pairs = ([], [])
        i = 0
        length = len(key)
        while i < length:
            code = key[i]
            if code >= 0:
                resistors[0].append(code)
                resistors[1].append(key[i + 1])
                i += 2
                continue
            a, b = key[i + 1], key[i + 2]
            i += 3
            if code in (MERGE, HELD):
                merges[0].append(a)
                merges[1].append(b)
                if code == HELD:
                    held.append(len(merges[0]) - 1)
                    sources.append((a, b))
            elif code in (FEED, FEED_TIED):
                feeds[0].append(a)
                feeds[1].append(b)
                sources.append((a, b))
                if code == FEED_TIED:
                    tied.append((a, b))
            elif code in (CURVE, CURVE_SOURCE):
                curves[0].append(a)
                curves[1].append(b)
                if code == CURVE_SOURCE:
                    sources.append((b, a))
            elif code == OFF_TIED:
                tied.append((a, b))
            elif code in _ARITY:
                four = (a, b, key[i], key[i + 1])
                i += 2
                if code == PAIR_BY_VOLTAGE:
                    self.pairs.append(four)
                else:
                    self.two_ports.append(four)
                    sources.append((four[3], four[2]))
            elif code == PAIR_BY_CURRENT:
                rows.append((len(self.pairs), len(merges[0]) - 1))
                self.pairs.append((a, b, -1, -1))
            else:
                one, two = classes.setdefault(code, ([], []))
                one.append(a)
                two.append(b)
                if code == SOURCE:
                    sources.append((a, b))
        plain = classes.get(SOURCE, ([], []))
        self.resistors = len(resistors[0])
        self.any_held = bool(held)
        self.merges = merges

        # Nodes joined without resistance are one group; `root` names it by one of its nodes.
        root = list(range(nodes))
        tree, extra = _unite(root, *merges)
        if tree:
            root = [root_of(root, v) for v in range(nodes)]
        # Groups that current can pass between are one island.
        island = root[:]
        _unite(island, *resistors)
        _unite(island, *plain)
        _unite(island, *curves)
        solid = fed = None
        ties: list[int] = []
        if tied:
            solid = [root_of(island, v) for v in range(nodes)]
            fed = {solid[minus] for minus, plus in sources if solid[minus] == solid[plus]}
            ties = _tie(island, tied, fed)
        self.ties = len(ties)
        island = [root_of(island, v) for v in range(nodes)]
        if solid and fed and ties:
            # A reference must not hang on a leak: first those that lie with a source.
            firm = tuple([v for v in references if solid[v] in fed])
            sources.sort(key=lambda s: solid[s[0]] not in fed)
            references = firm + tuple([v for v in references if island[v] not in {island[w] for w in fed}])
        fixed = _references(island, sources, references)
        if whole:
            for v in range(nodes):
                fixed.setdefault(island[v], v)
        self.home = island
        self.islands = _islands(island, fixed)

        self.forest: Forest | None = None
        self.touching: list[list[tuple[int, int, int]]] = []
        if tree or extra:
            self.forest = grow(merges, tree, extra, list(fixed.values()))
            looped = {k for loop in self.forest.loops for k in loop}
            rows = [row for row in rows if row[1] not in looped]  # the caller gives such a source a resistance

        # Unknowns: first the currents of held voltages that something else depends on, then the groups.
        number = [-2] * nodes
        grounds = {root[reference] for reference in fixed.values()}
        count = len(rows)
        for v in range(nodes):
            if root[v] == v:
                if v in grounds:
                    number[v] = -1
                elif island[v] in fixed:
                    number[v] = count
                    count += 1
        if tree:
            number = [number[r] for r in root]
        adjacency: list[set[int]] = [set() for _ in range(count)]

        linear = (
            resistors[0] + plain[0] + [tied[t][0] for t in ties],
            resistors[1] + plain[1] + [tied[t][1] for t in ties],
        )
        self.linear = Edges(linear)
        self.loads = Edges(classes.get(LOAD, ([], [])))
        self.draws = Edges(classes.get(DRAW, ([], [])))
        self.feeds = Edges(feeds)
        self.curves = Edges(curves)
        for edges in (self.linear, self.loads, self.curves):
            for a, b in zip(edges.node_a, edges.node_b, strict=True):
                x = number[a]
                y = number[b]
                if x >= 0 and y >= 0 and x != y and island[a] == island[b]:
                    adjacency[x].add(y)
                    adjacency[y].add(x)
        self.held_rows: list[tuple[int, int, list[tuple[int, int, int]]]] = []
        if self.pairs or self.two_ports:
            self._widen(adjacency, number, rows)
        self.pattern = Pattern(adjacency, range(len(rows)))
        size = self.size = self.pattern.size
        rank = self.pattern.rank
        places = [*rank, size + 1, size]  # number -1 is the fixed potential, -2 where nothing feeds
        self.group = [places[x] for x in number]
        self.held_rows = [(rank[j], merge, found) for j, merge, found in self.held_rows]
        for edges in self._classes:
            self._place(edges, island, number, fixed)
        if self.forest is not None:
            members = set(self.forest.members)
            self.touching = [_touching(edges, members) for edges in self._classes]
        if not (self.pairs or self.two_ports):
            self.pattern.where = []

    def _place(self, edges: Edges, island: list[int], number: list[int], fixed: dict[int, int]) -> None:
        group = self.group
        size = self.size
        where = self.pattern.where
        dump = self.pattern.dump
        for a, b in zip(edges.node_a, edges.node_b, strict=True):
            i = group[a]
            j = group[b]
            live = island[a] == island[b] and island[a] in fixed
            edges.live.append(live)
            if i == j or not live:
                edges.a.append(size + 1)
                edges.b.append(size + 1)
                edges.slot.append(dump)
                continue
            edges.a.append(i)
            edges.b.append(j)
            if i > j:
                i, j = j, i
            if j >= size:
                edges.slot.append(i)
            else:
                edges.slot.append(where[i].get(j, dump))

    def _widen(self, adjacency: list[set[int]], number: list[int], rows: list[tuple[int, int]]) -> None:
        """Let elements with two sides reach what they depend on."""
        for four in (*self.pairs, *self.two_ports):
            _join(adjacency, [number[v] for v in four if v >= 0])
        for j, (pair, merge) in enumerate(rows):
            assert self.forest is not None
            reach = crossings(
                self.forest, merge, [(e.node_a, e.node_b) for e in self._classes], self.pairs, self.two_ports, pair
            )
            self.held_rows.append((j, merge, reach))
            near = {number[v] for v in self.pairs[pair][:2]}
            for kind, k, _ in reach:
                near.update(number[v] for v in self.ends(kind, k) if v >= 0)
                if kind == 5:
                    near.update(other for other, (p, _) in enumerate(rows) if p == k and other != j)
            for x in near:
                if x >= 0:
                    adjacency[j].add(x)
                    adjacency[x].add(j)

    @property
    def _classes(self) -> tuple[Edges, ...]:
        return (self.linear, self.loads, self.curves, self.draws, self.feeds)

    def ends(self, kind: int, k: int) -> tuple[int, ...]:
        """The nodes of branch k of a class: 0 linear, 1 loads, 2 curves, 3 draws, 4 feeds, 5 pairs, 6 two-ports."""
        if kind == 5:
            return self.pairs[k]
        if kind == 6:
            return self.two_ports[k]
        edges = self._classes[kind]
        return (edges.node_a[k], edges.node_b[k])


def _unite(root: list[int], ones: list[int], others: list[int]) -> tuple[list[int], list[int]]:
    """Join the ends of edges; returns the indices of those that joined two sets and of those that closed a loop."""
    tree: list[int] = []
    extra: list[int] = []
    for k, (a, b) in enumerate(zip(ones, others, strict=True)):
        while root[a] != a:
            root[a] = a = root[root[a]]
        while root[b] != b:
            root[b] = b = root[root[b]]
        if a == b:
            extra.append(k)
        else:
            tree.append(k)
            if a < b:
                root[b] = a
            else:
                root[a] = b
    return tree, extra


def _tie(island: list[int], tied: list[tuple[int, int]], fed: set[int]) -> list[int]:
    """Join the poles of idle and current-held outputs where one of them is fed by nothing else; the indices that joined something.

    Two islands that are both fed (their roots are in `fed`) stay apart: nothing flows between them, and a leak would make up a
    voltage out of rounding.
    """
    fed = set(fed)
    joined = []
    for k, (minus, plus) in enumerate(tied):
        a, b = root_of(island, minus), root_of(island, plus)
        if a == b or (a in fed and b in fed):
            continue
        island[b] = a
        if b in fed:
            fed.add(a)
        joined.append(k)
    return joined


def _references(island: list[int], sources: list[tuple[int, int]], wanted: tuple[int, ...]) -> dict[int, int]:
    """The reference node of every island that a source feeds, by the island's root."""
    fed = {island[minus] for minus, plus in sources if island[minus] == island[plus]}
    fixed: dict[int, int] = {}
    for node in wanted:
        if island[node] in fed:
            fixed.setdefault(island[node], node)
    for minus, plus in sources:
        if island[minus] == island[plus]:
            fixed.setdefault(island[minus], minus)
    return fixed


def _islands(island: list[int], fixed: dict[int, int]) -> list[tuple[tuple[int, ...], int | None]]:
    members: dict[int, list[int]] = {}
    for v, r in enumerate(island):
        members.setdefault(r, []).append(v)
    return [(tuple(nodes), fixed.get(r)) for r, nodes in members.items()]


def _touching(edges: Edges, members: set[int]) -> list[tuple[int, int, int]]:
    """(node, branch, sign) wherever a branch ends at one of the nodes: +1 at its a, -1 at its b."""
    found = []
    for k, (a, b) in enumerate(zip(edges.node_a, edges.node_b, strict=True)):
        if a in members:
            found.append((a, k, 1))
        if b in members:
            found.append((b, k, -1))
    return found


def _join(adjacency: list[set[int]], unknowns: list[int]) -> None:
    for x in unknowns:
        for y in unknowns:
            if x >= 0 and y >= 0 and x != y:
                adjacency[x].add(y)
