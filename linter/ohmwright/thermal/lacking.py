"""A datum that nobody declared and that the heat of a case needs."""

from __future__ import annotations

from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Span

__all__ = ["Lacking"]


@record
class Lacking:
    """What is missing, where the thing stands, and a line of its own block (or of the file) that would declare it."""

    what: str
    span: Span
    declare: str = ""
