"""`ohmwright inspect`: read builds, run the rules, write what was found."""

from __future__ import annotations

import argparse
from datetime import date
from importlib import import_module
from pathlib import Path

from ohmwright_grammar.files import FolderFiles
from ohmwright_grammar.resolve import Loader

from ohmwright.commands.common import (
    Limits,
    add_budget,
    add_today,
    colour_wanted,
    complain,
    put,
    unknown_basis,
    unknown_rules,
    write_file,
)
from ohmwright.findings import Severity
from ohmwright.inspecting import InspectOptions, inspect_files
from ohmwright.paths import gather
from ohmwright.reports import WRITERS
from ohmwright.results import Result
from ohmwright.rules import PackError

__all__ = ["BARS", "add_options", "exit_code", "run"]

BARS = {"error": Severity.ERROR, "warning": Severity.WARNING, "note": Severity.NOTE}


def add_options(parser: argparse.ArgumentParser) -> None:
    """Declare the options of the command."""
    parser.add_argument("paths", nargs="*", metavar="PATH", help="build files or folders")
    parser.add_argument("--output", action="append", choices=sorted(WRITERS), help="format (may be repeated; default text)")
    parser.add_argument(
        "--to", action="append", metavar="FILE",
        help="write to a file instead of the screen (may be repeated, one for each --output in their order)",
    )  # fmt: skip
    parser.add_argument("--bar", choices=list(BARS), default="error", help="exit with 1 from this severity on (default error)")
    parser.add_argument(
        "--require-checked", action="store_true", help="what could not be checked counts as an error at the bar"
    )
    parser.add_argument("--working", action="store_true", help="show every step of the sums")
    parser.add_argument("--assumed", action="store_true", help="show what was implied, defaulted or assumed")
    parser.add_argument("--basis", metavar="NAME", default="", help="hold the builds against this basis instead of their own")
    parser.add_argument(
        "--states", choices=("declared", "reached"), default="declared", help="also look at every state that a box can get into"
    )
    parser.add_argument("--state", metavar="NAME", default="", help="look at one state only")
    parser.add_argument("--only", metavar="RULE", action="append", default=[], help="run this rule only (may be repeated)")
    add_today(parser)
    add_budget(parser)
    parser.add_argument("--no-implied", action="store_true", help=argparse.SUPPRESS)


def run(options: argparse.Namespace) -> int:
    """Inspect and write; return the exit code."""
    outputs: list[str] = options.output or ["text"]
    targets: list[str] = options.to or []
    if len(targets) > len(outputs):
        complain("there are more --to than --output")
        return 2
    if len(outputs) - len(targets) > 1:
        complain("only one --output can go to the screen: give a file with --to for each of the others, in the same order")
        return 2
    if not options.paths:
        complain("name at least one build file or folder")
        return 2
    gathered, wrong = gather(options.paths)
    for message in wrong:
        complain(message)
    limits = Limits(*options.budget)
    inspect_options = InspectOptions(
        today=options.today or date.today(),
        basis=options.basis,
        reached=options.states == "reached",
        implied=not options.no_implied,
        only=tuple(options.only),
        only_state=options.state,
        assumed=options.assumed or "json" in outputs,
        budget=limits,
    )
    try:
        problem = unknown_basis(options.basis) or unknown_rules(options.only)
        if problem:
            complain(problem)
            return 2
        results = [inspect_files(group.paths, Loader(FolderFiles(group.root)), inspect_options) for group in gathered]
    except PackError as error:
        complain(str(error))
        return 2
    finally:
        limits.release()
    if not results:
        return 2
    result = _joined(results)
    for number, name in enumerate(outputs):
        to_screen = number >= len(targets)
        text = _write(name, result, options, to_screen)
        if to_screen:
            put(text)
            continue
        problem = write_file(Path(targets[number]), text)
        if problem:
            complain(problem)
            wrong = (*wrong, problem)
    return 2 if wrong else exit_code(result, BARS[options.bar], options.require_checked)


def _joined(results: list[Result]) -> Result:
    """Join the results of several roots."""
    first = results[0]
    if len(results) == 1:
        return first
    builds = tuple(build for result in results for build in result.builds)
    errors = tuple(error for result in results for error in result.errors)
    return Result(first.version, first.today, first.packs, builds, errors, first.settings)


def _write(name: str, result: Result, options: argparse.Namespace, to_screen: bool) -> str:
    writer = import_module(WRITERS[name])
    if name == "text":
        colour = to_screen and colour_wanted()
        text: str = writer.write(result, writer.TextOptions(options.working, options.assumed, colour, options.require_checked))
        return text
    written: str = writer.write(result)
    return written


def exit_code(result: Result, bar: Severity, require_checked: bool) -> int:
    """Return 0, 1 or 2 as the bar, the outcomes that could not be checked, and the run itself demand."""
    if result.errors or not result.builds or any(build.partial for build in result.builds):
        return 2
    for build in result.builds:
        if any(item.severity >= bar for item in build.findings):
            return 1
        unchecked = any(item.severity is Severity.ERROR for item in build.not_checked)
        if unchecked and (require_checked or bar <= Severity.WARNING):
            return 1
    return 0
