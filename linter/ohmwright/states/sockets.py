"""A plug that fits several sockets is in one of them at a time: of matings that share a half at most one is made."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping

__all__ = ["others_of", "shared_halves", "surplus_matings"]


def shared_halves(matings_of: Mapping[str, tuple[str, ...]]) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Return the halves that have several mates, in name order, each with its matings in name order."""
    return tuple((half, tuple(sorted(matings))) for half, matings in sorted(matings_of.items()) if len(matings) > 1)


def others_of(matings_of: Mapping[str, tuple[str, ...]], mating: str) -> frozenset[str]:
    """Return the matings that share a half with one, which are apart while it is made."""
    return frozenset(other for matings in matings_of.values() if mating in matings for other in matings) - {mating}


def surplus_matings(
    matings_of: Mapping[str, tuple[str, ...]], apart: Collection[str], rank: Callable[[str], int] = lambda mating: 0
) -> frozenset[str]:
    """Return the matings that cannot be made beside those that come first: by rank, the smallest first, then in name order."""
    shared = shared_halves(matings_of)
    if not shared:
        return frozenset()
    wanted = {mating for _, matings in shared for mating in matings if mating not in apart}
    surplus: set[str] = set()
    for mating in sorted(wanted, key=lambda mating: (rank(mating), mating)):
        if mating not in surplus:
            surplus |= others_of(matings_of, mating) & wanted
    return frozenset(surplus)
