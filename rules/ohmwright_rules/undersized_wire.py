"""A conductor that carries more than its ampacity."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Severity
from ohmwright.references import Reference
from ohmwright.rules import Case, Grade, Rule, compare
from ohmwright.study import SolvedState, Study
from ohmwright.values import Amount, shown_pair

from ohmwright_rules.ampacity import Ampacity, Demand, Unknown, ampacity, demand
from ohmwright_rules.basis import Basis
from ohmwright_rules.conductors import basis_of, laying_of, said_of_missing
from ohmwright_rules.sizing import smallest_for_current

RULE = Rule(
    id="undersized-wire",
    title="Wire carries more than its rating",
    family="conductors",
    subject="conductor",
    covers=("D1", "D3", "D4"),
    grades=(Grade("over-ampacity", Severity.ERROR, "a steady current is larger than the corrected ampacity"),),
    references=(
        Reference("33 CFR 183.425(b) and Table 5", "", "", "read"),
        Reference("NFPA 70", "2023", "310.15 to 310.17", "secondary"),
    ),
)


def check(study: Study) -> Iterator[Outcome]:
    """Hold every conductor's worst steady current against its corrected ampacity."""
    basis = basis_of(study)
    exempt = 0
    for wire in study.circuit.wires():
        conductor = wire.conductor
        assert conductor is not None
        if conductor.inside_device or conductor.cable_kind == "flexible cord":
            exempt += 1
            continue
        if basis is None:
            yield NotChecked("over-ampacity", (wire.name,), "basis", wire.span, declare="basis us-small-craft")
            continue
        yield from _judge(study, basis, wire)
    if exempt:
        yield DoesNotApply("part of a bought device, or a cord (judged by its own table)", exempt)


def _judge(study: Study, basis: Basis, wire: Branch) -> Iterator[Outcome]:
    cases: list[Case] = []
    for case in study.currents_of(wire.name):
        state = case.state
        if state.setup.is_surge and not state.setup.repeats:
            continue
        current = case.current
        if state.setup.is_surge:
            assert state.setup.lasts is not None and state.setup.returns_after is not None
            current *= (state.setup.lasts / (state.setup.lasts + state.setup.returns_after)) ** 0.5
        laying = laying_of(study, wire, state)
        rated = laying if isinstance(laying, Unknown) else ampacity(basis, laying)
        if isinstance(rated, Unknown):
            yield NotChecked("over-ampacity", (wire.name,), rated.missing, wire.span, declare=said_of_missing(rated.missing))
            return
        cases.append(_case(basis, state, current, rated))
    if not cases:
        yield DoesNotApply("carries no steady current in any state")
        return
    worst, broken = compare(cases, "at-most")
    if not broken:
        yield Passed("over-ampacity", (wire.name,), worst.measured, worst.limit, state=worst.state)
        return
    note = worst.note
    assert isinstance(note, tuple)
    rated, asked = note
    assert isinstance(rated, Ampacity) and isinstance(asked, Demand)
    measured, allowed = shown_pair(worst.measured, worst.limit)
    conductor = wire.conductor
    assert conductor is not None and conductor.gauge is not None
    laying = laying_of(study, wire, study.state(worst.state))
    assert not isinstance(laying, Unknown)
    larger = smallest_for_current(basis, laying, asked)
    size = f"Use {larger.gauge.text} or larger" if larger is not None else "No listed size carries it: split the load"
    yield Finding(
        "over-ampacity",
        (wire.name,),
        f"{wire.name}: {measured} flows here in state {worst.state!r}; this {conductor.gauge.text} is rated for {allowed}.",
        wire.span,
        worst.measured,
        worst.limit,
        state=worst.state,
        states=broken,
        working=(*rated.steps, *asked.steps),
        remedy=f"{size}, or bring the current to {allowed} or less.",
        reference=rated.weakest,
    )


def _case(basis: Basis, state: SolvedState, current: float, rated: Ampacity) -> Case:
    """Return what a state asks of the conductor: on bases that multiply continuous current, the harder of the two tests."""
    asked = demand(basis, current if state.setup.is_continuous else 0.0, 0.0 if state.setup.is_continuous else current)
    by_table = asked.table / rated.table_value
    by_corrected = asked.corrected / rated.value
    if by_table > by_corrected and asked.table > asked.corrected:
        measured, limit = asked.table, rated.table_value
    else:
        measured, limit = asked.corrected, rated.value
    return Case(state.name, Amount(measured, "current"), Amount(limit, "current"), (rated, asked))
