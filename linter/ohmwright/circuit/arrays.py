"""Arrays as the solver reads them, from data-sheet values at a state's sun and cell temperature."""

from __future__ import annotations

from functools import lru_cache

from ohmwright_grammar.kinds.array import Array

from ohmwright.solver import elements as el
from ohmwright.solver.photovoltaic import Module, fit

__all__ = ["CELLS_ABOVE_AMBIENT", "array_at", "voc_coefficient"]

CELLS_ABOVE_AMBIENT = 30.0  # K in full sun: readings.md, J1 (common practice, no source)

_KEPT_MODULES = 256
_NO_CURRENT_COEFFICIENT = 0.0  # 1/K: declared data, coefficient of Isc: 0 where it is not said


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


def array_at(
    name: str,
    plus: int,
    minus: int,
    *,
    voc: float,
    isc: float,
    vmp: float,
    imp: float,
    voc_coefficient: float | None,
    isc_coefficient: float | None,
    in_series: int,
    in_parallel: int,
    irradiance: float,
    cell_temperature: float,
) -> el.Array | None:
    """Return an array of modules by the single-diode model; None where no diode has such a curve (Vmp above Voc, for instance).

    Voltages in V, currents in A, coefficients in 1/K, irradiance in W/m2, temperature in degC.
    """
    module = _module(voc, isc, vmp, imp, voc_coefficient, isc_coefficient)
    if module is None:
        return None
    try:
        return module.array(name, plus, minus, in_series, in_parallel, irradiance, cell_temperature)
    except ValueError:
        return None


@lru_cache(maxsize=_KEPT_MODULES)
def _module(
    voc: float, isc: float, vmp: float, imp: float, voc_coefficient: float | None, isc_coefficient: float | None
) -> Module | None:
    """Return the module through these values; the same values always give the same one, so that it is fitted once."""
    per_kelvin = _NO_CURRENT_COEFFICIENT if isc_coefficient is None else isc_coefficient
    try:
        return fit(voc, isc, vmp, imp, voc_per_kelvin=voc_coefficient, isc_per_kelvin=per_kelvin)
    except ValueError:
        return None
