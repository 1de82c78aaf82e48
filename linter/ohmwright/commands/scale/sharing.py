"""Which builds belong to one of several shares: the same for everybody who has the same files, and each share about as large as the others."""

from __future__ import annotations

import argparse
import os
import re
from collections.abc import Mapping, Sequence
from pathlib import Path

from ohmwright_grammar.files import MOST_BYTES, joined_path
from ohmwright_grammar.records import replace

from ohmwright.commands.common import StoppedError
from ohmwright.commands.terms import Group

__all__ = ["MOST_SHARES", "Share", "complete", "dealt", "share_of", "shared"]

MOST_SHARES = 1000
Share = tuple[int, int]
_NAMED = re.compile(rb'adapts\s*"([^"\r\n]+)"')
_OVERHEAD = 1000  # bytes: what the smallest build costs


def share_of(text: str) -> Share:
    """Return a share as a command line names it ("2/5"), for an option parser."""
    found = re.fullmatch(r"(\d{1,4})/(\d{1,4})", text)
    if found is None or not 1 <= int(found[1]) <= int(found[2]) <= MOST_SHARES:
        raise argparse.ArgumentTypeError(
            f"{text!r} is no share: write which one of how many, such as 2/5 (at most {MOST_SHARES})"
        )
    return int(found[1]), int(found[2])


def dealt(sizes: Sequence[int], count: int) -> list[int]:
    """Return the share, from 0, that each of some things belongs to: the largest first, each to the share that has least.

    No share is then larger than 4/3 of the best possible (R. L. Graham, Bounds on multiprocessing timing anomalies, 1969, theorem 2; from memory).

    >>> dealt([5, 4, 3, 3, 3], 2)
    [0, 1, 1, 0, 1]
    """
    held = [0] * count
    found = [0] * len(sizes)
    for place in sorted(range(len(sizes)), key=lambda place: (-sizes[place], place)):
        least = min(range(count), key=held.__getitem__)
        found[place] = least
        held[least] += sizes[place]
    return found


def complete(shares: Mapping[str, Share]) -> None:
    """Make sure that shares, each by its file, are all of as many as there are; StoppedError where they are not."""
    counts = {count for _, count in shares.values()}
    if len(counts) > 1:
        raise StoppedError("the parts are not of one run: their numbers of shares differ")
    (count,) = counts
    if not 1 <= count <= MOST_SHARES or not all(1 <= number <= count for number, _ in shares.values()):
        raise StoppedError("the parts are of shares that no run has")
    given = sorted(number for number, _ in shares.values())
    missing = [number for number in range(1, count + 1) if number not in given]
    if missing:
        words = ", ".join(map(str, missing[:20]))
        raise StoppedError(
            f"{'part' if len(missing) == 1 else 'parts'} {words} of {count} {'is' if len(missing) == 1 else 'are'} missing"
        )
    if len(given) > count:
        raise StoppedError("one part is given twice")


def shared(groups: Sequence[Group], share: Share) -> tuple[Group, ...]:
    """Return the same groups with the builds of one share."""
    sizes = [_size(group.gathered.root, path) for group in groups for path in group.gathered.paths]
    mine = iter([found == share[0] - 1 for found in dealt(sizes, share[1])])
    found: list[Group] = []
    for group in groups:
        paths = tuple(path for path, is_mine in [(path, next(mine)) for path in group.gathered.paths] if is_mine)
        found.append(replace(group, gathered=replace(group.gathered, paths=paths)))
    return tuple(found)


def _size(root: Path, path: str) -> int:
    """Return how much a build is, in bytes of its text and of the build that it adapts."""
    size = _OVERHEAD
    try:
        with open(root / path, "rb") as stream:
            data = stream.read(MOST_BYTES)
        size += len(data)
        for name in _NAMED.findall(data)[:1]:
            base = joined_path(path, name.decode("utf-8", "replace"))
            size += os.path.getsize(root / base) if base else 0
    except (OSError, ValueError):
        return size  # it is told when it is read
    return size
