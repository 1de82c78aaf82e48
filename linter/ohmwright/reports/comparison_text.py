"""A comparison for a terminal: what changes the judgement first, then build by build, readable at 80 columns and without colour."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from ohmwright.comparing.model import BuildChange, Comparison, FindingChange
from ohmwright.comparing.wording import (
    closing,
    errors_in_words,
    finding_facts,
    finding_head,
    judgement_facts,
    judgement_head,
    lists_in_words,
    side_in_words,
    stands_out,
    title_in_words,
)
from ohmwright.reports.words import Ink, counted, labelled, wrapped

__all__ = ["write"]

MOST_JUDGED = 200
MOST_FINDINGS = 200
MOST_LINES = 40  # of each list of one build
MOST_BUILDS = 100
_INDENT, _LABEL = 4, 10


def write(comparison: Comparison, colour: bool = False) -> str:
    """Return the whole sheet."""
    return "\n".join(_lines(comparison, Ink(colour))).rstrip() + "\n"


def _lines(comparison: Comparison, ink: Ink) -> Iterator[str]:
    head = f"From {side_in_words(comparison.old)} to {side_in_words(comparison.new)}"
    yield from (ink.bold(line) for line in wrapped(head, 0, 2))
    yield ""
    yield from _judgement(comparison, ink)
    left = MOST_FINDINGS
    for build in comparison.builds[:MOST_BUILDS]:
        yield from _build(build, ink, left)
        left = max(0, left - len(build.findings))
    more = len(comparison.builds) - MOST_BUILDS
    if more > 0:
        yield f"{counted(more, 'more build')} changed, not written out here; the JSON output holds them."
        yield ""
    for head, words in errors_in_words(comparison):
        yield from wrapped(f"{head} {words}", 0, 2)
    for words in closing(comparison):
        yield from wrapped(words)


def _judgement(comparison: Comparison, ink: Ink) -> Iterator[str]:
    items = comparison.judgement
    if not items:
        yield "Nothing changes how builds are judged."
        yield ""
        return
    yield ink.bold("What changes the judgement")
    for number, item in enumerate(items[:MOST_JUDGED], 1):
        lines = list(wrapped(f"{number}. {judgement_head(item)}", 2, 3))
        yield from (ink.severity("warning" if item.stops else "note", line) for line in lines)
        for label, text in judgement_facts(item):
            yield from labelled(label, text, _INDENT, _LABEL)
    if len(items) > MOST_JUDGED:
        yield f"  and {len(items) - MOST_JUDGED:,} more"
    yield ""


def _build(build: BuildChange, ink: Ink, left: int) -> Iterator[str]:
    yield from (ink.bold(line) for line in wrapped(title_in_words(build), 0, 2))
    for change in build.findings[:left]:
        yield from _finding(change, build, ink)
    if len(build.findings) > left:
        yield f"  and {counted(len(build.findings) - left, 'more finding')}, not written out here"
    for title, rows in lists_in_words(build):
        yield from _list(title, rows, ink)
    yield ""


def _finding(change: FindingChange, build: BuildChange, ink: Ink) -> Iterator[str]:
    lines = list(wrapped(finding_head(change), 2, 2))
    yield from (ink.severity(change.item.severity.word, line) if stands_out(change) else line for line in lines)
    for label, text in finding_facts(change, build):
        yield from labelled(label, text, _INDENT, _LABEL)


def _list(title: str, rows: Iterable[str], ink: Ink) -> Iterator[str]:
    known = list(rows)
    if not known:
        return
    yield ink.bold(f"  {title}")
    for row in known[:MOST_LINES]:
        yield from wrapped(row, 4, 2)
    if len(known) > MOST_LINES:
        yield f"    and {len(known) - MOST_LINES:,} more"
