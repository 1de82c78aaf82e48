"""The phrases of the lexicon, taken apart: plain words, slots for values, words that may be left out."""

from __future__ import annotations

import functools

from ohmwright_grammar.records import record
from ohmwright_grammar.syntax import Token

__all__ = [
    "NAME_TOKENS",
    "Literal",
    "Miss",
    "Node",
    "Optional",
    "Slot",
    "compile_phrase",
    "leading_words",
    "plain_name",
]

NAME_TOKENS = frozenset({"WORD", "TEXT", "QUOTED_REFERENCE"})


@record
class Literal:
    """A word of a phrase, or one of several."""

    words: frozenset[str]


@record
class Slot:
    """A place for a value: `field` names it within a record, `shapes` are dimensions or the other shapes."""

    field: str
    shapes: tuple[str, ...]


@record
class Optional:
    """Words that may be left out."""

    nodes: tuple[Node, ...]


Node = Literal | Slot | Optional


@functools.cache
def compile_phrase(phrase: str) -> tuple[Node, ...]:
    """Turn the text of a phrase into nodes; see lexicon.py for the notation."""
    nodes: list[Node] = []
    position = 0
    while position < len(phrase):
        character = phrase[position]
        if character == " ":
            position += 1
        elif character == "[":
            end = phrase.index("]", position)
            nodes.append(Optional(compile_phrase(phrase[position + 1 : end])))
            position = end + 1
        elif character == "<":
            end = phrase.index(">", position)
            field, colon, shapes = phrase[position + 1 : end].rpartition(":")
            nodes.append(Slot(field if colon else "value", tuple(shapes.split("|"))))
            position = end + 1
        else:
            end = phrase.find(" ", position)
            end = len(phrase) if end < 0 else end
            nodes.append(Literal(frozenset(phrase[position:end].lower().split("|"))))
            position = end
    return tuple(nodes)


def leading_words(phrase: str) -> str:
    """Return the plain words at the start of a phrase: "breaks" of "breaks <current> at <voltage>"."""
    words: list[str] = []
    for word in phrase.split():
        if word[0] in "<[":
            break
        words.append(word.split("|")[0])
    return " ".join(words)


@record
class Miss:
    """Something that could have stood at a place but did not: `rule` is the diagnostic it leads to."""

    rule: str
    expected: str
    dimension: str = ""


def plain_name(token: Token) -> str:
    """Return a name or reference without its quotation marks."""
    text = str(token)
    return text.replace('"', "") if '"' in text else text
