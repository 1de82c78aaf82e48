"""Condensed circuits say the same as whole ones: what carries no current is left out, wires in series are one, equal circuits are solved once.

What they are held against is the solver itself on the whole network, so these are laws, not published values.
"""

from __future__ import annotations

import random
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from ohmwright.circuit.skeleton import Skeleton, bms_gate
from ohmwright.solver.operation import Operation
from ohmwright.solver.solver import Solver
from ohmwright.study import SolvedState, Study, StudyOptions
from ohmwright.studying import make_study
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.resolve import Loader, Resolved, resolve

FIELD_BOX = (Path(__file__).parents[1] / "data" / "field_box.rig").read_text(encoding="utf-8")
SMALL = """
rig "Small box", revision 1
battery house { LFP, 4 cells, 100 Ah; internal resistance 6 mohm; bms { cuts both } }
battery spare { LFP, 4 cells, 50 Ah; internal resistance 9 mohm }
array roof { Voc 22.6 V; Vmp 18.4 V; Isc 6 A; Imp 5.6 A }
controller sun { PWM; 10 A; absorption 14.2 V }
fuse main 30 A
fuse twin 30 A
switch isolator 40 A
switch back_switch 40 A
diode guard { drops 0.5 V; 10 A }
load lamp 30 W
load fan 2 A
load ring 12 ohm
load beside 3 W
load near 4 W
diode next { drops 0.4 V; 10 A }
relay cut { 20 A; coil 12 V; coil 1 W }
wires 10 AWG, 0.6 m, copper, 105 degC insulation {
  a1 from house.plus to main.line
  a2 from main.load to isolator.line
  a3 from house.plus to twin.line
  a4 from twin.load to isolator.line
  a5 from isolator.load to lamp.plus
  a6 from lamp.minus to back_switch.line
  a7 from back_switch.load to house.minus
  b1 from isolator.load to guard.anode
  b2 from guard.cathode to fan.plus
  b3 from fan.minus to house.minus
  b4 from fan.plus to beside.plus
  b5 from fan.minus to beside.minus
  c1 from spare.plus to isolator.load
  c2 from spare.minus to house.minus
  d1 from roof.plus to sun.pv_plus
  d2 from roof.minus to sun.pv_minus
  d3 from sun.batt_plus to isolator.load
  d4 from sun.batt_minus to house.minus
  e1 from isolator.load to cut.line
  e2 from cut.load to ring.plus
  e3 from ring.minus to house.minus
  e4 from isolator.load to cut.coil_plus
  e5 from cut.coil_minus to house.minus
}
wires 10 AWG, copper, 105 degC insulation {
  f1 from isolator.load to next.anode
  f2 from next.cathode to near.plus
  f3 from near.minus to house.minus
}
state day { isolator, back_switch closed; lamp, fan, ring, beside, near on; sun 80 %; house at 60 %; spare at 55 % }
state night { isolator, back_switch closed; lamp, fan, near on; sun 0 %; house at 40 %; spare at 55 % }
state short { isolator, back_switch closed; lamp on; short at lamp.plus }
"""


@cache
def _study(text: str) -> Study:
    resolved = resolve("box.rig", Loader(MemoryFiles({"box.rig": text})))
    assert isinstance(resolved, Resolved)
    assert not resolved.problems
    return make_study(resolved.build, StudyOptions())


def _whole(study: Study, state: SolvedState) -> Operation:
    return Solver().solve(study.networker.network(state.setup, state.open_gates, state.temperatures))


def _departed(study: Study, seed: int) -> list[SolvedState]:
    choose = random.Random(seed)
    gates = study.circuit.gates()
    found = []
    for state in study.states:
        for _ in range(3):
            moved = set(choose.sample(gates, choose.randint(0, min(3, len(gates)))))
            tripped = frozenset(choose.sample(study.anatomy.batteries, choose.randint(0, 1)))
            setup = replace(state.setup, open_gates=state.setup.open_gates ^ moved, bms_open=tripped)
            found.append(study.solve_setup(setup, state))
    return found


@pytest.mark.parametrize("text", [SMALL, FIELD_BOX], ids=["small", "field"])
@pytest.mark.parametrize("seed", range(3))
def test_departures_say_what_whole_networks_say(text: str, seed: int) -> None:
    study = _study(text)
    compared = 0
    for state in _departed(study, seed):
        told, whole = state.operation, _whole(study, state)
        where = (state.name, state.open_gates ^ study.states[0].open_gates, state.setup.bms_open)
        assert told.solved == whole.solved, where
        if not whole.solved:
            continue
        compared += 1
        largest = max((abs(i) for i in whole.currents.values()), default=0.0) + 1e-3
        for name, current in whole.currents.items():
            assert told.currents.get(name, 0.0) == pytest.approx(current, abs=1e-8 * largest), (where, name)
            assert state.current(name) == told.currents.get(name, 0.0)
        for name, watt in whole.powers.items():
            assert told.powers.get(name, 0.0) == pytest.approx(watt, abs=1e-5), (where, name)
        for node, number in study.networker.number.items():
            one, two = told.voltages[number], whole.voltages[number]
            assert one == (None if two is None else pytest.approx(two, abs=1e-7)), (where, node)
            assert state.voltage(node) == one
        assert told.modes == whole.modes
        assert {(frozenset(i.nodes), i.reference) for i in told.islands} == {
            (frozenset(i.nodes), i.reference) for i in whole.islands
        }
        assert {frozenset(group) for group in told.shared} == {frozenset(group) for group in whole.shared}
    assert compared > 10


def test_states_that_differ_in_what_carries_nothing_are_solved_once() -> None:
    study = _study(SMALL)
    night = study.state("night")
    assert night is not None
    dark = study.solve_setup(replace(night.setup, open_gates=night.setup.open_gates | {"main", "twin"}), night)
    before = study.circuits_solved
    blown = study.solve_setup(replace(night.setup, open_gates=night.setup.open_gates | {"main", "twin", "cut"}), night)
    assert study.circuits_solved == before
    assert blown.point is dark.point
    opened = study.solve_setup(replace(night.setup, open_gates=night.setup.open_gates | {"main"}), night)
    assert opened.point is not dark.point


def test_a_branch_behind_an_open_switch_is_dead_at_its_loose_end() -> None:
    study = _study(SMALL)
    night = study.state("night")
    assert night is not None
    loose = study.solve_setup(replace(night.setup, open_gates=night.setup.open_gates | {"back_switch"}), night)
    assert loose.voltage("lamp.plus") == pytest.approx(loose.voltage("isolator.load"))
    assert loose.voltage("lamp.minus") is None
    assert loose.operation.modes["lamp"] == "dead"


def test_cut_off_raises_the_current_of_constant_power_only() -> None:
    """readings.md, design current: 30 W at the lowest voltage of a 4-cell LFP battery."""
    study = _study(SMALL)
    night = study.state("night")
    assert night is not None
    lowest = study.networker.cut_off
    assert lowest is not None
    assert night.at_cut_off.currents["lamp"] == pytest.approx(30.0 / lowest)
    assert night.at_cut_off.currents["fan"] == pytest.approx(2.0)


def test_chains_end_where_something_else_begins() -> None:
    """A row of five nodes with a branch in the middle: two chains to the middle from the ends, one off it."""
    skeleton = Skeleton([(0, 1), (1, 2), (2, 3), (3, 4), (2, 5)], ["", "s", "", "", "t"], [0, 4], 6, ["house"])
    found = sorted((min(chain.a, chain.b), max(chain.a, chain.b), len(chain.branches)) for chain in skeleton.chains)
    assert found == [(0, 2, 2), (2, 4, 2), (2, 5, 1)]
    assert {chain.gates for chain in skeleton.chains} == {0, skeleton.mask(["s"]), skeleton.mask(["t"])}
    assert skeleton.mask([bms_gate("house")]) not in (0, skeleton.mask(["s", "t"]))


def test_a_ring_of_wires_on_one_node_carries_nothing() -> None:
    skeleton = Skeleton([(0, 1), (1, 2), (2, 0)], ["", "", ""], [0], 3)
    assert skeleton.chains == ()
