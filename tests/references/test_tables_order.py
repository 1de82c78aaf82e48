"""What holds of the tables without a second source: the law of the gauge, order, and the anomalies on record."""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise

import pytest
from ohmwright import tables
from ohmwright.constants import FOLDER
from ohmwright_grammar.quantities import Gauge
from ohmwright_rules.basis import TABLES

Rows = Callable[[str], list[dict[str, str]]]

RHO = 0.017241  # ohm mm2/m, International Annealed Copper Standard
FOOT = 0.3048  # m


def _rule(name: str) -> tables.Table:
    return tables.load(TABLES, name)


def _constant(name: str) -> tables.Table:
    return tables.load(FOLDER, name)


def _value(table: tables.Table, key: str, column: str) -> float:
    cell = table.cell(key, column)
    assert cell is not None, f"{table.name} {key} {column}"
    return cell.value


def test_law_of_the_gauge_agrees_with_two_published_tables(source_rows: Rows, reference_report: Callable[..., None]) -> None:
    """ASTM B258 by d = 0.127 x 92^((36 - n)/39) mm, against the columns of a published wire table."""
    count, worst = 0, 0.0
    for row in source_rows("awg_dimensions"):
        gauge = Gauge.from_awg(int(row["n"]))
        mm2 = gauge.area * 1e6
        diameter = math.sqrt(mm2 * 4 / math.pi)
        for computed, printed, allowed in (
            (diameter / 25.4, row["pub_d_in"], 1.5e-4),
            (mm2 / (math.pi / 4) / 0.0254**2, row["pub_cmil"], 2.5e-4),
            (mm2, row["area_mm2"], 3e-4),
            (RHO / mm2 * 1000, row["R20_ohm_per_km_calc"], 3e-4),
        ):
            difference = abs(computed / float(printed) - 1)
            # The published columns are rounded: half a unit of the last digit counts as equal.
            digits = len(printed.partition(".")[2])
            assert difference <= allowed or abs(computed - float(printed)) <= 0.5001 * 10**-digits, f"{row['awg']} {printed}"
            worst, count = max(worst, difference), count + 1
        per_kft = RHO / mm2 * FOOT * 1000
        assert per_kft == pytest.approx(float(row["pub_R20_ohm_per_kft"]), rel=1e-3, abs=5e-4)
        count += 1
    reference_report("law of the gauge, ASTM B258", count, worst, "published wire table, rounding of its last digit")


# Tables in the order of their rows: which columns rise, and which fall, down the rows. Conductor tables from thin to
# thick; the values of one row rise from column to column in the order given.
RISING = {
    "cfr33_183_table5": "A_60C A_75C A_80C A_90C A_105C A_125C A_200C",
    "nec_310_16": "A_60C A_75C A_90C",
    "nec_310_17": "A_60C A_75C A_90C",
    "nec_400_5A1": "col_A_3cond col_B_2cond",
    "nec_690_31A": "A_105C A_125C",
    "faa_table_11_9": "A_105C A_150C A_200C",
    "iso10133_annex_a": "A_60C A_70C A_85_90C A_105C A_125C A_200C",
    "bs7671_4F1A": "three_core two_single_core_dc",
    "iec60364_5_52_pvc70": "A2 A1 B2 B1",
    "iec60364_5_52_xlpe90": "A2 A1 B2 B1",
    "cfr30_75_601_3": "two_conductor_A single_conductor_A",
    "faa_table_11_3": "fuse_A breaker_A",
}
FALLING = {
    "cfr33_183_table5_note2": "factor",
    "nec_310_15_ambient": "f_60C f_75C f_90C",
    "nec_310_15_count": "factor",
    "nec_690_31A_ambient": "f_105C f_125C",
    "iec60364_5_52_ambient": "pvc70 xlpe90",
    "iec60364_5_52_grouping": "factor",
    "faa_table_11_9": "ohm_per_kft_20C",
}


@pytest.mark.parametrize("name", RISING)
def test_ampacity_rises_with_size_and_temperature(name: str, reference_report: Callable[..., None]) -> None:
    table = _rule(name)
    columns = RISING[name].split()
    count = sum(_ordered([cell.value for cell in table.cells(column)]) for column in columns)
    for row in table.rows:
        count += _ordered([value for column in columns if isinstance(value := row[column], float)])
    reference_report(f"table {name}, monotony", count, 0.0)


@pytest.mark.parametrize("name", FALLING)
def test_factors_fall(name: str, reference_report: Callable[..., None]) -> None:
    table = _rule(name)
    count = sum(_ordered([cell.value for cell in table.cells(column)][::-1]) for column in FALLING[name].split())
    reference_report(f"table {name}, monotony", count, 0.0)


@pytest.mark.parametrize("name", ["fuse_times_blade", "fuse_times_bolt_down"])
def test_fuses_open_sooner_at_more_current(name: str, reference_report: Callable[..., None]) -> None:
    """From memory: within a family both limits fall, and the longest is above the shortest."""
    table = _rule(name)
    count = 0
    for family in dict.fromkeys(str(row["family"]) for row in table.rows):
        rows = [row for row in table.rows if row["family"] == family]
        assert _ordered([value for row in rows if isinstance(value := row["multiple"], float)])
        for column in ("least_s", "most_s"):
            count += _ordered([value for row in rows if isinstance(value := row[column], float)][::-1])
        for row in rows:
            assert row["most_s"] is None or row["least_s"] < row["most_s"]  # type: ignore[operator]
    reference_report(f"table {name}, monotony", count, 0.0, "from memory")


def test_resistance_falls_with_area_but_for_the_anomaly_of_iec_60228(reference_report: Callable[..., None]) -> None:
    """IEC 60228 really has a class 5 limit below class 2 at 50 mm2; everywhere else class 5 is above."""
    table = _constant("iec60228_resistance")
    count = sum(_ordered([cell.value for cell in table.cells(column)][::-1]) for column in table.columns[1:])
    below = [key for key in table.keys if _value(table, key, "class5_plain") < _value(table, key, "class2_plain")]
    assert below == ["50"]
    reference_report("table iec60228_resistance, monotony", count, 0.0, "class 5 below class 2 at 50 mm2 only")


def test_boat_table_departs_from_todays_nec_for_four_sizes_only() -> None:
    """33 CFR 183.425 Table 5 is lower than NEC 310.17 in its 60 and 75 degC columns for 14 to 8 AWG."""
    boats, free = _rule("cfr33_183_table5"), _rule("nec_310_17")
    lower = [
        awg
        for awg in boats.keys
        if free.cell(awg, "A_75C") is not None and _value(boats, awg, "A_75C") < _value(free, awg, "A_75C")
    ]
    assert lower == ["14", "12", "10", "8"]


def _ordered(values: list[float]) -> int:
    assert len(values) > 0
    assert all(a <= b for a, b in pairwise(values)), values
    return max(len(values) - 1, 1)
