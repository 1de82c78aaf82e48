"""The entries of files in a result: of those that could not be read or were not inspected, and what stands in all of them beside what rules found."""

from __future__ import annotations

from collections.abc import Iterable

from ohmwright_grammar.diagnostics import Diagnostic
from ohmwright_grammar.kinds.requirement import Requirement
from ohmwright_grammar.model import Build
from ohmwright_grammar.spans import Span

from ohmwright.findings import Finding, Related
from ohmwright.judging import judged
from ohmwright.results import BuildResult, Judged, Promise
from ohmwright.text_rules import TEXT_GRADE, text_rule

__all__ = [
    "findings_of_text",
    "kinds_of",
    "library_entry",
    "places_of",
    "reader_entry",
    "requirements_of",
    "uninspected_entry",
    "unread_entry",
]


def findings_of_text(path: str, problems: Iterable[tuple[Diagnostic, str]]) -> tuple[Judged, ...]:
    """Turn what is wrong with a text into findings; the subject is the nearest named thing, else the statement's own words, which stand beside each."""
    ordinals: dict[tuple[str, str], int] = {}
    found: list[Judged] = []
    for problem, words in problems:
        subject = problem.subject or words or problem.message
        key = (problem.rule, subject)
        ordinals[key] = ordinals.get(key, 0) + 1
        if ordinals[key] > 1:
            subject = f"{subject} ({ordinals[key]})"
        finding = Finding(
            TEXT_GRADE,
            (subject,),
            problem.message,
            problem.span,
            remedy=problem.remedy,
            edits=problem.edits,
            related=tuple(Related(item.message, item.span) for item in problem.related),
        )
        found.append(judged(path, text_rule(problem.rule), finding))
    return tuple(found)


def unread_entry(path: str, findings: tuple[Judged, ...]) -> BuildResult:
    """Return the entry of a file that could not be read at all: it may have been a build as well as a library."""
    return BuildResult(path, False, "", "", "", True, findings=findings)


def reader_entry(path: str, title: str | None, findings: tuple[Judged, ...]) -> BuildResult:
    """Return the entry of a file that nobody named, that builds read and that is not in order; `title` is None of a library."""
    return BuildResult(path, title is None, title or "", "", "", True, findings=findings)


def library_entry(build: Build, findings: tuple[Judged, ...]) -> BuildResult:
    """Return the entry of a library."""
    partial = build.partial or bool(findings)
    return BuildResult(build.path, True, "", "", "", partial, findings=findings, kinds=kinds_of(build), places=places_of(build))


def uninspected_entry(build: Build, basis: str, findings: tuple[Judged, ...]) -> BuildResult:
    """Return the entry of a build over which no rule ran: what is wrong with its text is told all the same."""
    return BuildResult(
        build.path,
        False,
        build.rig.title or "",
        build.rig.revision or "",
        basis,
        build.partial,
        findings=findings,
        kinds=kinds_of(build),
        places=places_of(build),
    )


def requirements_of(build: Build, promises: tuple[Promise, ...], *, all_rules: bool) -> tuple[Promise, ...]:
    """Return the verdict of every requirement; one that no rule answers is not checked. One that could not be read at all has a finding of its own."""
    answered = {promise.name for promise in promises}
    reason = (
        "no rule of the installed packs answers this yet"
        if all_rules
        else "not all rules ran, and none of those that did answers this"
    )
    rest = tuple(
        Promise(
            item.name,
            reason,
            None,
            None,
            "not-checked",
            _answerable(build, item.span),
        )
        for item in build.of(Requirement)
        if item.name and item.name not in answered
    )
    return (*promises, *rest)


def _answerable(build: Build, span: Span) -> Span:
    """Return the place in the inspected file that is answerable for a thing, that of the `adapts` statement for what the base declares."""
    return span if build.adapted is None or span.path == build.path else build.adapted.span


def kinds_of(build: Build) -> dict[str, str]:
    """Return what each thing is, by its name."""
    kinds = {name: part.KIND for name, part in build.parts.items()}
    kinds.update({run.name: run.conductor.KIND for run in build.runs})
    kinds.update({thing.name: thing.KIND for thing in build.things if thing.name})
    return kinds


def places_of(build: Build) -> dict[str, Span]:
    """Return the statement in the inspected file that is answerable for each thing."""
    places = {name: part.span for name, part in build.parts.items()}
    places.update({run.name: run.conductor.span for run in build.runs})
    places.update({thing.name: thing.span for thing in build.things if thing.name})
    return {name: _answerable(build, span) for name, span in places.items()}
