"""`inspect --share I/N`: one part of the builds, so that the runners of a service can each take one; the parts are alike in size and the same on every machine."""

from __future__ import annotations

import argparse
import os
from contextlib import suppress
from dataclasses import replace
from heapq import heapify, heapreplace

from ohmwright.commands.common import complain
from ohmwright.commands.terms import Group

__all__ = ["MOST", "part", "shared"]

MOST = 1000
_START = 2000  # bytes that a build of no length would weigh: each takes some time whatever it says


def part(text: str) -> tuple[int, int]:
    """Read which part of how many is wanted.

    >>> part("2/5")
    (2, 5)
    """
    one, sign, all_ = text.partition("/")
    if sign and one.isascii() and all_.isascii() and one.isdigit() and all_.isdigit() and len(all_) < 9:
        number, of = int(one), int(all_)
        if 1 <= number <= of <= MOST:
            return number, of
    raise argparse.ArgumentTypeError(
        f"{text[:40]!r} is no part: write which one of how many, such as 2/5 (of at most {MOST:,})"
    )


def shared(groups: tuple[Group, ...], wanted: tuple[int, int]) -> tuple[Group, ...]:
    """Return groups with the builds of one part, and say on the error stream how many these are.

    The largest builds are dealt first, each to the part that has least so far, by the sizes of their files; equal ones by root and path.
    """
    number, of = wanted
    weighed = sorted(
        (-_weight(os.path.join(group.gathered.root, path)), place, path)
        for place, group in enumerate(groups)
        for path in group.gathered.paths
    )
    loads = [(0, piece) for piece in range(1, of + 1)]
    heapify(loads)
    mine: set[tuple[int, str]] = set()
    for weight, place, path in weighed:
        load, piece = loads[0]
        heapreplace(loads, (load - weight, piece))
        if piece == number:
            mine.add((place, path))
    complain(f"part {number} of {of}: {len(mine):,} of {len(weighed):,} files")
    return tuple(
        replace(
            group,
            gathered=replace(group.gathered, paths=tuple(path for path in group.gathered.paths if (place, path) in mine)),
        )
        for place, group in enumerate(groups)
    )


def _weight(path: str) -> int:
    size = 0
    with suppress(OSError, ValueError):
        size = os.stat(path).st_size
    return size + _START
