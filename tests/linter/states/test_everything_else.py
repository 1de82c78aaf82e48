"""What a state says of everything else: of what it does not name itself, before whatever `all states` says (LANGUAGE.md, States)."""

from __future__ import annotations

import pytest
from ohmwright.states.setup import Setup
from ohmwright.study import StudyOptions
from ohmwright.studying import make_study
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.resolve import Loader, Resolved, resolve

BOX = """
rig "Barn", revision 1
batteries { one { LFP, 4 cells, 60 Ah }; two { LFP, 4 cells, 60 Ah } }
switch house_switch { 40 A }
switch yard { 20 A }
connector socket with tail { 2 pins; 30 A }
loads { lamp 30 W; pump 60 W }
"""


def _setup(every: str, own: str) -> Setup:
    resolved = resolve("barn.rig", Loader(MemoryFiles({"barn.rig": f"{BOX}all states {{ {every} }}\nstate A {{ {own} }}\n"})))
    assert isinstance(resolved, Resolved)
    assert not resolved.problems
    study = make_study(resolved.build, StudyOptions(implied=False))
    assert not study.problems
    return study.states[0].setup


@pytest.mark.parametrize(
    ("every", "own", "one", "two"),
    [
        ("everything else at 50 %", "everything else at 100 %", 1.0, 1.0),
        ("one at 50 %", "everything else at 100 %", 1.0, 1.0),
        ("one at 50 %", "two at 90 %", 0.5, 0.9),
        ("everything else at 50 %", "two at 90 %", 0.5, 0.9),
        ("everything else at 50 %", "everything else at 100 %; two at 90 %", 1.0, 0.9),
        ("everything else at 50 %", "two at 90 %; everything else at 100 %", 1.0, 0.9),
        ("two at 40 %; everything else at 50 %", "lamp on", 0.5, 0.4),
    ],
)
def test_charge(every: str, own: str, one: float, two: float) -> None:
    levels = _setup(every, own).levels
    assert (levels["one"].value, levels["two"].value) == (one, two)


@pytest.mark.parametrize(
    ("every", "own", "running"),
    [
        ("everything else off", "everything else on", {"lamp", "pump"}),
        ("everything else on", "everything else off", set()),
        ("everything else on", "lamp off", {"pump"}),
        ("lamp on", "everything else off", set()),
        ("lamp off", "everything else on", {"lamp", "pump"}),
        ("lamp on", "pump on", {"lamp", "pump"}),
        ("everything else on", "pump on; everything else off", {"pump"}),
    ],
)
def test_loads(every: str, own: str, running: set[str]) -> None:
    assert set(_setup(every, own).running) == running


@pytest.mark.parametrize(
    ("every", "own", "opened"),
    [
        ("everything else open", "everything else closed", set()),
        ("everything else closed", "everything else open", {"house_switch", "yard"}),
        ("everything else closed", "everything else off", {"house_switch", "yard"}),
        ("everything else open", "everything else on", set()),
        ("everything else closed", "yard open", {"yard"}),
        ("house_switch closed", "everything else open", {"yard"}),  # names of `all states` stand for switches
        ("house_switch closed", "everything else off", {"yard"}),
        ("house_switch closed", "everything else on", {"yard"}),  # on: only where no switch is named
        ("lamp on", "everything else off; everything else closed", set()),
    ],
)
def test_switches(every: str, own: str, opened: set[str]) -> None:
    assert _setup(every, own).open_gates == opened


@pytest.mark.parametrize(
    ("every", "own", "apart"),
    [
        ("everything else apart", "everything else mated", False),
        ("everything else mated", "everything else apart", True),
        ("tail apart", "everything else mated", False),
        ("everything else apart", "tail mated", False),
        ("everything else apart", "lamp on", True),
    ],
)
def test_plugs(every: str, own: str, apart: bool) -> None:
    gates = _setup(every, own).open_gates - {"house_switch", "yard"}
    assert bool(gates) is apart
