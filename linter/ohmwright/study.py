"""The study of one build: its circuit solved in every state, and envelopes per subject for the rules to read.

This is what a rule gets. It never reaches back into text or parser; every number can point at the line that caused it through the model.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import date
from functools import cached_property
from typing import TYPE_CHECKING, Any, TypeVar

from ohmwright_grammar.budget import UNLIMITED, Budget
from ohmwright_grammar.diagnostics import Diagnostic
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.enclosure import Enclosure
from ohmwright_grammar.kinds.part import Part, Terminal
from ohmwright_grammar.kinds.switch import Disconnect, Relay
from ohmwright_grammar.model import Build
from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Span
from ohmwright_grammar.things import Thing

from ohmwright.circuit.banks import shorted_batteries
from ohmwright.circuit.batteries import resistance_high, resistance_low
from ohmwright.circuit.condensing import Bench, Frame, Potentials
from ohmwright.circuit.graph import Circuit
from ohmwright.circuit.networks import Assumption, Networker, Temperatures
from ohmwright.circuit.series import Point
from ohmwright.circuit.skeleton import Skeleton, bms_gate
from ohmwright.solver.operation import Conflict, Fold, Operation
from ohmwright.solver.solver import Solver
from ohmwright.states.anatomy import Anatomy, anatomy_of
from ohmwright.states.setup import Setup
from ohmwright.states.sockets import shared_halves

if TYPE_CHECKING:
    from ohmwright.thermal.air import Air, Airs
    from ohmwright.thermal.contents import Contents
    from ohmwright.thermal.lacking import Lacking
    from ohmwright.unread import Unread

__all__ = ["CurrentCase", "SolvedState", "Study", "StudyOptions"]

T = TypeVar("T", bound=Thing)
COIL_PICKS_UP = 0.75  # share of its rated voltage at which a relay pulls in: common practice, no source


@record
class StudyOptions:
    """How a build is to be studied."""

    basis: str = ""  # in place of the declared one
    reached: bool = False
    implied: bool = True
    only_state: str = ""
    today: date = date(2000, 1, 1)
    most_states: int = 4096
    budget: Budget = UNLIMITED


class SolvedState:
    """One state with its operating point.

    Currents are positive from a conductor's `from` to its `to`; voltages are against the minus of the bank (of its own source in an island that
    floats). `unsettled` names relays that neither stay in nor out. States in which the same elements can carry current share one `point`.
    """

    def __init__(
        self,
        setup: Setup,
        open_gates: frozenset[str],
        point: Point,
        temperatures: Temperatures,
        study: Study,
        frame: Frame,
        unsettled: tuple[str, ...] = (),
    ) -> None:
        self.setup = setup
        self.open_gates = open_gates
        self.point = point
        self.temperatures = temperatures
        self.study = study
        self.frame = frame
        self.unsettled = unsettled

    @cached_property
    def operation(self) -> Operation:
        """The operating point of everything, what hangs on the circuit without current included."""
        return self.frame.lay(self.point, self._gates, self._potentials)

    @cached_property
    def _potentials(self) -> Potentials | None:
        return self.frame.potentials(self.point, self._gates)

    @property
    def _gates(self) -> frozenset[str]:
        return self.open_gates | _cut_off(self.setup)

    @property
    def name(self) -> str:
        """The name of the state."""
        return self.setup.name

    @property
    def solved(self) -> bool:
        """Tell whether there is an operating point."""
        return self.point.operation.solved

    def current(self, branch: str) -> float:
        """Return the current [A] of a branch, a load (in at its plus) or a source (out of its plus); 0 where none can flow."""
        return self.point.currents.get(branch, 0.0)

    def voltage(self, node: str) -> float | None:
        """Return the voltage of a node [V], None where nothing feeds it."""
        number = self.study.networker.number.get(node)
        voltages = self.voltages
        return voltages[number] if number is not None and voltages else None

    @cached_property
    def voltages(self) -> Sequence[float | None]:
        """The voltage of every node [V] by its number; empty where there is no operating point."""
        laid = self._potentials
        return self.point.operation.voltages if laid is None else laid.volts

    def across(self, plus: str, minus: str) -> float | None:
        """Return the voltage between two nodes of one island [V]; None where either is dead or they float apart."""
        one, two = self.voltage(plus), self.voltage(minus)
        if one is None or two is None or self.island(plus) != self.island(minus):
            return None
        return one - two

    def air(self, zone: str) -> float:
        """Return how warm the air of a zone is [degC]: as declared, by the losses in its closed case, else as it is outside."""
        found = self._summed.get(zone) if self.study.summed_zones else None
        return self.temperatures.of(zone) if found is None else found

    @cached_property
    def _summed(self) -> dict[str, float]:
        return self.study.airs.in_state(self)

    def line_voltage(self, disconnect: str) -> float | None:
        """Return what a low-voltage disconnect measures on its line side [V], None where nothing feeds it.

        That is against its own minus where that is joined, else against the minus pole of the bank in its island: the lowest minus of a battery there.
        """
        line = f"{disconnect}.line"
        volts = self.voltage(line)
        own = self.across(line, f"{disconnect}.minus")
        if own is not None or volts is None:
            return own
        here = self.island(line)
        poles = [
            minus
            for source in self.study.circuit.sources
            if source.kind == "battery"
            and self.island(source.minus) == here
            and (minus := self.voltage(source.minus)) is not None
        ]
        return volts - min(poles, default=0.0)

    def island(self, node: str) -> int | None:
        """Return the number of the island that a node belongs to, None for an unknown node."""
        number = self.study.networker.number.get(node)
        return self._island_at(number) if number is not None else None

    def _island_at(self, number: int) -> int | None:
        laid = self._potentials
        return self._islands.get(number) if laid is None else laid.where[number]

    @cached_property
    def _islands(self) -> dict[int, int]:
        return {node: index for index, island in enumerate(self.point.operation.islands) for node in island.nodes}

    @cached_property
    def at_cut_off(self) -> Operation:
        """The same state with every constant-power consumer at its cut-off voltage."""
        point = self._cut_off
        return self.frame.lay(point, self._gates, self.frame.potentials(point, self._gates))

    @property
    def _cut_off(self) -> Point:
        return self.point.cut_off or self.frame.at_cut_off(self.point, self._gates)

    def design_current(self, branch: str) -> float:
        """Return the larger of the solved current and that with constant-power consumers at cut-off [A, without sign]."""
        return self._design_currents.get(branch, 0.0)

    @cached_property
    def _design_currents(self) -> dict[str, float]:
        solved, cut = self.point.currents, self._cut_off.currents
        found = {name: abs(current) for name, current in solved.items()}
        if cut is not solved:
            for name, current in cut.items():
                ampere = abs(current)
                if ampere > found.get(name, 0.0):
                    found[name] = ampere
        return found

    @property
    def asks(self) -> bool:
        """Tell whether the state collapses, and what its consumers ask for at cut-off is known all the same: readings.md, Design current, (b).

        Of reached states that may be what sources that limit their own current can never give.
        """
        collapsed = self.point.operation.collapse and self.setup.origin != "reached"
        return collapsed and self._cut_off.operation.solved

    def delivered(self, sources: Collection[str]) -> float:
        """Return what some sources give together [A], solved or with constant-power consumers at cut-off; 0 where they only take (a battery on charge)."""
        return max(
            0.0,
            *(sum(currents.get(name, 0.0) for name in sources) for currents in (self.point.currents, self._cut_off.currents)),
        )

    def live_nodes(self) -> frozenset[str]:
        """Return the nodes that a source feeds."""
        return frozenset(node for node, number in self.study.networker.number.items() if self._is_fed(number))

    def _is_fed(self, number: int) -> bool:
        index = self._island_at(number)
        if index is None:
            return False
        if self._potentials is None:
            return self.point.operation.islands[index].has_source
        return index < len(self.point.fed) and self.point.fed[index]


@record
class CurrentCase:
    """What a branch carries in one state: the design current [A], and the state."""

    state: SolvedState
    current: float


class Study:
    """A build, its circuit, and everything that was solved of it; made by `studying.make_study`."""

    def __init__(self, build: Build, circuit: Circuit, options: StudyOptions) -> None:
        self.build = build
        self.circuit = circuit
        self.options = options
        self.solver = Solver()
        self.networker = Networker(build, circuit)
        self.anatomy: Anatomy = anatomy_of(build, circuit)
        self.problems: list[Diagnostic] = []
        self.worked_out: dict[Callable[[Study], Any], Any] = {}  # by rules, for each other
        self._of: dict[type[Thing], tuple[Any, ...]] = {}
        self.unread: Unread | None = None  # the statements that could not be read, where there are any
        self.states: tuple[SolvedState, ...] = ()
        self.reached: tuple[SolvedState, ...] = ()
        self.not_reached = 0
        self.state_names: tuple[str, ...] = ()  # of declared and implied states, solved or not
        self.cut_short = False  # the budget ran out before every state was solved
        self.bench = self._bench()

    @property
    def circuits_solved(self) -> int:
        """How many different circuits were solved so far, at cut-off too; states in which the same elements can carry current are one."""
        return self.bench.solved

    def _bench(self) -> Bench:
        """Return what all states share; nodes of whatever feeds or takes stay nodes of the condensed circuits."""
        circuit, number = self.circuit, self.networker.number
        active = {source.part.name for source in circuit.sources} | {consumer.part.name for consumer in circuit.consumers}
        kept = (number[node] for node in circuit.nodes if self.build.nodes.get(node) in active)
        ends = [(number[branch.start], number[branch.end]) for branch in circuit.branches]
        gates = [branch.gate for branch in circuit.branches]
        return Bench(self.solver, Skeleton(ends, gates, kept, len(number), self.anatomy.batteries), self.networker.references)

    def frame(self, setup: Setup, temperatures: Temperatures) -> Frame:
        """Return the circuit of a setup with every gate closed and no management system open."""
        whole = replace(setup, bms_open=frozenset()) if setup.bms_open else setup
        networker = self.networker
        parts, cut = networker.part_elements_twice(whole, temperatures)
        return Frame(self.bench, networker.branch_elements(temperatures), parts, cut)

    # what is declared --------------------------------------------------------------------------------------------

    @property
    def basis_name(self) -> str:
        """The basis that counts: the one asked for, else the declared one, "" where neither is."""
        return self.options.basis or self.build.rig.basis or ""

    @property
    def system_voltage(self) -> float | None:
        """The declared nominal voltage of the system [V]."""
        return self.networker.system_voltage

    @property
    def today(self) -> date:
        """The date of the run."""
        return self.options.today

    def of(self, kind: type[T]) -> Iterator[T]:
        """Yield every thing of a kind."""
        found = self._of.get(kind)
        if found is None:
            found = self._of[kind] = tuple(self.build.of(kind))
        return iter(found)

    def part(self, name: str) -> Part | None:
        """Return a part by name."""
        return self.build.parts.get(name)

    def span(self, name: str) -> Span:
        """Return where a thing, branch or state stands in the text."""
        part = self.build.parts.get(name)
        if part is not None:
            return part.span
        branch = self.circuit.by_name.get(name)
        if branch is not None:
            return branch.span
        for thing in (*self.build.things, *self.build.states, *self.build.waivers):
            if thing.name == name:
                return thing.span
        return self.build.rig.span

    def terminal(self, node: str) -> Terminal | None:
        """Return what is said of a terminal "part.terminal", defaults included."""
        return self.build.terminals.get(node)

    def zone_of(self, name: str) -> str:
        """Return the zone of a thing, "" where none is declared."""
        return self.build.zones.get(name, "")

    # heat --------------------------------------------------------------------------------------------------------

    @cached_property
    def contents(self) -> tuple[Contents, ...]:
        """What lies in each case, in name order."""
        from ohmwright.thermal.contents import contents_of  # only a build with a case asks

        return contents_of(self)

    @cached_property
    def airs(self) -> Airs:
        """The temperatures of the air inside the cases of the build."""
        from ohmwright.thermal.air import Airs  # only a build with a case asks

        return Airs(self)

    @cached_property
    def summed_zones(self) -> frozenset[str]:
        """The zones whose temperature is summed from the losses of the solved states: in closed cases with a size, without a range of their own."""
        if not any(case.size is not None or case.inside_size is not None for case in self.build.of(Enclosure)):
            return frozenset()
        return self.airs.summed

    def air(self, zone: str, state: SolvedState) -> Air | Lacking:
        """Return how warm it is in a zone or case in a state, with the sum that tells it, or the datum that is missing for it."""
        return self.airs.of_zone(zone, state)

    def hottest_air(self, zone: str) -> tuple[float, SolvedState] | None:
        """Return the hottest air of a zone whose temperature is summed [degC], and its state; None for any other zone, and where no state is solved."""
        if zone not in self.summed_zones:
            return None
        return max(((state.air(zone), state) for state in self.states if state.solved), key=lambda item: item[0], default=None)

    # states ------------------------------------------------------------------------------------------------------

    @property
    def all_states(self) -> tuple[SolvedState, ...]:
        """Every solved state: declared, implied, and reached ones where they were asked for."""
        return (*self.states, *self.reached)

    def state(self, name: str) -> SolvedState | None:
        """Return a state by name."""
        return next((state for state in self.all_states if state.name == name), None)

    def currents_of(self, branch: str, states: Iterable[SolvedState] | None = None) -> Iterator[CurrentCase]:
        """Yield the design current of a branch in each state in which it carries any: solved, or collapsing, with what its loads ask for.

        Of reached states that last as long and in which it carries the same, only the first is told.
        """
        told: set[tuple[object, ...]] = set()
        for state in self.telling_states if states is None else states:
            if not (state.solved or state.asks):
                continue
            self.options.budget.check()
            current = state.design_current(branch)
            if current > 0:
                if states is None and state.setup.origin == "reached":
                    key = (state.setup.conditions, current)
                    if key in told:
                        continue
                    told.add(key)
                yield CurrentCase(state, current)

    @cached_property
    def lasting_states(self) -> tuple[SolvedState, ...]:
        """The declared and implied states without a dead short: a declared one, which the study of faults is for, or a slip of the wiring."""
        return self._lasting([state for state in self.states if not state.setup.short_at])

    @cached_property
    def telling_states(self) -> tuple[SolvedState, ...]:
        """All states that may last, the reached ones among them: of those with the same operating point under the same conditions only the first is told."""
        told: set[tuple[object, ...]] = set()
        kept: list[SolvedState] = []
        for state in self.reached:
            key = (id(state.point), state.setup.conditions)
            if key not in told:
                told.add(key)
                kept.append(state)
        return (*self.lasting_states, *self._lasting(kept))

    def lasts(self, open_gates: frozenset[str]) -> bool:
        """Tell whether no slip of the wiring shorts a battery while some gates are open."""
        return not self._may_short or not shorted_batteries(self.circuit, open_gates)

    def _lasting(self, states: list[SolvedState]) -> tuple[SolvedState, ...]:
        if not states or not self._may_short:
            return tuple(states)
        lasts = {gates: self.lasts(gates) for gates in {state.open_gates for state in states}}
        return tuple(state for state in states if lasts[state.open_gates])

    @cached_property
    def _may_short(self) -> bool:
        return bool(shorted_batteries(self.circuit))

    @cached_property
    def highest_voltage(self) -> dict[str, float]:
        """The highest voltage of every node over all solved states [V], by absolute value."""
        highest: dict[str, float] = {}
        solved = [volts for state in self.all_states if (volts := state.voltages)]
        columns = list(zip(*solved, strict=True))
        for node, number in self.networker.number.items() if columns else ():
            values = [value for value in columns[number] if value is not None]
            if values:
                highest[node] = max(max(values), -min(values))
        return highest

    def conflicts(self) -> Iterator[tuple[SolvedState, Conflict]]:
        """Yield every conflict of sources, with the state in which it stands."""
        for state in self.all_states:
            for conflict in state.point.operation.conflicts:
                yield state, conflict

    def fold(self, state: SolvedState) -> Fold:
        """Follow the load of a state from zero to its full value, to the fold if there is one."""
        return self.solver.fold(self.networker.network(state.setup, state.open_gates, state.temperatures))

    # faults ------------------------------------------------------------------------------------------------------

    def solve_setup(self, setup: Setup, beside: SolvedState | None = None, within: Frame | None = None) -> SolvedState:
        """Solve one more state (a rule may ask what would happen).

        `beside` is one that differs in open gates and in batteries that are cut off or have failed. Where more is different, `within` is the frame of the new
        setup, and `beside` only tells how relays stand before.
        """
        if beside is None:
            return _solve(self, setup)
        return _solve(self, setup, beside, within)

    def assumptions(self) -> tuple[Assumption, ...]:
        """Return what the circuit needed and nobody declared."""
        found = list(self.networker.assumed.values())
        for half, matings in shared_halves(self.anatomy.matings_of):
            found.append(
                Assumption(
                    half, "mating", matings[0], "it fits several, one at a time: the first by name, where a state says none"
                )
            )
        for branch in self.circuit.branches:
            if not branch.assumed:
                continue
            if branch.kind == "contact":
                found.append(
                    Assumption(branch.name, "contact resistance", f"{branch.ohm * 1000:g} mohm", "common practice, no source")
                )
            elif branch.kind in ("fuse", "breaker", "switch", "relay", "selector", "disconnect", "shunt"):
                found.append(Assumption(branch.name, "resistance", "0 ohm", "assumed 0, flatters drop"))
            elif branch.conductor is not None:
                found.append(
                    Assumption(branch.name, "resistance", "0 ohm", "its gauge or length is not declared; flatters drop")
                )
        return tuple(found)

    resistance_high: Callable[[Battery], float | None] = staticmethod(resistance_high)
    resistance_low: Callable[[Battery], float | None] = staticmethod(resistance_low)


def _cut_off(setup: Setup) -> frozenset[str]:
    """Return the gates of the batteries that a management system has cut off or that have failed."""
    return frozenset(bms_gate(name) for name in (*setup.bms_open, *setup.failed))


def _solve(study: Study, setup: Setup, beside: SolvedState | None = None, within: Frame | None = None) -> SolvedState:
    """Solve a state; relays follow their coils and low-voltage disconnects their voltage unless the state says otherwise.

    They begin at rest, or as they stand in the state `beside` from which this one is reached: a relay that holds itself stays in.
    Raises OutOfBudgetError where the budget of the study has run out.
    """
    study.options.budget.check()
    if beside is None:
        temperatures = study.networker.temperatures(setup)
        frame = study.frame(setup, temperatures)
    elif within is None:
        temperatures, frame = beside.temperatures, beside.frame
    else:
        temperatures, frame = study.networker.temperatures(setup), within
    apart = _cut_off(setup)
    gates = set(setup.open_gates)
    followers = [name for name in (*study.anatomy.relays, *study.anatomy.disconnects) if name not in setup.told_relays]
    for name in followers:
        part = study.build.parts[name]
        if beside is not None:
            (gates.add if name in beside.open_gates else gates.discard)(name)
        elif isinstance(part, Relay) and part.rest_position != "closed":
            gates.add(name)
    point = frame.point(gates | apart)
    unsettled: tuple[str, ...] = ()
    for _ in range(2 * len(followers) + 2 if followers else 0):
        state = SolvedState(setup, frozenset(gates), point, temperatures, study, frame)
        wanted = {name for name in followers if _wants_open(study.build.parts[name], state, name in gates)}
        now = (gates - set(followers)) | wanted
        if now == gates:
            return state
        unsettled = tuple(sorted((now ^ gates) & set(followers)))
        gates = now
        point = frame.point(gates | apart)
    return SolvedState(setup, frozenset(gates), point, temperatures, study, frame, unsettled)


def _wants_open(part: Part, state: SolvedState, is_open: bool) -> bool:
    if isinstance(part, Relay):
        volts = state.across(f"{part.name}.coil_plus", f"{part.name}.coil_minus")
        rated = part.coil_voltage.nominal if part.coil_voltage is not None else state.study.system_voltage or 12.0
        pulled_in = volts is not None and abs(volts) >= COIL_PICKS_UP * rated
        return pulled_in if part.rest_position == "closed" else not pulled_in
    if isinstance(part, Disconnect):
        volts = state.line_voltage(part.name)
        if volts is None or part.opens_at is None:
            return is_open
        closes = float(part.closes_at.nominal) if part.closes_at is not None else float(part.opens_at.nominal)
        return volts < (closes if is_open else float(part.opens_at.nominal))
    return is_open
