"""The ways that a fault current can take, numbered: conductors and overcurrent devices between clusters of nodes.

A cluster holds all nodes that joints, switches, contacts and other short ways join; only conductors have a length, only devices open. Everything that can be
closed counts as closed. Where some things cannot be closed at the same time (the positions of a selector, switches that bar each other, plugs that
fit one socket), each choice is a setting of its own.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from itertools import product

from ohmwright_grammar.records import record

from ohmwright.circuit.banks import shorted_batteries
from ohmwright.circuit.graph import Branch, Circuit
from ohmwright.unions import root_of

__all__ = ["DEVICE", "MOST_SETTINGS", "ONE_WAY", "PASSING_OHM", "WIRE", "Passage", "Ways", "settings"]

WIRE, DEVICE, ONE_WAY = 0, 1, 2

PASSING_OHM = 0.1  # a resistor of more than this limits the current by itself and ends a walk: common practice, no source
MOST_SETTINGS = 64  # more choices than that are not told apart: everything counts as closed, which never hides a fault


@record
class Passage:
    """A way through a part that current can take in one direction only, for instance back through a controller into its array."""

    name: str
    start: str
    end: str


class Ways:
    """The graph of one setting.

    Edges are numbered: `branches`, `kinds`, `a`, `b` (clusters) and `lengths` [m] run beside each other; a length that nobody declared counts as 0 and is
    listed in `unmeasured`. `out` gives for every cluster the edges that current can leave by, with the cluster that they lead to; `back` those that it can
    come from. `cluster` maps each node to its cluster. Branches that `stays` tells of are edges of their own, as conductors without length, although they
    would join their nodes to one cluster.
    """

    __slots__ = (
        "a",
        "b",
        "back",
        "branches",
        "circuit",
        "cluster",
        "count",
        "edge_of",
        "kinds",
        "lengths",
        "members",
        "open_gates",
        "out",
        "stays",
        "unmeasured",
    )

    def __init__(
        self,
        circuit: Circuit,
        open_gates: Collection[str] = (),
        passages: Iterable[Passage] = (),
        stays: Callable[[Branch], bool] = lambda branch: False,
    ) -> None:
        self.circuit = circuit
        self.stays = stays
        self.open_gates = frozenset(open_gates)
        self.branches: list[Branch | Passage] = []
        self.kinds: list[int] = []
        self.a: list[int] = []
        self.b: list[int] = []
        self.lengths: list[float] = []
        self.unmeasured: set[int] = set()
        self.edge_of: dict[str, int] = {}
        kept = [branch for branch in circuit.branches if not branch.gate or branch.gate not in self.open_gates]
        self.cluster, self.count = _clusters(circuit, kept, stays)
        self.members: list[list[str]] = [[] for _ in range(self.count)]
        for node, number in self.cluster.items():
            self.members[number].append(node)
        self.out: list[list[tuple[int, int]]] = [[] for _ in range(self.count)]
        self.back: list[list[tuple[int, int]]] = [[] for _ in range(self.count)]
        for branch in kept:
            self._add(branch)
        for passage in passages:
            if passage.start in self.cluster and passage.end in self.cluster:
                self._edge(passage, ONE_WAY, passage.start, passage.end, 0.0)

    def _add(self, branch: Branch) -> None:
        if branch.conductor is not None:
            length = branch.conductor.length
            if length is None:
                self.unmeasured.add(len(self.branches))
            self._edge(branch, WIRE, branch.start, branch.end, float(length.high) if length is not None else 0.0)
        elif branch.device:
            self._edge(branch, DEVICE, branch.start, branch.end, 0.0)
        elif branch.kind == "diode":
            self._edge(branch, ONE_WAY, branch.start, branch.end, 0.0)
        elif self.stays(branch):
            self._edge(branch, WIRE, branch.start, branch.end, 0.0)

    def _edge(self, branch: Branch | Passage, kind: int, start: str, end: str, length: float) -> None:
        number = len(self.branches)
        one, two = self.cluster[start], self.cluster[end]
        self.branches.append(branch)
        self.kinds.append(kind)
        self.a.append(one)
        self.b.append(two)
        self.lengths.append(length)
        self.edge_of[branch.name] = number
        self.out[one].append((number, two))
        self.back[two].append((number, one))
        if kind != ONE_WAY:
            self.out[two].append((number, one))
            self.back[one].append((number, two))

    def wire(self, edge: int) -> Branch:
        """Return the branch of a conductor or device by its edge."""
        branch = self.branches[edge]
        assert isinstance(branch, Branch)
        return branch

    def of_kind(self, kind: int) -> list[int]:
        """Return the edges of one kind, in the order of the circuit."""
        return [edge for edge, found in enumerate(self.kinds) if found == kind]

    def reach(self, starts: Iterable[int], blocked: Callable[[int], bool] | None = None, backwards: bool = False) -> bytearray:
        """Return, by cluster, what current can come to from the starts over every edge that is not blocked (or come from, backwards)."""
        table = self.back if backwards else self.out
        seen = bytearray(self.count)
        queue = list(starts)
        for start in queue:
            seen[start] = 1
        while queue:
            for edge, far in table[queue.pop()]:
                if not seen[far] and not (blocked is not None and blocked(edge)):
                    seen[far] = 1
                    queue.append(far)
        return seen


def _joins(branch: Branch) -> bool:
    """Tell whether a branch makes its two nodes one cluster."""
    if branch.conductor is not None or branch.device or branch.kind == "diode":
        return False
    return branch.kind != "resistor" or (branch.ohm <= PASSING_OHM and not branch.assumed)


def _clusters(circuit: Circuit, branches: Iterable[Branch], stays: Callable[[Branch], bool]) -> tuple[dict[str, int], int]:
    root = {node: node for node in circuit.nodes}

    for branch in branches:
        for node in (branch.start, branch.end):
            root.setdefault(node, node)
        if _joins(branch) and not stays(branch):
            root[root_of(root, branch.start)] = root_of(root, branch.end)
    numbers: dict[str, int] = {}
    cluster = {node: numbers.setdefault(root_of(root, node), len(numbers)) for node in root}
    return cluster, len(numbers)


def settings(circuit: Circuit, barred: Iterable[Iterable[str]] = ()) -> tuple[frozenset[str], ...]:
    """Return the sets of open gates under which everything else can be closed at once, none of them within another.

    A selector gives one for each position that joins what no other position joins too; a group of `barred` gates one for each member that is closed.
    Beyond `MOST_SETTINGS` they are not told apart: then only the empty set is returned.
    """
    choices: list[list[frozenset[str]]] = []
    selectors: dict[str, dict[str, set[str]]] = {}
    for branch in circuit.branches:
        if branch.kind == "selector":
            selectors.setdefault(branch.part, {}).setdefault(branch.gate, set()).update((branch.start, branch.end))
    for positions in selectors.values():
        largest = [gate for gate, joined in positions.items() if not any(joined < other for other in positions.values())]
        choices.append([frozenset(gate for gate in positions if gate != chosen) for chosen in largest])
    gates = {branch.gate for branch in circuit.branches if branch.gate}
    for group in barred:
        known = sorted(set(group) & gates)
        if len(known) > 1:
            choices.append([frozenset(gate for gate in known if gate != chosen) for chosen in known])
    total = 1
    for choice in choices:
        total *= len(choice)
        if total > MOST_SETTINGS:
            return (frozenset(),)
    found = {frozenset().union(*chosen) for chosen in product(*choices)}
    if len(found) > 1:  # a setting that shorts a battery stands for no moment, and makes its return look live
        found = {gates for gates in found if not shorted_batteries(circuit, gates)} or found
    return tuple(sorted((gates for gates in found if not any(other < gates for other in found)), key=sorted))
