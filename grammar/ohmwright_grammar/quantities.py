"""Values with a dimension: SI floats inside, with the unit in which they were declared kept for printing.

Electric charge is in coulomb, energy in joule, time in second, area in square metre. Temperatures are in degrees Celsius (a unit of the SI);
a difference of two is in kelvin. Shares (percent) and duty (hours a day) are plain numbers, 1 for 100 % and for 24 hours a day.
"""

from __future__ import annotations

import math
from typing import Generic, Literal, NewType, TypeVar

from ohmwright_grammar.records import record

__all__ = [
    "DIMENSIONS",
    "Ampere",
    "Celsius",
    "Coulomb",
    "Dimension",
    "Duty",
    "Farad",
    "Form",
    "Gauge",
    "Joule",
    "Kelvin",
    "Kilogram",
    "Measure",
    "Metre",
    "Money",
    "Newton",
    "NewtonMetre",
    "Number",
    "Ohm",
    "PerKelvin",
    "PerSecond",
    "Quantity",
    "Second",
    "Share",
    "SquareAmpereSecond",
    "SquareMetre",
    "Volt",
    "VoltPerKelvin",
    "Watt",
    "WattPerSquareMetre",
    "WattPerSquareMetreKelvin",
]

Volt = NewType("Volt", float)
Ampere = NewType("Ampere", float)
Ohm = NewType("Ohm", float)
Watt = NewType("Watt", float)
Joule = NewType("Joule", float)
Coulomb = NewType("Coulomb", float)
Farad = NewType("Farad", float)
Metre = NewType("Metre", float)
SquareMetre = NewType("SquareMetre", float)
Second = NewType("Second", float)
Kilogram = NewType("Kilogram", float)
Newton = NewType("Newton", float)
NewtonMetre = NewType("NewtonMetre", float)
Celsius = NewType("Celsius", float)
Kelvin = NewType("Kelvin", float)
Share = NewType("Share", float)
Duty = NewType("Duty", float)
PerKelvin = NewType("PerKelvin", float)
PerSecond = NewType("PerSecond", float)
VoltPerKelvin = NewType("VoltPerKelvin", float)
WattPerSquareMetre = NewType("WattPerSquareMetre", float)
WattPerSquareMetreKelvin = NewType("WattPerSquareMetreKelvin", float)
SquareAmpereSecond = NewType("SquareAmpereSecond", float)
Money = NewType("Money", float)
Number = NewType("Number", float)

F = TypeVar("F", bound=float)

Form = Literal["plain", "range", "tolerance", "at least", "at most"]


@record
class Dimension(Generic[F]):
    """One kind of physical quantity.

    `unit` is the SI unit of the float inside, in pint's spelling; `symbols` maps each spelling that a builder may use to
    the unit in pint's spelling, the usual ones first; `low` and `high` bound what makes sense at all.
    """

    name: str
    words: str
    unit: str
    symbols: dict[str, str]
    low: float = -math.inf
    high: float = math.inf

    def __repr__(self) -> str:
        return f"Dimension({self.name})"


@record
class Quantity(Generic[F]):
    """A physical value that may be a range or carry a tolerance: `low` <= `nominal` <= `high`, SI floats.

    A rule takes the end that protects; `nominal` of a range is its middle. `unit` is the symbol in which it was declared.
    """

    low: F
    nominal: F
    high: F
    unit: str
    form: Form = "plain"

    @property
    def exact(self) -> bool:
        """Tell whether the value is one figure, neither range nor tolerance."""
        return self.low == self.high


@record
class Gauge:
    """A conductor size: by American Wire Gauge (`awg` is the number, 0 for 1/0, -3 for 4/0) or by area."""

    text: str
    area: SquareMetre
    awg: int | None

    @property
    def metric(self) -> bool:
        """Tell whether the size is given in mm2."""
        return self.awg is None

    @staticmethod
    def from_awg(number: int) -> Gauge:
        """Return the size `number` (-3 for 4/0): diameter 0.127 * 92 ** ((36 - n) / 39) mm (ASTM B258)."""
        diameter_mm = 0.127 * 92.0 ** ((36 - number) / 39)
        text = f"{1 - number}/0 AWG" if number <= 0 else f"{number} AWG"
        return Gauge(text, SquareMetre(math.pi / 4 * diameter_mm**2 * 1e-6), number)

    @staticmethod
    def from_area(mm2: float) -> Gauge:
        """Return a size by its nominal area [mm2]."""
        return Gauge(f"{mm2:g} mm2", SquareMetre(mm2 * 1e-6), None)


@record
class Measure:
    """A value of any dimension: `dimension` is its name, or "gauge" for a conductor size."""

    dimension: str
    value: Quantity[float] | Gauge


def _dimension(
    name: str, words: str, unit: str, symbols: str, low: float = -math.inf, high: float = math.inf
) -> Dimension[float]:
    table: dict[str, str] = {}
    for item in symbols.split():
        symbol, _, meaning = item.partition("~")
        table[symbol.replace("_", " ")] = (meaning or symbol).replace("_", " * ")
    dimension: Dimension[float] = Dimension(name, words, unit, table, low, high)
    DIMENSIONS[name] = dimension
    return dimension


DIMENSIONS: dict[str, Dimension[float]] = {}

_ZERO = 0.0
_dimension("voltage", "a voltage", "V", "V mV kV", -1e6, 1e6)
_dimension("current", "a current", "A", "A mA kA uA~uA µA~uA", _ZERO, 1e7)
_dimension("resistance", "a resistance", "ohm", "ohm mohm kohm uohm Ω~ohm mΩ~mohm kΩ~kohm µΩ~uohm Mohm", _ZERO, 1e12)
_dimension("power", "a power", "W", "W kW mW hp MW", _ZERO, 1e9)
_dimension("energy", "an energy", "J", "Wh~W*h kWh~kW*h J kJ MJ mWh~mW*h", _ZERO, 1e13)
_dimension("charge", "a charge", "C", "Ah~A*h mAh~mA*h C kAh~kA*h", _ZERO, 1e10)
_dimension("capacitance", "a capacitance", "F", "mF uF µF~uF F", _ZERO, 1e5)
_dimension("length", "a length", "m", "m mm cm in ft yd km", _ZERO, 1e5)
_dimension("area", "an area", "m**2", "mm2~mm**2 mm²~mm**2 cm2~cm**2 cm²~cm**2 m2~m**2 m²~m**2 in2~in**2", _ZERO, 1e4)
_dimension("temperature", "a temperature", "degC", "degC °C~degC degF °F~degF K", -273.15, 2000.0)
_dimension("difference", "a difference of temperatures", "K", "K degC~K °C~K degF~stepF °F~stepF", _ZERO, 1000.0)
_dimension(
    "time", "a time", "s",
    "h min s ms days~day day months~month month years~year year weeks~week week hours~hour hour minutes~minute minute seconds~second second d",
    _ZERO, 1e10,
)  # fmt: skip
_dimension("share", "a share in percent", "_", "%~pct", -10.0, 10.0)
_dimension("duty", "hours a day", "_", "h/day~h/day h/d~h/day min/day~min/day hours/day~h/day", _ZERO, 1.0)
_dimension("share_rate", "a share a month", "1/s", "%/month~pct/month %/year~pct/year %/day~pct/day", _ZERO, 1.0)
_dimension("per_kelvin", "a share per kelvin", "1/K", "%/K~pct/K %/degC~pct/K %/°C~pct/K", -0.1, 0.1)
_dimension("voltage_per_kelvin", "a voltage per kelvin", "V/K", "mV/K V/K mV/degC~mV/K mV/°C~mV/K", -100.0, 100.0)
_dimension("irradiance", "an irradiance", "W/m**2", "W/m2~W/m**2 W/m²~W/m**2 kW/m2~kW/m**2", _ZERO, 2000.0)
_dimension("heat_transfer", "heat through a wall", "W/m**2/K", "W/m2K~W/m**2/K W/m²K~W/m**2/K", _ZERO, 1e4)
_dimension("frequency", "a frequency", "1/s", "Hz~1/s", _ZERO, 1e6)
_dimension("mass", "a mass", "kg", "kg g lb oz", _ZERO, 1e6)
_dimension("force", "a force", "N", "N kN lbf", _ZERO, 1e8)
_dimension(
    "torque",
    "a torque",
    "N*m",
    "Nm~N*m N_m in_lb~inch*lbf in-lb~inch*lbf ft_lb~foot*lbf ft-lb~foot*lbf N.m~N*m",
    _ZERO,
    1e5,
)
_dimension("let_through", "a let-through", "A**2*s", "A2s~A**2*s A²s~A**2*s kA2s~kA**2*s", _ZERO, 1e15)
_dimension(
    "money",
    "a price",
    "EUR",
    "EUR USD~EUR GBP~EUR CHF~EUR SEK~EUR NOK~EUR DKK~EUR PLN~EUR CAD~EUR AUD~EUR NZD~EUR JPY~EUR INR~EUR",
    _ZERO,
    1e9,
)
