"""An interlock loop whose pins do not part before the power pins, so that the power pins break the current."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.references import common_practice
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair

from ohmwright_rules.basis import get
from ohmwright_rules.conductors import basis_of
from ohmwright_rules.halves import highest_on
from ohmwright_rules.loops import Loop, loops
from ohmwright_rules.terminals import pin_at
from ohmwright_rules.wording import listed

RULE = Rule(
    id="late-interlock",
    title="Interlock pins do not part before the power pins",
    family="connectors",
    subject="interlock loop",
    covers=("G7",),
    grades=(
        Grade("not-first", Severity.NOTE, "the pins of an interlock loop do not part before power pins of up to 60 V"),
        Grade(
            "over-touch-voltage",
            Severity.WARNING,
            "the pins of an interlock loop do not part before power pins of more than 60 V",
        ),
    ),
    references=(common_practice("last make, first break"),),
)
_MISSING = "which pins part first"
_DECLARE = "pins 3, 4 { mate last, part first }"
_NO_LOOP = "there is no interlock loop, and no jumper between two spare pins"
_NO_POWER = "a plug of a loop that has no other contacts"


def check(study: Study) -> Iterator[Outcome]:
    """Compare the pins of every interlock loop with the other pins of each plug that it runs through."""
    found = loops(study)
    if not found:
        yield DoesNotApply(_NO_LOOP)
    contacts: dict[str, list[Branch]] = {}
    for branch in (*study.circuit.branches, *study.circuit.ac_branches):
        if branch.kind == "contact":
            contacts.setdefault(branch.part, []).append(branch)
    alone = 0
    for loop in found:
        own = {branch.name for branch in loop.contacts}
        for mating in loop.matings:
            power = [branch for branch in contacts.get(mating, ()) if branch.name not in own]
            if power:
                yield from _judge(study, loop, [branch for branch in loop.contacts if branch.gate == mating], power)
            else:
                alone += 1
    if alone:
        yield DoesNotApply(_NO_POWER, alone)


def _judge(study: Study, loop: Loop, own: list[Branch], power: list[Branch]) -> Iterator[Outcome]:
    from ohmwright_rules.pin_lengths import length_of, shorter

    lengths = [length_of(study, (branch.start, branch.end)) for branch in power]
    # a loop is opened by the first of its contacts that parts
    verdicts = [shorter(length_of(study, (branch.start, branch.end)), lengths) for branch in own]
    nodes = tuple(branch.start for branch in power)
    said = pin_at(study, own[0].start)
    half = said[0].name if said is not None else own[0].part
    subject = (loop.name, half, *(branch.start for branch in own))
    mains = any(node in study.circuit.ac_nodes for node in nodes)
    line, gap = highest_on(study, nodes)
    touch = (basis_of(study) or get("us-premises")).touch_voltage
    limit = Amount(touch.value, "voltage")
    high = mains or (line is not None and is_broken(line.value, touch.value, "at-most"))
    grade = "over-touch-voltage" if high else "not-first"
    if any(verdict for verdict in verdicts):
        yield Passed(grade, subject)
        return
    span = study.span(half)
    if any(verdict is None for verdict in verdicts):
        yield NotChecked(grade, subject, _MISSING, span, declare=_DECLARE)
        return
    if line is None and not mains and gap is not None:
        yield NotChecked("over-touch-voltage", subject, gap.missing, gap.span, declare=gap.declare)
    pins = listed(branch.start.rpartition(".")[2] for branch in own)
    others = listed(branch.start.rpartition(".")[2] for branch in power)
    at = ""
    if mains:
        at = " of mains"
    elif line is not None:
        volts = Amount(line.value, "voltage")
        at = f" at up to {shown_pair(volts, limit)[0] if high else shown(volts)}"
    yield Finding(
        grade,
        subject,
        f"{loop.words}: on {half} its pins {pins} part no earlier than the power pins {others}, which then break whatever flows{at}.",
        span,
        working=line.steps if line is not None and not mains else (),
        remedy=f"Use shorter contacts for pins {pins} (mate last, part first), or a switch that is opened before the plug can be pulled.",
        related=(Related(f"{loop.words}, the loop", loop.span),),
    )
