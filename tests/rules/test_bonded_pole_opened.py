"""F13: what opens the bonded pole alone."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any


def box(case: str = "steel; bonded at house.minus", key: str = "switch key 50 A", more: str = "") -> str:
    return f"""rig "Box", revision 1
basis us-small-craft
system 12 V
site {{ ambient 0 degC to 30 degC }}
all wires {{ copper; 105 degC insulation; in free air; 8 AWG; 0.5 m }}
case shell {{ {case} }}
battery house {{ LFP, 4 cells, 100 Ah }}
fuse main {{ 50 A; line on house.plus }}
{key}
load winch 20 A
wire a from main.load to winch.plus
wire b from winch.minus to key.line
wire c from key.load to house.minus
{more}"""


def test_catalogue_example(said: Callable[..., Any]) -> None:
    # Catalogue, F13, Ex: switch in negative, negative bonded to case -> error
    found = said(box(), "bonded_pole_opened")
    assert found.grades == [("key", "alone", "error")]
    assert found.findings[0].message == (
        "key: this switch opens only the side that is bonded to the case; winch stays live on the other side when it is open."
    )
    assert said(box(key="fuse key 50 A"), "bonded_pole_opened").grades == [("key", "alone", "error")]


def test_floating_system(said: Callable[..., Any]) -> None:
    found = said(box("steel; floats"), "bonded_pole_opened")
    assert (found.grades, [item.condition for item in found.idle]) == ([], ["no pole is bonded"])


def test_both_poles_together(said: Callable[..., Any]) -> None:
    more = "load lamp 1 A\nwire d from main.load to key.line2\nwire e from key.load2 to lamp.plus\nwire f from lamp.minus to house.minus\n"
    assert said(box(key="switch key { 50 A; 2 poles }", more=more), "bonded_pole_opened").passed("key").grade == "alone"
    ganged = "switch other 50 A\nload lamp 1 A\nwire d from main.load to other.line\nwire e from other.load to lamp.plus\nwire f from lamp.minus to house.minus\n"
    assert (
        said(box(key="switch key { 50 A; ganged with other }", more=ganged), "bonded_pole_opened").passed("key").grade
        == "alone"
    )


def test_plus_that_is_bonded(said: Callable[..., Any]) -> None:
    found = said(box("steel; bonded at house.plus"), "bonded_pole_opened")
    assert found.grades == [("main", "alone", "error")]  # the fuse stands in the bonded pole


def test_what_parts_nothing_and_what_only_works_a_coil(said: Callable[..., Any]) -> None:
    aside = box(more="wire round from winch.minus to house.minus\n")
    assert said(aside, "bonded_pole_opened").grades == []
    coil = """relay starter { 50 A; coil 12 V; coil 2 W; normally open }
switch low_side 5 A
wire g from main.load to starter.coil_plus
wire h from starter.coil_minus to low_side.line
wire i from low_side.load to house.minus
"""
    found = said(box(key="bus key 50 A", more=coil).replace("key.line", "key").replace("key.load", "key"), "bonded_pole_opened")
    assert found.grades == []
    assert "opening it parts no load from the bonded pole, or coils only" in [item.condition for item in found.idle]


def test_main_switch_in_the_return_right_at_the_battery(said: Callable[..., Any]) -> None:
    text = box("steel; bonded at bar", "switch key 50 A\nbus bar 100 A").replace(
        "wire b from winch.minus to key.line", "wire b from winch.minus to bar\nwire x from bar to key.line"
    )
    assert said(text, "bonded_pole_opened").grades == [("key", "alone", "error")]
