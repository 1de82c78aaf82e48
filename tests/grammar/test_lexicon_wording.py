"""Sentences as builders say them, with the value that they mean in SI units.

Every figure is converted by hand from the definitions of the units (inch 0.0254 m, pound-force 4.448 N, month of 730 h); no other source.
"""

from __future__ import annotations

import math
from dataclasses import fields, is_dataclass
from typing import Any

import pytest
from ohmwright_grammar.kinds import kind_of
from ohmwright_grammar.parsing import parse
from ohmwright_grammar.properties import FactReader, Facts
from ohmwright_grammar.quantities import Gauge, Measure, Quantity


def plain(value: Any) -> Any:
    """Return a value as plain figures: a quantity as its nominal, a range as its ends, a record as its fields that were said."""
    if isinstance(value, Measure):
        return plain(value.value)
    if isinstance(value, Gauge):
        return value.text
    if isinstance(value, Quantity):
        return (value.low, value.high) if value.form in ("range", "tolerance") else value.nominal
    if isinstance(value, tuple):
        return tuple(plain(item) for item in value)
    if is_dataclass(value) and not isinstance(value, type):
        said = {field.name: plain(getattr(value, field.name)) for field in fields(value)}
        return {name: item for name, item in said.items() if item not in (None, "", ())}
    return value


SENTENCES: tuple[tuple[str, str, str, Any], ...] = (
    ("battery", "LFP", "chemistry", "LFP"),
    ("battery", "lithium iron phosphate", "chemistry", "LFP"),
    ("battery", "4 cells", "cells", 4),
    ("battery", "4S", "cells", 4),
    ("battery", "60 Ah", "capacity", {"charge": 216000.0}),
    ("battery", "100 Ah over 20 h", "capacity", {"charge": 360000.0, "over": 72000.0}),
    ("battery", "100 Ah at the 20 h rate", "capacity", {"charge": 360000.0, "over": 72000.0}),
    ("battery", "internal resistance 9 mohm", "internal_resistance", 0.009),
    ("battery", "9 mΩ", "internal_resistance", 0.009),
    ("battery", "rest 13.2 V at 70 %, 12.0 V at 0 %", "rest_voltages", ({"voltage": 13.2, "level": 0.7}, {"voltage": 12.0, "level": 0.0})),
    ("battery", "rest 13.4 V full", "rest_voltages", ({"voltage": 13.4, "level": 1.0},)),
    ("battery", "charge at most 30 A", "charge_current_limit", 30.0),
    ("battery", "charge current at most 30 A", "charge_current_limit", 30.0),
    ("battery", "maximum charge current 30 A", "charge_current_limit", 30.0),
    ("battery", "charge at most 14.6 V", "highest_charge_voltage", 14.6),
    ("battery", "charge at least 14.0 V", "lowest_charge_voltage", 14.0),
    ("battery", "charge advised at most 20 A", "charge_current_advised", 20.0),
    ("battery", "charge at 0 degC to 45 degC", "charge_temperatures", (0.0, 45.0)),
    ("battery", "charge at 32 degF to 113 degF", "charge_temperatures", (0.0, 45.0)),
    ("battery", "own drain 3 mA plus or minus 1 mA", "own_drain", (0.002, 0.004)),
    ("battery", "loses 3 % a month", "self_discharge", 0.03 / 2628000.0),
    ("battery", "self-discharge 3 %/month", "self_discharge", 0.03 / 2628000.0),
    ("battery", "3000 cycles at 80 %", "cycle_life", ({"cycles": 3000, "depth": 0.8},)),
    ("battery", "held down with 90 lbf", "hold_down_force", 400.34),
    ("battery", "moves at most 1 in", "hold_down_movement", 0.0254),
    ("battery", "gassing 1 A per 100 Ah", "gassing", {"current": 1.0, "per": 360000.0}),
    ("battery", "top up every 6 months", "top_up_interval", 15768000.0),
    ("battery", "cells 5 degC above the zone", "cells_above_zone", 5.0),
    ("battery", "cells 9 degF warmer", "cells_above_zone", 5.0),
    ("battery", "weighs 22 lb", "mass", 9.979),
    ("battery", "size 300 x 200 x 180 mm", "size", {"width": 0.3, "depth": 0.2, "height": 0.18}),
    ("battery", "size 300 mm by 20 cm by 0.18 m", "size", {"width": 0.3, "depth": 0.2, "height": 0.18}),
    ("battery", 'ratings from "Cells 2026" page 4 dated 2026-02-01', "rating_sources", None),
    ("battery", "in the lid", "zone", "lid"),
    ("battery", '2 spares in "lid pocket"', "spares", {"count": 2, "place": "lid pocket"}),
    ("bms", "peak 120 A for 3 s", "discharge_peak", {"current": 120.0, "time": 3.0}),
    ("bms", "no charge below 0 degC", "cold_charge_cut", 0.0),
    ("bms", "cuts charge and discharge", "cuts", "both"),
    ("bms", "opens below 10.8 V", "low_cut_off", 10.8),
    ("bms", "opens above 14.8 V", "high_trip", 14.8),
    ("array", "Voc falls 0.30 %/K", "voc_coefficient", 0.003),
    ("array", "Voc coefficient -0.30 %/K", "voc_coefficient", -0.003),
    ("array", "Voc -68 mV/K", "voc_coefficient_voltage", -0.068),
    ("array", "Voc 22.6 V", "voc", 22.6),
    ("array", "3 in series", "in_series", 3),
    ("array", "may be plugged as 3 in series and 1 in parallel", "other_arrangements", ({"series": 3, "parallel": 1},)),
    ("controller", "PV at most 50 V", "pv_voltage_limit", 50.0),
    ("controller", "PV at most 400 W", "pv_power_limit", 400.0),
    ("controller", "PV short-circuit current at most 25 A", "pv_current_limit", 25.0),
    ("controller", "for 12, 24 V batteries", "battery_voltages", {"voltages": (12.0, 24.0)}),
    ("controller", "12 V", "battery_voltages", {"voltages": (12.0,)}),
    ("controller", "charges LFP, AGM and gel", "chemistries", ("LFP", "AGM", "gel")),
    ("controller", "absorption 14.2 V", "absorption_voltage", 14.2),
    ("controller", "absorption for 30 min", "absorption_time", 1800.0),
    ("controller", "temperature compensation -24 mV/K", "temperature_compensation", -0.024),
    ("controller", "no current back into the array", "lets_current_back", False),
    ("controller", "bears no battery", "bears_no_battery", True),
    ("controller", "not bears no battery", "bears_no_battery", False),
    ("controller", "load output opens at 11 V", "load_cut_off", 11.0),
    ("controller", "array at most 3 times its rated power", "array_power_factor", 3.0),
    ("mains charger", "drains 1 mA unplugged", "drain_unplugged", 0.001),
    ("mains charger", "mains port isolated", "isolated_from_mains", True),
    ("inverter", "peak 1200 W for 2 s", "peak_power", {"power": 1200.0, "time": 2.0}),
    ("inverter", "230 V AC", "ac_voltage", 230.0),
    ("inverter", "12 V input", "nominal_voltage", 12.0),
    ("inverter", "input capacitance 10 mF", "input_capacitance", 0.01),
    ("inverter", "input capacitance 5 mohm", "input_capacitor_resistance", 0.005),
    ("inverter", "neutral never bonded", "neutral_bond", "never"),
    ("inverter", "neutral bonded only when alone", "neutral_bond", "only when alone"),
    ("inverter", "draws 8 W with no load", "no_load_draw", 8.0),
    ("converter", "input 9 V to 32 V", "input_window", (9.0, 32.0)),
    ("converter", "5 V", "output_voltage", 5.0),
    ("converter", "output floats", "isolated", True),
    ("converter", "not isolated", "isolated", False),
    ("inverter", "output floats", "ac_system", "floating"),
    ("inverter", "guarded by an RCD", "residual_current_device", True),
    ("state", "full sun", "sun", ({"level": 1000.0},)),
    ("state", "dark", "sun", ({"level": 0.0},)),
    ("state", "for 2 s", "lasts", 2.0),
    ("state", "for 3 h/day", "hours", 0.125),
    ("state", "pump runs at 40 A", "settings", ({"things": ("pump",), "how": "on", "level": 40.0},)),
    ("load", "60 W", "power", 60.0),
    ("load", "for 3 h/day", "hours", 0.125),
    ("load", "3 h a day", "hours", 0.125),
    ("load", "starts at 6 times for 0.5 s", "start", {"times": 6.0, "lasts": 0.5}),
    ("load", "starts at 30 A for 0.5 s", "start", {"current": 30.0, "lasts": 0.5}),
    ("load", "works on 10.5 V to 15 V", "voltage_window", (10.5, 15.0)),
    ("load", "works down to 20 %", "lowest_charge_level", 0.2),
    ("fuse", "in way 3 of ways", "joints", ({"terminal": "line", "at": "ways.3"},)),
    ("fuse", "line on house.plus", "joints", ({"terminal": "line", "at": "house.plus"},)),
    ("fuse", "40 A", "rated_current", 40.0),
    ("fuse", "bolt-down", "family", "bolt-down"),
    ("fuse", 'family "strip 58 V"', "family", "strip 58 V"),
    ("fuse", "breaks 2 kA at 32 V dc, 1 kA at 58 V dc", "breaks", ({"current": 2000.0, "at": 32.0}, {"current": 1000.0, "at": 58.0})),
    ("fuse", "32 V dc", "voltage_dc", 32.0),
    ("fuse", "lets through 30 kA2s at 2 kA", "let_through", ({"let_through": 3.0e7, "at": 2000.0},)),
    ("fuse", "opens in 0.5 s at 80 A, 60 s at 54 A", "curve", ({"time": 0.5, "current": 80.0}, {"time": 60.0, "current": 54.0})),
    ("fuse", "must open at 1.35 times its rating", "must_open", 1.35),
    ("fuse", "carries 90 % at 45 degC", "current_by_temperature", ({"share": 0.9, "temperature": 45.0},)),
    ("breaker", "2-pole", "poles", 2),
    ("breaker", "resets itself", "reset", "self"),
    ("switch", "breaks 50 A at 24 V dc", "breaks", ({"current": 50.0, "at": 24.0},)),
    ("switch", "50 A", "rated_current", 50.0),
    ("relay", "coil 1.8 W", "coil_power", 1.8),
    ("relay", "coil 150 mA", "coil_current", 0.15),
    ("relay", "normally open", "rest_position", "open"),
    ("relay", "rests closed", "rest_position", "closed"),
    ("selector", "position both joins one, two", "positions", ({"position": "both", "terminals": ("one", "two")},)),
    ("disconnect", "opens at 11.2 V", "opens_at", 11.2),
    ("shunt", "75 mV at 500 A", "rating", {"voltage": 0.075, "current": 500.0}),
    ("diode", "drops 0.5 V", "forward_drop", 0.5),
    ("fuse block", "100 A total", "rated_current", 100.0),
    ("fuse block", "30 A each", "way_current", 30.0),
    ("connector", "15 A", "rated_current", 15.0),
    ("connector", "has pins", "form", "pins"),
    ("connector", "load-break 10 A at 30 V", "load_break", {"current": 10.0, "at": 30.0}),
    ("connector", "not under load", "parted_under_load", False),
    ("connector", "IP67 mated", "ingress_mated", "IP67"),
    ("connector", "IP44 apart", "ingress_apart", "IP44"),
    ("connector", "IP20", "ingress", "IP20"),
    ("connector", "80 % with loaded neighbours", "neighbour_factor", 0.8),
    ("connector", "meets 1 to 2, 2 to 1", "pin_pairs", ({"pin": "1", "mate": "2"}, {"pin": "2", "mate": "1"})),
    ("pin", "+", "polarity", "plus"),
    ("pin", "mate last", "mates", "last"),
    ("pin", "part first", "parts", "first"),
    ("cable", "marked 13 A", "current_marking", 13.0),
    ("cable", "reel marked 660 W wound", "reel_wound", {"level": 660.0}),
    ("cable", "1760 W unwound", "reel_unwound", {"level": 1760.0}),
    ("cable", "used coiled", "coiled", True),
    ("cable", "in 3 layers", "coil_layers", 3),
    ("core", "cut back", "spare_end", "cut back"),
    ("wire", "8 AWG", "gauge", "8 AWG"),
    ("wire", "2/0 AWG", "gauge", "2/0 AWG"),
    ("wire", "6 mm²", "gauge", "6 mm2"),
    ("wire", "120 mm long", "length", 0.12),
    ("wire", "4 ft", "length", 1.2192),
    ("wire", "105 degC insulation", "insulation_temperature", 105.0),
    ("wire", "at 50 degC", "own_temperature", 50.0),
    ("wire", "tinned copper", "metal", "tinned copper"),
    ("wire", "green and yellow", "colour", "green and yellow"),
    ("wire", "bundled with 3 others over 0.4 m", "bundle", {"others": 3, "over": 0.4}),
    ("wire", "in a bundle of 4", "bundle", {"others": 3}),
    ("wire", "with 3 other wires over 0.4 m", "bundle", {"others": 3, "over": 0.4}),
    ("wire", "through gland1, through lid_hole", "holes", ("gland1", "lid_hole")),
    ("wire", "sleeved red at both ends", "sleeves", ({"colour": "red"},)),
    ("wire", "sleeve red at house.plus", "sleeves", ({"colour": "red", "at": "house.plus"},)),
    ("wire", "measured 3.2 mohm", "measured_resistance", 0.0032),
    ("wire", "in duct west", "duct", "west"),
    ("wire", "in lid", "zone", "lid"),
    ("wire", "in free air", "free_air", True),
    ("terminal", "takes 14 AWG to 6 AWG", "wire_range", {"range": ("14 AWG", "6 AWG")}),
    ("terminal", "wire range 14 to 6 AWG", "wire_range", {"range": ("14 AWG", "6 AWG")}),
    ("terminal", "takes up to 6 AWG", "wire_range", {"range": ("40 AWG", "6 AWG")}),
    ("terminal", "torque 35 in lb", "torque", 3.9545),
    ("terminal", "stud M8", "stud_size", "M8"),
    ("terminal", 'stud "5/16 in"', "stud_size", "5/16 in"),
    ("terminal", "stud", "kind", "stud"),
    ("terminal", "2 wires", "wires_allowed", 2),
    ("case", "inside 400 x 300 x 250 mm", "inside_size", {"width": 0.4, "depth": 0.3, "height": 0.25}),
    ("case", "walls pass 4.6 W/m2K", "heat_through_walls", 4.6),
    ("hole", "20 mm", "diameter", 0.02),
    ("hole", "gland 6 mm to 12 mm", "gland", (0.006, 0.012)),
    ("hole", "centre 40 x 60 mm", "centre", {"across": 0.04, "up": 0.06}),
    ("vent", "10 cm2", "free_area", 0.001),
    ("cover", "opens with a tool", "opens_by", "tool"),
    ("site", "sun by month 1.2, 2.4 h/day", "sun_by_month", {"hours": (0.05, 0.1)}),
    ("site", "sun 4.8 h a day", "sun", 0.2),
    ("site", "colours red for plus, black for minus", "colour_roles", ({"colour": "red", "role": "plus"}, {"colour": "black", "role": "minus"})),
    ("site", "not near petrol", "near_petrol", False),
    ("zone", "loose things kept here", "loose_things", True),
    ("interlock", "loop lamp_plug.3, lamp_plug.4, loop_wire", "members", ("lamp_plug.3", "lamp_plug.4", "loop_wire")),
    ("interlock", "enable current 150 mA", "enable_current", 0.15),
    ("require", "run pump, lamp for 4 h", "run", {"time": 14400.0, "loads": ("pump", "lamp")}),
    ("require", "run 60 W for 4 h", "run", {"time": 14400.0, "power": 60.0}),
    ("require", "on the shelf for 6 months", "shelf_time", 15768000.0),
    ("require", "shelf life 6 months", "shelf_time", 15768000.0),
    ("require", "shelf life of 6 months", "shelf_time", 15768000.0),
    ("require", "recharge by sun in 2 days", "recharge_by_sun", 172800.0),
    ("require", "recharge by mains in 8 h", "recharge_by_mains", 28800.0),
    ("require", "drop at lamp.plus at most 3 %", "drop", {"at": "lamp.plus", "drop": 0.03}),
    ("require", "cord of 10 m with drop at most 10 %", "cord", {"length": 10.0, "drop": 0.1}),
    ("require", "work from -10 degC to 40 degC", "work_temperatures", (-10.0, 40.0)),
    ("require", "accept 3 packs", "packs", 3),
    ("require", "3 days without sun", "days_without_sun", 259200.0),
    ("require", "fit 450 x 350 x 300 mm", "fits", {"width": 0.45, "depth": 0.35, "height": 0.3}),
    ("require", "last 8 years", "life", 252288000.0),
    ("require", "last 2000 cycles", "cycles", 2000),
    ("label", "size 40 x 15 mm", "size", {"width": 0.04, "height": 0.015}),
    ("procedure", "wait 10 s after switch-off", "wait_after_switch_off", 10.0),
    ("procedure", "store from 80 %", "storage_start_level", 0.8),
    ("step", "expect 12.8 V to 13.6 V", "expected", {"measure": (12.8, 13.6)}),
)  # fmt: skip


def _close(found: Any, expected: Any) -> bool:
    if isinstance(expected, dict):
        return found.keys() == expected.keys() and all(_close(found[name], item) for name, item in expected.items())
    if isinstance(expected, tuple):
        return len(found) == len(expected) and all(_close(one, other) for one, other in zip(found, expected, strict=True))
    if isinstance(expected, float):
        return math.isclose(found, expected, rel_tol=1e-4, abs_tol=1e-12)
    return bool(found == expected)


@pytest.mark.parametrize(
    ("words", "sentence", "field", "expected"), SENTENCES, ids=[f"{row[0]}, {row[1]}" for row in SENTENCES]
)
def test_a_sentence_means_what_a_builder_means(words: str, sentence: str, field: str, expected: Any) -> None:
    problems: list[Any] = []
    facts = Facts()
    FactReader("sample.rig", problems).statement(kind_of(words), "sample", parse(sentence, "sample.rig").statements[0], facts)
    assert not problems, problems[0].message
    assert list(facts.facts) == [field]
    if expected is not None:
        found = plain(facts.facts[field].value)
        assert _close(found, expected), f"{found} is not {expected}"


def test_rating_sources_keep_document_page_and_date() -> None:
    facts = Facts()
    statement = parse('ratings from "Cells 2026" page 4 dated 2026-02-01', "sample.rig").statements[0]
    FactReader("sample.rig", []).statement(kind_of("battery"), "sample", statement, facts)
    (source,) = facts.facts["rating_sources"].value
    assert (source.document, source.page, source.day.isoformat(), source.rating) == ("Cells 2026", "4", "2026-02-01", "")


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        ("load", "-5 W"),
        ("load", "0 ohm"),
        ("battery", "0 mohm"),
        ("battery", "charge at most -3 A"),
        ("battery", "usable 900 %"),
        ("battery", "0 cells"),
        ("wire", "-1 m"),
        ("wire", "at -300 degC"),
        ("fuse", "breaks -1 kA at 32 V"),
        ("site", "ambient 40 degC to -10 degC"),
        ("terminal", "takes 60 AWG"),
        ("load", "nan W"),
        ("load", "1e400 W"),
        ("load", "30 h a day"),
    ],
)  # fmt: skip
def test_a_value_out_of_any_sense_is_refused(words: str, sentence: str) -> None:
    problems: list[Any] = []
    facts = Facts()
    FactReader("sample.rig", problems).statement(kind_of(words), "sample", parse(sentence, "sample.rig").statements[0], facts)
    assert problems


def read(words: str, sentence: str) -> tuple[Facts, list[Any]]:
    """Read one statement of a kind."""
    problems: list[Any] = []
    facts = Facts()
    FactReader("sample.rig", problems).statement(kind_of(words), "sample", parse(sentence, "sample.rig").statements[0], facts)
    return facts, problems


def test_how_long_a_state_lasts_may_stand_after_what_runs() -> None:
    facts, problems = read("state", "pump on at 40 A for 2 s")
    assert not problems
    assert {name: plain(fact.value) for name, fact in facts.facts.items()} == {
        "settings": ({"things": ("pump",), "how": "on", "level": 40.0},),
        "lasts": 2.0,
    }


def test_hours_that_may_be_meant_for_each_day_are_asked_for() -> None:
    for sentence in ("pump on for 3 h", "for 3 h", "pump on at 4 A for 90 min"):
        facts, (problem,) = read("state", sentence)
        assert problem.rule == "wrong-unit", sentence
        assert "h/day" in problem.remedy
        assert "lasts" not in facts.facts
    assert plain(read("state", "lasts 3 h")[0].facts["lasts"].value) == 10800.0


def test_a_zone_has_no_temperature_in_a_state() -> None:
    problem, *_ = read("state", "attic at 45 degC")[1]
    assert "inside 45 degC" in problem.remedy


def test_isolated_alone_says_too_little_of_an_inverter() -> None:
    assert read("inverter", "isolated")[1]
    assert not read("mains charger", "isolated")[1]


@pytest.mark.parametrize(
    ("words", "field"), [("fuse", "make"), ("terminal", "plating"), ("case", "material"), ("connector", "keying")]
)
def test_none_is_a_word_between_quotation_marks_only(words: str, field: str) -> None:
    phrase = {"make": "made by", "plating": "plating", "material": "material", "keying": "keying"}[field]
    bare, problems = read(words, f"{phrase} none")
    assert not problems
    assert (bare.facts[field].value, bare.facts[field].answer) == (None, "none")
    quoted, problems = read(words, f'{phrase} "none"')
    assert not problems
    assert (quoted.facts[field].value, quoted.facts[field].answer) == ("none", "said")
