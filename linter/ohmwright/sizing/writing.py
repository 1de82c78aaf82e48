"""Writing a choice into the text of a build: in place of what was said of the thing itself, else beside it."""

from __future__ import annotations

from collections.abc import Iterable

from ohmwright_grammar.spans import Edit, Span

from ohmwright.sizing.offers import Choice

__all__ = ["edit_of", "edited"]


def edit_of(choice: Choice, path: str, text: str) -> Edit | None:
    """Return the edit that makes a choice in the text of a file, None where the thing is not declared in that file.

    A value that came with a default, a group or a library stays as it is: the thing says its own instead, which counts before them.
    """
    fact = choice.thing.fact(choice.datum)
    if fact is not None and fact.origin == "own" and fact.source.path == path:
        return Edit(fact.source, choice.words)
    span = choice.thing.span
    if span.path != path:
        return None
    lines = text.split("\n")
    rest = lines[span.end_line - 1][span.end_column - 1 :] if span.end_line <= len(lines) else ""
    blanks = len(rest) - len(rest.lstrip(" \t"))
    if rest[blanks : blanks + 1] == "{":
        column = span.end_column + blanks + 1
        return Edit(Span(path, span.end_line, column, span.end_line, column), f" {choice.words};")
    return Edit(Span(path, span.end_line, span.end_column, span.end_line, span.end_column), f", {choice.words}")


def edited(text: str, edits: Iterable[Edit]) -> str:
    """Return a text with edits applied; of two at one place the one that came first stands first."""
    lines = text.split("\n")
    for edit in sorted(edits, key=lambda edit: (edit.span.line, edit.span.column), reverse=True):
        span = edit.span
        before = lines[span.line - 1][: span.column - 1]
        after = lines[span.end_line - 1][span.end_column - 1 :]
        lines[span.line - 1 : span.end_line] = [before + edit.text + after]
    return "\n".join(lines)
