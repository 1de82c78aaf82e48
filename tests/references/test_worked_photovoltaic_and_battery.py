"""Published worked examples of small photovoltaic and battery systems, as far as tables and bases decide them.

`WE..` numbers are those of data/worked_examples_pv_battery.csv, whose rows name source, address and status.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest
from ohmwright import tables
from ohmwright.constants.metals import resistance_per_metre
from ohmwright_grammar.quantities import Gauge
from ohmwright_rules.ampacity import Ampacity, Laying, ampacity, demand, terminal_ampacity
from ohmwright_rules.basis import TABLES, get
from ohmwright_rules.cold_voltage import cold_factor, cold_voltage
from ohmwright_rules.fusing import FuseLimit, fuse_limit, rating_at_least
from ohmwright_rules.sizing import smallest_for_fuse

Rows = Callable[[str], list[dict[str, str]]]
Report = Callable[..., None]

FOOT = 0.3048  # m
PREMISES = get("us-premises")


@pytest.fixture(scope="session")
def printed(source_rows: Rows) -> Callable[[str, str], float]:
    """Return the printed figure of an example by its number and quantity."""
    rows = source_rows("worked_examples_pv_battery")

    def figure(example: str, quantity: str) -> float:
        return float(next(row["value"] for row in rows if (row["example_id"], row["quantity"]) == (example, quantity)))

    return figure


Printed = Callable[[str, str], float]


def _array_lead(awg: int, ambient: float) -> Laying:
    gauge = Gauge.from_awg(awg)
    return Laying(gauge.text, gauge.area, ambient=ambient, insulation=90.0, in_free_air=True, use="array")


def _amps(laying: Laying) -> Ampacity:
    found = ampacity(PREMISES, laying)
    assert isinstance(found, Ampacity), found
    return found


def _cell(table: str, key: str, column: str) -> float:
    cell = tables.load(TABLES, table).cell(key, column)
    assert cell is not None
    return cell.value


def _ohm(awg: int, feet: float) -> float:
    return resistance_per_metre(Gauge.from_awg(awg)) * feet * FOOT


def test_we01_array_leads_of_a_stand_alone_house(printed: Printed, reference_report: Report) -> None:
    """WE01, a stand-alone residential system (secondary): 90 degC wire in free air at 68 degC, NEC."""
    hot = printed("WE01", "max estimated module operating temperature")
    worst = 0.0
    for awg in (14, 12, 10, 8):
        found = _amps(_array_lead(awg, hot))
        assert found.table_value == printed("WE01", f"free-air ampacity {awg} AWG")
        assert found.ambient_factor == printed("WE01", "temperature factor at 61-70 C")
        worst = max(worst, abs(found.value / printed("WE01", f"{awg} AWG ampacity at 68 C") - 1))
    needed = demand(PREMISES, 5 * printed("WE01", "module Isc"), use="array")
    # 20.3 and 25.4 A are printed from rounded steps; 20.3125 and 25.39 A are exact.
    assert needed.corrected == pytest.approx(printed("WE01", "required current per sub-array"), abs=0.05)
    assert needed.table == pytest.approx(25.390625)
    assert needed.table == pytest.approx(5 * printed("WE01", "80% operation current per module"), rel=1e-3)
    # 14 AWG carries 20.3 A: enough for the rounded figure, not for the exact one.
    assert _amps(_array_lead(14, hot)).value < needed.corrected
    reference_report("WE01 stand-alone house, array leads", 11, worst, "14 AWG fails by 0.01 A on the exact current")
    assert worst < 1e-12


def test_we01_fuses_and_terminals(printed: Printed, reference_report: Report) -> None:
    """WE01: fuses of at most 15, 20, 30 A for 14, 12, 10 AWG; a 30 A fuse asks for 10 AWG; 35 A at 75 degC terminals."""
    for awg, most in ((14, 15.0), (12, 20.0), (10, 30.0)):
        limit = fuse_limit(PREMISES, _amps(_array_lead(awg, 68.0)), 25.0)
        assert isinstance(limit, FuseLimit)
        assert limit.value == most
    fuse = rating_at_least(PREMISES, demand(PREMISES, 5 * 3.25, use="array").table)
    assert fuse == 30.0
    size = smallest_for_fuse(PREMISES, _array_lead(14, 68.0), fuse)
    assert size is not None
    assert size.gauge.text == "10 AWG"
    terminal = terminal_ampacity(PREMISES, _array_lead(10, 68.0), 75.0, 20.3)
    assert isinstance(terminal, Ampacity)
    assert terminal.value == printed("WE01", "10 AWG ampacity re-evaluated with 75 C insulation at 30 C")
    reference_report("WE01 stand-alone house, fuses and terminals", 6, 0.0)


def test_we02_string_length_by_both_methods(printed: Printed, reference_report: Report) -> None:
    """WE02, a training lesson (secondary): 49.5 V, -0.27 %/K, -10 degC, 600 V: 11 modules by coefficient, 10 by table."""
    volts, coldest, limit = (printed("WE02", name) for name in ("Voc", "lowest expected ambient", "voltage limit"))
    by_coefficient = cold_voltage(volts, printed("WE02", "temperature coefficient of Voc") / 100, coldest)
    factor = cold_factor(coldest)
    assert factor is not None
    by_table = volts * factor.value
    worst = max(
        abs(by_coefficient / printed("WE02", "maximum module Voc") - 1),
        abs(by_table / printed("WE02", "maximum module Voc (table)") - 1),
    )
    assert limit // by_coefficient == printed("WE02", "max modules in series (coefficient)")
    assert limit // by_table == printed("WE02", "max modules in series (table)")
    reference_report("WE02 string length", 4, worst)
    assert worst < 5e-5


def test_we04_module_voltage_at_a_cell_temperature(printed: Printed, reference_report: Report) -> None:
    """WE04 (secondary), coefficients in V/K."""
    cases = (
        ("Vmp (a)", "coeff Vmp (a), magnitude", "cell temperature (a)", "Vmp at 55 C"),
        ("Vmp (b)", "coeff Vmp (b), magnitude", "max cell temperature (b)", "Vmp at 70 C"),
        ("Voc (c)", "coeff Voc (c), magnitude", "min cell temperature (c)", "Voc at 0 C"),
    )
    worst = 0.0
    for volt, coefficient, temperature, result in cases:
        base = printed("WE04", volt)
        ours = cold_voltage(base, -printed("WE04", coefficient) / base, printed("WE04", temperature))
        worst = max(worst, abs(ours / printed("WE04", result) - 1))
    reference_report("WE04 module voltage", 3, worst)
    assert worst < 1e-12


def test_we06_strings_on_a_150_volt_controller(printed: Printed, reference_report: Report) -> None:
    """WE06, an off-grid guide (secondary): 41 V at -25 degC; two in series 98.4 V, three 147.6 V of 150 V."""
    factor = cold_factor(-25.0)
    assert factor is not None
    cold = printed("WE06", "module Voc") * factor.value
    pairs = (
        (cold, printed("WE06", "cold Voc")),
        (2 * cold, printed("WE06", "two in series")),
        (3 * cold, printed("WE06", "three in series")),
    )
    worst = max(abs(ours / theirs - 1) for ours, theirs in pairs)
    # Below the limit, yet by less than the 5 % of margin that is asked for: the source calls it too little too.
    assert 3 * cold < printed("WE06", "controller max PV input") < 3 * cold * 1.05
    reference_report("WE06 cold voltage of strings", 3, worst)
    assert worst < 1e-12


def test_cold_voltages_of_library_modules(source_rows: Rows, reference_report: Report) -> None:
    """Ten modules of the open SAM CEC library at five temperatures, linear in the coefficient (read at source)."""
    worst, count = 0.0, 0
    for row in source_rows("cold_voltage_modules"):
        volts = float(row["V_oc_ref_V"])
        ours = cold_voltage(volts, float(row["beta_oc_V_per_K"]) / volts, float(row["T_cell_C"]))
        worst, count = max(worst, abs(ours - float(row["voc_linear_V"]))), count + 1
        if row["voc_table_V"]:
            factor = cold_factor(float(row["T_cell_C"]))
            assert factor is not None
            worst = max(worst, abs(volts * factor.value - float(row["voc_table_V"])))
            count += 1
    reference_report("cold voltages of library modules, linear", count, worst, "V")
    assert count == 77
    assert worst < 1e-4


def test_we12_and_we13_drop(printed: Printed, reference_report: Report) -> None:
    """WE12 and WE13 (secondary): 100 ft of 16 AWG at 4 A; 20 m of 16 AWG at 1 A with 0.01785 ohm mm2/m."""
    ohm_per_kft = _cell("nec_ch9_table8", "16 AWG, 7 strands", "uncoated_ohm_per_kft")
    assert ohm_per_kft == printed("WE12", "resistance")
    drop = 2 * printed("WE12", "one-way length") / 1000 * ohm_per_kft * printed("WE12", "current")
    assert drop == pytest.approx(printed("WE12", "drop"), abs=0.05)
    assert drop / 24 * 100 == pytest.approx(printed("WE12", "percent of 24 V"), abs=0.1)
    ours = 2 * printed("WE13", "one-way length") * resistance_per_metre(Gauge.from_awg(16)) * printed("WE13", "current")
    # The source takes a higher resistivity and a rounded area; corrected for both the figures are one.
    as_printed = ours * printed("WE13", "resistivity") / 0.017241 * 1.3087 / printed("WE13", "area 16 AWG")
    worst = abs(as_printed / printed("WE13", "drop") - 1)
    reference_report("WE12, WE13 drop", 3, worst, "WE13 with the source's resistivity and area")
    assert worst < 1e-3


def test_we15_and_we16_drop_near_a_limit(printed: Printed, reference_report: Report) -> None:
    """WE15, a 10 % table (secondary): 16 AWG, 21 ft, 10 A. WE16, an index table: its 4 AWG is over 2 %, 2 AWG is not."""
    drop = printed("WE15", "current") * _ohm(16, printed("WE15", "circuit length"))
    worst = abs(drop / printed("WE15", "drop check") - 1)
    assert drop <= 0.10 * 12
    assert printed("WE15", "current") * _ohm(18, printed("WE15", "circuit length")) > 0.10 * 12
    allowed = printed("WE16", "voltage") * printed("WE16", "loss") / 100
    drops = {awg: printed("WE16", "current") * _ohm(awg, 2 * printed("WE16", "one-way")) for awg in (4, 2)}
    assert drops[2] < allowed < drops[4]
    reference_report("WE15, WE16 drop near a limit", 3, worst, "WE16: the published 4 AWG is 3.5 % over, 2 AWG holds")
    assert drops[4] / allowed == pytest.approx(1.035, abs=0.001)
    assert worst < 5e-3  # the source prints two digits


def test_we17_circuit_of_an_inverter(printed: Printed, reference_report: Report) -> None:
    """WE17 (secondary): 1200 W at 85 % and 10.5 V, times 1.25 for continuous duty: 168 A."""
    current = printed("WE17", "ac power") / printed("WE17", "efficiency") / printed("WE17", "cut-off voltage")
    ours = demand(PREMISES, current).table
    worst = abs(ours / printed("WE17", "circuit rating") - 1)
    reference_report("WE17 circuit of an inverter", 1, worst)
    assert worst < 5e-4


def test_we18_cable_and_fuse_of_an_inverter(printed: Printed, reference_report: Report) -> None:
    """WE18, an installation guide citing NEC Table 310.17 at 75 degC (read at source): 4/0 takes a fuse of up to 400 A."""
    gauge = Gauge.from_awg(-3)
    wire = Laying(gauge.text, gauge.area, ambient=30.0, insulation=75.0, in_free_air=True)
    limit = fuse_limit(PREMISES, _amps(wire), 14.6)
    assert isinstance(limit, FuseLimit)
    expected = printed("WE18", "maximum fuse with 4/0")
    # The next standard size up from 360 A is 400 A: NEC 240.4(B).
    assert [step.value for step in limit.steps] == [360.0, 400.0]
    reference_report("WE18 fuse of an inverter's cable", 1, abs(limit.value / expected - 1))
    assert limit.value == expected
    # 350 A, its fuse for the five-minute rating, is the next size up from the 310 A of 3/0 (NEC 240.4(B)); the guide takes 4/0, one size more.
    size = smallest_for_fuse(PREMISES, wire, printed("WE18", "fuse needed for the 5-minute 3000 W rating"))
    assert size is not None
    assert size.gauge.text == "3/0 AWG"


def test_we20_controller_that_cannot_limit(printed: Printed, reference_report: Report) -> None:
    """WE20 (secondary): 3 x 5.5 A ask for 20.6 A; the published advice of a 20 A unit is too small."""
    sum_ = printed("WE20", "panels in parallel") * printed("WE20", "current each")
    ours = demand(PREMISES, sum_, use="array").corrected
    assert ours == printed("WE20", "required")
    assert ours > 20.0
    reference_report("WE20 controller current", 1, 0.0, "the source accepts 20 A")


def test_we22_breakers_below_their_factor(printed: Printed, reference_report: Report) -> None:
    """WE22, a field record (secondary): 10 A breakers on 7.34 A trip; 1.5625 times asks for 11.47 A, so 15 A."""
    needed = PREMISES.array_device.value * printed("WE22", "Isc")
    worst = abs(needed / printed("WE22", "1.5625*Isc") - 1)
    assert printed("WE22", "breaker fitted") < needed
    assert rating_at_least(PREMISES, needed) == printed("WE22", "replacement")
    size = min(cell.value for cell in tables.load(TABLES, "nec_240_6A").cells("rating_A") if cell.value >= needed)
    assert size == printed("WE22", "replacement")
    reference_report("WE22 breakers of a string", 2, worst)
    assert worst < 2e-4


def test_we31_ventilation(printed: Printed, reference_report: Report) -> None:
    """WE31, the arithmetic of EN 50272-2 (derived, not published): six vented cells on boost, 100 Ah."""
    current = _cell("gas_evolution", "vented, boost", "current")
    assert current == printed("WE31", "Igas (vented, boost)")
    coefficient = _cell("ventilation", "coefficient of air flow", "value")
    flow = coefficient * printed("WE31", "cells n") * current * printed("WE31", "Crt") / 1000
    opening = _cell("ventilation", "opening per air flow", "value") * flow
    worst = max(abs(flow / printed("WE31", "Q") - 1), abs(opening / printed("WE31", "opening area A = 28 Q") - 1))
    reference_report("WE31 ventilation", 2, worst, "derived, not published")
    assert worst < 1e-12


def test_we07_bank_in_the_cold(printed: Printed, reference_report: Report) -> None:
    """WE07 (secondary): the multiplier at 40 degF is 1.30; between the printed rows a straight line."""
    table = tables.load(TABLES, "battery_temperature_multiplier")
    cell = table.at(4.4, "temperature_C", "multiplier")
    assert cell is not None
    assert cell.value == printed("WE07", "temperature multiplier at 40 F / 4.4 C")
    needed = printed("WE07", "energy") / printed("WE07", "max DoD") * cell.value / printed("WE07", "system voltage")
    worst = abs(needed / printed("WE07", "capacity") - 1)
    reference_report("WE07 bank in the cold", 2, worst, "the print is cut off, recomputed")
    assert worst < 1e-5
    between = table.at(7.2, "temperature_C", "multiplier")
    assert between is not None
    assert 1.19 < between.value < 1.30
