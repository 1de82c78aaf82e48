"""A controller with a common positive whose negative terminals are joined outside of it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.references import common_practice
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright_grammar.kinds.controller import Controller
from ohmwright_grammar.kinds.enclosure import Enclosure

from ohmwright_rules.missing import Missing
from ohmwright_rules.wording import listed

RULE = Rule(
    id="bypassed-controller",
    title="Common-positive controller bypassed by its negatives",
    family="controllers",
    subject="controller",
    covers=("B9",),
    grades=(
        Grade("panel-negative", Severity.ERROR, "the panel's negative is joined to the battery's or to a case outside of the controller"),
        Grade("load-negative", Severity.ERROR, "the negative of the load output is joined to the battery's or to a case outside of the controller"),
    ),
    references=(common_practice("a practitioner's report of common-positive controllers on negative-bonded systems"),),
)  # fmt: skip
_NEGATIVES = (("panel-negative", "pv_minus", "panel's negative"), ("load-negative", "load_minus", "load output's negative"))
_UNUSED = "nothing hangs on its negative terminals"


def check(study: Study) -> Iterator[Outcome]:
    """Look for ways around every controller that switches its negatives."""
    left: Counter[str] = Counter()
    for controller in sorted(study.of(Controller), key=lambda part: part.name):
        nodes = study.circuit.nodes_of(controller.name)
        used = [item for item in _NEGATIVES if f"{controller.name}.{item[1]}" in nodes]
        if not used:
            left[_UNUSED] += 1
        for grade, terminal, words in used:
            yield _judge(study, controller, grade, terminal, words)
    for condition, count in sorted(left.items()):
        yield DoesNotApply(condition, count)


def _judge(study: Study, controller: Controller, grade: str, terminal: str, words: str) -> Outcome:
    subject = (controller.name,)
    if controller.common_pole == "negative" or controller.says_none(Controller.common_pole):
        return Passed(grade, subject)
    way = _way_around(study, controller.name, terminal)
    if way is None:
        return Passed(grade, subject)
    if controller.common_pole is None:
        return Missing("pole that its inputs and outputs have in common", controller.span, "common negative").outcome(
            grade, subject
        )
    branches, case = way
    at = f"the case {case}" if case else f"{controller.name}.batt_minus"
    if terminal == "pv_minus":
        effect = "The panel charges past it, without an end."
        remedy = f"Use a controller with a common negative, or take the panel's negative to {controller.name}.pv_minus alone."
    else:
        effect = "What hangs on the load output stays on, whatever it switches off."
        remedy = (
            f"Use a controller with a common negative, or bring the loads' negatives to {controller.name}.load_minus alone."
        )
    return Finding(
        grade,
        (controller.name, *dict.fromkeys(branch.part or branch.name for branch in branches if branch.kind in ("wire", "contact"))),
        f"{controller.name}: it has a common positive and switches its negatives, but its {words} is joined to {at} outside of it"
        f"{_words(branches)}. {effect}",
        controller.span,
        remedy=remedy,
        related=(
            Related("its common pole", controller.place_of(Controller.common_pole)),
            *(Related(branch.name, branch.span) for branch in branches if branch.kind == "wire"),
        ),
    )  # fmt: skip


def _way_around(study: Study, name: str, terminal: str) -> tuple[tuple[Branch, ...], str] | None:
    """Return the shortest way from a negative terminal to the battery's or to a case, not through the controller, and that case ("" for the battery).

    None where there is none. Where a case is said to be bonded counts as the case.
    """
    cases = {node: case.name for case in study.of(Enclosure) for node in (case.name, *(case.bonded_at or ()))}
    ends = {f"{name}.batt_minus", *cases}
    start = f"{name}.{terminal}"
    way = study.circuit.path(
        start, ends, lambda branch: not (branch.kind == "inside" and branch.part == name) and branch.kind != "resistor"
    )
    if way is None:
        return None
    node = start
    for branch in way:
        node = branch.other(node)
    return way, cases.get(node, "")


def _words(branches: tuple[Branch, ...]) -> str:
    wires = list(dict.fromkeys(branch.name for branch in branches if branch.kind == "wire"))
    return f" by {listed(wires)}" if wires else ""
