"""A comparison in Markdown, for the page of a job or a comment: what changes the judgement first, then build by build.

It stays below the one mebibyte that a job may show, and says what it leaves out; every text of a build file is escaped as in the summary of an inspection.
"""

from __future__ import annotations

from collections.abc import Iterable

from ohmwright.comparing.model import BuildChange, Comparison
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
from ohmwright.reports.markdown_page import Page, md
from ohmwright.reports.words import counted

__all__ = ["write"]

MOST_ROWS = 60  # of each list of one build


def write(comparison: Comparison) -> str:
    """Return the summary of a comparison."""
    page = Page()
    page.add(f"# Change from {md(side_in_words(comparison.old))} to {md(side_in_words(comparison.new))}", "")
    for head, words in errors_in_words(comparison):
        page.fits(f"**{head}** {md(words)}", "")
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
    findings = [
        [f"- {_strong(finding_head(change), stands_out(change))}", *_facts(finding_facts(change, build))]
        for change in build.findings
    ]
    lists = [(title, _entries(rows)) for title, rows in lists_in_words(build)]
    if not page.fits("", f"## {md(title_in_words(build))}", ""):
        return max(1, len(findings) + sum(len(entries) for _, entries in lists))
    return _rows(page, findings) + sum(_rows(page, entries, ("", f"### {title}", "")) for title, entries in lists)


def _entries(rows: Iterable[str]) -> list[list[str]]:
    known = list(rows)
    entries = [[f"- {md(row)}"] for row in known[:MOST_ROWS]]
    if len(known) > MOST_ROWS:
        entries.append([f"- and {len(known) - MOST_ROWS:,} more"])
    return entries
