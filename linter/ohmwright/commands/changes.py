"""`inspect --changed`: the names of changed files from the command line or the standard input, and what they touch."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence
from pathlib import Path

from ohmwright.commands.common import complain
from ohmwright.commands.touching import touched
from ohmwright.paths import Gathered
from ohmwright.reports.words import listed
from ohmwright.settings.model import Settings

__all__ = ["gathered_changes", "like_an_option"]

MOST_INPUT = 50_000_000  # bytes of names


def gathered_changes(options: argparse.Namespace, given: Settings | None) -> tuple[tuple[Gathered, ...], tuple[str, ...]]:
    """Return the builds that the named changes touch by root, and what is wrong with the names; files that are not there are said."""
    names: list[str] = []
    for name in options.paths:
        if name != "-":
            names.append(name)
            continue
        more, problem = _from_input()
        if problem:
            return (), (problem,)
        names.extend(more)
    terms = [options.settings] if options.settings not in (None, "none") else []
    if options.baseline not in (None, "none"):
        terms.append(options.baseline)
    elif given is not None and given.baseline and options.baseline is None:
        terms.append(str(Path(given.folder) / given.baseline))
    found = touched(names, given is None, terms)
    if found.gone:
        complain(f"taken as deleted, since there is no such file: {listed(found.gone)}")
    return found.gathered, found.wrong


def _from_input() -> tuple[list[str], str]:
    """Return the names on the standard input, and why they cannot be used; names without a zero byte behind them may be quoted, or cut at a line end."""
    data = sys.stdin.buffer.read(MOST_INPUT + 1)
    if len(data) > MOST_INPUT:
        return [], f"the names on the standard input take more than {MOST_INPUT // 1_000_000} MB"
    if data and not data.endswith(b"\0"):
        return (
            [],
            "each name on the standard input is to end with a byte of value zero, as in: git diff --name-only -z | ohmwright inspect --changed -",
        )
    return [os.fsdecode(name) for name in data.split(b"\0") if name], ""


def like_an_option(given: Sequence[str]) -> bool:
    """Tell whether a word that gives an option a value is the name of a file as well, and say so.

    A hook puts the names of files behind its options, so that a file named like an option would be one.
    """
    before = given[: given.index("--")] if "--" in given else given
    for word in before:
        if word.startswith("-") and "=" in word and os.path.lexists(word):
            complain(f"{word} is the name of a file and reads as an option: rename the file, or write the option as two words")
            return True
    return False
