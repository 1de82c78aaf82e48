"""A controller with a common plus, which switches its minus: what it gives, and what its arrays hold, in the rules of switches, feeds and drops.

Worked out by hand: the battery reaches the plus leads of the arrays through the controller; what the controller gives comes out of these leads and adds nothing
there; the arrays' voltage below the battery's minus stands across nothing that only the battery's current takes.
"""

from __future__ import annotations

import pytest

BUILD = """rig "Field hut", revision 1
basis us-premises
system 12 V
site { ambient -8 degC to 34 degC; record low -10 degC }
all wires { copper; 90 degC insulation; in free air }
battery house { AGM, 6 cells, 80 Ah; internal resistance 6 mohm }
fuses { main 60 A; sun_fuse SUN A; lamp_fuse 5 A }
switches { mains { 60 A; breaks 60 A at 30 V dc }; roof { 30 A; 2 poles; breaks 30 A at 60 V dc }; light { 10 A; breaks 10 A at 30 V dc } }
array panels { Voc 22.6 V; Vmp 18 V; Isc 6.2 A; Imp 5.8 A; Voc -0.30 %/K; Vmp -0.36 %/K; 2 in series }
controller sun { MPPT; 20 A; PV at most 75 V; absorption 14.4 V; no equalise; no temperature compensation; common positive; no current back into the array }
load lamp { 2 A; works on 10 V to 16 V }
buses { plusbar 100 A; minusbar 100 A }
wires 10 AWG, 0.5 m {
  a from house.plus to main.line
  b from main.load to mains.line
  c from mains.load to plusbar
  d from minusbar to house.minus
  e from plusbar to sun_fuse.line
  f from sun_fuse.load to sun.batt_plus
  g from minusbar to sun.batt_minus
  i from panels.plus to roof.line
  j from roof.load to sun.pv_plus
  k from sun.pv_minus to roof.load2
  l from roof.line2 to panels.minus
  m from plusbar to lamp_fuse.line
}
wires 14 AWG, 1 m {
LIGHT
}
"""
LINE = "  n from lamp_fuse.load to light.line\n  o from light.load to lamp.plus\n  p from lamp.minus to minusbar"
RETURN = "  n from lamp_fuse.load to lamp.plus\n  o from lamp.minus to light.line\n  p from light.load to sun.load_minus"


def build(light: str = LINE, sun: str = "20", roof: str = "30 A; 2 poles; breaks 30 A at 60 V dc") -> str:
    return BUILD.replace("LIGHT", light).replace("SUN", sun).replace("30 A; 2 poles; breaks 30 A at 60 V dc", roof)


@pytest.mark.parametrize("light", [LINE, RETURN])
def test_the_arrays_voltage_stands_across_their_own_switch_only(said, light: str) -> None:  # type: ignore[no-untyped-def]
    """2 x 22.6 V x 1.105 = 49.9 V across the switch of the panels; the lamp's and the main one part the battery's voltage."""
    found = said(build(light), "arcing_switch")
    assert found.grades == []
    assert {item.subject[0] for item in found.passes} == {"mains", "roof", "light"}
    weak = said(build(light, roof="30 A; 2 poles; breaks 30 A at 49 V dc"), "arcing_switch")
    assert weak.grades == [("roof", "high-voltage", "error")]


def test_a_controller_feeds_nothing_into_the_leads_of_its_own_arrays(said) -> None:  # type: ignore[no-untyped-def]
    """40 A through sun_fuse are what can come to the panels' switch; 20 A of the controller do not add (F19), nor in the wires there (F9)."""
    assert said(build(sun="40"), "weak_part").finding("roof").measured.value == pytest.approx(40.0)
    assert said(build(sun="25"), "weak_part").passed("roof").measured.value == pytest.approx(25.0)
    told = said(build(sun="40"), "two_feeds")
    names = {item.subject[0] for item in (*told.findings, *told.passes)}
    assert names.isdisjoint({"i", "j"})
    assert "m" in names  # the lamp's lead is fed by both


def test_what_is_lost_on_the_way_to_a_load_is_not_the_arrays_voltage(said) -> None:  # type: ignore[no-untyped-def]
    """With the main switch open the controller alone feeds the lamp: its own drop counts, not the 25 V of the panels."""
    found = said(build() + 'state "noon" { mains open; roof, light closed; lamp on; full sun }\n', "voltage_drop")
    assert [item for item in found.grades if item[0] == "lamp"] == []
    assert found.passed("lamp").measured.value < 0.05
