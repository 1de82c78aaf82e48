"""Arrays in a circuit: data-sheet points, other temperatures, strings, and values that no module has."""

from __future__ import annotations

from typing import Any

import pytest
from ohmwright.circuit.arrays import array_at
from ohmwright.solver.elements import Array
from ohmwright.solver.photovoltaic import current_at, open_circuit, peak, short_circuit

SHEET: dict[str, Any] = {"voc": 22.6, "isc": 6.0, "vmp": 18.4, "imp": 5.6, "voc_coefficient": -0.003, "isc_coefficient": None}


def _array(**changed: Any) -> Array:
    values = {**SHEET, "in_series": 1, "in_parallel": 1, "irradiance": 1000.0, "cell_temperature": 25.0, **changed}
    found = array_at("roof", 1, 0, **values)
    assert found is not None
    return found


def test_goes_through_the_values_of_the_data_sheet() -> None:
    """The definition of standard test conditions: the four values hold at 1000 W/m2 and 25 degC."""
    roof = _array()
    assert open_circuit(roof) == pytest.approx(22.6, rel=1e-9)
    assert short_circuit(roof) == pytest.approx(6.0, rel=1e-9)
    assert current_at(roof, 18.4) == pytest.approx(5.6, rel=1e-9)
    assert peak(roof) == pytest.approx((18.4, 5.6), rel=1e-5)


def test_cold_open_circuit_voltage_follows_the_declared_coefficient() -> None:
    """Fault catalogue, A1, Ex: 2 x 22.6 V with 0.30 %/K give 49.95 V at -10 degC and 50.62 V at -15 degC."""
    assert open_circuit(_array(in_series=2, cell_temperature=-10.0)) == pytest.approx(49.95, abs=0.005)
    assert open_circuit(_array(in_series=2, cell_temperature=-15.0)) == pytest.approx(50.62, abs=0.005)


def test_strings_add_currents_and_modules_in_series_add_voltages() -> None:
    roof = _array(in_series=3, in_parallel=2)
    assert short_circuit(roof) == pytest.approx(12.0, rel=1e-9)
    assert open_circuit(roof) == pytest.approx(67.8, rel=1e-9)


def test_short_circuit_current_without_a_coefficient_does_not_change_with_temperature() -> None:
    """The declared data say 0 where the coefficient of Isc is not said."""
    assert short_circuit(_array(cell_temperature=65.0)) == pytest.approx(6.0, rel=1e-3)
    assert short_circuit(_array(cell_temperature=65.0, isc_coefficient=0.001)) == pytest.approx(6.24, rel=1e-3)


@pytest.mark.parametrize("changed", [{"vmp": 23.0}, {"imp": 6.5}, {"vmp": 8.0, "imp": 2.0}, {"cell_temperature": 400.0}])
def test_values_that_no_module_has_give_no_array(changed: dict[str, float]) -> None:
    values = {**SHEET, "in_series": 1, "in_parallel": 1, "irradiance": 1000.0, "cell_temperature": 25.0, **changed}
    assert array_at("roof", 1, 0, **values) is None
