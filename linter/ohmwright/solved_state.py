"""One state of a build with its operating point: currents, voltages, and how warm it is."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from functools import cached_property
from typing import TYPE_CHECKING

from ohmwright_grammar.records import record

from ohmwright.circuit.climate import Temperatures
from ohmwright.circuit.condensing import Frame, Potentials
from ohmwright.circuit.series import Point
from ohmwright.circuit.skeleton import bms_gate
from ohmwright.solver.operation import Operation
from ohmwright.states.setup import Setup

if TYPE_CHECKING:
    from ohmwright.study import Study

__all__ = ["CurrentCase", "SolvedState", "gates_of_cut_off"]


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
        return self.open_gates | gates_of_cut_off(self.setup)

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
        number, volts = self.study.networker.number, self.voltages
        if not volts or plus not in number or minus not in number:
            return None
        at, against = number[plus], number[minus]
        one, two = volts[at], volts[against]
        if one is None or two is None or self._island_at(at) != self._island_at(against):
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
        return self.design_currents.get(branch, 0.0)

    @cached_property
    def design_currents(self) -> Mapping[str, float]:
        """The design currents by name; what is not in it carries none."""
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


def gates_of_cut_off(setup: Setup) -> frozenset[str]:
    """Return the gates of the batteries that a management system has cut off or that have failed."""
    return frozenset(bms_gate(name) for name in (*setup.bms_open, *setup.failed))
