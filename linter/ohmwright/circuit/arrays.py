"""Arrays as the solver reads them, from data-sheet values at a state's sun and cell temperature."""

from __future__ import annotations

from ohmwright.solver import elements as el

__all__ = ["array_at"]


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
) -> el.Array:
    """Return an array of modules by the single-diode model.

    Voltages in V, currents in A, coefficients in 1/K, irradiance in W/m2, temperature in degC.
    """
    raise NotImplementedError
