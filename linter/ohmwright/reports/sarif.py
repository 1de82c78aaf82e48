"""SARIF 2.1.0, the OASIS format for results of static analysis, within the limits that GitHub's code scanning publishes.

Findings and what could not be checked are results, the worst first; waived findings and those that a baseline holds are results with a suppression.
Fingerprints are made of build path, rule, grade and subject, never of a state or a line. Texts of build files go through `_words` (letters that cannot be
seen, placeholders and embedded links of SARIF messages), paths through `_uri`; the rest is the work of the JSON encoder.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from typing import Any, NamedTuple
from urllib.parse import quote

from ohmwright_grammar.spans import Edit

from ohmwright.findings import Severity
from ohmwright.reports.entries import Gap, gaps, in_one, name_of, waived_in_words
from ohmwright.reports.json_report import amount_in_json, laid_out, number_or_null
from ohmwright.reports.places import Places, Region
from ohmwright.reports.totals import closing, settings_in_words
from ohmwright.reports.words import counted, cut, visible
from ohmwright.results import BuildResult, Judged, Result, fingerprint_of
from ohmwright.rules import Rule

__all__ = ["write"]

SCHEMA = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"

# "SARIF support for code scanning", docs.github.com: what is more is refused or dropped there.
MOST_RESULTS = 25_000
MOST_BYTES = 9_000_000  # of all results; 10 MB after gzip, which makes nothing longer that holds words
MOST_LOCATIONS = 100
MOST_TAGS = 10
MOST_DESCRIPTION = 1024

MOST_MESSAGE = 4000  # letters; longer ones come from names that nobody would read out
MOST_NAME = 500
MOST_HELP = 50_000
_TOP = "%SRCROOT%"
_GRAVITY = {"error": "error", "warning": "warning", "note": "recommendation"}  # words of GitHub's problem.severity


def write(result: Result) -> str:
    """Return the log of a run."""
    return laid_out({"$schema": SCHEMA, "version": "2.1.0", "runs": [_Run(result).document()]})


class _Made(NamedTuple):
    """A result before it has its number, and what decides its order."""

    order: tuple[Any, ...]
    rule: Rule
    document: dict[str, Any]


class _Run:
    """Makes the one run of a log."""

    def __init__(self, result: Result) -> None:
        self.result = result
        self.places = Places()
        self.rules: dict[str, int] = {}
        self.known: dict[str, Rule] = {}

    def document(self) -> dict[str, Any]:
        made = sorted((item for build in self.result.builds for item in self._of(build)), key=lambda item: item.order)
        results = list(self._within_limits(made))
        driver = {
            "name": "Ohmwright",
            "fullDescription": {"text": "A design check of small DC power systems against published values, no approval."},
            "version": self.result.version,
            "semanticVersion": self.result.version,
            "rules": [_descriptor(rule, page) for rule, page in _with_pages(self.known.values(), self.result.version)],
        }
        return {
            "tool": {"driver": driver},
            "automationDetails": {"id": "ohmwright/"},
            "columnKind": "utf16CodeUnits",
            "originalUriBaseIds": {_TOP: {"description": {"text": "The top of the repository that holds the builds."}}},
            "invocations": [
                {
                    "executionSuccessful": not self.result.errors,
                    "toolExecutionNotifications": [*self._notifications(len(made) - len(results))],
                }
            ],
            "results": results,
        }

    def _within_limits(self, made: list[_Made]) -> Iterator[dict[str, Any]]:
        size = 0
        for item in made[:MOST_RESULTS]:
            size += len(json.dumps(item.document)) + 40
            if size > MOST_BYTES:
                return
            number = self.rules.setdefault(item.rule.id, len(self.rules))
            self.known.setdefault(item.rule.id, item.rule)
            yield {"ruleId": item.rule.id, "ruleIndex": number, **item.document}

    # results -------------------------------------------------------------------------------------------------------

    def _of(self, build: BuildResult) -> Iterator[_Made]:
        for item in build.findings:
            yield self._finding(item, build, 0, [])
        for gap in gaps(build):
            yield from self._gap(gap, build)
        for item in build.waived:
            waiver = item.waiver
            assert waiver is not None
            place = {"physicalLocation": self._physical(self.places.tight(waiver.span, build))}
            words = {
                "kind": "inSource",
                "status": "accepted",
                "justification": _words(waived_in_words(item)),
                "location": place,
            }
            yield self._finding(item, build, 1, [words])
        for item in build.baselined:
            words = {"kind": "external", "status": "accepted", "justification": "Held by the baseline, and no worse."}
            yield self._finding(item, build, 2, [words])

    def _finding(self, item: Judged, build: BuildResult, place: int, suppressions: list[dict[str, Any]]) -> _Made:
        finding = item.finding
        region = self.places.tight(finding.span, build)
        related = [
            {
                "id": number,
                "message": {"text": _words(other.message)},
                "physicalLocation": self._physical(self.places.tight(other.span, build)),
            }
            for number, other in enumerate(finding.related[:MOST_LOCATIONS])
        ]
        document: dict[str, Any] = {
            "level": item.severity.word,
            "message": {"text": _words(in_one(item, build))},
            "locations": [self._location(region, finding.subject)],
            "partialFingerprints": _fingerprints(build.home.below, item.key),
            "suppressions": suppressions,
            "properties": {
                "outcome": "finding",
                "grade": item.grade.name,
                "subject": [_name(name) for name in finding.subject[:MOST_LOCATIONS]],
                "state": _name(finding.state) or None,
                "measured": amount_in_json(finding.measured),
                "limit": amount_in_json(finding.limit),
                "margin": number_or_null(finding.margin),
            },
        }
        if related:
            document["relatedLocations"] = related
        if finding.edits and not suppressions:
            document["fixes"] = [self._fix(finding.remedy, finding.edits, build)]
        return _Made((place, -item.severity, region.path, finding.span, item.rule.id, item.key), item.rule, document)

    def _gap(self, gap: Gap, build: BuildResult) -> Iterator[_Made]:
        """Yield what could not be checked, rule by rule, as severe as it counts at the bar."""
        region = self.places.tight(gap.span, build)
        for item in gap.items:
            key = (build.path, item.rule.id, item.grade.name, "not-checked", *sorted(item.outcome.subject))
            about = f" of {', '.join(item.outcome.subject[:6])}" if item.outcome.subject else ""
            document = {
                "level": gap.severity.word,
                "message": {"text": _words(f"Not checked for want of {gap.missing}: {name_of(item)}{about}.")},
                "locations": [self._location(region, item.outcome.subject)],
                "partialFingerprints": _fingerprints(build.home.below, key),
                "suppressions": [],
                "properties": {
                    "outcome": "not-checked",
                    "grade": item.grade.name,
                    "missing": _name(gap.missing),
                    "declare": _name(gap.declare) or None,
                },
            }
            yield _Made((0, -gap.severity, region.path, gap.span, item.rule.id, key), item.rule, document)

    def _location(self, region: Region, subject: tuple[str, ...]) -> dict[str, Any]:
        location: dict[str, Any] = {"physicalLocation": self._physical(region)}
        if subject:
            location["logicalLocations"] = [{"fullyQualifiedName": _name(subject[0])}]
        return location

    def _physical(self, region: Region) -> dict[str, Any]:
        return {"artifactLocation": _artifact(region.path), "region": _region(region)}

    def _fix(self, remedy: str, edits: Iterable[Edit], build: BuildResult) -> dict[str, Any]:
        by_file: dict[str, list[dict[str, Any]]] = {}
        for edit in edits:
            region = self.places.exact(edit.span, build, may_be_empty=True)
            replacement = {"deletedRegion": _region(region), "insertedContent": {"text": edit.text}}
            by_file.setdefault(region.path, []).append(replacement)
        changes = [{"artifactLocation": _artifact(path), "replacements": items} for path, items in by_file.items()]
        return {"description": {"text": _words(remedy or "Change the text.")}, "artifactChanges": changes}

    # the run itself ------------------------------------------------------------------------------------------------

    def _notifications(self, more: int) -> Iterator[dict[str, Any]]:
        for error in self.result.errors:
            where = f" ({error.build})" if error.build else ""
            yield _notification("error", f"The run itself failed: {error.message}{where}")
        for build in self.result.builds:
            if build.partial:
                yield _notification("error", f"{build.path} was read in part only: what is missing there was not checked.")
        if more:
            yield _notification(
                "warning", f"{counted(more, 'more result')}, none worse than these, left out: a service takes so many only."
            )
        for told in self.result.settings:
            for _, words in settings_in_words(told):
                yield _notification("note", words)
        for words in closing(self.result):
            yield _notification("note", words)


def _notification(level: str, words: str) -> dict[str, Any]:
    return {"level": level, "message": {"text": _words(words)}}


# rules -------------------------------------------------------------------------------------------------------------


def _with_pages(rules: Iterable[Rule], version: str) -> Iterator[tuple[Rule, tuple[str, str]]]:
    """Yield rules with their pages, as plain text and as Markdown."""
    from ohmwright.pages import page_beside
    from ohmwright.reports.rule_pages import Page, write_page, write_page_markdown
    from ohmwright.rules import installed_packs

    ready = {item.id: (pack, item) for pack in installed_packs() for item in pack.ready()}
    for rule in rules:
        page = Page(rule, "linter", version, "")
        if rule.id in ready:
            pack, item = ready[rule.id]
            page = Page(rule, pack.name, pack.version, page_beside(getattr(item.module, "__file__", None)))
        yield rule, (write_page(page), write_page_markdown(page))


def _descriptor(rule: Rule, page: tuple[str, str]) -> dict[str, Any]:
    worst = max((grade.severity for grade in rule.grades), default=Severity.WARNING).word
    conditions = "; ".join(f"{grade.name} ({grade.severity.word}): {grade.condition}" for grade in rule.grades)
    sources = "; ".join(str(reference) for reference in rule.references)
    full = f"{rule.title}. {conditions}. Rests on: {sources}." if sources else f"{rule.title}. {conditions}."
    name = "".join(word.capitalize() for word in rule.id.split("-"))
    return {
        "id": rule.id,
        **({"name": name} if name.lower() != rule.id else {}),  # one that says nothing more is none
        "shortDescription": {"text": cut(f"{rule.title}.", MOST_DESCRIPTION)},
        "fullDescription": {"text": cut(full, MOST_DESCRIPTION)},
        "help": {"text": cut(page[0], MOST_HELP), "markdown": cut(page[1], MOST_HELP)},
        "defaultConfiguration": {"level": worst},
        "properties": {"tags": [rule.family, *rule.covers][:MOST_TAGS], "problem.severity": _GRAVITY[worst]},
    }


# pieces ------------------------------------------------------------------------------------------------------------


def _words(text: str) -> str:
    """Return a text as a plain message: letters that hide or turn others spelt out, braces doubled (3.11.5, placeholders), and no embedded link (3.11.6).

    >>> _words("[here](https://x) {0}")
    '[here] (https://x) {{0}}'
    """
    plain = visible(cut(" ".join(text.split()), MOST_MESSAGE))
    return plain.replace("{", "{{").replace("}", "}}").replace("](", "] (")


def _name(text: str) -> str:
    """Return a name, or words that are no message."""
    return visible(cut(text, MOST_NAME))


def _uri(path: str) -> str:
    """Return a path as a relative reference of RFC 3986.

    >>> _uri("my boat/ä:1.rig")
    'my%20boat/%C3%A4%3A1.rig'
    """
    try:
        return quote(path.encode("utf-8", "surrogateescape"), safe="/")  # a name that is no UTF-8 keeps its bytes
    except UnicodeEncodeError:
        return quote(path, safe="/", errors="replace")


def _artifact(path: str) -> dict[str, Any]:
    return {"uri": _uri(path), "uriBaseId": _TOP}


def _region(region: Region) -> dict[str, Any]:
    return {
        "startLine": region.line,
        "startColumn": region.column,
        "endLine": region.end_line,
        "endColumn": region.end_column,
    }


def _fingerprints(below: str, key: tuple[str, ...]) -> dict[str, str]:
    """Return what a service knows a finding by again; the name that it looks for, and our own."""
    made = fingerprint_of((below + key[0], *key[1:]))
    return {"primaryLocationLineHash": f"{made}:1", "ohmwright/v1": made}
