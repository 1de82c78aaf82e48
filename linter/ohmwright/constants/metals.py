"""Resistance of conductors from size, metal, stranding and temperature.

Sizes by American Wire Gauge go by the law of their diameter and the resistivity of the metal; sizes in
mm2 by the maximum of IEC 60228, class 5 (flexible) unless declared otherwise. Temperatures are in
degrees Celsius.
"""

from __future__ import annotations

from functools import cache

from ohmwright_grammar.quantities import Gauge

from ohmwright.constants import FOLDER
from ohmwright.tables import load

__all__ = [
    "COPPER",
    "IEC60228_RESISTANCE",
    "METALS",
    "at_temperature",
    "conductivity_share",
    "resistance_per_metre",
    "resistivity",
    "temperature_coefficient",
]

COPPER = load(FOLDER, "copper")
METALS = load(FOLDER, "metals")
IEC60228_RESISTANCE = load(FOLDER, "iec60228_resistance")

_REFERENCE_C = 20.0
_STRANDED = ("solid", "stranded")  # every other word, and none, means flexible: class 5


def resistivity(metal: str = "copper") -> float:
    """Return the resistivity of a conductor metal at 20 degC [ohm m]; ValueError for another metal.

    >>> resistivity("copper")
    1.7241e-08
    """
    return _of_metal(metal, "resistivity_ohm_mm2_per_m") * 1e-6


def temperature_coefficient(metal: str = "copper") -> float:
    """Return the coefficient of resistance at 20 degC [1/K] of a conductor metal; ValueError for another."""
    return _of_metal(metal, "alpha_20C_per_K")


def conductivity_share(metal: str) -> float:
    """Return the conductivity of a metal as a share of that of annealed copper.

    >>> round(conductivity_share("aluminium"), 2)
    0.61
    """
    return resistivity("copper") / resistivity(metal)


def at_temperature(resistance_20: float, temperature: float, metal: str = "copper") -> float:
    """Return a resistance [ohm, or ohm/m] at `temperature` [degC] from its value at 20 degC.

    R(T) = R20 (1 + alpha (T - 20)), IEC 60028.

    >>> round(at_temperature(1.0, 75.0), 5)
    1.21615
    """
    return resistance_20 * (1.0 + temperature_coefficient(metal) * (temperature - _REFERENCE_C))


@cache
def resistance_per_metre(gauge: Gauge, metal: str = "copper", stranding: str = "") -> float:
    """Return the resistance of one metre of a conductor at 20 degC [ohm/m]; ValueError for an unknown metal.

    `stranding` is "solid", "stranded" or anything else for flexible; it only matters for sizes in mm2. A
    metric size that IEC 60228 does not list takes the product of resistance and area of the next smaller
    size listed, or of the smallest. Aluminium and copper-clad aluminium go by resistivity over area.

    >>> round(resistance_per_metre(Gauge.from_awg(10)) * 1e3, 3)
    3.277
    >>> round(resistance_per_metre(Gauge.from_area(2.5)) * 1e3, 2)
    7.98
    """
    if not gauge.metric or metal not in ("copper", "tinned"):
        return resistivity(metal) / gauge.area
    column = f"class{2 if stranding in _STRANDED else 5}_{'tinned' if metal == 'tinned' else 'plain'}"
    mm2 = gauge.area * 1e6
    sizes = [(float(cell.row), cell.value) for cell in IEC60228_RESISTANCE.cells(column)]
    listed, ohm_per_km = max((size for size in sizes if size[0] <= mm2 * (1 + 1e-9)), default=sizes[0])
    return ohm_per_km * 1e-3 * listed / mm2


def _of_metal(metal: str, column: str) -> float:
    cell = METALS.cell(metal, column)
    if cell is None:
        raise ValueError(f"{metal!r} is no known conductor metal; known are {', '.join(METALS.keys)}")
    return cell.value
