"""What other sizes would mend, as a sheet: for each finding the offer that stands, or what was tried and why it does not."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from ohmwright_grammar.spans import Edit

from ohmwright.reports.entries import title_of
from ohmwright.reports.words import CAUTIONS, Ink, counted, labelled, listed, wrapped
from ohmwright.sizing.trying import Answer, BuildAnswers

__all__ = ["write"]

_SHOWN = 3  # offers that do not stand


def write(builds: Iterable[BuildAnswers], colour: bool = False) -> str:
    """Return the sheet of every build."""
    ink = Ink(colour)
    known = list(builds)
    lines: list[str] = []
    for build in known:
        lines.extend(_build(build, ink))
        lines.append("")
    offered = sum(1 for build in known for answer in build.answers if answer.offer is not None)
    rest = sum(1 for build in known for answer in build.answers if answer.offer is None)
    beside = sum(build.beside for build in known)
    closing = (
        f"{counted(offered, 'finding')} would be mended by another size, {rest:,} by none of those tried, {beside:,} by none at all. "
        "Each offer was written into the text and the whole build inspected again: what it was offered for is gone, and nothing new came. No file was changed."
    )
    lines.extend(wrapped(closing))
    lines.extend(wrapped(CAUTIONS))
    return "\n".join(lines) + "\n"


def _build(build: BuildAnswers, ink: Ink) -> Iterator[str]:
    result = build.result
    title = f"{result.path}: {result.title}"
    for line in wrapped(f"{title}, revision {result.revision}" if result.revision else title):
        yield ink.bold(line)
    if not build.answers:
        yield from wrapped("No finding that another size would mend." if build.beside else "Nothing was found.")
    for answer in build.answers:
        yield ""
        yield from _answer(answer, ink)


def _answer(answer: Answer, ink: Ink) -> Iterator[str]:
    item = answer.finding
    head = f"{', '.join(item.finding.subject)}: {title_of(item)} ({item.rule.id}.{item.grade.name})"
    for line in wrapped(f"{item.severity.word.capitalize()} on {head}"):
        yield ink.severity(item.severity.word, line)
    if answer.offer is not None:
        yield from _entry("Size", answer.offer.words)
        yield from _entry("Write", "; ".join(_written(edit) for edit in answer.edits))
    elif answer.outcome == "cannot be written":
        yield from _entry("Size", f"none that can be written here: {answer.tried[0].why}")
    else:
        yield from _entry("Size", "none does")
    if answer.outcome != "cannot be written":
        for tried in answer.tried[:_SHOWN]:
            yield from _entry("Tried", f"{tried.offer.words}: {tried.why}")
        if len(answer.tried) > _SHOWN:
            yield from _entry("Tried", f"{listed([tried.offer.words for tried in answer.tried[_SHOWN:]], 2)}: nor do these")
    if answer.offer is None and item.finding.remedy:
        yield from _entry("Remedy", item.finding.remedy)


def _written(edit: Edit) -> str:
    span = edit.span
    if (span.line, span.column) == (span.end_line, span.end_column):
        return f"in line {span.line} add {edit.text.strip(' ,;')!r}"
    return f"in line {span.line} {edit.text!r}"


def _entry(label: str, text: str) -> Iterator[str]:
    return labelled(label, text, 4, 10)
