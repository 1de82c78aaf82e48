"""What a solved state loses in a case: in wires, fuses, contacts and switches that lie in it, in batteries (I2R), and in parts.

A part loses what it says it gives off, else what its efficiency, own drain and coil tell; a load that lies in the case leaves all of its power there. What
wires lose grows with the temperature of their copper.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.charging import Charger
from ohmwright_grammar.kinds.controller import Controller
from ohmwright_grammar.kinds.inverter import Converter, Inverter
from ohmwright_grammar.kinds.load import AcLoad, Load
from ohmwright_grammar.kinds.part import Part
from ohmwright_grammar.records import record

from ohmwright.circuit.assumptions import ASSUMED_EFFICIENCY
from ohmwright.circuit.batteries import highest_charge_voltage, lowest_voltage, resistance_high
from ohmwright.missing import Missing
from ohmwright.references import Step
from ohmwright.thermal.contents import Contents

if TYPE_CHECKING:
    from ohmwright.study import SolvedState, Study

__all__ = ["Loss", "loss_steps", "losses_in"]

_LEAST = 1e-9  # W, A: less is rounding
_NAMED_LOSSES = 6  # so many are told one by one, the others as a sum


@record
class Loss:
    """What is lost somewhere in a case [W] at 20 degC, and how it grows with the temperature of the copper [1/K].

    `high` is the most that it can be where a datum is not declared (`lacking`), else the same.
    """

    name: str
    low: float
    high: float
    alpha: float = 0.0
    lacking: Missing | None = None

    def at(self, degrees: float, most: bool = False) -> float:
        """Return the loss [W] with the copper at a temperature [degC]."""
        return (self.high if most else self.low) * (1.0 + self.alpha * (degrees - 20.0))


def losses_in(study: Study, contents: Contents, state: SolvedState) -> tuple[Loss, ...]:
    """Return everything that a state loses in a case."""
    return tuple(loss for loss in _losses(study, contents, state) if loss.high > _LEAST)


def _losses(study: Study, contents: Contents, state: SolvedState) -> Iterator[Loss]:
    copper: dict[float, float] = {}
    contacts: dict[str, float] = {}
    for branch in contents.branches:
        current = state.current(branch.name)
        if abs(current) <= _LEAST or branch.ohm <= 0.0:
            continue
        watts = current * current * branch.ohm
        own = branch.conductor.own_temperature if branch.conductor is not None else None
        if own is not None:
            contacts["wires"] = contacts.get("wires", 0.0) + watts * (1.0 + branch.alpha * (float(own.high) - 20.0))
        elif branch.conductor is not None:
            copper[branch.alpha] = copper.get(branch.alpha, 0.0) + watts
        elif branch.kind != "diode":
            contacts[branch.part or branch.name] = contacts.get(branch.part or branch.name, 0.0) + watts
    for branch in contents.branches:
        if branch.kind == "diode":
            watts = abs(state.point.operation.powers.get(branch.name, 0.0))
            contacts[branch.part] = contacts.get(branch.part, 0.0) + watts
    for alpha, watts in sorted(copper.items()):
        yield Loss("wires", watts, watts, alpha)
    for name, watts in sorted(contacts.items()):
        yield Loss(name, watts, watts)
    for part in contents.parts:
        yield from _of_part(study, part, state)


def _of_part(study: Study, part: Part, state: SolvedState) -> Iterator[Loss]:
    powers, setup, name = state.point.operation.powers, state.setup, part.name
    current = abs(state.current(name))
    for more in ("drain", "coil"):
        watts = abs(powers.get(f"{name} {more}", 0.0))
        if watts > _LEAST:
            yield Loss(name, watts, watts)
    if isinstance(part, Battery):
        if current > _LEAST:
            yield _battery(part, current)
        return
    if part.heat is not None:
        if _works(part, state):
            yield Loss(name, float(part.heat.high), float(part.heat.high))
        return
    if isinstance(part, Inverter):
        taken = abs(powers.get(name, 0.0))
        running = setup.inverters.get(name)
        if taken > _LEAST and running is not None:
            lost = max(0.0, taken - study.ac_side.output_power(part, running, setup))
            yield Loss(name, lost, lost)
    elif isinstance(part, Controller):
        given = abs(powers.get(f"{name}.out", 0.0))
        share = _lost_share(part.efficiency.low) if part.efficiency is not None else 0.0
        most = share if part.efficiency is not None else _lost_share(ASSUMED_EFFICIENCY)
        lacking = None if part.efficiency is not None else Missing(f"efficiency of {name}", part.span, "efficiency 97 %")
        yield Loss(name, given * share, given * most, lacking=lacking)
    elif isinstance(part, Charger):
        if f"{name}.out" in powers:
            lost = abs(powers.get(name, 0.0))
        else:
            efficiency = float(part.efficiency.low) if part.efficiency is not None else ASSUMED_EFFICIENCY
            lost = abs(powers.get(name, 0.0)) * _lost_share(efficiency)
        yield Loss(name, lost, lost)
    elif isinstance(part, Converter):
        lost = abs(powers.get(name, 0.0))
        yield Loss(name, lost, lost)
    elif isinstance(part, AcLoad):
        if name in setup.running and part.power is not None:
            yield Loss(name, float(part.power.high), float(part.power.high))
    elif isinstance(part, Load):
        taken = abs(powers.get(name, 0.0))
        yield Loss(name, taken, taken)


def _lost_share(efficiency: float) -> float:
    """Return what is lost for each watt that is given, at an efficiency of at least 1 %."""
    return 1.0 / max(efficiency, 0.01) - 1.0


def _works(part: Part, state: SolvedState) -> bool:
    """Tell whether a part that says what heat it gives off does so in a state."""
    if isinstance(part, Load):
        return part.name in state.setup.running
    if isinstance(part, Inverter | Charger | Controller | Converter):
        powers = state.point.operation.powers
        return any(abs(powers.get(name, 0.0)) > _LEAST for name in (part.name, f"{part.name}.in", f"{part.name}.out"))
    return True


def _battery(part: Battery, current: float) -> Loss:
    """What a battery loses in its internal resistance; of one that does not say it, at most what its window of voltage leaves."""
    ohm = resistance_high(part)
    if ohm is None:
        lacking = Missing(f"internal resistance of {part.name}", part.span, "internal resistance 10 mohm")
        lowest, highest = lowest_voltage(part), highest_charge_voltage(part)
        most = current * (highest - lowest) if lowest is not None and highest is not None else float("inf")
        return Loss(part.name, 0.0, most, lacking=lacking)
    return Loss(part.name, current * current * ohm, current * current * ohm)


def loss_steps(losses: tuple[Loss, ...], degrees: float) -> Iterator[Step]:
    """Yield what is lost where, the largest first, with the copper at a temperature [degC]."""
    by_name: dict[str, float] = {}
    for loss in losses:
        by_name[loss.name] = by_name.get(loss.name, 0.0) + loss.at(degrees)
    ordered = sorted(by_name.items(), key=lambda item: (-item[1], item[0]))
    for name, watts in ordered[:_NAMED_LOSSES]:
        yield Step(f"P_{name}", f"lost in {name}", watts, "W", "solved circuit")
    rest = ordered[_NAMED_LOSSES:]
    if rest:
        yield Step("P_others", f"lost in {len(rest)} others", sum(watts for _, watts in rest), "W", "solved circuit")
