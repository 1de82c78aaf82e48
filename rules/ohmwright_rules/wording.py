"""How several names stand in a sentence."""

from __future__ import annotations

from collections.abc import Iterable

__all__ = ["counted_beyond", "named"]


def named(names: Iterable[str]) -> str:
    """Return names in a row as a sentence has them.

    >>> named(["a"]), named(["a", "b"]), named(["a", "b", "c", "d"])
    ('a', 'a and b', 'a, b, c and d')
    """
    known = list(names)
    if len(known) < 2:
        return "".join(known)
    return f"{', '.join(known[:-1])} and {known[-1]}"


def counted_beyond(names: Iterable[str], kind: str, most: int = 2) -> str:
    """Return names in a row, or only how many there are where there are more than `most`; `kind` is their plural.

    >>> counted_beyond(["a", "b"], "batteries"), counted_beyond(["a", "b", "c"], "batteries")
    ('a and b', '3 batteries')
    """
    known = list(names)
    return named(known) if len(known) <= most else f"{len(known)} {kind}"
