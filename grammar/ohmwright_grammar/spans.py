"""Places in files."""

from __future__ import annotations

from typing import NamedTuple

__all__ = ["Edit", "Span"]


class Span(NamedTuple):
    """A stretch of one file: lines and columns count from 1, columns in code points, the end is exclusive."""

    path: str
    line: int
    column: int
    end_line: int
    end_column: int

    def to(self, other: Span) -> Span:
        """Return the stretch from the start of this one to the end of `other` (of the same file)."""
        return Span(self.path, self.line, self.column, other.end_line, other.end_column)

    def __str__(self) -> str:
        return f"{self.path}:{self.line}:{self.column}"


class Edit(NamedTuple):
    """A certain change of text: put `text` in place of what stands at `span`."""

    span: Span
    text: str
