"""A sense, meter or control lead that is taken from the battery side without a fuse of its own."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.findings import Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.references import Reference
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.distribution import Meter

from ohmwright_rules.conductors import gauge_of, said_of_missing
from ohmwright_rules.standing import Left, standings
from ohmwright_rules.unfused import Run, Unfused, length_steps, unfused

RULE = Rule(
    id="unfused-sense-lead",
    title="Sense, meter or control lead without a fuse",
    family="protection",
    subject="conductor",
    covers=("F17",),
    grades=(Grade("unfused", Severity.ERROR, "a lead that only senses, feeds a meter or controls something runs from the battery side without a device near its source"),),
    references=(
        Reference("46 CFR 120.380", "as on a law mirror, undated", "(c): control, interlock and indicator circuits", "read"),
        Reference("33 CFR 183.455", "as on a law mirror, undated", "(b): distances", "read"),
    ),
)  # fmt: skip
NUMBERS = ("fuse_distance", "fuse_distance_enclosed")
_GRADE = "unfused"


def check(study: Study) -> Iterator[Outcome]:
    """Look for a device before every lead that senses, feeds a meter or controls."""
    found = unfused(study)
    wanted = [wire for wire in study.circuit.wires() if _is_thin_job(study, wire)]
    if found is None:
        for wire in wanted:
            yield NotChecked(_GRADE, (wire.name,), "basis", wire.span, declare=said_of_missing("basis"))
        return
    names = {wire.name for wire in wanted}
    left = Left()
    for wire in standings(study, found.guard, left) if names else ():
        if wire.name not in names:
            continue
        run = found.of(wire)
        if run is None or (not run.distance.is_error and run.distance.missing is None):
            yield Passed(_GRADE, (wire.name,))
        elif run.distance.missing is not None:
            yield run.distance.missing.outcome(_GRADE, (wire.name,))
        else:
            yield _finding(study, found, run)


def _is_thin_job(study: Study, wire: Branch) -> bool:
    """Tell whether a conductor only senses, controls, or ends at a meter."""
    conductor = wire.conductor
    assert conductor is not None
    if conductor.job in ("sense", "control") or conductor.senses_for is not None:
        return True
    return conductor.job is None and any(
        isinstance(study.part(study.build.nodes.get(node, "")), Meter) for node in (wire.start, wire.end)
    )


def _finding(study: Study, found: Unfused, run: Run) -> Finding:
    stretch, distance = run.stretch, run.distance
    wire = stretch.wire
    conductor = wire.conductor
    assert conductor is not None
    size = gauge_of(wire)
    job = {"sense": "sense lead", "control": "control lead"}.get(conductor.job or "", "lead of a meter")
    what = f"{size} {job}" if size else job
    near = found.guard.basis.fuse_distance
    within = f"{shown(Amount(near.value, 'length', distance.limit.unit))} ({near.words})"
    if distance.kind == "missing":
        text = f"no fuse or breaker stands between {stretch.origin} and this {what}, nor beyond it; {stretch.source.name} can burn it from end to end when it is pinched"
    else:
        measured, allowed = shown_pair(distance.measured, distance.limit)
        text = f"this {what} ends {measured} from {stretch.origin} without a fuse or breaker; {allowed} is allowed"
    missing = distance.kind == "missing"
    return Finding(
        _GRADE,
        (wire.name,),
        f"{wire.name}: {text}.",
        wire.span,
        None if missing else distance.measured,
        None if missing else distance.limit,
        working=length_steps(stretch),
        remedy=f"Put a fuse of 1 A or less, or as much as the instrument needs, within {within} of {stretch.origin}.",
        related=(Related(f"the source {stretch.source.name}", study.span(stretch.source.part.name)),),
    )
