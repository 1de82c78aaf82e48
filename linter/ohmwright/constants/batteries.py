"""Voltages of battery cells by chemistry and charge level, where a build does not declare its own.

Chemistries are written as in a build: LFP, other lithium, flooded, AGM, gel.
"""

from __future__ import annotations

from itertools import pairwise

from ohmwright.constants import FOLDER
from ohmwright.references import Status
from ohmwright.tables import Cell, load

__all__ = ["CELLS", "REST_VOLTAGE", "cell_voltage", "lowest_rest_voltage", "rest_voltage", "rest_voltage_status"]

CELLS = load(FOLDER, "cells")
REST_VOLTAGE = load(FOLDER, "rest_voltage")


def _points() -> dict[str, tuple[tuple[float, float], ...]]:
    points: dict[str, list[tuple[float, float]]] = {}
    for row in REST_VOLTAGE.rows:
        charge, volt = row["charge_percent"], row["cell_V"]
        if isinstance(charge, float) and isinstance(volt, float):
            points.setdefault(str(row["chemistry"]), []).append((charge / 100.0, volt))
    return {chemistry: tuple(sorted(found)) for chemistry, found in points.items()}


_POINTS = _points()


def rest_voltage(chemistry: str, charge: float) -> float | None:
    """Return the voltage at rest of one cell [V] at a charge level from 0 to 1, None for an unknown chemistry.

    Between two published points it follows a straight line; beyond 0 and 1 it stays at the end.

    >>> round(rest_voltage("flooded", 1.0) * 6, 2)
    12.65
    >>> round(rest_voltage("LFP", 0.8) * 4, 2)
    13.25
    """
    points = _POINTS.get(chemistry)
    if points is None:
        return None
    if charge <= points[0][0]:
        return points[0][1]
    for (x0, y0), (x1, y1) in pairwise(points):
        if charge <= x1:
            return y0 + (y1 - y0) * (charge - x0) / (x1 - x0)
    return points[-1][1]


def lowest_rest_voltage(chemistry: str) -> float | None:
    """Return the lowest voltage at rest of one cell [V], None for an unknown chemistry."""
    return rest_voltage(chemistry, 0.0)


def rest_voltage_status(chemistry: str) -> Status | None:
    """Tell how the rest voltages of a chemistry were read, None for an unknown chemistry."""
    key = next((str(row["point"]) for row in REST_VOLTAGE.rows if row["chemistry"] == chemistry), None)
    return None if key is None else REST_VOLTAGE.status(key, "cell_V")


def cell_voltage(chemistry: str, column: str) -> Cell | None:
    """Return a voltage of one cell: `column` is "nominal_V", "charge_limit_V" or "empty_V"."""
    return CELLS.cell(chemistry, column)
