"""Units: the shipped table says what pint says, unusual units go to pint itself, and conversion there and back changes nothing.

Sources: international yard and pound of 1959 (1 in = 25.4 mm, 1 lb = 0.45359237 kg); standard gravity 9.80665 m/s2 (CGPM 1901); degF by its definition.
"""

from __future__ import annotations

import math
import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st
from ohmwright_grammar.quantities import DIMENSIONS
from ohmwright_grammar.units import (
    dimension_of_unit,
    dimensions_of,
    from_si,
    is_unit_of,
    plain_symbol,
    registry,
    to_si,
    units_of,
)

SYMBOLS = [(dimension.name, symbol) for dimension in DIMENSIONS.values() for symbol in dimension.symbols]


@pytest.mark.parametrize(("name", "symbol"), SYMBOLS)
def test_every_symbol_is_what_pint_says(name: str, symbol: str) -> None:
    dimension = DIMENSIONS[name]
    units = registry()
    target = units.Unit(dimension.unit if dimension.unit != "_" else "share")
    for value in (0.0, 1.0, 37.5, 1000.0):
        wanted = units.Quantity(value, units.Unit(dimension.symbols[symbol])).to(target).magnitude
        assert to_si(value, symbol, dimension) == pytest.approx(wanted, rel=1e-12, abs=1e-12)


@pytest.mark.parametrize(
    ("value", "symbol", "name", "wanted"),
    [
        (9, "mohm", "resistance", 0.009), (3, "mA", "current", 0.003), (1, "in", "length", 0.0254), (1, "ft", "length", 0.3048),
        (1, "lb", "mass", 0.45359237), (32, "degF", "temperature", 0.0), (212, "degF", "temperature", 100.0), (0, "K", "temperature", -273.15),
        (18, "degF", "difference", 10.0), (60, "Ah", "charge", 216000.0), (24, "h/day", "duty", 1.0), (7, "%", "share", 0.07), (16, "mm2", "area", 16e-6),
        (1, "lbf", "force", 4.4482216152605), (3, "%/month", "share_rate", 0.03 / (730 * 3600)), (2, "uF", "capacitance", 2e-6), (5, "USD", "money", 5.0),
    ],
)  # fmt: skip
def test_conversions_that_anyone_can_check(value: float, symbol: str, name: str, wanted: float) -> None:
    assert to_si(value, symbol, DIMENSIONS[name]) == pytest.approx(wanted, rel=1e-15, abs=1e-13)


def test_parts_of_whole_numbers_are_exact() -> None:
    assert to_si(9, "mohm", DIMENSIONS["resistance"]) == 0.009
    assert to_si(24, "h/day", DIMENSIONS["duty"]) == 1.0
    assert to_si(32, "degF", DIMENSIONS["temperature"]) == 0.0


@given(st.sampled_from(SYMBOLS), st.floats(-1e6, 1e6))
def test_there_and_back(unit: tuple[str, str], value: float) -> None:
    name, symbol = unit
    there = to_si(value, symbol, DIMENSIONS[name])
    assert there is not None
    assert from_si(there, symbol, name) == pytest.approx(value, rel=1e-12, abs=1e-9)


@pytest.mark.parametrize(
    ("symbol", "name", "factor"),
    [
        ("GW", "power", 1e9),
        ("uV", "voltage", 1e-6),
        ("mil", "length", 25.4e-6),
        ("MN", "force", 1e6),
        ("nF", "capacitance", 1e-9),
    ],
)
def test_unusual_units_go_to_pint(symbol: str, name: str, factor: float) -> None:
    dimension = DIMENSIONS[name]
    if symbol == "GW":
        assert to_si(1.0, symbol, dimension) is None  # giga is no prefix of this language
        return
    assert symbol not in dimension.symbols
    assert to_si(1.0, symbol, dimension, usual_only=True) is None
    assert to_si(1.0, symbol, dimension) == pytest.approx(factor, rel=1e-12)
    assert dimension_of_unit(symbol) == name


@pytest.mark.parametrize(
    "word", ["in parallel", "spare", "x", "", "1/s", "V V", "volt-ish", "__import__", "V**9**9", "lamp", "e", "()"]
)
def test_words_are_no_units(word: str) -> None:
    assert all(not is_unit_of(word, dimension) for dimension in DIMENSIONS.values())


def test_case_counts() -> None:
    assert to_si(1, "mW", DIMENSIONS["power"]) == 1e-3
    assert to_si(1, "MW", DIMENSIONS["power"]) == 1e6
    assert to_si(1, "v", DIMENSIONS["voltage"]) is None
    assert dimensions_of("ma") == frozenset()


@pytest.mark.parametrize(
    ("typographic", "plain"),
    [
        ("mΩ", "mohm"), ("m\u2126", "mohm"), ("°C", "degC"), ("℃", "degC"), ("µA", "uA"), ("μA", "uA"), ("mm²", "mm2"), ("W/m²K", "W/m2K"), ("N·m", "N m"),
    ],
)  # fmt: skip
def test_typographic_units_have_a_plain_spelling(typographic: str, plain: str) -> None:
    assert plain_symbol(typographic) == plain
    assert dimensions_of(plain)


def test_units_in_words() -> None:
    assert units_of(DIMENSIONS["share"]) == "%"
    assert units_of(DIMENSIONS["voltage"]) == "V, mV or kV"


def test_a_usual_build_is_read_without_pint() -> None:
    program = (
        "import sys\n"
        "from ohmwright_grammar.files import MemoryFiles\nfrom ohmwright_grammar.resolve import Loader, resolve\n"
        "text = 'rig \"A\"\\nbattery b { LFP; 60 Ah; internal resistance 9 mohm }\\nbus h 3 A\\nwire w from b.plus to h, 10 AWG, 2 ft, red\\n'\n"
        "found = resolve('a.rig', Loader(MemoryFiles({'a.rig': text})))\n"
        "assert not found.problems\n"
        "print('pint' in sys.modules, 'jsonschema' in sys.modules, 'asyncio' in sys.modules)\n"
    )
    said = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert said.stdout.split() == ["False", "False", "False"]


def test_the_registry_knows_no_more_prefixes_than_its_file() -> None:
    assert math.isclose(registry().Quantity(1, "kV").to("V").magnitude, 1000.0)
    with pytest.raises(Exception, match="not defined"):
        registry().Unit("parsec")


def test_the_examples_of_the_docstrings() -> None:
    import doctest

    import ohmwright_grammar.units

    ran = doctest.testmod(ohmwright_grammar.units)
    assert ran.attempted >= 2
    assert ran.failed == 0


def test_a_value_too_small_to_hold_is_plain_zero() -> None:
    """The smallest float times a factor below one is nought, of either sign; it is kept and printed as 0 (IEEE 754, gradual underflow)."""
    found = to_si(-5e-324, "%/K", DIMENSIONS["per_kelvin"])
    assert (found, math.copysign(1.0, found or 0.0)) == (0.0, 1.0)
