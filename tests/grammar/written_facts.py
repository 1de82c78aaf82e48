"""Strategies for facts as a builder may write them: every phrase of every datum, with values of every form."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st
from ohmwright_grammar.phrases import Literal, Node, Optional, Slot, compile_phrase
from ohmwright_grammar.quantities import DIMENSIONS, Dimension
from ohmwright_grammar.saying import phrase_words
from ohmwright_grammar.things import Datum, Thing, data_of
from ohmwright_grammar.units import from_si

NAMES = st.sampled_from(
    ["pump9", "lamp_2", '"big pump"', "pump9.plus", "pack[2].feed", '"orchard pack".plus', "red", "free", "3", "main.in"]
)
WORDS = st.sampled_from(["W9", '"W 9"', "12", "M6", "4.0", "2027-06-30", '"none"', "X-1"])
TEXTS = st.sampled_from(['"some text"', '"Löschen"', '"a, b; c { d }"', '"# 1"'])
GAUGES = st.sampled_from(["8 AWG", "2/0 AWG", "6 mm2", "1.5 mm2", "0.75 mm2", "24 AWG"])
DATES = st.sampled_from(["2027-06-30", "1999-12-31"])


@st.composite
def figures(draw: st.DrawFn, dimension: Dimension[Any], datum: Datum[Any], symbol: str) -> tuple[float, str]:
    """Return an SI value that makes sense for the datum, and its figure in a unit."""
    low = max(limit for limit in (dimension.low, datum.at_least, datum.above, -1e6) if limit is not None)
    high = min(limit for limit in (dimension.high, datum.at_most, 1e6) if limit is not None)
    if datum.above is not None:
        low += (high - low) * 1e-4
    least, most = sorted((from_si(low, symbol, dimension.name), from_si(high, symbol, dimension.name)))
    figure = draw(st.floats(least, most, allow_nan=False))
    digits = draw(st.integers(1, 9))
    short = float(f"{figure:.{digits}g}")
    if not least <= short <= most:
        short = (least + most) / 2
    text = f"{short:.9f}".rstrip("0").rstrip(".") if abs(short) >= 1e-4 or short == 0 else repr(short)
    return float(text), text


@st.composite
def quantities(draw: st.DrawFn, name: str, datum: Datum[Any]) -> str:
    """Return a quantity of a dimension in one of its forms."""
    dimension = DIMENSIONS[name]
    symbol = draw(st.sampled_from(list(dimension.symbols)))
    value, text = draw(figures(dimension, datum, symbol))
    form = draw(st.sampled_from(["plain", "plain", "glued", "range", "tolerance", "share", "at most", "at least"]))
    if form == "glued":
        return f"{text}{symbol}" if text[-1].isdigit() and not symbol.startswith("e") else f"{text} {symbol}"
    if form == "range":
        other, other_text = draw(figures(dimension, datum, symbol))
        low, high = (text, other_text) if value <= other else (other_text, text)
        return f"{low} to {high} {symbol}" if draw(st.booleans()) else f"{low} {symbol} to {high} {symbol}"
    if form == "share":
        return f"{text} {symbol} plus or minus {draw(st.integers(0, 9))} %"
    if form == "tolerance" and name != "share":
        return f"{text} {symbol} plus or minus {abs(float(text)) * draw(st.integers(0, 9)) / 20:.6f} {symbol}"
    if form in ("at most", "at least"):
        return f"{form} {text} {symbol}"
    return f"{text} {symbol}"


def values(shape: str, datum: Datum[Any]) -> st.SearchStrategy[str]:
    """Return written values of one shape."""
    if shape in DIMENSIONS:
        return quantities(shape, datum)
    if shape.endswith("s") and shape[:-1] in DIMENSIONS:
        symbol = next(iter(DIMENSIONS[shape[:-1]].symbols))
        numbers = st.lists(st.integers(0, 20), min_size=1, max_size=13)
        return numbers.map(lambda items: f"{', '.join(str(item) for item in items)} {symbol}")
    if shape == "choice":
        return st.sampled_from(list(datum.choices or ()))
    if shape == "names":
        return st.lists(NAMES, min_size=1, max_size=3, unique=True).map(", ".join)
    if shape == "texts":
        return st.lists(TEXTS, min_size=1, max_size=3).map(", ".join)
    if shape == "gauges":
        return st.one_of(st.sampled_from(["14 AWG to 4 AWG", "1.5 mm2 to 6 mm2", "14 to 4 AWG"]), GAUGES)
    if shape == "count":
        return st.integers(1, 40).map(str)
    if shape == "number":
        return st.one_of(st.sampled_from(["1.5", "0.8 to 1.2"]), st.floats(0.001, 1e6).map(lambda value: f"{value:.6f}"))
    if shape == "measure":
        return st.sampled_from(["3 V", "8 AWG", "12 A to 14 A", "70 degC", "1.2 m plus or minus 5 %", "60 %"])
    plain = {
        "name": NAMES,
        "term": st.sampled_from(["lead9", '"a lead"']),
        "text": TEXTS,
        "word": WORDS,
        "date": DATES,
        "gauge": GAUGES,
        "moment": st.sampled_from(["2 s", "10 min", "0.5 to 1 s"]),
    }
    return plain[shape]


@st.composite
def _nodes(draw: st.DrawFn, nodes: tuple[Node, ...], datum: Datum[Any]) -> list[str]:
    words: list[str] = []
    for node in nodes:
        if isinstance(node, Literal):
            words.append(draw(st.sampled_from(sorted(node.words))))
        elif isinstance(node, Slot):
            words.append(draw(values(draw(st.sampled_from(node.shapes)), datum)))
        elif isinstance(node, Optional) and draw(st.booleans()):
            words.extend(draw(_nodes(node.nodes, datum)))
    return words


@st.composite
def facts(draw: st.DrawFn, datum: Datum[Any]) -> str:
    """Return one statement that says a datum: a value, "no", "none" or another document."""
    if datum.shape in ("block", "blocks"):
        assert datum.kind is not None
        inner = datum.kind()
        name = draw(st.sampled_from([" 1", " 2", " third", ' "a name"'])) if datum.shape == "blocks" else ""
        inside = draw(things(inner, most=3))
        return f"{datum.phrases[0]}{name} {{ {'; '.join(inside)} }}"
    words = phrase_words(datum.phrases[0])
    way = draw(st.sampled_from(["said"] * 6 + ["no", "elsewhere"])) if words else "said"
    if way == "no":
        return f"no {words}"
    if way == "elsewhere" and datum.shape != "flag":
        return f'{words} per "the sheet"'
    phrase = draw(st.sampled_from(datum.phrases))
    return " ".join(draw(_nodes(compile_phrase(phrase), datum)))


@st.composite
def things(draw: st.DrawFn, kind: type[Thing], most: int = 6) -> list[str]:
    """Return statements that say some data of a kind, each once."""
    data = list(data_of(kind).values())
    chosen = draw(st.lists(st.sampled_from(data), max_size=most, unique_by=lambda datum: datum.name))
    return [draw(facts(datum)) for datum in chosen]
