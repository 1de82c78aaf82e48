"""JUnit XML: every check is a case, so that a service shows which ones began or ceased to fail.

A suite is a build, a case the name of a grade with its subject. It fails where it counts at the bar; it is skipped where it is waived, held by the baseline,
or could not be checked and does not count. What is found below the bar passes and says so. Every text goes through `_xml`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from ohmwright.findings import Severity
from ohmwright.reports.entries import facts, heading, name_of, title_of, waived_in_words
from ohmwright.reports.totals import closing, settings_in_words
from ohmwright.reports.words import counted, cut, visible
from ohmwright.results import BuildResult, Judged, Result, RunError, Unchecked

__all__ = ["write"]

MOST_NAME = 500  # letters
MOST_TEXT = 8000
MOST_BYTES = 20_000_000  # what passes is left out beyond, and counted: services refuse reports of 30 MB


class _Case(NamedTuple):
    """One check: `outcome` is "failure", "error", "skipped", "said" (found below the bar) or "" (it passed)."""

    name: str
    outcome: str = ""
    kind: str = ""
    message: str = ""
    text: str = ""


def write(result: Result) -> str:
    """Return the report of a run."""
    suites = [_Suite(build.home.below + build.path) for build in result.builds]
    room = MOST_BYTES
    for suite, build in zip(suites, result.builds, strict=True):
        room = suite.fill(_cases(build), room)
    if result.errors or not suites:
        suites.append(_Suite("the run itself"))
        suites[-1].fill((_failed(error) for error in result.errors), room)
    suites[-1].notes.extend(words for told in result.settings for _, words in settings_in_words(told))
    suites[-1].notes.extend(closing(result))
    outcomes = [outcome for suite in suites for outcome in suite.outcomes]
    head = f'<testsuites name="Ohmwright {_xml(result.version)}" {_counts(outcomes)}>'
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{head}\n{"".join(suite.text() for suite in suites)}</testsuites>\n'


def _failed(error: RunError) -> _Case:
    return _Case(f"rule {error.rule or 'unknown'}, {error.build or 'the run'}", "error", "run", error.message)


# cases -------------------------------------------------------------------------------------------------------------


def _cases(build: BuildResult) -> Iterator[_Case]:
    """Yield the checks of a build, those that fail first; of one name only the first is kept later."""
    if build.partial:
        words = "Read in part only: what is missing there was not checked."
        yield _Case("the file is read in full", "error", "partial", words)
    for item in build.findings:
        outcome = "failure" if item.severity >= build.bar else "said"
        yield _Case(
            _name(item, item.finding.subject), outcome, f"{item.severity.word} {name_of(item)}", _head(item), _body(item, build)
        )
    for unchecked in build.not_checked:
        counts = unchecked.severity is Severity.ERROR and (build.require_checked or build.bar <= Severity.WARNING)
        declare = f"Declare: {unchecked.outcome.declare}" if unchecked.outcome.declare else ""
        words = f"Not checked for want of {unchecked.outcome.missing}."
        yield _Case(
            _name(unchecked, unchecked.outcome.subject), "failure" if counts else "skipped", "not-checked", words, declare
        )
    for item in build.waived:
        yield _Case(_name(item, item.finding.subject), "skipped", "waived", waived_in_words(item), _body(item, build))
    for item in build.baselined:
        words = "Held by the baseline, and no worse."
        yield _Case(_name(item, item.finding.subject), "skipped", "baseline", words, _body(item, build))
    for kept in build.passes:
        yield _Case(f"{kept.rule.id}.{kept.passed.grade}: {', '.join(kept.passed.subject)}")


def _name(item: Judged | Unchecked, subject: tuple[str, ...]) -> str:
    return f"{name_of(item)}: {', '.join(subject)}"


def _head(item: Judged) -> str:
    return f"{item.severity.word.capitalize()}: {title_of(item)}. {item.finding.message}"


def _body(item: Judged, build: BuildResult) -> str:
    return "\n".join([heading(build, item), *(f"{label}: {text}" for label, text in facts(item, build))])


# layout ------------------------------------------------------------------------------------------------------------


class _Suite:
    """One suite while it is filled."""

    def __init__(self, name: str) -> None:
        self.label = _xml(visible(cut(name, MOST_NAME)))
        self.outcomes: list[str] = []
        self.cases: list[str] = []
        self.notes: list[str] = []

    def fill(self, cases: Iterable[_Case], room: int) -> int:
        """Add cases, of one name only the first and what fails; return the room that is left. Without room what passes is left out, and the rest is short."""
        names: set[str] = set()
        left_out = 0
        for case in cases:
            if case.name in names and case.outcome in ("", "skipped"):
                continue
            names.add(case.name)
            if room <= 0 and not case.outcome:
                left_out += 1
                continue
            text = _case(case if room > 0 else case._replace(text="", message=cut(case.message, 200)), self.label)
            room -= len(text)
            self.outcomes.append(case.outcome)
            self.cases.append(text)
        if left_out:
            self.notes.append(f"{counted(left_out, 'passed check')} not written out here; the JSON output holds them all.")
        return room

    def text(self) -> str:
        said = "".join(f"  <system-out>{_xml(note)}</system-out>\n" for note in self.notes)
        skipped = self.outcomes.count("skipped")
        head = f'<testsuite name="{self.label}" {_counts(self.outcomes)} skipped="{skipped}">'
        return f" {head}\n{''.join(self.cases)}{said} </testsuite>\n"


def _counts(outcomes: list[str]) -> str:
    return f'tests="{len(outcomes)}" failures="{outcomes.count("failure")}" errors="{outcomes.count("error")}"'


def _case(case: _Case, label: str) -> str:
    head = f'  <testcase classname="{label}" name="{_xml(visible(cut(case.name, MOST_NAME)))}"'
    if not case.outcome:
        return f"{head}/>\n"
    text = _xml(cut(case.text, MOST_TEXT))
    message = _xml(cut(" ".join(case.message.split()), MOST_TEXT))
    if case.outcome == "said":
        return f"{head}><system-out>{message}\n{text}</system-out></testcase>\n"
    kind = _xml(cut(case.kind, MOST_NAME))
    return f'{head}><{case.outcome} type="{kind}" message="{message}">{text}</{case.outcome}></testcase>\n'


def _xml(text: str) -> str:
    """Return a text for an element or an attribute: what XML cannot hold spelt out, its signs as entities, no line that a service takes for a command.

    >>> _xml('a<b> & "c"\\x00')
    'a&lt;b&gt; &amp; &quot;c&quot;\\\\x00'
    """
    kept = "\n".join(map(visible, text.split("\n")))
    kept = kept.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;").replace('"', "&quot;").replace("'", "&apos;")
    return kept.replace("::", ":&#58;").replace("##", "#&#35;")
