"""What rules make of a circuit whose only states collapse: the current that its loads ask for counts (readings, Design current, (b)), not none."""

from __future__ import annotations

import pytest

BUILD = """rig "Far lamp", revision 1
basis us-small-craft
site { ambient 0 degC to 30 degC }
battery house { LFP, 4 cells, 100 Ah; internal resistance 4 mohm; bms { discharge at most LIMIT } }
fuse main { blade; 15 A; 32 V dc }
load lamp { POWER; works on 10 V to 15 V }
load radio { 0.3 A; works on 10 V to 15 V }
all wires { 105 degC insulation; 600 V insulation; in free air; copper }
wire top from house.plus to main.line { 10 AWG; 0.1 m }
wires 18 AWG, 25 m {
  feed from main.load to lamp.plus
  return from lamp.minus to house.minus
}
wires 16 AWG, 2 m {
  feed2 from main.load to radio.plus
  return2 from radio.minus to house.minus
}
"""


def build(power: str = "120 W", limit: str = "100 A") -> str:
    return BUILD.replace("POWER", power).replace("LIMIT", limit)


def test_a_thin_wire_of_a_circuit_that_collapses_is_no_wire_under_one_ampere(said) -> None:  # type: ignore[no-untyped-def]
    """120 W at 10 V are 12 A; 2 x 25 m of 18 AWG (21 mohm/m) carry at most U^2 / 4 R = 42 W of it."""
    assert said(build(), "voltage_collapse").grades == [("lamp", "collapse", "error")]
    assert [item[:2] for item in said(build(), "fragile_wire").grades] == [("feed", "single"), ("return", "single")]
    assert said(build("9 W"), "fragile_wire").grades == []


def test_what_is_asked_for_counts_in_conductors_fuses_and_batteries(said) -> None:  # type: ignore[no-untyped-def]
    fused = said(build(), "nuisance_fuse").finding("main")  # 12 + 0.3 A through 15 A x 0.8
    assert fused.measured.value == pytest.approx(12.3)
    assert any("which collapses" in step.expression for step in fused.working)
    assert said(build(), "undersized_wire").passed("feed").measured.value == pytest.approx(12.0)
    assert said(build(limit="12 A"), "overdrawn_battery").finding("house", "continuous").measured.value == pytest.approx(12.3)
    assert said(build(limit="12.4 A"), "overdrawn_battery").grades == []
