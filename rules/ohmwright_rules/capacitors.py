"""Capacitors at an input: how long they take to charge or discharge through a resistance, and the rush when a circuit closes onto empty ones.

The rush is that of a resistance and a capacitance in series: U / R at its peak, falling with the time constant R x C; its charge is C x U, its heat for each ohm
U^2 x C / (2 R). Batteries are full, at the lower end of their resistance, copper is at 20 degC and at its shortest (readings.md, Battery resistance); everything else in the loop
counts as declared.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping

from ohmwright.circuit.batteries import resistance_low, rest_voltage_of
from ohmwright.circuit.climate import Temperatures
from ohmwright.circuit.graph import Branch
from ohmwright.solver.elements import Element, Emf, Network, Resistor
from ohmwright.study import Study
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.capacitors import InputCapacitors
from ohmwright_grammar.kinds.controller import Controller
from ohmwright_grammar.kinds.inverter import Converter, Inverter
from ohmwright_grammar.kinds.load import AcLoad, Load
from ohmwright_grammar.kinds.part import Part
from ohmwright_grammar.records import record

from ohmwright_rules.kept import kept

__all__ = ["CONSTANTS", "Capacitors", "Inrush", "capacitors_of", "inrush", "settling"]

CONSTANTS = 5.0  # catalogue, H9 and I3: after five time constants less than 1 % is left
_FULL = 1.0
_NEARLY_NOTHING = 1e-6  # ohm: in place of a resistance that is not declared


def settling(ohm: float, farad: float) -> float:
    """Return how long a capacitance [F] takes to charge or discharge through a resistance [ohm]: five time constants [s]."""
    return CONSTANTS * ohm * farad


@record
class Capacitors:
    """The capacitors at the input of a part: between which nodes, and what is declared of them; `ohm` is None where their resistance is not said."""

    part: Part
    plus: str
    minus: str
    farad: float
    ohm: float | None


@record
class Inrush:
    """The rush into empty capacitors [V, ohm, F]: `loop_ohm` is what is seen from the input, `ohm` all of it, with the capacitors' own and any precharge resistor.

    `currents` [A] are those at the first moment, by branch and battery.
    """

    volt: float
    loop_ohm: float
    ohm: float
    farad: float
    currents: Mapping[str, float]

    @property
    def ampere(self) -> float:
        """The peak [A]."""
        return self.volt / self.ohm

    @property
    def charge(self) -> float:
        """What flows in all [C]."""
        return self.farad * self.volt

    @property
    def heat(self) -> float:
        """The integral of the square of the current until it has died away [A2s]."""
        return self.volt**2 * self.farad / (2.0 * self.ohm)

    @property
    def settled(self) -> float:
        """When it has settled [s]."""
        return settling(self.ohm, self.farad)


def capacitors_of(part: Part) -> Capacitors | None:
    """Return the capacitors at the input of a part; None where it does not say a capacitance or has no such input."""
    if not isinstance(part, InputCapacitors) or part.input_capacitance is None or isinstance(part, AcLoad):
        return None
    ends = {Converter: ("in_plus", "in_minus"), Controller: ("batt_plus", "batt_minus")}
    plus, minus = next((pair for kind, pair in ends.items() if isinstance(part, kind)), ("plus", "minus"))
    assert isinstance(part, Converter | Controller | Inverter | Load)
    own = part.input_capacitor_resistance
    farad = float(part.input_capacitance.high)
    return Capacitors(part, f"{part.name}.{plus}", f"{part.name}.{minus}", farad, float(own.low) if own is not None else None)


def inrush(study: Study, capacitors: Capacitors, open_gates: Collection[str] = (), through: float = 0.0) -> Inrush | None:
    """Return the rush into empty capacitors with some gates open, and through a resistor of their own [ohm]; None where no battery comes to them.

    What is not declared of batteries, conductors and of the capacitors themselves counts as nothing.
    """
    number = study.networker.number
    if capacitors.plus not in number or capacitors.minus not in number:
        return None
    plus, minus = number[capacitors.plus], number[capacitors.minus]
    gate_of = {branch.name: branch.gate for branch in study.circuit.branches}
    items: list[Element] = [
        element for element in kept(study, _elements) if not (gate := gate_of.get(element.name, "")) or gate not in open_gates
    ]
    network = Network(len(number), tuple(items), study.networker.references)
    (port,) = study.solver.thevenin(network, [(plus, minus)])
    if port.open_volt == 0.0 or port.ohm == float("inf"):
        return None
    own = (capacitors.ohm or 0.0) + through
    short = Resistor("\0capacitors", plus, minus, own)
    solved = study.solver.solve(Network(network.nodes, (*network.elements, short), network.references))
    ohm = max(port.ohm + own, _NEARLY_NOTHING)
    return Inrush(abs(port.open_volt), port.ohm, ohm, capacitors.farad, solved.currents)


def _elements(study: Study) -> tuple[Element, ...]:
    """Return every branch that is no diode, and every battery, at what lets the most flow."""
    number = study.networker.number
    items: list[Element] = []
    for branch, element in zip(study.circuit.branches, study.networker.branch_elements(Temperatures(), 20.0), strict=True):
        if isinstance(element, Resistor):
            items.append(Resistor(branch.name, element.a, element.b, _shortest(branch, element.ohm)))
    for source in study.circuit.sources:
        part = source.part
        if isinstance(part, Battery):
            volt = rest_voltage_of(part, _FULL)
            ohm = max(resistance_low(part) or 0.0, _NEARLY_NOTHING)
            full = volt if volt is not None else study.system_voltage or 12.0
            items.append(Emf(source.name, number[source.plus], number[source.minus], full, ohm))
    return tuple(items)


def _shortest(branch: Branch, ohm: float) -> float:
    """Return the resistance of a conductor at the lower end of its length, or of what was measured [ohm]."""
    conductor = branch.conductor
    if conductor is None or branch.assumed:
        return ohm
    if conductor.measured_resistance is not None:
        return float(conductor.measured_resistance.low)
    length = conductor.length
    return ohm * (length.low / length.high) if length is not None and length.high > 0 else ohm
