"""`ohmwright solve`: currents, drops and powers of every state."""

from __future__ import annotations

import argparse

from ohmwright_grammar.budget import OutOfBudgetError
from ohmwright_grammar.diagnostics import Diagnostic, names_near
from ohmwright_grammar.files import FolderFiles
from ohmwright_grammar.resolve import Loader, Resolved, resolve

from ohmwright import __version__
from ohmwright.commands.common import Limits, add_budget, colour_wanted, complain, put, unknown_basis
from ohmwright.commands.terms import add_settings, groups_of
from ohmwright.inspecting import InspectOptions
from ohmwright.reports.figures import BuildFigures, write_json, write_text
from ohmwright.rules import PackError
from ohmwright.solving import figures_of
from ohmwright.study import SolvedState, StudyOptions
from ohmwright.studying import make_study

__all__ = ["add_options", "run"]


def add_options(parser: argparse.ArgumentParser) -> None:
    """Declare the options of the command."""
    parser.add_argument("paths", nargs="*", metavar="PATH", help="build files or folders")
    parser.add_argument("--state", metavar="NAME", default="", help="solve one state only")
    parser.add_argument("--output", choices=("text", "json"), default="text", help="format (default text)")
    parser.add_argument("--basis", metavar="NAME", default="", help="as for inspect; the sums are the same on every basis")
    parser.add_argument(
        "--states", choices=("declared", "reached"), help="with reached also solve every state that a box can get into"
    )
    add_settings(parser)
    add_budget(parser)


def run(options: argparse.Namespace) -> int:
    """Solve and write; return 0, or 2 where something could not be read or solved."""
    limits = Limits(*options.budget)
    builds: list[BuildFigures] = []
    try:
        problem = unknown_basis(options.basis)
        if problem:
            complain(problem)
            return 2
        found = groups_of(options, limits, leave_out=False)  # solving judges nothing
        good = not found.wrong
        for group in found.groups:
            loader = Loader(FolderFiles(group.gathered.root))
            for path in group.gathered.paths:
                good = _one(path, loader, options, group.options, limits, builds) and good
    except PackError as error:
        complain(str(error))
        return 2
    finally:
        limits.release()
    if builds:
        put(write_json(__version__, builds) if options.output == "json" else write_text(builds, colour_wanted()))
    return 0 if good and builds else 2


def _one(
    path: str, loader: Loader, options: argparse.Namespace, terms: InspectOptions, limits: Limits, builds: list[BuildFigures]
) -> bool:
    """Solve one file; tell whether all of it could be read and solved."""
    budget = limits()
    loader.budget = budget
    try:
        resolved = resolve(path, loader)
        if not isinstance(resolved, Resolved):
            _tell(resolved)
            return False
        problems = [*resolved.problems, *resolved.library_problems]
        if resolved.build.is_library:
            _tell(tuple(problems))
            return not problems
        build = terms.completed(resolved.build)
        study = make_study(build, StudyOptions(terms.basis_of(build), terms.reached, only_state=options.state, budget=budget))
    except OutOfBudgetError:
        complain(f"{path}: the budget of {budget.spent} ran out")
        return False
    except RecursionError:
        complain(f"{path}: the file holds more things inside each other, or in one chain, than can be followed")
        return False
    except MemoryError:
        complain(f"{path}: the budget of {budget.megabytes:g} MB ran out")
        return False
    problems.extend(study.problems)
    _tell(tuple(problems))
    if options.state and not study.all_states:
        near = names_near(options.state, study.state_names, "States") or f"States: {', '.join(study.state_names[:12])}."
        complain(f"{path}: there is no state {options.state!r}. {near}")
        return False
    rig = resolved.build.rig
    figures = tuple(figures_of(study, state) for state in study.all_states)
    builds.append(BuildFigures(path, rig.title or "", rig.revision or "", figures, study.not_reached))
    return not problems and all(_is_told(state) for state in study.all_states)


def _is_told(state: SolvedState) -> bool:
    """Tell whether a state is solved, or its lack of an operating point is what the build itself has: a collapse, or sources that nothing limits."""
    operation = state.operation
    return operation.solved or operation.collapse or bool(operation.conflicts)


def _tell(problems: tuple[Diagnostic, ...]) -> None:
    for problem in problems:
        remedy = f" {problem.remedy}" if problem.remedy else ""
        complain(f"{problem.span.path} line {problem.span.line}: {problem.message}{remedy}")
