"""Sets that grow together: each member points at another of its set, and the last of the way stands for the set."""

from __future__ import annotations

from typing import Protocol, TypeVar

__all__ = ["root_of"]

K = TypeVar("K", int, str)


class _Above(Protocol[K]):
    """What a member points at: a list by number, or a mapping by name."""

    def __getitem__(self, member: K, /) -> K: ...

    def __setitem__(self, member: K, above: K, /) -> None: ...


def root_of(above: _Above[K], member: K) -> K:
    """Return the member that stands for the set of another, and halve the way to it.

    >>> above = [0, 0, 1, 2]
    >>> root_of(above, 3), above
    (0, [0, 0, 1, 1])
    """
    while above[member] != member:
        above[member] = member = above[above[member]]
    return member
