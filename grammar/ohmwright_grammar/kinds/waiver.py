"""Waivers: this finding, on these things, because of this reason, up to this value, until this date."""

from __future__ import annotations

from ohmwright_grammar import lexicon as say
from ohmwright_grammar.quantities import Measure, Quantity
from ohmwright_grammar.records import record
from ohmwright_grammar.things import Thing

__all__ = ["Bound", "Waiver"]


@record
class Bound:
    """The worst measured value that a waiver excuses: at most ("up to") or at least ("down to") this."""

    measure: Measure
    sense: str


def _bound(measure: Measure | Quantity[float] | int, sense: str) -> Bound:
    """Return a bound; a number without a unit stands for itself (so many wires, 1.5 times)."""
    if isinstance(measure, Quantity):
        return Bound(Measure("count", measure), sense)
    if isinstance(measure, int):
        figure = float(measure)
        return Bound(Measure("count", Quantity(figure, figure, figure, "")), sense)
    return Bound(measure, sense)


def _up_to(measure: Measure | Quantity[float] | int) -> Bound:
    return _bound(measure, "at-most")


def _down_to(measure: Measure | Quantity[float] | int) -> Bound:
    return _bound(measure, "at-least")


class Waiver(Thing):
    """A waiver; its name is the rule, or the rule and its grade parted by a point."""

    __slots__ = ()

    KIND = "waive"
    PLURAL = "waivers"

    on = say.names("on <names>", doc="the things on which the finding is waived")
    up_to = say.record(
        _up_to, "up to <measure:measure>", "up to <measure:count>", "up to <measure:number>",
        doc="the largest measured value that is excused",
    )  # fmt: skip
    down_to = say.record(
        _down_to, "down to <measure:measure>", "down to <measure:count>", "down to <measure:number>", doc="the smallest one"
    )
    because = say.text("because <text>", doc="the reason")
    until = say.day("until <date>", doc="the last day on which it holds")
    by = say.text("by <text>", doc="who decided it")
