"""`ohmwright size`: the smallest gauges, the right fuses and the lengths that mend findings, each tried on the whole build."""

from __future__ import annotations

import argparse
from datetime import date

from ohmwright_grammar.files import FolderFiles

from ohmwright.commands.common import Limits, add_budget, add_today, colour_wanted, complain, put, unknown_basis
from ohmwright.commands.inspect import BARS
from ohmwright.inspecting import InspectOptions
from ohmwright.paths import gather
from ohmwright.reports.sizes import write
from ohmwright.rules import PackError, installed_packs
from ohmwright.sizing.trying import BuildAnswers, size_build

__all__ = ["add_options", "run"]


def add_options(parser: argparse.ArgumentParser) -> None:
    """Declare the options of the command."""
    parser.add_argument("paths", nargs="*", metavar="PATH", help="build files or folders")
    parser.add_argument("--bar", choices=list(BARS), default="error", help="exit with 1 from this severity on (default error)")
    parser.add_argument("--basis", metavar="NAME", default="", help="hold the builds against this basis instead of their own")
    parser.add_argument(
        "--states", choices=("declared", "reached"), default="declared", help="also look at every state that a box can get into"
    )
    add_today(parser)
    add_budget(parser)


def run(options: argparse.Namespace) -> int:
    """Try and write; return 1 where something was found at or above the bar, 2 where something could not be read."""
    if not options.paths:
        complain("name at least one build file or folder")
        return 2
    gathered, wrong = gather(options.paths)
    for message in wrong:
        complain(message)
    limits = Limits(*options.budget)
    inspect_options = InspectOptions(
        today=options.today or date.today(), basis=options.basis, reached=options.states == "reached", budget=limits
    )
    builds: list[BuildAnswers] = []
    good = not wrong
    try:
        problem = unknown_basis(options.basis)
        if problem:
            complain(problem)
            return 2
        packs = installed_packs()
        for group in gathered:
            for path in group.paths:
                answers, why = size_build(path, FolderFiles(group.root), inspect_options, packs)
                if why:
                    complain(f"{path} {why}")
                    good = False
                elif answers is not None:
                    builds.append(answers)
    except PackError as error:
        complain(str(error))
        return 2
    finally:
        limits.release()
    if builds:
        put(write(builds, colour_wanted()))
    if not good:
        return 2
    return 1 if any(item.severity >= BARS[options.bar] for build in builds for item in build.result.findings) else 0
