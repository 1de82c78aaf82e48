"""A conductor that carries more than its ampacity."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Severity
from ohmwright.references import Reference
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright_grammar.records import draft

from ohmwright_rules.basis import Basis
from ohmwright_rules.carrying import Overload, Unjudged, judge_current
from ohmwright_rules.conductors import basis_of, cable_of, is_cord, said_of_missing

RULE = Rule(
    id="undersized-wire",
    title="Wire carries more than its rating",
    family="conductors",
    subject="conductor",
    covers=("D1", "D3", "D4"),
    grades=(Grade("over-ampacity", Severity.ERROR, "a steady current is larger than the corrected ampacity"),),
    references=(
        Reference("33 CFR 183.425", "as on a law mirror, undated", "(b) and Table 5", "read"),
        Reference("NFPA 70 (NEC)", "2023", "310.15 to 310.17", "secondary"),
        Reference("IEC 60364-5-52", "2009", "Tables B.52.2 to B.52.17", "secondary"),
    ),
)
_GRADE = "over-ampacity"


@draft
class _Left:
    """What does not apply, counted."""

    cords: int = 0
    devices: int = 0
    idle: int = 0


def check(study: Study) -> Iterator[Outcome]:
    """Hold every conductor's worst steady current against its corrected ampacity."""
    basis = basis_of(study)
    left = _Left()
    for wire in study.circuit.wires():
        conductor = wire.conductor
        assert conductor is not None
        if conductor.inside_device:
            left.devices += 1
        elif is_cord(conductor, cable_of(study, wire)):
            left.cords += 1
        elif basis is None:
            yield NotChecked(_GRADE, (wire.name,), "basis", wire.span, declare=said_of_missing("basis"))
        else:
            yield from _judge(study, basis, wire, left)
    mains = sum(1 for branch in study.circuit.ac_branches if branch.conductor is not None)
    for condition, count in (
        ("a cord, which its own table judges (overloaded-cord)", left.cords),
        ("inside a bought device or part of it", left.devices),
        ("carries no steady current in any state", left.idle),
        ("carries mains or an inverter's output", mains),
    ):
        if count:
            yield DoesNotApply(condition, count)


def _judge(study: Study, basis: Basis, wire: Branch, left: _Left) -> Iterator[Outcome]:
    found = judge_current(study, basis, wire)
    if found is None:
        left.idle += 1
    elif isinstance(found, Unjudged):
        yield NotChecked(_GRADE, (wire.name,), found.missing, found.place(wire), found.state, found.declare)
    elif not isinstance(found, Overload):
        yield Passed(_GRADE, (wire.name,), found.measured, found.limit, state=found.state)
    else:
        yield Finding(
            _GRADE,
            (wire.name,),
            f"{wire.name}: {found.words}",
            wire.span,
            found.worst.measured,
            found.worst.limit,
            state=found.worst.state,
            states=found.broken,
            working=found.steps,
            remedy=found.remedy(),
            reference=found.reference,
            at_most=found.at_most,
        )
