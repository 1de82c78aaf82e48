"""D17: the heat of a short to the case, against what the bond bears."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest


def box(
    bond: str = "14 AWG; measured 3 mohm",
    fuse: str = "200 A; opens in 5 s at 768 A, 0.001 s at 20 kA",
    case: str = "steel",
    battery: str = "LFP, 4 cells; rest 13.38 V at 0 %, 13.38 V at 100 %; internal resistance 10 mohm plus or minus 0.0001 mohm",
    more: str = "",
) -> str:
    return f"""rig "Box", revision 1
basis us-small-craft
system 12 V
site {{ ambient 0 degC to 30 degC }}
all wires {{ copper; in free air; 70 degC insulation; PVC }}
case shell {{ {case} }}
battery house {{ {battery} }}
fuse main {{ {fuse}; line on house.plus }}
load winch 100 A
wire a from main.load to winch.plus {{ 2/0 AWG; measured 4.4 mohm }}
wire b from winch.minus to house.minus {{ 2/0 AWG; measured 0.1 mohm }}
wire bond from house.minus to shell {{ {bond}; bond }}
{more}"""


def test_catalogue_example(said: Callable[..., Any]) -> None:
    # Catalogue, D17, Ex: loop 17.4 mohm: 13.38 V -> 769 A, 5 s -> 3.0 MA2s; 14 AWG: 115^2 x 4.33 = 57 kA2s -> error
    found = said(box(), "thin_fault_return")
    assert found.grades == [("bond", "under-half", "error")]
    finding = found.finding("bond")
    assert finding.measured.value == pytest.approx(769**2 * 5, rel=0.01)
    assert finding.limit.value == pytest.approx(57_000, rel=0.01)


def test_half_of_the_area(said: Callable[..., Any]) -> None:
    # 2.95 MA2s needs sqrt(2.95e6) / 115 = 14.9 mm2: half of it 7.47 mm2, between 8 AWG (8.37) and 10 AWG (5.26)
    assert said(box("8 AWG; measured 3 mohm"), "thin_fault_return").grades == [("bond", "thin", "warning")]
    assert said(box("10 AWG; measured 3 mohm"), "thin_fault_return").grades == [("bond", "under-half", "error")]
    assert said(box("4 AWG; measured 3 mohm"), "thin_fault_return").grades == []
    assert said(box("4 AWG; measured 3 mohm"), "thin_fault_return").passed("bond").limit.value == pytest.approx(
        (115 * 21.15) ** 2, rel=2e-3
    )


def test_remembered_opening_time_is_a_warning_at_most(said: Callable[..., Any]) -> None:
    found = said(box(fuse="200 A large bolt-down"), "thin_fault_return")
    assert found.grades == [("bond", "under-half", "warning")]


def test_two_ways_back_share_the_current(said: Callable[..., Any]) -> None:
    # Two alike conductors: half of the current, a quarter of the heat
    more = "wire second from house.minus to shell { 14 AWG; measured 3 mohm; earth }\n"
    found = said(box(more=more), "thin_fault_return")
    assert [grade[0] for grade in found.grades] == ["bond", "second"]
    assert "50 % of the current" in found.finding("second").message
    one = said(box("14 AWG; measured 1.5 mohm"), "thin_fault_return").finding("bond").measured.value
    assert found.finding("second").measured.value == pytest.approx(one / 4, rel=0.02)


def test_floating_rig_and_plastic_case(said: Callable[..., Any]) -> None:
    floating = box("14 AWG; measured 3 mohm").replace(
        "wire bond from house.minus to shell { 14 AWG; measured 3 mohm; bond }", ""
    )
    assert [item.condition for item in said(floating, "thin_fault_return").idle] == ["no pole of the bank is joined to a case"]
    plastic = said(box(case="polycarbonate"), "thin_fault_return")
    assert [item.condition for item in plastic.idle] == ["a case that is not said to be of metal"]


def test_weak_short_that_opens_nothing_in_time(said: Callable[..., Any]) -> None:
    found = said(box(fuse="200 A; opens in 60 s at 900 A, 5 s at 3 kA"), "thin_fault_return")
    assert found.grades == []
    assert [item.condition for item in found.idle] == [
        "no short to the case opens a device within 5 s (weak-fault tells of weak ones)"
    ]


def test_missing_data(said: Callable[..., Any]) -> None:
    found = said(box(fuse="200 A"), "thin_fault_return")
    assert found.missing == [("main", "under-half", "time-current curve of main")]
    assert [item.declare for item in found.unchecked] == ["opens in 5 s at 500 A, 0.1 s at 1500 A"]
    assert said(box("14 AWG"), "thin_fault_return").missing == [("bond", "under-half", "gauge or length of bond")]
    more = "fuse small { 10 A; line on house.plus }\nload lamp 1 A\nwire u from small.load to lamp.plus { 14 AWG; 1 m }\nwire d from lamp.minus to house.minus { 14 AWG; 1 m }\n"
    assert (
        said(box("4 AWG; measured 3 mohm", more=more), "thin_fault_return").missing == []
    )  # main is larger, and says its curve


def test_a_diode_that_blocks_the_battery_takes_nothing_from_the_short(said: Callable[..., Any]) -> None:
    # Kirchhoff: a diode from minus to plus, as it lies across a coil, carries nothing
    spike = "diode spike { 1 A; anode on house.minus; cathode on main.load }\n"
    finding = said(box(more=spike), "thin_fault_return").finding("bond")
    assert finding.measured.value == pytest.approx(769**2 * 5, rel=0.01)
