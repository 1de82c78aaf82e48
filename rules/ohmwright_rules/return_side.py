"""The most that can flow through a part of the return side: the largest flow between what returns through it and all the rest."""

from __future__ import annotations

from functools import cached_property, partial
from itertools import combinations
from typing import TYPE_CHECKING

from ohmwright.protection.bridges import bridges
from ohmwright.protection.flows import Flow
from ohmwright.protection.largest_flow import Cut, FlowNet, Link
from ohmwright.protection.poles import Pole
from ohmwright.protection.ways import DEVICE, ONE_WAY, Ways
from ohmwright_grammar.kinds.connector import Half
from ohmwright_grammar.kinds.switch import Disconnect

from ohmwright_rules.live_sides import push_of
from ohmwright_rules.through import NOTHING, Pieces, Through

if TYPE_CHECKING:
    from ohmwright.circuit.graph import Branch

    from ohmwright_rules.upstream import Upstream

__all__ = ["MOST_SIDES", "ReturnSide"]

_INFINITE = float("inf")
MOST_SIDES = 8  # ways into a bar whose directions are tried one by one
_MOST_STEPS = 300_000  # so much looking at parts; beyond, everything that can flow at all counts


class ReturnSide:
    """The return side of one setting, with the flows before it."""

    def __init__(self, before: Upstream) -> None:
        self.before = before
        self.poles = before.poles
        self.ways: Ways = before.ways
        self._steps = 0
        self._cuts: dict[tuple[frozenset[int], bool | None, bool | None], Through] = {}

    def through_branch(self, branch: Branch) -> Through | None:
        """Return the largest flow between what returns through a branch and all the rest; None where it is no such branch."""
        edge = self.ways.edge_of.get(branch.name)
        if edge is None or edge not in self._return_bridges:
            return None
        one, two = self.ways.a[edge], self.ways.b[edge]
        child = one if self._toward.get(one) == edge else two
        inside = self._subtree(child)
        if inside is None:
            return self._everything
        return max((self._cut(inside, True, False), self._cut(inside, False, True)), key=lambda item: item.ampere)

    def through_node(self, node: str) -> Through | None:
        """Return the most that comes to a bar of the return side on some of its ways and leaves on the others; None for what is no such bar."""
        cluster = self.ways.cluster.get(node)
        if cluster is None or not self.poles.returns[cluster]:
            return None
        sides = [self._subtree(child) for child in self._hanging.get(cluster, ())]
        whole = self._subtree(cluster)
        giving = [side for side in sides if side is not None and not side.isdisjoint(self._feet)]
        if whole is None or len(giving) > MOST_SIDES or None in sides:
            return self._everything
        rest = whole.difference(*giving)
        cuts = [(self._cut(side, True, False), self._cut(side, False, True)) for side in giving]
        cuts.append((self._cut(whole, False, True), self._cut(whole, True, False)))  # the side of the first battery
        others = self._cut(rest, True, False)
        best = NOTHING
        for size in range(1, len(cuts) + 1):
            for chosen in combinations(range(len(cuts)), size):
                let_out = [cuts[number][1] for number in chosen]
                let_in = [others, *(cuts[number][0] for number in range(len(cuts)) if number not in chosen)]
                side = min((let_out, let_in), key=lambda items: sum(item.ampere for item in items))
                ampere = sum(item.ampere for item in side)
                if ampere > best.ampere:
                    pieces = dict(piece for item in side for piece in item.pieces)
                    best = Through(ampere, partial(tuple, sorted(pieces.items())), "", "")
        return best

    @cached_property
    def _feet(self) -> frozenset[int]:
        """The clusters at which sources have their returns."""
        cluster = self.ways.cluster
        return frozenset(cluster[pole.source.plus if pole.backwards else pole.source.minus] for pole in self.poles.all)

    @cached_property
    def _toward(self) -> dict[int, int]:
        """The edge by which each cluster of the return side hangs, towards the first battery (-1 at it)."""
        ways, live = self.ways, self.poles.live
        found: dict[int, int] = {}
        batteries = [pole for pole in self.poles.all if pole.source.kind == "battery"]
        starts = [ways.cluster[pole.source.plus if pole.backwards else pole.source.minus] for pole in batteries]
        starts += [cluster for cluster in range(ways.count) if self.poles.returns[cluster]]
        for start in starts:
            if start in found or live[start]:
                continue
            found[start] = -1
            queue = [start]
            for here in queue:
                for edge, far in (*ways.out[here], *ways.back[here]):
                    if far not in found and not live[far]:
                        found[far] = edge
                        queue.append(far)
        return found

    @cached_property
    def _return_bridges(self) -> set[int]:
        ways, live = self.ways, self.poles.live
        sides = [(edge, ways.a[edge], ways.b[edge]) for edge in range(len(ways.branches))]
        return bridges(ways.count, [item for item in sides if not live[item[1]] and not live[item[2]]])

    @cached_property
    def _hanging(self) -> dict[int, list[int]]:
        ways = self.ways
        found: dict[int, list[int]] = {}
        for cluster, edge in self._toward.items():
            if edge >= 0:
                found.setdefault(ways.b[edge] if ways.a[edge] == cluster else ways.a[edge], []).append(cluster)
        return found

    def _subtree(self, cluster: int) -> frozenset[int] | None:
        """Return the clusters that hang at one, itself among them; None where that was asked too often."""
        if self._steps > _MOST_STEPS:
            return None
        queue = [cluster]
        for here in queue:
            queue.extend(self._hanging.get(here, ()))
        self._steps += len(queue)
        return frozenset(queue)

    @cached_property
    def _everything(self) -> Through:
        found = self._cut(frozenset(), None, None)
        return Through(found.ampere, found.tell, "", "", loose=True)

    def _cut(self, inside: frozenset[int], taking: bool | None, giving: bool | None) -> Through:
        """Return the largest flow from sources to what takes: each where its return lies inside (True), outside (False), or anywhere (None)."""
        self._steps += len(self._links)
        known = self._cuts.get((inside, taking, giving))
        if known is None:
            known = self._cuts[inside, taking, giving] = self._work_out_cut(inside, taking, giving)
        return known

    def _work_out_cut(self, inside: frozenset[int], taking: bool | None, giving: bool | None) -> Through:
        supplies: dict[int, Flow] = {}
        sinks: dict[int, None] = {}
        for pole, foot, ampere in self._givers:
            if ampere > 0 and (giving is None or (foot in inside) == giving):
                known = supplies.get(pole.cluster, Flow(0.0, 0))
                supplies[pole.cluster] = Flow(known.ampere + ampere, known.pieces + 1)
            if pole.source.kind == "battery" and giving is not None and (foot in inside) == taking:
                sinks[pole.cluster] = None
        if not supplies:
            return NOTHING
        for cluster, back in self._takers:
            if taking is None or (back in inside) == taking:
                sinks[cluster] = None
        found = self._live_net.between(supplies, sinks)
        return Through(found.flow.ampere, partial(self._pieces, found, inside, giving), "", "")

    def _pieces(self, cut: Cut, inside: frozenset[int], giving: bool | None) -> Pieces:
        pieces = {self.ways.wire(edge).name: self.before.capacity(edge) for edge in cut.edges}
        for pole, foot, ampere in self._givers:
            if pole.cluster in cut.supplies and (giving is None or (foot in inside) == giving):
                pieces[pole.source.name] = ampere
        return tuple(sorted(pieces.items()))

    @cached_property
    def _givers(self) -> tuple[tuple[Pole, int, float], ...]:
        """Every source: its live pole, the cluster of its return, and what it gives [A]."""
        found = []
        for pole in self.poles.all:
            foot = self.ways.cluster[pole.source.plus if pole.backwards else pole.source.minus]
            push = push_of(pole.source)
            found.append((pole, foot, self.before.unknown if push is None else push))
        return tuple(found)

    @cached_property
    def _live_net(self) -> FlowNet:
        """The live side as a graph, laid out for supplies at every source."""
        return FlowNet(self._links, {pole.cluster: Flow(ampere, 1) for pole, _, ampere in self._givers})

    @cached_property
    def _links(self) -> tuple[Link, ...]:
        ways = self.ways
        found: list[Link] = []
        for edge, kind in enumerate(ways.kinds):
            one, two = ways.a[edge], ways.b[edge]
            if one != two and self.poles.live[one] and self.poles.live[two]:
                most = self.before.capacity(edge) if kind == DEVICE else _INFINITE
                found.append(Link(edge, one, two, most, 0.0 if kind == ONE_WAY else most))
        return tuple(found)

    @cached_property
    def _takers(self) -> tuple[tuple[int, int], ...]:
        """Everything that takes current: the live and the return cluster of each consumer and of each outlet."""
        circuit, cluster, poles = self.before.study.circuit, self.ways.cluster, self.poles
        # A disconnect between two devices takes next to nothing for itself: the lead that it lies in counts once, not as fed from both of its ends.
        pairs = [
            (item.plus, item.minus)
            for item in circuit.consumers
            if not (item.kind == "drain" and isinstance(item.part, Disconnect))
        ]
        pairs.extend(self.before.inputs)
        for half in self.before.study.of(Half):
            if half.name in self.before.open_halves:
                nodes = [node for node in circuit.nodes_of(half.name) if node in cluster]
                backs = [node for node in nodes if poles.returns[cluster[node]]]
                pairs.extend((node, back) for node in nodes if poles.live[cluster[node]] for back in backs[:1])
        found = []
        for plus, minus in pairs:
            one, two = cluster[plus], cluster[minus]
            if poles.live[one] != poles.live[two]:
                found.append((one, two) if poles.live[one] else (two, one))
        return tuple(dict.fromkeys(found))
