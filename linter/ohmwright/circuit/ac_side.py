"""The AC side of a build: which loads hang on which inverter, and what an inverter takes and gives in a state."""

from __future__ import annotations

from ohmwright_grammar.kinds.inverter import Inverter
from ohmwright_grammar.kinds.load import AcLoad, Load
from ohmwright_grammar.model import Build

from ohmwright.circuit.assumptions import Assumptions
from ohmwright.circuit.graph import Circuit
from ohmwright.states.setup import Running, Setup

__all__ = ["AcSide"]


class AcSide:
    """The inverters of one build and what hangs on them."""

    def __init__(self, build: Build, circuit: Circuit, assumptions: Assumptions) -> None:
        self.build = build
        self.circuit = circuit
        self._assumptions = assumptions
        self._loads = self._loads_by_inverter()

    def loads_of(self, inverter: str) -> tuple[str, ...]:
        """Return the names of the AC loads that hang on an inverter's output."""
        return self._loads.get(inverter, ())

    def input_power(self, part: Inverter, running: Running, setup: Setup) -> float:
        """Return the DC power [W] that an inverter takes: output over efficiency, and its draw with no load."""
        output = self.output_power(part, running, setup)
        idle = float(part.no_load_draw.high) if part.no_load_draw is not None else 0.0
        if part.no_load_draw is None:
            self._assumptions.note(part.name, "draw with no load", "0 W", "not declared; flatters drop and drain")
        return output / self._assumptions.efficiency(part.name, part.efficiency) + idle

    def output_power(self, part: Inverter, running: Running, setup: Setup) -> float:
        """Return the AC power [W] that an inverter gives in a state."""
        rated = float(part.rated_power.high) if part.rated_power is not None else 0.0
        if running.peak:
            return float(part.peak_power.power.high) if part.peak_power is not None else rated
        if running.power is not None:
            return running.power
        if running.share is not None:
            return rated * running.share
        if running.current is not None:
            return running.current * (float(part.ac_voltage.nominal) if part.ac_voltage is not None else 0.0)
        return sum(self._load_power(load, setup) for load in self._loads.get(part.name, ()))

    def _load_power(self, name: str, setup: Setup) -> float:
        level = setup.running.get(name)
        part = self.build.parts[name]
        if level is None or not isinstance(part, Load):
            return 0.0
        if level.power is not None:
            return level.power
        rated = float(part.power.high) if part.power is not None else 0.0
        return rated * (level.share if level.share is not None else 1.0)

    def _loads_by_inverter(self) -> dict[str, tuple[str, ...]]:
        """Return the AC loads that hang on each inverter's output."""
        at: dict[str, set[str]] = {}
        for branch in self.circuit.ac_branches:
            at.setdefault(branch.start, set()).add(branch.end)
            at.setdefault(branch.end, set()).add(branch.start)
        found: dict[str, tuple[str, ...]] = {}
        for inverter in self.build.of(Inverter):
            seen = {f"{inverter.name}.L"}
            queue = list(seen)
            while queue:
                for other in at.get(queue.pop(), ()):
                    if other not in seen:
                        seen.add(other)
                        queue.append(other)
            found[inverter.name] = tuple(
                load.name for load in self.build.of(AcLoad) if f"{load.name}.L" in seen or f"{load.name}.N" in seen
            )
        return found
