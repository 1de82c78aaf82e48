"""A flexible cord that carries more than a cord may."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Severity
from ohmwright.references import Reference
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study

from ohmwright_rules.basis import Basis
from ohmwright_rules.carrying import Held, Overload, Unjudged, judge_current
from ohmwright_rules.conductors import CABLE_KIND, basis_of, said_of_missing
from ohmwright_rules.cords import Cord, cords_of
from ohmwright_rules.verdicts import times_allowed

RULE = Rule(
    id="overloaded-cord",
    title="Cord carries more than a cord may",
    family="conductors",
    subject="cable",
    covers=("D7",),
    grades=(Grade("over-cord-table", Severity.ERROR, "a steady current is larger than the cord's value, unwound"),),
    references=(
        Reference("NFPA 70 (NEC)", "2023", "Table 400.5(A)(1)", "secondary"),
        Reference("BS 7671", "", "Table 4F1A", "secondary"),
    ),
)
_GRADE = "over-cord-table"


def check(study: Study) -> Iterator[Outcome]:
    """Hold the worst steady current of every flexible cord against its own table, or its marking."""
    basis = basis_of(study)
    idle = others = 0
    for cord in cords_of(study):
        if cord.kind_known and not cord.is_cord:
            others += 1
        elif basis is None:
            yield NotChecked(_GRADE, cord.subject, "basis", cord.span, declare=said_of_missing("basis"))
        else:
            outcome = _judge(study, basis, cord)
            idle += outcome is None
            if outcome is not None:
                yield outcome
    if others:
        yield DoesNotApply("a cable of another kind, which the table of wires judges (undersized-wire)", others)
    if idle:
        yield DoesNotApply("carries no steady current in any state", idle)


def _judge(study: Study, basis: Basis, cord: Cord) -> Outcome | None:
    """Return what is said of the worst core; None where no core carries a steady current."""
    judged = [judge_current(study, basis, core, as_cord=True) for core in cord.cores]
    over = [item for item in judged if isinstance(item, Overload)]
    unjudged = next((item for item in judged if isinstance(item, Unjudged)), None)
    held = [item for item in judged if isinstance(item, Held)]
    if not cord.kind_known and (over or unjudged):
        return NotChecked(_GRADE, cord.subject, CABLE_KIND, cord.span, declare=said_of_missing(CABLE_KIND))
    if over:
        worst = max(over, key=lambda item: times_allowed(item.worst.measured.value, item.worst.limit.value))
        return Finding(
            _GRADE,
            cord.subject,
            f"{cord.name}: {worst.words}",
            cord.span,
            worst.worst.measured,
            worst.worst.limit,
            state=worst.worst.state,
            states=worst.broken,
            working=worst.steps,
            remedy=worst.remedy(),
            reference=worst.reference,
            at_most=worst.at_most,
        )
    if unjudged is not None:
        place = unjudged.datum.span if unjudged.datum is not None else cord.span
        return NotChecked(_GRADE, cord.subject, unjudged.missing, place, unjudged.state, unjudged.declare)
    if not held:
        return None
    near = max(held, key=lambda item: times_allowed(item.measured.value, item.limit.value))
    return Passed(_GRADE, cord.subject, near.measured, near.limit, state=near.state)
