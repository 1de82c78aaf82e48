"""F17: thin leads from the battery side and the fuse that they need."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest


def box(start: str = "house.plus", lead: str = "24 AWG; 0.6 m", end: str = "volts.plus", more: str = "") -> str:
    return f"""rig "Box", revision 1
basis us-small-craft
system 12 V
site {{ ambient 0 degC to 30 degC }}
all wires {{ copper; 105 degC insulation; in free air }}
battery house {{ LFP, 4 cells, 100 Ah; internal resistance 6 mohm }}
fuse pin {{ 0.5 A; line on house.plus }}
meter volts {{ takes 2 mA }}
load lamp 1 A
wire vp from {start} to {end} {{ {lead} }}
wire vm from volts.minus to house.minus {{ 24 AWG; 0.6 m }}
wire lm from lamp.minus to house.minus {{ 24 AWG; 0.6 m }}
{more}"""


def test_catalogue_example(said: Callable[..., Any]) -> None:
    # Catalogue, F17, Ex: 24 AWG voltmeter pair on battery studs -> error; 0.5 A fuse -> pass
    found = said(box(), "unfused_sense_lead")
    assert found.grades == [("vp", "unfused", "error")]
    assert "no fuse or breaker stands between house.plus and this 24 AWG lead of a meter" in found.findings[0].message
    assert said(box("pin.load"), "unfused_sense_lead").passed("vp").grade == "unfused"
    assert said(box("pin.load"), "unfused_sense_lead").grades == []


@pytest.mark.parametrize(("length", "count"), [("178 mm", 0), ("177 mm", 0), ("179 mm", 1)])
def test_edge_of_the_distance(said: Callable[..., Any], length: str, count: int) -> None:
    # 33 CFR 183.455(b): 7 in, 0.178 m
    more = "fuse inline { 0.5 A }\nwire on from inline.load to volts.plus { 24 AWG; 0.5 m }\n"
    found = said(box(end="inline.line", lead=f"24 AWG; sense; {length}", more=more), "unfused_sense_lead")
    assert len(found.grades) == count


def test_leads_that_say_what_they_are_for(said: Callable[..., Any]) -> None:
    for job in ("sense", "control"):
        assert said(box(end="lamp.plus", lead=f"24 AWG; 0.6 m; {job}"), "unfused_sense_lead").grades == [
            ("vp", "unfused", "error")
        ]
    assert said(box(end="lamp.plus"), "unfused_sense_lead").grades == []  # a power lead, which far-fuse tells of
    assert said(box(lead="24 AWG; 0.6 m; power"), "unfused_sense_lead").grades == []


def test_missing_data(said: Callable[..., Any]) -> None:
    more = "fuse inline { 0.5 A }\nwire on from inline.load to volts.plus { 24 AWG; 0.5 m }\n"
    found = said(box(end="inline.line", lead="24 AWG; sense", more=more), "unfused_sense_lead")
    assert found.missing == [("vp", "unfused", "length of vp")]
    silent = said(box().replace("basis us-small-craft\n", ""), "unfused_sense_lead")
    assert ("vp", "unfused", "basis") in silent.missing
