"""One network on its way to an operating point: its modes, its system, which of its loads can run."""

from __future__ import annotations

from .elements import Charger, Converter, Network, SeriesController, Tracker
from .flows import Flows
from .newton import LOST, SETTLED, balanced, scale_of, settle
from .operation import Conflict
from .plan import Plan
from .reading import Peak, Reading, read
from .supply import Loops, loops_of
from .system import System

__all__ = ["ALIVE", "Case", "Plans"]

ALIVE = 1e-3
"""Share of the largest voltage below which a load counts as dead: what reaches it is a leak, not a supply."""
_EQUAL = 1e-9
_KEEP = 100_000


class Plans:
    """Structures that were compiled before, by key; the oldest go when there are too many."""

    __slots__ = ("_held", "_plans")

    def __init__(self) -> None:
        self._plans: dict[tuple[tuple[int, ...], int, tuple[int, ...], bool], Plan] = {}
        self._held = 0

    def get(self, reading: Reading, network: Network, whole: bool = False) -> Plan:
        """The plan of a reading, compiled if it is new; `whole` counts islands without a source in."""
        key = (tuple(reading.key), network.nodes, network.references, whole)
        plan = self._plans.get(key)
        if plan is None:
            plan = Plan(*key)
            while self._plans and self._held > _KEEP:
                old = next(iter(self._plans))
                self._held -= len(old[0])
                del self._plans[old]
            self._plans[key] = plan
            self._held += len(key[0])
        return plan


class Case:
    """A network in given modes.

    `idle` says of each load that cannot run why: "dead" or "reversed". Of the consumers of constant power (loads and inputs of
    converters, by element), those in `followed` take the share `share` of their power, those in `silent` nothing.
    """

    __slots__ = (
        "_full",
        "_loops",
        "conflicts",
        "coupled",
        "followed",
        "idle",
        "loaded",
        "modes",
        "network",
        "peaks",
        "plans",
        "scale",
        "share",
        "silent",
        "soft",
        "system",
        "unsettled",
    )

    def __init__(self, network: Network, plans: Plans) -> None:
        self.network = network
        self.plans = plans
        self.modes: dict[int, str] = {}
        self.peaks: dict[int, Peak] = {}
        self.coupled: list[int] = []  # trackers whose input shares a return with their output
        self.soft: frozenset[int] = frozenset()
        self.idle: dict[int, str] = {}
        self.conflicts: list[Conflict] = []
        self.unsettled: tuple[str, ...] = ()
        self.followed: frozenset[int] = frozenset()
        self.silent: frozenset[int] = frozenset()
        self.share = 1.0
        self.loaded = False
        self._full: tuple[list[float], ...] | None = None
        self._loops: Loops | None = None
        self.scale = 1.0
        self.system: System

    @property
    def loops(self) -> Loops:
        """The loops of the network, found once."""
        if self._loops is None:
            self._loops = loops_of(self.network)
        return self._loops

    def varied(self, network: Network) -> Case:
        """A case of a network with the same structure, whose loads take otherwise, built in the modes of this one."""
        case = Case(network, self.plans)
        case.modes, case.peaks, case.idle = dict(self.modes), self.peaks, dict(self.idle)
        case.scale, case._loops = self.scale, self._loops
        case.build()
        return case

    def build(self) -> System:
        """The system of the present modes, without any voltage yet."""
        self.soft = frozenset()
        while True:
            reading = read(self.network, self.modes, self.soft, self.peaks)
            plan = self.plans.get(reading, self.network)
            looped = self._looped(plan, reading)
            if not looped:
                break
            self.soft |= looped
        self.conflicts = _conflicts(plan, reading)
        system = self.system = System(plan, reading)
        self._full = None
        system.share = self.share
        if self.followed or self.silent:
            for k, element in enumerate(reading.load_elements):
                if element in self.followed:
                    system.loads_followed[k] = system.loads_steady[k]
                if element in self.followed or element in self.silent:
                    system.loads_steady[k] = 0.0
            for k, pair in enumerate(reading.pairs):
                if pair.element in self.followed:
                    system.pairs_followed[k] = 1.0
                if pair.element in self.followed or pair.element in self.silent:
                    system.pairs_steady[k] = 0.0
        return system

    def follow_to(self, share: float) -> None:
        """Set the share of the followed load."""
        self.share = self.system.share = share

    def _looped(self, plan: Plan, reading: Reading) -> frozenset[int]:
        """Outputs held at a voltage that would close a loop without resistance."""
        if plan.forest is None or not plan.forest.loops or not reading.held:
            return frozenset()
        return frozenset([reading.held[k] for loop in plan.forest.loops for k in loop if k in reading.held])

    def start(self, sort: bool) -> str:
        """Settle with every load off and nothing drawn by inputs of two-sided elements; `sort` finds out which loads can run."""
        self.unload()
        self.system.pairs_on = False
        outcome = settle(self.system, rough=True)
        if outcome != SETTLED:
            return outcome
        self.scale = self._nominal()
        if sort:
            self._sort_loads()
        return outcome

    def unload(self) -> None:
        """Switch every load off, and what converters draw."""
        system = self.system
        self.loaded = False
        self._full = (system.loads_steady, system.loads_followed, system.draws, system.pairs_steady, system.pairs_followed)
        system.loads_steady = system.loads_followed = [0.0] * len(system.loads_steady)
        system.draws = [0.0 if element >= 0 else i for i, element in zip(system.draws, system.reading.draw_loads, strict=True)]
        system.pairs_steady = system.pairs_followed = [0.0] * len(system.pairs_steady)
        system.fix_injections()

    def load(self) -> None:
        """Switch everything on that can run, after `unload` or a build."""
        system = self.system
        if self._full is not None:
            steady, followed, draws, system.pairs_steady, system.pairs_followed = self._full
            system.loads_steady, system.loads_followed, system.draws = steady, followed, draws
            self._full = None
        if self.idle:
            for k, element in enumerate(system.reading.load_elements):
                if element in self.idle:
                    system.loads_steady[k] = system.loads_followed[k] = 0.0
            for k, element in enumerate(system.reading.draw_loads):
                if element in self.idle:
                    system.draws[k] = 0.0
        system.fix_injections()
        self.loaded = True

    def _nominal(self) -> float:
        """The largest voltage that a source gives of itself, against which others count as none."""
        system = self.system
        volts = [abs(v) for v in (*system.reading.source_volts, *system.reading.merge_volts) if v]
        volts += [curve.open for curve in system.curves]
        for index in self.modes:
            element = self.network.elements[index]
            if isinstance(element, Charger | Converter | Tracker | SeriesController):
                volts.append(element.volt)
        return max(volts, default=0.0) or scale_of(system)

    def finish(self, loaded: bool) -> str:
        """Settle with everything on that `loaded` asks for, from where `start` left off."""
        system = self.system
        system.pairs_on = bool(system.plan.pairs)
        if loaded:
            self.load()
            return self._run()
        return settle(system, rough=True) if system.pairs_on else SETTLED

    def resume(self, old: System) -> str:
        """Settle with everything on, from the voltages of another system of the same network.

        The signs of the pivots tell whether the point found goes back to zero load, so that the start does not matter.
        """
        self.load()
        self.carry(old)
        self.system.pairs_on = bool(self.system.plan.pairs)
        return self._run()

    def _sort_loads(self) -> None:
        """Find the loads that nothing feeds, and those whose voltage has the wrong sign."""
        system = self.system
        least = ALIVE * self.scale
        self.idle = {}
        plan = system.plan
        loads = plan.loads
        for k, element in enumerate(system.reading.load_elements):
            u = system.across(loads.a[k], loads.b[k], system.load_emf[k]) if loads.live[k] else 0.0
            if u <= least:
                self.idle[element] = "reversed" if u < -least else "dead"
        for k, element in enumerate(system.reading.draw_loads):
            if element >= 0:
                u = system.volt(plan.draws.node_a[k], plan.draws.node_b[k]) if plan.draws.live[k] else 0.0
                if u <= least:
                    self.idle[element] = "reversed" if u < -least else "dead"

    def _run(self) -> str:
        outcome = settle(self.system)
        if outcome == SETTLED and not (self.upright() and (not self.system.pairs_on or balanced(self.system))):
            return LOST
        return outcome

    def upright(self) -> bool:
        """Whether every load that draws something has a positive voltage."""
        system = self.system
        loads = system.plan.loads
        return all(
            not (steady or (followed and system.share)) or system.across(a, b, e) > 0
            for steady, followed, a, b, e in zip(
                system.loads_steady, system.loads_followed, loads.a, loads.b, system.load_emf, strict=True
            )
        )

    def carry(self, old: System) -> None:
        """Take over the potentials of another system of the same network, as a start."""
        new = self.system
        group = new.plan.group
        offset = new.offset
        size = new.plan.size
        for node in range(len(group)):
            rank = group[node]
            if rank < size and old.plan.group[node] <= old.plan.size:
                where = old.plan.group[node]
                emf = (old.offset[node] if old.offset else 0.0) - (offset[node] if offset else 0.0)
                new.high[rank] = old.high[where] + emf
                new.low[rank] = old.low[where]
        if new.plan.held_rows:
            currents = Flows(old).currents
            for rank, merge, _ in new.plan.held_rows:
                new.high[rank] = currents.get(new.reading.merge_names[merge], 0.0)
        for a, b, e, curve in zip(new.plan.curves.a, new.plan.curves.b, new.curve_emf, new.curves, strict=True):
            curve.place(new.across(a, b, e))


def _conflicts(plan: Plan, reading: Reading) -> list[Conflict]:
    """Loops without resistance in which a voltage is left over."""
    if plan.forest is None or not plan.forest.extra or not plan.any_held:
        return []
    volts = reading.merge_volts
    offset = plan.forest.offsets(len(plan.group), volts)
    ones, others = plan.merges
    found = []
    for k, loop in zip(plan.forest.extra, plan.forest.loops, strict=True):
        left = volts[k] - (offset[others[k]] - offset[ones[k]])
        if abs(left) > _EQUAL * max(1.0, abs(volts[k])):
            found.append(Conflict(tuple([reading.merge_owners[b] for b in loop]), abs(left)))
    return found
