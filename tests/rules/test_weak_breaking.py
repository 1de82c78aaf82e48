"""F6: what a short beside a device draws, against what the device interrupts."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest


def box(
    device: str = "150 A; breaks 10 kA at 32 V dc",
    battery: str = "LFP, 4 cells; rest 13.4 V at 100 %; internal resistance 1.8 mohm",
    lead: str = "measured 0.7 mohm",
    more: str = "",
) -> str:
    return f"""rig "Box", revision 1
system 12 V
site {{ ambient 0 degC to 30 degC }}
battery house {{ {battery} }}
fuse main {{ {device} }}
load winch 80 A
wire lead from house.plus to main.line {{ {lead} }}
wire feed from main.load to winch.plus {{ 2 AWG; 1 m }}
wire back from winch.minus to house.minus {{ 2 AWG; 1 m }}
{more}"""


def test_catalogue_example_of_one_pack(said: Callable[..., Any]) -> None:
    # Catalogue, F6, Ex: 13.4 V over 1.8 + 0.7 mohm -> 5.36 kA: a 2 kA type is an error, 10 kA passes
    passed = said(box(), "weak_breaking").passed("main")
    assert passed.measured.value == pytest.approx(5360)
    assert passed.limit.value == 10_000
    finding = said(box("150 A; breaks 2 kA at 32 V dc"), "weak_breaking").finding("main")
    assert finding.measured.value == pytest.approx(5360)
    assert "5.36 kA from house; this fuse interrupts 2 kA at 32 V" in finding.message
    assert "5.36 kA or more at 12 V" in finding.remedy


def test_catalogue_example_of_three_packs_at_a_bus(said: Callable[..., Any]) -> None:
    # Catalogue, F6, Ex: 3 such packs at a bus 16.1 kA: a 10 kA type is an error, 20 kA passes
    packs = "".join(
        f"battery pack{number} {{ same as house }}\nwire lead{number} from pack{number}.plus to main.line {{ measured 0.7 mohm }}\n"
        f"wire under{number} from pack{number}.minus to house.minus {{ 2 AWG; 1 m }}\n"
        for number in (2, 3)
    )
    finding = said(box(more=packs), "weak_breaking").finding("main")
    assert finding.measured.value == pytest.approx(16080)
    assert said(box("150 A; breaks 20 kA at 125 V dc", more=packs), "weak_breaking").grades == []


@pytest.mark.parametrize(("rating", "grades"), [("5.36 kA", 0), ("5.35 kA", 1), ("5.37 kA", 0)])
def test_edge(said: Callable[..., Any], rating: str, grades: int) -> None:
    assert len(said(box(f"150 A; breaks {rating} at 32 V dc"), "weak_breaking").grades) == grades


def test_small_lithium_battery_exceeds_a_blade_fuse_and_the_message_says_so(said: Callable[..., Any]) -> None:
    finding = said(box("20 A blade; breaks 1 kA at 32 V dc"), "weak_breaking").finding("main")
    assert "Even one small lithium battery gives more than the 1 kA that a blade fuse interrupts." in finding.message
    lead_acid = said(box("20 A blade; breaks 1 kA at 32 V dc", "AGM, 6 cells; internal resistance 3 mohm"), "weak_breaking")
    assert "lithium" not in lead_acid.finding("main").message


def test_rating_counts_at_its_voltage_and_below(said: Callable[..., Any]) -> None:
    # 10 kA at 14 V does not hold for a 24 V bank; 5 kA at 32 V does.
    text = box("150 A; breaks 10 kA at 14 V dc, 5 kA at 32 V dc", "LFP, 8 cells; internal resistance 4 mohm").replace(
        "system 12 V", "system 24 V"
    )
    finding = said(text, "weak_breaking").finding("main")
    assert finding.limit.value == 5000
    only_low = text.replace(", 5 kA at 32 V dc", "")
    assert said(only_low, "weak_breaking").missing == [("main", "over-rating", "interrupting rating at 24 V or more")]
    twelve = box("150 A; breaks 10 kA at 14 V dc, 5 kA at 32 V dc")
    assert said(twelve, "weak_breaking").passed("main").limit.value == 10_000


def test_lower_end_of_the_resistance_counts(said: Callable[..., Any]) -> None:
    text = box(battery="LFP, 4 cells; rest 13.4 V at 100 %; internal resistance 1.8 mohm plus or minus 0.3 mohm")
    assert said(text, "weak_breaking").passed("main").measured.value == pytest.approx(13.4 / 0.0022)
    declared = box(battery="LFP, 4 cells; rest 13.4 V at 100 %; short-circuit current 4 kA", lead="measured 0.001 mohm")
    assert said(declared, "weak_breaking").passed("main").measured.value == pytest.approx(4000, rel=1e-3)


def test_upper_bound_alone_and_silence_are_not_checked(said: Callable[..., Any]) -> None:
    missing = ("main", "over-rating", "measured internal resistance, or short-circuit current, of house")
    assert said(box(battery="LFP, 4 cells; internal resistance at most 5 mohm"), "weak_breaking").missing == [missing]
    assert said(box(battery="LFP, 4 cells"), "weak_breaking").missing == [missing]
    assert said(box("150 A"), "weak_breaking").missing == [("main", "over-rating", "interrupting rating")]


def test_wire_of_unknown_resistance_decides_only_where_it_matters(said: Callable[..., Any]) -> None:
    assert said(box("150 A; breaks 10 kA at 32 V dc", lead=""), "weak_breaking").grades == []  # 7.44 kA with nothing before it
    silent = said(box("150 A; breaks 6 kA at 32 V dc", lead="2 AWG"), "weak_breaking")
    assert silent.missing == [("main", "over-rating", "gauge or length of lead")]


def test_pack_fuse_breaks_what_all_others_drive(said: Callable[..., Any]) -> None:
    # Catalogue, C7, Ex: 4 packs of 2.1 kA each: a short in one draws 6.3 kA from the others
    text = 'rig "Packs", revision 1\nsystem 12 V\nbus hall 400 A\nload heater 5 A\nwire on from hall to heater.plus { 2 AWG; 1 m }\nwire off from heater.minus to floor { 2 AWG; 1 m }\nbus floor 400 A\n'
    for number in range(1, 5):
        text += f"battery p{number} {{ LFP, 4 cells; short-circuit current 2.1 kA }}\nfuse f{number} {{ 50 A; breaks 5 kA at 32 V dc; line on p{number}.plus; load on hall }}\np{number}.minus on floor\n"
    found = said(text, "weak_breaking")
    assert [grade[0] for grade in found.grades] == ["f1", "f2", "f3", "f4"]
    assert found.finding("f1").measured.value == pytest.approx(6300)


def test_device_that_no_battery_reaches(said: Callable[..., Any]) -> None:
    text = box(more="array roof { Voc 22 V; Isc 5 A }\nfuse string { 10 A; line on roof.plus }\n")
    assert [item.condition for item in said(text, "weak_breaking").idle] == ["no battery can push a short through it"]
