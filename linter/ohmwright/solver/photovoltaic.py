"""Photovoltaic modules: from data-sheet values to the single-diode model, and to other sunlight and cell temperatures.

I = photo - saturation * (exp((U + I series) / slope) - 1) - (U + I series) / shunt

The model is the usual one (five parameters); its translation to other conditions follows De Soto, Klein and Beckman, "Improvement
and validation of a model for photovoltaic array performance", Solar Energy 80 (2006) for slope, photo current and shunt, and the
declared coefficient of the open-circuit voltage for the saturation current, as Villalva, Gazoli and Ruppert Filho do in "Comprehensive
approach to modeling and simulation of photovoltaic arrays", IEEE Transactions on Power Electronics 24 (2009). Both from memory.
"""

from __future__ import annotations

from math import exp, expm1, inf

from ohmwright_grammar.records import record

from .curves import Junction
from .elements import Array

__all__ = [
    "BOLTZMANN_PER_CHARGE",
    "TEST_CELSIUS",
    "TEST_SUN",
    "ZERO_CELSIUS",
    "Module",
    "current_at",
    "fit",
    "open_circuit",
    "peak",
    "short_circuit",
]

BOLTZMANN_PER_CHARGE = 1.380649e-23 / 1.602176634e-19
"""k / q [V/K], exact in the SI of 2019."""
ZERO_CELSIUS = 273.15
TEST_CELSIUS = 25.0
"""Cell temperature of standard test conditions [degC] (IEC 60904-3)."""
TEST_SUN = 1000.0
"""Irradiance of standard test conditions [W/m2] (IEC 60904-3)."""

_TEST_KELVIN = TEST_CELSIUS + ZERO_CELSIUS
_SILICON_GAP = 1.121  # eV at 25 degC, as De Soto 2006 takes it (from memory)
_USUAL_IDEALITY = 1.1  # where neither cells nor coefficient tell; common for crystalline silicon, from memory
_USUAL_CELL_VOLT = 0.6  # open-circuit voltage of a silicon cell, to guess the number of cells; from memory
_USUAL_ISC_PER_KELVIN = 5e-4  # common for crystalline silicon, from memory
_STEEPEST, _FLATTEST = -0.0045, -0.002  # 1/K, what a coefficient that nobody declared is kept within; from memory
_DARK = 1.0  # W/m2; the shunt is not taken to grow beyond what it has at this irradiance


@record
class Module:
    """One module at standard test conditions.

    photo and saturation in A, slope in V, series and shunt in ohm (shunt may be infinite); voc [V] and isc [A] as given;
    coefficients in 1/K, relative to the values at 25 degC.
    """

    photo: float
    saturation: float
    slope: float
    series: float
    shunt: float
    voc: float
    isc: float
    voc_per_kelvin: float
    isc_per_kelvin: float

    def array(
        self,
        name: str,
        plus: int,
        minus: int,
        in_series: int = 1,
        in_parallel: int = 1,
        sun: float = TEST_SUN,
        cell_celsius: float = TEST_CELSIUS,
    ) -> Array:
        """An array of equal modules at an irradiance [W/m2] and a cell temperature [degC].

        Raises ValueError where the coefficient leaves no open-circuit voltage at that temperature.
        """
        warmer = cell_celsius - TEST_CELSIUS
        voc = self.voc * (1.0 + self.voc_per_kelvin * warmer)
        kelvin = cell_celsius + ZERO_CELSIUS
        if not (voc > 0 and kelvin > 0 and sun >= 0):
            raise ValueError(f"{name}: no module works at {sun} W/m2 and {cell_celsius} degC with these coefficients")
        slope = self.slope * kelvin / _TEST_KELVIN
        full = self.photo + self.isc_per_kelvin * self.isc * warmer
        saturation = (full - voc / self.shunt) / expm1(min(voc / slope, 700.0))
        if not saturation > 0:
            raise ValueError(f"{name}: the module's values contradict each other at {cell_celsius} degC")
        share = in_series / in_parallel
        return Array(
            name,
            plus,
            minus,
            full * sun / TEST_SUN * in_parallel,
            saturation * in_parallel,
            slope * in_series,
            self.series * share,
            self.shunt * TEST_SUN / max(sun, _DARK) * share,
        )


def fit(
    voc: float,
    isc: float,
    vmp: float,
    imp: float,
    cells: int | None = None,
    voc_per_kelvin: float | None = None,
    isc_per_kelvin: float | None = None,
) -> Module:
    """The single-diode parameters that go through the data-sheet values of a module at standard test conditions.

    voc, vmp [V], isc, imp [A], coefficients [1/K] (a coefficient in V/K or A/K divided by voc or isc; in %/K by 100). The curve goes
    through all three points and has its peak at vmp. One freedom is left, the slope: it follows from the coefficient of the
    open-circuit voltage by the band gap of silicon, else from the number of cells in series with an ideality of 1.1, and is lowered
    as far as it must be for series and shunt resistance to be physical. Without a coefficient of the open-circuit voltage the band gap
    gives one, kept within what silicon modules have. Raises ValueError where no diode has such a curve.
    """
    if not (0 < vmp < voc < inf and 0 < imp < isc < inf):
        raise ValueError("a module needs 0 < vmp < voc and 0 < imp < isc")
    if vmp * imp <= 0.25 * voc * isc or vmp <= 0.5 * voc or imp <= 0.5 * isc:
        raise ValueError("the peak lies lower than that of a straight line from isc to voc; no diode does that")
    thermal = BOLTZMANN_PER_CHARGE * _TEST_KELVIN
    gap = 3.0 + _SILICON_GAP / thermal
    if voc_per_kelvin is not None and voc_per_kelvin < 0:
        wanted = voc * (1.0 - _TEST_KELVIN * voc_per_kelvin) / gap
    else:
        wanted = _USUAL_IDEALITY * thermal * (cells if cells else max(1, round(voc / _USUAL_CELL_VOLT)))
    slope, series, saturation, leak = _nearest(wanted, voc, isc, vmp, imp)
    photo = saturation * expm1(voc / slope) + leak * voc
    if voc_per_kelvin is None:
        voc_per_kelvin = min(max((1.0 - gap * slope / voc) / _TEST_KELVIN, _STEEPEST), _FLATTEST)
    return Module(
        photo,
        saturation,
        slope,
        series,
        1.0 / leak if leak > 0 else inf,
        voc,
        isc,
        voc_per_kelvin,
        _USUAL_ISC_PER_KELVIN if isc_per_kelvin is None else isc_per_kelvin,
    )


def _nearest(wanted: float, voc: float, isc: float, vmp: float, imp: float) -> tuple[float, float, float, float]:
    """The largest slope up to `wanted` with physical resistances, with (series, saturation, leak) beside it."""
    least = voc / 650.0
    wanted = max(wanted, 2.0 * least)
    found = _resistances(wanted, voc, isc, vmp, imp)
    if found is not None:
        return (wanted, *found)
    good = wanted
    while found is None:
        good *= 0.8
        if good < least:
            raise ValueError("no diode with positive resistances goes through these values")
        found = _resistances(good, voc, isc, vmp, imp)
    low, high = good, good / 0.8
    for _ in range(60):
        middle = 0.5 * (low + high)
        better = _resistances(middle, voc, isc, vmp, imp)
        if better is None:
            high = middle
        else:
            low, found = middle, better
    return (low, *found)


def _resistances(slope: float, voc: float, isc: float, vmp: float, imp: float) -> tuple[float, float, float] | None:
    """(series, saturation, leak) that put the peak at (vmp, imp) with a given slope, or None where they would be negative."""

    def through(series: float) -> tuple[float, float, float]:
        """(saturation, leak) through the three points, and what the slope at the peak is off by."""
        x_short, x_peak = isc * series, vmp + imp * series
        open_, short, peak_ = expm1(voc / slope), expm1(x_short / slope), expm1(x_peak / slope)
        a, b, c, d = open_ - short, voc - x_short, open_ - peak_, voc - x_peak
        determinant = a * d - c * b
        saturation = (isc * d - imp * b) / determinant
        leak = (a * imp - c * isc) / determinant
        steep = saturation / slope * exp(x_peak / slope) + leak
        return saturation, leak, steep * (vmp - series * imp) - imp

    low = 0.0
    high = (voc - vmp) / imp * (1.0 - 1e-9)
    at_low, at_high = through(low)[2], through(high)[2]
    if not at_low * at_high < 0:
        return None
    while low < (middle := 0.5 * (low + high)) < high:  # ends: there is a last pair of numbers
        value = through(middle)[2]
        if (value > 0) == (at_low > 0):
            low = middle
        else:
            high = middle
    saturation, leak, _ = through(low)
    if not (saturation > 0 and leak >= 0):
        return None
    return low, saturation, leak


def current_at(array: Array, volt: float) -> float:
    """The current [A] that an array gives at a voltage [V]; negative where it takes current."""
    return -Junction(array).value(volt)


def open_circuit(array: Array) -> float:
    """The voltage [V] of an array with nothing connected; 0 without sun."""
    return Junction(array).at_current(0.0) if array.photo > 0 else 0.0


def short_circuit(array: Array) -> float:
    """The current [A] of an array with its poles joined."""
    return current_at(array, 0.0)


def peak(array: Array) -> tuple[float, float]:
    """Voltage [V] and current [A] at the largest power of an array; (0, 0) without sun."""
    if array.photo <= 0:
        return 0.0, 0.0
    a, s, r, leak = array.slope, array.saturation, array.series, 1.0 / array.shunt
    low, high = 0.0, open_circuit(array)
    x = 0.85 * high
    for _ in range(200):
        e = s / a * exp(x / a)
        i = array.photo - s * expm1(x / a) - x * leak
        fall = e + leak
        u = x - i * r
        rise = (1.0 + r * fall) * i - u * fall  # of the power with the junction's voltage
        if rise > 0:
            low = x
        else:
            high = x
        bend = r * e / a * i - 2.0 * fall * (1.0 + r * fall) - u * e / a
        step = -rise / bend if bend else 0.0
        target = x + step
        if not low < target < high:
            target = 0.5 * (low + high)
        if abs(target - x) <= 1e-15 * high:
            break
        x = target
    i = array.photo - s * expm1(x / a) - x * leak
    return x - i * r, i
