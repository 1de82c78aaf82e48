"""Values of several parts that more than one kind of thing declares, and rows of the lexicon that they share."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ohmwright_grammar.quantities import DIMENSIONS, Ampere, Celsius, Gauge, Metre, Quantity, Second, Share, Volt, Watt
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
    "named",
    "sizes",
    "terms",
    "wire_range",
    "wording",
]

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
IP_CODES: dict[str, str] = {
    f"IP{solids}{water}": f"IP{solids}{water}" for solids in "0123456X" for water in (*"0123456789X", "9K", "6K")
}


@dataclass(frozen=True, slots=True)
class Sizes:
    """Width, depth and height."""

    width: Quantity[Metre]
    depth: Quantity[Metre]
    height: Quantity[Metre]


@dataclass(frozen=True, slots=True)
class Extent:
    """Width and height of something flat."""

    width: Quantity[Metre]
    height: Quantity[Metre]


@dataclass(frozen=True, slots=True)
class ShareAt:
    """A share that holds at one temperature."""

    share: Quantity[Share]
    temperature: Quantity[Celsius]


@dataclass(frozen=True, slots=True)
class BreakingRating:
    """The largest current that can be interrupted at a voltage."""

    current: Quantity[Ampere]
    at: Quantity[Volt]


@dataclass(frozen=True, slots=True)
class CurrentFor:
    """A current, and for how long."""

    current: Quantity[Ampere]
    time: Quantity[Second] | None = None


@dataclass(frozen=True, slots=True)
class PowerFor:
    """A power, and for how long."""

    power: Quantity[Watt]
    time: Quantity[Second] | None = None


@dataclass(frozen=True, slots=True)
class VoltageList:
    """Several voltages."""

    voltages: tuple[Quantity[Volt], ...]


@dataclass(frozen=True, slots=True)
class WireRange:
    """The conductor sizes that a terminal takes, thin to thick."""

    range: tuple[Gauge, Gauge]


def _in_unit_of(figure: Quantity[Metre], measured: Quantity[Metre]) -> Quantity[Metre]:
    """Give a figure that has no unit of its own ("300 x 200 mm") the unit of the measured one."""
    if figure.unit:
        return figure
    from ohmwright_grammar.units import to_si

    metres = [
        Metre(to_si(end, measured.unit, DIMENSIONS["length"]) or 0.0) for end in (figure.low, figure.nominal, figure.high)
    ]
    return Quantity(metres[0], metres[1], metres[2], measured.unit, figure.form)


def sizes(width: Quantity[Metre], depth: Quantity[Metre], height: Quantity[Metre]) -> Sizes:
    """Return a size from three figures, of which the last one may carry the unit of all."""
    return Sizes(_in_unit_of(width, height), _in_unit_of(depth, height), height)


def extent(width: Quantity[Metre], height: Quantity[Metre]) -> Extent:
    """Return width and height from two figures, of which the last one may carry the unit of both."""
    return Extent(_in_unit_of(width, height), height)


def wire_range(range: tuple[Gauge, Gauge] | None = None, thickest: Gauge | None = None) -> WireRange:
    """Return a range of sizes; where only the thickest was said it begins at the thinnest that the language knows."""
    if range is not None:
        return WireRange(range)
    assert thickest is not None
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
