"""How far a run is, on one line of a terminal that goes away again; nowhere else."""

from __future__ import annotations

import os
import sys
from time import monotonic

__all__ = ["Progress"]

_EVERY = 0.1  # seconds


class Progress:
    """Says how many of so many builds are done."""

    def __init__(self, total: int) -> None:
        self._total = total
        self._wanted = sys.stderr is not None and sys.stderr.isatty() and os.environ.get("TERM") != "dumb"
        self._next = monotonic() + 5 * _EVERY  # nothing of a run that is over soon
        self._width = 0

    def tell(self, done: int, known: int) -> None:
        """Say it; `known` of those done are known from earlier runs."""
        if not self._wanted or monotonic() < self._next:
            return
        self._next = monotonic() + _EVERY
        rest = f", {known:,} of them known from before" if known else ""
        self._put(f"{done:,} of {self._total:,} builds{rest}")

    def end(self) -> None:
        """Take the line away."""
        if self._width:
            self._put("")
            sys.stderr.write("\r")
            sys.stderr.flush()

    def _put(self, words: str) -> None:
        sys.stderr.write("\r" + words.ljust(self._width))
        sys.stderr.flush()
        self._width = len(words)
