"""Ampacity of wires and cords: the fault catalogue's own examples, the readings of D1 to D7, edges and missing data.

A number with a document beside it is published; the rest are the catalogue's examples (codes D1, D2 ...), worked by hand
from the printed tables.
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from ohmwright_grammar.quantities import Gauge
from ohmwright_rules.ampacity import Ampacity, Laying, Unknown, ampacity, conductor_temperature, demand, terminal_ampacity
from ohmwright_rules.basis import get
from ohmwright_rules.derating import rise_factor
from ohmwright_rules.laying import area_of_row, row_of_size

SMALL, PREMISES, IEC = get("us-small-craft"), get("us-premises"), get("iec")


def wire(gauge: str, **given: object) -> Laying:
    """A wire of that size in air at 30 degC unless given otherwise."""
    size = gauge.removesuffix(" AWG")
    if gauge.endswith("mm2"):
        made = Gauge.from_area(float(gauge.removesuffix(" mm2")))
    else:
        made = Gauge.from_awg(1 - int(size[0]) if size.endswith("/0") else int(size))
    return Laying(made.text, made.area, **{"ambient": 30.0, "voltage": 14.6, **given})  # type: ignore[arg-type]


def rated(basis: object, laying: Laying) -> Ampacity:
    found = ampacity(basis, laying)  # type: ignore[arg-type]
    assert isinstance(found, Ampacity), found
    return found


def missing(basis: object, laying: Laying) -> str:
    found = ampacity(basis, laying)  # type: ignore[arg-type]
    assert isinstance(found, Unknown), found
    return found.missing


# ---- the fault catalogue's examples


def test_d1_bundle_of_five() -> None:
    found = rated(SMALL, wire("14 AWG", insulation=105.0, together=5, bundled_length=1.0))
    assert (found.table_value, found.bundling_factor) == (35.0, 0.8)
    assert found.value == pytest.approx(28.0)


def test_d2_terminal_column() -> None:
    laying = wire("12 AWG", insulation=105.0)
    assert rated(SMALL, laying).value == 45.0
    found = terminal_ampacity(SMALL, laying, 75.0, 30.0)
    assert isinstance(found, Ampacity)
    assert found.value == 25.0


def test_d3_hot_box() -> None:
    found = rated(SMALL, wire("12 AWG", insulation=75.0, ambient=55.0))
    assert found.ambient_factor == pytest.approx(0.667, abs=5e-4)
    assert found.value == pytest.approx(16.7, abs=0.05)


def test_d4_six_together() -> None:
    assert rated(SMALL, wire("14 AWG", insulation=75.0, together=6, bundled_length=1.0)).value == pytest.approx(16.0)


def test_d5_coiled_cord() -> None:
    cord = wire("16 AWG", cord=True, together=2, coiled=True)
    assert rated(SMALL, cord).value == pytest.approx(2.86)
    assert rated(SMALL, cord).unwound == 13.0
    marked = rated(SMALL, wire("16 AWG", cord=True, together=2, coiled=True, coil_marking=660 / 1760))
    assert marked.value == pytest.approx(4.9, abs=0.05)
    assert rated(SMALL, wire("16 AWG", cord=True, together=2)).value == 13.0


@pytest.mark.parametrize(("gauge", "amps"), [("18 AWG", 10), ("16 AWG", 13), ("14 AWG", 18), ("12 AWG", 25)])
@pytest.mark.parametrize("basis", [SMALL, PREMISES])
def test_d7_cord_of_two_loaded_cores(basis: object, gauge: str, amps: float) -> None:
    """NEC Table 400.5(A) as quoted in an appliance standard."""
    assert rated(basis, wire(gauge, cord=True, together=2)).value == amps


def test_d8_copper_clad_aluminium_is_checked_as_two_sizes_thinner() -> None:
    found = rated(SMALL, wire("8 AWG", insulation=75.0, metal="copper-clad"))
    assert found.row == "10"
    assert found.steps[0].expression == "8 AWG, copper-clad as 5.27 mm2 of copper takes the row of 10 AWG, the next smaller"


def test_d11_three_feeds_on_one_return() -> None:
    assert rated(SMALL, wire("14 AWG", insulation=75.0)).value == 20.0


# ---- each basis: table, factors, demand


def test_working_names_each_factor_and_where_it_comes_from() -> None:
    found = rated(PREMISES, wire("8 AWG", insulation=90.0, ambient=43.0, in_conduit=True, together=8, bundled_length=1.0))
    assert [(step.symbol, step.value, step.unit) for step in found.steps] == [
        ("I_table", 55.0, "A"),
        ("k_ambient", 0.87, "1"),
        ("k_bundle", 0.7, "1"),
        ("I_z", pytest.approx(55 * 0.87 * 0.7), "A"),
    ]
    assert found.steps[0].source == "NFPA 70 (NEC) Table 310.16, row 8"
    assert found.steps[1].source == "NFPA 70 (NEC) Table 310.15(B)(1)(1), row 41 to 45"
    assert found.steps[-1].expression == "55 x 0.87 x 0.7"
    assert found.reference.section == "Table 310.16"
    assert found.weakest.status == "secondary"
    assert not found.remembered


def test_premises_take_the_table_of_the_way_of_laying() -> None:
    """NEC Tables 310.16 and 310.17, 10 AWG at 90 degC: 40 A in conduit, 55 A in free air."""
    assert rated(PREMISES, wire("10 AWG", insulation=90.0, in_conduit=True)).value == 40.0
    assert rated(PREMISES, wire("10 AWG", insulation=90.0, in_free_air=True)).value == 55.0
    assert rated(PREMISES, wire("10 AWG", insulation=90.0, in_free_air=True, together=2)).value == 55.0
    assert rated(PREMISES, wire("10 AWG", insulation=90.0, together=3, bundled_length=1.0)).value == 40.0
    assert missing(PREMISES, wire("10 AWG", insulation=90.0)) == "how the wire is laid"


def test_premises_take_higher_insulation_for_arrays_only() -> None:
    """NEC 2020 Table 690.31(A)(b): 10 AWG at 105 degC 46 A; outside arrays 105 degC wire takes the 90 degC column."""
    assert rated(PREMISES, wire("10 AWG", insulation=105.0, in_conduit=True, use="array")).value == 46.0
    assert rated(PREMISES, wire("10 AWG", insulation=105.0, in_conduit=True)).value == 40.0
    hot = rated(PREMISES, wire("10 AWG", insulation=105.0, in_conduit=True, use="array", ambient=68.0))
    assert hot.ambient_factor == 0.68


def test_between_two_columns_the_lower_holds() -> None:
    assert rated(SMALL, wire("12 AWG", insulation=85.0)).value == 35.0  # the column of 80 degC
    assert rated(PREMISES, wire("12 AWG", insulation=85.0, in_conduit=True)).value == 25.0  # that of 75 degC
    assert "insulation of 55 degC" in missing(SMALL, wire("12 AWG", insulation=55.0))


def test_demand_of_each_basis() -> None:
    """NEC: 1.25 times continuous against the table, 1.0 times against the corrected value; elsewhere 1.0 for both."""
    assert (demand(PREMISES, 16, 4).table, demand(PREMISES, 16, 4).corrected) == (24.0, 20.0)
    assert (demand(SMALL, 16, 4).table, demand(IEC, 16, 4).table) == (20.0, 20.0)
    for basis in (SMALL, PREMISES, IEC):
        assert (demand(basis, 11.2, use="array").table, demand(basis, 11.2, use="array").corrected) == (17.5, 14.0)


@pytest.mark.parametrize(
    ("laying", "amps"),
    [  # IEC 60364-5-52 Tables B.52.2, B.52.3, B.52.10, B.52.12: 2.5 mm2
        ({"method": "A1", "insulation": 70.0}, 19.5),
        ({"method": "C", "insulation": 90.0}, 33.0),
        ({"in_conduit": True, "insulation": 70.0}, 24.0),  # B1
        ({"in_conduit": True, "sheathed": True, "insulation": 70.0}, 23.0),  # B2
        ({"in_free_air": True, "insulation": 70.0}, 30.0),  # E
        ({"together": 2, "insulation": 70.0}, 27.0),  # C, one circuit
        ({"method": "C", "insulation": 60.0}, 27.0 * 0.866),
        ({"method": "C", "insulation": 75.0}, 27.0),
    ],
)
def test_iec_methods(laying: dict[str, object], amps: float) -> None:
    assert rated(IEC, wire("2.5 mm2", **laying)).value == pytest.approx(amps)


def test_iec_groups_by_circuits() -> None:
    """IEC 60364-5-52 Table B.52.17: two conductors are one circuit; between two rows the larger number holds."""
    factors = {
        n: rated(IEC, wire("2.5 mm2", insulation=70.0, method="C", together=n)).bundling_factor for n in (1, 2, 3, 4, 20, 40)
    }
    assert factors == {1: 1.0, 2: 1.0, 3: 0.8, 4: 0.8, 20: 0.45, 40: 0.38}
    assert (
        missing(IEC, wire("2.5 mm2", insulation=70.0, method="C", together=42)) == "published factor for 21 circuits together"
    )


def test_iec_cords_from_four_square_millimetres() -> None:
    """BS 7671 Table 4F1A from 4 mm2; below it the marking of the cord, or nothing."""
    assert rated(IEC, wire("4 mm2", cord=True, together=2)).value == 30.0
    assert rated(IEC, wire("4 mm2", cord=True, together=2, ambient=45.0)).value == pytest.approx(30 * math.sqrt(0.5))
    assert missing(IEC, wire("2.5 mm2", cord=True, together=2)) == "the cord's current marking"
    assert rated(IEC, wire("2.5 mm2", cord=True, together=2, cord_marking=16.0)).value == 16.0
    assert rated(IEC, wire("35 mm2", cord=True, together=2)).value == 102.0  # the three-core column, the lower one


def test_a_marking_holds_where_it_is_smaller() -> None:
    assert rated(SMALL, wire("14 AWG", cord=True, together=2, cord_marking=15.0)).value == 15.0
    assert rated(SMALL, wire("14 AWG", cord=True, together=2, cord_marking=25.0)).value == 18.0
    small = rated(SMALL, wire("14 AWG", cord=True, together=2, cord_marking=15.0))
    assert [step.symbol for step in small.steps] == ["I_table", "I_marked", "I_z"]
    assert small.reference.document == "marking of the cord"


def test_cords_of_more_cores() -> None:
    """NEC 400.5(A)(1) column A for three loaded cores, 400.5(A)(3) for more."""
    assert rated(PREMISES, wire("14 AWG", cord=True, together=3)).value == 15.0
    assert rated(PREMISES, wire("14 AWG", cord=True, together=5)).value == pytest.approx(12.0)
    assert missing(IEC, wire("4 mm2", cord=True, together=5)) == "published rating of a cord of 5 loaded cores"


def test_portable_power_cable() -> None:
    """NEC 400.5(A)(2), 6 AWG at 75 degC: D 95, E 88, F 77 A."""
    found = [
        rated(PREMISES, wire("6 AWG", cord=True, cord_type="portable power cable", insulation=80.0, together=n)).value
        for n in (1, 2, 3)
    ]
    assert found == [95.0, 88.0, 77.0]
    assert missing(PREMISES, wire("6 AWG", cord=True, cord_type="portable power cable")) == "insulation temperature"


# ---- ambient


def test_ambient_bands_of_the_nec() -> None:
    """NEC Table 310.15(B)(1)(1), 75 degC: between two bands the hotter one; a blank is not permitted."""
    found = {
        t: rated(PREMISES, wire("10 AWG", insulation=75.0, in_conduit=True, ambient=t)).ambient_factor
        for t in (5.0, 10.0, 10.1, 30.0, 30.5, 35.0, 35.1, 70.0, 71.0)
    }
    assert found == {5.0: 1.2, 10.0: 1.2, 10.1: 1.15, 30.0: 1.0, 30.5: 0.94, 35.0: 0.94, 35.1: 0.88, 70.0: 0.33, 71.0: 0.0}
    step = rated(PREMISES, wire("10 AWG", insulation=75.0, in_conduit=True, ambient=71.0)).steps[1]
    assert step.expression == "air at 71 degC, column 75 degC: not permitted"


def test_outside_the_bands_the_law_holds() -> None:
    found = rated(PREMISES, wire("10 AWG", insulation=90.0, in_conduit=True, ambient=88.0))
    assert found.ambient_factor == pytest.approx(math.sqrt(2 / 60))
    assert found.steps[1].expression == "sqrt((90 - 88) / (90 - 30))"


def test_small_craft_take_the_law_and_the_printed_factor_of_105_degrees() -> None:
    """Note 1 of Table 5, read for 105 degC only: 0.85 at 50 degC, where the law gives 0.856; never above 1."""
    found = {
        t: rated(SMALL, wire("10 AWG", insulation=105.0, ambient=t)).ambient_factor
        for t in (0.0, 30.0, 49.9, 50.0, 50.5, 60.0, 105.0)
    }
    assert found[0.0] == found[30.0] == 1.0
    assert found[49.9] == pytest.approx(rise_factor(105, 49.9))
    assert found[50.0] == 0.85
    assert found[60.0] == pytest.approx(rise_factor(105, 60))
    assert found[105.0] == 0.0
    assert list(found.values()) == sorted(found.values(), reverse=True)


@pytest.mark.parametrize("insulation", [60.0, 75.0, 80.0, 90.0, 125.0, 200.0])
def test_remembered_factors_of_note_one_give_way_to_the_law(insulation: float) -> None:
    found = rated(SMALL, wire("10 AWG", insulation=insulation, ambient=50.0))
    assert found.ambient_factor == pytest.approx(rise_factor(insulation, 50.0))
    assert not found.remembered


@pytest.mark.parametrize("insulation", [75.0, 90.0])
@pytest.mark.parametrize("basis", [SMALL, PREMISES, IEC])
def test_hotter_air_never_gives_more(basis: object, insulation: float) -> None:
    values = [
        rated(basis, wire("10 AWG", insulation=insulation, in_conduit=True, ambient=tenth / 10)).value
        for tenth in range(-400, 1000, 7)
    ]
    assert values == sorted(values, reverse=True)
    assert values[-1] == 0.0


# ---- bundling


def test_bundles_of_small_craft_below_and_from_fifty_volts() -> None:
    """33 CFR 183.425 Table 5 note 2 from 50 V; below, the counts of the NEC, which the basis does not print."""
    below = rated(SMALL, wire("14 AWG", insulation=105.0, together=4, bundled_length=1.0, voltage=49.99))
    above = rated(SMALL, wire("14 AWG", insulation=105.0, together=4, voltage=50.0))
    assert (below.bundling_factor, above.bundling_factor) == (0.8, 0.6)
    assert below.steps[2].source.endswith("(not in this basis)")
    assert rated(SMALL, wire("14 AWG", insulation=105.0, together=3, voltage=49.99)).bundling_factor == 1.0
    assert rated(SMALL, wire("14 AWG", insulation=105.0, together=3, voltage=50.0)).bundling_factor == 0.7


def test_voltage_is_missing_only_where_it_matters() -> None:
    assert missing(SMALL, wire("14 AWG", insulation=105.0, together=4, voltage=None)) == "highest voltage of the wire"
    assert rated(SMALL, wire("14 AWG", insulation=105.0, together=2, voltage=None)).value == 35.0
    assert rated(PREMISES, wire("14 AWG", insulation=90.0, in_conduit=True, together=3, voltage=None)).value == 25.0


@pytest.mark.parametrize(("length", "factor"), [(0.6, 1.0), (0.6000001, 0.8), (3.0, 0.8)])
def test_short_bundles_need_no_factor(length: float, factor: float) -> None:
    """NEC 310.15(C)(1): longer than 600 mm (24 in)."""
    laying = wire("14 AWG", insulation=90.0, in_conduit=True, together=4, bundled_length=length)
    assert rated(PREMISES, laying).bundling_factor == factor


def test_a_short_bundle_leaves_a_wire_in_free_air() -> None:
    """NEC Tables 310.17 and 310.16, 10 AWG at 90 degC: 55 A in free air, 40 A times 0.8 in a long bundle of four."""
    short, long = (
        rated(PREMISES, wire("10 AWG", insulation=90.0, in_free_air=True, together=4, bundled_length=length))
        for length in (0.5, 0.7)
    )
    assert (short.value, long.value) == (55.0, 32.0)


def test_length_of_a_bundle_is_missing_only_where_it_matters() -> None:
    words = "length over which the wires lie together"
    assert missing(PREMISES, wire("14 AWG", insulation=90.0, in_conduit=True, together=4)) == words
    assert rated(PREMISES, wire("14 AWG", insulation=90.0, in_conduit=True, together=3)).bundling_factor == 1.0


# ---- sizes


@pytest.mark.parametrize(
    ("gauge", "row"),
    [("1.5 mm2", "16"), ("2.5 mm2", "14"), ("4 mm2", "12"), ("6 mm2", "10"), ("10 mm2", "8"), ("120 mm2", "4/0")],
)
def test_metric_sizes_on_a_us_basis_take_the_next_smaller_row(gauge: str, row: str) -> None:
    found = rated(SMALL, wire(gauge, insulation=105.0))
    assert found.row == row
    assert found.steps[0].expression == f"{gauge} takes the row of {row} AWG, the next smaller"


@pytest.mark.parametrize(("gauge", "row"), [("14 AWG", "1.5"), ("12 AWG", "2.5"), ("10 AWG", "4"), ("4/0 AWG", "95")])
def test_awg_sizes_on_iec_take_the_next_smaller_row(gauge: str, row: str) -> None:
    assert rated(IEC, wire(gauge, insulation=70.0, method="C")).row == row


def test_sizes_that_no_table_lists_are_unknown() -> None:
    assert missing(SMALL, wire("22 AWG", insulation=105.0)).startswith("published rating of 22 AWG in 33 CFR 183.425")
    assert missing(IEC, wire("16 AWG", insulation=70.0, method="C")).startswith("published rating of 16 AWG")
    assert "column A_75C" in missing(PREMISES, wire("18 AWG", insulation=75.0, in_conduit=True))


def test_the_insulation_temperature_is_asked_for() -> None:
    assert missing(SMALL, wire("14 AWG")) == "insulation temperature"
    assert missing(SMALL, wire("14 AWG", cord=True, together=2, ambient=31.0)) == "insulation temperature"


# ---- terminals and conductor temperature


@pytest.mark.parametrize(
    ("basis", "temperature", "amps"),
    [
        (SMALL, 60.0, 25),
        (SMALL, 78.0, 25),
        (SMALL, 80.0, 35),
        (SMALL, 105.0, 45),
        (SMALL, 150.0, 45),
        (PREMISES, 75.0, 25),
        (PREMISES, 89.0, 25),
        (PREMISES, 105.0, 30),
        (IEC, 60.0, 27 * 0.866),
        (IEC, 75.0, 27),
        (IEC, 90.0, 33),
    ],
)
def test_columns_of_terminals(basis: object, temperature: float, amps: float) -> None:
    laying = wire("12 AWG", insulation=105.0, in_free_air=True, method="C", ambient=55.0, together=8, bundled_length=2.0)
    found = terminal_ampacity(basis, laying, temperature, 20.0)  # type: ignore[arg-type]
    assert isinstance(found, Ampacity)
    assert found.value == pytest.approx(amps)


def test_an_unmarked_terminal_is_taken_at_sixty_degrees_up_to_a_hundred_amperes() -> None:
    """NEC 110.14(C)(1), read at a secondary source."""
    laying = wire("2 AWG", insulation=105.0)
    low, high = (terminal_ampacity(PREMISES, laying, None, current) for current in (100.0, 100.1))
    assert isinstance(low, Ampacity)
    assert isinstance(high, Ampacity)
    assert (low.value, high.value) == (95.0, 115.0)
    assert low.steps[0].expression == "unmarked terminal, up to 100 A"


def test_terminals_do_not_govern_cords_and_need_a_column() -> None:
    assert terminal_ampacity(SMALL, wire("14 AWG", cord=True, together=2), 60.0, 10.0) is None
    found = terminal_ampacity(SMALL, wire("14 AWG", insulation=105.0), 50.0, 10.0)
    assert found == Unknown("published rating for a terminal of 50 degC")


def test_temperature_of_a_loaded_conductor() -> None:
    """Reading of D10: T + (I / I_table)^2 (T_ins - 30)."""
    found = rated(SMALL, wire("10 AWG", insulation=105.0, ambient=40.0))
    assert conductor_temperature(found, 60.0, 30.0) == pytest.approx(105.0)
    assert conductor_temperature(found, 30.0, 40.0) == pytest.approx(58.75)
    assert conductor_temperature(found, found.value, 40.0) == pytest.approx(105.0)


# ---- edges that the published cases leave open (arithmetic; no source but the text of each function)


def test_a_terminal_value_stands_without_factors_and_is_that_of_no_cord() -> None:
    laying = wire("12 AWG", insulation=105.0, ambient=55.0, together=8, bundled_length=2.0, coiled=True)
    found = terminal_ampacity(SMALL, laying, 75.0, 20.0)
    assert isinstance(found, Ampacity)
    assert (found.ambient_factor, found.bundling_factor, found.coil_factor, found.cord) == (1.0, 1.0, 1.0, False)
    assert found.value == found.unwound == found.table_value == 25.0


def test_the_working_of_a_demand_ends_with_the_demand() -> None:
    """16 A continuous and 4 A beside it: 1.25 x 16 + 4 = 24 A of the table, 20 A of the corrected value."""
    found = demand(PREMISES, 16.0, 4.0)
    assert [step.value for step in found.steps] == [found.table, found.corrected] == [24.0, 20.0]
    assert [step.expression for step in found.steps] == ["1.25 x 16 + 4", "1 x 16 + 4"]
    assert demand(PREMISES, 16.0).steps[0].expression == "1.25 x 16"


def test_insulation_as_hot_as_the_reference_ambient_carries_nothing() -> None:
    assert rise_factor(30.0, 30.0) == 0.0
    assert rise_factor(75.0, 75.0) == 0.0


def test_a_wire_that_says_nothing_lies_alone_and_straight() -> None:
    plain = Laying("12 AWG", 3.31e-6, ambient=30.0)
    assert (plain.together, plain.coiled, plain.cord, plain.ways) == (1, False, False, ())


def test_a_factor_of_one_needs_neither_length_nor_voltage() -> None:
    """The first row of IEC 60364-5-52 Table B.52.17 is 1: where a table like that depends on a length or on a voltage, neither matters for one circuit."""
    (grouping,) = IEC.bundling
    one = wire("2.5 mm2", insulation=70.0, method="C", voltage=None)
    by_length = replace(IEC, bundling=(replace(grouping, longer_than=0.6),))
    assert rated(by_length, one).bundling_factor == 1.0
    assert missing(by_length, replace(one, together=6)) == "length over which the wires lie together"
    by_voltage = replace(IEC, bundling=(replace(grouping, span=SMALL.bundling[0].span),))
    assert rated(by_voltage, one).bundling_factor == 1.0
    assert missing(by_voltage, replace(one, together=6)) == "highest voltage of the wire"


def test_an_area_that_equals_a_row_takes_that_row_whatever_it_is_called() -> None:
    """0.75 mm2 is a row of the table of cords; one part in 10^8 less takes the row below, or none."""
    table = next(rating.table for rating in IEC.cords)
    column = next(name for columns in IEC.cords[0].columns.values() for name in columns)
    smallest = min(table.cells(column), key=lambda cell: area_of_row(table, cell.row))
    area = area_of_row(table, smallest.row) * 1e-6
    found = row_of_size(table, column, "odd", area, "copper")
    assert not isinstance(found, Unknown)
    assert found[0].row == smallest.row
    assert isinstance(row_of_size(table, column, "odd", area * (1 - 1e-8), "copper"), Unknown)


def test_the_working_names_the_way_of_laying() -> None:
    assert rated(PREMISES, wire("12 AWG", insulation=75.0, in_conduit=True)).steps[0].expression.endswith("75 degC, conduit")
    assert rated(SMALL, wire("12 AWG", insulation=75.0)).steps[0].expression == "12 AWG, column 75 degC"


def test_a_short_bundle_counts_one_in_the_working_too() -> None:
    found = rated(PREMISES, wire("12 AWG", insulation=75.0, in_conduit=True, together=6, bundled_length=0.5))
    (step,) = [step for step in found.steps if step.symbol == "k_bundle"]
    assert step.value == found.bundling_factor == 1.0


def test_a_cord_that_names_no_temperature_is_of_the_lowest_class() -> None:
    """60 degC, for which NEC Table 400.5(A)(1) is made; up to the reference ambient no factor is asked for."""
    found = rated(SMALL, wire("16 AWG", cord=True, together=2))
    assert (found.insulation, found.cord) == (60.0, True)
    assert (found.ambient_factor, found.bundling_factor, found.coil_factor) == (1.0, 1.0, 1.0)
    assert missing(SMALL, wire("16 AWG", cord=True, together=2, ambient=31.0)) == "insulation temperature"
