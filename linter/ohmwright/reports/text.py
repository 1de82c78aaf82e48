"""The inspection sheet: what was found, part by part, what could not be checked, and what stands behind it.

Readable at 80 columns and without colour. Nothing from a build file reaches the terminal with its control characters.
"""

from __future__ import annotations

import textwrap
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from ohmwright.findings import Severity, StateMeasure
from ohmwright.references import Reference
from ohmwright.results import BuildResult, Judged, Result, Unchecked
from ohmwright.values import shown, shown_pair

__all__ = ["CAUTIONS", "TextOptions", "clean", "write"]

MOST_FINDINGS = 200
WIDTH = 80
_LABEL = 10

CAUTIONS = (
    "This is a design check against published values, no approval. Local codes and licensed practice decide. "
    "Batteries can give thousands of amperes into a short, DC arcs do not go out by themselves, and mains and "
    "charged capacitors kill: have a qualified person look before you connect anything."
)

_STATUS = {
    "read": "read at the source",
    "secondary": "read at a secondary source",
    "from-memory": "from memory, not verified",
    "common-practice": "",
    "computed": "computed",
}


@dataclass(frozen=True, slots=True)
class TextOptions:
    """How to write the sheet."""

    working: bool = False
    assumed: bool = False
    colour: bool = False
    require_checked: bool = False
    most: int = MOST_FINDINGS


def clean(text: str) -> str:
    """Return a text without characters that steer a terminal or hide what is written.

    >>> clean("a\\x1b[31mb")
    'a?[31mb'
    """
    return "".join(c if (c.isprintable() and c not in _HIDDEN) or c == "\n" else "?" for c in text)


_HIDDEN = frozenset("\u200b\u200c\u200d\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2060\u2066\u2067\u2068\u2069\ufeff")


def write(result: Result, options: TextOptions = TextOptions()) -> str:
    """Return the whole sheet."""
    lines: list[str] = []
    for build in result.builds:
        lines.extend(_build(build, options))
        lines.append("")
    lines.extend(_errors(result))
    lines.extend(_closing(result, options))
    return clean("\n".join(lines)).rstrip() + "\n"


# one build ---------------------------------------------------------------------------------------------------------


def _build(build: BuildResult, options: TextOptions) -> Iterator[str]:
    title = build.title or ("a library of parts" if build.is_library else "untitled")
    revision = f", revision {build.revision}" if build.revision else ""
    yield _bold(f"{build.path}: {title}{revision}", options)
    if not build.is_library:
        declared = sum(1 for state in build.states if state.origin == "declared")
        implied = sum(1 for state in build.states if state.origin == "implied")
        reached = sum(1 for state in build.states if state.origin == "reached")
        states = f"{declared} declared and {implied} implied states" + (f", {reached} reached" if reached else "")
        left = f" ({build.not_reached} more not looked at)" if build.not_reached else ""
        basis = f"basis {build.basis}" if build.basis else "no basis declared"
        yield f"{basis}; {states}{left}" + ("; read in part only" if build.partial else "")
    elif build.partial:
        yield "read in part only"
    groups = _by_subject(build.findings)
    written = 0
    for subject, findings in groups.items():
        if written >= options.most:
            break
        yield ""
        yield _heading(build, subject, findings[0], options)
        for item in findings:
            if written >= options.most:
                break
            yield from _finding(item, build, options)
            written += 1
    if written < len(build.findings):
        yield ""
        yield f"{len(build.findings) - written:,} more findings are not written here; the JSON output has them all."
    if build.waived:
        yield ""
        yield "Waived"
        for item in build.waived:
            assert item.waiver is not None
            until = item.waiver.until.isoformat() if item.waiver.until is not None else ""
            yield from _wrapped(f"{item.rule.id} on {', '.join(item.finding.subject)} until {until}: {item.waiver.because}", 2)
    yield from _unchecked(build, options)
    yield from _requirements(build)
    if options.assumed:
        yield from _assumed(build)


def _by_subject(findings: Iterable[Judged]) -> dict[str, list[Judged]]:
    groups: dict[str, list[Judged]] = defaultdict(list)
    for item in findings:
        groups[item.finding.subject[0] if item.finding.subject else ""].append(item)
    for items in groups.values():
        items.sort(key=lambda item: (-item.severity, item.rule.id))
    worst = {subject: (-max(item.severity for item in items), items[0].finding.span) for subject, items in groups.items()}
    return dict(sorted(groups.items(), key=lambda pair: worst[pair[0]]))


def _heading(build: BuildResult, subject: str, item: Judged, options: TextOptions) -> str:
    kind = build.kinds.get(subject, "")
    place = build.places.get(subject, item.finding.span)
    what = f"{subject} ({kind})" if kind else subject
    if item.rule.family == "text" and not kind:
        return _bold(f"{item.finding.span.path}, line {item.finding.span.line}", options)
    return _bold(f"{what}, {place.path} line {place.line}", options)


_MARK = {Severity.ERROR: "31", Severity.WARNING: "33", Severity.NOTE: "36"}


def _finding(item: Judged, build: BuildResult, options: TextOptions) -> Iterator[str]:
    finding = item.finding
    word = item.severity.word
    head = f"{word}: {item.rule.title} [{item.rule.id}.{item.grade.name}]"
    if item.rule.family == "text":
        head = f"{word}: {item.rule.title} [{item.rule.id}]"
    yield "  " + (_colour(head, _MARK[item.severity]) if options.colour else head)
    message = finding.message
    place = finding.span
    if item.rule.family == "text" or place != build.places.get(finding.subject[0] if finding.subject else ""):
        message = (
            f"{message} (line {place.line})" if place.path == build.path else f"{message} ({place.path} line {place.line})"
        )
    yield from _labelled("Found", message)
    if finding.measured is not None and finding.limit is not None:
        measured, allowed = shown_pair(finding.measured, finding.limit)
        where = f' in state "{finding.state}"' if finding.state else ""
        yield from _labelled("Measured", f"{measured}{where}{_other_states(finding.states, finding.state)}")
        word = "at most" if finding.sense == "at-most" else "at least"
        margin = finding.margin
        over = (
            f" ({abs(margin) * 100:.0f} % {'over' if finding.sense == 'at-most' else 'under'})"
            if margin is not None and margin < 0
            else ""
        )
        yield from _labelled("Allowed", f"{word} {allowed}{over}")
    elif finding.measured is not None:
        yield from _labelled("Measured", shown(finding.measured))
    elif finding.state:
        yield from _labelled("In state", f'"{finding.state}"{_other_states(finding.states, finding.state)}')
    for related in finding.related:
        yield from _labelled("See", f"{related.message} ({related.span.path} line {related.span.line})")
    if finding.remedy:
        yield from _labelled("Remedy", finding.remedy)
    if options.working:
        for step in finding.working:
            value = f" = {step.value:.6g} {step.unit}".rstrip() if step.value is not None else ""
            yield from _labelled("Working", f"{step.symbol}: {step.expression}{value} ({step.source})")
    if item.reference is not None and item.rule.family != "text":
        yield from _labelled("Basis", _reference(item.reference))
    if item.because:
        yield from _labelled(
            "Also", f"{len(item.because)} finding{'s' if len(item.because) > 1 else ''} with the same cause, not repeated here"
        )


def _reference(reference: Reference) -> str:
    status = _STATUS[reference.status]
    return f"{reference} ({status})" if status else str(reference)


def _other_states(states: tuple[StateMeasure, ...], worst: str) -> str:
    others = [state.state for state in states if state.state and state.state != worst]
    if not others:
        return ""
    named = ", ".join(f'"{name}"' for name in others[:2])
    more = f" and {len(others) - 2} more" if len(others) > 2 else ""
    return f"; also in {named}{more}"


# what could not be checked -----------------------------------------------------------------------------------------


def _unchecked(build: BuildResult, options: TextOptions) -> Iterator[str]:
    if not build.not_checked:
        return
    groups: dict[tuple[str, str], list[Unchecked]] = defaultdict(list)
    for item in build.not_checked:
        groups[(item.outcome.missing, item.outcome.declare)].append(item)
    yield ""
    yield _bold("Could not be checked, because it is not declared", options)
    for (missing, declare), items in sorted(groups.items(), key=lambda pair: (-max(i.severity for i in pair[1]), pair[0])):
        subjects = list(dict.fromkeys(item.outcome.subject[0] for item in items if item.outcome.subject))
        rules = ", ".join(sorted({item.rule.id for item in items}))
        names = ", ".join(subjects[:6]) + (f" and {len(subjects) - 6} more" if len(subjects) > 6 else "")
        yield from _wrapped(f"{missing} of {names} (for {rules})" if names else f"{missing} (for {rules})", 2)
        if declare:
            yield from _wrapped(f"say: {declare}", 6)


def _requirements(build: BuildResult) -> Iterator[str]:
    if not build.requirements:
        return
    yield ""
    yield "Requirements"
    for promise in build.requirements:
        value = ""
        if promise.value is not None and promise.limit is not None:
            one, two = shown_pair(promise.value, promise.limit)
            value = f": {one} against {two}"
        yield from _wrapped(f"{promise.verdict}: {promise.name}{value} ({promise.formula})", 2)


def _assumed(build: BuildResult) -> Iterator[str]:
    yield ""
    yield "Implied, defaulted or assumed"
    for item in build.assumed:
        yield from _wrapped(f"{item.subject}: {item.what} {item.value} ({item.source})", 2)


# the end -----------------------------------------------------------------------------------------------------------


def _errors(result: Result) -> Iterator[str]:
    for error in result.errors:
        where = f" ({error.build})" if error.build else ""
        yield from _wrapped(f"The run itself failed: {error.message}{where}", 0)
    if result.errors:
        yield ""


def _closing(result: Result, options: TextOptions) -> Iterator[str]:
    counts = dict.fromkeys(Severity, 0)
    checked = unchecked = hard = waived = nothing = 0
    for build in result.builds:
        for item in build.findings:
            counts[item.severity] += 1
        checked += len(build.passes) + sum(1 for item in build.findings if item.rule.family != "text")
        unchecked += len(build.not_checked)
        hard += sum(1 for item in build.not_checked if item.severity is Severity.ERROR)
        waived += len(build.waived)
        nothing += sum(item.count for _, item in build.does_not_apply)
    found = ", ".join(
        f"{count} {severity.word}{'s' if count != 1 else ''}" for severity, count in sorted(counts.items(), reverse=True)
    )
    rules = max((build.rules_run for build in result.builds), default=0)
    files = f"{len(result.builds)} file{'s' if len(result.builds) != 1 else ''}"
    waivers = f", {waived} waived" if waived else ""
    of_error = f" ({hard} of an error-level grade)" if hard else ""
    yield from _wrapped(
        f"{files}, {rules} rules: {found}{waivers}. {checked:,} checks made, {unchecked:,} could not be made{of_error}, "
        f"{nothing:,} do not apply.", 0,
    )  # fmt: skip
    yield from _wrapped(CAUTIONS, 0)


def _labelled(label: str, text: str) -> Iterator[str]:
    indent = " " * (4 + _LABEL)
    lines = textwrap.wrap(" ".join(text.split()), WIDTH - len(indent), break_long_words=False, break_on_hyphens=False) or [""]
    yield f"    {label:<{_LABEL}}{lines[0]}"
    for line in lines[1:]:
        yield indent + line


def _wrapped(text: str, indent: int) -> Iterator[str]:
    space = " " * indent
    yield from textwrap.wrap(
        " ".join(text.split()),
        WIDTH,
        initial_indent=space,
        subsequent_indent=space + ("  " if indent else ""),
        break_long_words=False,
        break_on_hyphens=False,
    )


def _colour(text: str, code: str) -> str:
    return f"\x1b[{code}m{text}\x1b[0m"


def _bold(text: str, options: TextOptions) -> str:
    return f"\x1b[1m{text}\x1b[0m" if options.colour else text
