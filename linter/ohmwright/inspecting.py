"""Inspecting builds: read, resolve, solve, run the rules. One function, without output of its own."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import field
from datetime import date
from typing import TYPE_CHECKING

from ohmwright_grammar.budget import Budget, OutOfBudgetError
from ohmwright_grammar.diagnostics import Diagnostic, names_near
from ohmwright_grammar.kinds.requirement import Requirement
from ohmwright_grammar.kinds.rig import Rig
from ohmwright_grammar.model import Build
from ohmwright_grammar.records import record, replace
from ohmwright_grammar.resolve import Loader, Resolved, resolve
from ohmwright_grammar.spans import Span

from ohmwright import __version__
from ohmwright.build_entries import (
    findings_of_text,
    kinds_of,
    library_entry,
    places_of,
    reader_entry,
    requirements_of,
    uninspected_entry,
    unread_entry,
)
from ohmwright.engine import Ruled, Terms, every_rule, load_rules, run_rules, without_off
from ohmwright.findings import Finding, Severity
from ohmwright.judging import judged
from ohmwright.results import Adapted, Assumed, BuildResult, Judged, Result, RunError, StateRow, Told
from ohmwright.rules import Pack, Ready, Rule, Yield, installed_packs
from ohmwright.solver.solver import Solver
from ohmwright.study import Study, StudyOptions
from ohmwright.studying import make_study

if TYPE_CHECKING:
    from ohmwright_grammar.kinds.site import Site

    from ohmwright.baselines import Baseline
    from ohmwright.unread import Unread

__all__ = ["InspectOptions", "Run", "inspect_files"]


@record
class InspectOptions:
    """How to inspect; `today` makes every run repeatable.

    `budget` returns what the next build may take: it is asked once for each, and holds the clock that the run itself does not have. `basis` stands in
    place of what a build says, `silent_basis` and `site` (read from the place `silent_from`) where it says nothing. `severities` and `off` are of grades
    ("rule.grade"), `without` are families of rules that do not run.
    """

    today: date
    basis: str = ""
    reached: bool = False
    implied: bool = True
    only: tuple[str, ...] = ()
    only_state: str = ""
    severities: Mapping[str, Severity] = field(default_factory=dict)
    assumed: bool = False
    budget: Callable[[], Budget] = Budget
    silent_basis: str = ""
    silent_from: str = ""
    site: Site | None = None
    off: frozenset[str] = frozenset()
    without: frozenset[str] = frozenset()
    baseline: Baseline | None = None
    require_checked: bool = False

    def basis_of(self, build: Build) -> str:
        """Return the basis that stands in place of what a build says, or for what it does not say; "" for its own."""
        return self.basis or ("" if build.rig.basis else self.silent_basis)

    def completed(self, build: Build) -> Build:
        """Return a build with the site of the settings where it says nothing of its own."""
        if self.site is None:
            return build
        from ohmwright.settings.site import with_site  # read only where settings name a site

        return with_site(build, self.site)


def inspect_files(
    paths: Iterable[str], loader: Loader, options: InspectOptions, packs: tuple[Pack, ...] | None = None
) -> Result:
    """Inspect build files (paths from the root, with "/"); PackError where a rule pack is broken.

    A file that other builds read and that cannot be read in full has an entry of its own, once, whether it was named or not.
    """
    run = Run(loader, options, installed_packs() if packs is None else packs)
    for path in paths:
        run.inspect(path)
    return run.result()


class Run:
    """One run over any number of files: `inspect` each, then take the `result`.

    `builds`, `errors` and `elsewhere` (what is wrong with the files that builds read, by path) grow with each; `own` is what is wrong with the last
    library that was inspected itself.
    """

    def __init__(self, loader: Loader, options: InspectOptions, packs: tuple[Pack, ...]) -> None:
        self.loader = loader
        self.options = options
        self.packs = packs
        self.rules: tuple[Ready, ...]
        self.yields: tuple[Yield, ...]
        self.rules, self.yields = load_rules(packs, options.only, options.without)
        self.builds: list[BuildResult] = []
        self.errors: list[RunError] = []
        self.elsewhere: dict[str, dict[Diagnostic, None]] = {}
        self.own: list[Diagnostic] = []
        self._known: dict[str, Rule] | None = None
        self._lines: dict[str, list[str]] = {}
        self._study: Study | None = None  # of the build inspected last
        self._solver = Solver()

    def result(self) -> Result:
        named = {build.path for build in self.builds}
        builds = [*self.builds, *(self._reader_of(path) for path in sorted(self.elsewhere) if path not in named)]
        return Result(
            __version__,
            self.options.today.isoformat(),
            tuple((pack.name, pack.version) for pack in self.packs),
            tuple(sorted(builds, key=lambda build: build.path)),
            tuple(self.errors),
        )

    def known(self) -> Mapping[str, Rule]:
        """Return every rule there is; the packs are read once more only where not all of their rules run."""
        if self._known is None:
            self._known = every_rule(self.packs)
        return self._known

    def let_go(self) -> None:
        """Let go of what was only needed while a build was inspected."""
        self._lines.clear()
        if self._study is not None:
            self._study.take_apart()
            self._study = None

    # one file ------------------------------------------------------------------------------------------------------

    def inspect(self, path: str) -> None:
        """Inspect one file; whatever it holds, there is an entry for it."""
        budget = self.options.budget()
        place = _whole(path)
        message, remedy = "", _MORE_MEMORY
        try:
            self.builds.append(self._inspect(path, budget))
            return
        except OutOfBudgetError as error:
            place = error.span or place
            message = (
                f"The budget of {budget.spent} ran out while the file was being read; what follows from here was not read."
            )
            remedy = _MORE_TIME
        except RecursionError:
            message = "The file holds more things inside each other, or in one chain, than can be followed."
            remedy = "Shorten the chain."
        except MemoryError:
            pass  # in here there may be no room for a word: what the functions held that were left is free only after this
        if not message:
            import gc

            self._study = None
            gc.collect()
            message = f"The budget of {budget.megabytes:g} MB ran out, so that the file was not inspected."
        self.builds.append(unread_entry(path, self._text(path, [Diagnostic("over-limit", message, place, remedy)])))

    def _inspect(self, path: str, budget: Budget) -> BuildResult:
        self.loader.budget = budget
        resolved = resolve(path, self.loader)
        if not isinstance(resolved, Resolved):
            return unread_entry(path, self._text(path, resolved))
        own: list[Diagnostic] = []
        for problem in dict.fromkeys((*resolved.problems, *resolved.library_problems)):
            if problem.span.path == path:
                own.append(problem)
            else:
                self.elsewhere.setdefault(problem.span.path, {})[problem] = None
        if resolved.build.is_library:
            return self._library(resolved.build, own)
        return self._build(resolved.build, own, budget, self._not_read(resolved))

    def _not_read(self, resolved: Resolved) -> Unread | None:
        """Return which names stand in statements that could not be read, None where all was."""
        if not resolved.build.partial:
            return None
        from ohmwright.unread import Unread  # only where something is wrong with a text

        return Unread((*resolved.problems, *resolved.library_problems), self._lines_of)

    def _reader_of(self, path: str) -> BuildResult:
        """Return the entry of a file that was not named but read by a build, and that is not in order."""
        return reader_entry(path, self.title_of(path), self._text(path, self.elsewhere[path]))

    def title_of(self, path: str) -> str | None:
        """Return the title of a build that was read, None of a library or of what could not be read."""
        loaded = self.loader.file(path)
        title = getattr(loaded, "body", None) and loaded.body.rig.facts.get(Rig.title.name)  # type: ignore[union-attr]
        return str(title.value) if title else None

    def _library(self, build: Build, problems: list[Diagnostic]) -> BuildResult:
        self.own = problems
        more = [problem for problem in self.elsewhere.pop(build.path, {}) if problem not in problems]
        return library_entry(build, self._text(build.path, [*problems, *more]))

    def _build(self, build: Build, problems: list[Diagnostic], budget: Budget, unread: Unread | None) -> BuildResult:
        options = self.options
        build = options.completed(build)
        problems = [*problems, *self._unknown_basis(build)]
        study = make_study(
            build,
            StudyOptions(
                basis=options.basis_of(build),
                reached=options.reached,
                implied=options.implied,
                only_state=options.only_state,
                today=options.today,
                budget=budget,
                solver=self._solver,
            ),
        )
        self._study = study
        study.unread = unread
        problems.extend(study.problems)
        if options.only_state and all(state.name != options.only_state for state in study.all_states):
            near = (
                names_near(options.only_state, study.state_names, "States") or f"States: {', '.join(study.state_names[:12])}."
            )
            self.errors.append(RunError(f"there is no state {options.only_state!r}. {near}", build=build.path))
            return uninspected_entry(build, study.basis_name, self._text(build.path, problems))
        ruled = self._ruled(study, problems, budget)
        self.errors.extend(ruled.errors)
        for state in study.states:
            if not (state.solved or state.operation.collapse or state.operation.conflicts):  # the other two are findings
                reason = state.operation.reason or "no operating point was found"
                self.errors.append(RunError(f"the state {state.name!r} could not be solved: {reason}", build=build.path))
        about: tuple[Judged, ...] = ()
        if build.adapted is not None:
            from ohmwright.adaptations import about_base, ruled_here  # read only where a build adapts another

            ruled, about = ruled_here(build, ruled), about_base(build, judged)
            if about and (options.severities or options.off or options.baseline):
                ruled, about = self._on_terms(ruled, about)
        if options.baseline is not None and not build.partial:
            about = (*about, *self._unused(build.path, ruled, about, options.baseline))
        findings = (*self._text(build.path, problems), *about, *ruled.findings)
        return BuildResult(
            path=build.path,
            is_library=False,
            title=build.rig.title or "",
            revision=build.rig.revision or "",
            basis=study.basis_name,
            partial=build.partial or any(item.rule.family == "text" for item in findings),
            states=tuple(StateRow(state.name, state.setup.origin) for state in study.all_states),
            findings=findings,
            passes=ruled.passes,
            not_checked=ruled.not_checked,
            does_not_apply=ruled.does_not_apply,
            requirements=requirements_of(build, ruled.promises, all_rules=not (options.only or options.without)),
            assumed=(*self._silent_basis(build), *_assumed(study)) if options.assumed else (),
            waived=ruled.waived,
            yielded=ruled.yielded,
            baselined=ruled.baselined,
            switched_off=ruled.switched_off,
            not_reached=study.not_reached,
            kinds=kinds_of(build),
            places=places_of(build),
            rules_run=ruled.rules_run,
            adapted=self._adapted(build) if build.adapted is not None else None,
            require_checked=options.require_checked,
        )

    def _adapted(self, build: Build) -> Adapted | None:
        from ohmwright.adaptations import adapted_from  # read only where a build adapts another

        return adapted_from(build, self.loader)

    def _silent_basis(self, build: Build) -> tuple[Assumed, ...]:
        name = self.options.silent_basis
        if not name or self.options.basis or build.rig.basis:
            return ()
        return (Assumed(build.rig.title or build.path, "basis", name, f"default, {self.options.silent_from}"),)

    def _judge(self, path: str, rule: Rule, finding: Finding) -> Judged:
        return judged(path, rule, finding, self.options.severities)

    def _on_terms(self, ruled: Ruled, about: tuple[Judged, ...]) -> tuple[Ruled, tuple[Judged, ...]]:
        """Return what is said of the base of an adaptation as settings and baseline have it, and what they keep from counting beside the rest."""
        options = self.options
        regraded = [self._judge(item.key[0], item.rule, item.finding) for item in about]
        kept, off = without_off(regraded, options.off)
        held: tuple[Judged, ...] = ()
        if options.baseline is not None:
            split = options.baseline.split(kept, self._judge)
            kept, held = [*split.standing, *split.about], split.held
        more = replace(ruled, baselined=(*ruled.baselined, *held), switched_off=(*ruled.switched_off, *off))
        return more, tuple(kept)

    def _unused(self, path: str, ruled: Ruled, about: tuple[Judged, ...], baseline: Baseline) -> tuple[Judged, ...]:
        """Return a note on each baseline entry of a build that is found no more; where only some states were looked at, nobody can tell."""
        options = self.options
        if options.only_state or not options.implied or (baseline.states == "reached" and not options.reached):
            return ()
        found = (*ruled.findings, *ruled.waived, *ruled.yielded, *ruled.baselined, *ruled.switched_off, *about)
        unchecked = {(item.rule.id, name) for item in ruled.not_checked for name in item.outcome.subject}
        ended = ruled.ended
        if not (options.only or options.without):  # a rule that no pack has any more finds nothing
            ended |= {entry.rule for entry in baseline.entries.values()} - {item.id for item in self.rules}
        notes = baseline.unused(path, {item.key for item in found}, ended, unchecked, self._judge)
        return tuple(without_off(notes, options.off)[0])

    def _ruled(self, study: Study, problems: list[Diagnostic], budget: Budget) -> Ruled:
        """Run the rules; where the budget runs out before the last of them, that is one more problem."""
        told = frozenset((problem.span.path, problem.span.line) for problem in problems)
        options = self.options
        terms = Terms(options.today, self.known, options.severities, told, budget, options.off, options.baseline)
        ruled = run_rules(study, self.rules, self.yields, terms)
        if ruled.left_out and not study.cut_short:
            first = ruled.left_out[0]
            rest = f" and {len(ruled.left_out) - 1} more were" if len(ruled.left_out) > 1 else " was"
            message = f"The budget of {budget.spent} ran out before every rule had run: {first}{rest} not run to the end."
            problems.append(Diagnostic("over-limit", message, study.build.rig.span, _MORE_TIME))
        elif not options.only and not options.without and study.one(Requirement) is not None:
            # what a baseline or a setting keeps from counting breaks a promise all the same
            said = Told((*ruled.findings, *ruled.baselined, *ruled.switched_off), ruled.passes, ruled.not_checked)
            answered = {promise.name for promise in ruled.promises}
            more = (promise for pack in self.packs if pack.answers is not None for promise in pack.answers(study, said))
            ruled = replace(ruled, promises=(*ruled.promises, *(promise for promise in more if promise.name not in answered)))
        return ruled

    def _unknown_basis(self, build: Build) -> tuple[Diagnostic, ...]:
        basis = build.rig.basis
        known = [name for pack in self.packs for name in pack.bases]
        if not basis or basis in known:
            return ()
        remedy = names_near(basis, known, "Bases") or f"Bases: {', '.join(sorted(known))}."
        return (Diagnostic("unknown-name", f"There is no basis {basis!r}.", build.rig.place_of(Rig.basis), remedy, "basis"),)

    # text ------------------------------------------------------------------------------------------------------------

    def _text(self, path: str, problems: Iterable[Diagnostic]) -> tuple[Judged, ...]:
        """Turn what is wrong with a text into findings."""
        return findings_of_text(path, ((problem, problem.subject or self.words(problem.span)) for problem in problems))

    def words(self, span: Span) -> str:
        """Return the words that stand at a place, without their layout; "" where the file could not be read."""
        lines = self._lines_of(span.path)[span.line - 1 : span.line]
        end = span.end_column - 1 if span.end_line == span.line else None
        return " ".join(lines[0][span.column - 1 : end].split())[:60] if lines else ""

    def _lines_of(self, path: str) -> list[str]:
        """Return the lines of a file; one without words where it could not be read."""
        if path not in self._lines:
            self._lines[path] = self.loader.text(path).split("\n")
        return self._lines[path]


_MORE_TIME = "Give it more with --budget SECONDS,MEGABYTES, look at one state with --state, or split the build."
_MORE_MEMORY = "Give it more with --budget SECONDS,MEGABYTES, or split the build."


def _whole(path: str) -> Span:
    return Span(path, 1, 1, 1, 2)


def _assumed(study: Study) -> tuple[Assumed, ...]:
    from ohmwright.assuming import everything_assumed

    return everything_assumed(study)
