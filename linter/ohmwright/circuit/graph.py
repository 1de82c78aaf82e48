"""The circuit of a build as a graph: nodes, branches that current may pass, and what feeds and what takes.

Nothing here knows of a state: a branch names the gate that opens it (a switch, a fuse, a mating, a relay), and whoever asks says which gates
are open.
"""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Callable, Collection, Iterable, Iterator
from dataclasses import field
from typing import Literal

from ohmwright_grammar.kinds.conductor import Conductor
from ohmwright_grammar.kinds.part import Part
from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Span

__all__ = ["Branch", "BranchKind", "Circuit", "Consumer", "ConsumerKind", "Source", "SourceKind"]

BranchKind = Literal[
    "wire",
    "joint",
    "fuse",
    "breaker",
    "switch",
    "relay",
    "contact",
    "selector",
    "disconnect",
    "shunt",
    "diode",
    "inside",
    "resistor",
]
SourceKind = Literal["battery", "array", "charger", "controller", "converter"]
ConsumerKind = Literal["load", "inverter", "converter", "drain", "coil"]


@record
class Branch:
    """A way for current between two nodes; positive from `start` to `end`.

    `ohm` is the resistance at 20 degC and `alpha` its coefficient [1/K] (0 for what does not follow the copper); `gate` names what opens the branch,
    "" where nothing does. `assumed` tells that the resistance was not declared.
    """

    name: str
    kind: BranchKind
    start: str
    end: str
    part: str
    ohm: float
    span: Span = field(compare=False)
    gate: str = ""
    alpha: float = 0.0
    zone: str = ""
    assumed: bool = False
    conductor: Conductor | None = field(default=None, compare=False)

    @property
    def device(self) -> bool:
        """Tell whether the branch is an overcurrent device."""
        return self.kind in ("fuse", "breaker")

    def other(self, node: str) -> str:
        """Return the far end as seen from one end."""
        return self.end if node == self.start else self.start


@record
class Source:
    """Something that can push current out of its plus node.

    `limit` [A] is what it gives at most where that is declared or follows from its kind (a charger, an array); None where
    only resistance limits it (a battery). `through` names the branch-like gate that it depends on (a charger's mains, an array's sun).
    """

    name: str
    kind: SourceKind
    plus: str
    minus: str
    part: Part = field(compare=False)
    limit: float | None = None


@record
class Consumer:
    """Something that takes current in at its plus node."""

    name: str
    kind: ConsumerKind
    plus: str
    minus: str
    part: Part = field(compare=False)


@record
class Circuit:
    """The graph of one build. `ac_nodes` are those that carry mains or an inverter's output; they are not part of the DC graph."""

    nodes: tuple[str, ...]
    branches: tuple[Branch, ...]
    sources: tuple[Source, ...]
    consumers: tuple[Consumer, ...]
    ac_nodes: frozenset[str]
    case_nodes: frozenset[str]
    ac_branches: tuple[Branch, ...]
    by_name: dict[str, Branch] = field(compare=False)
    at_node: dict[str, tuple[Branch, ...]] = field(compare=False)
    of_part: dict[str, tuple[str, ...]] = field(compare=False)

    @staticmethod
    def of(
        nodes: Iterable[str],
        branches: Iterable[Branch],
        sources: Iterable[Source],
        consumers: Iterable[Consumer],
        ac_nodes: frozenset[str],
        case_nodes: frozenset[str],
        ac_branches: Iterable[Branch] = (),
    ) -> Circuit:
        """Return a circuit with its indices made."""
        all_branches = tuple(branches)
        all_nodes = tuple(nodes)
        of_part: dict[str, list[str]] = defaultdict(list)
        for node in all_nodes:
            of_part[node.rpartition(".")[0] or node].append(node)
        at_node: dict[str, list[Branch]] = defaultdict(list)
        for branch in all_branches:
            at_node[branch.start].append(branch)
            at_node[branch.end].append(branch)
        return Circuit(
            all_nodes,
            all_branches,
            tuple(sources),
            tuple(consumers),
            ac_nodes,
            case_nodes,
            tuple(ac_branches),
            {branch.name: branch for branch in all_branches},
            {node: tuple(found) for node, found in at_node.items()},
            {part: tuple(found) for part, found in of_part.items()},
        )

    # walks -------------------------------------------------------------------------------------------------------

    def reach(
        self, start: str | Iterable[str], passes: Callable[[Branch], bool] | None = None, open_gates: Collection[str] = ()
    ) -> set[str]:
        """Return the nodes that are joined with `start` through branches that pass and whose gates are closed."""
        queue = deque([start] if isinstance(start, str) else start)
        seen = set(queue)
        while queue:
            node = queue.popleft()
            for branch in self.at_node.get(node, ()):
                if branch.gate and branch.gate in open_gates:
                    continue
                if passes is not None and not passes(branch):
                    continue
                other = branch.other(node)
                if other not in seen:
                    seen.add(other)
                    queue.append(other)
        return seen

    def path(
        self,
        start: str,
        ends: Collection[str],
        passes: Callable[[Branch], bool] | None = None,
        open_gates: Collection[str] = (),
    ) -> tuple[Branch, ...] | None:
        """Return a way with the fewest branches from `start` to the nearest of `ends`, None where there is none."""
        if start in ends:
            return ()
        queue = deque([start])
        came: dict[str, tuple[str, Branch]] = {}
        seen = {start}
        while queue:
            node = queue.popleft()
            for branch in self.at_node.get(node, ()):
                if branch.gate and branch.gate in open_gates:
                    continue
                if passes is not None and not passes(branch):
                    continue
                other = branch.other(node)
                if other in seen:
                    continue
                seen.add(other)
                came[other] = (node, branch)
                if other in ends:
                    way: list[Branch] = []
                    while other != start:
                        other, branch = came[other]
                        way.append(branch)
                    return tuple(reversed(way))
                queue.append(other)
        return None

    def wires(self) -> Iterator[Branch]:
        """Yield every branch that is a conductor (wires, cores, jumpers) of the DC graph."""
        return (branch for branch in self.branches if branch.conductor is not None)

    def gates(self) -> tuple[str, ...]:
        """Return the names of everything that can open a branch, in name order."""
        return tuple(sorted({branch.gate for branch in self.branches if branch.gate}))

    def nodes_of(self, part: str) -> tuple[str, ...]:
        """Return the nodes of one part: its terminals that something is joined to, or itself where it is one node."""
        return self.of_part.get(part, ())

    def branches_of(self, part: str) -> tuple[Branch, ...]:
        """Return the branches that belong to one part (the poles of a switch, the contacts of a mating)."""
        return tuple(branch for branch in self.branches if branch.part == part)
