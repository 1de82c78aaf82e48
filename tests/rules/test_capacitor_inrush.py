"""I3: the rush into empty input capacitors, what makes it and what trips on it, and the precharge that tames it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.resolve import Loader, Resolved, resolve
from ohmwright_rules.capacitors import capacitors_of, inrush, settling

Said = Callable[..., Any]

# Catalogue, I3, Ex and I1, Ex: 10 + 2.6 + 4 = 16.6 mohm in battery, leads both ways and contacts; 13.4 V; 10 mF (as "5 x 10 x 0.01" tells).
BATTERY = "LFP, 4 cells, 100 Ah; rest 13.4 V full; internal resistance 10 mohm"


def van(
    inverter: str = "input capacitance 10 mF; input capacitors 0 mohm",
    switch: str = "200 A; makes 900 A; contact resistance 4 mohm",
    bms: str = "; bms { short-circuit trip 900 A }",
    battery: str = BATTERY,
    lead: str = "measured 1.3 mohm",
    more: str = "",
    kind: str = "inverter",
) -> str:
    return f"""rig "Van", revision 1
system 12 V
battery house {{ {battery}{bms} }}
switch main {{ {switch}; line on house.plus }}
{kind} mill {{ {inverter} }}
wire a from main.load to mill.plus, {lead}
wire b from mill.minus to house.minus, {lead}
{more}"""


def test_catalogue_example(said: Said) -> None:
    # Catalogue, I3, Ex: 13.4/16.6 mohm = 807 A vs BMS 300 A trip -> warning; 10 ohm precharge: 1.3 A, 5 x 10 x 0.01 = 0.5 s
    found = said(van(bms="; bms { short-circuit trip 300 A }"), "capacitor_inrush")
    assert found.grades == [("mill", "trips-battery", "warning")]
    finding = found.finding("mill")
    assert finding.measured.value == pytest.approx(13.4 / 0.0166, rel=1e-9)
    assert finding.limit.value == 300.0
    assert "draw 807 A from house" in finding.message
    assert finding.remedy == "Charge the capacitors first, through 10 ohm for 0.5 s or longer."
    assert found.passed("mill", "over-making").measured.value == pytest.approx(807.2, abs=0.05)
    tamed = said(
        van("input capacitance 10 mF; input capacitors 0 mohm; precharge through 10 ohm; precharge for 0.5 s", bms="; bms { short-circuit trip 300 A }"),
        "capacitor_inrush",
    )  # fmt: skip
    assert tamed.grades == [] and tamed.unchecked == []
    assert tamed.passed("mill", "trips-battery").measured.value == pytest.approx(1.338, abs=0.001)
    assert tamed.passed("mill", "short-precharge").limit.value == pytest.approx(0.5)


@pytest.mark.parametrize(("makes", "grades"), [("807.3 A", []), ("807.2 A", [("mill", "over-making", "warning")])])
def test_edge_of_what_a_switch_makes(said: Said, makes: str, grades: list[tuple[str, str, str]]) -> None:
    # 13.4 V / 16.6 mohm = 807.229 A (arithmetic)
    assert said(van(switch=f"200 A; makes {makes}; contact resistance 4 mohm"), "capacitor_inrush").grades == grades


@pytest.mark.parametrize(("lasts", "grades"), [("0.5 s", []), ("0.499 s", [("mill", "short-precharge", "warning")])])
def test_edge_of_the_time_of_a_precharge(said: Said, lasts: str, grades: list[tuple[str, str, str]]) -> None:
    text = van(f"input capacitance 10 mF; input capacitors 0 mohm; precharge through 10 ohm; precharge for {lasts}")
    assert said(text, "capacitor_inrush").grades == grades


def test_what_is_missing_is_named_only_where_it_decides(said: Said) -> None:
    silent = said(van("600 W"), "capacitor_inrush")
    assert silent.missing == [("mill", "over-making", "input capacitance")]
    assert said(van("no input capacitance"), "capacitor_inrush").idle[0].condition == "has no input capacitors"
    # Without the capacitors' own resistance nothing is found, and what passes passes all the same.
    own = "input capacitance 10 mF"
    assert said(van(own), "capacitor_inrush").missing == []
    low = said(van(own, switch="200 A; makes 500 A"), "capacitor_inrush")
    assert ("mill", "over-making", "resistance of its input capacitors") in low.missing and low.grades == []
    # Making rating and trip: what is carried for long stands in where it suffices.
    assert said(van(switch="200 A"), "capacitor_inrush").missing == [("mill", "over-making", "inrush that it makes of main")]
    assert said(van(switch="900 A; contact resistance 4 mohm"), "capacitor_inrush").missing == []
    assert said(van(bms="; bms { discharge at most 100 A }"), "capacitor_inrush").missing == [
        ("mill", "trips-battery", "short-circuit trip of house")
    ]
    precharged = "input capacitance 10 mF; precharge through 10 ohm; precharge for 1 s"
    assert said(van(precharged, switch="200 A", bms="; bms { discharge at most 100 A }"), "capacitor_inrush").missing == []
    assert said(van("input capacitance 10 mF; precharge through 10 ohm"), "capacitor_inrush").missing == [
        ("mill", "short-precharge", "how long the precharge lasts")
    ]


def test_an_upper_bound_of_the_battery_or_an_unknown_wire_is_not_checked(said: Said) -> None:
    # Readings, Battery resistance: with an upper bound alone, largest-current checks (I3) are not checked
    bound = BATTERY.replace("resistance 10", "resistance at most 10")
    low = "200 A; makes 500 A; contact resistance 4 mohm"
    assert said(van(switch=low, battery=bound), "capacitor_inrush").missing[0][2] == "measured internal resistance of house"
    assert said(van(switch=low, lead="1 m"), "capacitor_inrush").missing[0][2] == "gauge of a"
    # A tolerance: the lower end, 8 mohm.
    spread = BATTERY.replace("10 mohm", "10 mohm plus or minus 2 mohm")
    assert said(van(switch=low, battery=spread, bms=""), "capacitor_inrush").finding("mill").measured.value == pytest.approx(
        13.4 / 0.0146
    )


def test_a_switch_with_a_precharge_of_its_own_passes(said: Said) -> None:
    eased = said(
        van(switch="200 A; makes 100 A; joins through precharge", bms="; bms { short-circuit trip 300 A }"), "capacitor_inrush"
    )
    assert eased.grades == [] and eased.unchecked == []


def test_a_resistor_beside_the_switch_precharges(said: Said) -> None:
    """A resistor of 10 ohm across the main switch, with a push switch of its own: that one makes 13.4 V / 10 ohm."""
    low = "200 A; makes 100 A; contact resistance 4 mohm"
    more = """switch push { 5 A; line on house.plus }
resistor first { 10 ohm }
wire c from push.load to first.a, measured 1 mohm
wire d from first.b to main.load, measured 1 mohm
"""
    found = said(van(switch=low, bms="; bms { short-circuit trip 300 A }", more=more), "capacitor_inrush")
    assert found.grades == [] and found.unchecked == []
    assert found.passed("mill", "over-making").measured.value == pytest.approx(13.4 / 10.0146, rel=1e-3)


def test_each_of_two_switches_is_tried_alone(said: Said) -> None:
    """Two batteries, each behind a switch: closed last, one would carry little; closed alone, it carries the rush of its own battery (arithmetic)."""
    more = f"""battery second {{ {BATTERY} }}
switch other {{ 200 A; makes 700 A; contact resistance 4 mohm; line on second.plus }}
wire e from other.load to main.load, measured 1 mohm
wire f from second.minus to house.minus, measured 1 mohm
"""
    found = said(van(bms="", more=more), "capacitor_inrush")
    assert found.grades == [("mill", "over-making", "warning")]
    (finding,) = found.findings
    assert finding.subject == ("mill", "other")
    assert finding.measured.value == pytest.approx(13.4 / 0.0186, rel=1e-9)


def test_converters_controllers_and_loads_that_declare_it(said: Said) -> None:
    low = "200 A; makes 500 A; contact resistance 4 mohm"
    says = "input capacitance 1 mF; input capacitors 0 mohm"
    assert said(van(f"10 W; {says}", low, kind="load"), "capacitor_inrush").grades == [("mill", "over-making", "warning")]
    idle = said(van("10 W", low, kind="load"), "capacitor_inrush")
    assert idle.grades == [] and idle.unchecked == []
    step = (
        van(f"output 5 V; {says}", low, kind="converter")
        .replace("mill.plus", "mill.in_plus")
        .replace("mill.minus", "mill.in_minus")
    )
    assert said(step, "capacitor_inrush").grades == [("mill", "over-making", "warning")]
    sun = (
        van(f"20 A; {says}", low, kind="controller")
        .replace("mill.plus", "mill.batt_plus")
        .replace("mill.minus", "mill.batt_minus")
    )
    assert said(sun, "capacitor_inrush").grades == [("mill", "over-making", "warning")]


def test_charge_heat_and_time_of_a_rush() -> None:
    """Resistance and capacitance in series (electronics, from memory): Q = C U, I2t = U2 C / (2 R), settled after five time constants."""
    from ohmwright.study import StudyOptions
    from ohmwright.studying import make_study

    resolved = resolve("box.rig", Loader(MemoryFiles({"box.rig": van("input capacitance 10 mF; input capacitors 5 mohm")})))
    assert isinstance(resolved, Resolved)
    capacitors = capacitors_of(resolved.build.parts["mill"])
    assert capacitors is not None
    rush = inrush(make_study(resolved.build, StudyOptions()), capacitors)
    assert rush is not None
    assert rush.ampere == pytest.approx(13.4 / 0.0216)
    assert rush.charge == pytest.approx(0.134)
    assert rush.heat == pytest.approx(13.4**2 * 0.01 / 0.0432)
    assert rush.settled == pytest.approx(5 * 0.0216 * 0.01) == pytest.approx(settling(0.0216, 0.01))
