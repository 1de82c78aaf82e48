"""The code quality report of GitLab: a list of issues, which the service compares with those of the target branch by their fingerprints.

Only findings and what counts at the bar though it could not be checked stand here: the format has no room for waived findings, nor for words about the run.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ohmwright.findings import Severity
from ohmwright.reports.entries import gaps, in_one, name_of
from ohmwright.reports.json_report import laid_out_list
from ohmwright.reports.places import Places
from ohmwright.reports.words import cut, visible
from ohmwright.results import BuildResult, Result, fingerprint_of

__all__ = ["write"]

MOST_DESCRIPTION = 4000  # letters
# "Code Quality", docs.gitlab.com: info, minor, major, critical or blocker. "blocker" is left to what stops the run itself.
_SEVERITY = {Severity.ERROR: "critical", Severity.WARNING: "major", Severity.NOTE: "info"}


def write(result: Result) -> str:
    """Return the report of a run."""
    places = Places()
    issues = [issue for build in result.builds for issue in _issues(build, places)]
    first = result.builds[0] if result.builds else None
    for number, error in enumerate(result.errors):
        path = error.build or (first.home.below + first.path if first is not None else "unknown")
        key = ("run", error.build, error.rule, str(number))
        issues.append(_issue("run-failed", f"The run itself failed: {error.message}", "blocker", path, 1, key))
    return laid_out_list(issues)


def _issues(build: BuildResult, places: Places) -> Iterator[dict[str, Any]]:
    for item in build.findings:
        region = places.tight(item.finding.span, build)
        key = (build.home.below + item.key[0], *item.key[1:])
        yield _issue(name_of(item), in_one(item, build), _SEVERITY[item.severity], region.path, region.line, key)
    for gap in gaps(build):
        region = places.tight(gap.span, build)
        subjects = sorted({name for item in gap.items for name in item.outcome.subject})
        key = (build.home.below + build.path, "not-checked", gap.missing, gap.declare, *subjects)
        yield _issue("not-checked", gap.message, _SEVERITY[gap.severity], region.path, region.line, key)


def _issue(name: str, words: str, severity: str, path: str, line: int, key: tuple[str, ...]) -> dict[str, Any]:
    return {
        "description": visible(cut(" ".join(words.split()), MOST_DESCRIPTION)),
        "check_name": name,
        "fingerprint": fingerprint_of(key),
        "severity": severity,
        "location": {"path": path, "lines": {"begin": line}},
    }
