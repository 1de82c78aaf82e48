"""A controller with a common positive whose negative terminals are joined outside of it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import common_practice
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright_grammar.kinds.controller import Controller
from ohmwright_grammar.kinds.enclosure import Enclosure

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
_NEGATIVES = (("panel-negative", "pv", "panel's negative"), ("load-negative", "load", "load output's negative"))
_UNUSED = "nothing hangs on its negative terminals"


def check(study: Study) -> Iterator[Outcome]:
    """Look for ways around every controller that switches its negatives."""
    left: Counter[str] = Counter()
    for controller in sorted(study.of(Controller), key=lambda part: part.name):
        used = False
        for grade, side, words in _NEGATIVES:
            starts = _negatives(study, controller.name, side)
            if starts:
                used = True
                yield _judge(study, controller, grade, starts, words)
        if not used:
            left[_UNUSED] += 1
    for condition, count in sorted(left.items()):
        yield DoesNotApply(condition, count)


def _negatives(study: Study, name: str, side: str) -> tuple[str, ...]:
    """Return the negatives of one side of a controller: its terminal, and the far ends of what hangs on the plus of that side alone."""
    circuit = study.circuit
    nodes = circuit.nodes_of(name)
    found = [terminal] if (terminal := f"{name}.{side}_minus") in nodes else []
    if f"{name}.{side}_plus" in nodes:

        def outside(branch: Branch) -> bool:
            return not (branch.kind == "inside" and branch.part == name)

        near = circuit.reach(f"{name}.{side}_plus", outside)
        if f"{name}.batt_plus" not in near:  # else what hangs there may hang on the battery
            if side == "load":
                found += [
                    consumer.minus for consumer in circuit.consumers if consumer.plus in near and consumer.part.name != name
                ]
            else:
                found += _bottoms(study, near, outside)
    return tuple(dict.fromkeys(found))


def _bottoms(study: Study, near: set[str], passes: Callable[[Branch], bool]) -> list[str]:
    """Return the lower ends of the strings of arrays that begin at some nodes."""
    arrays = [source for source in study.circuit.sources if source.kind == "array"]
    found: list[str] = []
    seen: set[str] = set()
    while near:
        here = [source for source in arrays if source.plus in near and source.name not in seen]
        seen |= {source.name for source in here}
        near = set()
        for source in here:
            below = study.circuit.reach(source.minus, passes)
            if any(other.plus in below for other in arrays if other.name not in seen):
                near |= below
            else:
                found.append(source.minus)
    return found


def _judge(study: Study, controller: Controller, grade: str, starts: tuple[str, ...], words: str) -> Outcome:
    subject = (controller.name,)
    if controller.common_pole == "negative" or controller.says_none(Controller.common_pole):
        return Passed(grade, subject)
    way = next((way for start in starts if (way := _way_around(study, controller.name, start)) is not None), None)
    if way is None:
        return Passed(grade, subject)
    if controller.common_pole is None:
        return Missing("pole that its inputs and outputs have in common", controller.span, "common negative").outcome(
            grade, subject
        )
    branches, case = way
    at = f"the case {case}" if case else f"{controller.name}.batt_minus"
    if grade == "panel-negative":
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


def _way_around(study: Study, name: str, start: str) -> tuple[tuple[Branch, ...], str] | None:
    """Return the shortest way from a negative to the battery's or to a case, not through the controller, and that case ("" for the battery).

    None where there is none. Where a case is said to be bonded counts as the case.
    """
    cases = {node: case.name for case in study.of(Enclosure) for node in (case.name, *(case.bonded_at or ()))}
    ends = {f"{name}.batt_minus", *cases}
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
