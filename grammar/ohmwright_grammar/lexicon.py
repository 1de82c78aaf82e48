"""The words with which kinds declare their data: one function for each shape of value.

Phrases. Plain words stand for themselves; `a|b` is either word; `[words]` may be left out; `<dimension>` or `<field:dimension>` is a value; further
shapes in angle brackets: count, number, name, names, text, word, date, gauge, choice. The first phrase is the one that is printed.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from typing import Any, TypeVar

from ohmwright_grammar import quantities as q
from ohmwright_grammar.quantities import DIMENSIONS, Gauge, Quantity
from ohmwright_grammar.things import Datum, Thing

__all__ = [
    "area",
    "block",
    "blocks",
    "capacitance",
    "charge",
    "choice",
    "count",
    "current",
    "day",
    "difference",
    "duty",
    "energy",
    "flag",
    "force",
    "gauge",
    "heat_transfer",
    "irradiance",
    "length",
    "let_through",
    "mass",
    "money",
    "name",
    "names",
    "number",
    "per_kelvin",
    "power",
    "record",
    "records",
    "resistance",
    "share",
    "share_rate",
    "temperature",
    "text",
    "texts",
    "time",
    "torque",
    "voltage",
    "voltage_per_kelvin",
    "word",
]  # fmt: skip

T = TypeVar("T")
K = TypeVar("K", bound=Thing)


def _quantity(
    dimension: str, doc: str, phrases: tuple[str, ...], limits: dict[str, float | None], denied: tuple[str, ...] = ()
) -> Datum[Any]:
    return Datum("quantity", phrases, doc, dimension=DIMENSIONS[dimension], denied=denied, **limits)  # type: ignore[arg-type]


def voltage(
    *phrases: str, doc: str, above: float | None = None, at_least: float | None = None, denied: tuple[str, ...] = ()
) -> Datum[Quantity[q.Volt]]:
    """A datum in volt; `denied` are words that say there is none."""
    return _quantity("voltage", doc, phrases, {"above": above, "at_least": at_least}, denied)


def current(*phrases: str, doc: str, above: float | None = None) -> Datum[Quantity[q.Ampere]]:
    """A datum in ampere."""
    return _quantity("current", doc, phrases, {"above": above})


def resistance(*phrases: str, doc: str, above: float | None = None) -> Datum[Quantity[q.Ohm]]:
    """A datum in ohm."""
    return _quantity("resistance", doc, phrases, {"above": above})


def power(*phrases: str, doc: str, above: float | None = None) -> Datum[Quantity[q.Watt]]:
    """A datum in watt."""
    return _quantity("power", doc, phrases, {"above": above})


def energy(*phrases: str, doc: str, above: float | None = None) -> Datum[Quantity[q.Joule]]:
    """A datum in joule."""
    return _quantity("energy", doc, phrases, {"above": above})


def charge(*phrases: str, doc: str, above: float | None = None) -> Datum[Quantity[q.Coulomb]]:
    """A datum in coulomb (declared in Ah)."""
    return _quantity("charge", doc, phrases, {"above": above})


def capacitance(*phrases: str, doc: str, above: float | None = None) -> Datum[Quantity[q.Farad]]:
    """A datum in farad."""
    return _quantity("capacitance", doc, phrases, {"above": above})


def length(*phrases: str, doc: str, above: float | None = None) -> Datum[Quantity[q.Metre]]:
    """A datum in metre."""
    return _quantity("length", doc, phrases, {"above": above})


def area(*phrases: str, doc: str, above: float | None = None) -> Datum[Quantity[q.SquareMetre]]:
    """A datum in square metre."""
    return _quantity("area", doc, phrases, {"above": above})


def time(*phrases: str, doc: str, above: float | None = None) -> Datum[Quantity[q.Second]]:
    """A datum in second."""
    return _quantity("time", doc, phrases, {"above": above})


def temperature(*phrases: str, doc: str) -> Datum[Quantity[q.Celsius]]:
    """A temperature in degrees Celsius."""
    return _quantity("temperature", doc, phrases, {})


def difference(*phrases: str, doc: str) -> Datum[Quantity[q.Kelvin]]:
    """A difference of temperatures in kelvin."""
    return _quantity("difference", doc, phrases, {})


def share(*phrases: str, doc: str, at_least: float | None = 0.0, at_most: float | None = 1.0) -> Datum[Quantity[q.Share]]:
    """A share, 1 for 100 %; between 0 and 100 % unless told otherwise."""
    return _quantity("share", doc, phrases, {"at_least": at_least, "at_most": at_most})


def duty(*phrases: str, doc: str) -> Datum[Quantity[q.Duty]]:
    """Hours a day as a part of the day, 1 for 24 h/day."""
    return _quantity("duty", doc, phrases, {})


def share_rate(*phrases: str, doc: str) -> Datum[Quantity[q.PerSecond]]:
    """A share a second (declared in %/month)."""
    return _quantity("share_rate", doc, phrases, {})


def per_kelvin(*phrases: str, doc: str) -> Datum[Quantity[q.PerKelvin]]:
    """A share per kelvin."""
    return _quantity("per_kelvin", doc, phrases, {})


def voltage_per_kelvin(*phrases: str, doc: str, denied: tuple[str, ...] = ()) -> Datum[Quantity[q.VoltPerKelvin]]:
    """A voltage per kelvin; `denied` are words that say there is none."""
    return _quantity("voltage_per_kelvin", doc, phrases, {}, denied)


def irradiance(*phrases: str, doc: str) -> Datum[Quantity[q.WattPerSquareMetre]]:
    """An irradiance in watt per square metre."""
    return _quantity("irradiance", doc, phrases, {})


def heat_transfer(*phrases: str, doc: str) -> Datum[Quantity[q.WattPerSquareMetreKelvin]]:
    """Heat through a wall in watt per square metre and kelvin."""
    return _quantity("heat_transfer", doc, phrases, {})


def mass(*phrases: str, doc: str) -> Datum[Quantity[q.Kilogram]]:
    """A mass in kilogram."""
    return _quantity("mass", doc, phrases, {})


def force(*phrases: str, doc: str) -> Datum[Quantity[q.Newton]]:
    """A force in newton."""
    return _quantity("force", doc, phrases, {})


def torque(*phrases: str, doc: str) -> Datum[Quantity[q.NewtonMetre]]:
    """A torque in newton metre."""
    return _quantity("torque", doc, phrases, {})


def let_through(*phrases: str, doc: str) -> Datum[Quantity[q.SquareAmpereSecond]]:
    """A let-through in A2s."""
    return _quantity("let_through", doc, phrases, {})


def money(*phrases: str, doc: str) -> Datum[Quantity[q.Money]]:
    """A price; the unit is the currency, never converted."""
    return _quantity("money", doc, phrases, {})


def flag(*phrases: str, doc: str, denied: tuple[str, ...] = ()) -> Datum[bool]:
    """A yes/no datum: said as its phrase, denied by "no" or "not" before the same phrase, or in the words of `denied`."""
    return Datum("flag", phrases, doc, denied=denied)


def choice(*phrases: str, doc: str, of: Mapping[str, str]) -> Datum[str]:
    """One of a few words; `of` maps each wording to its value, the usual wording of a value first."""
    return Datum("choice", phrases, doc, choices=of)


def count(*phrases: str, doc: str, at_least: int = 0, at_most: int | None = None) -> Datum[int]:
    """A whole number."""
    return Datum("count", phrases, doc, at_least=float(at_least), at_most=None if at_most is None else float(at_most))


def number(*phrases: str, doc: str, above: float | None = None) -> Datum[Quantity[q.Number]]:
    """A plain number, for instance a factor."""
    return Datum("number", phrases, doc, above=above)


def name(*phrases: str, doc: str) -> Datum[str]:
    """The name of another thing or terminal."""
    return Datum("name", phrases, doc)


def names(*phrases: str, doc: str) -> Datum[tuple[str, ...]]:
    """Names of other things or terminals, parted by commas or "and"."""
    return Datum("names", phrases, doc)


def text(*phrases: str, doc: str) -> Datum[str]:
    """A text between quotation marks."""
    return Datum("text", phrases, doc)


def texts(*phrases: str, doc: str) -> Datum[tuple[str, ...]]:
    """Texts, each in a statement of its own or parted by commas."""
    return Datum("text", phrases, doc, many=True, tail="<text>")


def word(*phrases: str, doc: str) -> Datum[str]:
    """A word kept as written (an IP code, a stud size, a revision)."""
    return Datum("word", phrases, doc)


def day(*phrases: str, doc: str) -> Datum[date]:
    """A date."""
    return Datum("date", phrases, doc)


def gauge(*phrases: str, doc: str) -> Datum[Gauge]:
    """A conductor size in AWG or mm2."""
    return Datum("gauge", phrases, doc)


def record(make: Callable[..., T], *phrases: str, doc: str) -> Datum[T]:
    """A value of several parts: each phrase names the fields of `make` in its slots."""
    return Datum("record", phrases, doc, make=make)


def records(
    make: Callable[..., T], *phrases: str, doc: str, tail: str = "", of: Mapping[str, str] | None = None
) -> Datum[tuple[T, ...]]:
    """Several records: each in a statement of its own, or parted by commas in the words of `tail`."""
    return Datum("record", phrases, doc, make=make, many=True, tail=tail, choices=of)  # type: ignore[arg-type]


def block(kind: Callable[[], type[K]], *phrases: str, doc: str) -> Datum[K]:
    """A block of facts of its own, such as a battery's `bms { … }`."""
    return Datum("block", phrases, doc, kind=kind)


def blocks(kind: Callable[[], type[K]], *phrases: str, doc: str) -> Datum[tuple[K, ...]]:
    """Several named blocks, such as `pin 1 …` and `pins 3, 4 { … }`: the first phrase names one, the second several."""
    return Datum("blocks", phrases, doc, kind=kind, many=True)
