"""F18: what a holder takes, against what the wire behind it allows."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest


def box(device: str, more: str = "", load: str = "25 A") -> str:
    return f"""rig "Box", revision 1
basis us-small-craft
system 12 V
site {{ ambient 0 degC to 30 degC }}
all wires {{ copper; 105 degC insulation; in free air; 16 AWG; 1 m }}
battery house {{ LFP, 4 cells, 100 Ah }}
{device}
load winch {load}
wire a from main.load to winch.plus
wire b from winch.minus to house.minus
{more}"""


def fuse(holder: str = "holder { block; 40 A }") -> str:
    return f"fuse main {{ 10 A blade; line on house.plus; {holder} }}"


def test_catalogue_example(said: Callable[..., Any]) -> None:
    # Catalogue, F18, Ex: 10 A circuit in a 30 A holder, no label -> note (18 AWG, 105 degC: 20 A x 1.5 = 30 A; on 16 AWG 37.5 A)
    assert said(box(fuse()), "roomy_holder").grades == [("main", "unlabelled", "note")]
    assert said(box(fuse()), "roomy_holder").finding("main").limit.value == pytest.approx(37.5)


@pytest.mark.parametrize(("size", "count"), [("37.5 A", 0), ("37.6 A", 1), ("37.4 A", 0)])
def test_edge(said: Callable[..., Any], size: str, count: int) -> None:
    assert len(said(box(fuse(f"holder {{ block; 60 A; largest fuse {size} }}")), "roomy_holder").grades) == count


def test_label_at_the_fuse_or_at_its_block(said: Callable[..., Any]) -> None:
    assert said(box(fuse(), 'label tag { "10 A blade"; at main }\n'), "roomy_holder").grades == []
    assert said(box(fuse(), "label tag { at main; states current }\n"), "roomy_holder").grades == []
    assert len(said(box(fuse(), 'label tag { "winch"; at main }\n'), "roomy_holder").grades) == 1
    block = (
        "fuse block ways { 40 A each; 4 ways }\nwire c from house.plus to ways.feed\nfuse main { 10 A blade; in way 1 of ways }"
    )
    assert len(said(box(block), "roomy_holder").grades) == 1
    assert said(box(block, "label tag { at ways; states current }\n"), "roomy_holder").grades == []


def test_missing_data(said: Callable[..., Any]) -> None:
    assert said(box(fuse("32 V")), "roomy_holder").missing == [("main", "unlabelled", "what holds it")]
    assert said(box(fuse("holder { block }")), "roomy_holder").missing[0][2] == "largest fuse that the holder of main takes"
    assert said(box(fuse()).replace("basis us-small-craft\n", ""), "roomy_holder").missing == [("main", "unlabelled", "basis")]
