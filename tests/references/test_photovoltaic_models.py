"""Photovoltaic curves against pvlib, and open-circuit voltages in the cold against the rows of an open module library.

Sources: pvlib (extra `reference`), its single-diode solver run here; the module library named in `test_photovoltaic_cold_voc.csv`.
"""

from __future__ import annotations

import csv
import importlib.util
import random
import warnings
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from ohmwright.solver import Array, Network, Resistor, Solver, Tracker
from ohmwright.solver.photovoltaic import Module, current_at, fit, open_circuit, peak, short_circuit

ROWS = Path(__file__).with_name("test_photovoltaic_cold_voc.csv")


def rows() -> list[dict[str, str]]:
    with ROWS.open(encoding="utf-8") as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))


def module_of(row: dict[str, str]) -> Module:
    voc, isc = float(row["voc_v"]), float(row["isc_a"])
    return fit(
        voc,
        isc,
        float(row["vmp_v"]),
        float(row["imp_a"]),
        int(row["cells"]),
        float(row["beta_v_per_k"]) / voc,
        float(row["alpha_a_per_k"]) / isc,
    )


def library(skip: Callable[[str], None]) -> Any:
    """pvlib's pvsystem, without its import warnings."""
    if importlib.util.find_spec("pvlib") is None:
        skip("pvlib")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import pvlib.pvsystem

        return pvlib.pvsystem


def test_curves(reference_report: Callable[..., None], reference_skip: Callable[[str], None]) -> None:
    """Currents and voltages of the single-diode equation with the same parameters."""
    pvsystem = library(reference_skip)
    rng = random.Random(5)
    worst = 0.0
    checked = 0
    for _ in range(60):
        slope, photo = rng.uniform(0.8, 4.0), rng.uniform(0.05, 12)
        saturation = 10 ** rng.uniform(-13, -8)
        array = Array("a", 1, 0, photo, saturation, slope, rng.uniform(0.01, 1.0), rng.uniform(50, 2000))
        five = (photo, saturation, array.series, array.shunt, slope)
        whole = pvsystem.singlediode(*five, method="lambertw")
        volt, ampere = peak(array)
        pairs = [
            (open_circuit(array), float(whole["v_oc"]), float(whole["v_oc"])),
            (short_circuit(array), float(whole["i_sc"]), float(whole["i_sc"])),
            (volt * ampere, float(whole["p_mp"]), float(whole["p_mp"])),
            (volt, float(whole["v_mp"]), float(whole["v_oc"])),
        ]
        for part in (-0.2, 0.0, 0.3, 0.6, 0.8, 0.9, 0.97, 1.0, 1.05):
            u = part * open_circuit(array)
            pairs.append((current_at(array, u), float(pvsystem.i_from_v(u, *five, method="lambertw")), photo))
        for part in (0.0, 0.3, 0.7, 0.95):
            i = part * short_circuit(array)
            # Our solver, loaded with a resistance that draws this current, against their voltage at it.
            u = float(pvsystem.v_from_i(i, *five, method="lambertw"))
            network = Network(2, (array, Resistor("r", 1, 0, u / i if i else 1e9)), (0,))
            answer = Solver().solve(network)
            assert answer.voltages[1] is not None
            pairs.append((answer.voltages[1], u, float(whole["v_oc"])))
        for ours, theirs, scale in pairs:
            worst = max(worst, abs(ours - theirs) / scale)
            checked += 1
    reference_report("pvlib: single-diode currents, voltages, peaks", checked, worst)
    assert worst <= 1e-6


def test_translation(reference_report: Callable[..., None], reference_skip: Callable[[str], None]) -> None:
    """Photo current, slope, series and shunt at other conditions, as De Soto's model in pvlib has them."""
    pvsystem = library(reference_skip)
    worst = 0.0
    checked = 0
    for row in rows()[::5]:
        module = module_of(row)
        if module.shunt > 1e9:
            continue
        for sun, cell in ((1000.0, 25.0), (200.0, 10.0), (800.0, 62.0), (1100.0, -20.0)):
            array = module.array("a", 1, 0, sun=sun, cell_celsius=cell)
            theirs = pvsystem.calcparams_desoto(
                sun,
                cell,
                module.isc_per_kelvin * module.isc,
                module.slope,
                module.photo,
                module.saturation,
                module.shunt,
                module.series,
            )
            for ours, other in zip(
                (array.photo, array.series, array.shunt, array.slope),
                (theirs[0], theirs[2], theirs[3], theirs[4]),
                strict=True,
            ):
                worst = max(worst, abs(ours / float(other) - 1))
                checked += 1
    reference_report("pvlib: single-diode parameters at other sun and temperature", checked, worst)
    assert worst <= 1e-6


def test_cold_open_circuit(reference_report: Callable[..., None]) -> None:
    """Modules fitted from their data sheets, at five cell temperatures, against the declared coefficient: to 1 %."""
    worst = model = 0.0
    for row in rows():
        volt = open_circuit(module_of(row).array("a", 1, 0, cell_celsius=float(row["cell_c"])))
        worst = max(worst, abs(volt / float(row["voc_linear_v"]) - 1))
        model = max(model, abs(volt / float(row["voc_model_v"]) - 1))
    reference_report("module library: open-circuit voltage at five temperatures", len(rows()), worst)
    reference_report(
        "module library: the same against the library's own model",
        len(rows()),
        model,
        "differs by design: the declared coefficient is held, the library's model is not linear",
    )
    assert worst <= 0.01
    assert model <= 0.04


def test_copied_rows_are_those_of_the_library(
    reference_report: Callable[..., None], reference_skip: Callable[[str], None]
) -> None:
    pvsystem = library(reference_skip)
    modules = pvsystem.retrieve_sam("CECMod")
    columns = {
        "voc_v": "V_oc_ref",
        "isc_a": "I_sc_ref",
        "vmp_v": "V_mp_ref",
        "imp_a": "I_mp_ref",
        "beta_v_per_k": "beta_oc",
        "alpha_a_per_k": "alpha_sc",
        "cells": "N_s",
    }
    worst = 0.0
    for row in rows():
        theirs = modules.iloc[:, int(row["module"])]
        worst = max(worst, *[abs(float(row[ours]) - float(theirs[name])) for ours, name in columns.items()])
    reference_report("module library: copied rows", len(rows()) * len(columns), worst, "absolute")
    assert worst == 0.0


def test_fit_goes_through_the_data_sheet(reference_report: Callable[..., None]) -> None:
    """The three points and the peak come back from the fitted curve."""
    worst = 0.0
    for row in rows()[::5]:
        array = module_of(row).array("a", 1, 0)
        volt, ampere = peak(array)
        for ours, given in (
            (open_circuit(array), row["voc_v"]),
            (short_circuit(array), row["isc_a"]),
            (volt, row["vmp_v"]),
            (ampere, row["imp_a"]),
        ):
            worst = max(worst, abs(ours / float(given) - 1))
    reference_report("module library: data-sheet points of fitted modules", 40, worst)
    assert worst <= 1e-9


def test_whole_library(reference_report: Callable[..., None], reference_skip: Callable[[str], None]) -> None:
    """Every fortieth module of the library can be fitted, with and without its coefficient."""
    pvsystem = library(reference_skip)
    modules = pvsystem.retrieve_sam("CECMod").iloc[:, ::40]
    worst = 0.0
    checked = 0
    for name in modules:
        m = modules[name]
        voc, isc, vmp, imp = (float(m[k]) for k in ("V_oc_ref", "I_sc_ref", "V_mp_ref", "I_mp_ref"))
        for cells, beta in ((int(m["N_s"]), float(m["beta_oc"]) / voc), (int(m["N_s"]), None), (None, None)):
            module = fit(voc, isc, vmp, imp, cells, beta)
            assert module.series >= 0
            assert module.shunt > 0
            assert beta is not None or -0.0045 <= module.voc_per_kelvin <= -0.002
            volt, ampere = peak(module.array("a", 1, 0))
            worst = max(worst, abs(volt / vmp - 1), abs(ampere / imp - 1))
            checked += 1
    reference_report("module library: peaks of fitted modules, every fortieth row", checked, worst)
    assert worst <= 1e-9


@pytest.mark.parametrize("in_series", [1, 2, 3])
@pytest.mark.parametrize("in_parallel", [1, 2])
def test_array_is_its_modules(in_series: int, in_parallel: int) -> None:
    """An array of equal modules gives their voltage and current times their number (arithmetic)."""
    module = fit(22.0, 6.0, 18.0, 5.6, 36, -0.0031, 0.0005)
    one = module.array("a", 1, 0, sun=700, cell_celsius=45)
    all_ = module.array("a", 1, 0, in_series, in_parallel, sun=700, cell_celsius=45)
    assert open_circuit(all_) == pytest.approx(in_series * open_circuit(one), rel=1e-12)
    assert short_circuit(all_) == pytest.approx(in_parallel * short_circuit(one), rel=1e-12)
    assert current_at(all_, in_series * 15.0) == pytest.approx(in_parallel * current_at(one, 15.0), rel=1e-12)


def test_tracker_finds_the_peak_behind_its_leads(
    reference_report: Callable[..., None], reference_skip: Callable[[str], None]
) -> None:
    """The peak at a tracker's terminals is that of the module with the leads' resistance added to its own."""
    pvsystem = library(reference_skip)
    worst = 0.0
    checked = 0
    for row in rows()[::5]:
        array = module_of(row).array("a", 1, 0, sun=640, cell_celsius=51)
        for ohm in (0.0, 0.05, 0.4):
            network = Network(
                4,
                (
                    array,
                    Resistor("lead", 1, 2, ohm),
                    Tracker("t", 2, 0, 3, 0, 1.0, 1000.0, 1000.0),
                    Resistor("heater", 3, 0, 2.0),
                ),
                (0,),
            )
            whole = pvsystem.singlediode(
                array.photo, array.saturation, array.series + ohm, array.shunt, array.slope, method="lambertw"
            )
            answer = Solver().solve(network)
            worst = max(worst, abs(answer.powers["t.in"] / float(whole["p_mp"]) - 1))
            checked += 1
    reference_report("pvlib: power found by peak tracking behind leads", checked, worst)
    assert worst <= 1e-6


@pytest.mark.parametrize(
    "values",
    [(22.0, 6.0, 23.0, 5.0), (22.0, 6.0, 18.0, 6.5), (22.0, 6.0, 0.0, 5.0), (22.0, 6.0, 10.0, 2.0), (float("nan"), 6, 18, 5)],
)
def test_values_that_no_diode_has(values: tuple[float, float, float, float]) -> None:
    with pytest.raises(ValueError, match=r"module|diode"):
        fit(*values)


def test_no_open_circuit_voltage_is_left() -> None:
    module = fit(22.0, 6.0, 18.0, 5.6, 36, -0.004)
    with pytest.raises(ValueError, match="no module works"):
        module.array("a", 1, 0, cell_celsius=400.0)


def test_dark_module() -> None:
    """Without sun: nothing given, and current taken from a battery as a diode and a shunt take it."""
    array = fit(22.0, 6.0, 18.0, 5.6, 36, -0.003).array("a", 1, 0, sun=0.0)
    assert open_circuit(array) == 0.0
    assert peak(array) == (0.0, 0.0)
    assert current_at(array, 0.0) == 0.0
    assert current_at(array, 24.0) < 0
