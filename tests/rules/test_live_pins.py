"""Rule live-pins: the fault catalogue's example G1 end to end, forms and caps, sources of every kind, 60 V, what is missing."""

from __future__ import annotations

import pytest

BUILD = """rig "Box", revision 1
site { record low -10 degC }
battery house { LFP, 4 cells, 60 Ah; internal resistance 5 mohm }
load lamp { 20 W }
connector out with lamp_plug { 15 A; pins 1, 2; out { OUT } ; lamp_plug { PLUG } }
all wires { 12 AWG, 0.4 m }
wire c from out.2 to house.minus
wire d from lamp_plug.1 to lamp.plus
wire e from lamp.minus to lamp_plug.2
"""
FUSED = "fuse main 30 A\nwire a from house.plus to main.line\nwire b from main.load to out.1\n"
BARE = "wire a from house.plus to out.1\n"
SWITCHED = "fuse main 30 A\nswitch cut 20 A\nwire a from house.plus to main.line\nwire b from main.load to cut.line\nwire f from cut.load to out.1\n"


def build(lead: str = FUSED, out: str = "bare pins", plug: str = "female sockets") -> str:
    return BUILD.replace("OUT", out).replace("PLUG", plug) + lead


def test_catalogue_g1_fused(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, G1, Ex: box outlet 12.8 V male pins, 30 A fuse -> warning."""
    found = said(build(), "live_pins")
    assert found.grades == [("out", "live", "warning")]
    finding = found.finding("out")
    assert finding.message == (
        "out: apart, its bare pins stay live: pin 1 from house at up to 13.6 V, behind main. A ring or a tool can bridge them."
    )
    assert finding.related[0].message == "main, the fuse before it"
    assert {item.grade for item in found.passes if item.subject == ("out",)} == {"unfused", "over-touch-voltage"}
    assert [(item.condition, item.count) for item in found.idle] == [("dead when it is apart", 1)]


def test_catalogue_g1_unfused(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, G1, Ex: unfused battery lead male pins -> error."""
    found = said(build(BARE), "live_pins")
    assert found.grades == [("out", "unfused", "error")]
    assert "pin 1 from house at up to 13.6 V, without any fuse before it" in found.finding("out").message
    assert found.finding("out").remedy.startswith("Put a fuse before out, and put the half with sockets")


@pytest.mark.parametrize("form", ["female sockets", "shrouded", "touch-safe"])
def test_safe_contacts_pass(said, form: str) -> None:  # type: ignore[no-untyped-def]
    found = said(build(out=form, plug="bare pins"), "live_pins")
    assert not found.findings
    assert {item.grade for item in found.passes} == {"unfused", "over-touch-voltage", "live"}


def test_genderless_contacts_are_bare_until_said_otherwise(said) -> None:  # type: ignore[no-untyped-def]
    assert "its genderless contacts stay live" in said(build(out="genderless"), "live_pins").finding("out").message


@pytest.mark.parametrize(
    ("lead", "out", "grades"),
    [
        (SWITCHED, "bare pins; cap", []),
        (SWITCHED, "bare pins; no cap", ["live"]),
        (FUSED, "bare pins; cap", ["live"]),  # a cap alone comes off under load
        (FUSED, "bare pins; no cap", ["live"]),
    ],
)
def test_a_cap_needs_a_switch(said, lead: str, out: str, grades: list[str]) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, G1: contacts that are safe, or a cap and a switch."""
    assert [grade for _, grade, _ in said(build(lead, out), "live_pins").grades] == grades


def test_both_halves_of_a_joint_between_packs(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, G1: both-sides-live joints need both halves safe."""
    text = (
        build(plug="bare pins")
        + "battery pack { LFP, 4 cells, 60 Ah }\nfuse own 30 A\nwire x from pack.plus to own.line\nwire y from own.load to lamp.plus\nwire z from pack.minus to lamp.minus\n"
    )
    assert {subject for subject, _, _ in said(text, "live_pins").grades} == {"out", "lamp_plug"}


ARRAY = """array roof { Voc 28 V; Vmp 23 V; Isc 6 A; Imp 5.5 A; Voc -0.30 %/K; SERIES in series }
controller sun { MPPT; 20 A; BACK }
fuse sun_fuse 20 A
connector roof_plug with roof_socket { 15 A; pins 1, 2; roof_plug { PINS } ; roof_socket { SOCKET } }
wire p from roof.plus to roof_plug.1
wire q from roof.minus to roof_plug.2
wire r from roof_socket.1 to sun.pv_plus
wire s from roof_socket.2 to sun.pv_minus
wire t from sun.batt_plus to sun_fuse.load
wire u from sun_fuse.line to house.plus
wire v from sun.batt_minus to house.minus
"""


def sunny(
    series: int = 1, pins: str = "bare pins", socket: str = "female sockets", back: str = "no current back into the array"
) -> str:
    text = ARRAY.replace("SERIES", str(series)).replace("PINS", pins).replace("SOCKET", socket).replace("BACK", back)
    return build(out="female sockets") + text


def test_a_panel_in_the_light_is_live_and_limits_itself(said) -> None:  # type: ignore[no-untyped-def]
    found = said(sunny(), "live_pins")
    assert found.grades == [("roof_plug", "live", "warning")]
    assert "from roof at up to 30.9 V" in found.finding("roof_plug").message


@pytest.mark.parametrize(("voc", "grade"), [("27.14 V", "live"), ("27.149 V", "live"), ("27.16 V", "over-touch-voltage")])
def test_sixty_volts_in_the_cold(said, voc: str, grade: str) -> None:  # type: ignore[no-untyped-def]
    """Two in series at -10 degC: 2 x 27.149 V x 1.105 = 60.0 V, at the record low (readings, Temperature)."""
    found = said(sunny(2).replace("Voc 28 V", f"Voc {voc}"), "live_pins")
    assert [item[1] for item in found.grades] == [grade]
    if grade != "live":
        finding = found.finding("roof_plug")
        assert found.grades[0][2] == "error"
        assert finding.limit.value == 60.0
        assert "over the 60 V that may be touched" in finding.message


def test_arrays_in_series_add_up(said) -> None:  # type: ignore[no-untyped-def]
    text = sunny().replace(
        "wire q from roof.minus to roof_plug.2",
        "array wall { Voc 28 V; Vmp 23 V; Isc 6 A; Imp 5.5 A; Voc -0.30 %/K }\nwire q from roof.minus to wall.plus\nwire w from wall.minus to roof_plug.2",
    )
    assert said(text, "live_pins").finding("roof_plug").measured.value == pytest.approx(2 * 28 * 1.105)


def test_a_controller_that_lets_current_back_makes_the_socket_live(said) -> None:  # type: ignore[no-untyped-def]
    """Readings, A7: on the array's side a source of its battery-side fuse, for G1 too."""
    assert said(sunny(pins="female sockets", socket="bare pins"), "live_pins").grades == []
    back = said(sunny(pins="female sockets", socket="bare pins", back="lets current back"), "live_pins")
    assert back.grades == [("roof_socket", "live", "warning")]
    assert "from house" in back.finding("roof_socket").message
    silent = said(sunny(pins="female sockets", socket="bare pins", back="absorption 14 V"), "live_pins")
    assert silent.grades == []
    assert not silent.unchecked  # one string only
    two = sunny(pins="female sockets", socket="bare pins", back="absorption 14 V").replace("1 in series", "2 in parallel")
    assert said(two, "live_pins").missing == [("roof_socket", "unfused", "whether sun lets current back into the array")]


def test_charged_capacitors_keep_a_plug_live(said) -> None:  # type: ignore[no-untyped-def]
    text = build(plug="bare pins", out="female sockets").replace(
        "load lamp { 20 W }", "inverter lamp { 300 W; input capacitance 10 mF }"
    )
    assert "from the charged input capacitors of lamp" in said(text, "live_pins").finding("lamp_plug").message
    bled = text.replace("input capacitance 10 mF", "input capacitance 10 mF; bleed resistor 1 kohm")
    assert not said(bled, "live_pins").findings


@pytest.mark.parametrize(
    ("text", "missing"),
    [
        (build(out='described as "outlet"'), ("out", "unfused", "form of its contacts")),
        (build(SWITCHED, "bare pins"), ("out", "unfused", "whether it has a cap")),
    ],
)
def test_missing_data_are_named(said, text: str, missing: tuple[str, str, str]) -> None:  # type: ignore[no-untyped-def]
    found = said(text, "live_pins")
    assert not found.findings
    assert found.missing == [missing]


def test_an_unknown_record_low_leaves_sixty_volts_unchecked_where_it_matters(said) -> None:  # type: ignore[no-untyped-def]
    text = sunny(2).replace("site { record low -10 degC }\n", "")
    assert ("roof_plug", "over-touch-voltage", "record low of the site") in said(text, "live_pins").missing
    assert said(build().replace("site { record low -10 degC }\n", ""), "live_pins").missing == []


def test_a_fed_converter_keeps_its_outlet_live(said) -> None:  # type: ignore[no-untyped-def]
    text = (
        build(out="female sockets")
        + """converter five { 5 V; 3 A }
load phone 5 W
connector usb with phone_plug { 3 A; pins 1, 2; usb { bare pins } ; phone_plug { female sockets } }
wire f from FEED to five.in_plus
wire g from five.in_minus to house.minus
wire h from five.out_plus to usb.1
wire i from five.out_minus to usb.2
wire j from phone_plug.1 to phone.plus
wire k from phone_plug.2 to phone.minus
"""
    )
    found = said(text.replace("FEED", "main.load"), "live_pins")
    assert found.grades == [("usb", "live", "warning")]
    assert "pin 1 from five" in found.finding("usb").message
    assert not said(text.replace("FEED", "five.out_plus"), "live_pins").findings


EARTHED = """rig "Plus on the case", revision 1
case cabinet { steel; metal; bonded at plusbar }
bus plusbar 100 A
battery house { LFP, 16 cells, 100 Ah; internal resistance 20 mohm }
load lamp { 20 W }
connector inlet { family "IEC 60320 C14"; bare pins; inlet; pin 1 L; pin 2 N; pin 3 PE }
connector out with lamp_plug { 15 A; pins 1, 2; out { bare pins } ; lamp_plug { female sockets } }
all wires { 12 AWG, 0.4 m }
wire a from house.plus to plusbar
wire b from plusbar to cabinet { bond }
wire h from inlet.3 to cabinet { earth }
wire c from plusbar to out.1
wire d from lamp_plug.1 to lamp.plus
wire e from lamp.minus to lamp_plug.2
"""


@pytest.mark.parametrize(
    ("lead", "grade", "words"),
    [
        ("fuse main 15 A\nwire f from house.minus to main.line\nwire g from main.load to out.2\n", "live", "behind main"),
        ("wire f from house.minus to out.2\n", "unfused", "without any fuse before it"),
    ],
)
def test_with_an_earthed_plus_the_minus_is_live(said, lead: str, grade: str, words: str) -> None:  # type: ignore[no-untyped-def]
    """A pin on the earthed net is not live, that of a protective earth least of all; the other pole is (common practice, no source)."""
    found = said(EARTHED + lead, "live_pins")
    assert [(name, item) for name, item, _ in found.grades] == [("out", grade)]
    assert f"pin 2 from house at up to 54.4 V, {words}" in found.finding("out").message


def test_without_a_bond_the_plus_is_live_on_the_case(said) -> None:  # type: ignore[no-untyped-def]
    """The same build with the case joined to the minus: the plus is live, and the inlet's earth pin still is not."""
    text = EARTHED.replace("bonded at plusbar", "bonded at house.minus").replace(
        "from plusbar to cabinet", "from house.minus to cabinet"
    )
    found = said(text + "wire f from house.minus to out.2\n", "live_pins")
    assert [(name, item) for name, item, _ in found.grades] == [("out", "unfused")]
    assert "pin 1 from house" in found.finding("out").message
