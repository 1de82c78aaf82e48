"""`ohmwright size`: the smallest gauges, the right fuses and the lengths that mend findings, each tried on the whole build."""

from __future__ import annotations

import argparse

from ohmwright_grammar.files import FolderFiles

from ohmwright import rules
from ohmwright.commands.common import Limits, add_budget, add_today, colour_wanted, complain, put, unknown_basis
from ohmwright.commands.terms import BARS, add_settings, groups_of
from ohmwright.reports.sizes import write
from ohmwright.rules import PackError
from ohmwright.sizing.trying import BuildAnswers, size_build

__all__ = ["add_options", "run"]

SECONDS = 120.0  # for one build: it is inspected once for each size that is tried


def add_options(parser: argparse.ArgumentParser) -> None:
    """Declare the options of the command."""
    parser.add_argument("paths", nargs="*", metavar="PATH", help="build files or folders")
    parser.add_argument("--bar", choices=list(BARS), help="exit with 1 from this severity on (default error)")
    parser.add_argument("--basis", metavar="NAME", default="", help="hold the builds against this basis instead of their own")
    parser.add_argument(
        "--states", choices=("declared", "reached"), default="reached",
        help="with declared try the sizes in the declared states alone (default: in every state that a box can get into)",
    )  # fmt: skip
    add_settings(parser)
    add_today(parser)
    add_budget(parser, SECONDS)


def run(options: argparse.Namespace) -> int:
    """Try and write; return 1 where something was found at or above the bar, 2 where something could not be read."""
    limits = Limits(*options.budget)
    builds: list[BuildAnswers] = []
    code = 0
    try:
        problem = unknown_basis(options.basis)
        if problem:
            complain(problem)
            return 2
        found = groups_of(options, limits)
        packs = rules.installed_packs()
        for group in found.groups:
            for path in group.gathered.paths:
                answers, why = size_build(path, FolderFiles(group.gathered.root), group.options, packs)
                if why:
                    complain(f"{path} {why}")
                    code = 2
                elif answers is not None:
                    builds.append(answers)
                    if any(item.severity >= group.bar for item in answers.result.findings):
                        code = max(code, 1)
    except PackError as error:
        complain(str(error))
        return 2
    finally:
        limits.release()
    if builds:
        put(write(builds, colour_wanted()))
    return 2 if found.wrong else code
