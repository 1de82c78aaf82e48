"""F10: the fuse of a charger's or controller's lead belongs at the battery's end."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest


def roof(
    fuse: str = "line on sun.batt_plus",
    start: str = "house.plus",
    end: str = "charge.load",
    length: str = "2 m",
    more: str = "",
) -> str:
    """Catalogue, F10, Ex: 30 A fuse at the controller, 2 m 10 AWG to the battery."""
    return f"""rig "Roof", revision 1
basis us-small-craft
site {{ ambient 0 degC to 30 degC }}
all wires {{ copper; 105 degC insulation; in free air; 10 AWG }}
battery house {{ LFP, 4 cells, 60 Ah; internal resistance 9 mohm }}
controller sun {{ MPPT; 20 A; own drain 10 mA }}
fuse charge {{ 30 A; {fuse} }}
wire lead from {start} to {end} {{ {length} }}
wire back from sun.batt_minus to house.minus {{ 2 m }}
{more}"""


def test_catalogue_example(said: Callable[..., Any]) -> None:
    found = said(roof(), "charger_lead_fuse")
    assert found.grades == [("lead", "wrong-end", "error")]
    finding = found.finding("lead")
    assert finding.subject == ("lead", "sun")
    assert finding.measured.value == 2.0
    assert "sun gives 20 A at most, house does not" in finding.message
    assert finding.remedy == "Move the fuse charge to the battery's end, within 0.178 m (7 in) of house.plus."


def test_fuse_at_the_battery_passes(said: Callable[..., Any]) -> None:
    found = said(roof("line on house.plus", "charge.load", "sun.batt_plus"), "charger_lead_fuse")
    assert found.grades == []
    assert found.passed("sun")


@pytest.mark.parametrize(("length", "count"), [("0.178 m", 0), ("0.179 m", 1)])
def test_edge(said: Callable[..., Any], length: str, count: int) -> None:
    assert len(said(roof(length=length), "charger_lead_fuse").grades) == count


def test_lead_without_any_fuse_is_left_to_far_fuse(said: Callable[..., Any]) -> None:
    assert said(roof("line on x", end="sun.batt_plus", more="bus x 40 A\n"), "charger_lead_fuse").grades == []


def test_run_that_serves_a_load_too_is_no_chargers_lead(said: Callable[..., Any]) -> None:
    more = (
        "load lamp 1 A\nwire tap from charge.load to lamp.plus { 1 m }\nwire tapback from lamp.minus to house.minus { 1 m }\n"
    )
    assert said(roof(more=more), "charger_lead_fuse").grades == []
    behind = (
        "load lamp 1 A\nwire tap from sun.batt_plus to lamp.plus { 1 m }\nwire tapback from lamp.minus to house.minus { 1 m }\n"
    )
    assert said(roof(more=behind), "charger_lead_fuse").grades == []


def test_length_that_nobody_said(said: Callable[..., Any]) -> None:
    assert said(roof(length=""), "charger_lead_fuse").missing == [("lead", "wrong-end", "length of lead")]


def test_no_charger_and_no_battery(said: Callable[..., Any]) -> None:
    alone = 'rig "A", revision 1\nbasis us-small-craft\nmains charger depot { 20 A }\nload lamp 1 A\nwire a from depot.plus to lamp.plus { 10 AWG; 1 m }\nwire b from lamp.minus to depot.minus { 10 AWG; 1 m }\n'
    assert [item.condition for item in said(alone, "charger_lead_fuse").idle] == ["no battery can be joined to its output"]
    assert [
        item.condition
        for item in said(
            alone.replace("mains charger depot { 20 A }", "battery depot { LFP, 4 cells }"), "charger_lead_fuse"
        ).idle
    ] == ["no charger or controller"]
