"""The steady heat of closed cases: energy balance at the fixed point, temperatures by hand, what has no end, what is left alone.

Constants of the catalogue, L5: walls of 4.6 W/m2K, 0.47 m2 free in a case of 0.40 x 0.30 x 0.25 m. Laws of physics where no source is named.
"""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ohmwright.missing import Missing
from ohmwright.study import SolvedState, Study, StudyOptions
from ohmwright.studying import make_study
from ohmwright.thermal.air import Air, lasts_long, whole_degree
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.resolve import Loader, Resolved, resolve

BOX = """rig "Box", revision 1
basis us-small-craft
system 12 V
SITE
case box { CASE }
zone inside { ZONE }
battery house { LFP, 4 cells, 100 Ah; BATTERY in inside }
fuse main { 100 A bolt-down; 1 mohm; line on house.plus; in inside }
load heater { LOAD; works on 8 V to 15 V }
meter stove { gives off 10 W; in inside }
wires WIRE, copper, in inside {
  feed from main.load to heater.plus, 2 m, red
  back from heater.minus to house.minus, 2 m, black
  gauge_1 from main.load to stove.plus, 0.2 m, red
  gauge_2 from stove.minus to house.minus, 0.2 m, black
}
state "heating" { heater on; STATE }
state "idle" { heater off }
"""
CASE = "closed; size 400 x 300 x 250 mm"
CONDUCTANCE = 4.6 * 0.47


def text(
    load: str = "30 A",
    *,
    case: str = CASE,
    wire: str = "10 AWG",
    site: str = "site { ambient 0 degC to 38 degC }",
    zone: str = "in box",
    battery: str = "internal resistance 5 mohm;",
    state: str = "house at 50 %",
    more: str = "",
) -> str:
    found = BOX.replace("SITE", site).replace("CASE", case).replace("ZONE", zone).replace("LOAD", load)
    return found.replace("WIRE", wire).replace("BATTERY", battery).replace("STATE", state) + more


def study_of(sheet: str, **options: bool) -> Study:
    found = resolve("box.rig", Loader(MemoryFiles({"box.rig": sheet})))
    assert isinstance(found, Resolved)
    assert not found.problems, found.problems
    return make_study(found.build, StudyOptions(today=date(2026, 1, 1), **options))


def named(study: Study, name: str = "heating") -> SolvedState:
    state = study.state(name)
    assert state is not None
    return state


def air_of(study: Study, name: str = "heating", zone: str = "inside") -> Air:
    found = study.air(zone, named(study, name))
    assert isinstance(found, Air)
    return found


def lost_as_solved(state: SolvedState) -> float:
    """What the solver itself says is lost in wires, fuse and battery, and the 10 W of the stove."""
    powers = state.operation.powers
    wires = sum(powers[name] for name in ("feed", "back", "gauge_1", "gauge_2", "main"))
    return float(wires + state.current("house") ** 2 * 0.005 + 10.0)


@settings(max_examples=60)
@given(
    load=st.sampled_from(["20 A", "45 A", "60 A", "200 W", "500 W", "0.3 ohm"]),
    wire=st.sampled_from(["6 AWG", "10 AWG", "12 AWG", "2.5 mm2"]),
    ambient=st.integers(-10, 50),
    sides=st.tuples(st.integers(15, 60), st.integers(15, 60), st.integers(15, 60)),
)
def test_what_is_lost_leaves_through_the_walls(load: str, wire: str, ambient: int, sides: tuple[int, int, int]) -> None:
    """Energy balance: sum of the solved losses = h A (T_inside - T_outside), with copper solved within 1 K of the air: 0.4 % of what it loses."""
    size = " x ".join(f"{side * 10}" for side in sides)
    study = study_of(
        text(load, wire=wire, case=f"closed; size {size} mm", site=f"site {{ ambient -20 degC to {ambient} degC }}")
    )
    for name in ("heating", "idle"):
        state, air = named(study, name), air_of(study, name)
        if not state.solved or not air.balance:
            continue
        a, b, c = (side / 100 for side in sides)
        free = 2 * (a * b + a * c + b * c) - a * b
        leaves = 4.6 * free * (air.low - ambient)
        lost = lost_as_solved(state)
        assert leaves == pytest.approx(lost, rel=0.005, abs=1e-6)
        assert air.power == pytest.approx(leaves, rel=1e-9)
        assert abs(state.temperatures.of("inside") - air.low) <= 1.0 + 1e-9


def test_temperature_by_hand() -> None:
    """P20 = 30^2 x (5 + 1 + 2 x 2 x 3.277 mohm) + 10 W = 27.2 W, of which the copper's 11.797 W grow by 0.393 % each kelvin above 20 degC.

    T = 38 + (15.4 + 11.797 (1 + 0.00393 x 18)) / (2.162 - 11.797 x 0.00393) = 51.25 degC. 10 AWG: 3.277 mohm/m (conductor table).
    """
    copper = 900 * 4 * 3.277e-3
    hand = 38 + (900 * 0.006 + 10 + copper * (1 + 0.00393 * 18)) / (CONDUCTANCE - copper * 0.00393)
    study = study_of(text())
    assert hand == pytest.approx(51.25, abs=0.01)
    assert air_of(study).low == pytest.approx(hand, rel=1e-3)
    assert named(study).air("inside") == 52.0
    assert named(study).temperatures.of("inside") == 52.0
    assert named(study).temperatures.outside == 38.0


def test_copper_of_the_solution_is_as_warm_as_the_air() -> None:
    """R(52 degC) = R20 (1 + 0.00393 x 32)."""
    study = study_of(text())
    ohm = named(study).operation.powers["feed"] / 900
    assert ohm == pytest.approx(2 * 3.277e-3 * (1 + 0.00393 * 32), rel=2e-3)


def test_each_state_has_its_own_air() -> None:
    """Idle, 10 W: 38 + 10 / 2.162 = 42.6 degC."""
    study = study_of(text())
    assert air_of(study, "idle").low == pytest.approx(38 + 10 / CONDUCTANCE, rel=1e-6)
    assert named(study, "idle").air("inside") == 43.0
    assert study.hottest_air("inside") == (52.0, named(study))


def test_less_than_half_a_kelvin_is_nothing() -> None:
    assert whole_degree(38.49, 38.0) == 38.0
    assert whole_degree(38.51, 38.0) == 39.0
    assert whole_degree(40.0, 38.0) == 40.0
    assert whole_degree(40.0 + 1e-9, 38.0) == 40.0
    assert whole_degree(38.9, 38.3) == 39.0


@pytest.mark.parametrize(
    "change",
    [
        {"case": "closed"}, {"case": "not closed; size 400 x 300 x 250 mm"}, {"case": "size 400 x 300 x 250 mm"},
        {"case": f"{CASE}; vent low 20 cm2"}, {"case": f"{CASE}; fan"}, {"zone": "in box; 0 degC to 40 degC"}, {"site": ""},
    ],
)  # fmt: skip
def test_what_is_left_alone(change: dict[str, str]) -> None:
    """No size, not closed or not said to be, air that passes without a figure, a range of its own, no ambient: as it was without the sum."""
    study = study_of(text(**change))
    expected = 40.0 if "zone" in change else 20.0 if "site" in change else 38.0
    assert {state.air("inside") for state in study.states} == {expected}
    assert {state.temperatures.of("inside") for state in study.states} == {expected}
    assert study.climate.warmed == {}


@pytest.mark.parametrize(
    ("case", "heat"),
    [("walls pass 8 W/m2K", 8.0), ("vent low 20 cm2; walls pass 9 W/m2K", 9.0), ("fan; with the fan 12 W/m2K", 12.0)],
)
def test_declared_walls_count(case: str, heat: float) -> None:
    study = study_of(text(case=f"{CASE}; {case}"))
    assert air_of(study, "idle").low == pytest.approx(38 + 10 / (heat * 0.47), rel=1e-6)


def test_copper_that_heats_itself_without_end_is_told_and_not_followed() -> None:
    """80 A in 4 m of 18 AWG lose 537 W at 20 degC, 2.1 W more each kelvin: more than 0.01 m2 of walls let out. The other sums keep the air outside."""
    study = study_of(text("80 A", case="closed; size 60 x 40 x 50 mm", wire="18 AWG", battery="internal resistance 1 mohm;"))
    air = air_of(study)
    assert not air.balance
    assert air.used is None
    assert named(study).air("inside") == 38.0
    assert named(study, "idle").solved


def test_no_more_than_a_few_states_are_solved_again() -> None:
    """Of 40 states the sixteen hottest; the air of all is summed."""
    more = "".join(f'state "s{k:02}" {{ heater on at {k} A }}\n' for k in range(1, 41))
    study = study_of(text(more=more), implied=False)
    assert len(study.climate.warmed) == 16
    assert set(study.climate.warmed) <= {f"s{k:02}" for k in range(20, 41)} | {"heating"}
    assert named(study, "s12").temperatures.of("inside") == 38.0
    assert named(study, "s12").air("inside") > 43.0


@pytest.mark.parametrize(
    ("lasts", "own"), [("lasts 29 min", False), ("lasts 31 min", True), ("lasts 10 s", False), ("for 0.4 h/day", False)]
)
def test_a_short_state_begins_in_the_air_of_the_warmest_that_lasts(lasts: str, own: bool) -> None:
    """Readings, L5: states shorter than 30 min do not warm a case. Idle leaves 42.6 degC; heating by itself would make 51.3."""
    study = study_of(text(state=lasts), implied=False)
    assert lasts_long(named(study).setup) is own
    assert air_of(study).low == pytest.approx(51.25 if own else 38 + 10 / CONDUCTANCE, abs=0.06)
    assert air_of(study).state == ("heating" if own else "idle")


def test_a_state_gives_the_ambient_or_the_inside() -> None:
    """Readings, Temperature: what a state gives is the ambient, and the rise is added, unless it says "inside temperature"."""
    cool = study_of(text(state="10 degC"))
    assert air_of(cool).ambient == 10.0
    assert air_of(cool).low == pytest.approx(10 + 13.27, abs=1.5)
    assert named(cool).air("inside") == 23.0
    told = study_of(text(state="inside temperature 47 degC"))
    assert named(told).air("inside") == 47.0
    assert air_of(told).told


def test_what_is_not_declared_counts_at_both_ends() -> None:
    """Without its resistance the battery loses nothing at the kindest, at the harshest what its window of voltage leaves: 30 A x (14.6 - 10 V)."""
    air = air_of(study_of(text(battery="")))
    assert air.lacking is not None
    assert air.lacking.what == "internal resistance of house"
    assert air.low == pytest.approx(51.25 - 4.5 / CONDUCTANCE, abs=0.1)
    assert air.high > air.low + 40


def test_reached_states_have_their_own_air() -> None:
    switched = (
        text(state="knob closed")
        .replace("load heater", "switch knob { line on main.load; in inside }\nload heater")
        .replace("feed from main.load", "feed from knob.load")
    )
    study = study_of(switched, reached=True)
    apart = next(state for state in study.reached if state.name == "heating, knob open")
    assert apart.air("inside") == 43.0
    assert named(study).air("inside") == 52.0


def test_parts_that_lie_in_the_case_itself() -> None:
    study = study_of(text().replace("in inside", "in box").replace("zone inside { in box }\n", ""))
    assert study.summed_zones == {"box"}
    assert named(study).air("box") == 52.0


def test_a_case_of_unknown_size_says_what_is_missing() -> None:
    study = study_of(text(case="closed"))
    found = study.air("inside", named(study))
    assert isinstance(found, Missing)
    assert found.what == "size of box"
