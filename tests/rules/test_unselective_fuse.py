"""F14: the ratio of devices in series, and their curves."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest


def box(main: str, branch: str, second: str = "load on bar", more: str = "") -> str:
    return f"""rig "Box", revision 1
basis us-small-craft
system 12 V
site {{ ambient 0 degC to 30 degC }}
all wires {{ copper; 105 degC insulation; in free air; 4 AWG; 0.5 m }}
battery house {{ LFP, 4 cells, 100 Ah; internal resistance 6 mohm plus or minus 1 mohm }}
fuse main {{ {main}; line on house.plus; {second} }}
bus bar 100 A
fuse branch {{ {branch}; line on bar }}
load winch 20 A
load lamp 2 A
wire a from branch.load to winch.plus
wire b from winch.minus to house.minus
wire c from bar to lamp.plus
wire d from lamp.minus to house.minus
{more}"""


def test_catalogue_example(said: Callable[..., Any]) -> None:
    # Catalogue, F14, Ex: 30 A main, 30 A branch -> note
    found = said(box("30 A blade", "30 A blade"), "unselective_fuse")
    assert found.grades == [("main", "darkens", "note")]
    assert found.findings[0].message == (
        "main: this 30 A fuse may open with, or before, branch (30 A): its rating is 1 times that of branch; 1.6 times is needed, and what else it feeds goes dark."
    )


@pytest.mark.parametrize(("main", "count"), [("16 A", 0), ("16.01 A", 0), ("15.99 A", 1)])
def test_edge_of_the_ratio(said: Callable[..., Any], main: str, count: int) -> None:
    assert len(said(box(f"{main} blade", "10 A blade"), "unselective_fuse").grades) == count


@pytest.mark.parametrize(("main", "count"), [("40 A", 0), ("39 A", 1)])
def test_class_t_has_a_ratio_of_its_own(said: Callable[..., Any], main: str, count: int) -> None:
    # fuse_selectivity.csv: class T over class T 2
    assert len(said(box(f"{main} class T", "20 A class T"), "unselective_fuse").grades) == count


def test_across_families_only_curves_tell(said: Callable[..., Any]) -> None:
    assert said(box("100 A class T", "10 A blade"), "unselective_fuse").missing == [
        ("branch", "darkens", "time-current curve of main")
    ]
    # blade 10 A: at most 0.1 s at 60 A; MEGA 200 A: at least 0.1 s at 1200 A; short here about 1.5 kA
    wide = said(box("200 A large bolt-down", "5 A blade"), "unselective_fuse")
    assert wide.grades == []
    assert len(wide.passes) == 1
    close = said(box("40 A large bolt-down", "30 A blade"), "unselective_fuse")
    assert close.grades == [("main", "darkens", "note")]


def test_declared_curves_decide_within_a_family_too(said: Callable[..., Any]) -> None:
    slow, fast = "20 A blade; opens in 10 s at 40 A, 1 s at 4000 A", "20 A blade; opens in 1 s at 40 A, 0.1 s at 4000 A"
    assert said(box(slow, fast), "unselective_fuse").grades == []
    assert said(box(fast, slow), "unselective_fuse").grades == [("main", "darkens", "note")]


def test_device_that_feeds_nothing_else(said: Callable[..., Any]) -> None:
    text = box("30 A blade", "30 A blade").replace("wire c from bar to lamp.plus", "wire c from branch.load to lamp.plus")
    found = said(text, "unselective_fuse")
    assert found.grades == []
    assert [item.condition for item in found.idle] == ["it feeds nothing but what the device behind it feeds"]


def test_missing_data(said: Callable[..., Any]) -> None:
    assert said(box("blade", "30 A blade"), "unselective_fuse").missing == [("branch", "darkens", "rated current of main")]
    assert said(box("30 A", "30 A blade"), "unselective_fuse").missing == [("branch", "darkens", "family of main")]


def test_one_of_the_post_fuses_side_by_side_counts(said: Callable[..., Any]) -> None:
    # Readings, F14: of parallel post fuses one counts
    more = "battery second { same as house }\nfuse other { 30 A blade; line on second.plus; load on bar }\nwire e from second.minus to house.minus\n"
    found = said(box("30 A blade", "30 A blade", more=more), "unselective_fuse")
    assert found.grades == [("main", "darkens", "note"), ("other", "darkens", "note")]
    assert found.finding("main").subject == ("main", "branch")
