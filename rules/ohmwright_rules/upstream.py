"""The most that can flow through a part: the devices before it in sum, the limits of its sources, the devices that it ends in.

On the live side the flow into either end counts, the larger of the two. The return side is a matter of its own (`return_side`).
"""

from __future__ import annotations

from functools import cached_property, partial
from itertools import combinations

from ohmwright.circuit.graph import Branch
from ohmwright.protection.flows import Feed, Flows
from ohmwright.protection.poles import Poles
from ohmwright.protection.ways import DEVICE, ONE_WAY, Ways
from ohmwright.study import Study
from ohmwright_grammar.kinds.connector import Half
from ohmwright_grammar.kinds.controller import Controller

from ohmwright_rules.guarding import rating_of
from ohmwright_rules.live_sides import push_of
from ohmwright_rules.outlets import takes_a_load
from ohmwright_rules.return_side import MOST_SIDES, ReturnSide
from ohmwright_rules.through import NOTHING, Through

__all__ = ["Upstream", "flows_of"]

_INFINITE = float("inf")


def flows_of(study: Study, poles: Poles, unknown: float, without: frozenset[str]) -> tuple[Flows, ...]:
    """Return the flows from the sources whose plus is live, and from those whose minus is, but for those in `without`.

    What nobody says of a source or a device counts as `unknown` [A].
    """
    found = []
    for backwards in (False, True):
        feeds = [
            Feed(pole.source.name, pole.cluster, unknown if (push := push_of(pole.source)) is None else push)
            for pole in poles.all
            if pole.backwards == backwards and pole.source.name not in without
        ]
        if feeds:
            found.append(Flows(poles.ways, feeds, lambda edge: _capacity(study, poles.ways, edge, unknown), backwards))
    return tuple(found)


def _capacity(study: Study, ways: Ways, edge: int, unknown: float) -> float:
    rating = rating_of(study, ways.wire(edge))
    return unknown if rating is None else rating


class Upstream:
    """The flows of one setting, with what is not declared at `unknown` amperes; the sources in `without` push nothing on the live side."""

    def __init__(self, study: Study, poles: Poles, unknown: float, without: frozenset[str]) -> None:
        self.study = study
        self.poles = poles
        self.without = without
        self.ways: Ways = poles.ways
        self.unknown = unknown

    @cached_property
    def returns(self) -> ReturnSide:
        """The return side of the same setting."""
        return ReturnSide(self)

    @cached_property
    def silent(self) -> str:
        """The name of a device or source that does not say how much it passes, "" where all do."""
        devices = sorted(
            self.ways.wire(edge).part
            for edge in self.ways.of_kind(DEVICE)
            if rating_of(self.study, self.ways.wire(edge)) is None
        )
        sources = [pole.source.name for pole in self.poles.all if push_of(pole.source) is None]
        return next(iter((*devices, *sources)), "")

    def capacity(self, edge: int) -> float:
        """Return the rating of a device [A]."""
        return _capacity(self.study, self.ways, edge, self.unknown)

    @cached_property
    def flows(self) -> tuple[Flows, ...]:
        """The flows from sources whose plus is live, and from those whose minus is."""
        return flows_of(self.study, self.poles, self.unknown, self.without)

    @cached_property
    def open_halves(self) -> frozenset[str]:
        """The names of the connector halves that a user can plug a load into."""
        return frozenset(half.name for half in self.study.of(Half) if takes_a_load(self.study, half))

    def _leads_out(self, edge: int, here: int) -> bool:
        """Tell whether an edge leads out of such a half into the plug that is in it."""
        branch = self.ways.branches[edge]
        if not isinstance(branch, Branch) or branch.kind != "contact":
            return False
        node = branch.start if self.ways.a[edge] == here else branch.end
        return self.study.build.nodes.get(node, "") in self.open_halves

    @cached_property
    def _consuming(self) -> frozenset[int]:
        """The clusters at which a consumer hangs by itself."""
        cluster = self.ways.cluster
        return frozenset(
            cluster[node] for item in self.study.circuit.consumers for node in (item.plus, item.minus) if node in cluster
        )

    @cached_property
    def inputs(self) -> tuple[tuple[str, str], ...]:
        """The plus and minus of the panel's input of every controller, which takes what its arrays give; not where its plus is the battery's as well."""
        cluster = self.ways.cluster
        found = []
        for part in self.study.of(Controller):
            plus, minus, out = (f"{part.name}.{terminal}" for terminal in ("pv_plus", "pv_minus", "batt_plus"))
            if plus in cluster and minus in cluster and cluster[plus] != cluster.get(out):
                found.append((plus, minus))
        return tuple(found)

    @cached_property
    def busy(self) -> frozenset[int]:
        """The clusters at which something hangs that gives or takes, an outlet among them."""
        circuit, cluster = self.study.circuit, self.ways.cluster
        nodes = {node for source in circuit.sources for node in (source.plus, source.minus)}
        nodes |= {node for consumer in circuit.consumers for node in (consumer.plus, consumer.minus)}
        nodes.update(node for pair in self.inputs for node in pair)
        mated = {name for mating in self.study.build.matings for name in (mating.first, mating.second)}
        for name in self.open_halves - mated:
            nodes.update(circuit.nodes_of(name))
        return frozenset(cluster[node] for node in nodes if node in cluster)

    # the live side ---------------------------------------------------------------------------------------------------

    def through_branch(self, branch: Branch) -> Through:
        """Return the most that can flow through a branch that stays an edge of its own, in the larger of its directions."""
        edge = self.ways.edge_of.get(branch.name)
        if edge is None:
            return NOTHING
        best = NOTHING
        for flows in self.flows:
            feeding = flows.into(branch)
            for flow, into_end in ((feeding.into_start, False), (feeding.into_end, True)):
                if self.ways.kinds[edge] == ONE_WAY and into_end != flows.backwards:
                    continue
                node, beyond = (branch.end, branch.start) if into_end else (branch.start, branch.end)
                let_out = _INFINITE
                if not self._leads_out(edge, self.ways.cluster[node]):
                    let_out = self._let_out(edge, self.ways.cluster[beyond])
                ampere = min(flow.ampere, let_out)
                if ampere > best.ampere:
                    best = Through(ampere, partial(flows.pieces, branch, into_end), node, beyond)
        return best

    def through_node(self, node: str) -> Through:
        """Return the most that can flow through a bar or a block: in on some of its ways and out on the others."""
        cluster = self.ways.cluster.get(node)
        best = NOTHING
        for flows in self.flows if cluster is not None else ():
            assert cluster is not None
            total = flows.at(cluster)
            if total.ampere <= best.ampere:
                continue
            ampere = min(total.ampere, self._partition(flows, cluster))
            if ampere > best.ampere:
                best = Through(ampere, partial(flows.pieces_at, cluster), node, node)
        return best

    def into_node(self, node: str) -> Through:
        """Return the most that can flow to a node from all sides: to the pin of an open outlet."""
        cluster = self.ways.cluster.get(node)
        best = NOTHING
        for flows in self.flows if cluster is not None else ():
            assert cluster is not None
            total = flows.at(cluster)
            if total.ampere > best.ampere:
                best = Through(total.ampere, partial(flows.pieces_at, cluster), node, node)
        return best

    def _partition(self, flows: Flows, cluster: int) -> float:
        """Return the most that comes in on some ways of a cluster and leaves on the others."""
        ways = self.ways
        sides: list[tuple[float, float]] = []
        for source in (pole for pole in self.poles.at(cluster) if pole.source.name not in self.without):
            push = push_of(source.source)
            sides.append((self.unknown if push is None else push, _INFINITE if push == _INFINITE else 0.0))
        if cluster in self._consuming:
            return _INFINITE
        edges = {edge for edge, _ in (*ways.out[cluster], *ways.back[cluster])}
        for edge in sorted(edges):
            far = ways.b[edge] if ways.a[edge] == cluster else ways.a[edge]
            if far == cluster:
                continue
            if ways.kinds[edge] == ONE_WAY:
                return _INFINITE
            feeding = flows.into(ways.wire(edge))
            into_far = feeding.into_end if ways.b[edge] == far else feeding.into_start
            let_in = min(into_far.ampere, self.capacity(edge)) if ways.kinds[edge] == DEVICE else into_far.ampere
            sides.append((let_in, self._let_out(-1, far, edge)))
        feeders = [number for number, (let_in, _) in enumerate(sides) if let_in > 0]
        rest = sum(let_out for let_in, let_out in sides if let_in <= 0)
        if len(feeders) > MOST_SIDES:
            return sum(let_in for let_in, _ in sides)
        best = 0.0
        for size in range(1, len(feeders) + 1):
            for chosen in combinations(feeders, size):
                let_in = sum(sides[number][0] for number in chosen)
                let_out = rest + sum(sides[number][1] for number in feeders if number not in chosen)
                best = max(best, min(let_in, let_out))
        return best

    def _let_out(self, without: int, start: int, through: int = -1) -> float:
        """Return what the devices let out that a part ends in beyond a cluster [A]; infinite where something hangs there without one."""
        ways = self.ways
        if through >= 0 and ways.kinds[through] == DEVICE:
            return self.capacity(through)
        barred = without if without >= 0 else through
        seen = {start}
        queue = [start]
        total = 0.0
        devices: set[int] = set()
        for here in queue:
            if here in self.busy:
                return _INFINITE
            for edge, far in (*ways.out[here], *ways.back[here]):
                if edge == barred or edge in devices:
                    continue
                if ways.kinds[edge] == DEVICE:
                    devices.add(edge)
                    total += self.capacity(edge)
                elif ways.kinds[edge] == ONE_WAY or self._leads_out(edge, here):
                    return _INFINITE
                elif far not in seen:
                    seen.add(far)
                    queue.append(far)
        return total
