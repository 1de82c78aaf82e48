"""A conductor whose length nobody said."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Severity
from ohmwright.references import common_practice
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright_grammar.kinds.connector import Jumper

from ohmwright_rules.conductors import cables_of

RULE = Rule(
    id="missing-length",
    title="Conductor without a length",
    family="wiring",
    subject="conductor",
    covers=("D15",),
    grades=(Grade("not-said", Severity.NOTE, "the length of a conductor is not said", absence="itself"),),
    references=(common_practice(),),
)
_GRADE = "not-said"
_REMEDY = 'Measure it one way, slack included, and say it in its block, for example "0.4 m long".'


def check(study: Study) -> Iterator[Outcome]:
    """Ask every conductor for its length, and name what could not be checked without it."""
    mains = frozenset(branch.name for branch in study.circuit.ac_branches)
    devices = jumpers = 0
    silent: dict[str, list[Branch]] = {}
    for wire in sorted((*study.circuit.wires(), *_ac_wires(study)), key=lambda branch: branch.name):
        conductor = wire.conductor
        assert conductor is not None
        if conductor.inside_device:
            devices += 1
        elif isinstance(conductor, Jumper):
            jumpers += 1
        elif conductor.length is not None:
            yield Passed(_GRADE, (wire.name,))
        else:
            silent.setdefault(wire.part, []).append(wire)
    for whole, wires in sorted(silent.items()):
        yield _finding(study, whole, wires, mains)
    if devices:
        yield DoesNotApply("inside a bought device or part of it", devices)
    if jumpers:
        yield DoesNotApply("a jumper inside a connector half", jumpers)


def _ac_wires(study: Study) -> Iterator[Branch]:
    return (branch for branch in study.circuit.ac_branches if branch.conductor is not None)


def _finding(study: Study, whole: str, wires: list[Branch], mains: frozenset[str]) -> Finding:
    """Return the finding on a wire, or on a cable and those of its cores that say nothing."""
    cores = [wire.name for wire in wires if wire.name != whole]
    conductor = wires[0].conductor
    assert conductor is not None
    unchecked = []
    if any(wire.name not in mains for wire in wires):
        unchecked.append("the distance to its fuse")
        if conductor.measured_resistance is None:
            unchecked[:0] = ["its voltage drop", "a short at its far end"]
    text = f"{whole}: its length is not said"
    if unchecked:
        text += f"; without it these are not checked: {', '.join(unchecked)}"
        if conductor.measured_resistance is None:
            text += ". In the solved circuit it counts as 0 ohm, which flatters drop"
    else:
        text += ", so that nobody can cut it to length"
    cable = cables_of(study).get(whole)
    span = cable.span if cable is not None else wires[0].span
    return Finding(_GRADE, (whole, *cores), f"{text}.", span, remedy=_REMEDY)
