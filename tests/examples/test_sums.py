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
    assert (finding.measured.value, finding.limit.value) == (pytest.approx(40.0), pytest.approx(25.0))


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
