"""Rule weak-array-device: the fault catalogue's example A10, the edges of voltage and current, switches, poles of different lines, what is missing."""

from __future__ import annotations

from datetime import date

import pytest
from ohmwright.inspecting import InspectOptions, inspect_files
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.resolve import Loader
from ohmwright_rules import PACK

BUILD = """rig "Barn roof", revision 1
basis us-premises
site { record low -10 degC }
battery house { LFP, 4 cells, 100 Ah; internal resistance 5 mohm }
array roof { Voc 22.6 V; Vmp 18 V; Isc ISC; Imp 5.8 A; Voc -0.30 %/K; 2 in series; PARALLEL }
DEVICE
controller sun { MPPT; 30 A; PV at most 60 V; absorption 14.2 V }
wires 10 AWG, 2 m {
  out from roof.plus to cut.line
  in from cut.load to sun.pv_plus
  home from sun.pv_minus to roof.minus
  charge from sun.batt_plus to house.plus
  common from house.minus to sun.batt_minus
}
"""


def build(device: str, isc: str = "8 A", parallel: str = "2 in parallel") -> str:
    return BUILD.replace("DEVICE", device).replace("ISC", isc).replace("PARALLEL", parallel)


def test_catalogue_a10(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, A10, Ex: 32 V blade fuse in a 49.95 V string -> error."""
    found = said(build("fuse cut { blade; 30 A; 32 V dc }"), "weak_array_device")
    assert found.grades == [("cut", "under-voltage", "error")]
    finding = found.finding("cut")
    assert finding.measured.value == pytest.approx(49.95, abs=0.005)  # the catalogue rounds 49.946 V
    assert finding.limit.value == 32.0
    assert finding.message == (
        "cut: with nothing drawn, roof reaches 49.9 V at -10 degC; this fuse is rated for 32 V DC, and above that its arc may not go out."
    )
    assert finding.remedy == "Use a fuse rated for 49.9 V DC or more."


@pytest.mark.parametrize(("rated", "broken"), [("49.94 V", True), ("49.946 V", False), ("49.95 V", False)])
def test_edge_of_voltage(said, rated: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    found = said(build(f"breaker cut {{ 30 A; {rated} dc }}"), "weak_array_device")
    assert [item.grade for item in found.findings] == (["under-voltage"] if broken else [])


@pytest.mark.parametrize(
    ("device", "broken"),
    [
        ("breaker cut { 24.99 A; 60 V dc }", True),  # 1.5625 x 2 x 8 A are 25 A
        ("breaker cut { 25 A; 60 V dc }", False),
        ("fuse cut { 24.99 A; 60 V dc }", True),
        ("switch cut { 19.99 A; breaks 30 A at 60 V dc }", True),  # 1.25 x 2 x 8 A are 20 A
        ("switch cut { 20 A; breaks 30 A at 60 V dc }", False),
        ("switch cut { 30 A; breaks 19.99 A at 60 V dc }", True),
        ("switch cut { 30 A; breaks 20 A at 60 V dc, 5 A at 100 V dc }", False),
        ("switch cut { 30 A; breaks 19 A at 60 V dc, 25 A at 30 V dc }", True),
    ],
)
def test_edge_of_current(said, device: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, A10: 1.5625 times; readings, A10: on a plain switch 1.25."""
    found = said(build(device), "weak_array_device")
    assert found.grades == ([("cut", "under-current", "error")] if broken else [])


def test_messages_of_current(said) -> None:  # type: ignore[no-untyped-def]
    switch = said(build("switch cut { 30 A; breaks 15 A at 60 V dc }"), "weak_array_device").finding("cut")
    assert switch.message == (
        "cut: roof can push 20 A through it (1.25 times 16 A in bright sun); this switch breaks at 49.9 V only 15 A."
    )
    breaker = said(build("breaker cut { 20 A; 60 V dc }"), "weak_array_device").finding("cut")
    assert breaker.message == (
        "cut: roof can push 25 A through it (1.5625 times 16 A in bright sun); this breaker is rated for 20 A."
    )
    assert breaker.remedy == "Use a breaker for 25 A or more."


def test_the_fuse_of_one_string_is_left_to_string_fuse(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build("fuse cut { 5 A; 60 V dc }", parallel="1 in parallel"), "weak_array_device")
    assert not found.findings
    assert [item.condition for item in found.idle] == [
        "the current of one string through its own fuse, which string-fuse judges"
    ]
    assert [item.grade for item in found.passes] == ["ac-only", "under-voltage"]


@pytest.mark.parametrize(
    "device", ["breaker cut { 32 A; AC only }", "fuse cut { 32 A; AC only }", "switch cut { 32 A; AC only }"]
)
def test_ac_only(said, device: str) -> None:  # type: ignore[no-untyped-def]
    assert said(build(device), "weak_array_device").grades == [("cut", "ac-only", "error")]


def test_on_iec_a_switch_between_the_factors_is_a_warning(said) -> None:  # type: ignore[no-untyped-def]
    """Readings, A7, for the same factor: IEC 62548-1 (2023) from memory."""
    assert said(build("switch cut { 18 A; breaks 30 A at 60 V dc }"), "weak_array_device", basis="iec").grades == [
        ("cut", "under-current", "warning")
    ]
    assert said(build("switch cut { 15 A; breaks 30 A at 60 V dc }"), "weak_array_device", basis="iec").grades == [
        ("cut", "under-current", "error")
    ]


def test_only_the_pole_in_the_array_lead_counts(said) -> None:  # type: ignore[no-untyped-def]
    """One switch with a pole in the array's lead and a pole in the battery's: the array's lead decides, the battery's is no lead of it."""
    text = build("switch cut { 20 A; breaks 20 A at 60 V dc; 2 poles }").replace(
        "charge from sun.batt_plus to house.plus", "charge from sun.batt_plus to cut.line2\n  on from cut.load2 to house.plus"
    )
    found = said(text, "weak_array_device")
    assert not found.findings
    assert found.passed("cut", "under-current").measured.value == pytest.approx(20.0)
    other = text.replace("out from roof.plus to cut.line\n  in from cut.load to", "out from roof.plus to")
    assert not said(other, "weak_array_device").passes


def test_a_fuse_between_an_array_and_a_battery_straight(said) -> None:  # type: ignore[no-untyped-def]
    text = build("fuse cut { 30 A; 32 V dc }").replace("in from cut.load to sun.pv_plus", "in from cut.load to house.plus")
    text = text.replace("home from sun.pv_minus to roof.minus", "home from house.minus to roof.minus")
    assert said(text, "weak_array_device").grades == [("cut", "under-voltage", "error")]


@pytest.mark.parametrize(
    ("device", "grade", "missing"),
    [
        ("fuse cut { 30 A }", "under-voltage", "voltage rating for DC"),
        ("breaker cut { 60 V dc }", "under-current", "rated current"),
        ("switch cut { 30 A }", "under-voltage", "DC current that it breaks, and at which voltage"),
        ("switch cut { 30 A }", "under-current", "DC current that it breaks, and at which voltage"),
        ("switch cut { breaks 30 A at 60 V dc }", "under-current", "current that it carries for long"),
    ],
)
def test_missing_data_of_the_device_are_named(said, device: str, grade: str, missing: str) -> None:  # type: ignore[no-untyped-def]
    found = said(build(device), "weak_array_device")
    assert not found.findings
    assert ("cut", grade, missing) in found.missing
    assert all(item.declare for item in found.unchecked)


@pytest.mark.parametrize(
    ("old", "grade", "missing"),
    [
        ("site { record low -10 degC }\n", "under-voltage", "record low of the site"),
        ("Voc 22.6 V; ", "under-voltage", "open-circuit voltage of roof"),
        ("Isc 8 A; ", "under-current", "short-circuit current of roof"),
    ],
)
def test_missing_data_of_the_array_are_named(said, old: str, grade: str, missing: str) -> None:  # type: ignore[no-untyped-def]
    found = said(build("breaker cut { 30 A; 60 V dc }").replace(old, ""), "weak_array_device")
    assert not found.findings
    assert found.missing == [("cut", grade, missing)]


def test_it_is_told_once() -> None:
    """Readings, yields: PV device A10 > F7, F8."""
    text = build("fuse cut { blade; 30 A; 32 V dc }").replace("2 m {", "2 m, copper, 75 degC insulation, in free air {")
    for change, grade in (("32 V dc", "under-voltage"), ("AC only", "ac-only")):
        options = InspectOptions(today=date(2026, 1, 1), only=("weak-array-device", "fuse-voltage"))
        files = MemoryFiles({"a.rig": text.replace("32 V dc", change)})
        (result,) = inspect_files(["a.rig"], Loader(files), options, (PACK,)).builds
        assert [(item.rule.id, item.grade.name) for item in result.findings] == [("weak-array-device", grade)]
        assert [item.rule.id for item in result.yielded] == ["fuse-voltage"]


def test_a_switch_in_array_leads_is_told_once() -> None:
    """Readings, yields: PV device A10 > H1."""
    text = build("switch cut { 30 A; breaks 30 A at 30 V dc }").replace(
        "2 m {", "2 m, copper, 75 degC insulation, in free air {"
    )
    options = InspectOptions(today=date(2026, 1, 1), only=("weak-array-device", "arcing-switch"))
    (result,) = inspect_files(["a.rig"], Loader(MemoryFiles({"a.rig": text})), options, (PACK,)).builds
    assert [(item.rule.id, item.grade.name) for item in result.findings] == [("weak-array-device", "under-voltage")]
    assert [item.rule.id for item in result.yielded] == ["arcing-switch"]
