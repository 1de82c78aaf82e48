"""The edge between numbers with units, as text has them, and SI floats: pint's registry, used once for every value.

The usual symbols of every dimension are looked up in a table of factors that pint made (`_unit_factors.py`, checked against the registry
by a test), because importing pint costs more than reading a whole build. A unit that the table does not hold (`kN`, `uohm` written with
another prefix, a composed one) goes to the registry itself.
"""

from __future__ import annotations

import functools
import math
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ohmwright_grammar.quantities import DIMENSIONS, Dimension
from ohmwright_grammar.records import record

if TYPE_CHECKING:
    from pint import UnitRegistry

__all__ = [
    "DEFINITIONS_FILE",
    "Affine",
    "affine",
    "dimension_of_unit",
    "dimensions_of",
    "from_si",
    "is_unit_of",
    "make_factors",
    "plain_symbol",
    "registry",
    "to_si",
    "units_of",
]

DEFINITIONS_FILE = Path(__file__).with_name("units.txt")

_CURRENCIES = frozenset(symbol for symbol in DIMENSIONS["money"].symbols)


@record
class Affine:
    """SI value = factor * value + offset, or value / divisor where the factor is one part of a whole number (9 mohm is 0.009 ohm exactly)."""

    factor: float
    offset: float
    divisor: float = 0.0

    def to_si(self, value: float) -> float:
        """Convert a value to SI."""
        return value / self.divisor if self.divisor else self.factor * value + self.offset

    def from_si(self, value: float) -> float:
        """Convert a value from SI."""
        return value * self.divisor if self.divisor else (value - self.offset) / self.factor


def _affine(factor: float, offset: float) -> Affine:
    parts = 1.0 / factor
    whole = round(parts) if parts < 1e15 else 0
    exact = offset == 0.0 and whole > 1 and abs(parts - whole) < 1e-12 * whole
    return Affine(factor, offset, float(whole) if exact else 0.0)


@functools.cache
def registry() -> UnitRegistry[Any]:
    """Return pint's registry with this project's own definitions (imports pint: some 120 ms)."""
    import pint

    return pint.UnitRegistry(str(DEFINITIONS_FILE), autoconvert_offset_to_baseunit=False, cache_folder=None)


def _without_noise(factor: float) -> float:
    """Return the factor with 15 digits where the rest is noise of its making (0.0254), else as it is (1/24)."""
    short = float(f"{factor:.15g}")
    return short if abs(short - factor) <= 2 * math.ulp(factor) else factor


def _measure(symbol: str, meaning: str, dimension: Dimension[float]) -> Affine | None:
    """Ask the registry how `meaning` converts to the dimension's SI unit; None where it does not."""
    import pint

    units = registry()
    try:
        target = units.Unit(dimension.unit) if dimension.unit != "_" else units.Unit("share")
        unit = units.Unit(meaning)
        if dimension.name in ("temperature", "difference"):
            at_zero = units.Quantity(0.0, unit).to(target).magnitude
            at_hundred = units.Quantity(100.0, unit).to(target).magnitude
            from fractions import Fraction  # the step of every scale is a plain fraction of a kelvin: 1, or 5/9

            factor = float(Fraction((at_hundred - at_zero) / 100.0).limit_denominator(1000))
            return _affine(factor, factor * round(at_zero / factor, 9))
        return _affine(_without_noise(units.Quantity(1.0, unit).to(target).magnitude), 0.0)
    except (
        pint.PintError,
        ValueError,
        TypeError,
        AttributeError,
        SyntaxError,
        ZeroDivisionError,
        OverflowError,
        AssertionError,
    ):
        return None
    except Exception as error:  # tokenize errors of odd texts: not a unit
        if type(error).__module__ in ("tokenize", "_tokenize"):
            return None
        raise


def make_factors() -> dict[str, dict[str, tuple[float, float]]]:
    """Return, for every dimension and symbol, the factor and offset to SI as pint's registry has them."""
    table: dict[str, dict[str, tuple[float, float]]] = {}
    for dimension in DIMENSIONS.values():
        rows: dict[str, tuple[float, float]] = {}
        for symbol, meaning in dimension.symbols.items():
            measured = _measure(symbol, meaning, dimension)
            if measured is None:
                raise ValueError(f"pint cannot convert {symbol!r} ({meaning}) to {dimension.unit}")
            rows[symbol] = (measured.factor, measured.offset)
        table[dimension.name] = rows
    return table


@functools.cache
def _factors() -> dict[str, dict[str, tuple[float, float]]]:
    try:
        from ohmwright_grammar._unit_factors import FACTORS
    except ImportError:
        return make_factors()
    return FACTORS


@functools.cache
def affine(dimension: str, symbol: str, usual_only: bool = False) -> Affine | None:
    """Return how a value in `symbol` becomes SI; None where the symbol is no unit of the dimension.

    `usual_only` asks the table of usual symbols alone, and spares the import of pint.
    """
    known = _factors()[dimension].get(symbol)
    if known is not None:
        return _affine(*known)
    if usual_only or not _could_be_unit(symbol):
        return None
    return _measure(symbol, _pint_spelling(symbol), DIMENSIONS[dimension])


def _could_be_unit(symbol: str) -> bool:
    """Keep plain words away from the registry: a unit is short, or a product, quotient or power of short ones."""
    parts = symbol.replace("/", " ").replace("*", " ").replace("·", " ").split()
    return (
        bool(parts)
        and len(symbol) <= 16
        and symbol[:1].isalpha()
        and all(len(part.rstrip("0123456789^²³")) <= 5 and part[:1].isalpha() for part in parts)
    )


def _pint_spelling(symbol: str) -> str:
    spelt = symbol.replace("²", "**2").replace("³", "**3").replace("^", "**").replace("·", "*").replace("Ω", "ohm")
    if spelt and spelt[-1] in "23" and len(spelt) > 1 and spelt[-2].isalpha():
        spelt = f"{spelt[:-1]}**{spelt[-1]}"
    return spelt


# Degree sign, degree Celsius, degree Fahrenheit, Greek omega, ohm sign, micro sign, Greek mu, two, three, dot.
_PLAIN = str.maketrans(
    {
        "\u00b0": "deg", "\u2103": "degC", "\u2109": "degF", "\u03a9": "ohm", "\u2126": "ohm", "\u00b5": "u", "\u03bc": "u",
        "\u00b2": "2", "\u00b3": "3", "\u00b7": " ",
    }
)  # fmt: skip


def plain_symbol(symbol: str) -> str:
    """Return a symbol in plain letters, as it is kept and printed.

    >>> plain_symbol("mΩ"), plain_symbol("°C"), plain_symbol("mm²")
    ('mohm', 'degC', 'mm2')
    """
    return symbol if symbol.isascii() else symbol.translate(_PLAIN)


def to_si(value: float, symbol: str, dimension: Dimension[Any], usual_only: bool = False) -> float | None:
    """Convert a value to the dimension's SI unit; None where the symbol is no unit of the dimension (or no usual one)."""
    known = affine(dimension.name, symbol, usual_only)
    if known is None:
        return None
    result = known.to_si(value) + 0.0  # no negative zero
    return result if not math.isnan(result) else None


def is_unit_of(symbol: str, dimension: Dimension[Any]) -> bool:
    """Tell whether a symbol is a unit of the dimension; pint is asked only for one that no table holds."""
    if symbol in _factors()[dimension.name]:
        return True
    return not dimensions_of(symbol) and affine(dimension.name, symbol) is not None


@functools.cache
def dimensions_of(symbol: str) -> frozenset[str]:
    """Return the names of the dimensions of which the symbol is a usual unit."""
    return frozenset(name for name, rows in _factors().items() if symbol in rows)


def from_si(value: float, symbol: str, dimension: str) -> float:
    """Convert an SI value to `symbol`.

    >>> round(from_si(3600.0, "Ah", "charge"), 9)
    1.0
    """
    known = affine(dimension, symbol)
    if known is None:
        raise ValueError(f"{symbol!r} is no unit of {dimension}")
    return known.from_si(value)


def units_of(dimension: Dimension[Any], most: int = 4) -> str:
    """Return the usual units of a dimension as words: "V, mV or kV"."""
    symbols = list(dimension.symbols)[:most]
    return symbols[0] if len(symbols) == 1 else f"{', '.join(symbols[:-1])} or {symbols[-1]}"


@functools.cache
def dimension_of_unit(symbol: str) -> str | None:
    """Return the name of the first dimension that knows the symbol as a unit."""
    for name, rows in _factors().items():
        if symbol in rows:
            return name
    for name in _factors():
        if affine(name, symbol) is not None:
            return name
    return None
