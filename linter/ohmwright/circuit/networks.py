"""From a circuit and a state to the network that the solver reads.

Everything that a state needs and that nobody declared is assumed here, in one place, and noted, so that it can be shown.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import field
from typing import Any

from ohmwright_grammar.kinds.array import Array
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.charging import Charger, Charging
from ohmwright_grammar.kinds.controller import Controller
from ohmwright_grammar.kinds.distribution import Diode, Meter
from ohmwright_grammar.kinds.inverter import Converter, Inverter, InverterCharger
from ohmwright_grammar.kinds.load import AcLoad, Load
from ohmwright_grammar.kinds.site import Site, Zone
from ohmwright_grammar.kinds.switch import Relay
from ohmwright_grammar.model import Build
from ohmwright_grammar.quantities import Quantity
from ohmwright_grammar.records import draft, record

from ohmwright.circuit.arrays import array_at
from ohmwright.circuit.banks import inner_batteries, string_sums
from ohmwright.circuit.batteries import capacity_of, highest_charge_voltage, lowest_voltage, resistance_high, rest_voltage_of
from ohmwright.circuit.graph import Branch, Circuit, Consumer, Source
from ohmwright.solver import elements as el
from ohmwright.states.setup import DEFAULT_CHARGE, Running, Setup

__all__ = ["ASSUMED_EFFICIENCY", "CELLS_ABOVE_AMBIENT", "Assumption", "Networker", "Temperatures"]

ASSUMED_EFFICIENCY = 0.85  # of an inverter or converter that says nothing: common practice, no source
CELLS_ABOVE_AMBIENT = 30.0  # K in full sun: readings.md, J1 (common practice, no source)
ROOM_TEMPERATURE = 20.0  # degC, where nothing of temperature is declared
NO_LIMIT = 1e6  # A: a source that does not say what it gives at most
DIODE_SLOPE = 0.0257  # V: k T / q at 25 degC
DIODE_KNEE_CURRENT = 1e-3  # share of the rated current at which a diode of unknown knee is taken to begin


@record
class Assumption:
    """Something that the circuit needed and nobody declared."""

    subject: str
    what: str
    value: str
    source: str


@draft
class Temperatures:
    """The temperature [degC] of each zone in one state; "" is outside of every zone."""

    by_zone: dict[str, float] = field(default_factory=dict)
    outside: float = ROOM_TEMPERATURE

    def of(self, zone: str) -> float:
        """Return the temperature of a zone."""
        return self.by_zone.get(zone, self.outside)


class Networker:
    """Makes networks of one build's circuit, one for each state."""

    def __init__(self, build: Build, circuit: Circuit) -> None:
        self.build = build
        self.circuit = circuit
        self.number = {node: index for index, node in enumerate(circuit.nodes)}
        self.assumed: dict[tuple[str, str], Assumption] = {}
        self.site = build.one(Site)
        self.zones = {zone.name: zone for zone in build.of(Zone)}
        self.references = self._references()
        self.system_voltage = self._system_voltage()
        self.cut_off = self._bank_cut_off()
        self._ac_loads = self._loads_by_inverter()
        self._branch_elements: dict[tuple[object, ...], tuple[el.Element, ...]] = {}
        self.warmed: dict[str, dict[str, float]] = {}  # state -> zone -> degC by what is lost in its case

    # temperatures ------------------------------------------------------------------------------------------------

    def temperatures(self, setup: Setup) -> Temperatures:
        """Return the hot end of every zone in a state: what the state gives, else the zone's own range, else by the losses in its case, else the site's."""
        ambient = setup.ambient
        if ambient is None and self.site is not None and self.site.ambient is not None:
            ambient = float(self.site.ambient.high)
        outside = ambient if ambient is not None else ROOM_TEMPERATURE
        if ambient is None:
            self._assume("site", "ambient temperature", f"{ROOM_TEMPERATURE:g} degC", "nothing is declared; flatters drop")
        found = Temperatures({}, outside)
        for name, zone in self.zones.items():
            if setup.inside is not None:
                found.by_zone[name] = setup.inside
            elif zone.temperature is not None:
                found.by_zone[name] = float(zone.temperature.high)
        if self.warmed:
            found.by_zone = {**(self.warmed.get(setup.name) or self.warmed.get(setup.parent) or {}), **found.by_zone}
        return found

    def branch_temperature(self, branch: Branch, temperatures: Temperatures) -> float:
        """Return the temperature [degC] of a conductor: its own where declared, else its zone's."""
        conductor = branch.conductor
        if conductor is not None and conductor.own_temperature is not None:
            return float(conductor.own_temperature.high)
        return temperatures.of(branch.zone)

    # networks ----------------------------------------------------------------------------------------------------

    def network(
        self,
        setup: Setup,
        open_gates: Collection[str],
        temperatures: Temperatures,
        at_cut_off: bool = False,
        ohm_at: float | None = None,
    ) -> el.Network:
        """Return the network of a state with some gates open.

        `at_cut_off` puts every constant-power consumer at its cut-off voltage (readings.md, design current); `ohm_at` is a temperature
        [degC] for all copper instead of the state's.
        """
        branches = self.circuit.branches
        elements = self.branch_elements(temperatures, ohm_at)
        items = [e for branch, e in zip(branches, elements, strict=True) if not branch.gate or branch.gate not in open_gates]
        return el.Network(len(self.number), (*items, *self.part_elements(setup, temperatures, at_cut_off)), self.references)

    def branch_elements(self, temperatures: Temperatures, ohm_at: float | None = None) -> tuple[el.Element, ...]:
        """Return one element for each branch of the circuit, in its order, as if every gate were closed."""
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
            warm = ohm_at if ohm_at is not None else self.branch_temperature(branch, temperatures)
            ohm *= 1.0 + branch.alpha * (warm - 20.0)
        return el.Resistor(branch.name, self.number[branch.start], self.number[branch.end], ohm)

    def part_elements(self, setup: Setup, temperatures: Temperatures, at_cut_off: bool = False) -> tuple[el.Element, ...]:
        """Return the elements of sources and consumers in a state, and of a short that it declares."""
        return (*self._sources(setup, temperatures), *self._consumers(setup, at_cut_off), *self._short(setup))

    def part_elements_twice(
        self, setup: Setup, temperatures: Temperatures
    ) -> tuple[tuple[el.Element, ...], tuple[el.Element, ...]]:
        """Return the elements of sources and consumers as they are, and with constant-power consumers at their cut-off voltage."""
        sources, short = self._sources(setup, temperatures), self._short(setup)
        whole = self._consumers(setup, at_cut_off=False)
        if not any(isinstance(element, el.PowerLoad) for element in whole):
            cut = whole
        else:
            cut = self._consumers(setup, at_cut_off=True)
        return (*sources, *whole, *short), (*sources, *cut, *short)

    def _sources(self, setup: Setup, temperatures: Temperatures) -> list[el.Element]:
        found = (self._source(source, setup, temperatures) for source in self.circuit.sources)
        return [element for element in found if element is not None]

    def _consumers(self, setup: Setup, at_cut_off: bool) -> list[el.Element]:
        found = (self._consumer(consumer, setup, at_cut_off) for consumer in self.circuit.consumers)
        return [element for element in found if element is not None]

    def _short(self, setup: Setup) -> list[el.Element]:
        if setup.short_at and setup.short_at in self.number:
            reference = self._minus_for(setup.short_at)
            if reference is not None:
                return [el.Resistor(f"short at {setup.short_at}", self.number[setup.short_at], reference, 0.0)]
        return []

    def bank_network(self, ohm_at: float, level: float, resistance: Callable[[Battery], float | None]) -> el.Network:
        """Return the linear part alone: batteries at one charge level behind a resistance of choice, and every closed branch."""
        number = self.number
        items: list[el.Element] = []
        for branch in self.circuit.branches:
            if branch.kind != "diode":
                ohm = branch.ohm * (1.0 + branch.alpha * (ohm_at - 20.0))
                items.append(el.Resistor(branch.name, number[branch.start], number[branch.end], ohm))
        for source in self.circuit.sources:
            part = source.part
            if isinstance(part, Battery):
                volt = rest_voltage_of(part, level)
                ohm_of = resistance(part)
                if volt is not None and ohm_of is not None:
                    items.append(el.Emf(source.name, number[source.plus], number[source.minus], volt, ohm_of))
        return el.Network(len(number), tuple(items), self.references)

    # sources -----------------------------------------------------------------------------------------------------

    def _source(self, source: Source, setup: Setup, temperatures: Temperatures) -> el.Element | None:
        part = source.part
        plus, minus = self.number[source.plus], self.number[source.minus]
        fixed = setup.fixed.get(source.name)
        if isinstance(part, Battery):
            return self._battery(part, source, setup, plus, minus)
        if source.name in setup.off:
            return None
        if fixed is not None and isinstance(part, Array | Controller | Charger):
            return self._fixed(source, fixed, plus, minus)
        if isinstance(part, Array):
            if any(name in setup.fixed for name in self._controllers_of(part)):
                return None
            return self._array(part, source, setup, temperatures, plus, minus)
        if isinstance(part, Controller):
            return self._controller(part, source, setup, plus, minus)
        if isinstance(part, Converter):
            return self._converter(part, source)
        if isinstance(part, Charger):
            return self._charger(part, source, plus, minus) if source.name in setup.chargers else None
        if isinstance(part, InverterCharger) and source.name in setup.on_mains:
            return self._charger(part, source, plus, minus)
        return None  # no declared state says that mains comes in at an inverter: its charging side runs in implied and reached ones

    def _battery(self, part: Battery, source: Source, setup: Setup, plus: int, minus: int) -> el.Element | None:
        if source.name in setup.bms_open or source.name in setup.failed:
            return None
        level = setup.levels.get(source.name)
        if level is not None and level.is_voltage:
            volt: float | None = level.value
        else:
            charge = level.value if level is not None else DEFAULT_CHARGE
            if level is None:
                self._assume(source.name, "charge level", "50 %", "no state says another")
            volt = rest_voltage_of(part, charge)
        if volt is None:
            volt = self.system_voltage or 12.0
            self._assume(source.name, "voltage at rest", f"{volt:g} V", "neither chemistry and cells nor voltages are declared")
        ohm = resistance_high(part)
        if ohm is None:
            self._assume(source.name, "internal resistance", "0 ohm", "not declared; flatters drop")
        return el.Emf(source.name, plus, minus, volt, ohm or 0.0)

    def _fixed(self, source: Source, fixed: tuple[float | None, float | None], plus: int, minus: int) -> el.Element:
        current, voltage = fixed
        if voltage is not None:
            return el.Charger(source.name, plus, minus, voltage, current if current is not None else source.limit or NO_LIMIT)
        return el.CurrentSource(source.name, plus, minus, current or 0.0)

    def _controllers_of(self, array: Array) -> tuple[str, ...]:
        near = self.circuit.reach(f"{array.name}.plus")
        return tuple(
            part.name for part in self.build.parts.values() if isinstance(part, Controller) and f"{part.name}.pv_plus" in near
        )

    def _array(
        self, part: Array, source: Source, setup: Setup, temperatures: Temperatures, plus: int, minus: int
    ) -> el.Element | None:
        sun = setup.sun.get(source.name, 0.0)
        if sun <= 0:
            return None
        if part.voc is None or part.isc is None or part.vmp is None or part.imp is None:
            self._assume(source.name, "current", "none", "its Voc, Isc, Vmp and Imp are not all declared")
            return None
        rise = float(part.cells_above_ambient.high) if part.cells_above_ambient is not None else CELLS_ABOVE_AMBIENT
        if part.cells_above_ambient is None:
            self._assume(source.name, "cells above ambient", f"{CELLS_ABOVE_AMBIENT:g} K", "common practice, no source")
        cell = temperatures.outside + rise * sun / 1000.0
        array = array_at(
            source.name, plus, minus, voc=float(part.voc.nominal), isc=float(part.isc.nominal), vmp=float(part.vmp.nominal),
            imp=float(part.imp.nominal), voc_coefficient=voc_coefficient(part), isc_coefficient=_nominal(part.isc_coefficient),
            in_series=part.in_series or 1, in_parallel=part.in_parallel or 1, irradiance=sun, cell_temperature=cell,
        )  # fmt: skip
        if array is None:
            self._assume(source.name, "current", "none", "no module has such values of Voc, Isc, Vmp and Imp")
        return array

    def _controller(self, part: Controller, source: Source, setup: Setup, plus: int, minus: int) -> el.Element | None:
        name = source.name
        pv_plus, pv_minus = self.number.get(f"{name}.pv_plus"), self.number.get(f"{name}.pv_minus")
        if pv_plus is None or pv_minus is None or not any(value > 0 for value in setup.sun.values()):
            return None
        volt = float(part.absorption_voltage.high) if part.absorption_voltage is not None else self._bank_limit(name)
        ampere = source.limit if source.limit is not None else NO_LIMIT
        if part.kind == "MPPT":
            efficiency = float(part.efficiency.nominal) if part.efficiency is not None else 1.0
            if part.efficiency is None:
                self._assume(name, "efficiency", "100 %", "not declared; largest charge current")
            return el.Tracker(name, pv_plus, pv_minus, plus, minus, efficiency, volt, ampere)
        return el.SeriesController(name, pv_plus, pv_minus, plus, minus, volt, ampere)

    def _charger(self, part: Charging, source: Source, plus: int, minus: int) -> el.Element | None:
        volt = part.absorption_voltage or part.float_voltage
        limit = source.limit
        if limit is None:
            self._assume(source.name, "current", "none", "its current is not declared")
            return None
        level = float(volt.high) if volt is not None else self._bank_limit(source.name)
        in_plus, in_minus = self.number.get(f"{source.name}.in_plus"), self.number.get(f"{source.name}.in_minus")
        if in_plus is not None and in_minus is not None:
            efficiency = float(part.efficiency.nominal) if part.efficiency is not None else ASSUMED_EFFICIENCY
            return el.Converter(source.name, in_plus, in_minus, plus, minus, level, 0.0, efficiency, 0.0, limit)
        return el.Charger(source.name, plus, minus, level, limit)

    def _converter(self, part: Converter, source: Source) -> el.Element | None:
        name = source.name
        if part.output_voltage is None:
            self._assume(name, "output", "none", "its output voltage is not declared")
            return None
        efficiency = self._efficiency(name, part.efficiency)
        idle = float(part.no_load_draw.high) * (self.system_voltage or 12.0) if part.no_load_draw is not None else 0.0
        in_plus, in_minus = self.number[f"{name}.in_plus"], self.number[f"{name}.in_minus"]
        out_plus, out_minus = self.number[f"{name}.out_plus"], self.number[f"{name}.out_minus"]
        volt = float(part.output_voltage.nominal)
        return el.Converter(name, in_plus, in_minus, out_plus, out_minus, volt, 0.0, efficiency, idle, source.limit)

    # consumers ---------------------------------------------------------------------------------------------------

    def _consumer(self, consumer: Consumer, setup: Setup, at_cut_off: bool) -> el.Element | None:
        part = consumer.part
        plus, minus = self.number[consumer.plus], self.number[consumer.minus]
        if consumer.kind == "load" and isinstance(part, Load):
            level = setup.running.get(consumer.name)
            return self._load(part, level, plus, minus, at_cut_off) if level is not None else None
        if consumer.kind == "inverter" and isinstance(part, Inverter):
            running = setup.inverters.get(consumer.name)
            return self._inverter(part, running, setup, plus, minus, at_cut_off) if running is not None else None
        if consumer.kind == "coil" and isinstance(part, Relay):
            return self._coil(part, consumer, plus, minus)
        if consumer.kind == "drain":
            return self._drain(consumer, plus, minus)
        return None  # a converter's input belongs to its element

    def _load(self, part: Load, running: Running, plus: int, minus: int, at_cut_off: bool) -> el.Element | None:
        name = part.name
        scale = running.share if running.share is not None else 1.0
        current, power = running.current, running.power
        if current is None and power is None:
            if part.power is not None:
                power = float(part.power.high) * scale
            elif part.current is not None:
                current = float(part.current.high) * scale
            elif part.resistance is not None:
                return el.Resistor(name, plus, minus, float(part.resistance.low) / scale if scale > 0 else 1e12)
            else:
                self._assume(name, "consumption", "none", "neither power, current nor resistance is declared")
                return None
        if power is not None:
            if power <= 0:
                return None
            if at_cut_off:
                volt = float(part.own_cut_off.low) if part.own_cut_off is not None else self.cut_off
                if volt is not None and volt > 0:
                    return el.CurrentLoad(name, plus, minus, power / volt)
            return el.PowerLoad(name, plus, minus, power)
        return el.CurrentLoad(name, plus, minus, current or 0.0) if current else None

    def ac_loads_of(self, inverter: str) -> tuple[str, ...]:
        """Return the names of the AC loads that hang on an inverter's output."""
        return self._ac_loads.get(inverter, ())

    def inverter_input(self, part: Inverter, running: Running, setup: Setup) -> float:
        """Return the DC power [W] that an inverter takes: output over efficiency, and its draw with no load."""
        output = self.inverter_output(part, running, setup)
        idle = float(part.no_load_draw.high) if part.no_load_draw is not None else 0.0
        if part.no_load_draw is None:
            self._assume(part.name, "draw with no load", "0 W", "not declared; flatters drop and drain")
        return output / self._efficiency(part.name, part.efficiency) + idle

    def inverter_output(self, part: Inverter, running: Running, setup: Setup) -> float:
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
        return sum(self._ac_power(load, setup) for load in self._ac_loads.get(part.name, ()))

    def _ac_power(self, name: str, setup: Setup) -> float:
        level = setup.running.get(name)
        part = self.build.parts[name]
        if level is None or not isinstance(part, Load):
            return 0.0
        if level.power is not None:
            return level.power
        rated = float(part.power.high) if part.power is not None else 0.0
        return rated * (level.share if level.share is not None else 1.0)

    def _inverter(
        self, part: Inverter, running: Running, setup: Setup, plus: int, minus: int, at_cut_off: bool
    ) -> el.Element | None:
        power = self.inverter_input(part, running, setup)
        if power <= 0:
            return None
        if at_cut_off:
            volt = float(part.cut_off.low) if part.cut_off is not None else self.cut_off
            if volt is not None and volt > 0:
                return el.CurrentLoad(part.name, plus, minus, power / volt)
        return el.PowerLoad(part.name, plus, minus, power)

    def _coil(self, part: Relay, consumer: Consumer, plus: int, minus: int) -> el.Element | None:
        if part.coil_power is None:
            self._assume(consumer.name, "coil current", "none", "its coil power is not declared")
            return el.Resistor(f"{consumer.name} coil", plus, minus, 1e6)
        volt = float(part.coil_voltage.nominal) if part.coil_voltage is not None else self.system_voltage or 12.0
        return el.Resistor(f"{consumer.name} coil", plus, minus, volt * volt / float(part.coil_power.high))

    def _drain(self, consumer: Consumer, plus: int, minus: int) -> el.Element | None:
        part = consumer.part
        name = f"{consumer.name} drain"
        if isinstance(part, Charger) and part.drain_unplugged is not None:
            return el.CurrentLoad(name, plus, minus, float(part.drain_unplugged.high))
        if part.own_drain is not None:
            return el.CurrentLoad(name, plus, minus, float(part.own_drain.high))
        if part.own_drain_power is not None:
            return el.PowerLoad(name, plus, minus, float(part.own_drain_power.high))
        if isinstance(part, Meter):
            self._assume(part.name, "own drain", "0 A", "not declared")
        return None

    def _diode(self, branch: Branch) -> el.Element:
        """A diode through its declared forward drop at its rated current."""
        part = self.build.parts[branch.part]
        assert isinstance(part, Diode)
        current = float(part.rated_current.nominal) if part.rated_current is not None else 10.0
        drop = float(part.forward_drop.high) if part.forward_drop is not None else 0.6
        if part.forward_drop is None:
            self._assume(branch.name, "forward drop", "0.6 V", "common practice, no source")
        from math import exp

        slope = max(DIODE_SLOPE, drop / 25.0)
        saturation = current / (exp(drop / slope) - 1.0)
        return el.Diode(branch.name, self.number[branch.start], self.number[branch.end], saturation, slope)

    # what the build as a whole says ------------------------------------------------------------------------------

    def _efficiency(self, name: str, declared: Quantity[Any] | None) -> float:
        if declared is not None and declared.nominal > 0:
            return float(declared.low)
        self._assume(name, "efficiency", f"{ASSUMED_EFFICIENCY * 100:g} %", "common practice, no source")
        return ASSUMED_EFFICIENCY

    def _references(self) -> tuple[int, ...]:
        """Return the nodes that islands are measured against: the minus of the bank first (of a string its lower end), then each source's."""
        batteries = [source for source in self.circuit.sources if source.kind == "battery"]
        inner = inner_batteries(self.circuit)
        batteries.sort(key=lambda source: (source.name in inner, -capacity_of(source.part), source.name))
        others = [source for source in self.circuit.sources if source.kind != "battery"]
        return tuple(dict.fromkeys(self.number[source.minus] for source in (*batteries, *others)))

    def _system_voltage(self) -> float | None:
        said = self.build.rig.system_voltage
        if said is not None:
            return float(said.nominal)
        return None

    def _bank_cut_off(self) -> float | None:
        """Return the lowest voltage of the batteries [V], at which consumers without a cut-off of their own take most."""
        return min(string_sums(self.circuit, lowest_voltage), default=None)

    def _bank_limit(self, name: str) -> float:
        limits = string_sums(self.circuit, highest_charge_voltage)
        if limits:
            self._assume(name, "voltage at which it regulates", f"{min(limits):g} V", "the battery's charge limit")
            return min(limits)
        volt = 1.2 * (self.system_voltage or 12.0)
        self._assume(
            name, "voltage at which it regulates", f"{volt:g} V", "1.2 times the nominal voltage; common practice, no source"
        )
        return volt

    def _minus_for(self, node: str) -> int | None:
        del node
        return self.references[0] if self.references else None

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

    def _assume(self, subject: str, what: str, value: str, source: str) -> None:
        self.assumed.setdefault((subject, what), Assumption(subject, what, value, source))


def voc_coefficient(array: Array) -> float | None:
    """Return the coefficient of the open-circuit voltage [1/K], a negative number; None where it is not declared.

    Written without its sign it means the same: open-circuit voltage falls with warmth.
    """
    if array.voc_coefficient is not None:
        return -max(abs(array.voc_coefficient.low), abs(array.voc_coefficient.high))
    if array.voc_coefficient_voltage is not None and array.voc is not None:
        volts = array.voc_coefficient_voltage
        return -max(abs(volts.low), abs(volts.high)) / float(array.voc.nominal)
    return None


def _nominal(quantity: Quantity[Any] | None) -> float | None:
    return float(quantity.nominal) if quantity is not None else None
