"""A comparison in Markdown, for the page of a job or a comment: what changes the judgement first, then build by build.

It stays below the one mebibyte that a job may show, and says what it leaves out; every text of a build file is escaped as in the summary of an inspection.
"""

from __future__ import annotations

from collections.abc import Iterable

from ohmwright.comparing.model import BuildChange, Comparison
from ohmwright.comparing.wording import (
    closing,
    finding_facts,
    finding_head,
    judgement_facts,
    judgement_head,
    moves_in_words,
    promise_in_words,
    side_in_words,
    things_in_words,
    title_in_words,
    unchecked_in_words,
)
from ohmwright.reports.markdown import Page, md
from ohmwright.reports.words import counted

__all__ = ["write"]

MOST_ROWS = 60  # of each list of one build


def write(comparison: Comparison) -> str:
    """Return the summary of a comparison."""
    page = Page()
    page.add(f"# Change from {md(side_in_words(comparison.old))} to {md(side_in_words(comparison.new))}", "")
    for error in comparison.errors:
        where = f" ({error.build})" if error.build else ""
        page.fits(f"**The run itself failed:** {md(error.message + where)}", "")
    unwritten = _judgement(page, comparison)
    for build in comparison.builds:
        unwritten += _build(page, build)
    if unwritten:
        page.lines += ["", f"**{counted(unwritten, 'more entry')} not written out here; the JSON output holds them all.**"]
    page.lines += ["", *(f"{md(words)}  " for words in closing(comparison))]
    return "\n".join(page.lines).rstrip() + "\n"


def _judgement(page: Page, comparison: Comparison) -> int:
    if not comparison.judgement:
        page.add("Nothing changes how builds are judged.", "")
        return 0
    page.add("## What changes the judgement", "")
    return _rows(
        page,
        (
            [
                f"- {_strong(judgement_head(item), item.stops)}",
                *_facts(judgement_facts(item)),
            ]
            for item in comparison.judgement
        ),
    )


def _facts(facts: Iterable[tuple[str, str]]) -> Iterable[str]:
    """Yield labelled lines; one without a label goes on with the one before."""
    return (f"  - {label}: {md(text)}  " if label else f"    {md(text)}  " for label, text in facts)


def _strong(text: str, counts: bool) -> str:
    return f"**{md(text)}**" if counts else md(text)


def _rows(page: Page, entries: Iterable[list[str]], head: tuple[str, ...] = ()) -> int:
    """Write entries while there is room, after a heading where there are any; return how many there was none for."""
    left_out = 0
    for lines in entries:
        if left_out or not page.fits(*head, *lines):
            left_out += 1
            continue
        head = ()
    return left_out


def _build(page: Page, build: BuildChange) -> int:
    if not page.fits("", f"## {md(title_in_words(build))}", ""):
        return 1
    path = (build.new or build.old).path if (build.new or build.old) is not None else ""  # type: ignore[union-attr]
    unwritten = _rows(
        page,
        (
            [
                f"- {_strong(finding_head(change), change.how in ('new', 'worse'))}",
                *_facts(finding_facts(change, path)),
            ]
            for change in build.findings
        ),
    )
    lists = (
        ("Can no longer be checked", map(unchecked_in_words, build.unchecked)),
        ("Requirements", map(promise_in_words, build.promises)),
        ("Parts, wires and states", things_in_words(build.things, build.moves)),
        ("Margins that moved", moves_in_words(build.moves)),
    )
    for title, rows in lists:
        known = list(rows)
        entries = [[f"- {md(row)}"] for row in known[:MOST_ROWS]]
        if len(known) > MOST_ROWS:
            entries.append([f"- and {len(known) - MOST_ROWS:,} more"])
        unwritten += _rows(page, entries, ("", f"### {title}", ""))
    return unwritten
