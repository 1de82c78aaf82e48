"""Values in words: what a fact says, as its phrases of the lexicon say it and in the unit in which it was declared.

Whatever comes out of here is read back as the same value: figures have as few digits as that allows.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator
from dataclasses import fields, is_dataclass
from datetime import date
from functools import cache
from typing import Any

from ohmwright_grammar.phrases import Slot
from ohmwright_grammar.quantities import DIMENSIONS, Dimension, Gauge, Measure, Quantity
from ohmwright_grammar.things import Datum
from ohmwright_grammar.units import from_si, is_unit_of, to_si

__all__ = ["phrase_words", "say_gauge", "say_name", "say_part", "say_quantity", "tail_of", "ways_to_say"]

_Piece = str | Slot | tuple["_Piece", ...]

_WORD = re.compile(r"[^\s;,{}\"#=:()“”„«»‚‘0-9+\-−.\x00-\x1f\x7f�][^\s;,{}\"#=:()“”„«»\x00-\x1f\x7f�]*")
_NUMBER = re.compile(r"\d+(?:\.\d+)?")
_TAIL = re.compile(r"(?:\[\d+\])?(?:\.[^\s;,{}\"#=:()]+)+")
_NEVER_BARE = frozenset(
    {
        "all", "no", "not", "none", "same", "except", "and", "with", "everything", "per", "to", "at", "from", "on", "in", "is", "for", "as",
        "of", "plus", "minus", "or", "the",
    }
)  # fmt: skip


@cache
def _pieces(phrase: str) -> tuple[_Piece, ...]:
    """Return the words, slots and parts that may be left out, in order; of several words the first."""
    pieces: list[_Piece] = []
    position = 0
    while position < len(phrase):
        character = phrase[position]
        if character == " ":
            position += 1
        elif character == "[":
            end = phrase.index("]", position)
            pieces.append(_pieces(phrase[position + 1 : end]))
            position = end + 1
        elif character == "<":
            end = phrase.index(">", position)
            field, colon, shapes = phrase[position + 1 : end].rpartition(":")
            pieces.append(Slot(field if colon else "value", tuple(shapes.split("|"))))
            position = end + 1
        else:
            end = phrase.find(" ", position)
            end = len(phrase) if end < 0 else end
            pieces.append(phrase[position:end].split("|")[0])
            position = end
    return tuple(pieces)


def phrase_words(phrase: str) -> str:
    """Return the words with which a phrase begins, as they are printed."""
    words: list[str] = []
    for piece in _pieces(phrase):
        if not isinstance(piece, str):
            break
        words.append(piece)
    return " ".join(words)


# figures -------------------------------------------------------------------------------------------------------------


def _plain(figure: float) -> str:
    if figure == int(figure) and abs(figure) < 1e15:
        return str(int(figure))
    text = repr(figure)
    if "e-" in text and abs(figure) >= 1e-9:
        return f"{figure:.24f}".rstrip("0") if float(f"{figure:.24f}") == figure else text
    return text


def _figure(value: float, same: Callable[[float], bool]) -> str:
    """Return the shortest figure near `value` that is read as `same`."""
    for digits in range(17):
        short = float(f"{value:.{digits}e}")
        if same(short):
            return _plain(short)
    for there in (-math.inf, math.inf):
        close = value
        for _ in range(16):
            close = math.nextafter(close, there)
            if same(close):
                return _plain(close)
    return _plain(value)


def say_quantity(quantity: Quantity[Any], dimension: Dimension[Any]) -> str:
    """Return a quantity in words: "12 V", "-10 degC to 40 degC", "5 mA plus or minus 1 mA", "at most 9 mohm"."""
    symbol = quantity.unit

    def one(value: float) -> str:
        figure = _figure(from_si(value, symbol, dimension.name), lambda short: to_si(short, symbol, dimension) == value)
        return f"{figure} {symbol}"

    if quantity.form == "range":
        return f"{one(quantity.low)} to {one(quantity.high)}"
    if quantity.form == "tolerance":
        return f"{one(quantity.nominal)} plus or minus {_spread(quantity, dimension)}"
    if quantity.form in ("at most", "at least"):
        return f"{quantity.form} {one(quantity.nominal)}"
    return one(quantity.nominal)


def _spread(quantity: Quantity[Any], dimension: Dimension[Any]) -> str:
    """Return the half width of a tolerance; of a share it is a share of the value, as it is read."""
    nominal, low, high = quantity.nominal, quantity.low, quantity.high
    if dimension.name == "share":
        figure = _figure(
            (high - nominal) / abs(nominal) * 100 if nominal else 0.0,
            lambda short: _is_spread(abs(nominal) * (to_si(short, "%", dimension) or 0.0), quantity),
        )
        return f"{figure} %"
    of = DIMENSIONS["difference"] if dimension.name == "temperature" else dimension
    symbol = quantity.unit
    figure = _figure(
        from_si(high - nominal, symbol, of.name), lambda short: _is_spread(to_si(short, symbol, of) or 0.0, quantity)
    )
    text = f"{figure} {symbol}"
    if nominal - low and not _is_spread(to_si(float(figure), symbol, of) or 0.0, quantity):
        share = _figure(
            (high - nominal) / abs(nominal) * 100 if nominal else 0.0,
            lambda short: _is_spread(abs(nominal) * short * 0.01, quantity),
        )
        if _is_spread(abs(nominal) * float(share) * 0.01, quantity):
            return f"{share} %"
    return text


def _is_spread(spread: float, quantity: Quantity[Any]) -> bool:
    return bool(quantity.nominal - spread == quantity.low and quantity.nominal + spread == quantity.high)


def say_gauge(gauge: Gauge) -> str:
    """Return a conductor size: "8 AWG", "2/0 AWG", "6 mm2"."""
    return gauge.text if gauge.awg is not None else f"{float(f'{gauge.area * 1e6:.9g}'):.9g} mm2"


def _number(quantity: Quantity[Any]) -> str:
    low, high = _plain(quantity.low), _plain(quantity.high)
    return f"{low} to {high}" if quantity.form == "range" else low


# names ---------------------------------------------------------------------------------------------------------------


def say_name(name: str, quoted: bool = False) -> str:
    """Return a name or reference as it is written: as it is where it is one word, else its first part in quotation marks."""
    if not quoted and (_WORD.fullmatch(name) or _NUMBER.fullmatch(name)) and name.lower() not in _NEVER_BARE:
        return name
    first = re.match(r"[^.\[]+", name)
    if first is not None and not _NUMBER.fullmatch(first.group()):
        tail = name[first.end() :]
        if tail and _TAIL.fullmatch(tail):
            return f'"{first.group()}"{tail}'
    return f'"{name}"'


def _text(text: str) -> str:
    return f'"{text}"'


def _word(word: str, quoted: bool) -> str:
    """Return a word that is kept as written; a number, gauge or date stays one."""
    if not quoted and re.fullmatch(r"\d+(?:\.\d+)?|[1-9]/0|\d{4}-\d{2}-\d{2}", word):
        return word
    if not quoted and _WORD.fullmatch(word) and word.lower() not in _NEVER_BARE:
        return word
    return _text(word)


def _names(names: tuple[str, ...], quoted: bool) -> str:
    return ", ".join(name if name == "everything else" else say_name(name, quoted) for name in names)


# slots ---------------------------------------------------------------------------------------------------------------


def say_part(shape: str, value: Any, datum: Datum[Any], quoted: bool = False) -> str | None:
    """Return what stands in a slot of one shape for a value, or None where the value has another shape."""
    if shape in DIMENSIONS:
        dimension = DIMENSIONS[shape]
        if isinstance(value, Quantity) and value.unit and is_unit_of(value.unit, dimension):
            return say_quantity(value, dimension)
        return None
    if shape.endswith("s") and shape[:-1] in DIMENSIONS:
        if not isinstance(value, tuple):
            return None
        said = [say_part(shape[:-1], item, datum) for item in value]
        if not said or any(item is None for item in said):
            return None
        return _list([str(item) for item in said])
    return _say_other(shape, value, datum, quoted)


def _list(values: list[str]) -> str:
    """Write the unit of a list once, at its end, where all have the same."""
    units = {value.partition(" ")[2] for value in values}
    if len(units) != 1:
        return ", ".join(values)
    return f"{', '.join(value.partition(' ')[0] for value in values)} {units.pop()}"


def _say_other(shape: str, value: Any, datum: Datum[Any], quoted: bool) -> str | None:
    if shape == "choice":
        return next((wording for wording, known in (datum.choices or {}).items() if known == value), None)
    if shape == "number":
        plain = value.value if isinstance(value, Measure) and value.dimension == "count" else value
        return _number(plain) if isinstance(plain, Quantity) and not plain.unit else None
    if shape == "count":
        if isinstance(value, Measure) and value.dimension == "count" and isinstance(value.value, Quantity):
            return str(int(value.value.nominal)) if value.value.nominal == int(value.value.nominal) else None
        return str(value) if isinstance(value, int) and not isinstance(value, bool) else None
    if shape == "measure":
        return _measure(value, datum) if isinstance(value, Measure) and value.dimension != "count" else None
    if shape == "date":
        return value.isoformat() if isinstance(value, date) else None
    if shape == "gauge":
        return say_gauge(value) if isinstance(value, Gauge) else None
    if shape == "gauges":
        return f"{say_gauge(value[0])} to {say_gauge(value[1])}" if isinstance(value, tuple) else None
    if shape in ("names", "texts"):
        if not isinstance(value, tuple) or not value:
            return None
        return _names(value, quoted) if shape == "names" else ", ".join(_text(item) for item in value)
    if not isinstance(value, str) or not value:
        return None
    if shape == "text":
        return _text(value)
    if shape == "word":
        return _word(value, quoted)
    if shape == "term":
        bare = not quoted and _WORD.fullmatch(value) and value.lower() not in _NEVER_BARE
        return value if bare else _text(value)
    return say_name(value, quoted)


def _measure(measure: Measure, datum: Datum[Any]) -> str:
    if isinstance(measure.value, Gauge):
        return say_gauge(measure.value)
    return say_quantity(measure.value, DIMENSIONS[measure.dimension])


# phrases -------------------------------------------------------------------------------------------------------------

_Fields = Callable[[str], Any]


def _fill(pieces: tuple[_Piece, ...], of: _Fields, datum: Datum[Any], quoted: bool) -> tuple[list[str], dict[str, Any]] | None:
    """Return the words of a phrase with its slots filled and the values that it says; None where a slot stays empty."""
    words: list[str] = []
    said: dict[str, Any] = {}
    for piece in pieces:
        if isinstance(piece, str):
            words.append(piece)
        elif isinstance(piece, Slot):
            value = of(piece.field)
            text = None
            for shape in piece.shapes:
                text = say_part(shape, value, datum, quoted)
                if text is not None:
                    break
            if text is None:
                return None
            words.append(text)
            said[piece.field] = value
        elif any(not isinstance(inner, str) for inner in piece):
            inside = _fill(piece, of, datum, quoted)
            if inside is not None:
                words.extend(inside[0])
                said.update(inside[1])
    return words, said


def _fields_of(value: Any) -> _Fields:
    if is_dataclass(value) and not isinstance(value, type | Quantity | Gauge | Measure):
        known = {part.name for part in fields(value)}
        return lambda name: getattr(value, name) if name in known else None
    return lambda name: value


def ways_to_say(datum: Datum[Any], value: Any, quoted: bool = False) -> Iterator[str]:
    """Yield the statements that say one value of a datum (of one that has many: one of them), the usual one first."""
    yield from _with_phrases(datum.phrases, datum, value, quoted)


def _with_phrases(phrases: tuple[str, ...], datum: Datum[Any], value: Any, quoted: bool) -> Iterator[str]:
    if datum.shape == "flag":
        if not value:
            yield from (phrase_words(phrase) for phrase in datum.denied)
        for phrase in phrases:
            yield phrase if value else f"no {phrase}"
        return
    of = _fields_of(value) if datum.make is not None else (lambda name: value)
    for phrase in phrases:
        filled = _fill(_pieces(phrase), of, datum, quoted)
        if filled is not None and (datum.make is None or _makes(datum, filled[1], value)):
            yield " ".join(filled[0])


def _makes(datum: Datum[Any], said: dict[str, Any], value: Any) -> bool:
    assert datum.make is not None
    try:
        return bool(datum.make(**said) == value)
    except TypeError:
        return False


def tail_of(datum: Datum[Any], value: Any, quoted: bool = False) -> str | None:
    """Return how a further value goes on after a comma, None where each needs a statement of its own."""
    if not datum.tail:
        return None
    return next(_with_phrases((datum.tail,), datum, value, quoted), None)
