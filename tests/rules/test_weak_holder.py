"""F15: fuse holders and what they carry."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest


def box(device: str, more: str = "", load: str = "25 A") -> str:
    return f"""rig "Box", revision 1
basis us-small-craft
system 12 V
site {{ ambient 0 degC to 30 degC }}
all wires {{ copper; 105 degC insulation; in free air; 6 AWG; 1 m }}
battery house {{ LFP, 4 cells, 100 Ah }}
{device}
load winch {load}
wire a from main.load to winch.plus
wire b from winch.minus to house.minus
{more}"""


def fuse(rating: str = "30 A", holder: str = "holder { blade in-line; 30 A }") -> str:
    return f"fuse main {{ {rating} blade; line on house.plus; {holder} }}"


def test_catalogue_example(said: Callable[..., Any]) -> None:
    # Catalogue, F15, Ex: 25 A continuous in a blade in-line holder -> warning, use bolt-down
    found = said(box(fuse()), "weak_holder")
    assert found.grades == [("main", "in-line", "warning")]
    assert (found.findings[0].measured.value, found.findings[0].limit.value) == (25.0, 15.0)
    assert found.findings[0].remedy.startswith("Use a bolt-down fuse")
    assert said(box(fuse(holder="holder { block; 30 A }")), "weak_holder").grades == []


@pytest.mark.parametrize(("load", "count"), [("15 A", 0), ("15.01 A", 1), ("14.99 A", 0)])
def test_edge_of_an_in_line_holder(said: Callable[..., Any], load: str, count: int) -> None:
    assert len(said(box(fuse(), load=load), "weak_holder").grades) == count


@pytest.mark.parametrize(("rating", "count"), [("30 A", 0), ("30.01 A", 1), ("29.9 A", 0)])
def test_edge_of_the_holders_rating(said: Callable[..., Any], rating: str, count: int) -> None:
    assert len(said(box(fuse(rating, "holder { block; 30 A }")), "weak_holder").grades) == count


def test_way_of_a_block_and_a_holder_that_is_named(said: Callable[..., Any]) -> None:
    block = (
        "fuse block ways { 20 A each; 4 ways }\nwire c from house.plus to ways.feed\nfuse main { 30 A blade; in way 1 of ways }"
    )
    assert said(box(block), "weak_holder").grades == [("main", "over-rating", "warning")]
    named = "holder rail { DIN rail; 20 A }\nfuse main { 30 A; line on house.plus; in holder rail }"
    assert said(box(named), "weak_holder").finding("main").limit.value == 20.0


def test_current_that_does_not_last(said: Callable[..., Any]) -> None:
    # Readings, General: continuous is 3 h a day or more
    assert said(box(fuse(), load="{ 25 A; for 1 h/day }"), "weak_holder").passed("main", "in-line").measured.value <= 25.0


@pytest.mark.parametrize(("rating", "offered"), [("15 A", "30 A"), ("250 A", "250 A")])
def test_offered_holder_takes_the_fuse(said: Callable[..., Any], rating: str, offered: str) -> None:
    (unheld,) = said(box(fuse(rating, "32 V")), "weak_holder").unchecked
    assert unheld.declare == f"holder {{ block; {offered} }}"


def test_missing_data(said: Callable[..., Any]) -> None:
    assert said(box(fuse(holder="32 V")), "weak_holder").missing == [("main", "over-rating", "what holds it")]
    assert said(box(fuse(holder="holder { block }")), "weak_holder").missing == [
        ("main", "over-rating", "rated current of the holder of main")
    ]
    assert said(box("breaker main { 30 A; line on house.plus }"), "weak_holder").missing == []
