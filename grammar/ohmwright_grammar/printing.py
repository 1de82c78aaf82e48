"""Writing the model back as text, in one canonical form: what is printed is read as an equal model."""

from __future__ import annotations

from typing import Any

from ohmwright_grammar.saying import phrase_words, say_name, say_part, say_quantity, tail_of, ways_to_say
from ohmwright_grammar.things import Datum, Fact, Thing, data_of

__all__ = ["say_fact", "say_name", "say_part", "say_quantity", "say_value", "statements_of"]


def say_value(datum: Datum[Any], value: Any) -> str:
    """Return a value of a datum in the words of the lexicon, in the unit in which it was declared: "internal resistance 9 mohm".

    Several values are parted by commas where the language lets them go on so, else by semicolons; a block is written on one line.
    """
    return "; ".join(_said(datum, value, False))


def say_fact(datum: Datum[Any], fact: Fact[Any]) -> str:
    """Return what was said for a datum: its value, "no …" where it was denied, or the document that states it."""
    return "; ".join(statements_of(datum, fact))


def statements_of(datum: Datum[Any], fact: Fact[Any], quoted: bool = False) -> list[str]:
    """Return the statements that say a fact, each without its newline (a block as one statement on one line)."""
    if fact.answer == "said":
        return _said(datum, fact.value, quoted)
    words = _own_words(datum)
    return [f"no {words}" if fact.answer == "none" else f'{words} per "{fact.document}"']


def _own_words(datum: Datum[Any]) -> str:
    """Return words with which a datum is denied or said to stand elsewhere: those that no other datum of its kind begins with."""
    own = [phrase_words(phrase) for phrase in datum.phrases]
    if datum.owner is not None:
        others = {
            phrase_words(phrase).lower()
            for other in data_of(datum.owner).values()
            if other is not datum
            for phrase in other.phrases
        }
        alone = [words for words in own if words and words.lower() not in others]
        if alone:
            return alone[0]
    return next((words for words in own if words), datum.name.replace("_", " "))


def _said(datum: Datum[Any], value: Any, quoted: bool) -> list[str]:
    if datum.shape in ("block", "blocks"):
        return [_block(datum, thing) for thing in (value if isinstance(value, tuple) else (value,))]
    if datum.many and isinstance(value, tuple) and datum.shape != "names":
        return _several(datum, value, quoted)
    return [next(ways_to_say(datum, value, quoted), str(value))]


def _several(datum: Datum[Any], values: tuple[Any, ...], quoted: bool) -> list[str]:
    lines: list[str] = []
    for value in values:
        tail = tail_of(datum, value, quoted) if lines else None
        if tail is not None:
            lines[-1] = f"{lines[-1]}, {tail}"
        else:
            lines.append(next(ways_to_say(datum, value, quoted), str(value)))
    return lines


def _block(datum: Datum[Any], thing: Thing) -> str:
    head = datum.phrases[0] + (f" {say_name(thing.name)}" if thing.name else "")
    data = data_of(type(thing))
    inside = [say_fact(data[name], fact) for name, fact in thing.facts.items() if name in data]
    return f"{head} {{ {'; '.join(inside)} }}" if inside else f"{head} {{ }}"
