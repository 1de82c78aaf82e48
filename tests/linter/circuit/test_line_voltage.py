"""Which node voltages are against, and what a low-voltage disconnect measures: the sums are worked beside each case."""

from __future__ import annotations

import pytest
from ohmwright.circuit.banks import inner_batteries
from ohmwright.circuit.making import make_circuit
from ohmwright.study import SolvedState, Study, StudyOptions
from ohmwright.studying import make_study
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.resolve import Loader, Resolved, resolve

HEAD = 'rig "Blocks", revision 1\nall wires { copper; 8 AWG; 0.1 m }\n'
BLOCK = "AGM; 6 cells; 100 Ah; rest 12.3 V at 50 %, 12.9 V at 100 %; internal resistance 5 mohm"
STRING = (
    HEAD + f"battery low {{ {BLOCK} }}\nbattery high {{ {BLOCK} }}\n"
    "disconnect cut { 40 A; opens at 23.6 V; closes at 25.4 V }\nload lamp { 24 W }\n"
    "wire a from high.plus to cut.line\nwire b from cut.load to lamp.plus\nwire c from lamp.minus to low.minus\n"
    "wire d from low.plus to high.minus\n"
)
SENSE = "wire e from cut.minus to low.minus\n"


def _study(text: str) -> Study:
    resolved = resolve("build.rig", Loader(MemoryFiles({"build.rig": text})))
    assert isinstance(resolved, Resolved)
    assert [problem.message for problem in resolved.problems] == []
    return make_study(resolved.build, StudyOptions(implied=False))


def _state(text: str) -> SolvedState:
    return _study(text).states[0]


def test_voltages_are_against_the_lower_end_of_a_string() -> None:
    """Two blocks of 12.9 V: 0, 12.9 and 25.8 V, though the upper one comes first by name."""
    state = _state(STRING + "state full { everything else at 100 % }\n")
    volts = [state.voltage(node) for node in ("low.minus", "high.minus", "high.plus")]
    assert volts == pytest.approx([0.0, 12.9, 25.8])


@pytest.mark.parametrize("sense", [SENSE, ""])
@pytest.mark.parametrize(("level", "closed"), [("90 %", True), ("40 %", False)])
def test_disconnect_sees_the_whole_string(sense: str, level: str, closed: bool) -> None:
    """12.3 V at 50 % and 12.9 V at 100 % make 25.56 V for two blocks at 90 %; below 50 % they stay at 24.6 V or less."""
    text = STRING.replace("23.6 V", "24.8 V") + sense
    state = _state(text + f"state A {{ lamp on; everything else at {level} }}\n")
    assert ("cut" not in state.open_gates) is closed
    seen = state.line_voltage("cut")
    assert seen is not None
    assert 24.0 < seen < 25.7


def test_disconnect_measures_against_its_own_minus() -> None:
    """12.9 V behind 5 mohm; 10 A through 0.1 ohm in the way back lift its minus by 1 V, so that it sees 11.85 V less 10 mV in wires."""
    text = (
        HEAD + f"battery house {{ {BLOCK} }}\ndisconnect cut {{ 40 A; opens at 12 V; closes at 13 V }}\nload lamp {{ 10 A }}\n"
        "resistor back 0.1 ohm\nwire a from house.plus to cut.line\nwire b from cut.load to lamp.plus\n"
        "wire c from lamp.minus to back.a\nwire d from back.b to house.minus\nwire e from cut.minus to back.a\n"
        "state A { lamp on; cut closed; house at 100 % }\nstate B { lamp on; house at 100 % }\n"
    )
    told, free = _study(text).states
    assert told.line_voltage("cut") == pytest.approx(11.85, abs=0.02)
    assert free.unsettled == ("cut",) or "cut" in free.open_gates


def test_inner_batteries() -> None:
    resolved = resolve("build.rig", Loader(MemoryFiles({"build.rig": STRING})))
    assert isinstance(resolved, Resolved)
    assert inner_batteries(make_circuit(resolved.build)) == {"high"}
    single = resolve("build.rig", Loader(MemoryFiles({"build.rig": HEAD + "battery one { AGM; 6 cells }\n"})))
    assert isinstance(single, Resolved)
    assert inner_batteries(make_circuit(single.build)) == frozenset()
