"""Values of several parts that more than one kind of thing declares, and rows of the lexicon that they share."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ohmwright_grammar.quantities import (
    DIMENSIONS,
    Ampere,
    Celsius,
    Duty,
    Gauge,
    Metre,
    PerSecond,
    Quantity,
    Second,
    Share,
    Volt,
    Watt,
)  # fmt: skip
from ohmwright_grammar.records import record
from ohmwright_grammar.things import Datum

__all__ = [
    "COLOURS",
    "IP_CODES",
    "MONTHS",
    "BreakingRating",
    "CurrentFor",
    "Extent",
    "PowerFor",
    "ShareAt",
    "Sizes",
    "VoltageList",
    "WireRange",
    "choice_or_word",
    "choices",
    "extent",
    "hertz",
    "hours_a_day",
    "named",
    "share_a_month",
    "sizes",
    "terms",
    "wire_range",
    "wording",
]

_HOUR = 3600.0  # s

COLOURS: dict[str, str] = {
    colour: colour
    for colour in ("red", "black", "white", "grey", "green", "yellow", "blue", "brown", "orange", "purple", "pink", "violet")
} | {
    "green and yellow": "green and yellow", "green with yellow": "green and yellow", "green-yellow": "green and yellow",
    "gray": "grey", "light blue": "light blue", "dark blue": "dark blue", "clear": "clear", "tan": "tan",
}  # fmt: skip

MONTHS: dict[str, str] = {
    month: month
    for month in (
        "January", "February", "March", "April", "May", "June",
        "July", "August", "September", "October", "November", "December",
    )
}  # fmt: skip

# Every code of IEC 60529 that is in use: first digit solids, second water, X where not stated (from memory).
_USUAL = ("IP20", "IP40", "IP44", "IP54", "IP65", "IP66", "IP67", "IP68", "IPX4")
IP_CODES: dict[str, str] = {code: code for code in _USUAL} | {
    f"IP{solids}{water}": f"IP{solids}{water}" for solids in "0123456X" for water in (*"0123456789X", "9K", "6K")
}


@record
class Sizes:
    """Width, depth and height."""

    width: Quantity[Metre]
    depth: Quantity[Metre]
    height: Quantity[Metre]


@record
class Extent:
    """Width and height of something flat."""

    width: Quantity[Metre]
    height: Quantity[Metre]


@record
class ShareAt:
    """A share that holds at one temperature."""

    share: Quantity[Share]
    temperature: Quantity[Celsius]


@record
class BreakingRating:
    """The largest current that can be interrupted at a voltage."""

    current: Quantity[Ampere]
    at: Quantity[Volt]


@record
class CurrentFor:
    """A current, and for how long."""

    current: Quantity[Ampere]
    time: Quantity[Second] | None = None


@record
class PowerFor:
    """A power, and for how long."""

    power: Quantity[Watt]
    time: Quantity[Second] | None = None


@record
class VoltageList:
    """Several voltages."""

    voltages: tuple[Quantity[Volt], ...]


@record
class WireRange:
    """The conductor sizes that a terminal takes, thin to thick."""

    range: tuple[Gauge, Gauge]


def _in_unit_of(figure: Quantity[Metre], measured: Quantity[Metre]) -> Quantity[Metre]:
    """Give a figure that has no unit of its own ("300 x 200 mm") the unit of the measured one."""
    if figure.unit:
        return figure
    from ohmwright_grammar.units import to_si

    low, high, nominal = (
        Metre(to_si(end, measured.unit, DIMENSIONS["length"]) or 0.0) for end in (figure.low, figure.high, figure.nominal)
    )
    middle = Metre((low + high) / 2) if figure.form == "range" else nominal
    return Quantity(low, middle, high, measured.unit, figure.form)


def sizes(width: Quantity[Metre], depth: Quantity[Metre], height: Quantity[Metre]) -> Sizes:
    """Return a size from three figures, of which the last one may carry the unit of all."""
    return Sizes(_in_unit_of(width, height), _in_unit_of(depth, height), height)


def extent(width: Quantity[Metre], height: Quantity[Metre]) -> Extent:
    """Return width and height from two figures, of which the last one may carry the unit of both."""
    return Extent(_in_unit_of(width, height), height)


def wire_range(
    range: tuple[Gauge, Gauge] | None = None, thickest: Gauge | None = None, thinnest: Gauge | None = None
) -> WireRange:
    """Return a range of sizes; where only the thickest was said it begins at the thinnest that the language knows."""
    if range is not None:
        return WireRange(range)
    assert thickest is not None
    if thinnest is not None:
        return WireRange((thinnest, thickest) if thinnest.area <= thickest.area else (thickest, thinnest))
    thinnest = Gauge.from_area(0.05) if thickest.metric else Gauge.from_awg(40)
    return WireRange((thinnest, thickest) if thinnest.area <= thickest.area else (thickest, thickest))


def choices(*phrases: str, doc: str, of: Mapping[str, str], tail: str = "<choice>") -> Datum[tuple[str, ...]]:
    """Several of a few words, parted by commas or in statements of their own."""
    return Datum("choice", phrases, doc, choices=of, many=True, tail=tail)


def choice_or_word(*phrases: str, doc: str, of: Mapping[str, str]) -> Datum[str]:
    """One of a few words, or with the words of a phrase any other."""
    return Datum("choice", phrases, doc, choices=of)


def wording(*phrases: str, doc: str, of: Mapping[str, str]) -> Datum[str]:
    """A word that is kept as written, with some usual wordings that may stand without the words of the phrase."""
    return Datum("word", phrases, doc, choices=of)


def named(*phrases: str, doc: str) -> Datum[tuple[str, ...]]:
    """Names of other things, in one list or in several statements."""
    return Datum("names", phrases, doc, many=True)


def terms(*phrases: str, doc: str, tail: str = "<term>") -> Datum[tuple[str, ...]]:
    """Words that are kept as written and not looked up: names of holes, or of things that are no more."""
    return Datum("word", phrases, doc, many=True, tail=tail)


def hertz(*phrases: str, doc: str) -> Datum[Quantity[float]]:
    """A frequency in hertz."""
    return Datum("quantity", phrases, doc, dimension=DIMENSIONS["frequency"], above=0.0)


def _as_read(given: Quantity[Any], figure: float, symbol: str, dimension: str) -> Quantity[Any]:
    """Convert as the matcher does, so that what is spelt out equals what is written with the unit; `figure` is that of one SI unit."""
    from ohmwright_grammar.units import to_si

    def si(value: float) -> float:
        return to_si(float(f"{value * figure:.15g}"), symbol, DIMENSIONS[dimension]) or 0.0

    low, nominal, high = si(given.low), si(given.nominal), si(given.high)
    if given.form == "range":
        nominal = (low + high) / 2
    elif given.form == "tolerance":
        spread = si(given.high - given.nominal)
        low, high = nominal - spread, nominal + spread
    elif given.form == "at least":
        high = DIMENSIONS[dimension].high
    return Quantity(low, nominal, high, symbol, given.form)


def _hours_a_day(value: Quantity[Duty] | None = None, time: Quantity[Second] | None = None) -> Quantity[Duty]:
    if value is not None:
        return value
    assert time is not None
    return _as_read(time, 1 / _HOUR, "h/day", "duty")


def hours_a_day(*phrases: str, doc: str) -> Datum[Quantity[Duty]]:
    """Hours a day; a phrase may take them as "<duty>" or spelt out as "<time:time> a|per day"."""
    return Datum("quantity", phrases, doc, dimension=DIMENSIONS["duty"], make=_hours_a_day)


def _share_a_month(value: Quantity[PerSecond] | None = None, share: Quantity[Share] | None = None) -> Quantity[PerSecond]:
    if value is not None:
        return value
    assert share is not None
    return _as_read(share, 100.0, "%/month", "share_rate")


def share_a_month(*phrases: str, doc: str) -> Datum[Quantity[PerSecond]]:
    """A share a month; a phrase may take it as "<share_rate>" or spelt out as "<share:share> a|per month"."""
    return Datum("quantity", phrases, doc, dimension=DIMENSIONS["share_rate"], make=_share_a_month)
