"""F1: how far a conductor may run before its first device. 33 CFR 183.455(b): 7 in, 40 in enclosed; ABYC E-11 as quoted: 72 in from the battery."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from ohmwright.findings import Severity


def box(length: str, more: str = "", ampacity: str = "10 AWG", basis: str = "us-small-craft") -> str:
    return f"""rig "Box", revision 1
basis {basis}
site {{ ambient 0 degC to 30 degC }}
all wires {{ copper; 105 degC insulation; in free air; 2 m long }}
battery house {{ LFP, 4 cells, 60 Ah; internal resistance 9 mohm }}
fuse main {{ 30 A bolt-down; breaks 5 kA at 32 V dc }}
load lamp 10 A
wire feed from house.plus to main.line {{ {ampacity}; {length}{more} }}
wire onward from main.load to lamp.plus {{ 10 AWG }}
wire back from lamp.minus to house.minus {{ 10 AWG }}
"""


INCH = 0.0254


@pytest.mark.parametrize(
    ("length", "more", "grades"),
    [
        ("0.178 m", "", []),  # 7 in as the basis writes it: exactly at the limit
        ("0.177 m", "", []),
        ("0.179 m", "", [("feed", "bare", "error")]),
        ("0.9 m", "; in split loom", [("feed", "bare", "error")]),  # catalogue, F1, Ex: 0.9 m bare loom
        ("0.9 m", "; in conduit", [("feed", "not-nearest", "note")]),  # catalogue, F1, Ex: the same in conduit
        ("0.9 m", "; enclosed all the way", [("feed", "not-nearest", "note")]),
        ("0.9 m", '; in conduit; nearer fuse impractical because "the post is under the seat"', []),
        ("1.016 m", "; in conduit", [("feed", "not-nearest", "note")]),
        ("1.017 m", "; in conduit", [("feed", "battery-lead", "note")]),
        ("1.829 m", "; in conduit", [("feed", "battery-lead", "note")]),
        ("1.83 m", "; in conduit", [("feed", "far", "error")]),
        ("1.83 m", "", [("feed", "bare", "error")]),
    ],
)
def test_distances_of_the_basis(said: Callable[..., Any], length: str, more: str, grades: list[Any]) -> None:
    for basis in ("us-small-craft", "us-premises", "iec"):
        lay = "; method C" if basis == "iec" else ""
        found = said(
            box(length, more + lay, basis=basis).replace("105 degC", "90 degC") if lay else box(length, more, basis=basis),
            "far_fuse",
        )
        assert found.grades == grades, basis


def test_catalogue_example_with_its_numbers(said: Callable[..., Any]) -> None:
    # Catalogue, F1, Ex: 0.9 m bare loom -> error; limit 0.178 m (7 in)
    finding = said(box("0.9 m"), "far_fuse").finding("feed")
    assert (finding.measured.value, finding.limit.value) == (0.9, 0.178)
    assert finding.reference.document == "33 CFR 183.455"
    assert "Move main" in finding.remedy
    assert "0.178 m (7 in) of house.plus" in finding.remedy
    assert "1.02 m (40 in)" in finding.remedy


def test_remedy_names_the_largest_fuse_where_the_present_one_is_too_large(said: Callable[..., Any]) -> None:
    # 16 AWG at 105 degC carries 25 A (33 CFR 183.425 Table 5), 1.5 times that is 37.5 A: 35 A is the next standard rating below.
    text = box("0.9 m", ampacity="16 AWG").replace("fuse main { 30 A", "fuse main { 60 A")
    assert "35 A or less" in said(text, "far_fuse").finding("feed").remedy


def test_enclosure_that_nobody_said_is_asked_for_between_7_and_40_in(said: Callable[..., Any]) -> None:
    text = box("0.9 m").replace("in free air; ", "with 0 others; ")
    assert said(text, "far_fuse").missing == [("feed", "bare", "whether feed is enclosed all the way")]
    assert said(text.replace("0.9 m", "1.9 m"), "far_fuse").grades == [("feed", "far", "error")]
    assert said(text.replace("0.9 m", "0.1 m"), "far_fuse").missing == []


def test_length_that_nobody_said_is_asked_for(said: Callable[..., Any]) -> None:
    text = box("in conduit").replace("; 2 m long", "").replace("{ 10 AWG }", "{ 10 AWG; 2 m }")
    assert said(text, "far_fuse").missing == [("feed", "far", "length of feed")]


def test_wires_in_a_row_add_up(said: Callable[..., Any]) -> None:
    text = (
        box("0.1 m").replace("to main.line", "to knob.line")
        + "switch knob 50 A\nwire more from knob.load to main.line { 10 AWG; 0.1 m }\n"
    )
    finding = said(text, "far_fuse").finding("more")
    assert finding.measured.value == pytest.approx(0.2)
    assert "feed + more" in finding.working[0].expression
    assert said(text, "far_fuse").passed("feed", "bare").measured.value == pytest.approx(0.1)


def test_72_in_hold_only_straight_from_the_post(said: Callable[..., Any]) -> None:
    text = (
        box("1.5 m", "; in conduit").replace("from house.plus", "from knob.load")
        + "switch knob 50 A\nknob.line on house.plus\n"
    )
    assert said(text, "far_fuse").grades == [("feed", "far", "error")]
    direct = box("1.5 m", "; in conduit")
    assert said(direct, "far_fuse").grades == [("feed", "battery-lead", "note")]


def test_wire_without_any_device_is_missing_it_at_any_length(said: Callable[..., Any]) -> None:
    text = (
        box("0.1 m")
        + "load fan 1 A\nwire tiny from house.plus to fan.plus { 14 AWG; 50 mm }\nwire tinyback from fan.minus to house.minus { 14 AWG }\n"
    )
    found = said(text, "far_fuse")
    assert found.grades == [("tiny", "missing", "error")]
    assert found.finding("tiny").measured is None


def test_short_link_between_two_batteries_needs_no_device_of_its_own(said: Callable[..., Any]) -> None:
    text = (
        box("20 mm")
        + "battery twin { same as house }\nwire link from house.plus to twin.plus { 10 AWG; 150 mm }\nwire under from house.minus to twin.minus { 10 AWG }\n"
    )
    assert said(text, "far_fuse").grades == []
    assert ("link", "bare", "error") in said(text.replace("150 mm", "250 mm"), "far_fuse").grades


@pytest.mark.parametrize(
    "kind", ["mains charger wall { 10 A; absorption 14.2 V; float 13.5 V }", "alternator wall { 10 A; absorption 14.2 V }"]
)
def test_short_lead_of_a_charger_without_any_device_is_missing_it(said: Callable[..., Any], kind: str) -> None:
    # Catalogue, F1: to the first device; a charger is none, and the battery's short comes through its lead
    text = (
        box("20 mm")
        + f"{kind}\nwire charge from house.plus to wall.plus {{ 14 AWG; 100 mm }}\nwire under from house.minus to wall.minus {{ 14 AWG }}\n"
    )
    assert said(text, "far_fuse").grades == [("charge", "missing", "error")]


def test_what_hangs_behind_yields_to_the_first_wire_that_is_wrong(said: Callable[..., Any]) -> None:
    text = """rig "Box", revision 1
basis us-small-craft
site { ambient 0 degC to 30 degC }
all wires { copper; 105 degC insulation; in free air; 10 AWG; 1 m long }
battery house { LFP, 4 cells, 60 Ah; internal resistance 9 mohm }
switch knob 50 A
load lamp 10 A
wire feed from house.plus to knob.line
wire onward from knob.load to lamp.plus
wire back from lamp.minus to house.minus
"""
    found = said(text, "far_fuse")  # this fixture knows no yields
    assert found.grades == [("feed", "missing", "error"), ("onward", "behind", "error")]
    assert found.finding("onward").subject == ("onward", "feed")


def test_charger_counts_only_where_it_can_push_more_than_the_wire_carries(said: Callable[..., Any]) -> None:
    text = (
        box("0.1 m")
        + "mains charger depot { 20 A; absorption 14.2 V }\nwire in from depot.plus to main.load { 14 AWG; 2 m }\nwire out from depot.minus to house.minus { 14 AWG }\n"
    )
    assert said(text, "far_fuse").grades == []
    strong = text.replace("{ 20 A; absorption", "{ 50 A; absorption")  # 14 AWG at 105 degC carries 35 A
    assert ("in", "bare", "error") in said(strong, "far_fuse").grades
    silent = text.replace("{ 20 A; absorption", "{ absorption")
    assert ("in", "far", "rated current of depot") in said(silent, "far_fuse").missing


def test_returns_and_parts_of_bought_devices_are_left_out(said: Callable[..., Any]) -> None:
    text = box("0.1 m") + "wire stray from a.1 to b.1 { 10 AWG }\nconnector a { pin 1 }\nconnector b { pin 1 }\n"
    text = text.replace(
        "wire onward from main.load to lamp.plus { 10 AWG }",
        "wire onward from main.load to lamp.plus { 10 AWG; inside a device }",
    )
    conditions = {item.condition: item.count for item in said(text, "far_fuse").idle}
    assert conditions == {
        "a return: the devices in the feeds cover it": 1, "joined to no source": 1, "part of a bought device": 1,
    }  # fmt: skip


def test_plus_that_is_joined_to_the_case_turns_the_sides(said: Callable[..., Any]) -> None:
    text = box("0.9 m") + "case hull { metal }\nwire bond from house.plus to hull { 10 AWG; 0.2 m }\n"
    chiefs = {subject for subject, _, _ in said(text, "far_fuse").grades}
    assert chiefs == {"back"}
    assert said(text.replace("from house.plus to hull", "from house.minus to hull"), "far_fuse").grades == [
        ("feed", "bare", "error")
    ]


def test_without_a_basis_nothing_is_said(said: Callable[..., Any]) -> None:
    found = said(box("0.9 m").replace("basis us-small-craft\n", ""), "far_fuse")
    assert {item[2] for item in found.missing} == {"basis"}
    assert found.grades == []


def test_notes_are_notes() -> None:
    from ohmwright_rules.far_fuse import RULE

    assert {grade.name for grade in RULE.grades if grade.severity is Severity.NOTE} == {"battery-lead", "not-nearest"}


def test_72_in_are_borne_from_a_battery_only(said: Callable[..., Any]) -> None:
    more = "mains charger depot { 80 A; absorption 14.2 V }\nfuse own { 80 A; load on main.load }\nwire out from depot.plus to own.line { 10 AWG; 1.5 m; in conduit }\nwire under from depot.minus to house.minus { 10 AWG }\n"
    assert said(box("0.1 m", "") + more, "far_fuse").grades == [("out", "far", "error")]
