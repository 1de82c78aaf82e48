"""A number with its dimension, on its way out: the only place where SI floats become units again."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from ohmwright_grammar.quantities import Quantity
from ohmwright_grammar.units import from_si

__all__ = ["JSON_UNITS", "Amount", "amount", "shown", "shown_pair"]

JSON_UNITS: dict[str, str] = {
    "voltage": "V",
    "current": "A",
    "power": "W",
    "resistance": "ohm",
    "length": "m",
    "area": "mm2",
    "time": "s",
    "temperature": "degC",
    "charge": "Ah",
    "energy": "Wh",
    "mass": "kg",
    "share": "1",
    "count": "1",
}


@dataclass(frozen=True, slots=True)
class Amount:
    """A value in SI (degrees Celsius for temperatures), its dimension, and the unit in which a builder wants to see it ("" for the usual)."""

    value: float
    dimension: str
    unit: str = ""

    def in_json(self) -> tuple[float, str]:
        """Return the value and its unit as results have them."""
        unit = JSON_UNITS.get(self.dimension, "1")
        if unit == "1" or self.dimension in ("share", "count"):
            return self.value, unit
        return from_si(self.value, unit, self.dimension), unit

    def __str__(self) -> str:
        return shown(self)


_USUAL = {
    "voltage": ("V", "mV", "kV"),
    "current": ("A", "mA", "kA"),
    "power": ("W", "mW", "kW"),
    "resistance": ("ohm", "mohm", "kohm"),
    "length": ("m", "mm", "km"),
    "charge": ("Ah", "mAh", "kAh"),
    "energy": ("Wh", "mWh", "kWh"),
}


def amount(quantity: Quantity[Any], dimension: str, end: str = "nominal") -> Amount:
    """Return one end of a declared quantity ("low", "nominal" or "high") in the unit in which it was declared."""
    return Amount(float(getattr(quantity, end)), dimension, quantity.unit)


def _figures(value: float) -> str:
    """Write a number with three significant digits, never in powers of ten between 0.001 and a million."""
    if value == 0:
        return "0"
    size = abs(value)
    if size >= 1e6 or size < 1e-4:
        return f"{value:.3g}"
    from math import floor, log10

    digits = max(0, 2 - floor(log10(float(f"{size:.3g}"))))
    text = f"{value:.{digits}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _unit_for(value: float, dimension: str) -> str:
    usual = _USUAL.get(dimension)
    if usual is None:
        return JSON_UNITS.get(dimension, "")
    size = abs(from_si(value, usual[0], dimension))
    if dimension == "length":
        return "mm" if 0 < size < 1 else "m"
    if size >= 10_000 or (dimension in ("current", "power") and size >= 2000):
        return usual[2]
    return usual[1] if 0 < size < 0.1 else usual[0]


def shown(what: Amount, unit: str = "") -> str:
    """Write a value as a person reads it: three significant digits and a unit.

    >>> shown(Amount(46.234, "current"))
    '46.2 A'
    >>> shown(Amount(0.12, "length"))
    '120 mm'
    """
    if what.dimension == "count":
        return _figures(what.value)
    if what.dimension == "share":
        return f"{_figures(what.value * 100)} %"
    if what.dimension == "time":
        return _time(what.value, unit or what.unit)
    unit = unit or what.unit or _unit_for(what.value, what.dimension)
    if not unit or unit == "1":
        return _figures(what.value)
    return f"{_figures(from_si(what.value, unit, what.dimension))} {unit}"


def _time(seconds: float, unit: str) -> str:
    if unit and unit not in ("1",):
        return f"{_figures(from_si(seconds, unit, 'time'))} {unit}"
    for size, name in ((730 * 3600.0, "months"), (86400.0, "days"), (3600.0, "h"), (60.0, "min")):
        if abs(seconds) >= size * (2 if name != "months" else 1):
            return f"{_figures(seconds / size)} {name}"
    return f"{_figures(seconds)} s"


def shown_pair(measured: Amount, limit: Amount) -> tuple[str, str]:
    """Write a measured and an allowed value in the same unit: the one in which either was declared, else the usual for the limit.

    Where three digits would make two different values look alike, more are shown.
    """
    unit = limit.unit or measured.unit
    if not unit and limit.dimension == measured.dimension and limit.dimension in _USUAL:
        larger = limit.value if abs(limit.value) >= abs(measured.value) else measured.value
        unit = _unit_for(larger, limit.dimension)
    one, two = shown(measured, unit), shown(limit, unit)
    if one == two and abs(measured.value - limit.value) > 1e-9 * max(abs(measured.value), abs(limit.value)):
        return _closer(measured, unit), _closer(limit, unit)
    return one, two


def _closer(what: Amount, unit: str) -> str:
    if what.dimension in ("count", "share"):
        scale = 100 if what.dimension == "share" else 1
        return f"{what.value * scale:.6g}" + (" %" if scale == 100 else "")
    unit = unit or what.unit or JSON_UNITS.get(what.dimension, "")
    return f"{from_si(what.value, unit, what.dimension):.6g} {unit}" if unit and unit != "1" else f"{what.value:.6g}"
