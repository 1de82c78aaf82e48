"""What rules find only in reached states of packs, mains and warmth, and in shorts with packs taken off; and that a declared dead short is no load.

Every current is a hand sum: Ohm's law and the sum of currents over the measured resistances that the builds declare (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

PACK = 0.010 + 3 * 0.005  # ohm of one pack's way: battery, three leads
HEAD = """rig "Bank", revision 1
basis us-small-craft
system 12 V
site { ambient 0 degC to 30 degC; record low -10 degC }
all wires { 2 AWG; copper; 0.3 m; 105 degC insulation; in free air; measured 5 mohm }
all switches { contact resistance 0 mohm }
bus p 500 A
bus m 500 A
"""
LFP = "LFP, 4 cells, 100 Ah; internal resistance 10 mohm; rest 12.0 V at 0 %, 13.2 V at 50 %, 13.6 V at 100 %"
RULE = "procedure { join packs within 0.5 V }\n"


def _bank(names: str, bms: str = "", load: str = "20 A", lead: str = "", fuse: str = "200 A", switch: bool = True) -> str:
    said = f"; bms {{ cuts both; {bms} }}" if bms else ""
    lines = [HEAD]
    for name in names.split():
        lines.append(f"battery {name} {{ {LFP}{said} }}\nfuse {name}_fuse {{ {fuse}; line on {name}.plus }}")
        lines.append(f"switch {name}_switch 200 A" if switch else f"bus {name}_stud 200 A")
        near, far = (f"{name}_switch.line", f"{name}_switch.load") if switch else (f"{name}_stud", f"{name}_stud")
        lines.append(f"wire {name}_a from {name}_fuse.load to {near} {{ {lead or '2 AWG'} }}\nwire {name}_b from {far} to p")
        lines.append(f"wire {name}_c from m to {name}.minus")
    closed = ", ".join(f"{name}_switch" for name in names.split())
    lines.append(f"load lamp {load}\nwire l1 from p to lamp.plus\nwire l2 from lamp.minus to m")
    lines.append(f"state use {{ {f'{closed} closed; ' if switch else ''}lamp on; everything else at 50 % }}\n")
    return "\n".join(lines)


@pytest.mark.parametrize(("limit", "broken"), [("20 A", False), ("19.9 A", True)])
def test_the_fuller_pack_gives_more_beside_a_low_one(said: Callable[..., Any], limit: str, broken: bool) -> None:
    """C1: half of 20 A, and 0.5 V over both ways, 10 A: 20 A. Equally charged each gives 10 A."""
    text = _bank("left right", f"charge at most 60 A; discharge at most {limit}") + RULE
    assert pytest.approx(20.0) == 20.0 / 2 + 0.5 / (2 * PACK)
    lone = [("left", "continuous", "error"), ("right", "continuous", "error")]
    found = said(text, "overdrawn_battery", reached=True)
    if not broken:
        assert found.grades == []
        return
    assert said(text, "overdrawn_battery").grades == []
    assert found.grades == lone
    states = {measure.state: measure.measured.value for measure in found.finding("right").states}
    assert states["use, left low"] == pytest.approx(20.0, rel=1e-3)


def test_one_pack_left_of_three_gives_more_than_it_may(said: Callable[..., Any]) -> None:
    """C1: 90 A from three, two and one pack are 30, 45 and 90 A, of which 60 A are let out."""
    text = _bank("left right third", "charge at most 200 A; discharge at most 60 A", "90 A") + RULE
    assert said(text, "overdrawn_battery").grades == []
    found = said(text, "overdrawn_battery", reached=True)
    assert found.grades == [(name, "continuous", "error") for name in ("left", "right", "third")]
    states = {measure.state for measure in found.finding("left").states}
    assert "use, right and third absent" in states
    assert "use, third_switch open" not in states
    assert found.finding("left").measured.value == pytest.approx(90.0)


def test_a_failed_pack_leaves_its_share_to_the_others(said: Callable[..., Any]) -> None:
    """D1 stands for one failure: 60 A of two packs are 30 A each, of one 60 A; 12 AWG carries 45 A (33 CFR 183.425, Table 5, 105 degC). C1 is a note then (readings.md)."""
    text = _bank("left right", "", "60 A", lead="12 AWG", switch=False).replace(
        "internal resistance 10 mohm", "internal resistance 10 mohm; discharge at most 50 A"
    )
    for name in ("left", "right"):  # without fuses, that nothing but a failure takes it off
        text = text.replace(f"fuse {name}_fuse {{ 200 A; line on {name}.plus }}\n", "").replace(
            f"{name}_fuse.load", f"{name}.plus"
        )
    assert said(text, "undersized_wire").grades == []
    found = said(text, "undersized_wire", reached=True)
    assert found.grades == [("left_a", "over-ampacity", "error"), ("right_a", "over-ampacity", "error")]
    assert found.finding("left_a").limit.value == 45.0
    assert "use, right failed" in {measure.state for measure in found.finding("left_a").states}
    drawn = said(text, "overdrawn_battery", reached=True)
    assert drawn.grades == [("left", "continuous", "note"), ("right", "continuous", "note")]


def test_a_failed_pack_is_charged_no_more(said: Callable[..., Any]) -> None:
    """B6: the pack that is left takes all of 30 A, of which it may take 20 A; each takes 15 A with both. For one that has failed nothing is said."""
    text = _bank("left right", "", "60 A", switch=False).replace(
        "internal resistance 10 mohm", "internal resistance 10 mohm; charge at most 20 A"
    )
    text = (
        text.replace("lamp on", "keeper on")
        + "mains charger keeper { 30 A; absorption 14.6 V }\nwire k1 from keeper.plus to p\nwire k2 from m to keeper.minus\n"
    )
    assert said(text, "charge_current_sum").grades == []
    found = said(text, "charge_current_sum", reached=True)
    states = {measure.state: measure.measured.value for measure in found.finding("left").states}
    assert states["use, right failed"] == pytest.approx(30.0)
    assert "use, left failed" not in states


def test_an_equalising_current_that_opens_a_fuse_is_told_once(said: Callable[..., Any]) -> None:
    """C6 tells of 1.6 V / 50 mohm = 32 A through fuses of 30 A; the wires that could not carry it for long are no further finding."""
    text = _bank("left right", "", "1 A", lead="18 AWG", fuse="30 A")
    surge = said(text, "joining_surge", reached=True)
    assert surge.findings[0].measured.value == pytest.approx(1.6 / (2 * PACK), rel=1e-2)
    assert said(text, "undersized_wire", reached=True).grades == []
    assert said(text, "nuisance_fuse", reached=True).grades == []
    lasting = said(_bank("left right", "", "1 A", lead="18 AWG", fuse="40 A"), "undersized_wire", reached=True)
    assert "use, left low" in {
        measure.state for measure in lasting.finding("right_a").states
    }  # 18 AWG carries 20 A, and no fuse opens


COMBI = """rig "Boat", revision 1
basis us-small-craft
system 12 V
site { ambient 0 degC to 30 degC }
all wires { 2 AWG; copper; 0.3 m; 105 degC insulation; in free air }
battery house { LFP, 4 cells, 100 Ah; internal resistance 5 mohm }
fuse combi_fuse { FUSE; line on house.plus }
inverter-charger combi { 200 W; 30 A; efficiency 90 %; draws 8 W with no load; absorption 14.2 V }
wire b1 from combi_fuse.load to combi.plus
wire b2 from combi.minus to house.minus
state use { house at 50 % }
"""


@pytest.mark.parametrize(("fuse", "broken"), [("37 A", True), ("39 A", False)])
def test_shore_supply_charges_through_the_fuse_of_the_inverter(said: Callable[..., Any], fuse: str, broken: bool) -> None:
    """F4: 30 A of charge current on 80 % x 0.975 (30 degC) of the rating: 28.9 and 30.4 A; 200 W from the battery are less."""
    found = said(COMBI.replace("FUSE", fuse), "nuisance_fuse", reached=True)
    told = {measure.state for finding in found.findings for measure in finding.states}
    assert ("use, shore supply alone" in told) == broken
    implied = said(COMBI.replace("FUSE", fuse), "nuisance_fuse")  # all chargers on at once
    assert {measure.state for finding in implied.findings for measure in finding.states} == (
        {"all chargers on"} if broken else set()
    )


def test_a_state_of_a_cool_day_is_held_against_the_hottest(said: Callable[..., Any]) -> None:
    """D1: 14 AWG carries 35 A at 105 degC (33 CFR 183.425, Table 5); at 50 degC sqrt((105 - 50) / (105 - 30)) of it, 30.0 A. 32 A flow."""
    text = (
        _bank("left", load="10 A", switch=False)
        .replace("lamp on", "lamp on at 32 A; 20 degC")
        .replace("0 degC to 30 degC", "0 degC to 50 degC")
    )
    text = text.replace("wire l1 from p to lamp.plus", "wire l1 from p to lamp.plus { 14 AWG }")
    assert said(text, "undersized_wire").grades == []
    finding = said(text, "undersized_wire", reached=True).finding("l1")
    assert finding.state == "use, hottest, 50 degC"
    assert finding.limit.value == pytest.approx(35 * ((105 - 50) / (105 - 30)) ** 0.5, rel=2e-2)
    assert finding.measured.value == pytest.approx(32.0)


def test_the_weakest_short_is_that_with_packs_taken_off(said: Callable[..., Any]) -> None:
    """F16: 12.0 V (empty) over 80 mohm of lamp leads and two packs side by side, 12.5 mohm, or one, 25 mohm: 130 and 114 A; 3 x 40 A are due."""
    text = _bank("left right", load="1 A").replace(
        "wire l1 from p to lamp.plus", "fuse tail { 40 A; line on p }\nwire l1 from tail.load to lamp.plus { measured 40 mohm }"
    )
    text = text.replace("wire l2 from lamp.minus to m", "wire l2 from lamp.minus to m { measured 40 mohm }")
    assert pytest.approx(129.7, abs=0.05) == 12.0 / (0.08 + PACK / 2)
    assert said(text, "weak_fault").passed("tail", "slow").measured.value == pytest.approx(12.0 / (0.08 + PACK / 2), rel=1e-3)
    finding = said(text, "weak_fault", reached=True).finding("tail", "slow")
    assert finding.measured.value == pytest.approx(12.0 / (0.08 + PACK), rel=1e-3)
    assert finding.message.replace("left absent", "right absent").startswith(
        "tail: a short at lamp.plus with right absent draws 114 A;"
    )
    firm = (
        text.replace("left_switch closed", "lamp on")
        .replace("switch left_switch 200 A", "bus left_stud")
        .replace("switch right_switch 200 A", "bus right_stud")
    )
    firm = (
        firm.replace("left_switch.line", "left_stud")
        .replace("left_switch.load", "left_stud")
        .replace("right_switch.line", "right_stud")
        .replace("right_switch.load", "right_stud")
    )
    firm = firm.replace("left_switch, right_switch closed; ", "")
    grades = said(firm, "weak_fault", reached=True).grades
    assert grades == said(firm, "weak_fault").grades  # packs that are wired in for good are not taken off
    assert "tail" not in {subject for subject, _, _ in grades}


def test_a_declared_dead_short_is_no_load(said: Callable[..., Any]) -> None:
    """A short is cleared by the device before it: nothing that a current does in the long run is told of it, and copper does not start from its heat."""
    text = _bank("left", "charge at most 50 A; discharge at most 50 A", "5 A", switch=False, fuse="40 A")
    short = text + "state broken { lamp on; short at lamp.plus }\n"
    for module in ("undersized_wire", "overdrawn_battery", "nuisance_fuse", "weak_fault", "hot_terminal"):
        for reached in (False, True):
            assert said(short, module, reached=reached).grades == said(text, module, reached=reached).grades == [], module
    one, two = (said(build, "weak_fault").passed("left_fuse", "slow").measured.value for build in (text, short))
    assert one == two


def test_the_origin_of_every_such_state_is_reached(said: Callable[..., Any]) -> None:
    build = said(_bank("left right") + RULE, "joining_surge", reached=True).build
    origins = {state.name: state.origin for state in build.states}
    assert origins["use, left low"] == origins["use, left and right absent"] == origins["use, left failed"] == "reached"
    assert set(origins.values()) == {"declared", "implied", "reached"}
