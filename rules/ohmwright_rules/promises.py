"""What a promise comes to: its sum, its limit, and what was not said."""

from __future__ import annotations

from typing import Literal

from ohmwright.findings import Sense
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step
from ohmwright.values import Amount
from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Span

__all__ = ["Answer"]


@record
class Answer:
    """The sum of one promise.

    `value` and `limit` are None where nothing can be said without `missing`; with both, `value` is then what flatters the promise, so that one that is broken
    all the same stays broken. `words` tell of a broken promise, with {value} and {limit} in them, `remedy` what helps; `subject` are the things that decide.
    """

    grade: Literal["cannot-do", "over-limit"]
    formula: str
    subject: tuple[str, ...]
    value: Amount | None = None
    limit: Amount | None = None
    sense: Sense = "at-most"
    steps: tuple[Step, ...] = ()
    words: str = ""
    remedy: str = ""
    missing: Missing | None = None
    related: tuple[tuple[str, Span], ...] = ()
    reference: Reference | None = None
