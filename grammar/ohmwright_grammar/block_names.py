"""The names of blocks inside a thing: `pin 1`, `pins 1, 2 and 5`, `pins 1 to 4`, and `pins { … }`, which holds for all of them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ohmwright_grammar.phrases import NAME_TOKENS, plain_name
from ohmwright_grammar.syntax import Token
from ohmwright_grammar.things import Fact, Thing, data_of

__all__ = ["ALL", "nameless", "names_in", "spread"]

ALL = ""  # the name of a block that holds for all blocks of its sort
_MOST_IN_A_ROW = 200


def names_in(tokens: tuple[Token, ...], several: bool) -> tuple[list[str], tuple[Token, ...]]:
    """Return the names after the word of a block, and the words after them; one name alone unless it is a word for several."""
    names: list[str] = []
    position = 0
    while position < len(tokens) and tokens[position].type in (*NAME_TOKENS, "NUMBER"):
        row = _row(tokens, position)
        if row:
            names.extend(row)
            position += 3
        else:
            names.append(plain_name(tokens[position]))
            position += 1
        if not several or position >= len(tokens):
            break
        if tokens[position].type != "COMMA" and str(tokens[position]).lower() != "and":
            break
        position += 1
    if position < len(tokens) and tokens[position].type == "COMMA":
        position += 1
    return list(dict.fromkeys(names)), tokens[position:]


def _row(tokens: tuple[Token, ...], position: int) -> list[str]:
    """Return the numbers of "1 to 4", or none."""
    three = tokens[position : position + 3]
    if len(three) < 3 or str(three[1]).lower() != "to" or not (str(three[0]).isdecimal() and str(three[2]).isdecimal()):
        return []
    first, last = int(three[0]), int(three[2])
    return [str(number) for number in range(first, last + 1)] if first <= last < first + _MOST_IN_A_ROW else []


def nameless(things: tuple[Thing, ...]) -> Thing | None:
    """Return the block that holds for all others of its sort, if there is one."""
    return next((thing for thing in things if thing.name == ALL), None)


def spread(kind: type[Thing], facts: Mapping[str, Fact[Any]], known: Mapping[str, Fact[Any]]) -> dict[str, Fact[Any]]:
    """Return facts of a change in which what is said of all blocks of a sort is said of each that is known, by its name."""
    made = dict(facts)
    for name, fact in facts.items():
        under = known.get(name)
        if data_of(kind)[name].shape != "blocks" or fact.value is None or under is None or under.value is None:
            continue
        shared = nameless(fact.value)
        if shared is None:
            continue
        named = {thing.name: thing for thing in fact.value if thing.name != ALL or name == "terminals"}  # not all are named
        for thing in under.value:
            own = named.get(thing.name)
            said = {**shared.facts, **own.facts} if own is not None else shared.facts
            named[thing.name] = type(shared)(thing.name, shared.span, said)
        made[name] = Fact(tuple(named.values()), fact.source, fact.origin)
    return made
