"""What the builder promises and the build does not keep: recharge, start, cord, mass, cost, size, life, tools, suppliers, touchable voltage."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.references import common_practice
from ohmwright.results import Promise, Verdict
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown_pair
from ohmwright_grammar.kinds.requirement import Requirement

from ohmwright_rules.promised_charges import by_mains, by_sun, lasting
from ohmwright_rules.promised_circuit import dropping, on_a_cord, starting
from ohmwright_rules.promised_limits import costing, fitting, from_suppliers, touching, weighing, with_tools
from ohmwright_rules.promises import Answer

RULE = Rule(
    id="broken-promise",
    title="Promise that the build does not keep",
    family="energy",
    subject="requirement",
    covers=("J2",),
    grades=(
        Grade("cannot-do", Severity.ERROR, "the build cannot do what is promised"),
        Grade("over-limit", Severity.WARNING, "the build is beyond a limit that its builder set"),
    ),
    references=(common_practice("as promised"),),
)
# Each datum of a requirement, and what answers it; run times, days without sun and the shelf have rules of their own.
_ANSWERS: tuple[tuple[str, Callable[[Study, Requirement], Answer]], ...] = (
    ("recharge_by_sun", by_sun),
    ("recharge_by_mains", by_mains),
    ("one_person_lifts", weighing),
    ("highest_mass", weighing),
    ("start", starting),
    ("cord", on_a_cord),
    ("drop", dropping),
    ("touch_voltage", touching),
    ("highest_cost", costing),
    ("fits", fitting),
    ("cycles", lasting),
    ("life", lasting),
    ("tools", with_tools),
    ("most_sources", from_suppliers),
)


def check(study: Study) -> Iterator[Outcome | Promise]:
    """Answer every promise that can be answered by a sum of its own."""
    others = 0
    for requirement in study.of(Requirement):
        answer = next((find for datum, find in _ANSWERS if getattr(requirement, datum)), None)
        if answer is None:
            others += 1
        else:
            yield from _answered(requirement, answer(study, requirement))
    if others:
        yield DoesNotApply("a promise that another rule answers", others)


def _answered(requirement: Requirement, answer: Answer) -> Iterator[Outcome | Promise]:
    subject = (*(name if name != "rig" else requirement.name for name in answer.subject), requirement.name)
    subject = tuple(dict.fromkeys(subject))
    outcome = _outcome(requirement, answer, subject)
    yield outcome
    verdict: Verdict = "broken" if isinstance(outcome, Finding) else "met" if isinstance(outcome, Passed) else "not-checked"
    yield Promise(requirement.name, answer.formula, answer.value, answer.limit, verdict, requirement.span, answer.steps)


def _outcome(requirement: Requirement, answer: Answer, subject: tuple[str, ...]) -> Outcome:
    value, limit = answer.value, answer.limit
    if value is not None and limit is not None and is_broken(value.value, limit.value, answer.sense):
        return _finding(requirement, answer, subject, value, limit)
    if answer.missing is not None:
        return answer.missing.outcome(answer.grade, subject)
    return Passed(answer.grade, subject, value, limit, answer.sense)


def _finding(requirement: Requirement, answer: Answer, subject: tuple[str, ...], value: Amount, limit: Amount) -> Finding:
    has, wanted = shown_pair(value, limit)
    more = f" ({answer.missing.what} is not counted)" if answer.missing is not None else ""
    words = answer.words.replace("{value}", has).replace("{limit}", wanted)
    return Finding(
        answer.grade,
        subject,
        f"{requirement.name}: {words}{more}.",
        requirement.span,
        value,
        limit,
        answer.sense,
        working=answer.steps,
        remedy=answer.remedy,
        related=tuple(Related(words, span) for words, span in answer.related),
        reference=answer.reference,
    )
