"""F19: what the devices before a part pass, against what it carries for long."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest


def box(body: str, main: str = "100 A") -> str:
    return f"""rig "Box", revision 1
basis us-small-craft
system 12 V
site {{ ambient 0 degC to 30 degC }}
all wires {{ copper; 105 degC insulation; in free air; 4 AWG; 1 m }}
battery house {{ LFP, 4 cells, 100 Ah; internal resistance 6 mohm }}
fuse main {{ {main}; line on house.plus }}
{body}"""


def outlet(rating: str = "30 A each", branch: str = "") -> str:
    text = f"""connector outlet {{ 2 pins; {rating}; on the panel; outlet; pin 1 plus; pin 2 minus }}
connector plug {{ 2 pins; {rating}; pin 1 plus; pin 2 minus; mates with outlet }}
load winch 25 A
wire on from plug.1 to winch.plus
wire off from winch.minus to plug.2
wire back from outlet.2 to house.minus
"""
    if not branch:
        return f"{text}wire out from main.load to outlet.1\n"
    return f"{text}fuse branch {{ {branch} }}\nwire feed from main.load to branch.line\nwire out from branch.load to outlet.1\n"


def switch(rating: str = "20 A", more: str = "") -> str:
    return f"""switch key {{ {rating} }}
load lamp 5 A
wire to from main.load to key.line
wire on from key.load to lamp.plus
wire back from lamp.minus to house.minus
{more}"""


def test_catalogue_example(said: Callable[..., Any]) -> None:
    # Catalogue, F19, Ex: 100 A fuse, 4 AWG, 30 A outlet, declared load 25 A: 100 > 30 -> error; 30 A fuse at the branch passes
    found = said(box(outlet()), "weak_part")
    assert found.grades == [("outlet", "user-load", "error")]
    finding = found.findings[0]
    assert (finding.measured.value, finding.limit.value) == (100.0, 30.0)
    assert (
        finding.message
        == "outlet.1: main (100 A) before it passes 100 A; its contact carries 30 A, and whoever plugs in more finds out."
    )
    assert finding.remedy == "Make main 30 A or less, or use a connector that carries 100 A or more."
    assert said(box(outlet(branch="30 A")), "weak_part").grades == []


@pytest.mark.parametrize(("rating", "count"), [("20 A", 0), ("20.001 A", 0), ("19.999 A", 1)])
def test_edge(said: Callable[..., Any], rating: str, count: int) -> None:
    assert len(said(box(switch(rating), "20 A"), "weak_part").grades) == count


def test_only_fixed_loads_make_it_a_warning(said: Callable[..., Any]) -> None:
    found = said(box(switch(), "30 A"), "weak_part")
    assert found.grades == [("key", "fixed-load", "warning")]
    with_outlet = switch(
        more="connector socket { 2 pins; 40 A each; outlet }\nwire tap from key.load to socket.1\nwire tapback from socket.2 to house.minus\n"
    )
    assert said(box(with_outlet, "30 A"), "weak_part").grades == [("key", "user-load", "error")]


def test_outlet_behind_a_small_fuse_adds_nothing(said: Callable[..., Any]) -> None:
    more = "connector socket { 2 pins; 10 A each; outlet }\nfuse small { 5 A; line on key.load }\nwire tap from small.load to socket.1\nwire tapback from socket.2 to house.minus\n"
    assert said(box(switch(more=more), "30 A"), "weak_part").grades == [("key", "fixed-load", "warning")]


def test_smaller_device_on_the_other_side_is_as_good(said: Callable[..., Any]) -> None:
    text = """switch key { 20 A }
fuse after { AFTER; line on key.load }
load lamp 5 A
wire to from main.load to key.line
wire on from after.load to lamp.plus
wire back from lamp.minus to house.minus
"""
    assert said(box(text.replace("AFTER", "20 A")), "weak_part").passed("key").measured.value == 20.0
    assert said(box(text.replace("AFTER", "25 A")), "weak_part").grades == [("key", "fixed-load", "warning")]


def test_devices_side_by_side_add_and_limited_sources_count_with_their_limit(said: Callable[..., Any]) -> None:
    # Readings, F19: ratings in parallel add; a charger counts with its limit
    text = """bus bar LIMIT
fuse second { 40 A; line on house.plus; load on bar }
mains charger depot { 15 A }
depot.plus on bar
wire lead from main.load to bar
load winch 25 A
wire on from bar to winch.plus
wire off from winch.minus to house.minus
wire below from depot.minus to house.minus
"""
    found = said(box(text.replace("LIMIT", "94 A"), "40 A"), "weak_part")
    assert found.grades == [("bar", "fixed-load", "warning")]
    assert found.finding("bar").measured.value == 95.0
    assert said(box(text.replace("LIMIT", "95 A"), "40 A"), "weak_part").passed("bar").measured.value == 95.0


@pytest.mark.parametrize(("rating", "broken"), [("7.5 A", False), ("7.4 A", True)])
def test_array_is_held_against_the_contacts_on_its_way_to_the_controller(
    said: Callable[..., Any], rating: str, broken: bool
) -> None:
    # 1.25 x 6 A of bright sun, with no device: F19, "or the sources cannot supply more"
    text = box(f"""array roof {{ Voc 22 V; Vmp 18 V; Isc 6 A; Imp 5.5 A }}
controller sun {{ PWM; 10 A; no current back into the array }}
connector inlet with tail {{ 2 pins; {rating} each; pin 1 plus; pin 2 minus; inlet {{ inlet }} }}
wire roof_plus from roof.plus to tail.1
wire roof_minus from roof.minus to tail.2
wire in_plus from inlet.1 to sun.pv_plus
wire in_minus from inlet.2 to sun.pv_minus
wire out_plus from sun.batt_plus to main.load
wire out_minus from sun.batt_minus to house.minus
""")
    found = said(text, "weak_part")
    assert found.grades == ([("inlet", "fixed-load", "warning")] if broken else [])
    if broken:
        assert found.findings[0].remedy == "Use a connector that carries 7.5 A or more."


def test_between_two_sources_the_larger_direction_counts(said: Callable[..., Any]) -> None:
    # Readings, F19: the larger of the two directions, not their sum
    text = """battery second { same as house }
fuse other { 60 A; line on second.plus }
switch link { 60 A }
wire one from main.load to link.line
wire two from link.load to other.load
wire below from second.minus to house.minus
"""
    assert said(box(text, "50 A"), "weak_part").passed("link").measured.value == 50.0


def test_bar_whose_branches_are_all_fused(said: Callable[..., Any]) -> None:
    text = (
        """bus bar 50 A
wire lead from main.load to bar
"""
        + "".join(
            f"fuse f{n} {{ 20 A; line on bar }}\nload lamp{n} 5 A\nwire u{n} from f{n}.load to lamp{n}.plus\nwire d{n} from lamp{n}.minus to floor\n"
            for n in (1, 2)
        )
        + "bus floor RETURN\nwire home from floor to house.minus\n"
    )
    found = said(box(text.replace("RETURN", "40 A")), "weak_part")
    assert found.passed("bar").measured.value == 40.0
    assert (
        found.passed("floor").measured.value == 40.0
    )  # Readings: the smaller of the upstream sum and that of the circuits that return
    assert said(box(text.replace("RETURN", "39 A")), "weak_part").grades == [("floor", "fixed-load", "warning")]
    small = said(box(text.replace("RETURN", "30 A"), "30 A"), "weak_part")
    assert small.passed("floor").measured.value == 30.0


def test_ganged_contacts_count_together(said: Callable[..., Any]) -> None:
    text = """connector outlet { 4 pins; 15 A each; on the panel; outlet; contacts 1, 2 ganged; contacts 3, 4 ganged }
connector plug { 4 pins; 15 A each; mates with outlet }
load winch 25 A
wire out from main.load to outlet.1
wire jump from outlet.1 to outlet.2
wire on from plug.1 to winch.plus
wire more from plug.2 to winch.plus
wire off from winch.minus to plug.3
wire also from winch.minus to plug.4
wire under from outlet.3 to house.minus
wire beside from outlet.4 to house.minus
"""
    assert said(box(text, "30 A"), "weak_part").grades == []
    assert said(box(text, "31 A"), "weak_part").grades == [("outlet", "user-load", "error")]


def test_missing_data(said: Callable[..., Any]) -> None:
    assert said(box(switch("1 pole"), "30 A"), "weak_part").missing == [
        ("key", "fixed-load", "current that it carries for long")
    ]
    assert said(box(outlet("shrouded")), "weak_part").missing[0] == (
        "outlet",
        "user-load",
        "continuous current of a contact of outlet",
    )
    assert said(box(switch(), "32 V"), "weak_part").missing == [("key", "fixed-load", "rated current of main")]
    more = "fuse last { 20 A; line on key.load }\nload fan 1 A\nwire fo from last.load to fan.plus\nwire fb from fan.minus to house.minus\n"
    behind = box(switch(more=more), "32 V").replace("wire on from key.load to lamp.plus", "wire on from main.load to lamp.plus")
    assert said(behind, "weak_part").missing == []  # the fuse behind it decides


def test_what_no_device_stands_before_is_left_to_another_rule(said: Callable[..., Any]) -> None:
    text = box(switch()).replace("wire to from main.load", "wire to from house.plus")
    assert [item.condition for item in said(text, "weak_part").idle] == [
        "a source stands behind it without a device (far-fuse tells of that)"
    ]


def test_accessory_socket_that_says_nothing(said: Callable[..., Any]) -> None:
    # declared_data.md, contact: "lighter socket 10 (cp)"
    text = "connector aux { lighter socket; pins 1, 2 {} }\nwire out from main.load to aux.1\nwire back from aux.2 to house.minus\n"
    assert said(box(text, "10 A"), "weak_part").grades == []
    assert said(box(text, "15 A"), "weak_part").grades == [("aux", "user-load", "error")]


@pytest.mark.parametrize(
    "joint",
    [
        "wire j from near.load to far.load\n",
        "disconnect joint { 120 A; opens at 12.8 V; closes at 13.3 V; own drain 1 mA }\n"
        "wire j from near.load to joint.line\nwire k from joint.load to far.load\nwire m from joint.minus to bar { 14 AWG; 1 m }\n",
    ],
)
def test_devices_in_series_on_one_lead_count_once_at_a_return_bus(said: Callable[..., Any], joint: str) -> None:
    # by hand: from one battery 60 A into the other through both fuses of the lead, and 5 A into the lamp; never 60 A both ways at once
    text = f"""rig "Boat", revision 1
basis us-small-craft
system 12 V
site {{ ambient 0 degC to 30 degC }}
all wires {{ copper; 105 degC insulation; in free air; 4 AWG; 1 m }}
batteries {{
  house {{ AGM; 6 cells; 100 Ah; internal resistance 6 mohm }}
  starter {{ AGM; 6 cells; 70 Ah; internal resistance 6 mohm }}
}}
bus bar 100 A
fuse near {{ 60 A; line on house.plus }}
fuse far {{ 60 A; line on starter.plus }}
fuse lights {{ 5 A; line on house.plus }}
load lamp 2 A
wire a from lights.load to lamp.plus
wire b from lamp.minus to bar
wire c from bar to house.minus
wire d from bar to starter.minus
{joint}"""
    passed = said(text, "weak_part").passed("bar")
    assert passed.measured.value == pytest.approx(65.0)
    assert said(text.replace("bus bar 100 A", "bus bar 64 A"), "weak_part").finding("bar").measured.value == pytest.approx(65.0)
