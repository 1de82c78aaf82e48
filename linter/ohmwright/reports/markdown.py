"""A summary in Markdown, for the page of a job, a comment or a repository: builds in a table, the state of what they share, then what was found, the worst first.

It stays below the one mebibyte that a job may show, and says what it leaves out. Every text of a build file goes through `md`: nothing in it is markup,
calls a person, names an issue or becomes a link. Texts never stand at the beginning of a line.
"""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import Severity
from ohmwright.reports.entries import by_subject, facts, gaps, heading, name_of, title_of, waived_in_words
from ohmwright.reports.markdown_page import Page, md
from ohmwright.reports.repository_state import sections, verdict_of, worst_margin
from ohmwright.reports.totals import closing, settings_in_words
from ohmwright.reports.words import counted
from ohmwright.results import BuildResult, Result

__all__ = ["write"]

MOST_ROWS = 1000  # of the table of builds


def write(result: Result) -> str:
    """Return the summary of a run."""
    page = Page()
    page.add(f"# Inspection of {counted(len(result.builds), 'file')}", "")
    for error in result.errors:
        where = f" ({error.build})" if error.build else ""
        page.fits(f"**The run itself failed:** {md(error.message + where)}", "")
    builds = sorted(result.builds, key=lambda build: (-_rank(build), build.home.below, build.path))
    _table(page, builds)
    for section in sections(result):
        page.fits(*section)
    unwritten = 0
    for build in builds:
        unwritten += _build(page, build)
    if unwritten:
        page.lines += [f"**{counted(unwritten, 'more entry')} not written out here; the JSON output holds them all.**", ""]
    for told in result.settings:
        said = [f"{'  ' * depth}- {md(words)}" for depth, words in settings_in_words(told)]
        if page.fits(*said):
            page.lines.append("")
    page.lines += [f"{md(words)}  " for words in closing(result)]
    return "\n".join(page.lines).rstrip() + "\n"


def _rank(build: BuildResult) -> int:
    """Return how a build stands: 3 with errors or read in part, 2 with warnings, 1 with notes, 0 clean."""
    worst = max((int(item.severity) for item in build.findings), default=0)
    return max(worst, int(max((gap.severity for gap in gaps(build)), default=0)), 3 if build.partial else 0)


# the table of builds -----------------------------------------------------------------------------------------------


def _table(page: Page, builds: list[BuildResult]) -> None:
    page.add("| file | title | revision | verdict | worst margin | errors | warnings | notes | not checked | waived |")
    page.add("| --- | --- | --- | --- | ---: | ---: | ---: | ---: | ---: | ---: |")
    for number, build in enumerate(builds):
        if number >= MOST_ROWS or not page.fits(_row(build)):
            more = len(builds) - number
            page.lines.append("")
            page.add(f"and {counted(more, 'more file')}, none worse than these.")
            break
    page.add("")


def _row(build: BuildResult) -> str:
    counts = [sum(1 for item in build.findings if item.severity is severity) for severity in sorted(Severity, reverse=True)]
    cells = [
        md(build.home.below + build.path),
        md(build.title or ("a library of parts" if build.is_library else "")),
        md(build.revision),
        verdict_of(build),
        worst_margin(build),
        *(f"{count:,}" for count in counts),
        f"{len(build.not_checked):,}",
        f"{len(build.waived):,}",
    ]
    return f"| {' | '.join(cells)} |"


# one build ---------------------------------------------------------------------------------------------------------


def _build(page: Page, build: BuildResult) -> int:
    """Write what is to be said of a build; return how many entries there was no room for."""
    entries = [*_entries(build)]
    if not entries:
        return 0
    title = f": {md(build.title)}" if build.title else ""
    head = ["", f"## {md(build.home.below + build.path)}{title}", ""]
    written = 0
    for lines in entries:
        if not page.fits(*head, *lines):
            break
        head = []
        written += 1
    return len(entries) - written


def _entries(build: BuildResult) -> Iterator[list[str]]:
    for findings in by_subject(build):
        head = [f"### {md(heading(build, findings[0]))}", ""]
        for item in findings:
            word = item.severity.word.capitalize()
            lines = [f"- **{word}: {md(title_of(item))}** ({md(name_of(item))})"]
            lines += [f"  - {label or 'Working'}: {md(text)}" for label, text in facts(item, build)]
            yield [*head, *lines, ""]
            head = []
    head = ["### Could not be checked", ""]
    for gap in gaps(build):
        declare = f" Declare: {md(gap.declare)}" if gap.declare else ""
        yield [*head, f"- **{gap.severity.word.capitalize()}:** line {gap.span.line}: {md(gap.message)}{declare}"]
        head = []
    head = ["", "### Waived", ""]
    for item in build.waived:
        yield [*head, f"- {md(waived_in_words(item))}"]
        head = []
