"""An array that is said to keep all of its power, or hardly any."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import Finding, Outcome, Passed, Severity
from ohmwright.references import Reference
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown_pair
from ohmwright_grammar.kinds.array import Array

RULE = Rule(
    id="optimistic-array",
    title="Array that loses nothing",
    family="energy",
    subject="array",
    covers=("J12",),
    grades=(
        Grade(
            "too-much",
            Severity.NOTE,
            "more than 85 % of an array's power is said to be left after dust, heat, angle and wiring",
        ),
        Grade("too-little", Severity.NOTE, "less than 50 % is said to be left"),
    ),
    references=(Reference("shares left in use", "", "", "from-memory"),),
)
_MOST, _LEAST = 0.85, 0.50  # catalogue, J12


def check(study: Study) -> Iterator[Outcome]:
    """Hold the share left of every array against what arrays in use keep; where nothing is said, 70 % are assumed."""
    for array in sorted(study.of(Array), key=lambda part: part.name):
        subject = (array.name,)
        if array.share_left is None:
            yield Passed("too-much", subject)
            continue
        high, low = float(array.share_left.high), float(array.share_left.low)
        for grade, value, line, sense, why in (
            ("too-much", high, _MOST, "at-most", "dust, heat, angle, wiring and controller always take a part"),
            ("too-little", low, _LEAST, "at-least", "an array that keeps so little stands in shade or was measured wrongly"),
        ):
            measured, limit = Amount(value, "share"), Amount(line, "share")
            if not is_broken(value, line, sense):  # type: ignore[arg-type]
                yield Passed(grade, subject, measured, limit, sense)  # type: ignore[arg-type]
                continue
            has, allowed = shown_pair(measured, limit)
            yield Finding(
                grade,
                subject,
                f"{array.name}: {has} of its power is said to be left in use; {why}. {allowed} is the usual {'most' if grade == 'too-much' else 'least'}.",
                array.place_of(Array.share_left),
                measured,
                limit,
                sense,  # type: ignore[arg-type]
                remedy="Take 70 % where nothing was measured.",
            )
