"""Inspecting builds: read, resolve, solve, run the rules. One function, without output of its own."""

from __future__ import annotations

import time
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date

from ohmwright_grammar.diagnostics import Diagnostic
from ohmwright_grammar.kinds.requirement import Requirement
from ohmwright_grammar.model import Build
from ohmwright_grammar.resolve import Loader, Resolved, resolve
from ohmwright_grammar.spans import Span

from ohmwright import __version__
from ohmwright.engine import Loaded, judged, load_rules, run_rules
from ohmwright.findings import Finding, Related, Severity
from ohmwright.results import Assumed, BuildResult, Judged, Promise, Result, RunError, StateRow
from ohmwright.rules import Pack, Yield, installed_packs
from ohmwright.study import Study, StudyOptions, make_study
from ohmwright.text_rules import TEXT_GRADE, text_rule

__all__ = ["InspectOptions", "inspect_build", "inspect_files"]


@dataclass(frozen=True, slots=True)
class InspectOptions:
    """How to inspect; `today` makes every run repeatable."""

    today: date
    basis: str = ""
    reached: bool = False
    implied: bool = True
    only: tuple[str, ...] = ()
    only_state: str = ""
    seconds: float = 15.0
    megabytes: float = 1000.0
    severities: Mapping[str, Severity] = field(default_factory=dict)
    assumed: bool = False


def inspect_files(
    paths: Iterable[str], loader: Loader, options: InspectOptions, packs: tuple[Pack, ...] | None = None
) -> Result:
    """Inspect build files (paths from the root, with "/"); PackError where a rule pack is broken."""
    packs = installed_packs() if packs is None else packs
    rules, yields = load_rules(packs, options.only)
    builds: list[BuildResult] = []
    errors: list[RunError] = []
    paths = tuple(paths)
    told: set[str] = set(paths)
    for path in paths:
        for result in _one(path, loader, options, rules, yields, errors, told):
            builds.append(result)
    return Result(
        __version__,
        options.today.isoformat(),
        tuple((pack.name, pack.version) for pack in packs),
        tuple(builds),
        tuple(errors),
    )


def _one(
    path: str,
    loader: Loader,
    options: InspectOptions,
    rules: tuple[Loaded, ...],
    yields: tuple[Yield, ...],
    errors: list[RunError],
    told: set[str],
) -> Iterator[BuildResult]:
    resolved = resolve(path, loader)
    if not isinstance(resolved, Resolved):
        findings = tuple(_as_finding(path, problem, {}) for problem in resolved)
        yield BuildResult(path, True, "", "", "", True, findings=findings)
        return
    for problem in resolved.library_problems:
        if problem.span.path not in told and problem.span.path != path:
            told.add(problem.span.path)
            its = [item for item in resolved.library_problems if item.span.path == problem.span.path]
            yield BuildResult(problem.span.path, True, "", "", "", True, findings=_text_findings(problem.span.path, its))
    yield inspect_build(resolved, options, rules, yields, errors)


def inspect_build(
    resolved: Resolved, options: InspectOptions, rules: tuple[Loaded, ...], yields: tuple[Yield, ...], errors: list[RunError]
) -> BuildResult:
    """Study one resolved build and run the rules over it."""
    build = resolved.build
    started = time.perf_counter()
    problems = list(resolved.problems)
    partial = build.partial
    if build.is_library:
        return BuildResult(
            build.path,
            True,
            "",
            "",
            "",
            partial,
            findings=_text_findings(build.path, problems),
            kinds=_kinds(build),
            places=_places(build),
        )
    study = make_study(
        build,
        StudyOptions(
            basis=options.basis,
            reached=options.reached,
            implied=options.implied,
            only_state=options.only_state,
            today=options.today,
        ),
    )
    problems.extend(study.problems)
    ruled = run_rules(study, rules, yields, options.today, options.severities)
    errors.extend(ruled.errors)
    for state in study.states:
        if not state.solved and not state.operation.collapse:
            errors.append(RunError(f"the state {state.name!r} could not be solved: {state.operation.reason}", build=build.path))
    if time.perf_counter() - started > options.seconds:
        errors.append(RunError(f"the budget of {options.seconds:g} s ran out", build=build.path))
        partial = True
    findings = (*_text_findings(build.path, problems), *ruled.findings)
    return BuildResult(
        path=build.path,
        is_library=False,
        title=build.rig.title or "",
        revision=build.rig.revision or "",
        basis=study.basis_name,
        partial=partial or bool(study.problems),
        states=tuple(StateRow(state.name, state.setup.origin) for state in study.all_states),
        findings=findings,
        passes=ruled.passes,
        not_checked=ruled.not_checked,
        does_not_apply=ruled.does_not_apply,
        requirements=_requirements(build, ruled.promises),
        assumed=_assumed(study) if options.assumed else (),
        waived=ruled.waived,
        yielded=ruled.yielded,
        not_reached=study.not_reached,
        kinds=_kinds(build),
        places=_places(build),
        rules_run=ruled.rules_run,
    )


def _text_findings(path: str, problems: Iterable[Diagnostic]) -> tuple[Judged, ...]:
    ordinals: dict[tuple[str, str], int] = {}
    return tuple(_as_finding(path, problem, ordinals) for problem in problems)


def _as_finding(path: str, problem: Diagnostic, ordinals: dict[tuple[str, str], int]) -> Judged:
    """Turn what is wrong with a text into a finding; its subject is the nearest named thing, else the message's own words."""
    subject = problem.subject or problem.message
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
    return judged(path, text_rule(problem.rule), finding)


def _requirements(build: Build, promises: tuple[Promise, ...]) -> tuple[Promise, ...]:
    """Return the verdict of every requirement; one that no rule answers is not checked."""
    answered = {promise.name for promise in promises}
    rest = tuple(
        Promise(item.name, "no rule of the installed packs answers this yet", None, None, "not-checked", item.span)
        for item in build.of(Requirement)
        if item.name not in answered
    )
    return (*promises, *rest)


def _assumed(study: Study) -> tuple[Assumed, ...]:
    from ohmwright.assuming import everything_assumed

    return everything_assumed(study)


def _kinds(build: Build) -> dict[str, str]:
    kinds = {name: part.KIND for name, part in build.parts.items()}
    kinds.update({run.name: run.conductor.KIND for run in build.runs})
    kinds.update({thing.name: thing.KIND for thing in build.things if thing.name})
    return kinds


def _places(build: Build) -> dict[str, Span]:
    places = {name: part.span for name, part in build.parts.items()}
    places.update({run.name: run.conductor.span for run in build.runs})
    places.update({thing.name: thing.span for thing in build.things if thing.name})
    return places
