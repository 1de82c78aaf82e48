"""Steps of commissioning that do not say what the meter should read."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.references import common_practice
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright_grammar.kinds.procedure import Commissioning, Step

from ohmwright_rules.wording import listed

RULE = Rule(
    id="vague-step",
    title="Step of commissioning without an expected reading",
    family="labels",
    subject="step",
    covers=("M10",),
    grades=(
        Grade(
            "no-reading",
            Severity.NOTE,
            "a step of commissioning lacks its state, its points or the range of its reading",
            "itself",
        ),
    ),
    references=(common_practice("a reading without a range cannot be told right from wrong"),),
)
_GRADE = "no-reading"


def check(study: Study) -> Iterator[Outcome]:
    """Look at every step of commissioning that the build keeps."""
    steps = [step for commissioning in study.of(Commissioning) for step in commissioning.steps or ()]
    bare: list[tuple[Step, list[str]]] = []
    for step in steps:
        lacks = _lacks(step)
        if lacks:
            bare.append((step, lacks))
        else:
            yield Passed(_GRADE, (step.name,))
    if bare:
        names = [step.name for step, _ in bare]
        first = bare[0]
        yield Finding(
            _GRADE,
            tuple(names),
            f"step {listed(names)}: {listed(first[1])} not said; whoever measures cannot tell right from wrong at the first power-up.",
            first[0].span,
            remedy="Say state, points and range, for instance: in state stored; between house.plus and house.minus; expect 13.0 V to 13.4 V",
            related=tuple(Related(f"step {step.name} lacks {listed(lacks)}", step.span) for step, lacks in bare[1:6]),
        )
    if not steps:
        yield DoesNotApply("no steps of commissioning are kept in the file")


def _lacks(step: Step) -> list[str]:
    found = []
    if step.state is None:
        found.append("state")
    if step.points is None and not step.at:
        found.append("points")
    reading = step.expected.measure.value if step.expected is not None else None
    if reading is None:
        found.append("expected reading")
    elif getattr(reading, "form", "") == "plain":
        found.append("range of the reading")
    return found
