"""What is always on runs in every declared and implied state, wherever it is fed (declared data: "meant to be always on"; catalogue, K3)."""

from __future__ import annotations

import pytest
from ohmwright.states.setup import Running
from ohmwright.study import Study, StudyOptions
from ohmwright.studying import make_study
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.resolve import Loader, Resolved, resolve

BOX = """
rig "Relay station", revision 1
battery house { LFP, 4 cells, 60 Ah; internal resistance 6 mohm }
switch isolator 40 A
load receiver { 50 mA; always on }
load lamp 30 W
load heater 60 W
inverter mill { 300 W; draws 8 W with no load; always on }
wires 10 AWG, 0.6 m, copper {
  a from house.plus to isolator.line
  b from house.plus to receiver.plus
  c from receiver.minus to house.minus
  d from isolator.load to lamp.plus
  e from lamp.minus to house.minus
  f from isolator.load to heater.plus
  g from heater.minus to house.minus
  h from house.plus to mill.plus
  i from mill.minus to house.minus
}
"""
EVENING = 'state "evening" { isolator closed; lamp on }\n'


def _study(text: str) -> Study:
    resolved = resolve("box.rig", Loader(MemoryFiles({"box.rig": text})))
    assert isinstance(resolved, Resolved)
    assert not resolved.problems
    study = make_study(resolved.build, StudyOptions())
    assert not study.problems
    return study


def test_it_takes_its_current_in_every_state() -> None:
    study = _study(BOX + EVENING + 'state "shut" { isolator open; everything else off }\n')
    assert {"evening", "shut", "resting", "heater on", "all loads on"} <= {state.name for state in study.states}
    for state in study.states:
        assert state.current("receiver") == pytest.approx(0.05), state.name
        assert state.current("mill") > 0.5, state.name
    evening = study.state("evening")
    assert evening is not None
    assert "heater" not in evening.setup.running


def test_there_is_no_state_of_its_own_for_it() -> None:
    """Its state would be that in which everything rests."""
    names = [state.name for state in _study(BOX).states]
    assert "receiver on" not in names
    assert "lamp on" in names


def test_a_state_that_names_it_decides() -> None:
    study = _study(BOX + 'state "mute" { receiver off; mill off }\nstate "loud" { receiver on at 80 mA }\n')
    mute, loud = study.state("mute"), study.state("loud")
    assert mute is not None and loud is not None
    assert (mute.current("receiver"), mute.current("mill")) == (0.0, 0.0)
    assert loud.setup.running["receiver"] == Running(current=0.08)


def test_of_loads_that_never_run_together_the_one_that_is_always_on_runs() -> None:
    study = _study(BOX.replace("load lamp 30 W", "load lamp { 30 W; always on }") + "never together lamp, heater\n")
    everything = study.state("resting")  # no load is left that could be switched on beside it
    assert everything is not None
    assert set(everything.setup.running) == {"receiver", "lamp"}
    assert study.state("all loads on") is None
