"""Values in all their forms, read from statements."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest
from ohmwright_grammar.kinds.array import Array
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.conductor import Wire
from ohmwright_grammar.kinds.connector import Half
from ohmwright_grammar.kinds.controller import Controller
from ohmwright_grammar.kinds.enclosure import Enclosure
from ohmwright_grammar.kinds.procedure import Expected, Step
from ohmwright_grammar.kinds.site import Site
from ohmwright_grammar.quantities import Gauge, Quantity
from ohmwright_grammar.things import Thing

sys.path.insert(0, str(Path(__file__).parent))
from test_printing import read_facts


def value(kind: type[Thing], sentence: str, name: str) -> object:
    """Return what one statement says of a datum."""
    facts, problems = read_facts(kind, sentence)
    assert not problems, problems[0].message
    return facts.facts[name].value


FORMS = [
    ("store at 25 degC", (25, 25, 25, "degC", "plain")),
    ("store at -5 degC to 25 degC", (-5, 10, 25, "degC", "range")),
    ("store at -5 to 25 degC", (-5, 10, 25, "degC", "range")),
    ("store at 41 degF to 25 degC", (5, 15, 25, "degC", "range")),
    ("store at 25 degC plus or minus 5 degC", (20, 25, 30, "degC", "tolerance")),
    ("store at 25 degC plus or minus 5 K", (20, 25, 30, "degC", "tolerance")),
    ("store between -5 degC and 25 degC", (-5, 10, 25, "degC", "range")),
    ("store between -5 and 25 degC", (-5, 10, 25, "degC", "range")),
    ("store at at most 25 degC", (-273.15, 25, 25, "degC", "at most")),
    ("store at at most -5 degC", (-273.15, -5, -5, "degC", "at most")),
    ("store at at least -5 degC", (-5, -5, 2000, "degC", "at least")),
    ("own drain 3 mA", (0.003, 0.003, 0.003, "mA", "plain")),
    ("own drain 3mA", (0.003, 0.003, 0.003, "mA", "plain")),
    ("own drain 3 mA plus or minus 1 mA", (0.002, 0.003, 0.004, "mA", "tolerance")),
    ("own drain 3 mA plus or minus 10 %", (0.0027, 0.003, 0.0033, "mA", "tolerance")),
    ("own drain at most 3 mA", (0, 0.003, 0.003, "mA", "at most")),
    ("own drain at least 3 mA", (0.003, 0.003, 1e7, "mA", "at least")),
    ("own drain 2 mA to 0.004 A", (0.002, 0.003, 0.004, "A", "range")),
    ("own drain .5 mA", (0.0005, 0.0005, 0.0005, "mA", "plain")),
    ("own drain 5e-1 mA", (0.0005, 0.0005, 0.0005, "mA", "plain")),
    ("usable 60 % plus or minus 10 %", (0.54, 0.6, 0.66, "%", "tolerance")),
]


@pytest.mark.parametrize(("sentence", "wanted"), FORMS)
def test_forms(sentence: str, wanted: tuple[float, float, float, str, str]) -> None:
    facts, problems = read_facts(Battery, sentence)
    assert not problems
    ((_, fact),) = facts.facts.items()
    found = fact.value
    assert isinstance(found, Quantity)
    assert (found.low, found.nominal, found.high) == pytest.approx(wanted[:3], rel=1e-12, abs=1e-12)
    assert (found.unit, found.form) == wanted[3:]
    assert found.exact == (found.form == "plain")


def test_a_minus_sign_of_any_kind() -> None:
    assert value(Battery, "store at −5 degC", "storage_temperatures") == value(
        Battery, "store at -5 degC", "storage_temperatures"
    )


def test_a_list_has_its_unit_once_at_its_end_or_everywhere() -> None:
    once = value(Site, "sun by month 1.1, 1.9, 3 h/day", "sun_by_month")
    each = value(Site, "sun by month 1.1 h/day, 1.9 h/day, 3 h/day", "sun_by_month")
    assert once == each
    assert once == value(Site, "sun by month 1.1, 1.9 and 3 h/day", "sun_by_month")
    _, problems = read_facts(Site, "sun by month 1.1, 1.9 h/day, 3")
    assert problems


def test_a_list_of_voltages_may_be_joined_by_and() -> None:
    once = value(Controller, "for 12, 24 V batteries", "battery_voltages")
    assert once == value(Controller, "for 12 V and 24 V batteries", "battery_voltages")
    assert once == value(Controller, "for 12 and 24 V batteries", "battery_voltages")


def test_what_is_known_at_its_upper_end_alone_has_no_lower_end_of_its_own() -> None:
    """A coefficient that is negative is not bounded by nothing, which lies above it."""
    found = value(Array, "Voc coefficient at most -0.3 %/K", "voc_coefficient")
    assert isinstance(found, Quantity)
    assert found.low < found.high == pytest.approx(-0.003)


@pytest.mark.parametrize(
    ("sentence", "low", "high"),
    [
        ("expect between 12 V and 13 V", 12, 13),
        ("expect between 12 and 13 V", 12, 13),
        ("expect 12 to 13 V", 12, 13),
        ("expect at most 50 mV", 0, 0.05),
    ],
)
def test_an_expected_reading_takes_every_form(sentence: str, low: float, high: float) -> None:
    found = value(Step, sentence, "expected")
    assert isinstance(found, Expected)
    assert isinstance(found.measure.value, Quantity)
    assert (found.measure.value.low, found.measure.value.high) == pytest.approx((low, high))


def test_a_size_has_its_unit_once_at_its_end_or_everywhere() -> None:
    once = value(Enclosure, "inside 300 x 200 x 180 mm", "inside_size")
    assert once == value(Enclosure, "inside 300 mm by 200 mm by 180 mm", "inside_size")
    assert once == value(Enclosure, "inside 300 × 200 × 180 mm", "inside_size")


@pytest.mark.parametrize(
    ("sentence", "text", "area"),
    [
        ("10 AWG", "10 AWG", 5.26e-6), ("2/0 AWG", "2/0 AWG", 67.4e-6), ("0 AWG", "1/0 AWG", 53.5e-6), ("4 mm2", "4 mm2", 4e-6), ("4 mm²", "4 mm2", 4e-6),
        ("0.75mm2", "0.75 mm2", 0.75e-6), ("10awg", "10 AWG", 5.26e-6),
    ],
)  # fmt: skip
def test_sizes_of_conductors(sentence: str, text: str, area: float) -> None:
    """Areas of ASTM B258 to three digits."""
    found = value(Wire, sentence, "gauge")
    assert isinstance(found, Gauge)
    assert found.text == text
    assert found.area == pytest.approx(area, rel=2e-3)


def test_a_range_of_sizes_goes_from_thin_to_thick() -> None:
    for sentence in ("takes 14 AWG to 4 AWG", "takes 4 AWG to 14 AWG", "takes 14 to 4 AWG"):
        found = value(Half, sentence, "wire_range")
        assert [gauge.text for gauge in found.range] == ["14 AWG", "4 AWG"]  # type: ignore[attr-defined]


REFUSED = [
    ("internal resistance 9", "missing-unit"), ("internal resistance 9 V", "wrong-unit"), ("internal resistance 9 ohmz", "unknown-unit"),
    ("internal resistance -9 mohm", "senseless-value"), ("internal resistance 0 ohm", "senseless-value"), ("usable 900 %", "senseless-value"),
    ("store at 25 degC to 5 degC", "senseless-value"), ("store between 25 degC and 5 degC", "senseless-value"), ("store between 5 degC", None),
    ("store between 5 degC to 25 degC", None), ("store between 5 and 25", "missing-unit"), ("cycle life 1.5 cycles at 50 %", "senseless-value"), ("internal resistance 1e400 ohm", "senseless-value"),
    ("internal resistance nan ohm", "senseless-value"), ("store at -300 degC", "senseless-value"), ("made 2026-02-30", "senseless-value"),
    ("own drain 3 mA plus or minus 1", "missing-unit"), ("own drain 3 mA plus or minus 1 V", "wrong-unit"), ("own drain 3 to 5", "missing-unit"),
    ("own drain 3 mohm to 5 mA", "wrong-unit"), ("internal resistance inf ohm", "senseless-value"), ("internal resistance 9 mohm 8 mohm", None),
]  # fmt: skip


@pytest.mark.parametrize(("sentence", "rule"), REFUSED)
def test_what_makes_no_sense_is_refused(sentence: str, rule: str | None) -> None:
    facts, problems = read_facts(Battery, sentence)
    assert len(problems) == 1, [problem.message for problem in problems]
    if rule is not None:
        assert problems[0].rule == rule, problems[0].message
        assert not facts.facts or " to " in sentence  # what was understood before the mistake is kept
