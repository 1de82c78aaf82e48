"""Rule unregulated-array: the fault catalogue's examples A12, edges, strings of arrays and batteries, controllers, what is missing."""

from __future__ import annotations

import pytest

BUILD = """rig "Gate opener", revision 1
battery gate { BATTERY; internal resistance 25 mohm }
array panel { Voc 21 V; Vmp 17 V; Isc ISC; Imp 0.6 A }
wires 14 AWG, 2 m {
  on from panel.plus to gate.plus
  back from gate.minus to panel.minus
}
"""


def build(battery: str = "AGM, 6 cells, 7 Ah", isc: str = "0.7 A") -> str:
    return BUILD.replace("BATTERY", battery).replace("ISC", isc)


def test_catalogue_a12(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, A12, Ex: 0.7 A panel on 7 Ah VRLA: 10 %; on 220 Ah: 0.3 % -> pass. Sev: warning for lead-acid."""
    found = said(build(), "unregulated_array")
    assert found.grades == [("gate", "lead-acid", "warning")]
    finding = found.finding("gate")
    assert (finding.measured.value, finding.limit.value) == (0.7, pytest.approx(0.105))
    assert finding.message == (
        "panel gives 0.7 A straight into gate, 10 % of its capacity an hour; it bears about 0.105 A for ever, and nothing ends the charge."
    )
    good = said(build("AGM, 6 cells, 220 Ah"), "unregulated_array")
    assert not good.findings
    assert good.passed("gate").limit.value == pytest.approx(3.3)


@pytest.mark.parametrize("battery", ["LFP, 4 cells, 100 Ah; bms { high trip 14.8 V }", "other lithium, 12 V, 1000 Ah", "LFP"])
def test_lithium_always_needs_control(said, battery: str) -> None:  # type: ignore[no-untyped-def]
    """Readings, limits from memory: lithium without control is an error as printed; no number is asked for."""
    found = said(build(battery).replace("Isc 0.7 A; ", ""), "unregulated_array")
    assert found.grades == [("gate", "lithium", "error")]
    assert not found.missing


@pytest.mark.parametrize(("isc", "broken"), [("1.499 A", False), ("1.5 A", False), ("1.501 A", True)])
def test_edge(said, isc: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    """1.5 % of 100 Ah in an hour."""
    assert bool(said(build("flooded, 6 cells, 100 Ah", isc), "unregulated_array").findings) is broken


def test_strings_of_modules_and_of_batteries(said) -> None:  # type: ignore[no-untyped-def]
    """Two panels in series on two batteries in series; a third one beside them; a second string of batteries."""
    text = """rig "Gate", revision 1
battery one { AGM, 6 cells, 100 Ah }
battery two { AGM, 6 cells, 80 Ah }
array low { Voc 21 V; Isc 0.7 A }
array high { Voc 21 V; Isc 0.6 A }
array third { Voc 42 V; Isc 0.6 A; 2 in parallel }
wires 14 AWG, 2 m {
  a from one.plus to two.minus
  b from low.plus to high.minus
  c from one.minus to low.minus
  d from high.plus to two.plus
  e from third.minus to one.minus
  f from third.plus to two.plus
}
"""
    found = said(text, "unregulated_array")
    finding = found.finding("one")
    assert finding.subject == ("one", "two", "high", "low", "third")
    assert finding.measured.value == pytest.approx(0.7 + 1.2)
    assert finding.limit.value == pytest.approx(0.015 * 80)
    beside = (
        text + "battery more { AGM, 12 cells, 60 Ah }\nwire g from more.plus to two.plus\nwire h from more.minus to one.minus\n"
    )
    assert said(beside, "unregulated_array").passed("more").limit.value == pytest.approx(0.015 * 140)


def test_a_controller_between_is_control(said) -> None:  # type: ignore[no-untyped-def]
    text = build("LFP, 4 cells, 100 Ah").replace(
        "on from panel.plus to gate.plus", "in from panel.plus to sun.pv_plus\n  on from sun.batt_plus to gate.plus"
    )
    text = text.replace(
        "back from gate.minus to panel.minus", "back from gate.minus to sun.batt_minus\n  home from sun.pv_minus to panel.minus"
    )
    found = said(text + "controller sun { MPPT; 10 A }\n", "unregulated_array")
    assert not found.findings
    assert [item.condition for item in found.idle] == ["no battery can be joined to it without a controller between"]
    bypassed = (
        text
        + "controller sun { MPPT; 10 A }\nswitch round { 10 A }\nwire p from panel.plus to round.line\nwire q from round.load to gate.plus\n"
    )
    assert said(bypassed, "unregulated_array").grades == [("gate", "lithium", "error")]


@pytest.mark.parametrize(
    ("battery", "isc", "missing"),
    [
        ("6 cells; 7 Ah", "0.7 A", ("gate", "lithium", "chemistry of gate")),
        ("AGM, 6 cells", "0.7 A", ("gate", "lead-acid", "capacity of gate")),
        ("AGM, 6 cells, 7 Ah", "", ("gate", "lead-acid", "short-circuit current of panel")),
    ],
)
def test_missing_data_are_named(said, battery: str, isc: str, missing: tuple[str, str, str]) -> None:  # type: ignore[no-untyped-def]
    text = build(battery, isc) if isc else build(battery).replace("Isc 0.7 A; ", "")
    found = said(text, "unregulated_array")
    assert not found.findings
    assert found.missing == [missing]
    assert found.unchecked[0].declare
