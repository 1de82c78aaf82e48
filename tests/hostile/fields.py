"""A build that has one text in every place where the language takes words of a builder's own: made from the lexicon, so that no new field is forgotten."""

from __future__ import annotations

import re

from ohmwright_grammar.kinds import KINDS, kind_of
from ohmwright_grammar.things import Datum, data_of

__all__ = ["PLACES", "build_with", "settings_with", "toml"]

_TEXT = re.compile(r"<(?:[a-z_]+:)?(?:text|word|term)>")
_OTHER = re.compile(r"<[^>]*>|\[[^\]]*\]")
_MOST_FIELDS = 24  # of one statement


def _says(datum: Datum[object], text: str) -> str:
    """Return the words that say a datum with a text; "" where it takes none."""
    if datum.shape not in ("text", "word"):
        return ""
    for phrase in datum.phrases:
        if _TEXT.search(phrase):
            words = _TEXT.sub(lambda found: f'"{text}"', phrase)
            return " ".join(_OTHER.sub("", words).replace("|", " ").split())
    return ""


def build_with(text: str) -> str:
    """Return a build with a text (without quotation marks and line ends) in every field that holds one, and in every place that names a thing.

    Not all of it makes sense, so that the text stands in messages too.
    """
    lines = [
        f'rig "{text}", revision "{text}", by "{text}"',
        "basis us-small-craft",
        f'site {{ ambient 5 degC to 30 degC; colour scheme "{text}" }}',
        f'battery "{text}" {{ LFP, 4 cells, 100 Ah; internal resistance 4 mohm; described as "{text}"; charge at most per "{text}" }}',
        f'load "{text} lamp" {{ 25 A; made by "{text}" }}',
        "all wires { copper; 105 degC insulation; in free air }",
        f'wire "{text} feed" from "{text}".plus to "{text} lamp".plus {{ 22 AWG; 6 m; route "{text}"; label "{text}" }}',
        f'wire "{text} back" from "{text} lamp".minus to "{text}".minus {{ 22 AWG; 6 m }}',
        f'state "{text}" {{ "{text} lamp" on; "{text}" at 60 % }}',
        f'waive loose-battery on "{text}" because "{text}" until 2027-01-01',
        f'waive thin on "{text} feed" because "{text}" until 2027-01-01',
        f'zone "{text} zone" {{ 10 degC }}',
        f'connector "{text} socket" with "{text} plug" {{ 15 A; pin 1 "{text}"; pin 2 {{ function "{text}" }} }}',
        f'wire lost from "{text} nowhere".plus to "{text}"."x"',
        f'parts from "{text}.rig"',
        f'"{text}" is what nobody knows',
        f'frob {{ "{text}" }}',
        f'load other {{ 5 "{text}"; colour "{text}" }}',
        f'assembly "{text} pack" {{ load inner {{ 1 A; described as "{text}" }} }}',
        f'place "{text} here" of "{text} pack"',
        f'row "{text} row" of 2 "{text} pack"',
        f'history {{ version "{text}" {{ by "{text}"; because "{text}" }} }}',
    ]
    for number, word in enumerate(sorted(KINDS)):
        kind = kind_of(word)
        said = [words for datum in data_of(kind).values() if (words := _says(datum, text))]
        for first in range(0, len(said), _MOST_FIELDS):
            name = f' "{text} {number} {first}"' if kind.NAMED else ""
            lines.append(f"{word}{name} {{ {'; '.join(said[first : first + _MOST_FIELDS])} }}")
    return "\n".join(lines) + "\n"


PLACES = build_with("word").count('"word')


def toml(text: str) -> str:
    """Return a string of TOML."""
    return '"' + "".join(c if c.isascii() and c.isprintable() and c not in '"\\' else f"\\U{ord(c):08x}" for c in text) + '"'


def settings_with(text: str) -> str:
    """Return settings with a text in every reason."""
    return (
        f'[[left-out]]\npath = "old/**"\nbecause = {toml(text)}\n'
        f'[[left-out]]\nfamily = "storage"\nbecause = {toml(text)}\n'
        f'[[grades]]\ngrade = "voltage-drop.over-class"\nseverity = "note"\nbecause = {toml(text)}\n'
    )
