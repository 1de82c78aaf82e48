"""Rule wasted-array-voltage: the fault catalogue's example A3, edges by chemistry, modules in series, what is missing."""

from __future__ import annotations

import pytest

BUILD = """rig "Shed roof", revision 1
battery house { BATTERY, 50 Ah; internal resistance 9 mohm }
array roof { Voc 50 V; Vmp VMP; Isc 5.9 A; Imp 5.5 A }
controller sun { KIND; 10 A; absorption 14.2 V }
wires 10 AWG, 2 m {
  in from roof.plus to sun.pv_plus
  home from sun.pv_minus to roof.minus
  charge from sun.batt_plus to house.plus
  back from house.minus to sun.batt_minus
}
"""


def build(vmp: str = "36 V", battery: str = "LFP, 4 cells", kind: str = "PWM") -> str:
    return BUILD.replace("VMP", vmp).replace("BATTERY", battery).replace("KIND", kind)


def test_catalogue_a3_formula() -> None:
    """Catalogue, A3, Ex: Vmp 36 V, Imp 5.5 A (198 W) into 13.2 V: 5.5 x 13.2 = 72.6 W = 37 %."""
    assert pytest.approx(72.6 / 198) == 13.2 / 36
    assert round(13.2 / 36, 2) == 0.37


def test_catalogue_a3(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, A3, Ex end to end: with the Check's own 13.3 V for LFP the share is 36.9 %, a warning."""
    found = said(build(), "wasted_array_voltage")
    assert found.grades == [("sun", "pulled-down", "warning")]
    finding = found.finding("sun")
    assert finding.measured.value == pytest.approx(13.3 / 36)
    assert finding.message == (
        "sun: it pulls roof from 36 V at maximum power down to the battery's 13.3 V: 36.9 % of the power is used, 63.1 % is lost."
    )
    assert finding.remedy == "Use a tracking (MPPT) controller, or modules in strings of at most 19 V at maximum power."


@pytest.mark.parametrize(
    ("battery", "vmp", "broken"),
    [
        ("LFP, 4 cells", "19 V", False),  # 13.3 / 0.70
        ("LFP, 4 cells", "19.01 V", True),
        ("AGM, 6 cells", "19.42 V", False),  # 13.6 / 0.70 = 19.43
        ("AGM, 6 cells", "19.44 V", True),
        ("flooded, 12 cells", "38.8 V", False),
        ("LFP, 8 cells", "36 V", False),
        ("gel, 12 V", "36 V", True),
        ("other lithium, 12 V", "17.2 V", True),  # nominal: 12 / 17.2
        ("other lithium, 12 V", "17.1 V", False),
    ],
)
def test_edges(said, battery: str, vmp: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, A3: 13.3 V (LFP) or 13.6 V (lead-acid) per 12 V, and 0.70."""
    assert bool(said(build(vmp, battery), "wasted_array_voltage").findings) is broken


def test_modules_in_series_add(said) -> None:  # type: ignore[no-untyped-def]
    text = build("18 V").replace("Voc 50 V;", "Voc 50 V; 2 in series;")
    assert said(text, "wasted_array_voltage").finding("sun").measured.value == pytest.approx(13.3 / 36)
    apart = build("18 V").replace("home from sun.pv_minus to roof.minus", "home from sun.pv_minus to low.minus")
    apart += "array low { Voc 22 V; Vmp 18 V }\nwire link from low.plus to roof.minus\n"
    finding = said(apart, "wasted_array_voltage").finding("sun")
    assert finding.measured.value == pytest.approx(13.3 / 36)
    assert "it pulls low + roof from 36 V" in finding.message


def test_a_tracking_controller_converts(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build(kind="MPPT"), "wasted_array_voltage")
    assert [item.condition for item in found.idle] == ["a tracking controller, which converts the voltage"]


def test_the_kind_is_asked_for_where_it_decides(said) -> None:  # type: ignore[no-untyped-def]
    high = said(build(kind="own drain 1 mA"), "wasted_array_voltage")
    assert high.missing == [("sun", "pulled-down", "kind of controller (PWM or MPPT)")]
    assert not said(build("18 V", kind="own drain 1 mA"), "wasted_array_voltage").missing


@pytest.mark.parametrize(
    ("old", "new", "missing"),
    [
        ("Vmp 36 V; ", "", "voltage of roof at maximum power"),
        ("LFP, 4 cells", "12 V", "chemistry of house"),
        ("LFP, 4 cells", "AGM", "number of cells of house"),
        ("LFP, 4 cells", "other lithium", "nominal voltage of house"),
    ],
)
def test_missing_data_are_named(said, old: str, new: str, missing: str) -> None:  # type: ignore[no-untyped-def]
    found = said(build().replace(old, new), "wasted_array_voltage")
    assert not found.findings
    assert found.missing == [("sun", "pulled-down", missing)]
    assert found.unchecked[0].declare
