"""Every figure of every table against the copied rows of the source that it was taken from.

A figure that stands in no source must say so itself: its status is then from-memory, computed or common-practice.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest
from ohmwright import tables
from ohmwright.constants import FOLDER
from ohmwright_rules.basis import TABLES

Rows = Callable[[str], list[dict[str, str]]]
Key = Callable[[dict[str, str]], str]

EVERY = sorted([*FOLDER.glob("*.csv"), *TABLES.glob("*.csv")])


@dataclass(frozen=True)
class Copy:
    """A table that repeats the columns of a source: how a source row finds its row, which column is which."""

    source: str
    columns: dict[str, str]
    key: Key = lambda row: next(iter(row.values()))
    scale: float = 1.0
    only: Callable[[dict[str, str]], bool] = lambda row: True


def _same(*columns: str) -> dict[str, str]:
    return {column: column for column in columns}


def _band(low: str, high: str) -> str:
    if not high:
        return f"{low} and more"
    return high if low == high else f"{low} to {high}" if low else f"up to {high}"


AMPS = _same("A_60C", "A_75C", "A_90C")
METHODS = _same("A1", "A2", "B1", "B2", "C", "D1", "E")

COPIES = {
    "bs7671_4F1A": Copy("bs7671_4F1A_flexible_60C", _same("two_core_dc", "three_core", "two_single_core_dc")),
    "cfr30_75_601_3": Copy(
        "cfr30_75_601_3_cable_ampacity_fuse",
        _same("single_conductor_A", "single_conductor_max_fuse_A", "two_conductor_A", "two_conductor_max_fuse_A"),
    ),
    "cfr33_183_table5": Copy(
        "cfr33_183_425_table5_ampacity",
        _same("A_60C", "A_75C", "A_80C", "A_90C", "A_105C", "A_125C", "A_200C"),
    ),
    "cfr33_183_table5_note1": Copy(
        "cfr33_183_425_note1_engine_space", {"insulation_C": "insulation_rating_C", "factor": "factor"}
    ),
    "cfr33_183_table5_note2": Copy(
        "cfr33_183_425_note2_bundling",
        _same("conductors_min", "conductors_max", "factor"),
        lambda row: _band(row["conductors_min"], row["conductors_max"]),
    ),
    "nec_310_16": Copy("nec_310_16_ampacity", AMPS),
    "nec_310_17": Copy("nec_310_17_free_air", AMPS),
    "nec_310_15_ambient": Copy(
        "nec_310_15_ambient_correction",
        _same("ambient_min_C", "ambient_max_C", "f_60C", "f_75C", "f_90C"),
        lambda row: _band(row["ambient_min_C"], row["ambient_max_C"]),
    ),
    "nec_310_15_count": Copy(
        "nec_310_15_conductor_count_adjustment",
        {"conductors_min": "count_min", "conductors_max": "count_max", "factor": "percent"},
        lambda row: _band(row["count_min"], row["count_max"]),
    ),
    "nec_400_5A1": Copy("nec_400_5A1_cord_ampacity", _same("col_A_3cond", "col_B_2cond", "heater_types")),
    "nec_400_5A2": Copy("nec_400_5A2_portable_cable_ampacity", _same(*(f"{c}_{t}C" for t in (60, 75, 90) for c in "DEF"))),
    "nec_690_31A": Copy("nec_690_31A_105C_125C_ampacity", _same("A_105C", "A_125C")),
    "nec_690_31A_ambient": Copy(
        "nec_690_31A_ambient_correction",
        _same("f_105C", "f_125C"),
        lambda row: row["ambient_C"].replace("-", " to ") if "-" in row["ambient_C"] else f"up to {row['ambient_C']}",
    ),
    "nec_240_4D": Copy("nec_240_4D_small_conductors", _same("max_ocpd_A", "max_continuous_load_A")),
    "nec_240_6A": Copy("nec_240_6A_standard_ratings", _same("rating_A")),
    "nec_ch9_table8": Copy(
        "nec_ch9_table8_dc_resistance",
        {
            "strands": "strands",
            "cmil": "cmil",
            "uncoated_ohm_per_kft": "ohm_per_kft_uncoated",
            "coated_ohm_per_kft": "ohm_per_kft_coated",
        },
        lambda row: f"{row['awg']} AWG, {row['strands']} strand{'' if row['strands'] == '1' else 's'}",
    ),
    "nec_690_7": Copy(
        "nec_690_7_table",
        _same("ambient_low_C", "ambient_high_C", "factor", "ambient_low_F", "ambient_high_F"),
        lambda row: f"{row['ambient_high_C']} to {row['ambient_low_C']}",
    ),
    "faa_table_11_3": Copy("faa_ac4313_table11_3_wire_protection", _same("breaker_A", "fuse_A")),
    "faa_table_11_6": Copy(
        "faa_ac4313_table11_6_voltage_drop",
        {
            "nominal_V": "nominal_system_V",
            "continuous_V": "drop_continuous_V",
            "intermittent_V": "drop_intermittent_V",
        },
    ),
    "faa_table_11_9": Copy("faa_ac4313_table11_9_copper_wire", _same("A_105C", "A_150C", "A_200C", "ohm_per_kft_20C", "cmil")),
    "iec60228_resistance": Copy(
        "iec60228_dc_resistance", _same("class2_plain", "class2_tinned", "class5_plain", "class5_tinned")
    ),
    "iec60228_temperature_factor": Copy("iec60228_temperature_factor", {"temperature_C": "temp_C", "factor": "Kt"}),
    "iec60364_5_52_pvc70": Copy("iec60364_5_52_copper_two_loaded_pvc70", METHODS),
    "iec60364_5_52_xlpe90": Copy("iec60364_5_52_copper_two_loaded_xlpe90", METHODS),
    "iec60364_5_52_ambient": Copy(
        "iec60364_5_52_factors",
        {"ambient_max_C": "key", "pvc70": "pvc70", "xlpe90": "xlpe90"},
        lambda row: row["key"],
        only=lambda row: row["kind"] == "ambient",
    ),
    "iec60364_5_52_grouping": Copy(
        "iec60364_5_52_factors",
        {"circuits_max": "key", "factor": "xlpe90"},
        lambda row: row["key"],
        only=lambda row: row["kind"] == "group",
    ),
    "iso10133_annex_a": Copy(
        "iso10133_ampacity_from_memory",
        _same("A_60C", "A_70C", "A_85_90C", "A_105C", "A_125C", "A_200C"),
    ),
    "fuse_times_blade": Copy(
        "fuse_blade_time_limits",
        {"multiple": "percent", "least_s": "t_min_s", "most_s": "t_max_s"},
        lambda row: f"{row['type']} {row['percent']} %",
    ),
    "fuse_times_bolt_down": Copy(
        "fuse_boltdown_time_limits",
        {"multiple": "percent", "least_s": "t_min_s", "most_s": "t_max_s"},
        lambda row: f"{row['type']} {row['percent']} %",
    ),
    "fuse_blade_ratings": Copy("fuse_standard_ratings_blade", _same("rating_A")),
    "fuse_selectivity": Copy(
        "fuse_selectivity", {"ratio_min": "min_ratio"}, lambda row: f"{row['upstream']} over {row['downstream']}"
    ),
    "freezing_lead_acid": Copy(
        "soc_voltage",
        {"charge_percent": "soc_pct", "specific_gravity": "specific_gravity", "freezes_C": "freeze_point_C"},
        lambda row: row["soc_pct"],
        only=lambda row: "BCI" in row["battery"],
    ),
}
# Columns that were split off a text of the source ("31-35") or are counted in hundredths there.
SPLIT = {"nec_690_31A_ambient": ("ambient_min_C", "ambient_max_C")}
PERCENT = {("nec_310_15_count", "factor"), ("fuse_times_blade", "multiple"), ("fuse_times_bolt_down", "multiple")}

# Tables of single facts: the words by which each row finds its line in a source; every figure must stand there.
with Path(__file__).with_name("fact_lines.csv").open(encoding="utf-8", newline="") as _file:
    # A row may stand in two sources, one line each.
    FACT_LINES: dict[tuple[str, str], list[tuple[str, str]]] = {}
    for _line in csv.DictReader(_file):
        FACT_LINES.setdefault((_line["table"], _line["row"]), []).append((_line["source"], _line["words"]))
FACTS = sorted({table for table, _ in FACT_LINES})
# Figures that the source prints in another unit or as a band's end ("In>=16" is above 15.99 A).
RESTATED = {
    ("battery_charge", "current_least_A_per_Ah"): ("battery_facts", "charge current, usual", 100.0),
    ("battery_charge", "current_usual_A_per_Ah"): ("battery_facts", "charge current, usual", 100.0),
    ("battery_charge", "current_most_A_per_Ah"): ("battery_facts", "charge current, usual", 100.0),
    ("battery_charge", "absorption_least_V"): ("battery_facts", "charge voltage at 25 C", 1.0),
    ("battery_charge", "absorption_most_V"): ("battery_facts", "charge voltage at 25 C", 1.0),
    ("battery_charge", "float_least_V"): ("battery_facts", "charge voltage at 25 C", 1.0),
    ("battery_charge", "float_most_V"): ("battery_facts", "charge voltage at 25 C", 1.0),
}
BANDS = {"fuse_conventional_currents": ("above_A", "up_to_A", "time_h")}
OWN = ("from-memory", "computed", "common-practice")


def _table(path: Path) -> tables.Table:
    return tables.load(path.parent, path.stem)


def _figures(table: tables.Table) -> list[tables.Cell]:
    found = []
    for key in table.keys:
        row = table.row(key)
        assert row is not None
        for column in table.columns[1:]:
            if isinstance(row[column], float):
                cell = table.cell(key, column)
                assert cell is not None
                found.append(cell)
    return found


def _numbers(text: str) -> set[float]:
    # "0..60" and "10-20" are ranges; "-20..60" starts below zero.
    text = text.replace("..", " ")
    plain = {float(number) for number in re.findall(r"(?<![\w.])-?\d+(?:\.\d+)?", text)}
    return plain | {float(number) for number in re.findall(r"\d+(?:\.\d+)?", text)}


@pytest.mark.parametrize("name", COPIES)
def test_table_repeats_its_source_cell_by_cell(name: str, source_rows: Rows, reference_report: Callable[..., None]) -> None:
    copy = COPIES[name]
    path = next(path for path in EVERY if path.stem == name)
    table = _table(path)
    rows = [row for row in source_rows(copy.source) if copy.only(row)]
    assert list(table.keys) == [copy.key(row) for row in rows], "rows or their order differ"
    checked, worst = 0, 0.0
    for row in rows:
        for column, source_column in copy.columns.items():
            printed = row[source_column]
            cell = table.cell(copy.key(row), column)
            if not printed:
                assert cell is None, f"{name} {copy.key(row)} {column}: the source is blank"
                continue
            assert cell is not None, f"{name} {copy.key(row)} {column}: missing"
            expected = float(printed) / (100.0 if (name, column) in PERCENT else 1.0)
            if "status" in row:
                assert _claims(cell.status, row["status"]), f"{name} {cell.row} {column} is {cell.status}"
            worst = max(worst, abs(cell.value - expected) / max(abs(expected), 1.0))
            assert cell.value == pytest.approx(expected, rel=1e-12), f"{name} {copy.key(row)} {column}"
            checked += 1
    covered = {*copy.columns, *SPLIT.get(name, ())}
    assert {cell.column for cell in _figures(table)} <= covered, "a column of figures was not compared"
    reference_report(f"table {name}", checked, worst, _second(table))


@pytest.mark.parametrize("name", FACTS)
def test_facts_stand_in_their_source(name: str, source_rows: Rows, reference_report: Callable[..., None]) -> None:
    table = _table(next(path for path in EVERY if path.stem == name))
    unknown = {row for of, row in FACT_LINES if of == name} - set(table.keys)
    assert not unknown, f"{name} has no rows {unknown}"
    checked = 0
    for cell in _figures(table):
        place = f"{name} {cell.row} {cell.column} = {cell.value}"
        if cell.column in BANDS.get(name, ()):
            continue
        if (name, cell.row) not in FACT_LINES:
            assert cell.status in OWN, f"{place} stands in no source and is {cell.status}"
            continue
        found = []
        for file, words in FACT_LINES[name, cell.row]:
            hits = [line for line in _lines(source_rows(file)) if words in line]
            assert hits, f"no line of {file} has {words!r}"
            found += hits
        assert any(_near(cell.value, _numbers(line)) for line in found), place
        assert any(_claims(cell.status, line) for line in found), f"{place}: no line is {cell.status}"
        checked += 1
    reference_report(f"table {name}", checked, 0.0, _second(table))


def test_battery_charging_stands_in_its_source(source_rows: Rows, reference_report: Callable[..., None]) -> None:
    table = _table(TABLES / "battery_charge.csv")
    checked = 0
    for cell in _figures(table):
        file, words, scale = RESTATED["battery_charge", cell.column]
        line = next(line for line in _lines(source_rows(file)) if words in line)
        assert _near(cell.value * scale, _numbers(line)), f"{cell.row} {cell.column}"
        checked += 1
    assert checked == 21
    reference_report("table battery_charge", checked, 0.0, _second(table))


def test_rest_voltages_are_the_printed_ones_for_one_cell(source_rows: Rows, reference_report: Callable[..., None]) -> None:
    table = _table(FOLDER / "rest_voltage.csv")
    cells_in = {"lead-acid flooded (BCI)": ("flooded", 6), "LFP 4-cell, rested 24 h": ("LFP", 4)}
    checked, worst = 0, 0.0
    for row in source_rows("soc_voltage"):
        if row["battery"] not in cells_in:
            continue
        chemistry, count = cells_in[row["battery"]]
        cell = table.cell(f"{chemistry} {row['soc_pct']}", "cell_V")
        assert cell is not None
        assert cell.status == "secondary"
        difference = abs(cell.value * count - float(row["rest_voltage_V"]))
        assert difference < 5e-4
        worst = max(worst, difference / float(row["rest_voltage_V"]))
        checked += 1
    own = [cell for cell in table.cells("cell_V") if cell.row.startswith(("AGM", "gel", "other"))]
    assert {cell.status for cell in own} == {"from-memory"}
    assert checked + len(own) == len(table.rows)
    reference_report("table rest_voltage", checked, worst, _second(table))


def test_every_table_is_compared_or_declares_itself_unread() -> None:
    compared = {*COPIES, *FACTS, "battery_charge", "rest_voltage"}
    for path in EVERY:
        if path.stem in compared:
            continue
        table = _table(path)
        weak = {cell.status for cell in _figures(table)} - set(OWN)
        known = {
            "metals": {"secondary"},  # copper, compared below
            "cells": {"secondary"},  # lead-acid nominal and empty, compared below
        }
        assert weak <= known.get(path.stem, set()), f"{path.stem} holds {weak} figures that nothing compares"


def test_metals_and_cells_repeat_what_was_read(source_rows: Rows, reference_report: Callable[..., None]) -> None:
    metals, cells = _table(FOLDER / "metals.csv"), _table(FOLDER / "cells.csv")
    copper = {row["quantity"]: float(row["value"]) for row in source_rows("copper_constants")}
    for metal in ("copper", "tinned"):
        assert metals.cell(metal, "resistivity_ohm_mm2_per_m").value == copper["resistivity_20C"]  # type: ignore[union-attr]
        assert metals.cell(metal, "alpha_20C_per_K").value == copper["alpha20"]  # type: ignore[union-attr]
    line = next(line for line in _lines(source_rows("battery_facts")) if "lead-acid,nominal cell" in line)
    for chemistry in ("flooded", "AGM", "gel"):
        for column in ("nominal_V", "empty_V"):
            cell = cells.cell(chemistry, column)
            assert cell is not None
            assert cell.status == "secondary"
            assert cell.value in _numbers(line)
    for column in ("nominal_V", "charge_limit_V", "empty_V"):
        cell = cells.cell("LFP", column)
        assert cell is not None
        assert cell.status == "from-memory"
        assert any(cell.value in _numbers(line) for line in _lines(source_rows("battery_facts")) if line.startswith("lfp"))
    reference_report("tables metals, cells", 13, 0.0, "the rest is from memory")


def _lines(rows: list[dict[str, str]]) -> list[str]:
    return [",".join(row.values()) for row in rows]


def _claims(status: str, line: str) -> bool:
    """Tell whether a source line was read at least as well as a table claims; a weaker claim is always allowed."""
    if status == "read":
        return "read at source" in line
    return status != "secondary" or "read at s" in line or "read on equipment" in line


def _near(value: float, numbers: set[float]) -> bool:
    return any(abs(value - number) <= 1e-9 * max(1.0, abs(number)) for number in numbers)


def _second(table: tables.Table) -> str:
    status = ", ".join(sorted({cell.status for cell in _figures(table)}))
    return f"{status}; {'also checked a second way' if table.passport.second_way else 'single transcription'}"
