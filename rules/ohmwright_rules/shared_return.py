"""A return conductor through which the current of several feeds comes back."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.references import Reference
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair

from ohmwright_rules.basis import Basis
from ohmwright_rules.carrying import Overload, Unjudged, judge_current
from ohmwright_rules.conductors import basis_of, cable_of, gauge_of, is_cord, said_of_missing
from ohmwright_rules.returning import ReturnFlow, return_nodes
from ohmwright_rules.wording import named

RULE = Rule(
    id="shared-return",
    title="Return that several feeds share",
    family="conductors",
    subject="conductor",
    covers=("D11",),
    grades=(
        Grade(
            "over-ampacity", Severity.ERROR, "the sum of what returns through a conductor is larger than its corrected ampacity"
        ),
    ),
    references=(
        Reference("33 CFR 183.425", "as on a law mirror, undated", "(b) and Table 5", "read"),
        Reference("NFPA 70 (NEC)", "2023", "310.15 to 310.17", "secondary"),
        Reference("IEC 60364-5-52", "2009", "Tables B.52.2 to B.52.17", "secondary"),
    ),
)
_GRADE = "over-ampacity"
_NAMED = 4  # so many feeds are named, the rest counted


def check(study: Study) -> Iterator[Outcome]:
    """Hold the sum of what returns through each conductor of the minus side against its ampacity, where several feeds meet in it."""
    basis = basis_of(study)
    nodes = return_nodes(study)
    flows: dict[str, ReturnFlow] = {}
    left = {
        "not on the return side": 0,
        "a cord, which its own table judges (overloaded-cord)": 0,
        "inside a bought device or part of it": 0,
        "the current of one feed only returns through it": 0,
    }
    for wire in study.circuit.wires():
        conductor = wire.conductor
        assert conductor is not None
        if wire.start not in nodes or wire.end not in nodes:
            left["not on the return side"] += 1
        elif conductor.inside_device:
            left["inside a bought device or part of it"] += 1
        elif is_cord(conductor, cable_of(study, wire)):
            left["a cord, which its own table judges (overloaded-cord)"] += 1
        elif basis is None:
            yield NotChecked(_GRADE, (wire.name,), "basis", wire.span, declare=said_of_missing("basis"))
        else:
            outcome = _judge(study, basis, wire, nodes, flows)
            if outcome is None:
                left["the current of one feed only returns through it"] += 1
            else:
                yield outcome
    for condition, count in left.items():
        if count:
            yield DoesNotApply(condition, count)


def _judge(study: Study, basis: Basis, wire: Branch, nodes: frozenset[str], flows: dict[str, ReturnFlow]) -> Outcome | None:
    found = judge_current(study, basis, wire)
    if found is None:
        return None
    name = found.worst.state if isinstance(found, Overload) else found.state
    flow = flows.get(name)
    if flow is None:
        state = study.state(name)
        assert state is not None
        flow = flows[name] = ReturnFlow(study, state, nodes)
    if not flow.several(wire):
        return None
    if isinstance(found, Unjudged):
        return NotChecked(_GRADE, (wire.name,), found.missing, found.place(wire), name, found.declare)
    if not isinstance(found, Overload):
        return Passed(_GRADE, (wire.name,), found.measured, found.limit, state=name)
    senders = flow.senders(wire)
    total = Amount(found.carried.total, "current")
    _, allowed = shown_pair(found.worst.measured, found.worst.limit)
    feeds = [f"{shown(Amount(current, 'current'))} from {sender}" for sender, current in senders[:_NAMED]]
    if len(senders) > _NAMED:
        feeds.append(f"{len(senders) - _NAMED} more")
    if found.worst.measured.value > total.value * (1 + 1e-9):
        allowed += f" against {shown(found.worst.measured)} with the continuous part counted {basis.continuous.value:g} times"
    return Finding(
        _GRADE,
        (wire.name,),
        f"{wire.name}: {shown(total)} returns here {found.loading.when(wire.name)}, {named(feeds)}; this {gauge_of(wire)} is rated "
        f"for {allowed}.",
        wire.span,
        found.worst.measured,
        found.worst.limit,
        state=name,
        states=found.broken,
        working=found.steps,
        remedy=found.remedy(more=", or give each feed a return of its own"),
        related=tuple(
            Related(f"what returns: {feed}", study.span(sender)) for feed, (sender, _) in zip(feeds, senders, strict=False)
        ),
        reference=found.reference,
        at_most=found.at_most,
    )
