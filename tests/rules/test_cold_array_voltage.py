"""Rule cold-array-voltage: the fault catalogue's example A1 end to end, published sums, edges, strings, what is missing."""

from __future__ import annotations

import pytest

BUILD = """rig "Hut roof", revision 1
site { ambient -5 degC to 32 degC; record low LOW }
battery house { LFP, 4 cells, 100 Ah; internal resistance 5 mohm }
array roof { Voc 22.6 V; Vmp 18.6 V; Isc 6 A; Imp 5.5 A; COEFFICIENT; 2 in series }
controller sun { MPPT; 20 A; PV at most LIMIT; absorption 14.2 V }
wires 10 AWG, 2 m {
  in from roof.plus to sun.pv_plus
  home from sun.pv_minus to roof.minus
  charge from sun.batt_plus to house.plus
  back from house.minus to sun.batt_minus
}
"""


def build(low: str = "-15 degC", limit: str = "50 V", coefficient: str = "Voc -0.30 %/K") -> str:
    text = BUILD.replace("LOW", low).replace("LIMIT", limit)
    return text.replace("COEFFICIENT; ", f"{coefficient}; " if coefficient else "")


def test_catalogue_a1_over_the_limit(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, A1, Ex: T_min -15 degC: 45.2 x 1.120 = 50.62 V -> error."""
    found = said(build(), "cold_array_voltage")
    assert found.grades == [("sun", "over-limit", "error")]
    finding = found.finding("sun")
    assert finding.measured.value == pytest.approx(50.624)
    assert finding.limit.value == 50.0
    assert finding.subject == ("sun", "roof")
    assert finding.message == "sun: with nothing drawn, roof reaches 50.6 V at -15 degC; the PV input bears 50 V."
    assert finding.remedy == (
        "Put at most 1 of roof's modules in series, or use a controller whose PV input bears 53.3 V or more."
    )
    assert [related.span.line for related in finding.related] == [4, 5]


def test_catalogue_a1_thin_margin(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, A1, Ex: 45.2 x (1 + 0.003 x 35) = 49.95 V vs 50 V -> pass with margin warning."""
    found = said(build("-10 degC"), "cold_array_voltage")
    assert found.grades == [("sun", "thin-margin", "warning")]
    assert found.passed("sun", "over-limit").measured.value == pytest.approx(49.946)
    finding = found.finding("sun")
    assert finding.limit.value == pytest.approx(47.5)
    assert "reaches 49.9 V at -10 degC; the PV input bears 50 V. Only 0.11 % are left." in finding.message


@pytest.mark.parametrize(
    ("limit", "grades"),
    [("50.62 V", ["over-limit"]), ("50.624 V", ["thin-margin"]), ("53.288 V", ["thin-margin"]), ("53.29 V", [])],
)
def test_edges(said, limit: str, grades: list[str]) -> None:  # type: ignore[no-untyped-def]
    """50.624 V at -15 degC: at equality it holds; 50.624 / 0.95 = 53.2884 V leaves 5 %."""
    assert [grade for _, grade, _ in said(build(limit=limit), "cold_array_voltage").grades] == grades


def test_the_owner_may_plug_more_in_series(said) -> None:  # type: ignore[no-untyped-def]
    """3 x 22.6 V x 1.120 = 75.94 V."""
    text = build(limit="60 V").replace(
        "2 in series }", "2 in series; or 1 in series and 2 in parallel, 3 in series and 1 in parallel }"
    )
    finding = said(text, "cold_array_voltage").finding("sun")
    assert finding.measured.value == pytest.approx(3 * 22.6 * 1.12)
    assert finding.message == (
        "sun: with nothing drawn, roof, plugged as 3 in series, reaches 75.9 V at -15 degC; the PV input bears 60 V."
    )
    assert finding.remedy.startswith("Put at most 2 of roof's modules in series, or use ")
    assert not said(text.replace("60 V", "80 V"), "cold_array_voltage").findings


def test_table_factor_where_the_module_declares_no_coefficient(said) -> None:  # type: ignore[no-untyped-def]
    """NEC Table 690.7(A): 1.16 from -11 to -15 degC: 45.2 x 1.16 = 52.4 V."""
    finding = said(build(coefficient=""), "cold_array_voltage").finding("sun")
    assert finding.measured.value == pytest.approx(45.2 * 1.16)
    assert finding.reference.section == "Table 690.7(A)"


def test_both_ways_stand_in_the_working(said) -> None:  # type: ignore[no-untyped-def]
    """Readings, A1: the coefficient where declared, else the factor; both printed when both are known."""
    steps = {step.symbol: step.value for step in said(build(), "cold_array_voltage").finding("sun").working}
    assert steps["V_cold"] == pytest.approx(50.624)
    assert steps["V_table"] == pytest.approx(52.432)


def test_the_last_band_is_from_memory_and_so_a_warning(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build("-38 degC", coefficient=""), "cold_array_voltage")
    assert found.grades == [("sun", "over-limit", "warning")]


def test_a_coefficient_in_volts(said) -> None:  # type: ignore[no-untyped-def]
    """67.8 mV/K a module of 22.6 V are 0.30 %/K."""
    found = said(build(coefficient="Voc -67.8 mV/K"), "cold_array_voltage")
    assert found.finding("sun").measured.value == pytest.approx(50.624)


def test_nec_worked_sum(said) -> None:  # type: ignore[no-untyped-def]
    """IAEI magazine, PV math, 2009: factor 1.14 for -6 to -10 degC, 1.20 at -25 degC (Table 690.7)."""
    assert said(build("-6 degC", "60 V", ""), "cold_array_voltage").passed("sun", "over-limit").measured.value == (
        pytest.approx(45.2 * 1.14)
    )
    assert said(build("-25 degC", "60 V", ""), "cold_array_voltage").passed("sun", "over-limit").measured.value == (
        pytest.approx(45.2 * 1.20)
    )


def test_arrays_in_series_add_and_strings_side_by_side_do_not(said) -> None:  # type: ignore[no-untyped-def]
    second = "array wall { Voc 22.6 V; Isc 6 A; Voc -0.30 %/K }\n"
    series = build(limit="100 V").replace(
        "in from roof.plus to sun.pv_plus", "in from roof.plus to wall.minus\n  more from wall.plus to sun.pv_plus"
    )
    passed = said(series + second, "cold_array_voltage").passed("sun", "over-limit")
    assert passed.measured.value == pytest.approx(1.5 * 50.624)
    beside = build(limit="100 V") + second + "wire x from wall.plus to sun.pv_plus\nwire y from wall.minus to sun.pv_minus\n"
    assert said(beside, "cold_array_voltage").passed("sun", "over-limit").measured.value == pytest.approx(50.624)


def test_a_selector_is_tried_in_every_position(said) -> None:  # type: ignore[no-untyped-def]
    """One module in the first position, both in series in the second."""
    text = (
        build(limit="60 V")
        .replace("; 2 in series", "")
        .replace("in from roof.plus to sun.pv_plus", "in from pick.common to sun.pv_plus")
    )
    text += (
        'array wall { Voc 22.6 V; Isc 6 A; Voc -0.30 %/K }\nselector pick { 20 A; position "one" joins x; position "two" joins y }\n'
        "wire p from roof.plus to pick.x\nwire q from roof.plus to wall.minus\nwire r from wall.plus to pick.y\n"
    )
    assert said(text, "cold_array_voltage").passed("sun", "over-limit").measured.value == pytest.approx(50.624)


@pytest.mark.parametrize(
    ("old", "new", "missing"),
    [
        ("; record low -15 degC", "", "record low of the site"),
        ("site { ambient -5 degC to 32 degC; record low -15 degC }\n", "", "record low of the site"),
        ("PV at most 50 V; ", "", "highest voltage of its PV input"),
        ("Voc 22.6 V; ", "", "open-circuit voltage of roof"),
    ],
)
def test_missing_data_are_named(said, old: str, new: str, missing: str) -> None:  # type: ignore[no-untyped-def]
    assert old in build()
    found = said(build().replace(old, new), "cold_array_voltage")
    assert not found.findings
    assert not found.passes
    assert found.missing == [("sun", "over-limit", missing)]
    assert found.unchecked[0].declare


def test_below_the_table_a_coefficient_is_asked_for(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build("-41 degC", coefficient=""), "cold_array_voltage")
    assert found.missing == [("sun", "over-limit", "temperature coefficient of the open-circuit voltage of roof")]
    assert said(build("-41 degC"), "cold_array_voltage").finding("sun").measured.value == pytest.approx(45.2 * 1.198)


def test_a_controller_without_array_is_counted(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build() + "controller spare { MPPT; PV at most 20 V }\n", "cold_array_voltage")
    assert [(item.condition, item.count) for item in found.idle] == [("no array can be joined to it", 1)]


WALL = "array wall { Voc 22.6 V; Isc 6 A; Voc -0.30 %/K; COUNT }\n"
IN_SERIES = ("in from roof.plus to sun.pv_plus", "in from roof.plus to wall.minus\n  more from wall.plus to sun.pv_plus")
BESIDE = "wire x from wall.plus to sun.pv_plus\nwire y from wall.minus to sun.pv_minus\n"


@pytest.mark.parametrize(
    ("limit", "fits"),
    [("100 V", 3), ("75.936 V", 3), ("75.93 V", 2), ("50.624 V", 2), ("50.62 V", 1), ("25.312 V", 1), ("25.31 V", 0)],
)
def test_as_many_modules_are_offered_as_stay_within_the_limit(said, limit: str, fits: int) -> None:  # type: ignore[no-untyped-def]
    """25.312 V a module at -15 degC, four in series 101.248 V; nothing is offered where not one of them fits."""
    remedy = said(build(limit=limit).replace("2 in series", "4 in series"), "cold_array_voltage").finding("sun").remedy
    rest = "se a controller whose PV input bears 107 V or more."
    assert remedy == (f"Put at most {fits} of roof's modules in series, or u{rest}" if fits else f"U{rest}")


def test_a_single_module_has_no_fewer(said) -> None:  # type: ignore[no-untyped-def]
    """Also where the array does not say how many stand in series."""
    for text in (build(limit="20 V").replace("2 in series", "1 in series"), build(limit="20 V").replace("; 2 in series", "")):
        finding = said(text, "cold_array_voltage").finding("sun")
        assert finding.measured.value == pytest.approx(25.312)
        assert finding.remedy == "Use a controller whose PV input bears 26.6 V or more."


def test_a_string_of_several_arrays_adds_up_in_the_working(said) -> None:  # type: ignore[no-untyped-def]
    """50.624 V and 25.312 V. Which array has too many modules is not for the tool to say."""
    finding = said(build().replace(*IN_SERIES) + WALL.replace("; COUNT", ""), "cold_array_voltage").finding("sun")
    assert finding.message.startswith("sun: with nothing drawn, roof + wall reaches 75.9 V at -15 degC")
    assert [(step.symbol, step.unit) for step in finding.working] == [("Voc", "V"), ("V_cold", "V"), ("V_table", "V")] * 2 + [
        ("V_cold", "V")
    ]
    assert finding.working[-1].value == pytest.approx(75.936)
    assert finding.remedy == "Use a controller whose PV input bears 79.9 V or more."
    assert [step.symbol for step in said(build(), "cold_array_voltage").finding("sun").working] == ["Voc", "V_cold", "V_table"]


def test_of_equal_strings_the_first_is_told(said) -> None:  # type: ignore[no-untyped-def]
    beside = build() + WALL.replace("COUNT", "2 in series") + BESIDE
    assert "with nothing drawn, roof reaches 50.6 V" in said(beside, "cold_array_voltage").finding("sun").message


def test_the_working_holds_every_figure_of_both_ways(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, A1, Ex: 2 x 22.6 V; 45.2 x (1 + 0.003 x 40); NEC Table 690.7(A): 1.16."""
    working = said(build(), "cold_array_voltage").finding("sun").working
    assert [(step.expression, pytest.approx(step.value)) for step in working] == [
        ("roof: 2 x 22.6, at 25 degC", 45.2),
        ("45.2 x (1 + 0.003 x (25 - (-15)))", 50.624),
        ("45.2 x 1.16, for comparison", 52.432),
    ]
    thin = said(build("-10 degC"), "cold_array_voltage").finding("sun")
    assert thin.working[-1].expression == "0.95 x 50"
    assert thin.working[-1].value == pytest.approx(47.5)
    assert thin.remedy == "Put at most 1 of roof's modules in series, or use a controller whose PV input bears 52.6 V or more."
    assert thin.reference.document == "common practice, no source"
    alone = build(coefficient="").replace("2 in series", "1 in series").replace("50 V", "20 V")
    assert [step.expression for step in said(alone, "cold_array_voltage").finding("sun").working] == [
        "roof: 22.6, at 25 degC",
        "22.6 x 1.16, record low of -15 degC",
    ]


def test_the_record_low_is_asked_for_in_the_words_that_fit(said) -> None:  # type: ignore[no-untyped-def]
    """With a site, the datum alone; without one, the whole statement."""
    for left, declare in (
        ("site { ambient -5 degC to 32 degC }\n", "record low -20 degC"),
        ("", "site { record low -20 degC }"),
    ):
        text = build().replace("site { ambient -5 degC to 32 degC; record low -15 degC }\n", left)
        assert said(text, "cold_array_voltage").unchecked[0].declare == declare
