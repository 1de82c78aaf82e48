"""D12 of surges: the heat of a state of under a minute above the corrected ampacity, against what the insulation of a conductor bears.

Source: readings.md, General, Continuous ("D12 where its current is above the corrected ampacity"); the sums are worked by hand beside each case.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest


def box(state: str, wire: str = "14 AWG; 75 degC insulation", load: str = "15 A") -> str:
    return f"""rig "Winch", revision 1
basis us-small-craft
system 12 V
site {{ ambient 0 degC to 30 degC }}
all wires {{ copper; in free air }}
battery house {{ LFP, 4 cells, 100 Ah; internal resistance 6 mohm plus or minus 1 mohm }}
fuse main {{ 30 A class T; opens in 60 s at 70 A, 5 s at 90 A, 0.1 s at 180 A, 10 ms at 300 A; line on house.plus }}
load winch {{ {load} }}
wire out from main.load to winch.plus {{ {wire}; 2 m }}
wire back from winch.minus to house.minus {{ 2 AWG; 105 degC insulation; 2 m }}
state "hauling" {{ winch on; for 0.2 h/day }}
state "caught" {{ {state} }}
"""


# 14 AWG: 2.0809 mm2 by the law of the gauge, k 111 at 75 degC: (111 x 2.0809)^2 = 53 352 A2s; 33 CFR 183.425 Table 5: 20 A.
@pytest.mark.parametrize(
    ("state", "broken"),
    [
        ("winch on at 60 A; lasts 14.8 s; back after 20 min", False),  # 3600 x 14.8 = 53 280 A2s
        ("winch on at 60 A; lasts 14.9 s; back after 20 min", True),  # 53 640 A2s
        ("winch on at 29 A; lasts 59 s; back after 20 min", False),  # 841 x 59 = 49 619 A2s
        ("winch on at 31 A; lasts 59 s; back after 20 min", True),  # 56 699 A2s
        ("winch on at 60 A; lasts 61 s; back after 20 min", False),  # no surge: undersized-wire tells of it
    ],
)
def test_edge(said: Callable[..., Any], state: str, broken: bool) -> None:
    found = said(box(state), "short_circuit_heat")
    assert [item for item in found.grades if item[1] == "surge"] == ([("out", "surge", "warning")] if broken else [])


def test_a_surge_that_the_wire_carries_for_long_is_left_alone(said: Callable[..., Any]) -> None:
    """Below the ampacity nothing is said: 20 A on 14 AWG of 20 A, whatever it heats."""
    found = said(box("winch on at 20 A; lasts 59 s"), "short_circuit_heat")
    assert not [item for item in (*found.passes, *found.unchecked) if item.grade == "surge"]


def test_words_and_numbers(said: Callable[..., Any]) -> None:
    finding = said(box("winch on at 60 A; lasts 30 s; back after 20 min"), "short_circuit_heat").finding("out", "surge")
    assert finding.measured.value == pytest.approx(60**2 * 30)
    assert finding.limit.value == pytest.approx(53_352, rel=1e-4)
    assert finding.state == "caught"
    assert "60 A flows here for 30 s in state 'caught', above the 20 A that this 14 AWG carries for long" in finding.message
    # sqrt(108 000) / 111 = 2.961 mm2, 12 AWG (3.31 mm2); sqrt(53 352 / 30) = 42.2 A; 53 352 / 3600 = 14.8 s
    assert (
        finding.remedy
        == "Use a conductor of 12 AWG (2.96 mm2) or more, or bring the surge to 42.2 A or less, or to 14.8 s or less."
    )
    mended = said(box("winch on at 60 A; lasts 30 s; back after 20 min", "12 AWG; 75 degC insulation"), "short_circuit_heat")
    assert mended.passed("out", "surge").measured.value == pytest.approx(108_000)


def test_the_start_of_a_load_counts_without_a_state(said: Callable[..., Any]) -> None:
    """15 A x 5 for 12 s: 5625 x 12 = 67 500 A2s over 53 352; for 9 s 50 625 A2s pass."""
    rest = "winch on; lasts 61 s"
    long = said(box(rest, load="15 A; motor; starts at 5 times for 12 s"), "short_circuit_heat")
    assert long.finding("out", "surge").measured.value == pytest.approx(67_500)
    brief = said(box(rest, load="15 A; motor; starts at 5 times for 9 s"), "short_circuit_heat")
    assert brief.passed("out", "surge").measured.value == pytest.approx(50_625)


def test_a_start_that_does_not_say_how_long(said: Callable[..., Any]) -> None:
    """5 x 15 A for a minute would be 337 500 A2s; nobody says that it is shorter. 2 x 15 A, 54 000 A2s; 2 x 14 A for a minute are 47 040 A2s."""
    found = said(box("winch on; lasts 61 s", load="15 A; motor; starts at 5 times"), "short_circuit_heat")
    assert ("winch", "surge", "how long its start lasts") in found.missing
    mild = said(box("winch on; lasts 61 s", load="14 A; motor; starts at 2 times"), "short_circuit_heat")
    assert mild.passed("out", "surge").measured.value == pytest.approx(28**2 * 60)


def test_missing_data_of_the_conductor(said: Callable[..., Any]) -> None:
    """A wire without insulation temperature: the coolest column could decide, so that it is asked for; where no surge is over it, nobody asks."""
    found = said(box("winch on at 60 A; lasts 30 s", "14 AWG"), "short_circuit_heat")
    assert ("out", "surge", "insulation temperature") in found.missing
    silent = said(box("winch on at 5 A; lasts 30 s", "14 AWG"), "short_circuit_heat")
    assert not [item for item in silent.unchecked if item.grade == "surge"]


def test_reached_states_that_only_other_loads_open_tell_it_once(said: Callable[..., Any]) -> None:
    found = said(box("winch on at 60 A; lasts 30 s"), "short_circuit_heat", reached=True)
    assert [item for item in found.grades if item[1] == "surge"] == [("out", "surge", "warning")]


def test_a_fuse_that_is_too_large_does_not_explain_a_surge(together: Callable[..., Any]) -> None:
    """oversized-fuse stands before the heat of a short; the surge flows behind a right fuse just as well."""
    text = box("winch on at 60 A; lasts 30 s").replace("30 A class T", "60 A class T")
    stands, _ = together(text, "oversized_fuse", "short_circuit_heat")
    assert "short-circuit-heat.surge on out" in stands
    assert any(item.startswith("oversized-fuse") for item in stands)


def test_what_does_not_say_how_long_is_asked_once_for_all_its_wires(said: Callable[..., Any]) -> None:
    """A 2400 W peak at 90 % from some 13 V is over 200 A, for a minute 2.4 million A2s: over the 1.34 million of 6 AWG at 105 degC, no fuse in the way."""
    text = """rig "Cart", revision 1
basis us-small-craft
system 12 V
site { ambient 0 degC to 30 degC }
all wires { copper; in free air; 105 degC insulation; 6 AWG; 0.4 m }
battery house { LFP, 4 cells, 100 Ah; internal resistance 2 mohm plus or minus 0.1 mohm }
inverter mains { 1000 W; PEAK; efficiency 90 % }
wire out from house.plus to mains.plus
wire back from mains.minus to house.minus
"""
    open_ended = said(text.replace("PEAK", "peak 2400 W"), "short_circuit_heat")
    assert [item for item in open_ended.missing if item[1] == "surge"] == [("mains", "surge", "how long its peak lasts")]
    brief = said(text.replace("PEAK", "peak 2400 W for 5 s"), "short_circuit_heat")
    assert {item.subject[0] for item in brief.passes if item.grade == "surge"} == {"out", "back"}
    long = said(text.replace("PEAK", "peak 2400 W for 50 s"), "short_circuit_heat")
    assert [item[:2] for item in long.grades] == [("out", "surge"), ("back", "surge")]
