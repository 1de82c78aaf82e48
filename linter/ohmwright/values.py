"""A number with its dimension, on its way out: the only place where SI floats become units again."""

from __future__ import annotations

from typing import Any

from ohmwright_grammar.quantities import DIMENSIONS, Quantity
from ohmwright_grammar.records import record
from ohmwright_grammar.units import from_si

__all__ = ["JSON_UNITS", "Amount", "amount", "figures", "shown", "shown_pair"]

JSON_UNITS: dict[str, str] = {
    "voltage": "V",
    "current": "A",
    "power": "W",
    "resistance": "ohm",
    "length": "m",
    "area": "mm2",
    "time": "s",
    "temperature": "degC",
    "difference": "degC",
    "charge": "Ah",
    "energy": "Wh",
    "mass": "kg",
}  # results know these units only: shares, counts and whatever else there is are plain SI numbers, unit "1"


@record
class Amount:
    """A value in SI (degrees Celsius for temperatures), its dimension, and the unit in which a builder wants to see it ("" for the usual)."""

    value: float
    dimension: str
    unit: str = ""

    def in_json(self) -> tuple[float, str]:
        """Return the value and its unit as results have them.

        >>> Amount(7200.0, "charge").in_json()
        (2.0, 'Ah')
        """
        unit = JSON_UNITS.get(self.dimension)
        return (from_si(self.value, unit, self.dimension), unit) if unit is not None else (self.value, "1")

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


def figures(value: float, digits: int = 3) -> str:
    """Write a number with so many significant digits, in powers of ten only below 0.0001 and from a million on.

    >>> figures(46.234), figures(120.0), figures(1234567.0)
    ('46.2', '120', '1.23e6')
    """
    if value == 0:
        return "0"
    size = abs(value)
    if size != size or size == float("inf"):
        return "no number"
    rounded = f"{value:.{digits - 1}e}"
    mantissa, _, power = rounded.partition("e")
    exponent = int(power)
    if exponent >= 6 or exponent < -4:
        mantissa = mantissa.rstrip("0").rstrip(".") if "." in mantissa else mantissa
        return f"{mantissa}e{exponent}"
    text = f"{float(rounded):.{max(0, digits - 1 - exponent)}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _unit_for(value: float, dimension: str) -> str:
    """Return the unit in which a person would give the value, "" for a plain number."""
    if dimension == "length":
        return "mm" if 0 < abs(value) < 1 else "m"
    if dimension == "time":
        return _unit_of_time(abs(value))
    usual = _USUAL.get(dimension)
    if usual is None:
        if dimension in JSON_UNITS:
            return "K" if dimension == "difference" else JSON_UNITS[dimension]
        known = DIMENSIONS.get(dimension)
        return next(iter(known.symbols)) if known is not None else ""
    size = abs(from_si(value, usual[0], dimension))
    if size >= 10_000 or (dimension in ("current", "power") and size >= 2000):
        return usual[2]
    return usual[1] if 0 < size < 0.1 else usual[0]


def _unit_of_time(seconds: float) -> str:
    for unit, least in (("months", 1.0), ("days", 2.0), ("h", 2.0), ("min", 2.0)):
        if from_si(seconds, unit, "time") >= least - 1e-9:
            return unit
    return "s"


def _in_unit(what: Amount, unit: str, digits: int) -> str:
    if what.dimension == "count":
        return figures(what.value, digits)
    if what.dimension == "share":
        return f"{figures(what.value * 100, digits)} %"
    unit = unit or what.unit or _unit_for(what.value, what.dimension)
    if not unit or unit == "1":
        return figures(what.value, digits)
    return f"{figures(from_si(what.value, unit, what.dimension), digits)} {unit}"


def shown(what: Amount, unit: str = "") -> str:
    """Write a value as a person reads it: three significant digits and a unit.

    >>> shown(Amount(46.234, "current"))
    '46.2 A'
    >>> shown(Amount(0.12, "length"))
    '120 mm'
    """
    return _in_unit(what, unit, 3)


def shown_pair(measured: Amount, limit: Amount) -> tuple[str, str]:
    """Write a measured and an allowed value in the same unit: the one in which either was declared, else the usual for the larger.

    Where three digits would make two different values look alike, as many more are shown as part them.

    >>> shown_pair(Amount(0.9, "length"), Amount(1.2, "length"))
    ('0.9 m', '1.2 m')
    """
    unit = limit.unit or measured.unit
    if not unit and limit.dimension == measured.dimension:
        larger = max(abs(limit.value), abs(measured.value))
        unit = _unit_for(larger, limit.dimension)
    differ = abs(measured.value - limit.value) > 1e-9 * max(abs(measured.value), abs(limit.value))
    for digits in range(3, 13):
        one, two = _in_unit(measured, unit, digits), _in_unit(limit, unit, digits)
        if one != two or not differ:
            break
    return one, two
