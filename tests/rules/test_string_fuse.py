"""Rule string-fuse: the fault catalogue's example A8, its edges, the window of iec, modules in series, shared leads, what is missing."""

from __future__ import annotations

import pytest

BUILD = """rig "Two strings", revision 1
basis us-premises
battery house { LFP, 4 cells, 100 Ah; internal resistance 5 mohm }
array east { Voc 22 V; Vmp 18 V; Isc 6.2 A; Imp 5.8 A; largest series fuse 15 A }
array west { Voc 22 V; Vmp 18 V; Isc 6.2 A; Imp 5.8 A; largest series fuse 15 A }
fuse cut { FUSE; line on east.plus }
controller sun { MPPT; 30 A; absorption 14.2 V }
bus roof
wires 10 AWG, 2 m {
  from_east from cut.load to roof
  from_west from west.plus to roof
  in from roof to sun.pv_plus
  east_back from sun.pv_minus to east.minus
  west_back from sun.pv_minus to west.minus
  charge from sun.batt_plus to house.plus
  back from house.minus to sun.batt_minus
}
"""


def build(fuse: str) -> str:
    return BUILD.replace("FUSE", fuse)


def test_catalogue_a8(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, A8, Ex: Isc 6.2 -> >= 9.7 A; 20 A fuse, I_msf 15 -> error; 10 A -> pass."""
    found = said(build("20 A"), "string_fuse")
    assert found.grades == [("cut", "too-large", "error")]
    finding = found.finding("cut")
    assert (finding.measured.value, finding.limit.value) == (20.0, 15.0)
    assert finding.message == (
        "cut: this fuse of 20 A is in the lead of east, whose modules allow a series fuse of 15 A at most; "
        "current pushed back into a faulty module would not open it in time."
    )
    good = said(build("10 A"), "string_fuse")
    assert not good.findings
    assert good.passed("cut", "too-small").limit.value == pytest.approx(9.6875)


@pytest.mark.parametrize(
    ("fuse", "grades"),
    [
        ("9.68 A", [("cut", "too-small", "warning")]),  # 1.5625 x 6.2 A are 9.6875 A; 1.56 would be 9.672 A
        ("9.6875 A", []),
        ("9.7 A", []),
        ("15 A", []),
        ("15.01 A", [("cut", "too-large", "error")]),
    ],
)
def test_edges(said, fuse: str, grades: list[tuple[str, str, str]]) -> None:  # type: ignore[no-untyped-def]
    assert said(build(fuse), "string_fuse").grades == grades


def test_too_small_tells_the_window(said) -> None:  # type: ignore[no-untyped-def]
    finding = said(build("8 A"), "string_fuse").finding("cut")
    assert finding.message == (
        "cut: bright sun on east asks for 9.69 A (1.5625 times 6.2 A); this fuse of 8 A can open on a bright day."
    )
    assert finding.remedy == "Use a fuse of 9.69 A or more, up to the 15 A that the modules allow."


@pytest.mark.parametrize(
    ("fuse", "grades"),
    [
        ("9.29 A", ["too-small"]),
        ("9.3 A", []),  # 1.5 x 6.2 A
        ("14.88 A", []),  # 2.4 x 6.2 A
        ("14.9 A", ["over-window"]),
        ("16 A", ["too-large"]),
    ],
)
def test_window_of_iec(said, fuse: str, grades: list[str]) -> None:  # type: ignore[no-untyped-def]
    """IEC 62548 (2016), secondary: 1.5 to 2.4 times the short-circuit current, and at most the module's largest series fuse."""
    assert [item.grade for item in said(build(fuse), "string_fuse", basis="iec").findings] == grades


def test_of_modules_in_series_the_smallest_label_and_the_largest_current_count(said) -> None:  # type: ignore[no-untyped-def]
    text = build("12 A").replace("east_back from sun.pv_minus to east.minus", "east_back from sun.pv_minus to low.minus")
    text += "array low { Voc 22 V; Vmp 18 V; Isc 8 A; Imp 5.8 A; largest series fuse 10 A }\nwire link from low.plus to east.minus\n"
    found = said(text, "string_fuse")
    assert found.finding("cut", "too-large").limit.value == 10.0
    assert found.finding("cut", "too-small").limit.value == pytest.approx(12.5)


@pytest.mark.parametrize(
    "change",
    [
        ("from_west from west.plus to roof", "from_west from west.plus to cut.line"),
        ("15 A }\narray west", "15 A; 2 in parallel }\narray west"),
    ],
)
def test_a_device_of_several_strings_is_no_string_fuse(said, change: tuple[str, str]) -> None:  # type: ignore[no-untyped-def]
    found = said(build("30 A").replace(*change), "string_fuse")
    assert not found.findings
    assert not found.passes
    assert [item.condition[:39] for item in found.idle] == ["carries the current of several strings "]


@pytest.mark.parametrize(
    ("old", "grade", "missing"),
    [
        ("fuse cut { 12 A; line", "too-large", "rated current"),
        ("Isc 6.2 A; Imp 5.8 A; largest series fuse 15 A }\narray west", "too-large", "largest series fuse of east"),
        ("Isc 6.2 A; Imp 5.8 A; largest series fuse 15 A }\narray west", "too-small", "short-circuit current of east"),
    ],
)
def test_missing_data_are_named(said, old: str, grade: str, missing: str) -> None:  # type: ignore[no-untyped-def]
    new = "fuse cut { line" if "fuse cut" in old else "}\narray west"
    found = said(build("12 A").replace(old, new), "string_fuse")
    assert not found.findings
    assert ("cut", grade, missing) in found.missing
    assert all(item.declare for item in found.unchecked)


STRAIGHT = """rig "Pasture fence", revision 1
basis iec
battery cow { flooded, 6 cells, 100 Ah; internal resistance 6 mohm }
array panel { Voc 22 V; Vmp 17.6 V; Isc 1.25 A; Imp 1.14 A; largest series fuse 10 A }
fuse main { RATING; line on cow.plus }
load energiser 0.4 A
wires 16 AWG, 1 m {
  feed from END to energiser.plus
  return from energiser.minus to cow.minus
  up from panel.plus to main.load
  down from cow.minus to panel.minus
}
"""


def test_the_fuse_of_a_battery_that_feeds_loads_is_no_string_fuse(said) -> None:  # type: ignore[no-untyped-def]
    """5 A are over 2.4 x 1.25 A, but the fuse is there for the battery; what it lets back into the panel is held against its label (A7)."""
    battery = STRAIGHT.replace("END", "main.load")
    assert said(battery.replace("RATING", "5 A"), "string_fuse").grades == []
    assert said(battery.replace("RATING", "5 A"), "unfused_strings").passed("cow").measured.value == 5.0
    assert said(battery.replace("RATING", "15 A"), "string_fuse").grades == []
    assert [item[1] for item in said(battery.replace("RATING", "15 A"), "unfused_strings").grades] == ["over-series-fuse"]
    own = STRAIGHT.replace("END", "cow.plus").replace("RATING", "5 A")
    assert said(own, "string_fuse").grades == [("main", "over-window", "warning")]
