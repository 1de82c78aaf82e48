"""Rule fed-when-off: the fault catalogue's example H3, what may stay fed, relays, load outputs, silence."""

from __future__ import annotations

import pytest

BUILD = """rig "Box", revision 1
battery house { LFP, 4 cells, 100 Ah }
switch main 40 A
load lamp { 20 W }
THING
wire a from house.plus to main.line, 14 AWG, 0.5 m
wire b from main.load to lamp.plus, 14 AWG, 0.5 m
wire c from lamp.minus to house.minus, 14 AWG, 0.5 m
wire d from TAP to it.plus, 14 AWG, 0.5 m
wire e from it.minus to house.minus, 14 AWG, 0.5 m
"""


def build(thing: str, tap: str = "house.plus") -> str:
    return BUILD.replace("THING", thing).replace("TAP", tap)


def test_catalogue_h3(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, H3, Ex: voltmeter before switch, undeclared, 20 mA -> warning."""
    found = said(build("meter it { own drain 20 mA }"), "fed_when_off")
    assert found.grades == [("it", "stays-fed", "warning")]
    assert found.finding("it").message == (
        "it: with every switch off it stays fed by house and takes 20 mA (own drain); nothing says that it is always on."
    )


@pytest.mark.parametrize("thing", ["load it 5 W", "inverter it 300 W", "meter it { own drain 1 mA; not always on }"])
def test_tapped_before_the_switch(said, thing: str) -> None:  # type: ignore[no-untyped-def]
    assert said(build(thing), "fed_when_off").grades == [("it", "stays-fed", "warning")]
    assert said(build(thing, "main.load"), "fed_when_off").passed("it")


def test_always_on_with_its_current_passes(said) -> None:  # type: ignore[no-untyped-def]
    assert said(build("meter it { own drain 20 mA; always on }"), "fed_when_off").passed("it").measured.value == pytest.approx(
        0.02
    )
    found = said(build("meter it { always on }"), "fed_when_off")
    assert found.missing == [("it", "stays-fed", "own drain, or what it takes, while everything is off")]


def test_a_switch_of_its_own_counts(said) -> None:  # type: ignore[no-untyped-def]
    text = build("load it 5 W\nswitch own 5 A\nwire f from house.plus to own.line, 14 AWG, 0.5 m", "own.load")
    assert said(text, "fed_when_off").passed("it")


def test_chargers_and_load_outputs(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build("mains charger it { 10 A; drain when unplugged 1 mA }"), "fed_when_off")
    assert not found.findings and "charger or controller" in found.idle[0].condition
    text = build(
        "load it 5 W\ncontroller sun { MPPT; 10 A }\nwire f from sun.batt_plus to house.plus, 14 AWG, 1 m", "sun.load_plus"
    )
    text += "wire g from sun.batt_minus to house.minus, 14 AWG, 1 m\n"
    found = said(text, "fed_when_off")
    assert not found.findings and any("load output" in item.condition for item in found.idle)


def test_a_relay_follows_its_coil(said) -> None:  # type: ignore[no-untyped-def]
    text = build(
        "load it 5 W\nrelay k { 10 A; coil 12 V; coil 1 W; REST }\nwire f from house.plus to k.line, 14 AWG, 0.5 m", "k.load"
    )
    text += "wire g from main.load to k.coil_plus, 18 AWG, 1 m\nwire h from k.coil_minus to house.minus, 18 AWG, 1 m\n"
    assert not said(text.replace("REST", "normally open"), "fed_when_off").findings
    assert said(text.replace("REST", "normally closed"), "fed_when_off").grades == [("it", "stays-fed", "warning")]


def test_without_a_switch(said) -> None:  # type: ignore[no-untyped-def]
    text = 'rig "Box", revision 1\nbattery house { LFP, 4 cells, 100 Ah }\nmeter it { own drain 1 mA }\nwire a from house.plus to it.plus, 18 AWG, 1 m\n'
    assert [item.condition for item in said(text, "fed_when_off").idle] == ["no switch, so that nothing is ever off"]
