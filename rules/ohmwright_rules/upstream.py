"""The most that can flow through a part: the devices before it in sum, the limits of its sources, the devices that it ends in.

On the live side the flow into either end counts, the larger of the two. On the return side it is the largest flow between what returns through the part and all the rest.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property, partial
from itertools import combinations

from ohmwright.circuit.graph import Branch
from ohmwright.protection.bridges import bridges
from ohmwright.protection.flows import Feed, Flow, Flows
from ohmwright.protection.largest_flow import Cut, FlowNet, Link
from ohmwright.protection.poles import Pole, Poles
from ohmwright.protection.ways import DEVICE, ONE_WAY, Ways
from ohmwright.study import Study
from ohmwright_grammar.kinds.connector import Half
from ohmwright_grammar.kinds.controller import Controller
from ohmwright_grammar.kinds.switch import Disconnect
from ohmwright_grammar.records import record

from ohmwright_rules.guarding import power_sides, push_of, rating_of
from ohmwright_rules.outlets import takes_a_load

__all__ = ["Through", "Upstream", "upstreams"]

_INFINITE = float("inf")
_MOST_SIDES = 8  # ways into a bar whose directions are tried one by one
_MOST_STEPS = 300_000  # so much looking at parts on the return side; beyond, everything that can flow at all counts


Pieces = tuple[tuple[str, float], ...]


def _no_pieces() -> Pieces:
    return ()


@record
class Through:
    """The most that can flow through a part [A]; `node` is where it comes in, `tell` names the devices and sources that bound it."""

    ampere: float
    tell: Callable[[], Pieces]
    node: str
    beyond: str  # a node on the side to which it flows
    loose: bool = False  # more than can flow here: the build is too large to look at each part of its return side

    @property
    def pieces(self) -> Pieces:
        """The devices and sources that bound it, each with its amperes, in name order."""
        return self.tell()


_NOTHING = Through(0.0, _no_pieces, "", "")


class Upstream:
    """The flows of one setting, with what is not declared at `unknown` amperes."""

    def __init__(self, study: Study, poles: Poles, unknown: float, without: frozenset[str] = frozenset()) -> None:
        self.study = study
        self.poles = poles
        self.without = without
        self.ways: Ways = poles.ways
        self.unknown = unknown
        self._steps = 0
        self._cuts: dict[tuple[frozenset[int], bool | None, bool | None], Through] = {}

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
        rating = rating_of(self.study, self.ways.wire(edge))
        return self.unknown if rating is None else rating

    @cached_property
    def flows(self) -> tuple[Flows, ...]:
        """The flows from sources whose plus is live, and from those whose minus is."""
        found = []
        for backwards in (False, True):
            feeds = [
                Feed(pole.source.name, pole.cluster, self.unknown if (push := push_of(pole.source)) is None else push)
                for pole in self.poles.all
                if pole.backwards == backwards and pole.source.name not in self.without
            ]
            if feeds:
                found.append(Flows(self.ways, feeds, self.capacity, backwards))
        return tuple(found)

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
    def _inputs(self) -> tuple[tuple[str, str], ...]:
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
        nodes.update(node for pair in self._inputs for node in pair)
        mated = {name for mating in self.study.build.matings for name in (mating.first, mating.second)}
        for name in self.open_halves - mated:
            nodes.update(circuit.nodes_of(name))
        return frozenset(cluster[node] for node in nodes if node in cluster)

    # the live side ---------------------------------------------------------------------------------------------------

    def through_branch(self, branch: Branch) -> Through:
        """Return the most that can flow through a branch that stays an edge of its own, in the larger of its directions."""
        edge = self.ways.edge_of.get(branch.name)
        if edge is None:
            return _NOTHING
        best = _NOTHING
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
        best = _NOTHING
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
        best = _NOTHING
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
        if len(feeders) > _MOST_SIDES:
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

    # the return side -------------------------------------------------------------------------------------------------

    def through_return(self, branch: Branch) -> Through | None:
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

    def through_return_node(self, node: str) -> Through | None:
        """Return the most that comes to a bar of the return side on some of its ways and leaves on the others; None for what is no such bar."""
        cluster = self.ways.cluster.get(node)
        if cluster is None or not self.poles.returns[cluster]:
            return None
        sides = [self._subtree(child) for child in self._hanging.get(cluster, ())]
        whole = self._subtree(cluster)
        giving = [side for side in sides if side is not None and not side.isdisjoint(self._feet)]
        if whole is None or len(giving) > _MOST_SIDES or None in sides:
            return self._everything
        rest = whole.difference(*giving)
        cuts = [(self._cut(side, True, False), self._cut(side, False, True)) for side in giving]
        cuts.append((self._cut(whole, False, True), self._cut(whole, True, False)))  # the side of the first battery
        others = self._cut(rest, True, False)
        best = _NOTHING
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
            return _NOTHING
        for cluster, back in self._takers:
            if taking is None or (back in inside) == taking:
                sinks[cluster] = None
        found = self._live_net.between(supplies, sinks)
        return Through(found.flow.ampere, partial(self._pieces, found, inside, giving), "", "")

    def _pieces(self, cut: Cut, inside: frozenset[int], giving: bool | None) -> Pieces:
        pieces = {self.ways.wire(edge).name: self.capacity(edge) for edge in cut.edges}
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
            found.append((pole, foot, self.unknown if push is None else push))
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
                most = self.capacity(edge) if kind == DEVICE else _INFINITE
                found.append(Link(edge, one, two, most, 0.0 if kind == ONE_WAY else most))
        return tuple(found)

    @cached_property
    def _takers(self) -> tuple[tuple[int, int], ...]:
        """Everything that takes current: the live and the return cluster of each consumer and of each outlet."""
        circuit, cluster, poles = self.study.circuit, self.ways.cluster, self.poles
        # A disconnect between two devices takes next to nothing for itself: the lead that it lies in counts once, not as fed from both of its ends.
        pairs = [
            (item.plus, item.minus)
            for item in circuit.consumers
            if not (item.kind == "drain" and isinstance(item.part, Disconnect))
        ]
        pairs.extend(self._inputs)
        for half in self.study.of(Half):
            if half.name in self.open_halves:
                nodes = [node for node in circuit.nodes_of(half.name) if node in cluster]
                backs = [node for node in nodes if poles.returns[cluster[node]]]
                pairs.extend((node, back) for node in nodes if poles.live[cluster[node]] for back in backs[:1])
        found = []
        for plus, minus in pairs:
            one, two = cluster[plus], cluster[minus]
            if poles.live[one] != poles.live[two]:
                found.append((one, two) if poles.live[one] else (two, one))
        return tuple(dict.fromkeys(found))


def upstreams(
    study: Study, unknown: float, stays: Callable[[Branch], bool], without: frozenset[str] = frozenset()
) -> tuple[Upstream, ...]:
    """Return the flows of every setting; `stays` tells of the branches that are looked at, `without` of sources that push nothing on the live side."""
    return tuple(Upstream(study, poles, unknown, without) for poles in power_sides(study, stays))
