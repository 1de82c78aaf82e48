"""What the consumers of a circuit are in a network: loads, inverters, coils and drains, in the state in which they are."""

from __future__ import annotations

from collections.abc import Mapping

from ohmwright_grammar.kinds.charging import Charger
from ohmwright_grammar.kinds.distribution import Meter
from ohmwright_grammar.kinds.inverter import Inverter
from ohmwright_grammar.kinds.load import Load
from ohmwright_grammar.kinds.switch import Relay

from ohmwright.circuit.ac_side import AcSide
from ohmwright.circuit.assumptions import Assumptions
from ohmwright.circuit.graph import Consumer
from ohmwright.solver import elements as el
from ohmwright.states.setup import Running, Setup

__all__ = ["ConsumerElements"]


class ConsumerElements:
    """Makes the elements of the consumers of one build.

    `number` is that of each node, `system_voltage` the declared one [V], `cut_off` the voltage [V] at which consumers without a cut-off of their own take most.
    """

    def __init__(
        self,
        ac_side: AcSide,
        number: Mapping[str, int],
        system_voltage: float | None,
        cut_off: float | None,
        assumptions: Assumptions,
    ) -> None:
        self.ac_side = ac_side
        self.number = number
        self.system_voltage = system_voltage
        self.cut_off = cut_off
        self._assumptions = assumptions

    def of(self, consumer: Consumer, setup: Setup, at_cut_off: bool) -> el.Element | None:
        """Return the element of a consumer in a state, None where it takes nothing; `at_cut_off` puts constant power at the cut-off voltage."""
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
                self._assumptions.note(name, "consumption", "none", "neither power, current nor resistance is declared")
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

    def _inverter(
        self, part: Inverter, running: Running, setup: Setup, plus: int, minus: int, at_cut_off: bool
    ) -> el.Element | None:
        power = self.ac_side.input_power(part, running, setup)
        if power <= 0:
            return None
        if at_cut_off:
            volt = float(part.cut_off.low) if part.cut_off is not None else self.cut_off
            if volt is not None and volt > 0:
                return el.CurrentLoad(part.name, plus, minus, power / volt)
        return el.PowerLoad(part.name, plus, minus, power)

    def _coil(self, part: Relay, consumer: Consumer, plus: int, minus: int) -> el.Element | None:
        if part.coil_power is None:
            self._assumptions.note(consumer.name, "coil current", "none", "its coil power is not declared")
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
            self._assumptions.note(part.name, "own drain", "0 A", "not declared")
        return None
