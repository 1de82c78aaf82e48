"""The study of one build: its circuit solved in every state, and envelopes per subject for the rules to read.

This is what a rule gets. It never reaches back into text or parser; every number can point at the line that caused it through the model.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from datetime import date
from functools import cached_property
from typing import TYPE_CHECKING, Any, TypeVar

from ohmwright_grammar.budget import UNLIMITED, Budget
from ohmwright_grammar.diagnostics import Diagnostic
from ohmwright_grammar.kinds.enclosure import Enclosure
from ohmwright_grammar.kinds.part import Part, Terminal
from ohmwright_grammar.model import Build
from ohmwright_grammar.records import record, replace
from ohmwright_grammar.spans import Span
from ohmwright_grammar.things import Thing

from ohmwright.circuit.ac_side import AcSide
from ohmwright.circuit.assumptions import Assumption, Assumptions
from ohmwright.circuit.banks import shorted_batteries
from ohmwright.circuit.climate import Climate, Temperatures
from ohmwright.circuit.condensing import Bench, Frame
from ohmwright.circuit.graph import Circuit
from ohmwright.circuit.networks import Networker
from ohmwright.circuit.skeleton import Skeleton
from ohmwright.following import solve
from ohmwright.solved_state import CurrentCase, SolvedState
from ohmwright.solver.operation import Conflict, Fold
from ohmwright.solver.solver import Solver
from ohmwright.states.anatomy import Anatomy, anatomy_of
from ohmwright.states.setup import Setup
from ohmwright.states.sockets import shared_halves

if TYPE_CHECKING:
    from ohmwright.missing import Missing
    from ohmwright.thermal.air import Air, Airs
    from ohmwright.thermal.contents import Contents
    from ohmwright.unread import Unread

__all__ = ["CurrentCase", "SolvedState", "Study", "StudyOptions"]

T = TypeVar("T", bound=Thing)


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
    solver: Solver | None = None  # that of a run over many builds: the structures of one are often those of the next


class Study:
    """A build, its circuit, and everything that was solved of it; made by `studying.make_study`."""

    def __init__(self, build: Build, circuit: Circuit, options: StudyOptions) -> None:
        self.build = build
        self.circuit = circuit
        self.options = options
        self.solver = options.solver or Solver()
        self.assumed = Assumptions()
        self.climate = Climate(build, self.assumed)
        self.ac_side = AcSide(build, circuit, self.assumed)
        self.networker = Networker(build, circuit, self.climate, self.ac_side, self.assumed)
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

    def take_apart(self) -> None:
        """Let go of everything; nothing can be asked of the study any more.

        A study and its states hold each other. Taken apart, most of what they hold is free at once, and costs a third of what clearing it later would.
        """
        for state in self.states:
            vars(state).clear()
        vars(self).clear()

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

    def one(self, kind: type[T]) -> T | None:
        """Return the only thing of a kind (the site), or None."""
        return next(self.of(kind), None)

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
        if not any(case.size is not None or case.inside_size is not None for case in self.of(Enclosure)):
            return frozenset()
        return self.airs.summed

    def air(self, zone: str, state: SolvedState) -> Air | Missing:
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
        return solve(self, setup, beside, within)

    def open_gates_in(self, setup: Setup) -> frozenset[str]:
        """Return what stands open in a setup, relays and low-voltage disconnects as their voltages have them; only where one follows its voltage is it solved."""
        if setup.told_relays.issuperset((*self.anatomy.relays, *self.anatomy.disconnects)):
            return setup.open_gates
        return self.solve_setup(setup).open_gates

    def assumptions(self) -> tuple[Assumption, ...]:
        """Return what the circuit needed and nobody declared."""
        found = self.assumed.all()
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
