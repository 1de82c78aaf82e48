"""The tables checked a second way: another transcription, the law that made a table, a relation between two documents.

Each check is named for its table and returns how many figures it compared and the largest difference; a table whose
passport names a second way must have one here, and the other way round. Order alone counts as no second way.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from itertools import pairwise

import pytest
from ohmwright import tables
from ohmwright.constants import FOLDER
from ohmwright_grammar.quantities import Gauge
from ohmwright_rules.basis import TABLES

Rows = Callable[[str], list[dict[str, str]]]
Result = tuple[int, float, float, str]  # figures compared, worst difference, allowed difference, how

RHO = 0.017241  # ohm mm2/m, International Annealed Copper Standard
FOOT = 0.3048  # m
CHECKS: dict[str, Callable[[Rows], Result]] = {}


def _check(name: str) -> Callable[[Callable[[Rows], Result]], Callable[[Rows], Result]]:
    def register(function: Callable[[Rows], Result]) -> Callable[[Rows], Result]:
        CHECKS[name] = function
        return function

    return register


def _rule(name: str) -> tables.Table:
    return tables.load(TABLES, name)


def _constant(name: str) -> tables.Table:
    return tables.load(FOLDER, name)


def _value(table: tables.Table, key: str, column: str) -> float:
    cell = table.cell(key, column)
    assert cell is not None, f"{table.name} {key} {column}"
    return cell.value


def _number(awg: str) -> int:
    return 1 - int(awg[0]) if awg.endswith("/0") else int(awg)


def _area(awg: str) -> float:
    """Area [mm2] by the law of ASTM B258."""
    return Gauge.from_awg(_number(awg)).area * 1e6


def _numbers(text: str) -> list[float]:
    return [float(number) for number in re.findall(r"-?\d+(?:\.\d+)?", text)]


@_check("cfr33_183_table5")
def _of_cfr33_183_table5(source_rows: Rows) -> Result:
    """A wire maker's reprint of the 105 degC column, and NEC 310.17 from 6 AWG up."""
    table, free = _rule("cfr33_183_table5"), _rule("nec_310_17")
    count = 0
    for row in source_rows("worked_examples_conductors"):
        if row["id"].startswith("cfr_engine_"):
            awg = row["id"].removeprefix("cfr_engine_").replace("_", "/")
            printed = float(re.search(r"table5_105C_A=(\d+)", row["inputs"]).group(1))  # type: ignore[union-attr]
            assert _value(table, awg, "A_105C") == printed, awg
            count += 1
    assert count == 14
    for awg in ("6", "4", "3", "2", "1", "1/0", "2/0", "3/0", "4/0"):
        for column in ("A_60C", "A_75C"):
            assert _value(table, awg, column) == _value(free, awg, column), f"{awg} {column}"
            count += 1
    return count, 0.0, 0.0, "wire maker's reprint (105 degC) and NEC 310.17 (60, 75 degC from 6 AWG)"


@_check("cfr33_183_table5_note1")
def _of_cfr33_183_table5_note1(source_rows: Rows) -> Result:
    """The law of the temperature rise; 200 degC departs from it, and no limit uses that value."""
    table = _rule("cfr33_183_table5_note1")
    cells = [cell for cell in table.cells("factor") if cell.row != "200"]
    worst = max(abs(cell.value - _law(float(cell.row), 50)) for cell in cells)
    assert abs(_value(table, "200", "factor") - _law(200, 50)) > 0.05
    return len(cells), worst, 0.0065, "law of the temperature rise, absolute; 200 degC departs"


@_check("cfr33_183_table5_note2")
def _of_cfr33_183_table5_note2(source_rows: Rows) -> Result:
    """A cable maker prints amperes of bundles of 105 degC wire."""
    notes, table = _rule("cfr33_183_table5_note2"), _rule("cfr33_183_table5")
    count = 0
    for row in source_rows("worked_examples_conductors"):
        if row["id"].startswith("cfr_bundle_"):
            awg = row["id"].removeprefix("cfr_bundle_").replace("_", "/")
            printed = [float(part.split("=")[1]) for part in row["outputs"].split("; ")]
            for band, amperes in zip(("3", "4 to 6", "7 to 24"), printed, strict=True):
                product = _value(table, awg, "A_105C") * _value(notes, band, "factor")
                assert product == pytest.approx(amperes, abs=1e-9), f"{awg} {band}"
                count += 1
    return count, 0.0, 0.0, "a cable maker's amperes of bundles"


@_check("cfr30_75_601_3")
def _of_cfr30_75_601_3(source_rows: Rows) -> Result:
    """Each fuse is at least the ampacity and at most the next standard size of NEC 240.6(A)."""
    table = _rule("cfr30_75_601_3")
    sizes = sorted(cell.value for cell in _rule("nec_240_6A").cells("rating_A"))
    count = 0
    for kind in ("single_conductor", "two_conductor"):
        for cell in table.cells(f"{kind}_A"):
            fuse = _value(table, cell.row, f"{kind}_max_fuse_A")
            up = next(size for size in sizes if size >= cell.value)
            assert cell.value <= fuse <= max(up, cell.value), f"{cell.row}: {fuse} for {cell.value}"
            count += 1
    return count, 0.0, 0.0, "fuse within one standard size of NEC 240.6(A)"


@_check("nec_310_16")
def _of_nec_310_16(source_rows: Rows) -> Result:
    return _columns_by_rise(_rule("nec_310_16"), {"A_60C": 30, "A_75C": 45, "A_90C": 60}, step=5.0, share=0.07)


@_check("nec_310_17")
def _of_nec_310_17(source_rows: Rows) -> Result:
    """33 CFR 183.425 Table 5 from 6 AWG up; a published example prints four values of the 90 degC column."""
    table, boats = _rule("nec_310_17"), _rule("cfr33_183_table5")
    count = 0
    for row in source_rows("worked_examples_pv_battery"):
        found = re.match(r"free-air ampacity (\d+) AWG", row["quantity"])
        if row["example_id"] == "WE01" and found:
            assert _value(table, found.group(1), "A_90C") == float(row["value"])
            count += 1
    assert count == 4
    for awg in ("6", "4", "3", "2", "1", "1/0", "2/0", "3/0", "4/0"):
        for column in ("A_60C", "A_75C"):
            assert _value(table, awg, column) == _value(boats, awg, column)
            count += 1
    return count, 0.0, 0.0, "33 CFR 183.425 Table 5 and a published photovoltaic example"


@_check("nec_310_15_ambient")
def _of_nec_310_15_ambient(source_rows: Rows) -> Result:
    return _bands_by_rise(_rule("nec_310_15_ambient"), {"f_60C": 60, "f_75C": 75, "f_90C": 90}, 0.0061)


@_check("nec_690_31A_ambient")
def _of_nec_690_31a_ambient(source_rows: Rows) -> Result:
    # The first row holds up to 30 degC without uprating, so its upper end is the reference ambient.
    return _bands_by_rise(_rule("nec_690_31A_ambient"), {"f_105C": 105, "f_125C": 125}, 0.0071)


@_check("nec_400_5A1")
def _of_nec_400_5a1(source_rows: Rows) -> Result:
    """An appliance standard quotes column B; three loaded cores heat like two at sqrt(2/3) of the current."""
    table = _rule("nec_400_5A1")
    line = next(row["figure"] for row in source_rows("fault_catalogue") if row["code"] == "D7")
    quoted = re.findall(r"(\d+) AWG (\d+)", line)
    assert len(quoted) == 4
    for awg, amperes in quoted:
        assert _value(table, awg, "col_B_2cond") == float(amperes)
    pairs = [(cell.value, _value(table, cell.row, "col_B_2cond")) for cell in table.cells("col_A_3cond")]
    worst = max(abs(three - two * math.sqrt(2 / 3)) for three, two in pairs)
    return len(quoted) + len(pairs), worst, 3.1, "quoted column B; columns by the heat of their cores, A"


@_check("nec_400_5A2")
def _of_nec_400_5a2(source_rows: Rows) -> Result:
    table, free = _rule("nec_400_5A2"), _rule("nec_310_17")
    count = 0
    for column in ("60C", "75C", "90C"):
        for cell in table.cells(f"D_{column}"):
            assert cell.value == _value(free, cell.row, f"A_{column}"), f"{cell.row} {column}"
            count += 1
    return count, 0.0, 0.0, "column D is NEC 310.17"


@_check("nec_240_4D")
def _of_nec_240_4d(source_rows: Rows) -> Result:
    """A published example prints the largest fuses of three sizes; a continuous load is 0.8 of the device."""
    table = _rule("nec_240_4D")
    row = next(row for row in source_rows("worked_examples_pv_battery") if row["quantity"].startswith("maximum fuse 14"))
    for awg, amperes in zip(("14", "12", "10"), _numbers(row["value"]), strict=True):
        assert _value(table, awg, "max_ocpd_A") == amperes
    for awg in ("18", "16"):
        assert _value(table, awg, "max_continuous_load_A") == pytest.approx(0.8 * _value(table, awg, "max_ocpd_A"))
    return 5, 0.0, 0.0, "a published photovoltaic example; 0.8 of the device"


@_check("nec_725_43")
def _of_nec_725_43(source_rows: Rows) -> Result:
    table, small = _rule("nec_725_43"), _rule("nec_240_4D")
    for cell in table.cells("most_A"):
        assert cell.value == _value(small, cell.row, "max_ocpd_A")
    return 2, 0.0, 0.0, "NEC 240.4(D)"


@_check("nec_ch9_table8")
def _of_nec_ch9_table8(source_rows: Rows) -> Result:
    """Resistivity at 75 degC over the area of the gauge law; stranded wire is longer by its lay."""
    table = _rule("nec_ch9_table8")
    rho_75 = RHO * (1 + 0.00393 * 55)
    worst = 0.0
    for key in table.keys:
        awg = key.split(" ")[0]
        ohm_per_kft = rho_75 / _area(awg) * FOOT * 1000
        worst = max(worst, abs(_value(table, key, "uncoated_ohm_per_kft") / ohm_per_kft - 1))
        mils = (_area(awg) / (math.pi / 4)) / 0.0254**2
        assert _value(table, key, "cmil") == pytest.approx(mils, rel=0.004), key
        assert _value(table, key, "coated_ohm_per_kft") > _value(table, key, "uncoated_ohm_per_kft")
    return 2 * len(table.keys), worst, 0.03, "resistivity over area; circular mils of the gauge law"


@_check("nec_690_7")
def _of_nec_690_7(source_rows: Rows) -> Result:
    """Two worked examples; and what the modules of a library do by their own coefficients."""
    table = _rule("nec_690_7")
    examples = {row["quantity"]: row["value"] for row in source_rows("worked_examples_pv_battery")}
    for ambient, words in ((-10, "table factor, row -6..-10 C"), (-25, "factor at -25 C")):
        cell = table.band(ambient, "factor", low="ambient_low_C")
        assert cell is not None
        assert cell.value == float(examples[words])
    for row in table.rows:
        # The printed degF bands run upwards from the degC bands, rounded outwards.
        assert isinstance(row["ambient_low_C"], float)
        assert isinstance(row["ambient_low_F"], float)
        assert 0 <= row["ambient_low_C"] * 1.8 + 32 - row["ambient_low_F"] <= 1, row["band"]
    count, worst = 2 + len(table.rows), 0.0
    for module in source_rows("cold_voltage_modules"):
        if module["voc_table_V"]:
            cell = table.band(float(module["T_cell_C"]), "factor", low="ambient_low_C")
            assert cell is not None
            table_voltage = float(module["V_oc_ref_V"]) * cell.value
            assert table_voltage == pytest.approx(float(module["voc_table_V"]), rel=1e-9)
            worst = max(worst, abs(table_voltage / float(module["voc_linear_V"]) - 1))
            count += 1
    return count, worst, 0.06, "worked examples; modules by their own coefficients"


@_check("faa_table_11_6")
def _of_faa_table_11_6(source_rows: Rows) -> Result:
    """The examples of Tables 11-7 and 11-8, read at source, use the continuous column."""
    table = _rule("faa_table_11_6")
    used = {
        float(match.group(1))
        for row in source_rows("worked_examples_conductors")
        if row["id"].startswith(("faa_11_7", "faa_11_8"))
        for match in [re.search(r"allowed_drop_V=([\d.]+)", row["inputs"])]
        if match
    }
    assert used == {cell.value for cell in table.cells("continuous_V")}
    assert all(
        _value(table, cell.row, "intermittent_V") == pytest.approx(2 * cell.value) for cell in table.cells("continuous_V")
    )
    return 8, 0.0, 0.0, "used by examples read at source; intermittent is twice continuous"


@_check("faa_table_11_9")
def _of_faa_table_11_9(source_rows: Rows) -> Result:
    """Resistances of the worked examples; maxima above resistivity over area; columns by their rise over 70 degC."""
    table = _rule("faa_table_11_9")
    count = 0
    for row in source_rows("worked_examples_conductors"):
        used = re.search(r"ohm_per_ft_20C=([\d.]+)", row["inputs"])
        if used:
            awg = re.search(r"awg=(\d+)", row["outputs"] + row["inputs"]).group(1)  # type: ignore[union-attr]
            assert _value(table, awg, "ohm_per_kft_20C") == pytest.approx(1000 * float(used.group(1))), row["id"]
            count += 1
    assert count == 6
    for cell in table.cells("ohm_per_kft_20C"):
        cmil = _value(table, cell.row, "cmil")
        excess = cell.value / (RHO / (cmil * math.pi / 4 * 0.0254**2) * FOOT * 1000) - 1
        assert 0.11 < excess < 0.31, f"{cell.row}: {excess}"
        assert cmil == pytest.approx(_area(cell.row) / (math.pi / 4) / 0.0254**2, rel=0.195)
        count += 2
    by_rise = _columns_by_rise(table, {"A_105C": 35, "A_150C": 80, "A_200C": 130}, step=1.5, share=0.07)
    return count + by_rise[0], by_rise[1], by_rise[2], "examples, resistivity over area, temperature rise"


@_check("iec60364_5_52_pvc70")
def _of_iec60364_5_52_pvc70(source_rows: Rows) -> Result:
    """The power law of Annex D, I = a S^m; coefficients from memory."""
    laws = {
        "A1": (11.2, 0.6118),
        "A2": (10.8, 0.6015),
        "B1": (13.5, 0.625),
        "B2": (13.1, 0.600),
        "C": (15.0, 0.625),
        "D1": (17.42, 0.540),
        "E": (16.8, 0.62),
    }
    return _power_law(_rule("iec60364_5_52_pvc70"), laws)


@_check("iec60364_5_52_xlpe90")
def _of_iec60364_5_52_xlpe90(source_rows: Rows) -> Result:
    """The power law of Annex D, I = a S^m; coefficients from memory."""
    laws = {
        "A1": (14.9, 0.611),
        "A2": (14.46, 0.598),
        "B1": (17.76, 0.6250),
        "B2": (17.25, 0.600),
        "C": (18.77, 0.628),
        "D1": (20.25, 0.542),
        "E": (20.5, 0.623),
    }
    return _power_law(_rule("iec60364_5_52_xlpe90"), laws)


@_check("iec60364_5_52_ambient")
def _of_iec60364_5_52_ambient(source_rows: Rows) -> Result:
    table = _rule("iec60364_5_52_ambient")
    pairs = [
        (cell.value, _law(temperature, float(cell.row)))
        for column, temperature in (("pvc70", 70), ("xlpe90", 90))
        for cell in table.cells(column)
    ]
    return len(pairs), max(abs(a - b) for a, b in pairs), 0.0101, "law of the temperature rise, absolute"


@_check("iso10133_annex_a")
def _of_iso10133_annex_a(source_rows: Rows) -> Result:
    """Plausibility only: against Table 5 of 33 CFR 183.425 at equal area, interpolated along powers of the area."""
    table, boats = _rule("iso10133_annex_a"), _rule("cfr33_183_table5")
    points = [(_area(cell.row), cell.value) for cell in boats.cells("A_105C")]
    ratios = []
    for cell in table.cells("A_105C"):
        area = float(cell.row)
        if 1 <= area <= 95:
            (s0, i0), (s1, i1) = next(
                (pair for pair in pairwise(points) if pair[0][0] <= area <= pair[1][0]),
                (points[0], points[1]),
            )
            expected = i0 * (area / s0) ** (math.log(i1 / i0) / math.log(s1 / s0))
            ratios.append(cell.value / expected)
    assert all(0.86 < ratio < 1.01 for ratio in ratios), ratios
    return len(ratios), max(abs(ratio - 1) for ratio in ratios), 0.14, "plausibility against 33 CFR Table 5; from memory"


@_check("short_circuit_k")
def _of_short_circuit_k(source_rows: Rows) -> Result:
    """k = sqrt(Qc (B + 20) / rho20 ln((B + Tf)/(B + Ti))), IEC 60364-5-54 annex."""
    table = _rule("short_circuit_k")
    worst = 0.0
    for key in table.keys:
        ratio = (234.5 + _value(table, key, "final_C")) / (234.5 + _value(table, key, "initial_C"))
        law = math.sqrt(0.00345 * 254.5 / 17.241e-6 * math.log(ratio))
        assert _value(table, key, "k_computed") == pytest.approx(law, abs=0.051), key
        worst = max(worst, abs(_value(table, key, "k") - law))
        # What is computed here is cut, never rounded up.
        assert table.status(key, "k") != "computed" or _value(table, key, "k") <= law
    return 2 * len(table.keys), worst, 0.7, "recomputed, A s^0.5/mm2"


@_check("fuse_conventional_currents")
def _of_fuse_conventional_currents(source_rows: Rows) -> Result:
    """The shares of ampacity that are in use follow from the multiples: 1.45 over each."""
    table = _rule("fuse_conventional_currents")
    shares = {"gG 16 to 63 A": 0.906, "gG above 4 and below 16 A": 0.763, "gG up to 4 A": 0.690}
    pairs = [(1.45 / _value(table, key, "operating"), share) for key, share in shares.items()]
    worst = max(abs(a - b) for a, b in pairs)
    return len(pairs), worst, 0.0006, "shares of ampacity in use, absolute"


@_check("coiled_cord")
def _of_coiled_cord(source_rows: Rows) -> Result:
    table = _rule("coiled_cord")
    pairs = [
        (cell.value, _value(table, cell.row, "wound_A") / _value(table, cell.row, "unwound_A"))
        for cell in table.cells("factor")
        if table.cell(cell.row, "wound_A") is not None
    ]
    return len(pairs), max(abs(a - b) for a, b in pairs), 0.0051, "wound over unwound, absolute"


@_check("pv_factors")
def _of_pv_factors(source_rows: Rows) -> Result:
    table = _rule("pv_factors")
    product = _value(table, "690.8(A)(1)", "factor") * _value(table, "690.8(B)", "factor")
    return 1, abs(_value(table, "690.8 together", "factor") - product), 0.0, "1.25 x 1.25, printed as 1.56"


@_check("battery_temperature_multiplier")
def _of_battery_temperature_multiplier(source_rows: Rows) -> Result:
    table = _rule("battery_temperature_multiplier")
    pairs = [((_value(table, key, "temperature_F") - 32) / 1.8, _value(table, key, "temperature_C")) for key in table.keys]
    return len(pairs), max(abs(a - b) for a, b in pairs), 0.11, "degF and degC agree, K"


@_check("ventilation")
def _of_ventilation(source_rows: Rows) -> Result:
    coefficient = _value(_rule("ventilation"), "coefficient of air flow", "value")
    return 1, abs(coefficient / (24 * 0.42e-3 * 5) - 1), 0.01, "v q s = 24 x 0.42e-3 x 5"


@_check("lifting")
def _of_lifting(source_rows: Rows) -> Result:
    mass = _value(_rule("lifting"), "two-handed, NIOSH load constant", "mass_kg")
    return 1, abs(mass - 51 * 0.45359237), 0.14, "51 lb, kg"


@_check("copper")
def _of_copper(source_rows: Rows) -> Result:
    """The constants of copper recomputed from one another."""
    value = {key: _value(_constant("copper"), key, "value") for key in _constant("copper").keys}
    pairs = [
        (value["resistivity_20C"], 1 / value["conductivity_20C"]),
        (value["alpha_20C"], 1 / (value["inferred_zero_resistance"] + 20)),
        (value["alpha_75C"], 1 / (value["inferred_zero_resistance"] + 75)),
        (value["mass_resistivity_20C"], value["resistivity_20C"] * value["density_20C"]),
        (
            value["adiabatic_constant"],
            math.sqrt(
                value["volumetric_heat_capacity_20C"]
                * (value["inferred_zero_resistance"] + 20)
                / (value["resistivity_20C"] * 1e-3)
            ),
        ),
    ]
    return len(pairs), max(abs(a / b - 1) for a, b in pairs), 0.002, "recomputed from one another"


@_check("metals")
def _of_metals(source_rows: Rows) -> Result:
    table = _constant("metals")
    shares = {"aluminium": 0.61, "copper-clad": 0.63}
    pairs = [(_value(table, metal, "resistivity_ohm_mm2_per_m"), RHO / share) for metal, share in shares.items()]
    return len(pairs), max(abs(a / b - 1) for a, b in pairs), 1e-4, "share of the conductivity of copper"


@_check("iec60228_resistance")
def _of_iec60228_resistance(source_rows: Rows) -> Result:
    """Limits lie above resistivity over nominal area, by no more than lay and tolerance allow."""
    table = _constant("iec60228_resistance")
    excess = [cell.value / (1000 * RHO / float(cell.row)) - 1 for column in table.columns[1:] for cell in table.cells(column)]
    assert min(excess) > 0.03
    return len(excess), max(excess), 0.20, "excess over resistivity / nominal area"


@_check("iec60228_temperature_factor")
def _of_iec60228_temperature_factor(source_rows: Rows) -> Result:
    cells = list(_constant("iec60228_temperature_factor").cells("factor"))
    worst = max(abs(cell.value - 254.5 / (234.5 + float(cell.row))) for cell in cells)
    return len(cells), worst, 0.0035, "254.5 / (234.5 + T), absolute"


@_check("rest_voltage")
def _of_rest_voltage(source_rows: Rows) -> Result:
    """Flooded cells: specific gravity plus 0.845 V (from memory); and a rule of thumb read on a mailing list."""
    table = _constant("rest_voltage")
    pairs = []
    for row in source_rows("soc_voltage"):
        if row["specific_gravity"]:
            pairs.append((_value(table, f"flooded {row['soc_pct']}", "cell_V"), float(row["specific_gravity"]) + 0.845))
        elif "rule of thumb" in row["battery"] and row["soc_pct"] != "0":
            volt = 6 * _value(table, f"flooded {row['soc_pct']}", "cell_V")
            assert volt == pytest.approx(float(row["rest_voltage_V"]), abs=0.065)
    return len(pairs) + 4, max(abs(a - b) for a, b in pairs), 0.02, "specific gravity + 0.845 V, V a cell"


@pytest.mark.parametrize("name", CHECKS)
def test_table_agrees_with_its_second_way(name: str, source_rows: Rows, reference_report: Callable[..., None]) -> None:
    checked, worst, allowed, how = CHECKS[name](source_rows)
    reference_report(f"table {name}, second way", checked, worst, f"{how}; at most {allowed:g} allowed")
    assert worst <= allowed


def test_every_passport_with_a_second_way_has_its_check() -> None:
    named = {
        path.stem
        for path in [*TABLES.glob("*.csv"), *FOLDER.glob("*.csv")]
        if tables.load(path.parent, path.stem).passport.second_way
    }
    assert named == set(CHECKS)


def _law(insulation: float, ambient: float) -> float:
    return math.sqrt(max(0.0, insulation - ambient) / (insulation - 30))


def _bands_by_rise(table: tables.Table, columns: dict[str, int], allowed: float) -> Result:
    pairs = [
        (cell.value, _law(temperature, _value(table, cell.row, "ambient_max_C")))
        for column, temperature in columns.items()
        for cell in table.cells(column)
    ]
    worst = max(abs(a - b) for a, b in pairs)
    return len(pairs), worst, allowed, "law of the temperature rise at the upper ends, absolute"


def _columns_by_rise(table: tables.Table, rises: dict[str, int], step: float, share: float) -> Result:
    """Columns stand as the roots of their temperature rises, within a step of rounding or a share."""
    (first, base), *others = rises.items()
    count, worst = 0, 0.0
    for cell in table.cells(first):
        for column, rise in others:
            expected = cell.value * math.sqrt(rise / base)
            printed = _value(table, cell.row, column)
            assert abs(printed - expected) <= max(step, share * expected), f"{cell.row} {column} {expected}"
            worst, count = max(worst, abs(printed / expected - 1)), count + 1
    return count, worst, 1.0, f"roots of the temperature rise, within {step:g} A or {share:.0%}"


def _power_law(table: tables.Table, laws: dict[str, tuple[float, float]]) -> Result:
    pairs = [
        (cell.value, factor * float(cell.row) ** power)
        for column, (factor, power) in laws.items()
        for cell in table.cells(column)
    ]
    return len(pairs), max(abs(a / b - 1) for a, b in pairs), 0.055, "power law of Annex D, from memory"
