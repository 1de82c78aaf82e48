"""What several states say of one subject, taken together: the worst one, all that are broken, and whether only failures lead there.

Readings.md, "States after a failure": what burns, gives off gas, shocks or destroys stands for one failure and is a note for two at once; what fails,
trips or ages is a note after any.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from ohmwright.findings import Sense, Severity, StateMeasure
from ohmwright.rules import Case, compare
from ohmwright.study import Study
from ohmwright_grammar.records import record

from ohmwright_rules.kept import kept

__all__ = ["Reason", "Verdict", "deciding", "failures_in", "times_allowed", "verdict", "worst_of_each_state"]

Reason = Literal["burn", "boom", "shock", "kill", "fails", "life", "trip"]
_INFINITE = float("inf")
_ROUNDING = 1e-6  # of a limit: far more than the rounding of a margin, and than what counts as at the limit
_FAILURES_BORNE: dict[str, int] = {"burn": 1, "boom": 1, "shock": 1, "kill": 1, "fails": 0, "life": 0, "trip": 0}


@record
class Verdict:
    """The worst case, every broken state, and the severity that a finding of it does not pass (None: that of its grade)."""

    worst: Case
    broken: tuple[StateMeasure, ...]
    at_most: Severity | None = None


def times_allowed(measured: float, limit: float) -> float:
    """Return how many times a limit a value is, without bound where nothing at all is allowed: for the order of the worst.

    >>> times_allowed(30.0, 20.0), times_allowed(1.0, 0.0), times_allowed(0.0, 0.0)
    (1.5, inf, 0.0)
    """
    if limit > 0.0:
        return measured / limit
    return float("inf") if measured > 0.0 else 0.0


def failures_in(study: Study, state: str) -> int:
    """Return how many failures at once (blown fuses, tripped management systems, failed packs) led to a state."""
    return kept(study, _failures).get(state, 0)


def _failures(study: Study) -> dict[str, int]:
    counts = ((reached.name, reached.setup.after_failure) for reached in study.reached)
    return {name: count for name, count in counts if count}


def verdict(study: Study, cases: Sequence[Case], sense: Sense, reason: Reason) -> Verdict:
    """Compare what the states say; a state behind more failures than the reason bears counts only where no other is broken, as a note.

    `cases` must not be empty.
    """
    failures = kept(study, _failures)
    if not failures:
        return Verdict(*compare(cases, sense))
    borne = _FAILURES_BORNE[reason]
    usual = [case for case in cases if failures.get(case.state, 0) <= borne]
    if len(usual) == len(cases):
        return Verdict(*compare(cases, sense))
    everything = compare(cases, sense)
    if usual:
        worst, broken = compare(usual, sense)
        if broken or not everything[1]:
            return Verdict(worst, everything[1])
    return Verdict(*everything, Severity.NOTE if everything[1] else None)


def deciding(study: Study, values: Sequence[tuple[float, float]], sense: Sense) -> Sequence[int]:
    """Return the places of those (measured, limit) that can be the worst or broken: a verdict on their cases alone is that on all.

    Most states hold by far, and a case of each would cost more than the sums: plain numbers sort out what lies further from its limit than another
    does, by more than any rounding. Not for temperatures, whose margin is no share of the limit.
    """
    if kept(study, _failures) or not all(0.0 < abs(limit) < _INFINITE for _, limit in values):
        return range(len(values))  # which is the worst depends on more than the shares
    over = [(measured - limit) / abs(limit) for measured, limit in values]
    if sense == "at-least":
        over = [-excess for excess in over]
    least = min(0.0, max(over)) - _ROUNDING
    return [place for place, excess in enumerate(over) if not excess < least]


def worst_of_each_state(cases: Sequence[Case], sense: Sense) -> list[Case]:
    """Return one case for each state, the worst, where a subject has several ways that are judged at once (cores, poles)."""
    by_state: dict[str, list[Case]] = {}
    for case in cases:
        by_state.setdefault(case.state, []).append(case)
    return [found[0] if len(found) == 1 else compare(found, sense)[0] for found in by_state.values()]
