"""Rule panel-without-battery: the fault catalogue's example B1 end to end, ways by hand and by failure, loads, interlocks, what is missing."""

from __future__ import annotations

import pytest

HEAD = """rig "Shed", revision 1
site { record low LOW }
battery house { AGM, 6 cells, 50 Ah; internal resistance 10 mohm }
array roof { Voc 22.5 V; Vmp 18 V; Isc 6 A; Imp 5.5 A; Voc -0.30 %/K }
controller sun { PWM; 10 A; absorption 14.4 V; BEARS }
all wires { 10 AWG, 1 m }
"""
OUT = (
    "wire c from sun.batt_minus to house.minus\nwire d from roof.plus to sun.pv_plus\nwire e from roof.minus to sun.pv_minus\n"
)
LAMP = "load lamp { 10 W; works on 10.5 V to 15 V }\nwire g from sun.batt_plus to lamp.plus\nwire h from lamp.minus to sun.batt_minus\n"
PLUGGED = """connector sun_socket with sun_plug { 15 A; pins 1, 2 }
wire c from sun.batt_minus to house.minus
wire d from roof.plus to sun_plug.1
wire e from roof.minus to sun_plug.2
wire f from sun_socket.1 to sun.pv_plus
wire i from sun_socket.2 to sun.pv_minus
"""


def cut(kind: str, name: str) -> str:
    return f"{kind} {name} 20 A\nwire a from house.plus to {name}.line\nwire b from {name}.load to sun.batt_plus\n"


def build(*parts: str, low: str = "-10 degC", bears: str = "not bears PV with no battery") -> str:
    return HEAD.replace("LOW", low).replace("BEARS", bears) + "".join(parts)


def test_catalogue_b1_lamp_on_the_same_node(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, B1, Ex: battery breaker open, PV on, Voc_cold 24.9 V, 12 V lamp max 15 V on same node -> error (22.5 x 1.105 = 24.86)."""
    found = said(build(cut("breaker", "main"), OUT, LAMP), "panel_without_battery")
    assert found.grades == [("sun", "load-exposed", "error")]
    finding = found.finding("sun")
    assert finding.measured.value == pytest.approx(24.8625)
    assert finding.limit.value == 15.0
    assert finding.subject == ("sun", "roof", "lamp")
    assert finding.message == (
        "sun: with main open, roof feeds it without a battery, and its output may follow the panel up to 24.9 V at -10 degC."
        " lamp stays on it and bears 15 V."
    )


def test_catalogue_b1_two_poles(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, B1, Ex: with a 2-pole switch opening PV too -> pass."""
    both = "switch both { 20 A; 2 poles }\nwire a from house.plus to both.line\nwire b from both.load to sun.batt_plus\n"
    out = OUT.replace("roof.plus to sun.pv_plus", "roof.plus to both.line2\nwire x from both.load2 to sun.pv_plus")
    found = said(build(both, out, LAMP), "panel_without_battery")
    assert not found.findings
    assert {item.grade for item in found.passes} == {"load-exposed", "by-hand", "by-failure"}


def test_the_shortest_way_in_words(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build(cut("switch", "isolator"), PLUGGED), "panel_without_battery")
    assert found.grades == [("sun", "by-hand", "warning")]
    finding = found.finding("sun")
    assert finding.state == "isolator open while sun_plug is mated"
    assert finding.message.startswith("sun: with isolator open while sun_plug is mated, roof feeds it without a battery;")
    assert finding.measured is None


def test_a_fuse_alone_is_a_note_and_a_switch_beside_it_a_warning(said) -> None:  # type: ignore[no-untyped-def]
    fuse = said(build(cut("fuse", "main"), OUT), "panel_without_battery")
    assert fuse.grades == [("sun", "by-failure", "note")]
    assert fuse.finding("sun").state == "main blown"
    both = cut("fuse", "main").replace(
        "wire b from main.load", "switch isolator 20 A\nwire k from main.load to isolator.line\nwire b from isolator.load"
    )
    assert said(build(both, OUT), "panel_without_battery").grades == [("sun", "by-hand", "warning")]


def test_a_fuse_with_a_load_on_the_output_is_an_error(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, B1: error in either if a load stays on the controller output."""
    found = said(build(cut("fuse", "main"), OUT, LAMP), "panel_without_battery")
    assert found.grades == [("sun", "load-exposed", "error")]
    assert found.finding("sun").state == "main blown"


def test_a_management_system_cuts_off(said) -> None:  # type: ignore[no-untyped-def]
    joined = "wire b from house.plus to sun.batt_plus\n"
    text = build(joined, OUT).replace("AGM, 6 cells, 50 Ah", "LFP, 4 cells, 50 Ah; bms { cuts SIDE }")
    found = said(text.replace("SIDE", "charge"), "panel_without_battery")
    assert found.grades == [("sun", "by-failure", "note")]
    assert found.finding("sun").state == "the BMS of house open"
    assert not said(text.replace("SIDE", "discharge"), "panel_without_battery").findings


def test_two_packs_need_two_plugs(said) -> None:  # type: ignore[no-untyped-def]
    pack = "battery pack { AGM, 6 cells, 50 Ah; internal resistance 10 mohm }\nconnector pack_socket with pack_plug { 15 A; pins 1, 2 }\n"
    pack += "wire m from pack.plus to pack_plug.1\nwire n from pack.minus to pack_plug.2\nwire o from pack_socket.1 to sun.batt_plus\nwire p from pack_socket.2 to sun.batt_minus\n"
    found = said(build(cut("switch", "isolator"), OUT, pack), "panel_without_battery")
    assert found.finding("sun").state == "isolator open and pack_plug apart"


def test_more_levers_than_are_tried_one_by_one(said) -> None:  # type: ignore[no-untyped-def]
    """Five packs, each behind its own plug: all five apart, found without trying every combination."""
    text = (
        build(OUT)
        .replace("battery house { AGM, 6 cells, 50 Ah; internal resistance 10 mohm }\n", "")
        .replace(" to house.minus", " to bar")
    )
    text += "bus bar\n"
    for number in range(1, 6):
        text += f"battery p{number} {{ AGM, 6 cells, 50 Ah; internal resistance 10 mohm }}\nconnector s{number} with q{number} {{ 15 A; pins 1, 2 }}\n"
        text += f"wire a{number} from p{number}.plus to q{number}.1\nwire b{number} from p{number}.minus to q{number}.2\n"
        text += f"wire x{number} from s{number}.1 to sun.batt_plus\nwire y{number} from s{number}.2 to bar\n"
    finding = said(text, "panel_without_battery").finding("sun")
    assert finding.state == "q1 apart, q2 apart, q3 apart, q4 apart and q5 apart"


def test_barred_combinations_are_left_out(said) -> None:  # type: ignore[no-untyped-def]
    """A bar that lets only one of two switches be closed: closed panel switch means open battery switch, and the reverse."""
    out = (
        OUT.replace("roof.plus to sun.pv_plus", "roof.plus to pv.line\nwire x from pv.load to sun.pv_plus") + "switch pv 20 A\n"
    )
    found = said(build(cut("switch", "isolator"), out, "barred together isolator, pv\n"), "panel_without_battery")
    assert found.finding("sun").state == "isolator open while pv is closed"
    ganged = build(cut("switch", "isolator").replace("isolator 20 A", "isolator { 20 A; moves with pv }"), out)
    assert not said(ganged, "panel_without_battery").findings


def test_a_relay_that_drops_the_panel_with_the_battery(said) -> None:  # type: ignore[no-untyped-def]
    """The panel's contact is held by the battery side of the isolator's load: no battery, no panel."""
    out = OUT.replace("roof.plus to sun.pv_plus", "roof.plus to hold.line\nwire x from hold.load to sun.pv_plus")
    relay = "relay hold { 20 A; coil 12 V; coil 1 W }\n"
    wired = relay + "wire r from isolator.load to hold.coil_plus\nwire s from hold.coil_minus to house.minus\n"
    # the coil's own supply is the controller's output, which the panel could feed: it stays on, and the way stands
    assert said(build(cut("switch", "isolator"), out, wired), "panel_without_battery").findings
    safe = (
        relay
        + "switch aux { 1 A; moves with isolator }\nwire r from house.plus to aux.line\nwire t from aux.load to hold.coil_plus\nwire s from hold.coil_minus to house.minus\n"
    )
    assert not said(build(cut("switch", "isolator"), out, safe), "panel_without_battery").findings


def test_a_switch_that_only_feeds_the_coil_of_the_batterys_relay(said) -> None:  # type: ignore[no-untyped-def]
    """It carries no battery current itself, but opening it drops the battery's contactor."""
    held = "relay hold { 20 A; coil 12 V; coil 1 W }\nswitch key 1 A\nwire a from house.plus to hold.line\nwire b from hold.load to sun.batt_plus\n"
    held += "wire r from house.plus to key.line\nwire t from key.load to hold.coil_plus\nwire s from hold.coil_minus to house.minus\n"
    found = said(build(held, OUT), "panel_without_battery")
    assert found.finding("sun").state == "key open"


def test_a_posted_order_makes_a_warning_of_what_hands_do(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, H5: a clear label lowers B1 to a warning."""
    label = "label order { at sun; states connection order }\n"
    assert said(build(cut("breaker", "main"), OUT, LAMP, label), "panel_without_battery").grades == [
        ("sun", "load-exposed", "warning")
    ]
    assert said(build(cut("fuse", "main"), OUT, LAMP, label), "panel_without_battery").grades == [
        ("sun", "load-exposed", "error")
    ]


@pytest.mark.parametrize(("window", "grade"), [("10 V to 24.8 V", "load-exposed"), ("10 V to 24.87 V", "by-hand")])
def test_edge_of_what_a_load_bears(said, window: str, grade: str) -> None:  # type: ignore[no-untyped-def]
    """22.5 V x 1.105 = 24.8625 V."""
    lamp = LAMP.replace("10.5 V to 15 V", window)
    assert [item[1] for item in said(build(cut("breaker", "main"), OUT, lamp), "panel_without_battery").grades] == [grade]


def test_a_controller_that_bears_it_passes(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build(cut("switch", "isolator"), OUT, LAMP, bears="bears PV with no battery"), "panel_without_battery")
    assert not found.findings
    assert len(found.passes) == 3


@pytest.mark.parametrize(
    ("text", "missing"),
    [
        (build(cut("switch", "isolator"), OUT, bears="common negative"), [("sun", "by-hand", "whether it bears PV with no battery")]),
        (
            build(cut("switch", "isolator"), OUT, LAMP, bears="common negative"),
            [("sun", "by-hand", "whether it bears PV with no battery"), ("sun", "load-exposed", "whether it bears PV with no battery")],
        ),
        (
            build(cut("switch", "isolator"), OUT, LAMP.replace("works on 10.5 V to 15 V", "12 V")),
            [("sun", "load-exposed", "highest voltage that lamp bears")],
        ),
        (build(cut("switch", "isolator"), OUT, LAMP).replace("site { record low -10 degC }\n", ""), [("sun", "load-exposed", "record low of the site")]),
    ],
)  # fmt: skip
def test_missing_data_are_named(said, text: str, missing: list[tuple[str, str, str]]) -> None:  # type: ignore[no-untyped-def]
    found = said(text, "panel_without_battery")
    assert sorted(found.missing) == missing
    assert all(item.declare for item in found.unchecked)


def test_silence_does_not_matter_where_no_way_leads_there(said) -> None:  # type: ignore[no-untyped-def]
    text = build("wire b from house.plus to sun.batt_plus\n", OUT, bears="common negative")
    found = said(text, "panel_without_battery")
    assert not found.unchecked
    assert len(found.passes) == 3


def test_reached_states_change_nothing(said) -> None:  # type: ignore[no-untyped-def]
    text = build(cut("switch", "isolator"), PLUGGED)
    assert [f.state for f in said(text, "panel_without_battery", reached=True).findings] == [
        "isolator open while sun_plug is mated"
    ]


def test_converters_and_inverters_on_the_output_are_exposed_too(said) -> None:  # type: ignore[no-untyped-def]
    wires = "wire g from sun.batt_plus to five.PLUS\nwire h from five.MINUS to sun.batt_minus\n"
    converter = "converter five { 5 V; 3 A; input 9 V to 18 V }\n" + wires.replace("PLUS", "in_plus").replace(
        "MINUS", "in_minus"
    )
    finding = said(build(cut("breaker", "main"), OUT, converter), "panel_without_battery").finding("sun", "load-exposed")
    assert (finding.subject[-1], finding.limit.value) == ("five", 18.0)
    inverter = "inverter five { 300 W; input 10 V to 16 V }\n" + wires.replace("PLUS", "plus").replace("MINUS", "minus")
    assert said(build(cut("breaker", "main"), OUT, inverter), "panel_without_battery").finding("sun").limit.value == 16.0


def test_the_weakest_of_several_loads_is_told(said) -> None:  # type: ignore[no-untyped-def]
    other = "load strong { 10 W; works on 10 V to 30 V }\nwire u from sun.batt_plus to strong.plus\nwire v from strong.minus to sun.batt_minus\n"
    finding = said(build(cut("breaker", "main"), OUT, LAMP, other), "panel_without_battery").finding("sun")
    assert finding.subject[-1] == "lamp"


def test_a_fuse_and_a_second_failure(said) -> None:  # type: ignore[no-untyped-def]
    """Two packs for good, each behind its own fuse: two failures at once, still a note (readings: B1 as printed)."""
    pack = "battery pack { AGM, 6 cells, 50 Ah; internal resistance 10 mohm }\nfuse second 20 A\nwire m from pack.plus to second.line\nwire n from second.load to sun.batt_plus\nwire o from pack.minus to house.minus\n"
    found = said(build(cut("fuse", "main"), OUT, pack), "panel_without_battery")
    assert found.grades == [("sun", "by-failure", "note")]
    assert found.finding("sun").state == "main blown and second blown"


def test_a_selector_takes_the_battery_off(said) -> None:  # type: ignore[no-untyped-def]
    picked = 'selector pick { 40 A; position "on" joins x; position "off" }\nwire a from house.plus to pick.x\nwire b from pick.common to sun.batt_plus\n'
    finding = said(build(picked, OUT), "panel_without_battery").finding("sun")
    assert finding.state == "everything closed while pick at off"
