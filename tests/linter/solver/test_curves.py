"""Curves of junctions and constant power against their own equations (arithmetic; derivatives by differences)."""

from __future__ import annotations

from math import exp, inf, isnan, log

import pytest
from ohmwright.solver import Array, Diode
from ohmwright.solver.curves import Junction, PowerFeed

DIODE = Diode("d", 0, 1, 1e-9, 0.03, 0.01)
ARRAY = Array("pv", 0, 1, 6.0, 2.5e-9, 1.0, 0.2, 200.0)
PERFECT = Array("pv", 0, 1, 6.0, 2.5e-9, 1.0, 0.0, inf)


def taken(element: Diode | Array, volt: float) -> float:
    """The current by the equation, with the series resistance solved by bisection."""
    series = element.ohm if isinstance(element, Diode) else element.series
    leak = 1e-15 if isinstance(element, Diode) else 1 / element.shunt
    photo = element.photo if isinstance(element, Array) else 0.0

    def inner(x: float) -> float:
        return element.saturation * (exp(x / element.slope) - 1) + x * leak - photo

    low, high = -100.0, 30.0 if isinstance(element, Array) else 1.0
    for _ in range(200):
        middle = (low + high) / 2
        low, high = (middle, high) if middle + inner(middle) * series < volt else (low, middle)
    return inner(low)


@pytest.mark.parametrize("element", [DIODE, ARRAY, PERFECT])
@pytest.mark.parametrize("part", [-5.0, -0.1, 0.0, 0.3, 0.9, 0.97])
def test_value_is_that_of_the_equation(element: Diode | Array, part: float) -> None:
    volt = part * (20.0 if isinstance(element, Array) else 0.6)
    assert Junction(element).value(volt) == pytest.approx(taken(element, volt), rel=1e-9, abs=1e-12)


def test_voltage_at_a_current_without_a_shunt() -> None:
    """a ln((I + photo) / s + 1)."""
    assert Junction(PERFECT).at_current(-5.0) == pytest.approx(1.0 * log(1.0 / 2.5e-9 + 1), rel=1e-14)
    assert Junction(PERFECT).open == pytest.approx(log(6.0 / 2.5e-9 + 1), rel=1e-14)


@pytest.mark.parametrize("element", [DIODE, ARRAY])
def test_slope_and_bend_are_the_derivatives(element: Diode | Array) -> None:
    junction = Junction(element)
    volt, step = (19.0, 1e-3) if isinstance(element, Array) else (0.5, 1e-4)
    junction.place(volt)
    value, slope = junction.linearise(volt)
    less, more = junction.value(volt - step), junction.value(volt + step)
    assert value == pytest.approx(junction.value(volt), rel=1e-12)
    assert slope == pytest.approx((more - less) / (2 * step), rel=1e-5)
    assert junction.bend(volt) == pytest.approx((more - 2 * value + less) / step**2, rel=1e-4)


def test_a_value_that_is_no_number_ends_the_search() -> None:
    """Nothing hangs: where no root exists the search stops by its bound, and says that it has no number."""
    junction = Junction(ARRAY)
    assert isnan(junction.at_current(float("nan")))
    assert isnan(junction.at_voltage(float("nan")))


@pytest.mark.parametrize(
    "element",
    [
        Diode("bad", 0, 1, 0.0, 0.03),
        Diode("bad", 0, 1, 1e-9, 0.0),
        Diode("bad", 0, 1, 1e-9, 0.03, -0.1),
        Array("bad", 0, 1, 6.0, 2.5e-9, 1.0, 0.2, -200.0),
    ],
)
def test_what_is_no_junction_is_named(element: Diode | Array) -> None:
    with pytest.raises(ValueError, match="bad: a junction needs"):
        Junction(element)


def test_constant_power_against_arithmetic() -> None:
    """60 W: 5 A at 12 V, 2.5 A at 24 V; dI/dU = P / U^2, d2I/dU2 = -2 P / U^3, all counted as taken."""
    feed = PowerFeed(60.0, 12.0)
    assert (feed.volt, feed.current, feed.steep) == (12.0, -5.0, pytest.approx(60 / 144))
    assert (feed.value(24.0), feed.value(0.0), feed.value(-1.0)) == (-2.5, 0.0, 0.0)
    assert feed.bend(12.0) == pytest.approx(-120 / 1728)
    assert feed.linearise(24.0) == (-2.5, pytest.approx(60 / 576))
    assert feed.settled


def test_constant_power_falls_in_steps_and_never_below_nothing() -> None:
    """From 12 V towards 1 V the tangent asks for 9.58 A, which 60 W give at 6.26 V: that is the next working point, not 1 V."""
    feed = PowerFeed(60.0, 12.0)
    asked = 5.0 + 60 / 144 * 11
    assert feed.linearise(1.0)[1] == pytest.approx(asked**2 / 60)
    assert not feed.settled
    assert feed.volt == pytest.approx(60 / asked)
    for _ in range(30):
        feed.linearise(1.0)
    assert feed.settled
    assert feed.volt == 1.0
    feed.place(-3.0)
    assert feed.volt == feed.least == pytest.approx(12e-6)
