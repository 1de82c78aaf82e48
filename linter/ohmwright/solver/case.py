"""One network on its way to an operating point: its modes, its system, which of its loads can run."""

from __future__ import annotations

from .elements import Network
from .newton import LOST, SETTLED, scale_of, settle
from .operation import Conflict
from .plan import Plan
from .reading import Peak, Reading, read
from .system import System

__all__ = ["Case", "Plans"]

_ALIVE = 1e-6
"""Share of the largest voltage below which a load counts as dead: what reaches it is a leak, not a supply."""
_EQUAL = 1e-9
_KEEP = 100_000


class Plans:
    """Structures that were compiled before, by key; the oldest go when there are too many."""

    __slots__ = ("_held", "_plans")

    def __init__(self) -> None:
        self._plans: dict[tuple[tuple[int, ...], int, tuple[int, ...]], Plan] = {}
        self._held = 0

    def get(self, reading: Reading, network: Network) -> Plan:
        """The plan of a reading, compiled if it is new."""
        key = (tuple(reading.key), network.nodes, network.references)
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

    `idle` says of each load that cannot run why: "dead" or "reversed". `stopped` are loads that are not to run, by element.
    """

    __slots__ = ("conflicts", "idle", "modes", "network", "peaks", "plans", "scale", "soft", "system")

    def __init__(self, network: Network, plans: Plans) -> None:
        self.network = network
        self.plans = plans
        self.modes: dict[int, str] = {}
        self.peaks: dict[int, Peak] = {}
        self.soft: frozenset[int] = frozenset()
        self.idle: dict[int, str] = {}
        self.conflicts: list[Conflict] = []
        self.scale = 1.0
        self.system = self.build()

    def build(self) -> System:
        """The system of the present modes, without any voltage yet."""
        while True:
            reading = read(self.network, self.modes, self.soft, self.peaks)
            plan = self.plans.get(reading, self.network)
            looped = self._looped(plan, reading)
            if not looped:
                break
            self.soft |= looped
        self.conflicts = _conflicts(plan, reading)
        self.system = System(plan, reading)
        return self.system

    def _looped(self, plan: Plan, reading: Reading) -> frozenset[int]:
        """Outputs held at a voltage that would close a loop without resistance."""
        if plan.forest is None or not plan.forest.loops or not reading.held:
            return frozenset()
        return frozenset([reading.held[k] for loop in plan.forest.loops for k in loop if k in reading.held])

    def start(self) -> str:
        """Settle with every load off, and find out which of them can run."""
        system = self.system
        loads = system.loads_steady
        draws = system.draws
        system.loads_steady = [0.0] * len(loads)
        system.draws = [
            0.0 if element >= 0 else i for i, element in zip(draws, system.reading.draw_loads, strict=True)
        ]
        system.fix_injections()
        system.pairs_on = False
        outcome = settle(system)
        if outcome == SETTLED and system.plan.pairs:
            system.pairs_on = True
            scaled = system.pairs_steady
            system.pairs_steady = [0.0] * len(scaled)
            outcome = settle(system)
            system.pairs_steady = scaled
        if outcome != SETTLED:
            return outcome
        self.scale = scale_of(system)
        least = _ALIVE * self.scale
        self.idle = {}
        for k, element in enumerate(system.reading.load_elements):
            u = system.across(system.plan.loads.a[k], system.plan.loads.b[k], system.load_emf[k])
            if u <= least or not system.plan.loads.live[k]:
                loads[k] = 0.0
                self.idle[element] = "reversed" if u < -least else "dead"
        for k, element in enumerate(system.reading.draw_loads):
            if element >= 0:
                u = system.volt(system.plan.draws.node_a[k], system.plan.draws.node_b[k])
                if u <= least or not system.plan.draws.live[k]:
                    draws[k] = 0.0
                    self.idle[element] = "reversed" if u < -least else "dead"
        system.loads_steady = loads
        system.draws = draws
        system.fix_injections()
        return outcome

    def run(self) -> str:
        """Settle with everything on, from where the voltages are."""
        outcome = settle(self.system)
        if outcome == SETTLED and not self._upright():
            return LOST
        return outcome

    def _upright(self) -> bool:
        """Whether every load that runs has a positive voltage."""
        system = self.system
        loads = system.plan.loads
        return all(
            not w or system.across(a, b, e) > 0
            for w, a, b, e in zip(system.loads_steady, loads.a, loads.b, system.load_emf, strict=True)
        )


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
            found.append(Conflict(tuple(reading.merge_names[b] for b in loop), abs(left)))
    return found
