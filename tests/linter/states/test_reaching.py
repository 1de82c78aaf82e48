"""Reached states: in which order they come, how they are named, what is barred, and what is counted as left out (design.md section 4)."""

from __future__ import annotations

from pathlib import Path

import pytest
from ohmwright.states.reaching import departures_of, in_words, levers_of, on_paths, what_feeds
from ohmwright.states.setup import Setup
from ohmwright.states.walk import reached_states
from ohmwright.study import Study, StudyOptions
from ohmwright.studying import make_study
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.resolve import Loader, Resolved, resolve

FIELD_BOX = (Path(__file__).parents[1] / "data" / "field_box.rig").read_text(encoding="utf-8")
BOX = """
rig "Sun box", revision 1
battery house { LFP, 4 cells, 100 Ah; internal resistance 6 mohm; bms { cuts both } }
battery spare { LFP, 4 cells, 50 Ah; internal resistance 9 mohm }
array roof { Voc 22.6 V; Vmp 18.4 V; Isc 6 A; Imp 5.6 A }
controller sun { PWM; 10 A; absorption 14.2 V }
fuse main 30 A
breaker side 20 A
switch isolator 40 A
switch lamp_switch 5 A
load lamp 30 W
connector sun_socket with sun_plug { 15 A; pins 1, 2 }
selector choice { 40 A; position "one" joins x; position "two" joins y; position "off" }
wires 10 AWG, 0.6 m, copper, 105 degC insulation {
  a1 from house.plus to main.line
  a2 from main.load to isolator.line
  a3 from isolator.load to choice.common
  b1 from sun.batt_plus to choice.x
  b2 from sun.batt_minus to house.minus
  b3 from roof.plus to sun_plug.1
  b4 from roof.minus to sun_plug.2
  b5 from sun_socket.1 to sun.pv_plus
  b6 from sun_socket.2 to sun.pv_minus
  c1 from choice.x to lamp_switch.line
  c2 from lamp_switch.load to lamp.plus
  c3 from lamp.minus to house.minus
  d1 from spare.plus to side.line
  d2 from side.load to choice.y
  d3 from spare.minus to house.minus
}
state noon { isolator, lamp_switch closed; lamp on; sun 90 %; house at 60 %; choice at one }
"""


def _study(text: str, **options: object) -> Study:
    resolved = resolve("box.rig", Loader(MemoryFiles({"box.rig": text})))
    assert isinstance(resolved, Resolved)
    assert not resolved.problems
    return make_study(resolved.build, StudyOptions(**options))  # type: ignore[arg-type]


def test_single_departures_come_first_in_name_order() -> None:
    study = _study(BOX, implied=False, reached=True)
    singles = [state.name for state in study.reached if " and " not in state.name]
    assert singles == [
        "noon, choice at two",
        "noon, choice at off",
        "noon, the BMS of house open",
        "noon, isolator open",
        "noon, lamp_switch open",
        "noon, main blown",
        "noon, side open",
        "noon, sun_plug apart",
    ]
    assert [state.name for state in study.reached[: len(singles)]] == singles


def test_then_combinations_on_paths_then_other_double_departures() -> None:
    study = _study(BOX, implied=False, reached=True)
    names = [state.name for state in study.reached]
    assert len(set(names)) == len(names)
    triple = "noon, choice at off, isolator open and sun_plug apart"
    double = "noon, main blown and sun_plug apart"
    assert names.index("noon, isolator open and sun_plug apart") < names.index(triple) < names.index(double)
    assert "noon, isolator open, lamp_switch open and sun_plug apart" not in names  # the lamp's switch is on no such path
    assert "noon, lamp_switch open and sun_plug apart" in names
    # 7 levers with 8 ways in all (the selector has two), 4 of the levers on paths by hand: singles, combinations of two and more, other pairs
    on_path = 1
    for ways in (2, 1, 1, 1):
        on_path *= 1 + ways
    pairs = 7 * 6 // 2 + 6  # the selector doubles its six pairs
    met = 4 * 3 // 2 + 3
    assert len(names) == 8 + (on_path - 1 - 5) + (pairs - met)


def test_paths_lead_between_what_feeds_and_what_charges() -> None:
    study = _study(BOX, implied=False)
    assert on_paths(study.circuit, what_feeds(study.circuit)) == {
        "isolator", "main", "side", "sun_socket with sun_plug", "choice at one", "choice at two"
    }  # fmt: skip


def test_failures_are_told_from_what_a_hand_does() -> None:
    study = _study(BOX, implied=False, reached=True)
    failures = {state.name: state.setup.after_failure for state in study.reached}
    assert failures["noon, side open"] == 0  # a hand can open a breaker
    assert failures["noon, main blown"] == 1
    assert failures["noon, the BMS of house open and main blown"] == 2
    assert failures["noon, isolator open and sun_plug apart"] == 0


def test_what_was_left_out_is_counted() -> None:
    everything = _study(BOX, implied=False, reached=True)
    assert everything.not_reached == 0
    study = _study(BOX, implied=False)
    few, left_out = reached_states(study, 10)
    assert [state.name for state in few] == [state.name for state in everything.reached[:10]]
    assert left_out >= len(everything.reached) - 10
    assert reached_states(study, 8)[1] > left_out


def test_mechanical_interlocks_bar_combinations() -> None:
    text = BOX.replace("switch lamp_switch 5 A", "switch lamp_switch { 5 A; never closed with isolator }").replace(
        "state noon { isolator, lamp_switch closed", "state noon { lamp_switch closed"
    )
    names = [state.name for state in _study(text, implied=False, reached=True).reached]
    assert "noon, isolator closed" not in names
    assert "noon, isolator closed and lamp_switch open" in names
    together = text.replace("{ 5 A; never closed with isolator }", "5 A") + "barred together isolator, lamp_switch\n"
    assert [state.name for state in _study(together, implied=False, reached=True).reached] == names


def test_switches_that_move_together_are_one_lever() -> None:
    text = BOX.replace("switch lamp_switch 5 A", "switch lamp_switch { 5 A; moves with isolator }")
    study = _study(text, implied=False, reached=True)
    state = study.state("noon, isolator and lamp_switch open")
    assert state is not None
    assert {"isolator", "lamp_switch"} <= state.open_gates
    assert study.state("noon, lamp_switch open") is None


def test_a_state_that_is_declared_is_not_reached_again() -> None:
    text = BOX + "state parked { lamp_switch closed; lamp on; sun 90 %; house at 60 %; choice at one }\n"
    study = _study(text, implied=False, reached=True)
    names = [state.name for state in study.reached]
    assert "noon, isolator open" not in names
    assert "parked, isolator closed" not in names


def test_without_declared_states_the_implied_ones_are_the_start() -> None:
    text = BOX[: BOX.index("state noon")]
    study = _study(text, reached=True)
    assert study.reached
    assert {state.setup.parent for state in study.reached} <= {state.name for state in study.states}


def test_departures_of_what_is_open_close_it() -> None:
    study = _study(BOX, implied=False)
    levers = {(lever.name, lever.kind): lever for lever in levers_of(study.build, study.circuit, study.anatomy)}
    setup = Setup("x", "declared", frozenset({"isolator", "main", "sun_socket with sun_plug"}), bms_open=frozenset({"house"}))
    assert in_words(departures_of(levers["isolator", "switch"], setup)) == "isolator closed"
    assert in_words(departures_of(levers["sun_socket with sun_plug", "plug"], setup)) == "sun_plug mated"
    assert departures_of(levers["main", "fuse"], setup) == ()
    assert departures_of(levers["house", "bms"], setup) == ()


@pytest.mark.parametrize("most", [50, 400])
def test_reached_states_of_a_larger_box_share_circuits(most: int) -> None:
    study = _study(FIELD_BOX, implied=False)
    states, left_out = reached_states(study, most)
    assert len(states) == most
    assert left_out > 0
    assert len({id(state.point) for state in (*states, *study.states)}) < len(states) + len(study.states)
    assert len({id(state.point) for state in states}) < most
