"""Where the outputs of a run go: each `--to` belongs to the `--output` before it; an output without one goes to the screen, and only one can."""

from __future__ import annotations

import argparse
import os
from collections.abc import Collection, Sequence
from typing import Any

from ohmwright_grammar.records import record

from ohmwright.reports import WRITERS

__all__ = ["Target", "add_outputs", "in_the_way", "planned"]


@record
class Target:
    """One output: its format ("" for the usual one), and the file that it goes to ("" for the screen)."""

    format: str
    file: str = ""


class _InOrder(argparse.Action):
    """Keeps `--output` and `--to` in one list, in the order in which they were given."""

    def __call__(
        self, parser: argparse.ArgumentParser, namespace: argparse.Namespace, values: Any, option: str | None = None
    ) -> None:
        given: list[tuple[str, str]] = getattr(namespace, "outputs", None) or []
        namespace.outputs = [*given, (str(self.const), str(values))]


def add_outputs(parser: argparse.ArgumentParser, formats: Collection[str] = WRITERS) -> None:
    """Declare the options for formats and files."""
    parser.set_defaults(outputs=None)
    parser.add_argument(
        "--output", action=_InOrder, dest=argparse.SUPPRESS, const="output", choices=list(formats), metavar="FORMAT",
        help=f"{', '.join(formats)} (may be repeated; default text)",
    )  # fmt: skip
    parser.add_argument(
        "--to", action=_InOrder, dest=argparse.SUPPRESS, const="to", metavar="FILE",
        help="write the --output before it to a file instead of the screen (may be repeated)",
    )  # fmt: skip


def planned(given: Sequence[tuple[str, str]] | None) -> tuple[tuple[Target, ...], str]:
    """Return the outputs in their order, and what is wrong with them, "" where nothing is.

    >>> planned([("output", "json"), ("to", "a.json"), ("output", "text")])
    ((Target(format='json', file='a.json'), Target(format='text', file='')), '')
    >>> planned([("to", "sheet.txt")])
    ((Target(format='', file='sheet.txt'),), '')
    """
    targets: list[Target] = []
    early = ""
    for what, value in given or ():
        if what == "output":
            targets.append(Target(value, early))
            early = ""
        elif not value:
            return (), "--to names no file"
        elif not targets and not early:
            early = value  # before any --output: it belongs to the first one, or to the usual format
        elif not targets or targets[-1].file:
            return (), f"there is no --output for --to {value}: each --to belongs to the --output before it"
        else:
            targets[-1] = Target(targets[-1].format, value)
    if early or not targets:
        targets.append(Target("", early))
    if sum(not target.file for target in targets) > 1:
        return (), "only one --output can go to the screen: write --to FILE after each of the others"
    return tuple(targets), ""


def in_the_way(targets: Sequence[Target], read: Collection[str]) -> str:
    """Return which file would be written over though it is another output or is read by the run, "" where none would."""
    real = {os.path.realpath(path) for path in read}
    taken: set[str] = set()
    for target in targets:
        if not target.file:
            continue
        place = os.path.realpath(target.file)
        if place in taken and (os.path.isfile(place) or not os.path.lexists(place)):
            return f"two outputs would go to {target.file}"
        if place in real:
            return f"{target.file} is read by this run, so that no output can go there"
        taken.add(place)
    return ""
