"""Places as services of a repository want them: paths from the top of the repository, one line each, columns in UTF-16 units.

Our own columns count code points; SARIF 2.1.0 (3.14.17) and editors count UTF-16 units where nothing else is said, so that a letter outside of the basic
plane counts twice there.
"""

from __future__ import annotations

from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Span

from ohmwright.results import BuildResult, Home

__all__ = ["Places", "Region"]


@record
class Region:
    """A place: path from the top of the repository, lines and columns from 1, the end exclusive."""

    path: str
    line: int
    column: int
    end_line: int
    end_column: int


class Places:
    """Turns spans into regions; splits each file into lines once."""

    def __init__(self) -> None:
        self._lines: dict[tuple[str, str], list[str]] = {}

    def tight(self, span: Span, build: BuildResult) -> Region:
        """Return the first line of a span: a service shows a finding of a change only where all its lines are part of the change."""
        if span.end_line <= span.line:
            return self.exact(span, build)
        end = len(self._line(span, build.home, span.line)) + 1
        return self.exact(span._replace(end_line=span.line, end_column=end), build)

    def exact(self, span: Span, build: BuildResult, may_be_empty: bool = False) -> Region:
        """Return the whole of a span; one that holds nothing gets one letter unless it may be empty."""
        column = self._units(span, build.home, span.line, span.column)
        end = self._units(span, build.home, span.end_line, span.end_column)
        least = column if may_be_empty else column + 1
        if span.end_line == span.line:
            end = max(end, least)
        return Region(build.home.below + span.path, span.line, column, span.end_line, end)

    def _units(self, span: Span, home: Home, line: int, column: int) -> int:
        before = self._line(span, home, line)[: column - 1]
        return column + sum(1 for sign in before if sign > "\uffff") if not before.isascii() else column

    def _line(self, span: Span, home: Home, line: int) -> str:
        key = home.below, span.path
        lines = self._lines.get(key)
        if lines is None:
            lines = self._lines[key] = home.text(span.path).split("\n")
        return lines[line - 1] if line <= len(lines) else ""
