"""C8: a fuse on one end only of a link between two sources."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest


def link(
    near: str = "fuse near { 40 A; line on house.plus }",
    pack: str = "battery pack { same as house }",
    more: str = "",
    length: str = "2 m",
) -> str:
    """Catalogue, C8, Ex: a cable to an expansion pack, fused in the main box only."""
    start = "near.load" if near else "house.plus"
    return f"""rig "Tent", revision 1
basis us-small-craft
site {{ ambient 0 degC to 30 degC }}
all wires {{ copper; 105 degC insulation; in free air; 10 AWG }}
battery house {{ LFP, 4 cells, 60 Ah; internal resistance 9 mohm }}
{pack}
{near}
wire cord from {start} to pack.plus {{ {length} }}
wire back from house.minus to pack.minus {{ 2 m }}
{more}"""


def test_catalogue_example(said: Callable[..., Any]) -> None:
    found = said(link(), "one_ended_link")
    assert found.grades == [("cord", "one-end", "error")]
    finding = found.finding("cord")
    assert (finding.measured.value, finding.limit.value) == (2.0, 0.178)
    assert "near protects it from house only; pack reaches it at pack.plus" in finding.message
    assert "Put a fuse of 90 A or less within 0.178 m (7 in) of pack.plus too" in finding.remedy


def test_fuse_at_both_ends_passes(said: Callable[..., Any]) -> None:
    text = link().replace("to pack.plus", "to far.load") + "fuse far { 40 A; line on pack.plus }\n"
    assert said(text, "one_ended_link").grades == []
    assert said(text, "one_ended_link").passed("cord")


@pytest.mark.parametrize(("length", "count"), [("0.178 m", 0), ("0.179 m", 1)])
def test_edge(said: Callable[..., Any], length: str, count: int) -> None:
    assert len(said(link(length=length), "one_ended_link").grades) == count


def test_link_without_any_device_is_no_one_ended_one(said: Callable[..., Any]) -> None:
    assert said(link(near=""), "one_ended_link").grades == []


def test_charger_that_cannot_overload_the_wire_makes_no_link(said: Callable[..., Any]) -> None:
    depot = "mains charger pack { 20 A; absorption 14.2 V }"
    found = said(link(pack=depot), "one_ended_link")
    assert found.grades == []
    assert "not between two sources that can each push more than it carries" in {item.condition for item in found.idle}
    strong = said(link(pack="mains charger pack { 80 A; absorption 14.2 V }"), "one_ended_link")
    assert strong.grades == [("cord", "one-end", "error")]


def test_cord_in_pieces_is_told_once(said: Callable[..., Any]) -> None:
    text = (
        link().replace("to pack.plus", "to mid.1")
        + "connector mid with half { pin 1 }\nwire lead from half.1 to pack.plus { 0.5 m }\n"
    )
    found = said(text, "one_ended_link")
    assert found.grades == [("lead", "one-end", "error")]
    assert "1 more wire lies behind it." in found.finding("lead").message
    assert "fed through a link that is told already" in {item.condition for item in found.idle}


def test_length_that_nobody_said(said: Callable[..., Any]) -> None:
    assert said(link(length=""), "one_ended_link").missing == [("cord", "one-end", "length of cord")]


def test_fuse_of_another_source_on_the_same_side_does_not_make_it_one_ended(said: Callable[..., Any]) -> None:
    # house and pack both come in without a device, from both ends; third is fused, but comes in beside house.
    text = link(
        near="",
        more="battery third { same as house }\nthird.minus on house.minus\nfuse own { 40 A; line on third.plus; load on house.plus }\n",
    )
    assert said(text, "one_ended_link").grades == []
