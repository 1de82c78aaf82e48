"""How several names stand in a sentence."""

from __future__ import annotations

from collections.abc import Iterable

from ohmwright.wording import named

__all__ = ["counted_beyond", "listed", "named"]

_MOST = 4  # names that a sentence bears


def counted_beyond(names: Iterable[str], kind: str, most: int = 2) -> str:
    """Return names in a row, or only how many there are where there are more than `most`; `kind` is their plural.

    >>> counted_beyond(["a", "b"], "batteries"), counted_beyond(["a", "b", "c"], "batteries")
    ('a and b', '3 batteries')
    """
    known = list(names)
    return named(known) if len(known) <= most else f"{len(known)} {kind}"


def listed(names: Iterable[str], most: int = _MOST) -> str:
    """Return names in a row as a sentence has them, the last ones counted where there are more than `most`.

    >>> listed(["a", "b", "c", "d"]), listed(["a", "b", "c", "d", "e"])
    ('a, b, c and d', 'a, b, c and 2 more')
    """
    known = list(names)
    return named(known) if len(known) <= most else f"{', '.join(known[: most - 1])} and {len(known) - most + 1} more"
