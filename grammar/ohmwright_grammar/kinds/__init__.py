"""The kinds of things that a build may hold, one file for each family.

A kind is a class with its data; to add one, write its class, and name it in `KINDS` below (its module is read only when a file uses the kind).
"""

from __future__ import annotations

from functools import cache
from importlib import import_module

from ohmwright_grammar.things import Thing

__all__ = ["HEADS", "KINDS", "PLURALS", "kind_of"]

KINDS: dict[str, str] = {
    "battery": "battery:Battery",
    "fuse": "fuse:Fuse",
    "breaker": "fuse:Breaker",
    "wire": "conductor:Wire",
}

PLURALS: dict[str, str] = {
    "batteries": "battery",
    "fuses": "fuse",
    "breakers": "breaker",
    "wires": "wire",
}

HEADS: tuple[tuple[str, ...], ...] = tuple(sorted((tuple(words.split()) for words in KINDS), key=lambda words: -len(words)))


@cache
def kind_of(words: str) -> type[Thing]:
    """Return the class of a kind by the words of its statement; KeyError where there is none."""
    module, _, name = KINDS[words].partition(":")
    found: type[Thing] = getattr(import_module(f"ohmwright_grammar.kinds.{module}"), name)
    return found
