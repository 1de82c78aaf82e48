"""Wires, fuses, switches and drops in a closed case, held against the air that its losses make: the catalogue's D3 and F5 with a case that gets so hot.

The case is that of the catalogue's L5: 0.47 m2 free, 4.6 W/m2K. The battery lies outside, so that what heats the case is said by the stove.
"""

from __future__ import annotations

import pytest

BUILD = """rig "Box", revision 1
basis us-small-craft
system 12 V
site { ambient 0 degC to 38 degC }
case box { CASE }
zone inside { in box }
battery house { LFP, 4 cells, 100 Ah; internal resistance 5 mohm }
meter stove { gives off WATTS; always on; in inside }
fuse main { FUSE; line on house.plus; in inside }
switch knob { 30 A; derates to 100 % at 25 degC, 60 % at 65 degC; line on main.load; in inside }
load heater { LOAD; works on 8 V to 15 V }
wires 12 AWG, copper, 75 degC insulation, LIE, in inside {
  feed from knob.load to heater.plus, LENGTH, red
  back from heater.minus to house.minus, LENGTH, black
  sense_1 from knob.load to stove.plus, 0.01 m, red
  sense_2 from stove.minus to house.minus, 0.01 m, black
}
state "heating" { heater on; knob closed }
MORE"""
CASE = "closed; size 400 x 300 x 250 mm"


def build(
    watts: str,
    load: str,
    *,
    fuse: str = "30 A blade",
    case: str = CASE,
    lie: str = "in free air",
    length: str = "0.1 m",
    more: str = "",
) -> str:
    text = BUILD.replace("WATTS", watts).replace("LOAD", load).replace("FUSE", fuse).replace("CASE", case).replace("LIE", lie)
    return text.replace("LENGTH", length).replace("MORE", more)


def test_catalogue_d3_in_a_case_that_gets_so_hot(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, D3, Ex: 75 degC wire in 55 degC: sqrt(20/45) = 0.667; 12 AWG 25 A -> 16.7 A; load 20 A: error.

    35.3 W and 0.5 W of the wires: 38 + 35.8 / 2.162 = 54.5, taken at 55 degC.
    """
    found = said(build("35.3 W", "20 A"), "undersized_wire")
    assert [item for item in found.grades if item[0] in ("feed", "back")] == [
        ("feed", "over-ampacity", "error"), ("back", "over-ampacity", "error"),
    ]  # fmt: skip
    finding = found.finding("feed")
    assert finding.limit.value == pytest.approx(25 * (20 / 45) ** 0.5)
    assert finding.limit.value == pytest.approx(16.7, abs=0.05)
    assert "air of 55 degC (0.67)" in finding.message
    steps = {step.symbol: step for step in finding.working}
    assert [steps[symbol].unit for symbol in ("P", "A", "h", "dT", "T", "T_air")] == ["W", "m2", "W/m2K", "K", "degC", "degC"]
    assert steps["P"].value == pytest.approx(35.8, abs=0.1)
    assert steps["A"].value == pytest.approx(0.47)
    assert steps["h"].value == 4.6
    assert "7.1 W/ft2" in steps["h"].source
    assert steps["T"].value == pytest.approx(38 + 35.8 / 2.162, abs=0.05)
    assert steps["T_air"].value == 55.0


@pytest.mark.parametrize(
    ("case", "limit"), [(CASE.replace("closed", "not closed"), None), (f"{CASE}; walls pass 46 W/m2K", None)]
)
def test_the_same_in_a_cool_case_passes(said, case: str, limit: float | None) -> None:  # type: ignore[no-untyped-def]
    """In 38 degC (or 40, where the walls pass ten times as much) 12 AWG carries 22.7 A (22 A)."""
    found = said(build("35.3 W", "20 A", case=case), "undersized_wire")
    assert found.grades == []
    assert found.passed("feed").limit.value > 22


def test_catalogue_f5_in_a_case_that_gets_so_hot(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, F5, Ex: 30 A, 60 degC: 30 x 0.825 x 0.8 = 19.8 A; load 22 A: warning. 46.6 W: 38 + 46.6 / 2.162 = 59.6 degC, taken at 60."""
    found = said(build("46 W", "22 A"), "nuisance_fuse")
    assert found.grades == [("main", "over-loading", "warning")]
    finding = found.finding("main")
    assert finding.limit.value == pytest.approx(19.8)
    assert {"P", "A", "h", "dT", "T", "T_air", "k_T"} <= {step.symbol for step in finding.working}
    assert said(build("1 W", "22 A"), "nuisance_fuse").grades == []


def test_fuse_size_goes_by_the_hottest_air_of_all_states(said) -> None:  # type: ignore[no-untyped-def]
    """In 55 degC the 12 AWG carries 16.7 A: 1.5 x 16.7 = 25 A is the most, on us-small-craft; in 38 degC 34 A."""
    found = said(build("35.3 W", "20 A", fuse="30 A blade"), "oversized_fuse")
    finding = found.finding("feed")
    assert finding.limit.value == pytest.approx(1.5 * 16.667, abs=0.01)
    assert "T_air" in {step.symbol for step in finding.working}
    assert said(build("1 W", "20 A"), "oversized_fuse").grades == []


def test_switch_by_its_curve_in_the_air_of_the_case(said) -> None:  # type: ignore[no-untyped-def]
    """30 A at 25 degC, 60 % of that at 65 degC: 70 % at 55 degC, 21 A."""
    found = said(build("35.0 W", "24 A"), "overloaded_switch")
    assert found.grades == [("knob", "over-rating", "error")]
    assert found.finding("knob").limit.value == pytest.approx(21.0)
    assert "T_air" in {step.symbol for step in found.finding("knob").working}
    assert said(build("1 W", "24 A"), "overloaded_switch").grades == []


def test_drop_takes_copper_from_the_air_of_the_case(said) -> None:  # type: ignore[no-untyped-def]
    """Copper of the drop: air + (20 / 25)^2 x 45 K = air + 28.8 K; the air is summed, and its sum stands in the working."""
    found = said(build("10 W", "20 A", length="7 m"), "voltage_drop")
    finding = found.finding("heater", "over-class")
    steps = {step.symbol: step for step in finding.working}
    air = steps["T_air"].value
    assert air is not None
    assert air > 50
    assert f"copper at {air + 28.8:.3g} degC in air of {air:.3g} degC" in steps["U_feed"].expression
    cool = said(build("10 W", "20 A", length="7 m", case=f"{CASE}; walls pass 4600 W/m2K"), "voltage_drop").finding(
        "heater", "over-class"
    )
    share = (1 + 0.00393 * (air + 28.8 - 20)) / (1 + 0.00393 * (38 + 28.8 - 20))
    assert finding.measured.value / cool.measured.value == pytest.approx(share, rel=2e-3)


def test_drop_is_the_same_where_the_state_was_not_solved_again(said, monkeypatch) -> None:  # type: ignore[no-untyped-def]
    """The rules scale the drop to the copper's temperature to first order: with or without the second solution."""
    text = build("10 W", "20 A", length="7 m")
    exact = said(text, "voltage_drop").finding("heater", "over-class").measured.value
    monkeypatch.setattr("ohmwright.thermal.settling._NEAR", 1000.0)
    assert said(text, "voltage_drop").finding("heater", "over-class").measured.value == pytest.approx(exact, rel=1e-3)


CONTROLLER = """array roof { Voc 22 V; Isc 12 A; Vmp 18 V; Imp 11.5 A; Voc -0.3 %/K }
controller sun { MPPT; 30 A; absorption 14.4 V; in inside; EFFICIENCY }
wire s from roof.plus to sun.pv_plus { 12 AWG; 1 m }
wire t from sun.pv_minus to roof.minus { 12 AWG; 1 m }
wire u from sun.batt_plus to house.plus { 10 AWG; 1 m }
wire v from house.minus to sun.batt_minus { 10 AWG; 1 m }
state "noon" { heater on; knob closed; full sun; house at 50 % }
"""


@pytest.mark.parametrize(
    ("efficiency", "load", "missing", "over"),
    [
        ("", "17 A", True, False),  # passes only if the controller loses nothing
        ("efficiency 97 %", "17 A", False, False),  # said
        ("", "10 A", False, False),  # passes at 85 % too
        ("", "25 A", False, True),  # too much even if it loses nothing
    ],
)
def test_what_is_not_declared_is_asked_for_where_it_decides(  # type: ignore[no-untyped-def]
    said, efficiency: str, load: str, missing: bool, over: bool
) -> None:
    """The controller gives some 200 W: between 0 and 35 W lost, 0 to 16 K."""
    text = build("25 W", load, more=CONTROLLER.replace("EFFICIENCY", efficiency))
    for rule in ("undersized_wire", "nuisance_fuse"):
        found = said(text, rule)
        asked = [item for item in found.unchecked if item.missing == "efficiency of sun"]
        if rule == "undersized_wire":
            assert ("feed" in {item.subject[0] for item in asked}) is missing
            assert ("feed" in {item[0] for item in found.grades}) is over
        if asked:
            assert {item.declare for item in asked} == {"efficiency 97 %"}
    fuse = said(text.replace("30 A blade", "25 A blade"), "oversized_fuse")
    assert ("efficiency of sun" in {item.missing for item in fuse.unchecked}) is (efficiency == "")


def test_how_a_wire_lies_and_the_air_are_both_taken_at_their_harshest(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build("5 W", "4 A", lie="red"), "undersized_wire")
    assert [item.subject[0] for item in found.passes if item.subject[0] == "feed"] == ["feed"]
    found = said(build("25 W", "12 A", lie="red"), "undersized_wire")
    assert [(item.subject[0], item.missing) for item in found.unchecked if item.subject[0] == "feed"] == [
        ("feed", "how it lies (in free air, or with how many others)")
    ]


def test_a_case_without_end_is_told_once(said) -> None:  # type: ignore[no-untyped-def]
    """Copper that heats itself up: the case is what is wrong, whatever its parts bear."""
    text = build("1 W", "80 A", case="closed; size 60 x 40 x 50 mm", length="4 m").replace("12 AWG", "18 AWG")
    found = said(text, "hot_case")
    assert found.grades == [("box", "over-limit", "error")]
    finding = found.finding("box", "over-limit")
    assert "hotter in it without end in state 'heating'" in finding.message
    assert "grows faster with the warmth" in finding.message
    assert (
        said(build("1 W", "80 A", case="size 60 x 40 x 50 mm", length="4 m").replace("12 AWG", "18 AWG"), "hot_case").grades
        == []
    )
