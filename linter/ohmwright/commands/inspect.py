"""`ohmwright inspect`: read builds, run the rules, write what was found."""

from __future__ import annotations

import argparse
import os
import sys
from datetime import date
from importlib import import_module
from pathlib import Path

from ohmwright_grammar.files import FolderFiles
from ohmwright_grammar.resolve import Loader

from ohmwright.findings import Severity
from ohmwright.inspecting import InspectOptions, inspect_files
from ohmwright.paths import gather
from ohmwright.reports import WRITERS
from ohmwright.results import Result
from ohmwright.rules import PackError

__all__ = ["add_options", "exit_code", "run"]

_BARS = {"error": Severity.ERROR, "warning": Severity.WARNING, "note": Severity.NOTE}


def _budget(text: str) -> tuple[float, float]:
    seconds, _, megabytes = text.partition(",")
    try:
        found = float(seconds), float(megabytes or "1000")
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text!r} is no budget: write seconds and megabytes, such as 15,1000") from None
    if not (0 < found[0] < 1e6 and 0 < found[1] < 1e9):
        raise argparse.ArgumentTypeError(
            f"{text!r} is no budget that can be kept: write seconds and megabytes, such as 15,1000"
        )
    return found


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text!r} is no date: write year-month-day, such as 2026-03-01") from None


def add_options(parser: argparse.ArgumentParser) -> None:
    """Declare the options of the command."""
    parser.add_argument("paths", nargs="*", metavar="PATH", help="build files or folders")
    parser.add_argument("--output", action="append", choices=sorted(WRITERS), help="format (may be repeated; default text)")
    parser.add_argument(
        "--to",
        action="append",
        metavar="FILE",
        help="write to a file instead of the screen (may be repeated, one for each --output)",
    )
    parser.add_argument(
        "--bar", choices=sorted(_BARS), default="error", help="exit with 1 from this severity on (default error)"
    )
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
    parser.add_argument("--today", metavar="DATE", type=_day, help="the day that counts for waivers (default: today's date)")
    parser.add_argument(
        "--budget",
        metavar="SECONDS,MEGABYTES",
        type=_budget,
        default=(15.0, 1000.0),
        help="what a build may take (default 15,1000)",
    )
    parser.add_argument("--no-implied", action="store_true", help=argparse.SUPPRESS)


def run(options: argparse.Namespace) -> int:
    """Inspect and write; return the exit code."""
    outputs: list[str] = options.output or ["text"]
    targets: list[str] = options.to or []
    if len(targets) > len(outputs):
        print("ohmwright: there are more --to than --output", file=sys.stderr)
        return 2
    if not options.paths:
        print("ohmwright: name at least one build file or folder", file=sys.stderr)
        return 2
    gathered, wrong = gather(options.paths)
    for message in wrong:
        print(f"ohmwright: {message}", file=sys.stderr)
    inspect_options = InspectOptions(
        today=options.today or date.today(),
        basis=options.basis,
        reached=options.states == "reached",
        implied=not options.no_implied,
        only=tuple(options.only),
        only_state=options.state,
        assumed=options.assumed,
    )
    try:
        problem = _unknown(options)
        if problem:
            print(f"ohmwright: {problem}", file=sys.stderr)
            return 2
        results = [inspect_files(group.paths, Loader(FolderFiles(group.root)), inspect_options) for group in gathered]
    except PackError as error:
        print(f"ohmwright: {error}", file=sys.stderr)
        return 2
    result = _joined(results, inspect_options)
    for number, name in enumerate(outputs):
        text = _write(name, result, options, to_screen=number >= len(targets))
        if number < len(targets):
            try:
                Path(targets[number]).write_text(text, encoding="utf-8")
            except OSError as error:
                print(f"ohmwright: {targets[number]} cannot be written: {error.strerror}", file=sys.stderr)
                return 2
        else:
            _print(text)
    code = exit_code(result, _BARS[options.bar], options.require_checked)
    return 2 if wrong else code


def _unknown(options: argparse.Namespace) -> str:
    """Return what is wrong with a basis or rule that was asked for, "" where nothing is."""
    from ohmwright_grammar.diagnostics import names_near

    if options.basis:
        from ohmwright.rules import installed_packs

        known = sorted({name for pack in installed_packs() for name in pack.bases})
        if options.basis not in known:
            return f"there is no basis {options.basis!r}. Known: {', '.join(known)}."
    if options.only:
        from ohmwright.rules import installed_packs

        rules = [rule for pack in installed_packs() for rule, _, _ in pack.load()]
        names = {rule.id for rule in rules} | {rule.family for rule in rules}
        for name in options.only:
            if name not in names:
                return f"there is no rule {name!r}. {names_near(name, names, 'Rules')}".strip()
    return ""


def _joined(results: list[Result], options: InspectOptions) -> Result:
    if len(results) == 1:
        return results[0]
    from ohmwright import __version__

    return Result(
        __version__,
        options.today.isoformat(),
        results[0].packs if results else (),
        tuple(build for result in results for build in result.builds),
        tuple(error for result in results for error in result.errors),
    )


def _write(name: str, result: Result, options: argparse.Namespace, to_screen: bool) -> str:
    writer = import_module(WRITERS[name])
    if name == "text":
        colour = to_screen and sys.stdout.isatty() and "NO_COLOR" not in os.environ and os.environ.get("TERM") != "dumb"
        text: str = writer.write(result, writer.TextOptions(options.working, options.assumed, colour, options.require_checked))
        return text
    written: str = writer.write(result)
    return written


def _print(text: str) -> None:
    encoding = sys.stdout.encoding or "utf-8"
    sys.stdout.write(text.encode(encoding, "replace").decode(encoding))
    sys.stdout.flush()


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
