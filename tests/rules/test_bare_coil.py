"""Rule bare-coil: the fault catalogue's example H7, a diode that the circuit shows, silence."""

from __future__ import annotations

import pytest

BUILD = """rig "Box", revision 1
battery house { LFP, 4 cells, 50 Ah }
relay it { 30 A; coil 12 V; coil 1.8 W; FACTS }
switch start 5 A
controller sun { MPPT; 10 A }
wires 16 AWG, 0.3 m {
  a from house.plus to start.line
  b from start.load to it.coil_plus
  c from it.coil_minus to house.minus
  d from sun.batt_plus to house.plus
  e from sun.batt_minus to house.minus
}
"""


def build(facts: str = "normally open") -> str:
    return BUILD.replace("FACTS", facts)


def test_catalogue_h7(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, H7, Ex: 12 V relay beside controller, none -> note."""
    found = said(build("no coil suppression"), "bare_coil")
    assert found.grades == [("it", "unsuppressed", "note")]
    assert "sun hangs on the same nodes" in found.finding("it").message


@pytest.mark.parametrize("facts", ["diode across the coil", "coil with a clamp"])
def test_declared(said, facts: str) -> None:  # type: ignore[no-untyped-def]
    assert said(build(facts), "bare_coil").passed("it")


def test_silence(said) -> None:  # type: ignore[no-untyped-def]
    assert said(build(), "bare_coil").missing == [("it", "unsuppressed", "what takes its coil's switching spike")]


def test_diode_across(said) -> None:  # type: ignore[no-untyped-def]
    diode = "diode d1 { 1 A }\nwire f from it.coil_minus to d1.anode, 16 AWG, 0.1 m\nwire g from d1.cathode to it.coil_plus, 16 AWG, 0.1 m\n"
    assert said(build() + diode, "bare_coil").passed("it")
    beyond = diode.replace("to it.coil_plus", "to start.line")
    assert said(build() + beyond, "bare_coil").unchecked, "beyond the switch it takes nothing of the spike"


def test_unwired_coil(said) -> None:  # type: ignore[no-untyped-def]
    text = 'rig "Box", revision 1\nbattery house { LFP, 4 cells, 50 Ah }\nrelay it { 30 A; coil 12 V }\n'
    assert [item.condition for item in said(text, "bare_coil").idle] == ["its coil is not wired"]
