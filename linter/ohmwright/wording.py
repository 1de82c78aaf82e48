"""How several names stand in a sentence."""

from __future__ import annotations

from collections.abc import Iterable

__all__ = ["named"]


def named(names: Iterable[str]) -> str:
    """Return names in a row as a sentence has them.

    >>> named(["a"]), named(["a", "b"]), named(["a", "b", "c", "d"])
    ('a', 'a and b', 'a, b, c and d')
    """
    known = list(names)
    if len(known) < 2:
        return "".join(known)
    return f"{', '.join(known[:-1])} and {known[-1]}"
