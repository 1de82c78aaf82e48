"""`ohmwright inspect`: read builds, run the rules, write what was found."""

from __future__ import annotations

import argparse
import os
from collections.abc import Callable, Iterable, Sequence
from functools import reduce
from importlib import import_module
from pathlib import Path
from typing import Any

from ohmwright_grammar.files import FolderFiles
from ohmwright_grammar.records import replace
from ohmwright_grammar.resolve import Loader

from ohmwright.commands.common import (
    HANDFUL,
    Limits,
    StoppedError,
    add_budget,
    add_shares,
    add_today,
    colour_wanted,
    complain,
    put,
    unknown_basis,
    unknown_rules,
)
from ohmwright.commands.outputs import Target, add_outputs, in_the_way, planned
from ohmwright.commands.terms import BARS, Group, add_settings, groups_of
from ohmwright.findings import Severity
from ohmwright.inspecting import inspect_files
from ohmwright.reports import WRITERS
from ohmwright.results import Result
from ohmwright.rules import PackError

_MOST_JOBS = 256
_NOT_WITH_JOIN = (
    "paths", "share", "part", "changed", "write_baseline", "show_settings", "basis", "states", "state", "only", "settings", "baseline", "today",
    "require_checked", "jobs", "cache", "no_implied",
)  # fmt: skip

__all__ = ["BARS", "add_options", "exit_code", "run"]


def add_options(parser: argparse.ArgumentParser) -> None:
    """Declare the options of the command."""
    parser.add_argument(
        "paths", nargs="*", metavar="PATH", help="build files or folders (default: those that the settings name)"
    )
    add_outputs(parser)
    parser.add_argument("--bar", choices=list(BARS), help="exit with 1 from this severity on (default error)")
    parser.add_argument(
        "--require-checked",
        action=argparse.BooleanOptionalAction,
        help="what could not be checked counts as an error at the bar",
    )
    parser.add_argument("--working", action=argparse.BooleanOptionalAction, help="show every step of the sums")
    parser.add_argument("--assumed", action=argparse.BooleanOptionalAction, help="show what was implied, defaulted or assumed")
    parser.add_argument("--basis", metavar="NAME", default="", help="hold the builds against this basis instead of their own")
    parser.add_argument(
        "--states", choices=("declared", "reached"), help="with reached also look at every state that a box can get into"
    )
    parser.add_argument("--state", metavar="NAME", default="", help="look at one state only")
    parser.add_argument("--only", metavar="RULE", action="append", default=[], help="run this rule only (may be repeated)")
    parser.add_argument(
        "--changed", action="store_true",
        help="the paths are files that changed: inspect the builds among them and those that read one (-: names from standard input, each ended by a zero byte)",
    )  # fmt: skip
    add_shares(parser, "run")
    add_settings(parser)
    parser.add_argument(
        "--show-settings", action="store_true", help="say what holds and where it was said, and inspect nothing"
    )
    parser.add_argument("--baseline", metavar="FILE|none", help="findings that are known; only new or worse ones count")
    parser.add_argument("--write-baseline", action="store_true", help="accept what is found into the baseline")
    add_today(parser)
    add_budget(parser)
    parser.add_argument(
        "--jobs",
        metavar="N",
        type=_count,
        help="so many processes beside each other (default: the processors, for many builds)",
    )
    parser.add_argument(
        "--cache",
        metavar="DIR|none",
        help="keep what many builds were found to be, and look there (default: the user's folder)",
    )
    parser.add_argument("--no-implied", action="store_true", help=argparse.SUPPRESS)


def run(options: argparse.Namespace) -> int:
    """Inspect and write; return the exit code."""
    targets, problem = planned(options.outputs)
    if problem or (problem := _contradiction(options)):
        complain(problem)
        return 2
    limits = Limits(*options.budget)
    try:
        if options.show_settings:
            from ohmwright.commands.show_settings import show_settings

            return show_settings(options, limits)
        if options.join:
            return _run_joined(options, targets)
        found = groups_of(options, limits)
        problem = unknown_basis(options.basis) or unknown_rules(options.only) or _cannot_be_written(options, found.groups)
        problem = problem or in_the_way(targets, _read_by(found.groups) if any(target.file for target in targets) else ())
        if problem:
            complain(problem)
            return 2
        if options.share:
            from ohmwright.commands.scale.sharing import shared

            found = replace(found, groups=shared(found.groups, options.share))
        outputs = _Outputs(targets, options, found.groups)
        done = outputs.all_inspected(found.groups, options)
    except (PackError, StoppedError) as error:
        complain(str(error))
        return 2
    finally:
        limits.release()
    if not done:
        return 2
    codes = [exit_code(result, group.bar, group.require_checked, group.is_empty) for group, result in done]
    if found.wrong:
        codes.append(2)
    if options.write_baseline:
        from ohmwright.commands.writing_baselines import write_baselines

        codes.append(write_baselines(done))
    if options.part and not outputs.write_part(options, done, found.wrong):
        codes.append(2)
    if not outputs.write(_joined([result for _, result in done])):
        codes.append(2)
    return max(codes)


def _contradiction(options: argparse.Namespace) -> str:
    """Return which options cannot stand together, "" where all can."""
    if options.join:
        given = [name for name in _NOT_WITH_JOIN if getattr(options, name)]
        if given:
            names = ", ".join("paths" if name == "paths" else f"--{name.replace('_', '-')}" for name in given)
            return f"--join takes what was found as it was found: leave out {names}"
    if not options.write_baseline:
        return ""
    if options.share:
        return "a baseline holds everything that is found: leave out --share"
    if options.baseline == "none":
        return "--write-baseline needs a file: --baseline none names none"
    if options.only or options.state or options.no_implied:
        return "a baseline holds everything that is found: leave out --only and --state"
    return ""


def _cannot_be_written(options: argparse.Namespace, groups: tuple[Group, ...]) -> str:
    """Return why a baseline cannot be written, "" where it can."""
    if not options.write_baseline or not groups:
        return ""
    if any(group.baseline_place is None for group in groups):
        return '--write-baseline needs a file: name one with --baseline FILE, or write baseline = "…" into ohmwright.toml'
    if options.baseline and len(groups) > 1:
        return "one baseline holds the builds of one root; those named here have several"
    return ""


def _read_by(groups: tuple[Group, ...]) -> list[str]:
    """Return the files that a run reads as far as it knows them: builds, settings and baselines."""
    found: list[str] = []
    for group in groups:
        root = group.gathered.root
        found.extend(str(root / path) for path in group.gathered.paths)
        found.extend(str(root / path) for paths in group.left_out for path in paths)
        if group.gathered.mark:
            found.append(str(root / group.gathered.mark))
        baseline = group.options.baseline
        if baseline is not None:
            found.append(os.path.join(group.settings.folder, baseline.file))
            found.append(baseline.file)
    return found


def _run_joined(options: argparse.Namespace, targets: tuple[Target, ...]) -> int:
    """Write what the parts of a run found; return the exit code of the whole."""
    from ohmwright.commands.scale.coding import CodingError
    from ohmwright.commands.scale.parts import join

    problem = in_the_way(targets, options.join)
    if problem:
        complain(problem)
        return 2
    try:
        joined = join(options.join, BARS[options.bar] if options.bar else None)
        outputs = _Outputs(targets, options, (), joined.usual)
        codes = [exit_code(group.result, group.bar, group.require_checked, group.is_empty) for group in joined.groups]
        good = outputs.write(_joined([group.result for group in joined.groups]))
    except CodingError as error:  # most of a part is read when a report asks
        raise StoppedError(f"the parts cannot be read: {error}") from None
    return max(*codes, 0 if good and not joined.wrong else 2)


def _count(text: str) -> int:
    try:
        number = int(text)
    except ValueError:
        number = 0
    if not 1 <= number <= _MOST_JOBS:
        raise argparse.ArgumentTypeError(f"{text!r} is no number of processes: write one from 1 to {_MOST_JOBS}")
    return number


class _Outputs:
    """Inspects with what the outputs need, and writes them; what no option says comes from the settings of the first builds named."""

    def __init__(
        self, targets: tuple[Target, ...], options: argparse.Namespace, groups: tuple[Group, ...], usual: Sequence[Any] = ()
    ) -> None:
        settings = groups[0].settings if groups else None
        said = (settings.format, settings.working, settings.assumed) if settings is not None else usual or ("", None, None)
        self.usual = said
        self.pieces: Callable[[], Iterable[tuple[int, str, bytes]]] = tuple
        self.targets = tuple(Target(target.format or said[0] or "text", target.file) for target in targets)
        self.working = options.working if options.working is not None else bool(said[1])
        self.assumed = options.assumed if options.assumed is not None else bool(said[2])
        self.told_to_people = all(target.format in ("text", "json") for target in self.targets)  # and to no service
        self.changes = {
            "only": tuple(options.only),
            "only_state": options.state,
            "implied": not options.no_implied,
            "assumed": self.assumed or bool(options.part) or any(target.format == "json" for target in self.targets),
        }

    def all_inspected(self, groups: tuple[Group, ...], options: argparse.Namespace) -> list[tuple[Group, Result]]:
        """Inspect each group; a handful of builds in this process, at once."""
        count = sum(len(group.gathered.paths) for group in groups)
        if count <= HANDFUL and not (options.jobs or options.cache or options.part):
            return [(group, self.inspected(group)) for group in groups]
        from ohmwright.commands.scale.running import inspected, reader_of

        found = inspected(groups, self.changes, options)
        self.pieces = found.pieces
        results = [group.told(result) for group, result in zip(groups, found.results, strict=True)]
        if not self.told_to_people:
            pairs = zip(groups, results, strict=True)
            results = [group.at_home(result, reader_of(group.gathered.root)) for group, result in pairs]
        return list(zip(groups, results, strict=True))

    def inspected(self, group: Group) -> Result:
        inspect_options = replace(group.options, **self.changes)
        loader = Loader(FolderFiles(group.gathered.root))
        result = group.told(inspect_files(group.gathered.paths, loader, inspect_options))
        return result if self.told_to_people else group.at_home(result, loader.text)

    def write_part(self, options: argparse.Namespace, done: list[tuple[Group, Result]], wrong: bool) -> bool:
        """Write what was found for joining; tell whether that could be done."""
        from ohmwright.commands.scale.parts import write_part

        return write_part(options.part, options.share or (1, 1), done, self.pieces(), wrong, self.usual)

    def write(self, result: Result) -> bool:
        """Write every output; tell whether all of them could be."""
        good = True
        for target in self.targets:
            text = self._text(target, result)
            if not target.file:
                put(text)
                continue
            from ohmwright.writing import write_whole

            problem = write_whole(Path(target.file), text)
            if problem:
                complain(problem)
                good = False
        return good

    def _text(self, target: Target, result: Result) -> str | Iterable[str]:
        writer = import_module(WRITERS[target.format])
        if target.format == "text":
            colour = not target.file and colour_wanted()
            text: str = writer.write(result, writer.TextOptions(self.working, self.assumed, colour))
            return text
        written: str | Iterable[str] = writer.pieces(result) if target.format == "json" else writer.write(result)
        return written


def _joined(results: list[Result]) -> Result:
    """Join the results of several roots."""
    first = results[0]
    if len(results) == 1:
        return first
    builds = reduce(lambda some, more: some + more, (result.builds for result in results))  # type: ignore[operator]
    errors = tuple(error for result in results for error in result.errors)
    settings = tuple(told for result in results for told in result.settings)
    return Result(first.version, first.today, first.packs, builds, errors, settings)


def exit_code(result: Result, bar: Severity, require_checked: bool, left_out: bool = False) -> int:
    """Return 0, 1 or 2 as the bar, the outcomes that could not be checked, and the run itself demand.

    `left_out` tells that the settings leave out every build that was named, so that there is nothing to inspect.
    """
    if result.errors or not (result.builds or left_out) or any(build.partial for build in result.builds):
        return 2
    for build in result.builds:
        if any(item.severity >= bar for item in build.findings):
            return 1
        unchecked = any(item.severity is Severity.ERROR for item in build.not_checked)
        if unchecked and (require_checked or bar <= Severity.WARNING):
            return 1
    return 0
