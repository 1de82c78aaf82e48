"""Rule over-panelled: the fault catalogue's example A5 end to end, edges, the limits that must hold first, what is missing."""

from __future__ import annotations

import pytest

BUILD = """rig "Cabin roof", revision 1
site { record low -15 degC }
battery house { LFP, 4 cells, 200 Ah; internal resistance 3 mohm; lowest 13.0 V }
array roof { Voc 24 V; Vmp 20 V; Isc 11 A; Imp 10.5 A; Voc -0.28 %/K; 2 in series }
controller sun { MPPT; RATED; PV at most 100 V; absorption 14.2 V }
wires 8 AWG, 2 m {
  in from roof.plus to sun.pv_plus
  home from sun.pv_minus to roof.minus
  charge from sun.batt_plus to house.plus
  back from house.minus to sun.batt_minus
}
"""


def build(rated: str = "30 A") -> str:
    return BUILD.replace("RATED", rated)


def test_catalogue_a5(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, A5, Ex: 420 W / 13.0 V = 32.3 A vs 30 A -> note "clips about 2.3 A at peak"."""
    found = said(build(), "over_panelled")
    assert found.grades == [("sun", "clips", "note")]
    finding = found.finding("sun")
    assert finding.measured.value == pytest.approx(420 / 13.0)
    assert finding.message == (
        "sun: roof could give 32.3 A at 13 V; it passes 30 A and clips about 2.31 A at the peak. Only energy is lost."
    )
    assert "a controller for 32.3 A or more, or at most 390 W of array" in finding.remedy


@pytest.mark.parametrize(("rated", "broken"), [("32.3 A", True), ("32.31 A", False)])
def test_edge(said, rated: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    assert bool(said(build(rated), "over_panelled").findings) is broken


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("PV at most 100 V", "PV at most 50 V"),  # 48 V x 1.112 in frost
        ("PV at most 100 V", "PV at most 100 V; PV at most 13 A"),  # 1.25 x 11 A
        ("PV at most 100 V", "PV at most 100 V; PV at most 400 W"),
        ("PV at most 100 V", "PV at most 100 V; 130 W; array at most 3 times its rated power"),  # catalogue, A6, Ex: 390 W
    ],
)
def test_it_says_nothing_where_something_is_damaged(said, old: str, new: str) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, A5: only if A1, A4 and A6 pass."""
    found = said(build().replace(old, new), "over_panelled")
    assert not found.findings
    assert not found.passes
    assert [item.condition[:34] for item in found.idle] == ["a limit whose breach damages it is"]


def test_the_disconnect_voltage_counts(said) -> None:  # type: ignore[no-untyped-def]
    """Readings, A5: V_batt_low = disconnect voltage."""
    cut = "low-voltage disconnect cut { opens at 14 V }\nwire a from house.plus to cut.line\n"
    assert said(build() + cut, "over_panelled").passed("sun").measured.value == pytest.approx(30.0)


def test_a_disconnect_of_another_bank_does_not_count(said) -> None:  # type: ignore[no-untyped-def]
    other = (
        "battery far { AGM, 6 cells, 50 Ah }\nlow-voltage disconnect cut { opens at 10 V }\nwire a from far.plus to cut.line\n"
    )
    assert said(build() + other, "over_panelled").finding("sun").measured.value == pytest.approx(420 / 13.0)


def test_without_a_declared_lowest_the_empty_cells_count(said) -> None:  # type: ignore[no-untyped-def]
    """A pin: 4 cells at the empty voltage of the table of cells."""
    found = said(build().replace("; lowest 13.0 V", ""), "over_panelled").finding("sun")
    assert found.measured.value > 420 / 13.0


@pytest.mark.parametrize(
    ("old", "new", "missing"),
    [
        ("MPPT; ", "", "kind of controller (PWM or MPPT)"),
        ("30 A; ", "", "rated current"),
        ("PV at most 100 V; ", "", "highest voltage of its PV input"),
        ("Vmp 20 V; ", "", "power of roof (Vmp and Imp)"),
        ("site { record low -15 degC }\n", "", "record low of the site"),
        ("LFP, 4 cells, 200 Ah; internal resistance 3 mohm; lowest 13.0 V", "200 Ah", "lowest voltage of house"),
        ("charge from sun.batt_plus to house.plus\n", "", "a battery at its output"),
    ],
)
def test_missing_data_are_named(said, old: str, new: str, missing: str) -> None:  # type: ignore[no-untyped-def]
    assert old in build()
    found = said(build().replace(old, new), "over_panelled")
    assert not found.findings
    assert found.missing == [("sun", "clips", missing)]


def test_a_series_switch_does_not_clip(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build().replace("MPPT", "PWM"), "over_panelled")
    assert [item.condition for item in found.idle] == ["not a tracking controller"]
