"""States that say two things at once: a switch open and closed, a plug apart and mated, a battery at two charge levels."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from ohmwright_grammar.diagnostics import Diagnostic
from ohmwright_grammar.entries import Body
from ohmwright_grammar.kinds.state import State
from ohmwright_grammar.quantities import DIMENSIONS, Quantity
from ohmwright_grammar.things import Datum, Fact

__all__ = ["contradictions"]

_SIDES = (
    {"closed": True, "on": True, "open": False, "off": False, "tripped": False, "blown": False},
    {"mated": True, "apart": False},
)
_ALL_OTHERS = "everything else"  # of switches and of loads it may say two things


def contradictions(body: Body) -> Iterator[Diagnostic]:
    """Yield what the states of a file say twice and differently, each statement by itself: what another lays over it counts before it."""
    for entry in body.entries:
        if entry.kind is State:
            yield from _in_state(entry.facts, f"In state {entry.name!r}", entry.name)
    for default in body.defaults:
        if default.kind is State:
            yield from _in_state(default.facts, "In all states", default.plural)


def _in_state(facts: Mapping[str, Fact[Any]], where: str, subject: str) -> Iterator[Diagnostic]:
    for sides in _SIDES:
        yield from _twice(
            ((name, sides[item.how], item.how) for item in _said(facts, State.settings) if item.how in sides for name in item.things
             if name != _ALL_OTHERS), facts, State.settings, where, subject,
        )  # fmt: skip
    yield from _twice(
        ((name, _level(item.level), _level(item.level)) for item in _said(facts, State.levels) for name in item.things),
        facts, State.levels, where, subject,
    )  # fmt: skip
    yield from _twice(
        ((name, item.position, item.position) for item in _said(facts, State.positions) for name in item.things),
        facts, State.positions, where, subject,
    )  # fmt: skip


def _level(level: Quantity[Any]) -> str:
    return f"{level.nominal * 100:g} %" if level.unit in DIMENSIONS["share"].symbols else f"{level.nominal:g} V"


def _said(facts: Mapping[str, Fact[Any]], datum: Datum[Any]) -> tuple[Any, ...]:
    fact = facts.get(datum.name)
    return fact.value or () if fact is not None else ()


def _twice(
    said: Iterable[tuple[str, Any, str]], facts: Mapping[str, Fact[Any]], datum: Datum[Any], where: str, subject: str
) -> Iterator[Diagnostic]:
    """Yield, once for each thing, that it is said to be one thing and another; `said`: its name, what tells the two apart, and in words."""
    first: dict[str, tuple[Any, str]] = {}
    told: set[str] = set()
    for name, value, words in said:
        before = first.setdefault(name, (value, words))
        if before[0] != value and name not in told:
            told.add(name)
            message = f"{where}: {name} is said to be {before[1]} and {words}."
            yield Diagnostic("contradictory-state", message, facts[datum.name].source, "Leave one of them out.", subject)
