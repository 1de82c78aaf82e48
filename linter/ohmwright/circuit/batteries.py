"""What a battery does in a circuit: its voltage at rest by charge level, its resistance, its limits."""

from __future__ import annotations

from itertools import pairwise

from ohmwright_grammar.kinds.battery import Battery

from ohmwright.constants.batteries import cell_voltage, rest_voltage

__all__ = [
    "capacity_of",
    "cells_of",
    "highest_charge_voltage",
    "lowest_voltage",
    "nominal_voltage",
    "resistance_high",
    "resistance_low",
    "rest_voltage_of",
]


def capacity_of(part: object) -> float:
    """Return the nominal capacity of a battery [C], 0 where it is not declared, and of anything else."""
    return float(part.capacity.charge.nominal) if isinstance(part, Battery) and part.capacity is not None else 0.0


def nominal_voltage(battery: Battery) -> float | None:
    """Return the nominal voltage [V]: declared, else cells times that of one cell of the chemistry."""
    if battery.nominal_voltage is not None:
        return float(battery.nominal_voltage.nominal)
    cell = cell_voltage(battery.chemistry, "nominal_V") if battery.chemistry is not None else None
    return battery.cells * cell.value if battery.cells is not None and cell is not None else None


def cells_of(battery: Battery) -> float | None:
    """Return the number of cells in series: declared, else the nominal voltage over that of one cell."""
    if battery.cells is not None:
        return float(battery.cells)
    cell = cell_voltage(battery.chemistry, "nominal_V") if battery.chemistry is not None else None
    if battery.nominal_voltage is None or cell is None:
        return None
    return float(round(battery.nominal_voltage.nominal / cell.value))


def rest_voltage_of(battery: Battery, level: float) -> float | None:
    """Return the voltage at rest [V] at a charge level from 0 to 1.

    From the declared rest voltages where there are any (straight lines between them), else from the table of the chemistry; without either the
    nominal voltage at every level; None where nothing is known.
    """
    points = sorted((float(point.level.nominal), float(point.voltage.nominal)) for point in battery.rest_voltages or ())
    if points:
        if level <= points[0][0]:
            return points[0][1]
        for (x0, y0), (x1, y1) in pairwise(points):
            if level <= x1:
                return y0 + (y1 - y0) * (level - x0) / (x1 - x0) if x1 > x0 else y1
        return points[-1][1]
    cells = cells_of(battery)
    cell = rest_voltage(battery.chemistry, level) if battery.chemistry is not None else None
    if cells is not None and cell is not None:
        return cells * cell
    return nominal_voltage(battery)


def resistance_high(battery: Battery) -> float | None:
    """Return the upper end of the internal resistance [ohm], for checks of the lowest voltage and the weakest fault."""
    if battery.internal_resistance is not None:
        return float(battery.internal_resistance.high)
    return _from_short_circuit(battery, "low")


def resistance_low(battery: Battery) -> float | None:
    """Return the lower end of the internal resistance [ohm], for checks of the largest current; None from an upper bound alone."""
    said = _from_short_circuit(battery, "high")
    if said is not None:
        return said
    resistance = battery.internal_resistance
    if resistance is None or resistance.form == "at most":
        return None
    return float(resistance.low)


def _from_short_circuit(battery: Battery, end: str) -> float | None:
    current = battery.short_circuit_current
    full = rest_voltage_of(battery, 1.0)
    if current is None or full is None:
        return None
    return full / float(current.high if end == "high" else current.low)


def lowest_voltage(battery: Battery) -> float | None:
    """Return the lowest voltage [V] that a battery is used at: its own limit, its BMS's cut-off, else that of an empty cell."""
    if battery.lowest_voltage is not None:
        return float(battery.lowest_voltage.low)
    if battery.bms is not None and battery.bms.low_cut_off is not None:
        return float(battery.bms.low_cut_off.low)
    cells = cells_of(battery)
    cell = cell_voltage(battery.chemistry, "empty_V") if battery.chemistry is not None else None
    return cells * cell.value if cells is not None and cell is not None else None


def highest_charge_voltage(battery: Battery) -> float | None:
    """Return the highest charge voltage [V]: declared, else that of the chemistry's cell."""
    if battery.highest_charge_voltage is not None:
        return float(battery.highest_charge_voltage.high)
    cells = cells_of(battery)
    cell = cell_voltage(battery.chemistry, "charge_limit_V") if battery.chemistry is not None else None
    return cells * cell.value if cells is not None and cell is not None else None
