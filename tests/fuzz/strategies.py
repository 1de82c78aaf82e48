"""Texts that look like builds: random statements of the grammar, and real builds with pieces spoilt; and how many of them a run tries."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.extra.lark import from_lark
from ohmwright_grammar.kinds import KINDS, PLURALS, kind_of
from ohmwright_grammar.parsing import build_parser
from ohmwright_grammar.phrases import leading_words
from ohmwright_grammar.quantities import DIMENSIONS
from ohmwright_grammar.things import data_of

__all__ = ["FIELD_BOX", "NOISE", "NUMBERS", "SMALL_BOX", "STATEMENTS", "WORDS", "examples", "spoilt"]

FULL = os.environ.get("OHMWRIGHT_FUZZ") == "full"  # as the checks before a merge set it; a run by hand tries a tenth


def examples(number: int, full: int | None = None) -> Any:
    """Return settings with so many examples; `full` is how many a full run tries, where that is another number."""
    return settings(max_examples=full if full is not None and FULL else number, suppress_health_check=list(HealthCheck))


FIELD_BOX = (Path(__file__).parents[1] / "linter" / "data" / "field_box.rig").read_text(encoding="utf-8")
SMALL_BOX = """\
rig "Small box", revision 1
basis us-small-craft
site { ambient -5 degC to 35 degC; sun 3 h/day }
all wires { copper; 105 degC insulation; in free air }
battery house { LFP, 4 cells, 60 Ah; internal resistance 9 mohm; bms { charge at most 30 A } }
fuse main { 20 A blade; breaks 1 kA at 32 V dc; line on house.plus }
array roof { Voc 22 V; Vmp 18 V; Isc 6 A; Imp 5.5 A; Voc -0.3 %/K }
controller sun { MPPT; 10 A; PV at most 50 V; batt_plus on main.load }
connector socket with plug { 10 A; pins 1, 2 }
load lamp { 20 W; works on 10 V to 15 V }
wires 14 AWG, 1 m {
  a from main.load to socket.1
  b from plug.1 to lamp.plus
  c from lamp.minus to plug.2
  d from socket.2 to house.minus
  e from roof.plus to sun.pv_plus
  f from sun.pv_minus to roof.minus
}
assembly pack { battery cells { LFP; 4 cells; 20 Ah }; fuse own { 20 A; line on cells.plus } }
row packs of 2 pack
state evening { lamp on for 4 h/day; house at 60 % }
require run lamp for 8 h
waive loose-battery on house because "it stands in a rack" until 2027-01-01
"""

_HEADS = sorted(
    {*KINDS, *PLURALS, "all wires", "assembly", "change", "remove", "parameter", "rig", "basis", "parts from", "add to"}
)
_PROPERTIES = sorted(
    {
        leading_words(phrase)
        for head in (
            "battery",
            "wire",
            "fuse",
            "load",
            "controller",
            "array",
            "inverter",
            "connector",
            "state",
            "waive",
            "require",
        )
        for datum in data_of(kind_of(head)).values()
        for phrase in datum.phrases
        if leading_words(phrase)
    }
)
_UNITS = sorted({symbol for dimension in DIMENSIONS.values() for symbol in dimension.symbols})
_NAMES = [
    "house",
    "feed",
    "lamp",
    "main",
    "house.plus",
    "lamp.minus",
    "main.line",
    "pack[2].feed",
    "1",
    "plug.3",
    "everything else",
    "with",
    "é",
]
_JOINING = [
    "from",
    "to",
    "and",
    "at",
    "on",
    "off",
    "of",
    "in",
    "no",
    "none",
    "same as",
    "except",
    "up to",
    "until",
    "because",
    "plus or minus",
]
WORDS = (
    st.sampled_from(_HEADS)
    | st.sampled_from(_PROPERTIES)
    | st.sampled_from(_UNITS)
    | st.sampled_from(_NAMES)
    | st.sampled_from(_JOINING)
)
NUMBERS = st.sampled_from(["0", "1", "-1", "3.5", "1e400", "-0", "1e-320", "900", ".5", "−2"])

# Every terminal of the grammar gets a strategy of its own, so that what is written looks like a build and not like noise.
_TERMINALS = {
    "WORD": WORDS, "NUMBER": NUMBERS, "GAUGE": st.sampled_from(["1/0", "4/0"]), "DATE": st.sampled_from(["2027-06-30", "2027-13-45"]),
    "TEXT": st.sampled_from(['"lamp on"', '""', '"shelf.rig"', '"fuzz.rig"', '"\u202e"']), "QUOTED_REFERENCE": st.just('"orchard pack"[2].plus'),
    "OPEN_TEXT": st.just('"open'), "COMMA": st.just(", "), "LBRACE": st.just(" { "), "RBRACE": st.just(" }"), "_SEP": st.sampled_from(["\n", "; "]),
    "DECIMAL_COMMA": st.just("0,25"), "DASHED": st.just("5-30"), "CROSSED": st.just("10x38"), "HASHED": st.sampled_from(["#8", "#no"]),
    "SIGN": st.sampled_from(["=", ":", "(", ")"]), "CURLY": st.sampled_from(["“", "”"]), "STRAY": st.sampled_from(["\x00", "\x1b", "\ufffd"]),
}  # fmt: skip

_ALONE = ("LBRACE", "RBRACE", "_SEP")
_PIECES = from_lark(
    build_parser(),
    start="pieces",
    explicit={"PIECES": st.nothing(), **{name: how for name, how in _TERMINALS.items() if name not in _ALONE}},
    alphabet=st.characters(codec="utf-8"),
)
STATEMENTS = from_lark(
    build_parser(),
    start="start",
    explicit={"PIECES": _PIECES, **{name: _TERMINALS[name] for name in _ALONE}},
    alphabet=st.characters(codec="utf-8"),
)
NOISE = st.text(st.characters(codec="utf-8"), max_size=300) | st.binary(max_size=300).map(lambda data: data.decode("latin-1"))


@st.composite
def spoilt(draw: st.DrawFn, whole: str) -> str:
    """A build with one to four pieces taken away, doubled, moved or put in."""
    words = whole.split(" ")
    for _ in range(draw(st.integers(1, 4))):
        place = draw(st.integers(0, len(words) - 1))
        what = draw(st.sampled_from(["drop", "double", "put", "swap", "cut", "number"]))
        if what == "drop":
            del words[place]
        elif what == "double":
            words.insert(place, words[place])
        elif what == "put":
            words.insert(place, draw(WORDS | NUMBERS | st.sampled_from(["{", "}", '"', ",", ";", "\n", "#", "=", "\x00"])))
        elif what == "swap":
            other = draw(st.integers(0, len(words) - 1))
            words[place], words[other] = words[other], words[place]
        elif what == "number":
            words[place] = draw(NUMBERS)
        else:
            word = words[place]
            words[place] = word[: draw(st.integers(0, len(word)))]
    return " ".join(words)
