"""What a rule says of a subject: a finding, passed with its margin, not checked, or does not apply."""

from __future__ import annotations

from enum import IntEnum
from typing import Literal

from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Edit, Span

from ohmwright.references import Reference, Step
from ohmwright.values import Amount

__all__ = [
    "DoesNotApply",
    "Edit",
    "Finding",
    "NotChecked",
    "Outcome",
    "Passed",
    "Related",
    "Sense",
    "Severity",
    "StateMeasure",
    "margin_of",
]

Sense = Literal["at-most", "at-least"]


class Severity(IntEnum):
    """How bad a grade of a rule is: the levels of SARIF 2.1.0."""

    NOTE = 1
    WARNING = 2
    ERROR = 3

    @property
    def word(self) -> str:
        """The level as it is written."""
        return self.name.lower()


@record
class Related:
    """Another place that belongs to a finding, for instance the fuse of a wire."""

    message: str
    span: Span


@record
class StateMeasure:
    """What was measured in one state, against what is allowed there."""

    state: str
    measured: Amount
    limit: Amount | None
    margin: float | None


def margin_of(measured: Amount, limit: Amount | None, sense: Sense) -> float | None:
    """Return the signed share of the limit that is left, negative when broken.

    Of a temperature it is the difference over 100 K; None without a limit or for another limit of zero.

    >>> margin_of(Amount(46.2, "current"), Amount(30.0, "current"), "at-most")
    -0.54
    """
    if limit is None:
        return None
    left = limit.value - measured.value if sense == "at-most" else measured.value - limit.value
    if limit.dimension == "temperature":
        return left / 100.0
    if limit.value == 0:
        return None
    return round(left / abs(limit.value), 12)


@record
class Finding:
    """A grade of a rule is broken on a subject; told at the worst state, with all its states listed.

    `subject` are the names of the things concerned, the chief one first. `measured` and `limit` are None for yes/no checks. `edits` stand only
    where they are certain. `at_most` is a severity that this finding does not pass, whatever its grade: what stands only in states after several
    failures is a note. `declare` is not used here: see NotChecked.
    """

    grade: str
    subject: tuple[str, ...]
    message: str
    span: Span
    measured: Amount | None = None
    limit: Amount | None = None
    sense: Sense = "at-most"
    state: str = ""
    states: tuple[StateMeasure, ...] = ()
    working: tuple[Step, ...] = ()
    remedy: str = ""
    edits: tuple[Edit, ...] = ()
    related: tuple[Related, ...] = ()
    reference: Reference | None = None  # of this limit, where it is not the rule's first one
    at_most: Severity | None = None

    @property
    def margin(self) -> float | None:
        """The signed share of the limit, negative when broken; None for yes/no checks."""
        return margin_of(self.measured, self.limit, self.sense) if self.measured is not None else None


@record
class Passed:
    """A grade was checked on a subject and holds, with its margin at the worst state."""

    grade: str
    subject: tuple[str, ...]
    measured: Amount | None = None
    limit: Amount | None = None
    sense: Sense = "at-most"
    state: str = ""

    @property
    def margin(self) -> float | None:
        """The signed share of the limit that is left."""
        return margin_of(self.measured, self.limit, self.sense) if self.measured is not None else None


@record
class NotChecked:
    """A grade could not be checked because a datum is missing; `declare` is a line that would say it, inside the subject's own block.

    Its numbers that go with the voltage are written for 12 V and marked: "~14.4 V", "^32 V" for a rating (`ohmwright.offering`).
    """

    grade: str
    subject: tuple[str, ...]
    missing: str
    span: Span
    state: str = ""
    declare: str = ""


@record
class DoesNotApply:
    """A rule has nothing to check on some subjects, and why."""

    condition: str
    count: int = 1


Outcome = Finding | Passed | NotChecked | DoesNotApply
