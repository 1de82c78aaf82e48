"""Modules from data-sheet values, and their peaks: by the points that they must go through, and against plain searches."""

from __future__ import annotations

from dataclasses import replace
from math import inf, isnan

import pytest
from ohmwright.solver import Array
from ohmwright.solver.photovoltaic import Module, current_at, fit, open_circuit, peak, short_circuit

ARRAY = Array("pv", 0, 1, 6.0, 2.5e-9, 1.0, 0.2, 200.0)


@pytest.mark.parametrize(
    ("voc", "isc", "vmp", "imp", "coefficient"),
    [
        (22.5, 5.86, 18.6, 5.38, None),
        (22.5, 5.86, 18.6, 5.38, -0.0029),
        (49.1, 11.5, 41.2, 10.9, -0.0027),
        (22.5, 5.86, 14.5, 5.55, None),  # so round that the largest slope without a leak is the limit
        (22.5, 5.86, 19.9, 5.6, -0.0029),  # so square that the slope has to be lowered below that of the coefficient
    ],
)
def test_curve_goes_through_the_points_of_the_data_sheet(
    voc: float, isc: float, vmp: float, imp: float, coefficient: float | None
) -> None:
    module = fit(voc, isc, vmp, imp, voc_per_kelvin=coefficient)
    array = module.array("pv", 0, 1)
    assert open_circuit(array) == pytest.approx(voc, rel=1e-9)
    assert short_circuit(array) == pytest.approx(isc, rel=1e-9)
    assert current_at(array, vmp) == pytest.approx(imp, rel=1e-9)
    assert peak(array) == pytest.approx((vmp, imp), rel=1e-6)
    assert module.series >= 0
    assert module.shunt > 0


def test_slope_that_had_to_be_lowered_is_the_largest_that_goes() -> None:
    """So square a curve leaves nothing for the series resistance: that is the limit of the slope."""
    wanted = fit(22.5, 5.86, 18.6, 5.38, voc_per_kelvin=-0.0029)
    square = fit(22.5, 5.86, 19.9, 5.6, voc_per_kelvin=-0.0029)
    assert 0.5 * wanted.slope < square.slope < wanted.slope
    assert 0 <= square.series < 1e-9
    assert square.shunt > 0


@pytest.mark.parametrize(
    ("values", "reason"),
    [
        ((18.0, 5.86, 18.6, 5.38), "0 < vmp < voc"),
        ((22.5, 5.0, 18.6, 5.38), "0 < vmp < voc"),
        ((22.5, 5.86, 11.0, 5.38), "straight line"),
        ((22.5, 5.86, 18.6, 2.9), "straight line"),
        ((22.5, 5.86, 22.4999, 5.8599), "no diode"),
    ],
)
def test_values_that_no_diode_has_are_refused(values: tuple[float, float, float, float], reason: str) -> None:
    with pytest.raises(ValueError, match=reason):
        fit(*values)


def test_strings_and_sun_scale_the_curve() -> None:
    module = fit(22.5, 5.86, 18.6, 5.38, voc_per_kelvin=-0.0029)
    one, four = module.array("pv", 0, 1), module.array("pv", 0, 1, in_series=2, in_parallel=2)
    assert peak(four) == pytest.approx((2 * peak(one)[0], 2 * peak(one)[1]), rel=1e-9)
    full, half = module.array("pv", 0, 1), module.array("pv", 0, 1, sun=500.0)
    assert half.photo == pytest.approx(full.photo / 2, rel=1e-12)
    assert half.shunt == pytest.approx(full.shunt * 2, rel=1e-12)
    assert short_circuit(half) == pytest.approx(5.86 / 2, rel=2e-3)
    dark = module.array("pv", 0, 1, sun=0.0)
    assert (open_circuit(dark), peak(dark)) == (0.0, (0.0, 0.0))


def test_open_voltage_follows_its_coefficient() -> None:
    """22.5 V x (1 + 0.0029 x 35) at -10 degC = 24.78 V."""
    module = fit(22.5, 5.86, 18.6, 5.38, voc_per_kelvin=-0.0029)
    assert open_circuit(module.array("pv", 0, 1, cell_celsius=-10.0)) == pytest.approx(22.5 * 1.1015, rel=1e-9)


def test_conditions_under_which_no_module_works_are_refused() -> None:
    module = fit(22.5, 5.86, 18.6, 5.38, voc_per_kelvin=-0.0029)
    for conditions in ({"cell_celsius": 400.0}, {"cell_celsius": -300.0}, {"sun": -1.0}, {"sun": float("nan")}):
        with pytest.raises(ValueError, match="pv: no module works"):
            module.array("pv", 0, 1, **conditions)


def test_values_that_contradict_each_other_are_refused() -> None:
    """A shunt that takes more than the light gives, at the open voltage: 20 V / 2 ohm = 10 A of 6 A."""
    module = Module(6.0, 2.5e-9, 1.0, 0.2, 2.0, 20.0, 6.0, -0.003, 0.0005)
    with pytest.raises(ValueError, match=r"pv: the module's values contradict each other at 25\.0 degC"):
        module.array("pv", 0, 1)
    assert module.shunt == 2.0


@pytest.mark.parametrize("series", [0.0, 0.2, 1.0, 10.0])
@pytest.mark.parametrize("shunt", [5.0, 200.0, inf])
def test_no_point_of_the_curve_gives_more_than_the_peak(series: float, shunt: float) -> None:
    array = replace(ARRAY, series=series, shunt=shunt)
    volt, ampere = peak(array)
    assert ampere == pytest.approx(current_at(array, volt), rel=1e-9)
    most = max(u * current_at(array, u) for u in (open_circuit(array) * k / 4000 for k in range(4001)))
    assert volt * ampere == pytest.approx(most, rel=1e-5)
    assert volt * ampere >= most * (1 - 1e-12)


def test_a_peak_of_no_number_ends_the_search() -> None:
    """Nothing hangs: without a peak to find, the search stops by its bound and gives no number."""
    assert isnan(peak(replace(ARRAY, photo=inf))[0])
