"""`ohmwright compare`: what a change does, on files, folders and revisions; what changes the judgement first."""

from __future__ import annotations

import argparse
from importlib import import_module
from pathlib import Path

from ohmwright.commands.common import (
    StoppedError,
    add_budget,
    add_shares,
    add_today,
    colour_wanted,
    complain,
    put,
    unknown_basis,
)
from ohmwright.commands.outputs import Target, add_outputs, in_the_way, planned
from ohmwright.commands.terms import BARS, add_settings
from ohmwright.comparing.model import Comparison
from ohmwright.findings import Severity
from ohmwright.rules import PackError

__all__ = ["WRITERS", "add_options", "exit_code", "run"]

WRITERS = {
    "text": "ohmwright.reports.comparison_text",
    "json": "ohmwright.reports.comparison_json",
    "markdown": "ohmwright.reports.comparison_markdown",
}

_NOT_WITH_JOIN = ("share", "part", "basis", "states", "settings", "baseline", "today", "require_checked")


def add_options(parser: argparse.ArgumentParser) -> None:
    """Declare the options of the command."""
    parser.add_argument(
        "what",
        nargs="*",
        metavar="OLD NEW|OLD..NEW",
        help="two files, folders or revisions, or a range of revisions; then paths",
    )
    add_outputs(parser, WRITERS)
    parser.add_argument(
        "--bar", choices=list(BARS), help="exit with 1 where a finding of this severity is new or worse (default error)"
    )
    parser.add_argument(
        "--bar-judgement",
        action="store_true",
        help="exit with 1 where the change would alter how builds are judged, and nobody accepted that",
    )
    parser.add_argument(
        "--require-checked",
        action=argparse.BooleanOptionalAction,
        help="what can no longer be checked counts as an error at the bar",
    )
    parser.add_argument("--basis", metavar="NAME", default="", help="hold the builds against this basis instead of their own")
    parser.add_argument(
        "--states", choices=("declared", "reached"), help="with reached also look at every state that a box can get into"
    )
    add_shares(parser, "comparison")
    add_settings(parser)
    parser.add_argument("--baseline", metavar="FILE|none", help="findings that are known, in place of the baseline of OLD")
    add_today(parser)
    add_budget(parser)


def run(options: argparse.Namespace) -> int:
    """Compare and write; return the exit code."""
    targets, problem = planned(options.outputs)
    if problem:
        complain(problem)
        return 2
    if bool(options.what) == bool(options.join):
        complain("name two files, folders or revisions, or a range such as main..HEAD; --join stands alone")
        return 2
    given = [f"--{name.replace('_', '-')}" for name in _NOT_WITH_JOIN if getattr(options, name)]
    if options.join and given:
        complain(f"--join takes what was found as it was found: leave out {', '.join(given)}")
        return 2
    from ohmwright.commands.comparing_sides import found_of, put_together
    from ohmwright.commands.git_objects import GitError

    try:
        problem = unknown_basis(options.basis) or in_the_way(targets, _named(options))
        if problem:
            complain(problem)
            return 2
        if options.join:
            from ohmwright.commands.scale.comparison_parts import join

            shares = join(options.join)
        else:
            share = found_of(options)
            if share is None:
                return 2
            shares = [share]
    except (PackError, GitError, StoppedError) as error:
        complain(str(error))
        return 2
    found = put_together(shares)
    if options.part:
        from ohmwright.commands.scale.comparison_parts import write_part

        if not write_part(options.part, options.share or (1, 1), shares[0]):
            return 2
    bars = dict.fromkeys(found.bars, BARS[options.bar]) if options.bar else found.bars
    code = max(exit_code(found.comparison, bars, options.bar_judgement), 2 if found.wrong else 0)
    return code if _written(targets, found.comparison) else 2


def _named(options: argparse.Namespace) -> list[str]:
    """Return the files that a run reads as far as its command line names them."""
    named = [*options.what, *(options.join or ()), options.settings or "", options.baseline or ""]
    return [word for word in named if word]


def _written(targets: tuple[Target, ...], comparison: Comparison) -> bool:
    good = True
    for target in targets:
        writer = import_module(WRITERS[target.format or "text"])
        if not target.file:
            put(writer.write(comparison, colour_wanted()) if target.format in ("", "text") else writer.write(comparison))
            continue
        from ohmwright.writing import write_whole

        problem = write_whole(Path(target.file), writer.write(comparison))
        if problem:
            complain(problem)
            good = False
    return good


def exit_code(comparison: Comparison, bars: dict[str, Severity], bar_judgement: bool) -> int:
    """Return 0, 1 or 2: new and worse findings count at the bar of their build, and with `bar_judgement` whatever changes the judgement and is not accepted."""
    partial = any(build.new is not None and build.new.partial for build in comparison.builds)
    if comparison.errors or partial:
        return 2
    if bar_judgement and any(item.stops for item in comparison.judgement):
        return 1
    for build in comparison.builds:
        bar = bars.get(build.path, Severity.ERROR)
        if any(change.how in ("new", "worse") and change.item.severity >= bar for change in build.findings):
            return 1
        if build.unchecked and (comparison.require_checked or bar <= Severity.WARNING):
            return 1
    return 0
