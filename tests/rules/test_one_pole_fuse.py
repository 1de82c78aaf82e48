"""F12: a floating bank and the devices in its two poles."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any


def box(case: str = "steel; floats", back: str = "wire b from winch.minus to house.minus", more: str = "") -> str:
    return f"""rig "Box", revision 1
basis us-small-craft
system 24 V
site {{ ambient 0 degC to 30 degC }}
all wires {{ copper; 105 degC insulation; in free air; 8 AWG; 0.5 m }}
{f"case shell {{ {case} }}" if case else ""}
battery house {{ LFP, 8 cells, 100 Ah }}
fuse main {{ 50 A; line on house.plus }}
load winch 20 A
wire a from main.load to winch.plus
{back}
{more}"""


def test_catalogue_example(said: Callable[..., Any]) -> None:
    # Catalogue, F12, Ex: metal case, floating 24 V, positive fuse only -> warning; note in plastic
    found = said(box(), "one_pole_fuse")
    assert found.grades == [("house", "metal-case", "warning")]
    assert "only the plus side has fuses, the minus side has none: two faults to shell" in found.findings[0].message
    assert said(box("polycarbonate; floats"), "one_pole_fuse").grades == [("house", "plastic-case", "note")]


def test_both_poles_fused(said: Callable[..., Any]) -> None:
    back = "fuse second { 50 A; load on house.minus }\nwire b from winch.minus to second.line"
    found = said(box(back=back), "one_pole_fuse")
    assert found.grades == []
    assert found.passed("house").grade == "metal-case"


def test_return_that_bypasses_the_second_fuse(said: Callable[..., Any]) -> None:
    back = "fuse second { 50 A; load on house.minus }\nwire b from winch.minus to second.line"
    more = "load lamp 1 A\nwire c from main.load to lamp.plus\nwire d from lamp.minus to house.minus\n"
    assert said(box(back=back, more=more), "one_pole_fuse").grades == [("house", "metal-case", "warning")]


def test_bonded_system(said: Callable[..., Any]) -> None:
    for text in (box("steel; bonded at house.minus"), box("steel", more="wire e from house.minus to shell { bond }\n")):
        found = said(text, "one_pole_fuse")
        assert (found.grades, [item.condition for item in found.idle]) == ([], ["a pole is bonded to a case or to earth"])


def test_missing_data(said: Callable[..., Any]) -> None:
    assert said(box("inside 400 x 300 x 200 mm"), "one_pole_fuse").missing == [("house", "metal-case", "material of shell")]
    silent = said(box("steel"), "one_pole_fuse")
    assert silent.missing == [("house", "metal-case", "whether a pole is bonded to shell, or it floats")]
    assert [item.condition for item in said(box(""), "one_pole_fuse").idle] == ["no case is declared"]


def test_one_finding_for_a_bank(said: Callable[..., Any]) -> None:
    more = "battery other { same as house }\nfuse two { 50 A; line on other.plus }\nwire e from two.load to main.load\nwire f from other.minus to house.minus\n"
    found = said(box(more=more), "one_pole_fuse")
    assert [finding.subject for finding in found.findings] == [("house", "other")]
