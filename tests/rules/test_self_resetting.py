"""F11: how breakers are reset."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any


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


def breaker(words: str) -> str:
    return f"breaker main {{ 30 A; {words}; line on house.plus }}"


def test_catalogue_example(said: Callable[..., Any]) -> None:
    # Catalogue, F11, Ex: type-I automatic breaker 30 A -> warning
    assert said(box(breaker("self-resetting; trip-free")), "self_resetting").grades == [("main", "resets", "warning")]
    assert said(box(breaker("manual reset; trip-free")), "self_resetting").grades == []
    assert said(box(breaker("manual reset; not trip-free")), "self_resetting").grades == [("main", "not-trip-free", "warning")]


def test_part_of_a_motor(said: Callable[..., Any]) -> None:
    found = said(box(breaker("self-resetting; part of a motor")), "self_resetting")
    assert (found.grades, [item.condition for item in found.idle]) == ([], ["it is part of a motor"])


def test_missing_data(said: Callable[..., Any]) -> None:
    assert said(box(breaker("32 V")), "self_resetting").missing == [
        ("main", "resets", "how main is reset"),
        ("main", "not-trip-free", "whether main is trip-free"),
    ]
