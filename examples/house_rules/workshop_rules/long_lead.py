"""A conductor longer than the workshop allows in a box that it lends."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from ohmwright import tables
from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Severity
from ohmwright.references import Step, common_practice
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown_pair

LENGTHS = tables.load(Path(__file__).with_name("tables"), "lengths")
RULE = Rule(
    id="long-lead",
    title="Lead too long to lend",
    family="house",
    subject="conductor",
    covers=(),
    grades=(Grade("over-house-limit", Severity.WARNING, "the conductor is longer than the workshop allows"),),
    references=(common_practice("house rules of the workshop"),),
)
_GRADE = "over-house-limit"


def check(study: Study) -> Iterator[Outcome]:
    """Hold the length of every conductor against the table of the workshop."""
    volt = study.system_voltage
    row = None if volt is None else next((key for key in LENGTHS.keys if float(key) >= volt), None)
    cell = LENGTHS.cell(row, "longest_m") if row is not None else None
    wires = sorted(study.circuit.wires(), key=lambda wire: wire.name)
    if cell is None:
        yield DoesNotApply("no voltage of the system, or one that the workshop does not lend", max(1, len(wires)))
        return
    for wire in wires:
        conductor = wire.conductor
        if conductor is None or conductor.length is None:
            yield NotChecked(_GRADE, (wire.name,), f"length of {wire.name}", wire.span, declare="0.4 m long")
            continue
        measured = Amount(float(conductor.length.high), "length", conductor.length.unit)
        limit = Amount(cell.value, "length", conductor.length.unit)
        if not is_broken(measured.value, limit.value, "at-most"):
            yield Passed(_GRADE, (wire.name,), measured, limit)
            continue
        long, allowed = shown_pair(measured, limit)
        yield Finding(
            _GRADE,
            (wire.name,),
            f"{wire.name}: it is {long} long; the workshop lends {volt:g} V boxes with leads of at most {allowed}.",
            wire.span,
            measured,
            limit,
            working=(Step("l_max", f"table of the workshop, {row} V", cell.value, "m", cell.place),),
            remedy=f"Make it at most {allowed} long, or give it a plug at {allowed} and lend an extension.",
            reference=cell.reference,
        )
