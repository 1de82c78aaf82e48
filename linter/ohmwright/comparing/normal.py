"""What was said, in a form that can be compared: figures without the unit in which they were written, names as they are called after a change."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping
from typing import Any

from ohmwright_grammar.quantities import Gauge, Quantity
from ohmwright_grammar.things import Fact, Thing

__all__ = ["Renamed", "nobody", "normal", "renaming"]

Renamed = Callable[[str], Hashable]


def nobody(text: str) -> Hashable:
    """Return a name as it is."""
    return text


def renaming(names: Mapping[str, Hashable]) -> Renamed:
    """Return what a text is called once names are changed; what hangs on a name by a point goes with it.

    >>> renaming({"feed": "supply"})("feed.plus"), renaming({"feed": "supply"})("feeder")
    ('supply.plus', 'feeder')
    """
    if not names:
        return nobody

    def renamed(text: str) -> Hashable:
        known = names.get(text)
        if known is not None:
            return known
        at = text.rfind(".")
        while at > 0:
            known = names.get(text[:at])
            if known is not None:
                return f"{known}{text[at:]}" if isinstance(known, str) else (known, text[at:])
            at = text.rfind(".", 0, at)
        return text

    return renamed


def normal(value: Any, renamed: Renamed = nobody) -> Hashable:
    """Return a value of a fact, or a whole fact, in a form that is equal where the same is said."""
    if isinstance(value, str):
        return renamed(value)
    if isinstance(value, Quantity):
        return ("quantity", value.form, *(float(f"{end:.12g}") for end in (value.low, value.nominal, value.high)))
    if isinstance(value, Gauge):
        return ("gauge", float(f"{value.area:.12g}"))
    if isinstance(value, tuple):
        return tuple(normal(item, renamed) for item in value)
    if isinstance(value, Fact):
        return (normal(value.value, renamed), value.answer, value.document)
    if isinstance(value, Thing):
        facts = tuple(sorted((name, normal(fact, renamed)) for name, fact in value.facts.items()))
        return (value.KIND, renamed(value.name), facts)
    names = getattr(type(value), "__match_args__", ())
    if names:
        return (type(value).__name__, *(normal(getattr(value, name), renamed) for name in names))
    found: Hashable = value
    return found
