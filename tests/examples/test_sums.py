"""Numbers that the examples print, worked again from first principles: nothing here calls the code that made them.

Each sum stands with its constants and where they come from. Copper: 0.017241 ohm mm2/m at 20 degC, 0.00393 per kelvin, and the law
d = 0.127 x 92^((36 - n) / 39) mm for AWG (from memory, as the reference material has it). Ampacity: 33 CFR 183.425, Table 5.
"""

from __future__ import annotations

import importlib.util
import math
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[2]


def _tool() -> ModuleType:
    spec = importlib.util.spec_from_file_location("expect", ROOT / "tools" / "expect.py")
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


expect = _tool()


def found(path: str, name: str, subject: str) -> Any:
    """Return the finding (waived or not) of an example by rule.grade and chief subject."""
    build = expect.inspected(path)
    for item in (*build.findings, *build.waived):
        if f"{item.rule.id}.{item.grade.name}" == name and item.finding.subject[0] == subject:
            return item.finding
    raise AssertionError(f"{path} has no {name} on {subject}")


def area(awg: int) -> float:
    """Return the area of a conductor [mm2]."""
    return math.pi / 4 * (0.127 * 92 ** ((36 - awg) / 39)) ** 2


def ohm(awg: int, metres: float, celsius: float = 20.0) -> float:
    """Return the resistance of a conductor [ohm]."""
    return 0.017241 / area(awg) * metres * (1 + 0.00393 * (celsius - 20))


def air(insulation: float, celsius: float) -> float:
    """Return the factor for warm air: less rise is left to the insulation."""
    return math.sqrt((insulation - celsius) / (insulation - 30))


def test_the_tools_of_this_file() -> None:
    # the reference material prints 8.286, 5.211 and 2.061 mohm per metre for 14, 12 and 8 AWG
    assert ohm(14, 1) == pytest.approx(8.286e-3, rel=1e-3)
    assert ohm(12, 1) == pytest.approx(5.211e-3, rel=1e-3)
    assert ohm(8, 1) == pytest.approx(2.061e-3, rel=1e-3)
    # and sqrt(20 / 45) = 0.667 for insulation of 75 degC in a box of 55 degC
    assert air(75, 55) == pytest.approx(0.667, abs=5e-4)


def test_undersized_wire() -> None:
    # 14 AWG with insulation for 75 degC: 20 A in air of 30 degC; the site gets 35 degC warm; the pair is one circuit
    finding = found("faulty/undersized_wire.rig", "undersized-wire.over-ampacity", "feed")
    assert finding.measured.value == pytest.approx(22.0, rel=1e-9)
    assert finding.limit.value == pytest.approx(20 * math.sqrt((75 - 35) / (75 - 30)), rel=1e-9)  # 18.86 A


def test_wire_in_hot_box() -> None:
    # 12 AWG with insulation for 75 degC: 25 A; the zone gets 60 degC warm: sqrt(15 / 45) = 0.577
    finding = found("faulty/wire_in_hot_box.rig", "undersized-wire.over-ampacity", "feed")
    assert finding.limit.value == pytest.approx(25 * air(75, 60), rel=1e-9)  # 14.43 A


def test_coiled_cord() -> None:
    # 16 AWG cord: 13 A unwound (NEC Table 400.5(A)(1)), 60 degC insulation in 35 degC, reel marked 500 W wound of 2300 W unwound
    finding = found("faulty/coiled_cord.rig", "coiled-cord.over-wound", "reel")
    assert finding.limit.value == pytest.approx(13 * air(60, 35) * 500 / 2300, rel=1e-9)  # 2.58 A


def test_shared_return() -> None:
    # three times 12 A come back through 14 AWG with insulation for 105 degC: 35 A x sqrt(70 / 75)
    finding = found("faulty/shared_return.rig", "shared-return.over-ampacity", "return")
    assert finding.measured.value == pytest.approx(36.0, rel=1e-9)
    assert finding.limit.value == pytest.approx(35 * air(105, 35), rel=1e-9)  # 33.8 A


def test_hot_terminal() -> None:
    # 12 AWG in the 75 degC column: 25 A, whatever the wire itself bears
    finding = found("faulty/hot_terminal.rig", "hot-terminal.far-over", "feed")
    assert (finding.measured.value, finding.limit.value) == (pytest.approx(37.0), pytest.approx(25.0))


def test_cold_array() -> None:
    # two modules of 22.6 V, 0.30 %/K, record low -10 degC: 45.2 x (1 + 0.003 x 35) = 49.95 V
    finding = found("faulty/cold_voltage_too_high.rig", "cold-array-voltage.over-limit", "sun")
    assert finding.measured.value == pytest.approx(45.2 * 1.105, rel=1e-9)
    # the hill stand: two modules of 22.3 V, 0.29 %/K, record low -38 degC: 44.6 x (1 + 0.0029 x 63) = 52.75 V
    finding = found("hill_stand/hill_stand.rig", "cold-array-voltage.thin-margin", "sun")
    assert finding.measured.value == pytest.approx(44.6 * (1 + 0.0029 * 63), rel=1e-9)
    assert finding.limit.value == pytest.approx(0.95 * 55, rel=1e-9)  # 5 % are to be left


def test_hot_array() -> None:
    # one module of 17.2 V, 0.38 %/K, cells 30 K above 35 degC; 14.2 V of absorption and 1 V of headroom are needed, and the leads
    finding = found("faulty/hot_voltage_too_low.rig", "hot-array-voltage.too-low", "sun")
    assert finding.measured.value == pytest.approx(17.2 * (1 - 0.0038 * 40), rel=1e-9)  # 14.59 V
    # the leads: 2 m of 10 AWG each way, twice 5.4 A, copper in air of 35 degC
    drop = 10.8 * ohm(10, 4, 35)  # 0.150 V
    assert finding.limit.value == pytest.approx(14.2 + 1 + drop, rel=2e-3)


def test_array_current() -> None:
    # three modules of 5.9 A side by side, 1.25 times in bright sun
    finding = found("faulty/array_current_too_high.rig", "array-current.over-limit", "sun")
    assert finding.measured.value == pytest.approx(1.25 * 3 * 5.9, rel=1e-9)  # 22.1 A


def test_clipping() -> None:
    # four modules of 18.6 V x 5.4 A into a battery that is discharged to 11 V
    finding = found("faulty/array_larger_than_controller.rig", "over-panelled.clips", "sun")
    assert finding.measured.value == pytest.approx(4 * 18.6 * 5.4 / 11, rel=1e-9)  # 36.5 A


def test_first_build() -> None:
    # four full cells of 3.4 V behind 9 mohm, against the 1 kA of a blade fuse
    finding = found("first.rig", "weak-breaking.over-rating", "main")
    assert finding.measured.value == pytest.approx(13.6 / 0.009, rel=1e-9)  # 1.51 kA
    assert finding.limit.value == pytest.approx(1000.0, rel=1e-9)
    # 7 A through 0.4 m of 10 AWG (50 A) and twice 7 m of 16 AWG (20 A), in air of 30 degC, warmed by their own current
    feed = ohm(10, 0.4, 30 + (7 / 50) ** 2 * (80 - 30))
    leads = ohm(16, 14, 30 + (7 / 20) ** 2 * (80 - 30))
    finding = found("first.rig", "voltage-drop.over-class", "pump")
    assert finding.measured.value * 12 == pytest.approx(7 * (feed + leads), rel=2e-3)  # 1.38 V of 12 V
    assert finding.limit.value == pytest.approx(0.10, rel=1e-9)


def test_front_lamps_of_the_farm_stand() -> None:
    # state "all loads on": 1.43 A in the lamps, 6.0 A in all 12 V loads, 19.5 A through the main switch, 12.3 A out of the house battery (read
    # from `ohmwright solve`, to three digits); inside the box 50 degC, outside 36 degC; the cord is 16 AWG, twice 11 m
    lamps, loads, main, house = 1.43, 6.0, 19.5, 12.3
    millivolt = 1000 * (
        house * ohm(4, 0.20 + 0.25, 50)
        + main * (ohm(4, 0.25 + 0.20 + 0.15, 50) + 0.2e-3 + 50e-3 / 200)  # the switch, and the shunt of 50 mV at 200 A
        + loads * ohm(8, 0.4, 50)
        + lamps * (ohm(14, 0.4 + 0.3 + 0.5, 50) + 2 * 1e-3 + ohm(16, 22, 36))
    )
    finding = found("farm_stand/box.rig", "voltage-drop.over-class", "front_lamps")
    assert finding.measured.value * 12000 == pytest.approx(millivolt, rel=0.01)  # 489 mV; own heat of the cord adds a little
    assert finding.limit.value == pytest.approx(0.03, rel=1e-9)  # the drop matters


def test_storage_of_the_farm_stand() -> None:
    # 40 Ah may be used; management system 0.8 mA, monitor 0.4 mA, unplugged charger 0.3 mA; 2.5 % of 100 Ah a month
    build = expect.inspected("farm_stand/box.rig")
    promise = next(item for item in build.requirements if item.name.startswith("on the shelf"))
    months = 0.4 * 100 / (1.5e-3 * 730 + 2.5)  # 11.1
    assert promise.value.value == pytest.approx(months * 730 * 3600, rel=1e-9)


def test_short_shelf_life() -> None:
    # 7.2 of 12 Ah; the management system takes 1 mA, and 3 % of 12 Ah go a month
    finding = found("faulty/short_shelf_life.rig", "shelf-life.under-promise", "house")
    assert finding.measured.value == pytest.approx(7.2 / (1e-3 * 730 + 0.36) * 730 * 3600, rel=1e-9)  # 6.61 months


def test_parasites_of_the_cabin() -> None:
    # controller 12 mA and monitor 3 mA stay on; 5 mA for each of two strings
    finding = found("cabin/cabin.rig", "parasites.over-allowance", "east_high")
    assert finding.measured.value == pytest.approx(15e-3, rel=1e-9)
    assert finding.limit.value == pytest.approx(10e-3, rel=1e-9)


def test_collapse() -> None:
    # half full: 3.2833 V a cell; 18 mohm and twice 18.7 m of 10 AWG in 35 degC carry at most V^2 / (4 R)
    volt = 4 * (3.275 + (3.3 - 3.275) / 3)
    most = volt**2 / (4 * (0.018 + ohm(10, 37.4, 35)))  # 292 W
    finding = found("faulty/voltage_collapse.rig", "voltage-collapse.collapse", "winch")
    assert finding.measured.value == pytest.approx(most / 320, rel=2e-3)  # of the 320 W that are asked for


def test_fuses() -> None:
    # 80 % of 15 A in air of 35 degC, half a percent less for each kelvin over 25 degC
    finding = found("faulty/tired_fuse.rig", "nuisance-fuse.over-loading", "main")
    assert finding.limit.value == pytest.approx(0.8 * 15 * 0.95, rel=1e-9)  # 11.4 A
    # four full cells of 3.4 V behind 4 mohm
    finding = found("faulty/weak_fuse.rig", "weak-breaking.over-rating", "main")
    assert finding.measured.value == pytest.approx(13.6 / 0.004, rel=1e-9)  # 3.4 kA
    # 14 AWG for 105 degC: 35 A; 1.5 times that in air of 35 degC
    finding = found("faulty/oversized_fuse.rig", "oversized-fuse.too-large", "feed")
    assert finding.limit.value == pytest.approx(1.5 * 35 * air(105, 35), rel=1e-9)  # 50.7 A


def test_idle_inverter() -> None:
    # 12 W for a day, of 12.8 V x 100 Ah
    finding = found("faulty/inverter_left_on.rig", "idle-inverter.over-a-twentieth", "power")
    assert finding.measured.value == pytest.approx(288 * 3600, rel=1e-9)  # J


def test_load_output() -> None:
    # the pump of 8 A starts with four times that
    finding = found("faulty/load_output_overloaded.rig", "load-output.start", "sun")
    assert (finding.measured.value, finding.limit.value) == (pytest.approx(32.0), pytest.approx(20.0))


def test_short_circuit_at_the_packs_post_of_the_farm_stand() -> None:
    # 13.6 V; house battery 5 mohm (6 less its tolerance) behind 0.20 m of 4 AWG; three packs of 11 mohm, each behind two plus leads of 0.25 m,
    # joined by cords of 1 m and 0.4 m in the box, all 6 AWG; only plus conductors count, at 20 degC
    house = 0.005 + ohm(4, 0.20)
    pack, step = 0.011 + ohm(6, 0.25), ohm(6, 0.25 + 1.0 + 0.25)
    third = 1 / (1 / pack + 1 / (pack + step))  # third pack with its step, beside the second
    second = 1 / (1 / pack + 1 / (third + step))
    packs = second + ohm(6, 0.25 + 1.0 + 0.4)
    kept = next(
        item.passed
        for item in expect.inspected("farm_stand/box.rig").passes
        if item.rule.id == "weak-breaking" and item.passed.subject[0] == "sun_fuse"
    )
    assert kept.measured.value == pytest.approx(13.6 / house + 13.6 / packs, rel=1e-6)  # 2.63 kA + 1.99 kA


def test_feeds_of_the_main_switch_of_the_farm_stand() -> None:
    # 80 A from the house battery, 60 A from the packs, 20 A from the sun, 20 A from the mains charger; 4 AWG carries 160 A, less in
    # 44 degC by the law of the temperature rise, and 1.5 times that may come in on us-small-craft
    kept = next(
        item.passed
        for item in expect.inspected("farm_stand/box.rig").passes
        if item.rule.id == "two-feeds" and item.passed.subject[0] == "main_in"
    )
    assert kept.measured.value == pytest.approx(80 + 60 + 20 + 20, rel=1e-9)
    assert kept.limit.value == pytest.approx(1.5 * 160 * air(105, 44), rel=1e-9)  # 216 A


def test_pump_of_the_cabin() -> None:
    # 140 W at the lowest voltage of a string of two blocks, 2 x 10.8 V; half an hour a day is not continuous and counts 80 %
    kept = next(
        item.passed
        for item in expect.inspected("cabin/cabin.rig").passes
        if item.rule.id == "nuisance-fuse" and item.passed.subject[0] == "pump_breaker"
    )
    assert kept.measured.value == pytest.approx(0.8 * 140 / 21.6, rel=1e-9)  # 0.8 x 6.48 A
