"""A state can switch converters and charge controllers off, as it can loads and chargers: they then neither take nor give."""

from __future__ import annotations

import pytest
from ohmwright.study import Study, StudyOptions
from ohmwright.studying import make_study
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.resolve import Loader, Resolved, resolve

BOX = """
rig "Kiosk", revision 1
battery house { LFP, 4 cells, 60 Ah; internal resistance 6 mohm }
converter step { output 24 V; input 9 V to 15 V; efficiency 90 %; draws 50 mA with no load }
load sign 24 W
array roof { Voc 20 V; Vmp 16.5 V; Isc 5 A; Imp 4.6 A; Voc falls 0.3 %/K }
controller pump { MPPT; 10 A; absorption 14.2 V }
wires 10 AWG, 0.6 m, copper {
  a from house.plus to step.in_plus
  b from step.in_minus to house.minus
  c from step.out_plus to sign.plus
  d from sign.minus to step.out_minus
  e from roof.plus to pump.pv_plus
  f from pump.pv_minus to roof.minus
  g from pump.batt_plus to house.plus
  h from house.minus to pump.batt_minus
}
state "open" { sign on; sun 100 % }
state "shut" { sign on; sun 100 %; WHAT off }
"""


def _study(what: str) -> Study:
    resolved = resolve("box.rig", Loader(MemoryFiles({"box.rig": BOX.replace("WHAT", what)})))
    assert isinstance(resolved, Resolved)
    assert not resolved.problems
    study = make_study(resolved.build, StudyOptions(reached=True))
    assert not study.problems
    return study


@pytest.mark.parametrize(("what", "branch", "flows"), [("step", "a", 24 / 0.9 / 13.2), ("pump", "g", 4.6 * 16.5 / 13.2)])
def test_what_is_off_neither_takes_nor_gives(what: str, branch: str, flows: float) -> None:
    study = _study(what)
    state_open, shut = study.state("open"), study.state("shut")
    assert state_open is not None
    assert shut is not None
    assert abs(state_open.current(branch)) == pytest.approx(
        flows, rel=0.1
    )  # power over voltage; losses and cell temperature aside
    assert shut.current(branch) == 0.0
    assert shut.setup.off == {what}
    assert not state_open.setup.off
    assert all(
        reached.setup.off == study.state(reached.setup.parent).setup.off
        for reached in study.reached
        if study.state(reached.setup.parent)
    )  # type: ignore[union-attr]
