"""From a circuit and a state to the network that the solver reads."""

from __future__ import annotations

from collections.abc import Collection

from ohmwright_grammar.kinds.distribution import Diode
from ohmwright_grammar.model import Build

from ohmwright.circuit.ac_side import AcSide
from ohmwright.circuit.assumptions import Assumptions
from ohmwright.circuit.banks import inner_batteries, string_sums
from ohmwright.circuit.batteries import capacity_of, lowest_voltage
from ohmwright.circuit.climate import Climate, Temperatures
from ohmwright.circuit.consumer_elements import ConsumerElements
from ohmwright.circuit.graph import Branch, Circuit
from ohmwright.circuit.source_elements import SourceElements
from ohmwright.solver import elements as el
from ohmwright.states.setup import Setup

__all__ = ["Networker"]

_DIODE_SLOPE = 0.0257  # V: k T / q at 25 degC


class Networker:
    """Makes networks of one build's circuit, one for each state."""

    def __init__(self, build: Build, circuit: Circuit, climate: Climate, ac_side: AcSide, assumptions: Assumptions) -> None:
        self.build = build
        self.circuit = circuit
        self.climate = climate
        self.number = {node: index for index, node in enumerate(circuit.nodes)}
        self.references = self._references()
        said = build.rig.system_voltage
        self.system_voltage = float(said.nominal) if said is not None else None
        self.cut_off = min(string_sums(circuit, lowest_voltage), default=None)  # of the batteries [V]
        self._assumptions = assumptions
        self._source_elements = SourceElements(build, circuit, self.number, self.system_voltage, assumptions)
        self._consumer_elements = ConsumerElements(ac_side, self.number, self.system_voltage, self.cut_off, assumptions)
        self._branch_elements: dict[tuple[object, ...], tuple[el.Element, ...]] = {}

    def network(self, setup: Setup, open_gates: Collection[str], temperatures: Temperatures) -> el.Network:
        """Return the network of a state with some gates open."""
        branches = self.circuit.branches
        elements = self.branch_elements(temperatures)
        items = [e for branch, e in zip(branches, elements, strict=True) if not branch.gate or branch.gate not in open_gates]
        parts, _ = self.part_elements_twice(setup, temperatures)
        return el.Network(len(self.number), (*items, *parts), self.references)

    def branch_elements(self, temperatures: Temperatures, ohm_at: float | None = None) -> tuple[el.Element, ...]:
        """Return one element for each branch of the circuit, in its order, as if every gate were closed.

        `ohm_at` is a temperature [degC] for all copper instead of the state's.
        """
        key = (temperatures.outside, tuple(sorted(temperatures.by_zone.items())), ohm_at)
        found = self._branch_elements.get(key)
        if found is None:
            found = self._branch_elements[key] = tuple(
                self._branch(branch, temperatures, ohm_at) for branch in self.circuit.branches
            )
        return found

    def _branch(self, branch: Branch, temperatures: Temperatures, ohm_at: float | None) -> el.Element:
        if branch.kind == "diode":
            return self._diode(branch)
        ohm = branch.ohm
        if branch.alpha:
            warm = ohm_at if ohm_at is not None else self.climate.of_branch(branch, temperatures)
            ohm *= 1.0 + branch.alpha * (warm - 20.0)
        return el.Resistor(branch.name, self.number[branch.start], self.number[branch.end], ohm)

    def part_elements_twice(
        self, setup: Setup, temperatures: Temperatures
    ) -> tuple[tuple[el.Element, ...], tuple[el.Element, ...]]:
        """Return the elements of sources, of consumers and of a declared short as they are, and with constant-power consumers at their cut-off voltage.

        What a constant-power consumer takes there is the most that it ever takes: readings.md, design current.
        """
        sources, short = self._sources(setup, temperatures), self._short(setup)
        whole = self._consumers(setup, at_cut_off=False)
        has_cut_off = any(isinstance(element, el.PowerLoad) for element in whole)
        cut = self._consumers(setup, at_cut_off=True) if has_cut_off else whole
        return (*sources, *whole, *short), (*sources, *cut, *short)

    def _sources(self, setup: Setup, temperatures: Temperatures) -> list[el.Element]:
        found = (self._source_elements.of(source, setup, temperatures) for source in self.circuit.sources)
        return [element for element in found if element is not None]

    def _consumers(self, setup: Setup, at_cut_off: bool) -> list[el.Element]:
        found = (self._consumer_elements.of(consumer, setup, at_cut_off) for consumer in self.circuit.consumers)
        return [element for element in found if element is not None]

    def _short(self, setup: Setup) -> list[el.Element]:
        at = self.number.get(setup.short_at)
        if at is None or not self.references:
            return []
        return [el.Resistor(f"short at {setup.short_at}", at, self.references[0], 0.0)]

    def _diode(self, branch: Branch) -> el.Element:
        """A diode through its declared forward drop at its rated current."""
        part = self.build.parts[branch.part]
        assert isinstance(part, Diode)
        current = float(part.rated_current.nominal) if part.rated_current is not None else 10.0
        drop = float(part.forward_drop.high) if part.forward_drop is not None else 0.6
        if part.forward_drop is None:
            self._assumptions.note(branch.name, "forward drop", "0.6 V", "common practice, no source")
        from math import exp

        slope = max(_DIODE_SLOPE, drop / 25.0)
        saturation = current / (exp(drop / slope) - 1.0)
        return el.Diode(branch.name, self.number[branch.start], self.number[branch.end], saturation, slope)

    def _references(self) -> tuple[int, ...]:
        """Return the nodes that islands are measured against: the minus of the bank first (of a string its lower end), then each source's."""
        batteries = [source for source in self.circuit.sources if source.kind == "battery"]
        inner = inner_batteries(self.circuit)
        batteries.sort(key=lambda source: (source.name in inner, -capacity_of(source.part), source.name))
        others = [source for source in self.circuit.sources if source.kind != "battery"]
        return tuple(dict.fromkeys(self.number[source.minus] for source in (*batteries, *others)))
