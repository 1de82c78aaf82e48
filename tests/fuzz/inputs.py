"""Random texts by the million, without a library: pieces of real builds and of the lexicon, spoilt, spliced and drowned in noise.

The same seed gives the same texts, so that one that fails can be had again by its number.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from pathlib import Path

from ohmwright_grammar.kinds import HEADS, KINDS, PLURALS, kind_of
from ohmwright_grammar.phrases import leading_words
from ohmwright_grammar.quantities import DIMENSIONS
from ohmwright_grammar.things import data_of

__all__ = ["inputs", "texts_of_builds"]

ROOT = Path(__file__).parents[2]
SIGNS = [
    *"{};,\n\r\t \"#=:()[].-+−–—×x%/\\'“”„«»‚‘°Ωµ²", "\r\n", "\n\n", "{ ", " }", "{\n", "\n}", "# ", "##", "#8 ", "\x00", "\x1b", "\x85", "\u2028", "\u200b", "\u202e",
    "\ufeff", "\ufffd", "\ud800", "é", "٣", "½", "🔋",
]  # fmt: skip
NUMBERS = [
    "0",
    "1",
    "-1",
    "3.5",
    ".5",
    "1e400",
    "1e-400",
    "-0",
    "−2",
    "0,25",
    "5-30",
    "5–30",
    "10x38",
    "1..2",
    "1/0",
    "4/0",
    "2027-06-30",
    "2027-13-45",
    "9" * 40,
]


def texts_of_builds() -> list[str]:
    """Return the builds and libraries of this repository."""
    paths = sorted([*ROOT.glob("examples/**/*.rig"), *ROOT.glob("tests/**/data/*.rig")])
    return [path.read_text(encoding="utf-8") for path in paths]


def _words() -> list[str]:
    phrases = {phrase for word in KINDS for datum in data_of(kind_of(word)).values() for phrase in datum.phrases}
    units = {symbol for dimension in DIMENSIONS.values() for symbol in dimension.symbols}
    joining = ["from", "to", "and", "with", "in", "on", "off", "of", "no", "not", "none", "per", "same as", "except", "everything else", "all", "at most", "at least",
               "plus or minus", "between", "up to", "until", "because", "because \"x\""]  # fmt: skip
    names = [
        "house",
        "feed",
        "house.plus",
        "a.b.c",
        "pack[2].feed",
        '"big pump"',
        '"big pump".plus',
        '"',
        '""',
        "plug.3",
        "[",
        "]",
        ".",
        "..",
        "é",
    ]
    return (
        sorted({leading_words(phrase) for phrase in phrases} - {""})
        + sorted(KINDS)
        + sorted(PLURALS)
        + sorted(units)
        + joining * 4
        + names * 4
        + [" ".join(w) for w in HEADS]
    )


def inputs(seed: int = 1) -> Iterator[str]:
    """Yield texts without end."""
    choose = random.Random(seed)
    lines = [line for text in texts_of_builds() for line in text.split("\n") if line.strip()]
    words = _words()
    while True:
        kind = choose.random()
        if kind < 0.5:
            text = _spoilt("\n".join(choose.choice(lines) for _ in range(choose.randint(1, 4))), words, choose)
        elif kind < 0.85:
            text = _said(words, choose)
        else:
            text = "".join(
                choose.choice(SIGNS) if choose.random() < 0.7 else choose.choice(words) for _ in range(choose.randint(1, 30))
            )
        yield text


def _said(words: list[str], choose: random.Random) -> str:
    pieces = []
    for _ in range(choose.randint(2, 24)):
        what = choose.random()
        pieces.append(choose.choice(words) if what < 0.6 else choose.choice(NUMBERS) if what < 0.8 else choose.choice(SIGNS))
    return choose.choice((" ", " ", " ", "", "\n")).join(pieces)


def _spoilt(text: str, words: list[str], choose: random.Random) -> str:
    for _ in range(choose.randint(1, 4)):
        place = choose.randint(0, len(text))
        end = min(len(text), place + choose.randint(0, 12))
        what = choose.random()
        if what < 0.25:
            text = text[:place] + text[end:]
        elif what < 0.5:
            text = text[:place] + choose.choice(SIGNS) + text[place:]
        elif what < 0.65:
            text = text[:place] + choose.choice(words) + text[end:]
        elif what < 0.8:
            text = text[:place] + choose.choice(NUMBERS) + text[end:]
        elif what < 0.9:
            text = text[:end] + text[place:]
        else:
            text = text[:place]
    return text
