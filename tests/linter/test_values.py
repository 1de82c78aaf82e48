"""Numbers on their way out: three significant digits, the declared unit, measured and allowed in the same one."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from ohmwright.values import JSON_UNITS, Amount, amount, figures, shown, shown_pair
from ohmwright_grammar.quantities import Quantity


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0.0, "0"), (46.2341, "46.2"), (29.999999, "30"), (999.6, "1000"), (0.1, "0.1"), (0.00012345, "0.000123"), (0.00001, "1e-5"),
        (123456.0, "123000"), (1234567.0, "1.23e6"), (-0.5557, "-0.556"), (100.0, "100"), (1e-300, "1e-300"), (999999.0, "1e6"),
        (math.inf, "no number"), (math.nan, "no number"),
    ],
)  # fmt: skip
def test_three_significant_digits(value: float, text: str) -> None:
    assert figures(value) == text


@given(st.floats(min_value=1e-300, max_value=1e300))
def test_figures_are_within_half_of_the_last_digit(value: float) -> None:
    assert float(figures(value)) == pytest.approx(value, rel=0.00501)


@pytest.mark.parametrize(
    ("what", "text"),
    [
        (Amount(46.2, "current"), "46.2 A"), (Amount(0.0034, "current"), "3.4 mA"), (Amount(2500.0, "current"), "2.5 kA"),
        (Amount(0.12, "length"), "120 mm"), (Amount(1.2, "length"), "1.2 m"), (Amount(0.9, "length", "m"), "0.9 m"), (Amount(0.0, "length"), "0 m"),
        (Amount(0.0254, "length", "in"), "1 in"), (Amount(7200.0, "charge"), "2 Ah"), (Amount(0.125, "share"), "12.5 %"), (Amount(3.0, "count"), "3"),
        (Amount(25.0, "temperature"), "25 degC"), (Amount(25.0, "temperature", "degF"), "77 degF"), (Amount(5e-6, "area"), "5 mm2"),
        (Amount(12.0, "difference"), "12 K"), (Amount(0.5, "duty"), "12 h/day"), (Amount(90.0, "time"), "90 s"), (Amount(7200.0, "time"), "2 h"),
        (Amount(86400.0 * 40, "time"), "1.32 months"), (Amount(86400.0 * 3, "time"), "3 days"), (Amount(2.0, "no such dimension"), "2"),
    ],
)  # fmt: skip
def test_value_with_its_unit(what: Amount, text: str) -> None:
    assert shown(what) == text == str(what)


@pytest.mark.parametrize(
    ("measured", "limit", "pair"),
    [
        (Amount(0.9, "length"), Amount(1.2, "length"), ("0.9 m", "1.2 m")),
        (Amount(0.9, "length"), Amount(1.2, "length", "in"), ("35.4 in", "47.2 in")),
        (Amount(1.3, "length", "ft"), Amount(1.2, "length"), ("4.27 ft", "3.94 ft")),
        (Amount(25.0, "current"), Amount(24.999, "current"), ("25 A", "24.999 A")),
        (Amount(25.0, "current"), Amount(25.0, "current"), ("25 A", "25 A")),
        (Amount(0.001, "current"), Amount(5.0, "current"), ("0.001 A", "5 A")),
        (Amount(86400.0 * 40, "time"), Amount(86400.0 * 180, "time"), ("1.32 months", "5.92 months")),
        (Amount(0.03, "share"), Amount(0.1, "share"), ("3 %", "10 %")),
        (Amount(3.0, "count"), Amount(2.0, "count"), ("3", "2")),
    ],
)
def test_pair_in_one_unit(measured: Amount, limit: Amount, pair: tuple[str, str]) -> None:
    assert shown_pair(measured, limit) == pair


@given(st.floats(min_value=1e-6, max_value=1e6), st.floats(min_value=1e-6, max_value=1e6))
def test_pair_never_makes_different_values_look_alike(one: float, two: float) -> None:
    first, second = shown_pair(Amount(one, "current"), Amount(two, "current"))
    assert first.split()[1] == second.split()[1]
    if abs(one - two) > 1e-8 * max(one, two):
        assert first != second


@pytest.mark.parametrize(
    ("what", "value", "unit"),
    [
        (Amount(2.0, "voltage", "mV"), 2.0, "V"), (Amount(7200.0, "charge"), 2.0, "Ah"), (Amount(3600.0, "energy"), 1.0, "Wh"), (Amount(2.5e-6, "area"), 2.5, "mm2"),
        (Amount(60.0, "time", "min"), 60.0, "s"), (Amount(-12.0, "temperature", "degF"), -12.0, "degC"), (Amount(0.5, "share"), 0.5, "1"),
        (Amount(4.0, "count"), 4.0, "1"), (Amount(9.0, "let_through"), 9.0, "1"), (Amount(4.0, "difference"), 4.0, "degC"), (Amount(0.25, "mass"), 0.25, "kg"),
    ],
)  # fmt: skip
def test_units_of_results(what: Amount, value: float, unit: str) -> None:
    found, name = what.in_json()
    assert name == unit
    assert found == pytest.approx(value, rel=1e-12)


def test_results_know_the_contracted_units_only() -> None:
    """design.md section 6: V, A, W, ohm, m, mm2, s, degC, Ah, Wh, kg or 1."""
    assert {*JSON_UNITS.values(), "1"} == {"V", "A", "W", "ohm", "m", "mm2", "s", "degC", "Ah", "Wh", "kg", "1"}


def test_end_of_a_declared_quantity_keeps_its_unit() -> None:
    length = Quantity(1.0, 1.1, 1.2, "m")
    assert amount(length, "length", "high") == Amount(1.2, "length", "m")
    assert amount(length, "length") == Amount(1.1, "length", "m")
