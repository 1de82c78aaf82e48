"""Rule thin-array-lead: the fault catalogue's example A9, both tests at their edges, shared leads, loops, the iec factor, what is missing."""

from __future__ import annotations

from datetime import date

import pytest
from ohmwright.inspecting import InspectOptions, inspect_files
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.resolve import Loader
from ohmwright_rules import PACK
from ohmwright_rules.ampacity import demand
from ohmwright_rules.basis import get

BUILD = """rig "Panel on a van", revision 1
basis us-small-craft
site { ambient 0 degC to 30 degC }
battery house { LFP, 4 cells, 100 Ah; internal resistance 6 mohm }
array roof { Voc 22 V; Vmp 18 V; Isc ISC; Imp 1.9 A }
controller sun { MPPT; 20 A; absorption 14.2 V }
wires 2 m, copper, 75 degC insulation, in free air {
  in from roof.plus to sun.pv_plus, SIZE
  home from sun.pv_minus to roof.minus, 6 AWG
  charge from sun.batt_plus to house.plus, 8 AWG
  back from house.minus to sun.batt_minus, 8 AWG
}
"""
CORD = """rig "Panel on a cord", revision 1
basis us-premises
site { ambient 0 degC to 30 degC }
battery house { LFP, 4 cells, 100 Ah; internal resistance 6 mohm }
array roof { Voc 22 V; Vmp 18 V; Isc 11.2 A; Imp 10.6 A }
controller sun { MPPT; 20 A; absorption 14.2 V }
cable roof_cord {
  16 AWG; 5 m; flexible cord; copper; 60 degC insulation
  core red from roof.plus to sun.pv_plus
  core black from sun.pv_minus to roof.minus
}
wires 8 AWG, 2 m, copper, 75 degC insulation, in free air {
  charge from sun.batt_plus to house.plus
  back from house.minus to sun.batt_minus
}
"""


def build(isc: str = "11.2 A", size: str = "12 AWG") -> str:
    return BUILD.replace("ISC", isc).replace("SIZE", size)


def test_what_bright_sun_asks_for() -> None:
    """Catalogue, A9, Ex: Isc 11.2 A: 14.0 and 17.5 A."""
    asked = demand(get("us-premises"), 11.2, use="array")
    assert asked.corrected == pytest.approx(14.0)
    assert asked.table == pytest.approx(17.5)


def test_catalogue_a9_cord(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, A9, Ex: 16 AWG cord 13 A -> error."""
    found = said(CORD, "thin_array_lead")
    assert found.grades == [("roof_cord", "over-ampacity", "error")]
    finding = found.finding("roof_cord")
    assert (finding.measured.value, finding.limit.value) == (pytest.approx(17.5), 13.0)
    assert finding.subject == ("roof_cord", "roof_cord.black", "roof_cord.red")
    assert finding.message == (
        "roof_cord: roof brings 11.2 A, which for hours of bright sun count 1.5625 times: 17.5 A; the table gives this 16 AWG cord 13 A."
    )
    assert finding.remedy == "Use 14 AWG or larger."


def test_catalogue_a9_wire(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, A9, Ex: 12 AWG 75 degC 25 A -> pass (Table 5 of 33 CFR 183.425)."""
    found = said(build(), "thin_array_lead")
    assert not found.findings
    assert (found.passed("in").measured.value, found.passed("in").limit.value) == (pytest.approx(17.5), 25.0)


@pytest.mark.parametrize(("isc", "broken"), [("15.99 A", False), ("16 A", False), ("16.01 A", True)])
def test_edge_of_the_table(said, isc: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    """16 A x 1.5625 are 25 A exactly, what Table 5 gives 12 AWG of 75 degC (33 CFR 183.425)."""
    assert bool([item for item in said(build(isc), "thin_array_lead").findings if item.subject == ("in",)]) is broken


def test_warm_air_makes_the_corrected_test_the_harder_one(said) -> None:  # type: ignore[no-untyped-def]
    """The law of the temperature rise at 60 degC leaves 75 degC insulation sqrt(15/45) of its value."""
    text = build("12 A").replace("30 degC", "60 degC")
    finding = said(text, "thin_array_lead").finding("in")
    assert finding.measured.value == pytest.approx(15.0)
    assert finding.limit.value < 25.0 * (15 / 45) ** 0.5 + 1e-6
    assert "1.25 times 12 A" in finding.message


def test_a_shared_lead_carries_all_strings(said) -> None:  # type: ignore[no-untyped-def]
    text = build("9 A") + (
        "array west { Voc 22 V; Vmp 18 V; Isc 9 A; Imp 5 A }\n"
        "wire p from west.plus to roof.plus, 12 AWG, 1 m, copper, 75 degC insulation, in free air\n"
        "wire q from west.minus to roof.minus, 12 AWG, 1 m, copper, 75 degC insulation, in free air\n"
    )
    found = said(text, "thin_array_lead")
    assert [item.subject for item in found.findings] == [("in",)]
    assert found.finding("in").measured.value == pytest.approx(1.5625 * 18)
    assert found.passed("p").measured.value == pytest.approx(1.5625 * 9)
    assert "roof and west bring 18 A" in found.finding("in").message


def test_of_modules_in_series_the_larger_current_counts_once(said) -> None:  # type: ignore[no-untyped-def]
    text = build("9 A").replace("home from sun.pv_minus to roof.minus", "home from sun.pv_minus to low.minus") + (
        "array low { Voc 22 V; Vmp 18 V; Isc 10 A; Imp 5 A }\n"
        "wire link from low.plus to roof.minus, 12 AWG, 1 m, copper, 75 degC insulation, in free air\n"
    )
    found = said(text, "thin_array_lead")
    for name in ("in", "link", "home"):
        assert found.passed(name).measured.value == pytest.approx(1.5625 * 10)


def test_conductors_side_by_side_and_battery_leads_are_no_array_leads(said) -> None:  # type: ignore[no-untyped-def]
    text = build("30 A") + "wire in2 from roof.plus to sun.pv_plus, 12 AWG, 2 m, copper, 75 degC insulation, in free air\n"
    found = said(text, "thin_array_lead")
    assert not found.findings
    assert [item.subject for item in found.passes] == [("home",)]


def test_the_return_by_a_common_minus_counts(said) -> None:  # type: ignore[no-untyped-def]
    """A controller with a common minus may have its array's return on the battery's minus."""
    text = build("30 A").replace("home from sun.pv_minus to roof.minus, 6 AWG", "home from house.minus to roof.minus, 12 AWG")
    text = text.replace("absorption 14.2 V", "absorption 14.2 V; common negative")
    found = said(text, "thin_array_lead")
    assert {item.subject[0] for item in found.findings} == {"in", "home"}
    assert found.passed("back").measured.value == pytest.approx(1.5625 * 30)


def test_the_lead_of_an_array_straight_on_a_battery(said) -> None:  # type: ignore[no-untyped-def]
    text = build("30 A").replace("in from roof.plus to sun.pv_plus", "in from roof.plus to house.plus")
    text = text.replace("home from sun.pv_minus to roof.minus", "home from house.minus to roof.minus")
    found = said(text, "thin_array_lead")
    assert [item.subject for item in found.findings] == [("in",)]
    assert [item.subject for item in found.passes] == [("home",)]


@pytest.mark.parametrize(
    ("isc", "air", "severity"),
    [
        ("18 A", "30 degC", "error"),  # 1.5625 x 18 A over the 27 A of the table: borrowed from NEC 690.8(B)
        ("15.5 A", "50 degC", "warning"),  # 1.25 x 15.5 A over 27 x 0.71 A (Table B.52.14): here 1.25 is from memory
        ("20 A", "50 degC", "error"),  # 20 A as they are
    ],
)
def test_on_iec_the_corrected_test_alone_is_a_warning(said, isc: str, air: str, severity: str) -> None:  # type: ignore[no-untyped-def]
    """IEC 60364-5-52, Table B.52.2: 2.5 mm2, PVC, method C: 27 A; factor for the current: readings, A7."""
    text = build(isc, "2.5 mm2").replace("us-small-craft", "iec").replace("6 AWG", "25 mm2").replace("8 AWG", "25 mm2")
    text = text.replace("75 degC insulation, in free air", "70 degC insulation, method C").replace("30 degC", air)
    assert said(text, "thin_array_lead").grades == [("in", "over-ampacity", severity)]


@pytest.mark.parametrize(
    ("old", "new", "missing"),
    [
        ("Isc 14 A; ", "", "short-circuit current of roof"),
        ("basis us-small-craft\n", "", "basis"),
        ("12 AWG", "red", "gauge"),
        ("site { ambient 0 degC to 30 degC }\n", "", "temperature of the air"),
        (", in free air", "", "how it lies (in free air, or with how many others)"),
    ],
)
def test_missing_data_are_named(said, old: str, new: str, missing: str) -> None:  # type: ignore[no-untyped-def]
    found = said(build("14 A").replace(old, new), "thin_array_lead")
    assert not found.findings
    assert ("in", "over-ampacity", missing) in found.missing
    assert all(item.declare for item in found.unchecked)


def test_insulation_is_asked_for_where_it_decides(said) -> None:  # type: ignore[no-untyped-def]
    """Table 5 of 33 CFR 183.425: 8 AWG 55 A at 60 degC, 65 A at 75 degC; 38 A x 1.5625 = 59.4 A."""
    text = build("38 A", "8 AWG").replace(", 75 degC insulation", "")
    assert ("in", "over-ampacity", "insulation temperature") in said(text, "thin_array_lead").missing
    assert not said(build("38 A", "8 AWG"), "thin_array_lead").findings


def test_what_passes_at_its_harshest_needs_no_datum(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build("2 A").replace(", 75 degC insulation, in free air", ""), "thin_array_lead")
    assert not found.missing
    assert found.passed("in").limit.value < 20


def test_the_thin_wire_is_told_once() -> None:
    """The harder test wins over the ampacity in the solved states: one cause, one finding."""
    text = build("30 A", "18 AWG").replace("Imp 1.9 A", "Imp 28 A")
    options = InspectOptions(today=date(2026, 1, 1), only=("thin-array-lead", "undersized-wire"))
    (result,) = inspect_files(["a.rig"], Loader(MemoryFiles({"a.rig": text})), options, (PACK,)).builds
    assert [(item.rule.id, item.finding.subject) for item in result.findings if "in" in item.finding.subject] == [
        ("thin-array-lead", ("in",))
    ]
    assert [item.rule.id for item in result.yielded if item.finding.subject == ("in",)] == ["undersized-wire"]
