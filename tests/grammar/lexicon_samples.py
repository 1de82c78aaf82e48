"""Sample sentences made from the phrases of the lexicon: every word of every alternative and every unit occurs in one of them."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import islice
from typing import Any

from ohmwright_grammar.kinds import INNER, KINDS, kind_of
from ohmwright_grammar.kinds.rig import Rig
from ohmwright_grammar.parsing import parse
from ohmwright_grammar.phrases import Literal, Node, Optional, Slot, compile_phrase
from ohmwright_grammar.quantities import DIMENSIONS
from ohmwright_grammar.syntax import Token
from ohmwright_grammar.things import Datum, Thing, data_of

_FIGURES = {
    "share": "60",
    "share_rate": "3",
    "per_kelvin": "0.3",
    "duty": "0.5",
    "irradiance": "0.9",
    "voltage_per_kelvin": "3",
}
_PLAIN = {
    "count": ["3"],
    "moment": ["2 s", "10 min"],
    "number": ["1.5"],
    "name": ["pump9", '"big pump"', "pump9.plus"],
    "names": ["pump9", "pump9, lamp9", "pump9, lamp9 and fan9"],
    "term": ["lead9"],
    "text": ['"some text"'],
    "texts": ['"some text", "more"'],
    "word": ["W9", '"W 9"'],
    "date": ["2027-06-30"],
    "gauge": ["8 AWG", "2/0 AWG", "6 mm2"],
    "gauges": ["14 AWG to 4 AWG", "1.5 mm2 to 6 mm2", "14 to 4 AWG"],
    "measure": ["3 V"],
}


def kinds() -> list[type[Thing]]:
    """Return every kind of the language once, in name order, the inner ones of blocks among them."""
    found: dict[str, type[Thing]] = {}
    todo: list[type[Thing]] = [Rig, *(kind_of(words) for words in (*KINDS, *INNER))]
    while todo:
        kind = todo.pop()
        if f"{kind.__module__}.{kind.__name__}" in found:
            continue
        found[f"{kind.__module__}.{kind.__name__}"] = kind
        todo.extend(datum.kind() for datum in data_of(kind).values() if datum.kind is not None)
    return [found[name] for name in sorted(found)]


def rows() -> list[tuple[type[Thing], Datum[Any]]]:
    """Return every datum with its kind."""
    return [(kind, datum) for kind in kinds() for datum in data_of(kind).values()]


def tokens_of(sentence: str) -> tuple[Token, ...]:
    """Return the tokens of one statement."""
    parsed = parse(sentence, "sample.rig")
    assert not parsed.diagnostics
    assert len(parsed.statements) == 1, sentence
    return parsed.statements[0].tokens


def values(shape: str, datum: Datum[Any]) -> list[str]:
    """Return sample values of a shape as text."""
    if shape == "choice":
        return list(datum.choices or ())
    if shape in DIMENSIONS:
        figure = _FIGURES.get(shape, "7")
        symbols = list(DIMENSIONS[shape].symbols)
        if shape == "time" and datum.dimension is DIMENSIONS["duty"]:
            symbols = ["h", "hours", "min"]
        plain = [f"{figure} {symbol}" for symbol in symbols]
        first = next(iter(symbols))
        return [*plain, f"{figure}{first}", f"{figure} {first} to {float(figure) * 1.2:g} {first}"]
    if shape.endswith("s") and shape[:-1] in DIMENSIONS:
        figure, first = _FIGURES.get(shape[:-1], "7"), next(iter(DIMENSIONS[shape[:-1]].symbols))
        return [f"{figure}, {figure} {first}", f"{figure} {first}, {figure} {first}"]
    return _PLAIN[shape]


def fill(phrase: str, datum: Datum[Any]) -> Iterator[str]:
    """Yield sentences of a phrase: with and without each optional part, each alternative word, each sample value."""
    nodes = compile_phrase(phrase)
    for chosen in _presence(nodes):
        plain = [_first(node, datum) for node in chosen]
        yield " ".join(plain)
        for index, node in enumerate(chosen):
            for other in _others(node, datum):
                yield " ".join([*plain[:index], other, *plain[index + 1 :]])


def _presence(nodes: tuple[Node, ...]) -> list[list[Node]]:
    ways: list[list[Node]] = [[]]
    for node in nodes:
        if isinstance(node, Optional):
            ways = [way + more for way in ways for more in ([], list(node.nodes))]
        else:
            ways = [[*way, node] for way in ways]
    return list(islice(ways, 32))


def _first(node: Node, datum: Datum[Any]) -> str:
    if isinstance(node, Literal):
        return sorted(node.words)[0]
    assert isinstance(node, Slot)
    return values(node.shapes[0], datum)[0]


def _others(node: Node, datum: Datum[Any]) -> list[str]:
    if isinstance(node, Literal):
        return sorted(node.words)[1:]
    assert isinstance(node, Slot)
    found = [value for shape in node.shapes for value in values(shape, datum)]
    return found[1:]


def slots(phrase: str, must: bool = False) -> list[Slot]:
    """Return every slot of a phrase, or only those that may not be left out."""
    found: list[Slot] = []
    for node in compile_phrase(phrase):
        if isinstance(node, Slot):
            found.append(node)
        elif isinstance(node, Optional) and not must:
            found.extend(inner for inner in node.nodes if isinstance(inner, Slot))
    return found
