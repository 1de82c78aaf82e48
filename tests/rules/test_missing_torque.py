"""Rule missing-torque: the fault catalogue's example G14, 10 A, kinds of terminals, documents, missing kinds."""

from __future__ import annotations

import pytest

BUILD = """rig "Heater", revision 1
battery house { LFP, 4 cells, 60 Ah; internal resistance 5 mohm; terminals plus, minus { TERMINAL } }
load heater { AMPS; terminals plus, minus { clamp plate; torque 2 Nm } }
wire a from house.plus to heater.plus { 8 AWG; 1 m }
wire b from heater.minus to house.minus { 8 AWG; 1 m }
state "warm" { heater on }
"""


def build(terminal: str = "M8 stud", amps: str = "20 A") -> str:
    return BUILD.replace("TERMINAL", terminal).replace("AMPS", amps)


def test_catalogue_g14(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, G14, Ex: none -> note."""
    found = said(build(), "missing_torque")
    assert found.grades == [("house", "not-stated", "note")]
    finding = found.finding("house")
    assert finding.subject == ("house", "house.minus", "house.plus")
    assert finding.message == "house: its terminals minus and plus have no torque stated, and up to 20 A flow there."
    assert [item.subject for item in found.passes] == [("heater", "heater.minus"), ("heater", "heater.plus")]


@pytest.mark.parametrize(("amps", "broken"), [("10 A", False), ("10.1 A", True)])
def test_ten_amperes(said, amps: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, G14: each screw or stud above 10 A."""
    found = said(build(amps=amps), "missing_torque")
    assert bool(found.findings) is broken
    assert ("carries at most 10 A" in {item.condition for item in found.idle}) is not broken


@pytest.mark.parametrize(
    ("terminal", "outcome"),
    [
        ("M8 stud; torque 8 Nm", "passes"), ("stud", "finds"), ("bare screw", "finds"), ("post clamp", "finds"), ("clamp plate; 20 in lb", "passes"),
        ("stud; no torque", "finds"), ("crimp", "other"), ("spring cage", "other"), ("wing nut", "other"), ("75 degC", "asks"),
    ],
)  # fmt: skip
def test_kinds(said, terminal: str, outcome: str) -> None:  # type: ignore[no-untyped-def]
    found = said(build(terminal), "missing_torque")
    assert bool(found.findings) is (outcome == "finds")
    assert ("house" in {item.subject[0] for item in found.passes}) is (outcome == "passes")
    assert found.missing == ([("house", "not-stated", "kind of its terminals")] if outcome == "asks" else [])
    assert ("holds its wires without a screw" in {item.condition for item in found.idle}) is (outcome == "other")


def test_fuse_that_sits_on_a_post(said) -> None:  # type: ignore[no-untyped-def]
    """What flows through a part that sits on the stud flows through the stud."""
    text = (
        build().replace("a from house.plus", "a from main.load")
        + "fuse main { 30 A; line on house.plus; terminal load { stud; torque 4 Nm } }\n"
    )
    finding = said(text, "missing_torque").finding("house")
    assert finding.subject == ("house", "house.minus", "house.plus")


def test_busbar(said) -> None:  # type: ignore[no-untyped-def]
    text = build("stud; torque 8 Nm").replace("a from house.plus to heater.plus", "a from bar to heater.plus")
    text += "bus bar\nall terminals of buses { M6 stud }\nwire c from house.plus to bar { 8 AWG; 1 m }\n"
    assert (
        said(text, "missing_torque").finding("bar").message
        == "bar: its studs have no torque stated, and up to 20 A flow there."
    )
