"""Putting full names in the place of written ones inside the facts of a thing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from typing import Any

from ohmwright_grammar.diagnostics import Diagnostic
from ohmwright_grammar.kinds.requirement import Requirement
from ohmwright_grammar.phrases import Slot, compile_phrase
from ohmwright_grammar.records import replace
from ohmwright_grammar.resolve.linking import Names
from ohmwright_grammar.spans import Span
from ohmwright_grammar.things import Datum, Fact, Thing, data_of

__all__ = ["name_slots", "promised", "resolve_references"]

# Names that are looked up where they are used (ends, matings), or that are names of pins, faces and tools, not of things.
_LOOKED_UP_ELSEWHERE = frozenset(
    {
        "joints", "ends", "mate", "zone", "ports", "terminals", "jumpers", "cores", "duct", "pin_pairs", "mate_pin", "ganged", "tools",
        "faces_blocked", "line_terminal", "positions",
    }
)  # fmt: skip
_NO_NAMES = frozenset({"everything else"})
_NAME_SLOTS: dict[Datum[Any], frozenset[str]] = {}


def name_slots(datum: Datum[Any]) -> frozenset[str]:
    """Return the fields of a datum's values that hold names of things ("value" for a plain one)."""
    known = _NAME_SLOTS.get(datum)
    if known is None:
        found: set[str] = set()
        if datum.shape in ("name", "names"):
            found.add("value")
        elif datum.shape == "record":
            for phrase in datum.phrases:
                found |= {
                    node.field
                    for node in compile_phrase(phrase)
                    if isinstance(node, Slot) and node.shapes[0] in ("name", "names")
                }
        known = _NAME_SLOTS[datum] = frozenset(found)
    return known


_KINDS_WITH_NAMES: dict[type[Thing], tuple[tuple[str, Datum[Any], frozenset[str]], ...]] = {}


def _rows(kind: type[Thing]) -> tuple[tuple[str, Datum[Any], frozenset[str]], ...]:
    known = _KINDS_WITH_NAMES.get(kind)
    if known is None:
        rows = [(name, datum, name_slots(datum)) for name, datum in data_of(kind).items() if name not in _LOOKED_UP_ELSEWHERE]
        known = _KINDS_WITH_NAMES[kind] = tuple(row for row in rows if row[2] or row[1].shape in ("block", "blocks"))
    return known


def resolve_references(thing: Thing, names: Names, prefix: str, problems: list[Diagnostic]) -> Thing:
    """Return the thing with full names in its facts; a message for each name that means nothing."""
    changed: dict[str, Fact[Any]] = {}
    for name, datum, slots in _rows(type(thing)):
        fact = thing.facts.get(name)
        if fact is None or fact.value is None:
            continue
        value = _value(fact.value, datum, slots, names, prefix, fact.source, thing, problems)
        if value is not fact.value:
            changed[name] = Fact(value, fact.source, fact.origin, fact.answer, fact.document, fact.below)
    if not changed:
        return thing
    facts: Mapping[str, Fact[Any]] = {**thing.facts, **changed}
    return type(thing)(thing.name, thing.span, facts)


def _value(
    value: Any,
    datum: Datum[Any],
    slots: frozenset[str],
    names: Names,
    prefix: str,
    place: Span,
    thing: Thing,
    problems: list[Diagnostic],
) -> Any:
    if datum.shape in ("block", "blocks"):
        if isinstance(value, tuple):
            inner = tuple(resolve_references(item, names, prefix, problems) for item in value)
            return inner if any(new is not old for new, old in zip(inner, value, strict=True)) else value
        return resolve_references(value, names, prefix, problems)
    subject = thing.name or thing.KIND
    if isinstance(value, str):
        return _one(value, names, prefix, place, subject)
    if isinstance(value, tuple) and all(isinstance(item, str) for item in value):
        return tuple(_one(item, names, prefix, place, subject) for item in value)
    if isinstance(value, tuple):
        return tuple(_value(item, datum, slots, names, prefix, place, thing, problems) for item in value)
    if is_dataclass(value) and not isinstance(value, type):
        found: dict[str, Any] = {}
        for part in fields(value):
            if part.name in slots:
                written = getattr(value, part.name)
                if isinstance(written, str) and written:
                    found[part.name] = _one(written, names, prefix, place, subject)
                elif isinstance(written, tuple):
                    found[part.name] = tuple(_one(item, names, prefix, place, subject) for item in written)
        return replace(value, **found) if found else value
    return value


def _one(written: str, names: Names, prefix: str, place: Span, subject: str) -> str:
    if written in _NO_NAMES:
        return written
    return names.thing(written, prefix, place, subject) or written


def promised(thing: Thing) -> Thing:
    """Return a thing, a promise by its words with full names: they are its name."""
    if not isinstance(thing, Requirement):
        return thing
    from ohmwright_grammar.printing import words_of  # only a build that promises something asks

    return Requirement(words_of(Requirement, thing.facts), thing.span, thing.facts)
