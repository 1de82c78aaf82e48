"""Trying offers: each is written into the text, and the whole build is inspected again in all of its states.

An offer stands only if the finding is gone and nothing new was found, or could no longer be checked at the level of an error, anywhere.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from ohmwright_grammar.budget import Budget, OutOfBudgetError
from ohmwright_grammar.files import MemoryFiles, Source, Sources
from ohmwright_grammar.records import entity, record, replace
from ohmwright_grammar.resolve import Loader, Resolved, resolve
from ohmwright_grammar.spans import Edit, Span

from ohmwright.findings import Severity
from ohmwright.inspecting import InspectOptions, inspect_files
from ohmwright.results import BuildResult, Judged
from ohmwright.rules import Pack
from ohmwright.sizing.offers import Offer
from ohmwright.sizing.writing import edit_of, edited
from ohmwright.study import Study, StudyOptions
from ohmwright.studying import make_study

__all__ = ["Answer", "BuildAnswers", "Tried", "size_build"]

_MOST_TRIED = 12  # offers of one finding
_Key = tuple[str, ...]


@record
class Tried:
    """An offer that does not stand, and why."""

    offer: Offer
    why: str


@record
class Answer:
    """What sizes can do against one finding: the offer that stands with its edits, or why none does."""

    finding: Judged
    outcome: Literal["offered", "none stands", "cannot be written"]
    offer: Offer | None = None
    edits: tuple[Edit, ...] = ()
    tried: tuple[Tried, ...] = ()


@record
class BuildAnswers:
    """Everything that was asked of one build. `beside` counts findings against which no size is offered."""

    result: BuildResult
    answers: tuple[Answer, ...]
    beside: int


@entity
class _Overlay:
    """Files with one text changed."""

    below: Sources
    above: MemoryFiles

    def read(self, path: str, asked_at: Span | None = None) -> Source:
        """Return the changed text, or the file below."""
        return (self.above if path in self.above.texts else self.below).read(path, asked_at)


def size_build(
    path: str, sources: Sources, options: InspectOptions, packs: tuple[Pack, ...]
) -> tuple[BuildAnswers | None, str]:
    """Return what sizes can do against the findings of a build (None for a library), and what kept it from being asked, "" where nothing did.

    `options` are those of the inspection; every try is one more of the kind, and all of them share the budget of one build. Raises PackError where a
    pack is broken.
    """
    budget = options.budget()
    options = replace(options, budget=lambda: budget)
    try:
        return _size_build(path, sources, options, packs, budget)
    except OutOfBudgetError:
        return None, f"was not tried to the end: the budget of {budget.spent} ran out"


def _size_build(
    path: str, sources: Sources, options: InspectOptions, packs: tuple[Pack, ...], budget: Budget
) -> tuple[BuildAnswers | None, str]:
    loader = Loader(sources)
    inspected = inspect_files((path,), loader, options, packs)
    if inspected.errors:
        return None, f"cannot be inspected: {inspected.errors[0].message}"
    before = next(build for build in inspected.builds if build.path == path)
    unread = "cannot be read in full: inspect says what is wrong with it"
    if before.partial:
        return None, unread
    resolved = resolve(path, loader)
    if not isinstance(resolved, Resolved):
        return None, unread
    if before.is_library:
        return None, ""
    build = options.completed(resolved.build)
    study = make_study(build, StudyOptions(options.basis_of(build), options.reached, today=options.today, budget=budget))
    trying = _Trying(path, sources, options, packs, before, study)
    answers: list[Answer] = []
    beside = 0
    for finding in before.findings:
        budget.check()
        answer = trying.answer(finding)
        if answer is None:
            beside += 1
        else:
            answers.append(answer)
    budget.check()  # what ran out in the last of the tries was no answer
    return BuildAnswers(before, tuple(answers), beside), ""


class _Trying:
    """The offers against the findings of one build, tried one by one."""

    def __init__(
        self, path: str, sources: Sources, options: InspectOptions, packs: tuple[Pack, ...], before: BuildResult, study: Study
    ) -> None:
        self.path = path
        self.sources = sources
        self.options = options
        self.packs = packs
        self.study = study
        self.text = sources.read(path).text
        self.found = {item.key: item for item in (*before.findings, *before.waived)}
        self.unchecked = _unchecked(before)
        self._known: dict[tuple[Edit, ...], BuildResult | None] = {}

    def answer(self, finding: Judged) -> Answer | None:
        """Return what sizes can do against a finding, None where no size is offered."""
        tried: list[Tried] = []
        written = False
        for number, offer in enumerate(self._offers(finding)):
            if number == _MOST_TRIED:
                break
            edits = [edit_of(choice, self.path, self.text) for choice in offer.choices]
            if any(edit is None for edit in edits):
                tried.append(Tried(offer, "it is declared in another file"))
                continue
            written = True
            certain = tuple(edit for edit in edits if edit is not None)
            why = self._against(finding, certain)
            if not why:
                return Answer(finding, "offered", offer, certain, tuple(tried))
            tried.append(Tried(offer, why))
        if not tried:
            return None
        return Answer(finding, "none stands" if written else "cannot be written", tried=tuple(tried))

    def _offers(self, finding: Judged) -> Iterator[Offer]:
        for pack in self.packs:
            if pack.offers is not None:
                yield from pack.offers(self.study, finding)

    def _against(self, finding: Judged, edits: tuple[Edit, ...]) -> str:
        """Return what speaks against edits, "" where the finding is gone and nothing else came."""
        after = self._inspected(edits)
        if after is None:
            return "the build cannot be inspected with it"
        if after.partial:
            return "the text cannot be read with it"
        if any(item.key == finding.key for item in (*after.findings, *after.waived, *after.yielded)):
            return "it is found all the same"
        for item in (*after.findings, *after.waived):  # what yielded to it before and now stands is new
            known = self.found.get(item.key)
            if known is None or item.severity > known.severity:
                return f"{item.severity.word} {item.rule.id} on {', '.join(item.finding.subject)} would come"
        new = sorted(_unchecked(after) - self.unchecked)
        if new:
            rule, _, *subject = new[0]
            return f"{rule} on {', '.join(subject)} could no longer be checked"
        return ""

    def _inspected(self, edits: tuple[Edit, ...]) -> BuildResult | None:
        if edits not in self._known:
            above = MemoryFiles({self.path: edited(self.text, edits)})
            result = inspect_files(
                (self.path,), Loader(_Overlay(self.sources, above)), replace(self.options, assumed=False), self.packs
            )
            self._known[edits] = None if result.errors else next(build for build in result.builds if build.path == self.path)
        return self._known[edits]


def _unchecked(build: BuildResult) -> set[_Key]:
    """Return rule, grade and subjects of every outcome of an error-level grade that could not be checked."""
    return {
        (item.rule.id, item.grade.name, *sorted(item.outcome.subject))
        for item in build.not_checked
        if item.severity is Severity.ERROR
    }
