"""A plug that fits two sockets is in one at a time, in declared, implied and reached states."""

from __future__ import annotations

import pytest
from ohmwright.assuming import everything_assumed
from ohmwright.states.sockets import surplus_matings
from ohmwright.study import Study, StudyOptions
from ohmwright.studying import make_study
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.resolve import Loader, Resolved, resolve

BOX = """
rig "Lantern", revision 1
all wires { 12 AWG; 1 m }
battery first { AGM; 6 cells; 40 Ah; internal resistance 10 mohm }
battery second { AGM; 6 cells; 40 Ah; internal resistance 10 mohm }
connector s1 with plug { 2 pins; 30 A }
connector s2 { 2 pins; 30 A; mates with plug }
load lamp 10 W
wires {
  a from first.plus to s1.1
  b from s1.2 to first.minus
  c from second.plus to s2.1
  d from s2.2 to second.minus
  e from plug.1 to lamp.plus
  f from lamp.minus to plug.2
}
"""


def _study(text: str, reached: bool = False, problems: int = 0) -> Study:
    resolved = resolve("box.rig", Loader(MemoryFiles({"box.rig": BOX + text})))
    assert isinstance(resolved, Resolved)
    assert not resolved.problems
    study = make_study(resolved.build, StudyOptions(reached=reached))
    assert len(study.problems) == problems
    return study


@pytest.mark.parametrize(
    ("text", "wires"),
    [
        ("state A { lamp on }", "a"),
        ("state A { lamp on; plug mated }", "a"),
        ("state A { lamp on; everything else mated }", "a"),
        ("state A { lamp on; s2 mated }", "c"),
        ("state A { lamp on; plug mated; s2 mated }", "c"),
        ("state A { lamp on; s1 apart }", "c"),
        ("state A { lamp on; plug mated; s1 apart }", "c"),
        ("state A { lamp on; plug apart }", ""),
        ("all states { s2 mated }\nstate A { lamp on }", "c"),
        ("all states { s2 mated }\nstate A { lamp on; s1 mated }", "a"),
        ("all states { s1 mated }\nstate A { lamp on; s2 mated }", "c"),
    ],
)
def test_declared(text: str, wires: str) -> None:
    """10 W at about 12.3 V are 0.8 A, from one battery alone."""
    state = _study(text + "\n").state("A")
    assert state is not None
    for name in "ac":
        assert state.current(name) == pytest.approx(0.81 if name in wires else 0.0, abs=0.03), name


def test_both_at_once_cannot_be() -> None:
    study = _study("state A { lamp on; s1 mated; s2 mated }\n", problems=1)
    assert study.problems[0].message == "In state 'A': plug cannot be in two at a time: s1 with plug and s2 with plug."


def test_implied_and_reached_states() -> None:
    study = _study("state A { lamp on; first at 90 % }\n", reached=True)
    for state in study.all_states:
        assert {"s1 with plug", "s2 with plug"} & state.open_gates, state.name
    assert {"s1 with plug apart", "s2 with plug mated"} <= {state.name for state in study.states}
    assert any(state.open_gates == {"s1 with plug"} for state in study.reached)


def test_it_is_told_as_assumed() -> None:
    rows = [row for row in everything_assumed(_study("state A { lamp on }\n")) if row.subject == "plug"]
    assert [(row.what, row.value) for row in rows] == [("mating", "s1 with plug")]


def test_what_cannot_be_made_beside_what_comes_first() -> None:
    """Two plugs, three sockets: one in the first, and the other in what is left."""
    ways = {"p": ("a", "b"), "q": ("b2", "c"), "y": ("b", "b2")}
    assert surplus_matings(ways, ()) == {"b", "c"}
    assert surplus_matings(ways, ("a",)) == {"b2"}
    assert surplus_matings(ways, (), lambda name: 0 if name == "c" else 1) == {"b", "b2"}
