"""An order for what has none of its own, so that the order of statements never matters."""

from __future__ import annotations

import re
from typing import Any

from ohmwright_grammar.things import Fact, Thing, data_of

__all__ = ["put_in_order"]

_DIGITS = re.compile(r"(\d+)")
# Of the rig; the libraries, which are named there too, are read in the order in which they are named.
_OF_RIG = frozenset({"never_together", "barred_together", "ports"})


def put_in_order(kind: type[Thing], facts: dict[str, Fact[Any]]) -> None:
    """Put named blocks in the order of their names (pin 2 before pin 10), and what a state or the rig says in several statements, and where
    a part's terminals sit, in one of words.

    Other facts that are said several times keep the order in which they were said (steps, alternatives).
    """
    for name, fact in facts.items():
        value = fact.value
        if type(value) is not tuple or len(value) < 2:
            continue
        if isinstance(value[0], Thing):
            ordered = tuple(sorted(value, key=lambda thing: _natural(thing.name)))
        elif (
            name == "joints" or (kind.KIND == "state" and data_of(kind)[name].many) or (kind.KIND == "rig" and name in _OF_RIG)
        ):
            ordered = tuple(sorted(value, key=repr))
        else:
            continue
        if ordered != value:
            facts[name] = Fact(ordered, fact.source, fact.origin, fact.answer, fact.document, fact.below)


def _natural(name: str) -> tuple[tuple[int, int, str], ...]:
    return tuple((0, int(piece), "") if piece.isdigit() else (1, 0, piece) for piece in _DIGITS.split(name))
