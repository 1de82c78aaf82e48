"""Rule parted-under-load: the fault catalogue's example G9, the figures, what is opened first, 60 V, missing data."""

from __future__ import annotations

import pytest

BUILD = """rig "Panel on a plug", revision 1
site { record low 25 degC }
battery house { LFP, 4 cells, 60 Ah }
array roof { Voc 40 V; Isc 10.5 A; Vmp 33 V; Imp 10 A; Voc -0.30 %/K }
controller sun { MPPT; 40 A; absorption 14.4 V; no equalise; no temperature compensation }
switch isolator { 20 A; breaks 20 A at 60 V dc }
switch other { 20 A; breaks 20 A at 60 V dc }
load lamp { 5 W }
connector inlet with plug { 15 A; FACTS; pins 1, 2 }
wires 12 AWG, 0.4 m {
  a from roof.plus to plug.1
  b from roof.minus to plug.2
  c from inlet.1 to isolator.line
  d from isolator.load to sun.pv_plus
  e from inlet.2 to sun.pv_minus
  f from sun.batt_plus to house.plus
  g from sun.batt_minus to house.minus
  h from house.plus to other.line
  i from other.load to lamp.plus
  j from lamp.minus to house.minus
}
state "noon" { isolator closed; sun 1000 W/m2; house at 50 % }
"""


def build(facts: str, more: str = "") -> str:
    return BUILD.replace("FACTS", facts) + more


def test_catalogue_g9(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, G9, Ex: PV 40 V 10 A connector "no load break", no isolator -> warning."""
    found = said(build("no load-break"), "parted_under_load")
    assert found.grades == [("inlet", "under-load", "warning")]
    finding = found.finding("inlet")
    assert finding.measured.value == pytest.approx(10.0, rel=0.02)  # Imp of the array
    assert finding.limit.value == 0.0
    assert "not made to be parted under load" in finding.message
    assert finding.state


@pytest.mark.parametrize(
    ("facts", "grades"),
    [
        ("load-break 12 A at 40 V", []), ("load-break 9 A at 40 V", ["under-load"]), ("load-break 12 A at 39.9 V", ["under-load"]),
        ("not under load", ["under-load"]), ("load-break 9 A", ["under-load"]),
    ],
)  # fmt: skip
def test_figures(said, facts: str, grades: list[str]) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, G9: load_break >= I, V; at the record low of 25 degC the panel's Voc is 40 V."""
    found = said(build(facts), "parted_under_load")
    assert [item[1] for item in found.grades] == grades
    assert bool(found.passes) is not bool(grades)


@pytest.mark.parametrize(
    ("facts", "missing"),
    [
        ("30 A per contact", "current and voltage under which it may be parted"),
        ("under load", "current and voltage under which it may be parted"),
        ("load-break 12 A", "voltage under which it may be parted"),
    ],
)
def test_missing_figures(said, facts: str, missing: str) -> None:  # type: ignore[no-untyped-def]
    text = build(facts).replace("15 A; 30 A per contact", "30 A per contact")
    assert said(text, "parted_under_load").missing == [("inlet", "under-load", missing)]


@pytest.mark.parametrize(
    ("procedure", "passes"),
    [
        ("switch off isolator before unplugging", True), ("switch off other before unplugging", False),
        ("disconnect in order isolator, plug", True), ("disconnect in order plug, isolator", False), ("disconnect in order other, plug", False),
    ],
)  # fmt: skip
def test_what_is_opened_first(said, procedure: str, passes: bool) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, G9: or upstream switch opened first by instruction; one that cuts another circuit does not help."""
    found = said(build("no load-break", f"procedure {{ {procedure} }}\n"), "parted_under_load")
    assert bool(found.passes) is passes
    assert bool(found.findings) is not passes


@pytest.mark.parametrize("pins", ["mate last", "mate equal"])
def test_interlock_that_parts_first(said, pins: str) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, G9: or by an interlock; one whose pins do not part first stops nothing in time."""
    text = f"""rig "Pump on a plug", revision 1
battery house {{ LFP, 4 cells, 60 Ah }}
relay pump_relay {{ 30 A; normally open; coil 12 V; coil 1.6 W }}
load pump {{ 60 W }}
connector out with tail {{ 15 A; no load-break; pins 1, 2; pins 3, 4 {{ {pins} }}; tail {{ jumper loop from 3 to 4 {{ 16 AWG; 40 mm }} }} }}
wires 12 AWG, 0.4 m {{
  a from house.plus to pump_relay.line
  b from pump_relay.load to out.1
  c from out.2 to house.minus
  d from tail.1 to pump.plus
  e from tail.2 to pump.minus
  f from house.plus to out.3
  g from out.4 to pump_relay.coil_plus
  h from pump_relay.coil_minus to house.minus
}}
state "pumping" {{ pump on }}
"""
    found = said(text, "parted_under_load")
    assert bool(found.findings) is (pins == "mate equal")
    assert bool(found.passes) is (pins == "mate last")


@pytest.mark.parametrize(("low", "grade"), [("25 degC", "under-load"), ("-150 degC", "over-touch-voltage")])
def test_sixty_volts(said, low: str, grade: str) -> None:  # type: ignore[no-untyped-def]
    """Error above 60 V: 40 V x (1 + 0.003 x 175) = 61 V (catalogue, A1 and G9)."""
    found = said(build("no load-break").replace("record low 25 degC", f"record low {low}"), "parted_under_load")
    assert [item[1] for item in found.grades] == [grade]


def test_idle_connector(said) -> None:  # type: ignore[no-untyped-def]
    text = build("no load-break").replace("  a from roof.plus to plug.1\n", "")
    (idle,) = said(text, "parted_under_load").idle
    assert idle.condition == "carries no steady current in any state"
