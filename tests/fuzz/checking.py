"""What holds of every text that is read: nothing is raised, and every message stands at a place in the text and says something."""

from __future__ import annotations

from ohmwright_grammar.bodies import BodyReader
from ohmwright_grammar.diagnostics import Diagnostic
from ohmwright_grammar.parsing import parse

__all__ = ["read"]


def read(text: str, facts: bool = True) -> int:
    """Read a text into statements, and those into facts; return how many statements there are.

    AssertionError, or whatever is raised, where something does not hold.
    """
    parsed = parse(text, "fuzz.rig")
    problems: list[Diagnostic] = list(parsed.diagnostics)
    if facts:
        BodyReader("fuzz.rig", problems).read(parsed.statements)
    if problems:
        lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
        for problem in problems:
            span = problem.span
            assert span.path == "fuzz.rig"
            assert 1 <= span.line <= span.end_line <= len(lines) + 1, (span, len(lines))
            assert span.column >= 1
            assert (span.line, span.column) <= (span.end_line, span.end_column), span
            assert problem.rule
            assert problem.message
            for edit in problem.edits:
                assert 1 <= edit.span.line <= len(lines) + 1
    return len(parsed.statements)
