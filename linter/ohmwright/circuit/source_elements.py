"""What the sources of a circuit are in a network: batteries, arrays, controllers, chargers and converters, in the state in which they are."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ohmwright_grammar.kinds.array import Array
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.charging import Charger, Charging
from ohmwright_grammar.kinds.controller import Controller
from ohmwright_grammar.kinds.inverter import Converter, InverterCharger
from ohmwright_grammar.model import Build
from ohmwright_grammar.quantities import Quantity

from ohmwright.circuit.arrays import CELLS_ABOVE_AMBIENT, array_at, voc_coefficient
from ohmwright.circuit.assumptions import ASSUMED_EFFICIENCY, Assumptions
from ohmwright.circuit.banks import string_sums
from ohmwright.circuit.batteries import highest_charge_voltage, resistance_high, rest_voltage_of
from ohmwright.circuit.climate import Temperatures
from ohmwright.circuit.graph import Circuit, Source
from ohmwright.solver import elements as el
from ohmwright.states.setup import DEFAULT_CHARGE, Setup

__all__ = ["SourceElements"]

_NO_LIMIT = 1e6  # A: a source that does not say what it gives at most


class SourceElements:
    """Makes the elements of the sources of one build; `number` is that of each node, `system_voltage` the declared one [V]."""

    def __init__(
        self,
        build: Build,
        circuit: Circuit,
        number: Mapping[str, int],
        system_voltage: float | None,
        assumptions: Assumptions,
    ) -> None:
        self.build = build
        self.circuit = circuit
        self.number = number
        self.system_voltage = system_voltage
        self._assumptions = assumptions

    def of(self, source: Source, setup: Setup, temperatures: Temperatures) -> el.Element | None:
        """Return the element of a source in a state, None where it gives nothing."""
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
                self._assumptions.note(source.name, "charge level", "50 %", "no state says another")
            volt = rest_voltage_of(part, charge)
        if volt is None:
            volt = self.system_voltage or 12.0
            self._assumptions.note(
                source.name, "voltage at rest", f"{volt:g} V", "neither chemistry and cells nor voltages are declared"
            )
        ohm = resistance_high(part)
        if ohm is None:
            self._assumptions.note(source.name, "internal resistance", "0 ohm", "not declared; flatters drop")
        return el.Emf(source.name, plus, minus, volt, ohm or 0.0)

    def _fixed(self, source: Source, fixed: tuple[float | None, float | None], plus: int, minus: int) -> el.Element:
        current, voltage = fixed
        if voltage is not None:
            return el.Charger(source.name, plus, minus, voltage, current if current is not None else source.limit or _NO_LIMIT)
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
            self._assumptions.note(source.name, "current", "none", "its Voc, Isc, Vmp and Imp are not all declared")
            return None
        rise = float(part.cells_above_ambient.high) if part.cells_above_ambient is not None else CELLS_ABOVE_AMBIENT
        if part.cells_above_ambient is None:
            self._assumptions.note(
                source.name, "cells above ambient", f"{CELLS_ABOVE_AMBIENT:g} K", "common practice, no source"
            )
        cell = temperatures.outside + rise * sun / 1000.0
        array = array_at(
            source.name, plus, minus, voc=float(part.voc.nominal), isc=float(part.isc.nominal), vmp=float(part.vmp.nominal),
            imp=float(part.imp.nominal), voc_coefficient=voc_coefficient(part), isc_coefficient=_nominal(part.isc_coefficient),
            in_series=part.in_series or 1, in_parallel=part.in_parallel or 1, irradiance=sun, cell_temperature=cell,
        )  # fmt: skip
        if array is None:
            self._assumptions.note(source.name, "current", "none", "no module has such values of Voc, Isc, Vmp and Imp")
        return array

    def _controller(self, part: Controller, source: Source, setup: Setup, plus: int, minus: int) -> el.Element | None:
        name = source.name
        pv_plus, pv_minus = self.number.get(f"{name}.pv_plus"), self.number.get(f"{name}.pv_minus")
        if pv_plus is None or pv_minus is None or not any(value > 0 for value in setup.sun.values()):
            return None
        volt = float(part.absorption_voltage.high) if part.absorption_voltage is not None else self._bank_limit(name)
        ampere = source.limit if source.limit is not None else _NO_LIMIT
        if part.kind == "MPPT":
            efficiency = float(part.efficiency.nominal) if part.efficiency is not None else 1.0
            if part.efficiency is None:
                self._assumptions.note(name, "efficiency", "100 %", "not declared; largest charge current")
            return el.Tracker(name, pv_plus, pv_minus, plus, minus, efficiency, volt, ampere)
        return el.SeriesController(name, pv_plus, pv_minus, plus, minus, volt, ampere)

    def _charger(self, part: Charging, source: Source, plus: int, minus: int) -> el.Element | None:
        volt = part.absorption_voltage or part.float_voltage
        limit = source.limit
        if limit is None:
            self._assumptions.note(source.name, "current", "none", "its current is not declared")
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
            self._assumptions.note(name, "output", "none", "its output voltage is not declared")
            return None
        efficiency = self._assumptions.efficiency(name, part.efficiency)
        idle = float(part.no_load_draw.high) * (self.system_voltage or 12.0) if part.no_load_draw is not None else 0.0
        in_plus, in_minus = self.number[f"{name}.in_plus"], self.number[f"{name}.in_minus"]
        out_plus, out_minus = self.number[f"{name}.out_plus"], self.number[f"{name}.out_minus"]
        volt = float(part.output_voltage.nominal)
        return el.Converter(name, in_plus, in_minus, out_plus, out_minus, volt, 0.0, efficiency, idle, source.limit)

    def _bank_limit(self, name: str) -> float:
        limits = string_sums(self.circuit, highest_charge_voltage)
        if limits:
            self._assumptions.note(name, "voltage at which it regulates", f"{min(limits):g} V", "the battery's charge limit")
            return min(limits)
        volt = 1.2 * (self.system_voltage or 12.0)
        self._assumptions.note(
            name, "voltage at which it regulates", f"{volt:g} V", "1.2 times the nominal voltage; common practice, no source"
        )
        return volt


def _nominal(quantity: Quantity[Any] | None) -> float | None:
    return float(quantity.nominal) if quantity is not None else None
