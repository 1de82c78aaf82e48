"""Writing a choice into the text of a build: in place of what was said of the thing itself, else beside it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from ohmwright_grammar.parsing import parse
from ohmwright_grammar.spans import Edit, Span
from ohmwright_grammar.syntax import Statement, span_of

from ohmwright.sizing.offers import Choice

__all__ = ["edit_of", "edited"]


def edit_of(choice: Choice, path: str, text: str) -> Edit | None:
    """Return the edit that makes a choice in the text of a file, None where the thing is not declared in that file.

    A value that came with a default, a group or a library stays as it is: the thing says its own instead, which counts before them.
    """
    fact = choice.thing.fact(choice.datum)
    if fact is not None and fact.origin == "own" and fact.source.path == path:
        return Edit(fact.source, choice.words)
    if choice.thing.span.path != path:
        return None
    statement = _statement_at(parse(text, path).statements, path, choice.thing.span)
    if statement is None:
        return None
    if statement.block is not None:
        return Edit(_after(span_of(path, statement.block.opening)), f" {choice.words};")
    return Edit(_after(statement.span(path)), f", {choice.words}")


def _after(span: Span) -> Span:
    return Span(span.path, span.end_line, span.end_column, span.end_line, span.end_column)


def _statement_at(statements: Iterable[Statement], path: str, span: Span) -> Statement | None:
    """Return the statement that begins where a span does."""
    for statement in _all(statements):
        first = statement.span(path)
        if (first.line, first.column) == (span.line, span.column):
            return statement
    return None


def _all(statements: Iterable[Statement]) -> Iterator[Statement]:
    for statement in statements:
        yield statement
        if statement.block is not None:
            yield from _all(statement.block.statements)


def edited(text: str, edits: Iterable[Edit]) -> str:
    """Return a text with edits applied."""
    lines = text.split("\n")
    for edit in sorted(edits, key=lambda edit: (edit.span.line, edit.span.column), reverse=True):
        span = edit.span
        before = lines[span.line - 1][: span.column - 1]
        after = lines[span.end_line - 1][span.end_column - 1 :]
        lines[span.line - 1 : span.end_line] = [before + edit.text + after]
    return "\n".join(lines)
