"""Findings in words, the same in every format: labelled sentences, which each writer lays out and escapes for where they go.

What stands here is not escaped: it holds names and texts of build files as they are.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping

from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Span

from ohmwright.findings import Finding, Severity, StateMeasure
from ohmwright.references import Reference, Step
from ohmwright.reports.words import counted, listed
from ohmwright.results import BuildResult, Judged, Unchecked
from ohmwright.text_rules import OWN_FAMILIES
from ohmwright.values import figures, shown, shown_pair

__all__ = [
    "CLAUSES",
    "Gap",
    "by_severity",
    "by_subject",
    "facts",
    "gaps",
    "heading",
    "in_one",
    "lowered",
    "name_of",
    "place_of",
    "reference_in_words",
    "title_of",
    "waived_in_words",
    "working",
]

_STATUS = {
    "read": "read at the source",
    "secondary": "read at a secondary source",
    "from-memory": "from memory, not verified",
    "common-practice": "",
    "computed": "computed",
}

Fact = tuple[str, str]  # a label ("Found") and what stands beside it; a label of "" goes on with the one before


# one finding -------------------------------------------------------------------------------------------------------


def facts(
    item: Judged, build: BuildResult, yielded: Mapping[tuple[str, ...], Judged] | None = None, steps: bool = False
) -> Iterator[Fact]:
    """Yield what is to be said of a finding, in the order of an inspection sheet; with `steps` every line of its sums too.

    `yielded` holds what yielded to others by its key, where it is to be told what a finding explains.
    """
    finding = item.finding
    yield "Found", f"{_without_name(finding)}{_elsewhere(item, build)}"
    yield from _measured(finding)
    for related in finding.related:
        yield "See", f"{place_of(related.span, build.path)}: {lowered(related.message)}"
    if finding.remedy:
        yield "Remedy", finding.remedy
    if steps:
        yield from working(finding.working)
    if item.reference is not None and item.rule.family not in OWN_FAMILIES:
        yield "Basis", reference_in_words(item.reference)
    if item.because and yielded:
        entries = [
            f"{known.rule.id} on {known.finding.subject[0]}"
            for name in item.because
            if (known := yielded.get(name)) is not None
        ]
        yield "Explains", f"{listed(entries, 4)}: the same cause, not told again"


def in_one(item: Judged, build: BuildResult) -> str:
    """Return a finding in one row of sentences, for formats that have room for one text and no heading."""
    finding = item.finding
    name = _subject(item)
    message = f"{name}: {finding.message}" if name in build.kinds and name not in finding.message else finding.message
    rest = [f"{label}: {text}" for label, text in facts(item, build) if label not in ("Found", "See")]
    return " ".join(_ended(text) for text in (message, *rest))


def _ended(text: str) -> str:
    return text if text.endswith((".", "!", "?")) else f"{text}."


def title_of(item: Judged) -> str:
    """Return what a rule finds, as it reads after a severity."""
    return lowered(item.rule.title)


def name_of(item: Judged | Unchecked) -> str:
    """Return the name by which a waiver would call it: rule and grade; of a text the rule alone."""
    return item.rule.id if item.rule.family == "text" else f"{item.rule.id}.{item.grade.name}"


def place_of(span: Span, path: str) -> str:
    """Return a line, with its file where that is not the one inspected."""
    return f"line {span.line}" if span.path == path else f"{span.path} line {span.line}"


def heading(build: BuildResult, item: Judged) -> str:
    """Return what a finding is about and where that stands."""
    subject = _subject(item)
    kind = build.kinds.get(subject, "")
    if not kind and item.rule.family in OWN_FAMILIES:
        place = place_of(item.finding.span, build.path)
        return place[:1].upper() + place[1:] if item.finding.span.path == build.path else place
    place = place_of(build.places.get(subject, item.finding.span), build.path)
    name = subject if len(subject) <= 60 else f"{subject[:57]} …"
    return f"{name} ({kind}), {place}" if kind else f"{name}, {place}"


def by_subject(build: BuildResult) -> list[list[Judged]]:
    """Group findings by the thing that they are about, those about mere words by their line: the worst first, then as they stand."""
    groups: dict[tuple[str, int], list[Judged]] = defaultdict(list)
    for item in build.findings:
        subject, span = _subject(item), item.finding.span
        words = item.rule.family in OWN_FAMILIES and subject not in build.kinds
        groups[(span.path, span.line) if words else (f"{subject}\n", 0)].append(item)
    for items in groups.values():
        items.sort(key=lambda item: (-item.severity, item.finding.span, item.rule.id))
    return sorted(groups.values(), key=lambda items: (-max(item.severity for item in items), items[0].finding.span))


def _subject(item: Judged) -> str:
    """Return what a finding is about; mistakes of one sort in one thing are numbered, as "house (2)": no name holds brackets."""
    subject = item.finding.subject[0] if item.finding.subject else ""
    return re.sub(r" \(\d+\)$", "", subject) if item.rule.family in OWN_FAMILIES else subject


def _without_name(finding: Finding) -> str:
    """Return the message without the name that its heading has said already."""
    name = f"{finding.subject[0]}: " if finding.subject else ""
    message = finding.message
    return message[len(name) :] if name and message.startswith(name) else message


def _elsewhere(item: Judged, build: BuildResult) -> str:
    """Return where the finding stands, unless its heading has said so."""
    span = item.finding.span
    known = build.places.get(_subject(item), span)
    if (known.path, known.line) == (span.path, span.line):
        return ""
    return f" ({place_of(span, build.path)})"


def _measured(finding: Finding) -> Iterator[Fact]:
    if finding.measured is None:
        if finding.state:
            yield "In state", f'"{finding.state}"{_other_states(finding.states, finding.state)}'
        return
    where = f' in state "{finding.state}"{_other_states(finding.states, finding.state)}' if finding.state else ""
    if finding.limit is None:
        yield "Measured", f"{shown(finding.measured)}{where}"
        return
    measured, allowed = shown_pair(finding.measured, finding.limit)
    yield "Measured", f"{measured}{where}"
    word = "at most" if finding.sense == "at-most" else "at least"
    yield "Allowed", f"{word} {allowed}{_excess(finding)}"


def _excess(finding: Finding) -> str:
    """Return by how much a limit is broken: of a temperature in kelvin, else as a share of the limit."""
    measured, limit, margin = finding.measured, finding.limit, finding.margin
    if measured is None or limit is None or margin is None or margin >= 0:
        return ""
    word = "over" if finding.sense == "at-most" else "under"
    if limit.dimension == "temperature":
        return f" ({figures(abs(measured.value - limit.value), 2)} K {word})"
    return f" ({figures(abs(margin) * 100, 2)} % {word})"


def _other_states(states: tuple[StateMeasure, ...], worst: str) -> str:
    others = [f'"{state.state}"' for state in states if state.state and state.state != worst]
    return f"; also in {listed(others, 2)}" if others else ""


def working(steps: Iterable[Step]) -> Iterator[Fact]:
    """Yield the lines of a sum."""
    for number, step in enumerate(steps):
        yield "Working" if number == 0 else "", _step(step)


def _step(step: Step) -> str:
    unit = "" if step.unit == "1" else f" {step.unit}"
    value = f" = {figures(step.value, 4)}{unit}" if step.value is not None else ""
    return f"{step.symbol}: {step.expression}{value} ({step.source})"


def reference_in_words(reference: Reference) -> str:
    """Return what a limit rests on, and how that was read."""
    status = _STATUS[reference.status]
    return f"{reference} ({status})" if status else str(reference)


def lowered(text: str) -> str:
    """Return words as they read after a colon: with a small letter, where they do not begin with an abbreviation such as AC."""
    return text[:1].lower() + text[1:] if text[1:2].islower() or text[1:2] == " " else text


# beside the findings -----------------------------------------------------------------------------------------------


def waived_in_words(item: Judged) -> str:
    """Return a waived finding with what excuses it."""
    from ohmwright.waiving import bound_of  # read only where there is a waiver

    waiver = item.waiver
    assert waiver is not None
    bound = waiver.up_to if item.finding.sense == "at-most" else waiver.down_to
    upto = ""
    if bound is not None and item.finding.measured is not None:
        word = "up to" if item.finding.sense == "at-most" else "down to"
        now, most = shown_pair(item.finding.measured, bound_of(bound))
        upto = f" {word} {most} (now {now})"
    until = f" until {waiver.until.isoformat()}" if waiver.until is not None else ""
    name = f"{item.rule.id}.{item.grade.name}"
    return f"{name} on {', '.join(item.finding.subject)}{upto}{until}: {waiver.because}"


def by_severity(findings: Iterable[Judged]) -> str:
    """Return how many findings of each severity there are, those that there are none of left out."""
    counts = dict.fromkeys(sorted(Severity, reverse=True), 0)
    for item in findings:
        counts[item.severity] += 1
    return ", ".join(counted(count, severity.word) for severity, count in counts.items() if count)


@record
class Gap:
    """Something that nobody declares at one place, so that grades which would be errors could not be checked; it counts with `severity` at the bar."""

    missing: str
    declare: str
    span: Span
    items: tuple[Unchecked, ...]
    severity: Severity

    @property
    def message(self) -> str:
        """What is missing, and for which checks of what."""
        subjects = listed(dict.fromkeys(item.outcome.subject[0] for item in self.items if item.outcome.subject), 4)
        names = listed(sorted({name_of(item) for item in self.items}), 4)
        about = f" of {subjects}" if subjects else ""
        want = f"as nobody says {self.missing}" if self.missing.startswith(CLAUSES) else f"for want of {self.missing}"
        return f"Not checked {want}: {names}{about}."


CLAUSES = ("whether ", "how ", "what ", "which ")
"""Words with which a missing datum begins that is a clause, not a noun: "whether it equalises"."""


def gaps(build: BuildResult) -> Iterator[Gap]:
    """Yield what counts at the bar though it is no finding: error-level grades that could not be checked, by place and missing datum."""
    groups: dict[tuple[Span, str, str], list[Unchecked]] = defaultdict(list)
    for item in build.not_checked:
        if item.severity is Severity.ERROR:
            outcome = item.outcome
            groups[(outcome.span, outcome.missing, outcome.declare)].append(item)
    severity = Severity.ERROR if build.require_checked else Severity.WARNING
    for (span, missing, declare), items in sorted(groups.items(), key=lambda pair: pair[0]):
        yield Gap(missing, declare, span, tuple(items), severity)
