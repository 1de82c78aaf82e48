"""A summary in Markdown, for the page of a job, a comment or a repository: builds in a table, the state of what they share, then what was found, the worst first.

It stays below the one mebibyte that a job may show, and says what it leaves out. Every text of a build file goes through `md`: nothing in it is markup,
calls a person, names an issue or becomes a link. Texts never stand at the beginning of a line.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from ohmwright.findings import Severity
from ohmwright.reports.entries import by_subject, facts, gaps, heading, name_of, title_of, waived_in_words
from ohmwright.reports.totals import closing, settings_in_words
from ohmwright.reports.words import counted, cut, visible
from ohmwright.results import BuildResult, Result
from ohmwright.text_rules import OWN_FAMILIES
from ohmwright.values import figures

__all__ = ["Page", "md", "verdict_of", "worst_margin", "write"]

MOST_BYTES = (
    1_000_000  # a job may show 1 MiB (1,048,576) for each step: "Workflow commands for GitHub Actions", docs.github.com
)
MOST_ROWS = 1000  # of the table of builds
MOST_TEXT = 4000  # letters of one text
_CLOSING_ROOM = 20_000  # bytes kept for what stands at the end


class Page:
    """Lines until the page is full; what comes later is counted."""

    def __init__(self) -> None:
        self.lines: list[str] = []
        self.left = MOST_BYTES - _CLOSING_ROOM
        self.left_out = 0

    def add(self, *lines: str) -> None:
        """Add lines, whether there is room or not."""
        self.lines.extend(lines)
        self.left -= sum(len(line.encode("utf-8", "replace")) + 1 for line in lines)

    def fits(self, *lines: str) -> bool:
        """Add lines that belong together, all or none; tell whether they were."""
        if self.left < sum(len(line.encode("utf-8", "replace")) + 1 for line in lines):
            return False
        self.add(*lines)
        return True


def write(result: Result) -> str:
    """Return the summary of a run."""
    page = Page()
    page.add(f"# Inspection of {counted(len(result.builds), 'file')}", "")
    for error in result.errors:
        where = f" ({error.build})" if error.build else ""
        page.fits(f"**The run itself failed:** {md(error.message + where)}", "")
    builds = sorted(result.builds, key=lambda build: (-_rank(build), build.home.below, build.path))
    _table(page, builds)
    for section in _of_the_repository(result):
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


def _of_the_repository(result: Result) -> Iterator[list[str]]:
    from ohmwright.reports.repository_state import sections  # it writes with what stands here

    return sections(result)


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


def verdict_of(build: BuildResult) -> str:
    """Return how a build stands at its bar."""
    if build.partial:
        return "read in part"
    if any(item.severity >= build.bar for item in build.findings):
        return "stopped"
    if any(gap.severity >= build.bar for gap in gaps(build)):
        return "stopped, not checked"
    return "passes"


def worst_margin(build: BuildResult) -> str:
    """Return the smallest margin of all that was measured, in percent of its limit."""
    margins = [kept.passed.margin for kept in build.passes]
    margins += [item.finding.margin for item in build.findings if item.rule.family not in OWN_FAMILIES]
    known = [margin for margin in margins if margin is not None]
    return f"{figures(min(known) * 100, 2)} %" if known else ""


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


# escaping ----------------------------------------------------------------------------------------------------------

_MARKUP = re.compile(r"[\\`*_#\[\]~$^]|^[-+=]|(?<=^[0-9])[.)]|^[0-9]{2,9}[.)]")
_CALL = re.compile(r"""([#!%&~$^](?=[\w"'+/])|[@:](?=\S))""")  # a mention, an issue, a milestone, a label, an emoji, a protocol
_NAMED = re.compile(r"(?i)(?<![a-z0-9])(gh-|www)(?=[.0-9])")  # an issue, an address
_BREAK = "&#8203;"  # a space of no width: the text reads the same and calls nobody


def md(text: str) -> str:
    """Return a text as it reads in Markdown, whatever it holds: no markup, no HTML, no cell or line of a table, no mention, issue or link.

    A backslash makes a sign plain, and an entity is never markup (CommonMark 0.31, 2.4 and 2.5). What services put on top of it acts on plain text, so
    that a space of no width stands between.

    >>> md("**a** <b> | @you #1")
    '\\\\*\\\\*a\\\\*\\\\* &lt;b&gt; &#124; @&#8203;you \\\\#&#8203;1'
    """
    plain = visible(cut(" ".join(text.split()), MOST_TEXT))
    broken = _NAMED.sub("\\1\u200b", _CALL.sub("\\1\u200b", plain))
    escaped = _MARKUP.sub(lambda found: f"{found[0][:-1]}\\{found[0][-1]}", broken)
    for sign, entity in (("&", "&amp;"), ("<", "&lt;"), (">", "&gt;"), ("|", "&#124;"), ("\u200b", _BREAK)):
        escaped = escaped.replace(sign, entity)
    return escaped
