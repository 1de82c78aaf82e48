"""Leaving things out: what a published build says of a thing that an adaptation does not build, taken out of its lists of names.

A state that runs a lamp and a pump runs the pump alone once the lamp is removed. Wires on a removed part are another matter: they
would end nowhere, so that whoever removes the part has to remove them as well.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from typing import Any

from ohmwright_grammar.entries import Entry
from ohmwright_grammar.records import replace
from ohmwright_grammar.resolve.references import name_slots
from ohmwright_grammar.things import Datum, Fact, Thing, data_of

__all__ = ["facts_without", "without"]

_JOINTS = frozenset({"joints", "ends", "ports", "pin_pairs", "ganged"})  # names that wires and terminals are joined by


def without(entry: Entry, removed: frozenset[str]) -> Entry | None:
    """Return an entry without the names of removed things; None for a promise or waiver that was about nothing else."""
    facts = facts_without(entry.kind, entry.facts, removed)
    mate = "" if entry.mate in removed else entry.mate
    if facts is entry.facts and mate == entry.mate:
        return entry
    if (entry.kind.KIND == "require" and not facts) or (entry.kind.KIND == "waive" and "on" not in facts):
        return None
    return replace(entry, facts=facts, mate=mate)


def facts_without(kind: type[Thing], facts: Mapping[str, Fact[Any]], removed: frozenset[str]) -> Mapping[str, Fact[Any]]:
    """Return facts of which every list of names leaves the removed ones out; a list that would be empty is not said at all."""
    changed: dict[str, Fact[Any] | None] = {}
    data = data_of(kind)
    for name, fact in facts.items():
        datum = data.get(name)
        if datum is None or fact.value is None or name in _JOINTS:
            continue
        value = _value(fact.value, datum, removed)
        if value is not fact.value:
            changed[name] = None if value is None else replace(fact, value=value)
    if not changed:
        return facts
    kept = {name: changed.get(name, fact) for name, fact in facts.items()}
    return {name: fact for name, fact in kept.items() if fact is not None}


def _value(value: Any, datum: Datum[Any], removed: frozenset[str]) -> Any:
    slots = name_slots(datum)
    if not slots:
        return value
    if datum.shape == "names":
        return _names(value, removed, 1)
    if datum.shape != "record":
        return value
    if not datum.many:
        return _record(value, slots, removed)
    records = [_record(item, slots, removed) for item in value]
    if all(new is old for new, old in zip(records, value, strict=True)):
        return value
    return tuple(record for record in records if record is not None) or None


def _record(record: Any, slots: frozenset[str], removed: frozenset[str]) -> Any:
    if isinstance(record, tuple):  # a group, such as loads that never run together: one alone is none
        return _names(record, removed, 2)
    if not is_dataclass(record):
        return record
    changes: dict[str, Any] = {}
    for field in fields(record):
        names = getattr(record, field.name)
        if field.name in slots and isinstance(names, tuple) and names:
            left = _names(names, removed, 1)
            if left is None:
                return None
            if left is not names:
                changes[field.name] = left
    return replace(record, **changes) if changes and not isinstance(record, type) else record


def _names(names: tuple[str, ...], removed: frozenset[str], least: int) -> tuple[str, ...] | None:
    left = tuple(name for name in names if name not in removed and name.partition(".")[0] not in removed)
    if len(left) == len(names):
        return names
    return left if len(left) >= least else None
