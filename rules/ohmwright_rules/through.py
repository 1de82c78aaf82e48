"""The most that can flow through a part, and what bounds it."""

from __future__ import annotations

from collections.abc import Callable

from ohmwright_grammar.records import record

__all__ = ["NOTHING", "Pieces", "Through"]

Pieces = tuple[tuple[str, float], ...]


def _no_pieces() -> Pieces:
    return ()


@record
class Through:
    """The most that can flow through a part [A]; `node` is where it comes in, `tell` names the devices and sources that bound it."""

    ampere: float
    tell: Callable[[], Pieces]
    node: str
    beyond: str  # a node on the side to which it flows
    loose: bool = False  # more than can flow here: the build is too large to look at each part of its return side

    @property
    def pieces(self) -> Pieces:
        """The devices and sources that bound it, each with its amperes, in name order."""
        return self.tell()


NOTHING = Through(0.0, _no_pieces, "", "")
