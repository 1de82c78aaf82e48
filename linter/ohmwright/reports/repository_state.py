"""What the builds of a repository have between them, as sections of the summary: waivers that end soon, adaptations of each published build, copies that lag behind."""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Iterator
from datetime import date

from ohmwright.reports.entries import gaps, waived_in_words
from ohmwright.reports.markdown_page import md
from ohmwright.reports.words import counted, cut
from ohmwright.results import BuildResult, Result
from ohmwright.text_rules import OWN_FAMILIES
from ohmwright.values import figures

__all__ = ["SOON", "sections", "verdict_of", "worst_margin"]

SOON = 60  # days before the last one of a waiver
MOST_PARTS = 8  # columns of a matrix
MOST_ROWS = 200
_CELL = 200  # letters


def sections(result: Result) -> Iterator[list[str]]:
    """Yield the lines of each section that has something to say."""
    for lines in (_ending(result), *_matrices(result), _lagging(result)):
        if lines:
            yield [*lines, ""]


# waivers -----------------------------------------------------------------------------------------------------------


def _ending(result: Result) -> list[str]:
    today = date.fromisoformat(result.today)
    found = [
        (item.waiver.until, _place(build), waived_in_words(item))
        for build in result.builds
        for item in build.waived
        if item.waiver is not None and item.waiver.until is not None and (item.waiver.until - today).days <= SOON
    ]
    if not found:
        return []
    rows = []
    for until, place, words in sorted(found)[:MOST_ROWS]:
        left = (until - today).days
        when = f"in {counted(left, 'day')}" if left else "today"
        rows.append(f"- {md(f'{place}: {words}')} (ends {when})")
    if len(found) > MOST_ROWS:
        rows.append(f"- and {len(found) - MOST_ROWS:,} more")
    return [f"## Waivers that end within {SOON} days", "", *rows]


# adaptations -------------------------------------------------------------------------------------------------------


def _matrices(result: Result) -> Iterator[list[str]]:
    """Yield, for each published build, a table of its adaptations: a row for each, a column for the site and for each thing that most of them change."""
    by_base: dict[str, list[BuildResult]] = defaultdict(list)
    for build in result.builds:
        if build.adapted is not None:
            by_base[build.home.below + build.adapted.base].append(build)
    known = {_place(build): build for build in result.builds}
    for path, builds in sorted(by_base.items()):
        yield _matrix(path, known.get(path), builds)


def _matrix(path: str, base: BuildResult | None, builds: list[BuildResult]) -> list[str]:
    counts = Counter(name for build in builds if build.adapted is not None for name, _ in build.adapted.changes)
    names = sorted(sorted(counts), key=lambda name: -counts[name])[:MOST_PARTS]
    more = len(counts) - len(names)
    first = builds[0].adapted
    assert first is not None
    title = f": {md(first.title)}" if first.title else ""
    revision = f", revision {md(first.revision)}" if first.revision else ""
    heads = ["build", "site", *(md(name) for name in names), *(["more"] if more else []), "verdict", "worst margin"]
    lines = [
        f"## Adaptations of {md(path)}{title}{revision}",
        "",
        f"| {' | '.join(heads)} |",
        f"|{' --- |' * (len(heads) - 1)} ---: |",
    ]
    if base is not None:
        lines.append(_line([md(path), "", *("" for _ in names), *([""] if more else []), verdict_of(base), worst_margin(base)]))
    for build in builds[:MOST_ROWS]:
        assert build.adapted is not None
        changes = dict(build.adapted.changes)
        rest = [f"{len([name for name in changes if name not in names]):,}"] if more else []
        cells = [md(cut(changes.get(name, ""), _CELL)) for name in names]
        lines.append(_line([md(_place(build)), md(build.adapted.site), *cells, *rest, verdict_of(build), worst_margin(build)]))
    if len(builds) > MOST_ROWS:
        lines += ["", f"and {counted(len(builds) - MOST_ROWS, 'more adaptation')}."]
    return lines


def _line(cells: list[str]) -> str:
    return f"| {' | '.join(cells)} |"


# copies ------------------------------------------------------------------------------------------------------------


def _lagging(result: Result) -> list[str]:
    """Return the copies of published builds that have a later revision elsewhere in the repository, with who adapts them."""
    users: dict[str, list[str]] = defaultdict(list)
    copies: dict[str, tuple[str, str]] = {}
    for build in result.builds:
        if build.adapted is not None:
            path = build.home.below + build.adapted.base
            users[path].append(_place(build))
            copies[path] = build.adapted.title, build.adapted.revision
    rows: list[str] = []
    for path, (title, revision) in sorted(copies.items()):
        newer = [
            build
            for build in result.builds
            if title
            and build.title == title
            and _place(build) not in copies
            and build.adapted is None
            and _later(build.revision, revision)
        ]
        if newer:
            last = max(newer, key=lambda build: _order(build.revision))
            words = (
                f"{path} is {title} at revision {revision or 'none'}; {_place(last)} is at revision {last.revision}. "
                f"It is adapted by {', '.join(sorted(users[path])[:6])}."
            )
            rows.append(f"- {md(words)}")
    return ["## Copies of published builds that lag behind", "", *rows[:MOST_ROWS]] if rows else []


def _later(one: str, two: str) -> bool:
    return bool(one) and _order(one) > _order(two)


def _order(revision: str) -> tuple[tuple[int, str], ...]:
    """Return what revisions are put in order by: figures by their value, the rest by its letters.

    >>> sorted(["10", "9", "2026-02", "9b"], key=_order)
    ['9', '9b', '10', '2026-02']
    """
    return tuple((int(piece), "") if piece.isdigit() else (-1, piece) for piece in re.findall(r"[0-9]{1,18}|[^0-9]+", revision))


def _place(build: BuildResult) -> str:
    return build.home.below + build.path


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
