"""A load that runs for less than a minute in a whole day (a starter motor) is in no implied state that lasts."""

from __future__ import annotations

import pytest
from ohmwright.study import Study, StudyOptions
from ohmwright.studying import make_study
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.resolve import Loader, Resolved, resolve

BOX = """
rig "Tractor", revision 1
battery crank { flooded; 6 cells; 70 Ah; internal resistance 6 mohm }
load starter { 150 A; motor; SAID }
load lamp { 5 A }
load horn { 3 A }
wires 2 AWG, 1 m {
  a from crank.plus to starter.plus
  b from starter.minus to crank.minus
  c from crank.plus to lamp.plus
  d from lamp.minus to crank.minus
  e from crank.plus to horn.plus
  f from horn.minus to crank.minus
}
"""


def _study(said: str, more: str = "") -> Study:
    resolved = resolve("box.rig", Loader(MemoryFiles({"box.rig": BOX.replace("SAID", said) + more})))
    assert isinstance(resolved, Resolved)
    assert not resolved.problems
    return make_study(resolved.build, StudyOptions())


@pytest.mark.parametrize(("said", "lasts"), [("5 s a day", 5.0), ("59 s a day", 59.0), ("60 s a day", None), ("1 h/day", None)])
def test_how_long_it_runs(said: str, lasts: float | None) -> None:
    study = _study(said)
    together, alone = study.state("all loads on"), study.state("starter on")
    assert together is not None
    assert alone is not None
    assert together.current("crank") == pytest.approx(8.0 if lasts else 158.0)
    assert together.setup.lasts is None
    assert alone.current("crank") == pytest.approx(150.0)
    assert (alone.setup.lasts, alone.setup.is_surge) == ((pytest.approx(lasts), True) if lasts else (None, False))


def test_for_a_moment_it_runs_beside_the_others() -> None:
    state = _study("5 s a day").state("starter beside all loads")
    assert state is not None
    assert state.current("crank") == pytest.approx(158.0)
    assert state.setup.is_surge
    assert _study("1 h/day").state("starter beside all loads") is None


def test_it_takes_no_place_among_loads_that_never_run_together() -> None:
    """Of starter and lamp the larger one would count, but it lasts for a moment only."""
    study = _study("5 s a day", "never together starter, lamp\n")
    together, beside = study.state("all loads on"), study.state("starter beside all loads")
    assert together is not None
    assert beside is not None
    assert set(together.setup.running) == {"lamp", "horn"}
    assert set(beside.setup.running) == {"starter", "horn"}
