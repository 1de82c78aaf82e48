"""A datum that nobody declared, as it is handed on: what it is, on which thing, and a line that would say it."""

from __future__ import annotations

from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Span

from ohmwright.findings import NotChecked

__all__ = ["Missing"]


@record
class Missing:
    """What is missing, where the thing stands, and a line of its own block (or of the file) that would declare it."""

    what: str
    span: Span
    declare: str = ""

    def outcome(self, grade: str, subject: tuple[str, ...], state: str = "") -> NotChecked:
        """Return the outcome of a grade that cannot be checked without it."""
        return NotChecked(grade, subject, self.what, self.span, state, self.declare)
