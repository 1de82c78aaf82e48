"""Workflow commands of GitHub: lines in the log of a job that the service shows beside the lines of a change.

A step may have ten annotations of each level, what is more is dropped there without a word: the worst come first here, and the last notice counts the rest.
Every text goes through `_data` or `_property`, the two ways of escaping that the service undoes.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from ohmwright.findings import Severity
from ohmwright.reports.entries import facts, gaps, heading, name_of, title_of
from ohmwright.reports.places import Places, Region
from ohmwright.reports.totals import closing, settings_in_words
from ohmwright.reports.words import counted, cut, visible
from ohmwright.results import BuildResult, Result

__all__ = ["write"]

MOST = (
    10  # of each level in one step: "Workflow commands for GitHub Actions", docs.github.com, and the limits of its annotations
)
MOST_TITLE = 250  # letters
MOST_MESSAGE = 4000
_COMMAND = {Severity.ERROR: "error", Severity.WARNING: "warning", Severity.NOTE: "notice"}


class _Note(NamedTuple):
    """What is to be shown at a place."""

    severity: Severity
    region: Region | None
    title: str
    lines: tuple[str, ...]

    def order(self) -> tuple[object, ...]:
        region = self.region
        return (-self.severity, region is not None, (region.path, region.line, region.column) if region is not None else ())


def write(result: Result) -> str:
    """Return the commands of a run, one a line."""
    places = Places()
    notes = [*_of_run(result)]
    for build in result.builds:
        notes.extend(_of_build(build, places))
    notes.sort(key=_Note.order)
    lines: list[str] = []
    left_out = dict.fromkeys(_COMMAND, 0)
    for severity in _COMMAND:
        most = MOST - 1 if severity is Severity.NOTE else MOST  # the last notice is the count of what is left out
        mine = [note for note in notes if note.severity is severity]
        lines.extend(_line(note) for note in mine[:most])
        left_out[severity] = len(mine) - len(mine[:most])
    lines.append(_line(_end(result, left_out)))
    return "\n".join(lines) + "\n"


def _of_run(result: Result) -> Iterator[_Note]:
    for error in result.errors:
        where = f" ({error.build})" if error.build else ""
        yield _Note(Severity.ERROR, None, "The run itself failed", (f"{error.message}{where}",))


def _of_build(build: BuildResult, places: Places) -> Iterator[_Note]:
    for item in build.findings:
        title = f"{item.severity.word.capitalize()}: {title_of(item)} ({name_of(item)})"
        told = [f"{label}: {text}" for label, text in facts(item, build)]
        yield _Note(item.severity, places.tight(item.finding.span, build), title, (heading(build, item), *told))
    for gap in gaps(build):
        lines = (gap.message, f"Declare: {gap.declare}") if gap.declare else (gap.message,)
        yield _Note(gap.severity, places.tight(gap.span, build), "Could not be checked", lines)


def _end(result: Result, left_out: Mapping[Severity, int]) -> _Note:
    """Return the last notice: what is not shown, the settings that held, and what every report ends with."""
    lines: list[str] = []
    if any(left_out.values()):
        words = " and ".join(counted(count, f"more {severity.word}") for severity, count in left_out.items() if count)
        lines.append(f"{words} not shown here: a step may show ten of each. The other outputs hold them all.")
    lines.extend(words for told in result.settings for _, words in settings_in_words(told))
    return _Note(Severity.NOTE, None, "Ohmwright", (*lines, *closing(result)))


# lines -------------------------------------------------------------------------------------------------------------


def _line(note: _Note) -> str:
    properties: list[tuple[str, str]] = []
    if note.region is not None:
        region = note.region
        properties = [
            ("file", region.path),
            ("line", str(region.line)),
            ("endLine", str(region.end_line)),
            ("col", str(region.column)),
            ("endColumn", str(region.end_column)),
        ]
    properties.append(("title", cut(note.title, MOST_TITLE)))
    said = ",".join(f"{name}={_property(value)}" for name, value in properties)
    words = cut("\n".join(" ".join(line.split()) for line in note.lines), MOST_MESSAGE)
    return f"::{_COMMAND[note.severity]} {said}::{_data(words)}"


def _data(text: str) -> str:
    """Return a message as the service reads it; line ends stay line ends there.

    >>> _data("100 %\\n::error::x")
    '100 %25%0A::error::x'
    """
    kept = "\n".join(visible(line) for line in text.split("\n"))
    return kept.replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")


def _property(text: str) -> str:
    """Return the value of a property, which ends at a comma or a colon.

    >>> _property("a,b: 5 %")
    'a%2Cb%3A 5 %25'
    """
    return _data(visible(text)).replace(":", "%3A").replace(",", "%2C")
