"""Rule interlock-loop: the fault catalogue's example G6 end to end, the five sides one by one, declared and jumpered loops, what is missing."""

from __future__ import annotations

import pytest

HEAD = """rig "Lamp post", revision 1
basis us-small-craft
site { ambient 0 degC to 30 degC; record low -10 degC }
battery house { LFP, 4 cells, 60 Ah; internal resistance 5 mohm }
fuse main 30 A
all wires { 105 degC insulation; copper; in free air }
all jumpers { 105 degC insulation; copper; in free air }
connector out with lamp_plug { CONTACT; pin 1 plus; pin 2 minus; pins 3, 4 { "interlock" }
  lamp_plug { jumper bridge from 3 to 4 { GAUGE; 40 mm } } }
"""
COIL = """relay hold { 20 A; coil 12 V; coil 1.8 W }
load lamp 20 W
wires 10 AWG, 0.4 m {
  a from house.plus to main.line
  b from main.load to hold.line
  c from hold.load to out.1
  d from out.2 to house.minus
  e from lamp_plug.1 to lamp.plus
  f from lamp.minus to lamp_plug.2
}
"""
OWN_FUSE = "fuse own 1 A\nwires GAUGE, 0.4 m {\n  g from main.load to own.line\n  h from own.load to out.3\n  i from out.4 to hold.coil_plus\n  j from hold.coil_minus to house.minus\n}\n"
NO_FUSE = "wires GAUGE, 0.4 m {\n  h from main.load to out.3\n  i from out.4 to hold.coil_plus\n  j from hold.coil_minus to house.minus\n}\n"
DECLARED = "interlock guard { loop out.3, lamp_plug.bridge, out.4; stops hold }\n"
IN_LEAD = DECLARED.replace("stops hold", "stops sun")
CHARGE = """array roof { Voc 22 V; Isc 6 A; Voc -0.30 %/K }
controller sun { PWM; 20 A; BEARS }
wires GAUGE, 0.4 m {
  a from house.plus to main.line
  h from main.load to out.3
  i from out.4 to sun.batt_plus
  j from sun.batt_minus to house.minus
}
wires 10 AWG, 0.4 m {
  m from roof.plus to sun.pv_plus
  n from roof.minus to sun.pv_minus
}
"""


def build(*parts: str, gauge: str = "18 AWG", contact: str = "10 A", bears: str = "not bears PV with no battery") -> str:
    return (HEAD + "".join(parts)).replace("GAUGE", gauge).replace("CONTACT", contact).replace("BEARS", bears)


def grades(found) -> list[tuple[str, str]]:  # type: ignore[no-untyped-def]
    return [(grade, severity) for _, grade, severity in found.grades]


def test_catalogue_g6_full_charge_current(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, G6, Ex: 20 A controller positive looped through 10 A spare pins with 18 AWG: 20 > 10 -> error."""
    found = said(build(CHARGE, IN_LEAD), "interlock_loop")
    finding = found.finding("guard", "over-current")
    assert (finding.measured.value, finding.limit.value) == (20.0, 10.0)
    assert ("over-current", "error") in grades(found)
    assert "it lies in the battery lead of sun; its contact out.3 bears 10 A" in finding.message
    assert finding.remedy == (
        "Let the loop carry the coil of a relay that switches the lead, or build contacts and wires of it for 20 A."
    )
    assert {"h", "i", "lamp_plug.bridge", "out.3", "lamp_plug.4"} <= set(finding.subject)


def test_catalogue_g6_coil_behind_its_own_fuse(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, G6, Ex: 0.15 A coil loop, 18 AWG, 1 A fuse -> pass."""
    found = said(build(COIL, OWN_FUSE, DECLARED), "interlock_loop")
    assert not found.findings
    assert found.passed("guard", "over-current").measured.value == pytest.approx(0.15, abs=0.02)
    fuse = found.passed("guard", "oversized-fuse")
    assert (fuse.measured.value, fuse.limit.value) == (1.0, 7.0)
    assert {item.grade for item in found.passes} == {"over-current", "oversized-fuse", "unfused-end", "return-side"}
    assert [item.condition for item in found.idle] == ["no controller has a panel"]


def test_catalogue_g6_on_the_feeder(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, G6, Ex: same loop on 30 A feeder, no own fuse -> error; readings, G6(b): against 7 A at 18 AWG (NEC 725.43)."""
    found = said(build(COIL, NO_FUSE, DECLARED), "interlock_loop")
    assert grades(found) == [("oversized-fuse", "error")]
    finding = found.finding("guard")
    assert (finding.measured.value, finding.limit.value) == (30.0, 7.0)
    assert finding.message == "guard: main of 30 A feeds it; h, 18 AWG, may lie behind 7 A at most."
    assert finding.remedy == "Give the loop a fuse of its own of 6 A or less where it leaves the feeder."
    assert [related.message for related in finding.related] == ["main, the fuse that feeds it", "h, its thinnest conductor"]


@pytest.mark.parametrize(
    ("gauge", "fuse", "broken"),
    [
        ("18 AWG", "7 A", False),
        ("18 AWG", "7.1 A", True),
        ("16 AWG", "10 A", False),
        ("16 AWG", "10.1 A", True),
        ("14 AWG", "50 A", False),  # no control wiring any more: 1.5 x 35 A x the air's factor
        ("0.75 mm2", "7.1 A", True),
        ("1 mm2", "10.1 A", True),
    ],
)
def test_edges_of_control_wiring(said, gauge: str, fuse: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    text = (
        build(COIL, OWN_FUSE, DECLARED, gauge=gauge)
        .replace("fuse own 1 A", f"fuse own {fuse}")
        .replace("fuse main 30 A", "fuse main 60 A")
    )
    assert (("oversized-fuse", "error") in grades(said(text, "interlock_loop"))) is broken


def test_a_loop_in_a_power_lead_is_a_power_conductor(said) -> None:  # type: ignore[no-untyped-def]
    """Readings, G6(b): F2 alone: 18 AWG 105 degC 20 A x 1.5 = 30 A on us-small-craft."""
    passed = said(build(CHARGE, IN_LEAD), "interlock_loop").passed("guard", "oversized-fuse")
    assert passed.limit.value == pytest.approx(30.0)


def test_each_live_end_is_fused(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, G6(c): in a cut loop both ends may be fed."""
    bare = NO_FUSE.replace("h from main.load", "h from house.plus")
    found = said(build(COIL, bare, DECLARED), "interlock_loop")
    assert grades(found) == [("unfused-end", "error")]
    assert "house.plus (from house) stays live without any fuse between" in found.finding("guard").message
    joined = "battery pack { LFP, 4 cells, 60 Ah; internal resistance 5 mohm }\nwire p from pack.plus to hold.coil_plus\nwire q from pack.minus to house.minus\n"
    both = said(build(COIL, OWN_FUSE, DECLARED, joined), "interlock_loop")
    assert "hold.coil_plus (from pack)" in both.finding("guard", "unfused-end").message


def test_the_break_is_on_the_supply_side(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, G6(d), a warning."""
    turned = "fuse own 1 A\nwires GAUGE, 0.4 m {\n  g from main.load to own.line\n  h from own.load to hold.coil_plus\n  i from hold.coil_minus to out.3\n  j from out.4 to house.minus\n}\n"
    found = said(build(COIL, turned, DECLARED), "interlock_loop")
    assert grades(found) == [("return-side", "warning")]
    assert found.finding("guard").message.startswith("guard: it breaks the return of hold.")


def test_an_enable_input(said) -> None:  # type: ignore[no-untyped-def]
    inverter = "inverter mill { 300 W }\nwire x from main.load to mill.plus\nwire y from mill.minus to house.minus\nwire a from house.plus to main.line\n"
    wires = "fuse own 1 A\nwires GAUGE, 0.4 m {\n  g from main.load to own.line\n  h from own.load to out.3\n  i from out.4 to mill.enable\n}\n"
    silent = said(build(inverter, wires, DECLARED.replace("hold", "mill")), "interlock_loop")
    assert ("guard", "over-current", "current that the enable input of mill takes") in silent.missing
    stated = said(build(inverter, wires, DECLARED.replace("stops hold", "stops mill; enable current 30 mA")), "interlock_loop")
    assert not stated.findings
    assert stated.passed("guard", "over-current").measured.value == pytest.approx(0.03)
    assert stated.passed("guard", "return-side")
    returned = (
        wires.replace("main.load to own.line", "mill.enable_return to own.line")
        .replace("own.load to out.3", "own.load to out.3")
        .replace("out.4 to mill.enable", "out.4 to house.minus")
    )
    text = build(inverter, returned, DECLARED.replace("stops hold", "stops mill; enable current 30 mA"))
    assert grades(said(text, "interlock_loop")) == [("return-side", "warning")]


def test_opening_it_leaves_a_panel_alone(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, G6(e), as B1: a warning, an error with a load that bears less than the cold panel."""
    alone = said(build(CHARGE, IN_LEAD, contact="30 A", gauge="14 AWG"), "interlock_loop")
    assert grades(alone) == [("panel-alone", "warning")]
    assert "pulling its plug (lamp_plug apart) leaves roof on sun without a battery" in alone.finding("guard").message
    lamp = "load lamp { 10 W; works on 10 V to 15 V }\nwire u from sun.batt_plus to lamp.plus\nwire v from lamp.minus to sun.batt_minus\n"
    exposed = said(build(CHARGE, IN_LEAD, lamp, contact="30 A", gauge="14 AWG"), "interlock_loop")
    assert grades(exposed) == [("panel-alone", "error")]
    assert "lamp stays on its output." in exposed.finding("guard").message
    bears = said(build(CHARGE, IN_LEAD, contact="30 A", gauge="14 AWG", bears="bears PV with no battery"), "interlock_loop")
    assert bears.passed("guard", "panel-alone")
    silent = said(build(CHARGE, IN_LEAD, contact="30 A", gauge="14 AWG", bears="absorption 14.2 V"), "interlock_loop")
    assert ("guard", "panel-alone", "whether sun bears PV with no battery") in silent.missing


def test_a_coil_that_holds_the_battery_relay_counts_too(said) -> None:  # type: ignore[no-untyped-def]
    """The loop carries a coil only, but the relay is in the controller's battery lead: pulling the plug drops it."""
    sunny = """array roof { Voc 22 V; Isc 6 A; Voc -0.30 %/K }
controller sun { PWM; 20 A; not bears PV with no battery }
relay hold { 20 A; coil 12 V; coil 1.8 W }
wires 10 AWG, 0.4 m {
  a from house.plus to main.line
  b from main.load to hold.line
  c from hold.load to sun.batt_plus
  d from sun.batt_minus to house.minus
  m from roof.plus to sun.pv_plus
  n from roof.minus to sun.pv_minus
}
"""
    found = said(build(sunny, OWN_FUSE, DECLARED), "interlock_loop")
    assert grades(found) == [("panel-alone", "warning")]


def test_a_jumper_between_spare_pins_is_taken_for_a_loop(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build(COIL, NO_FUSE), "interlock_loop")
    assert grades(found) == [("oversized-fuse", "error")]
    finding = found.finding("lamp_plug.bridge")
    assert finding.message.startswith("lamp_plug.bridge (jumpered pins, taken for an interlock loop): main of 30 A feeds it;")
    used = build(COIL, NO_FUSE) + "wire z from lamp_plug.3 to lamp.plus\n"
    assert not said(used, "interlock_loop").findings


def test_a_loop_runs_through_several_plugs(said) -> None:  # type: ignore[no-untyped-def]
    second = 'connector more with more_plug { 5 A; pins 3, 4 { "interlock" }\n  more_plug { jumper bridge from 3 to 4 { GAUGE; 40 mm } } }\n'
    chain = OWN_FUSE.replace("i from out.4 to hold.coil_plus", "i from out.4 to more.3\n  k from more.4 to hold.coil_plus")
    found = said(build(COIL, second, chain, DECLARED), "interlock_loop")
    assert {"h", "i", "k", "more_plug.bridge"} <= set(found.passed("guard", "over-current").subject)
    assert found.passed("guard", "over-current").limit.value == 5.0


@pytest.mark.parametrize(
    ("text", "missing"),
    [
        (build(COIL, OWN_FUSE, DECLARED, contact='family "round"'), ("over-current", "current of the contacts of out")),
        (build(COIL, OWN_FUSE, DECLARED).replace("; coil 1.8 W", ""), ("over-current", "coil power of hold")),
        (build(COIL, OWN_FUSE, DECLARED).replace("basis us-small-craft\n", ""), ("oversized-fuse", "basis")),
        (build(COIL, OWN_FUSE, DECLARED).replace("fuse own 1 A", "fuse own blade"), ("oversized-fuse", "rated current of own")),
        (build(CHARGE, IN_LEAD).replace("PWM; 20 A", "PWM"), ("over-current", "rated current of sun")),
    ],
)
def test_missing_data_are_named(said, text: str, missing: tuple[str, str]) -> None:  # type: ignore[no-untyped-def]
    found = said(text, "interlock_loop")
    assert ("guard", *missing) in found.missing


def test_a_build_without_loops_says_so(said) -> None:  # type: ignore[no-untyped-def]
    found = said('rig "x", revision 1\nbattery house { 12 V; 5 Ah }\n', "interlock_loop")
    assert [item.condition for item in found.idle] == ["there is no interlock loop, and no jumper between two spare pins"]


def test_a_pin_may_carry_less_than_its_half(said) -> None:  # type: ignore[no-untyped-def]
    text = build(CHARGE, IN_LEAD, contact="30 A", gauge="14 AWG").replace(
        'pins 3, 4 { "interlock" }', 'pins 3, 4 { "interlock"; 12 A }'
    )
    finding = said(text, "interlock_loop").finding("guard", "over-current")
    assert (finding.measured.value, finding.limit.value) == (20.0, 12.0)


def test_the_thinnest_conductor_may_bear_least(said) -> None:  # type: ignore[no-untyped-def]
    """33 CFR 183.425 Table 5, 18 AWG 105 degC: 20 A at 30 degC; the controller gives 25 A."""
    finding = said(build(CHARGE.replace("PWM; 20 A", "PWM; 25 A"), IN_LEAD, contact="40 A"), "interlock_loop").finding(
        "guard", "over-current"
    )
    assert finding.limit.value == pytest.approx(20.0)
    assert "h, 18 AWG, bears 20 A" in finding.message


def test_a_loop_in_the_panels_lead_counts_bright_sun(said) -> None:  # type: ignore[no-untyped-def]
    """1.25 x 9 A = 11.25 A over a contact of 10 A, with a tracking controller that states no limit; two strings 22.5 A."""
    text = build(
        """array roof { Voc 22 V; Isc 9 A; Voc -0.30 %/K; STRINGS in parallel }
controller sun { MPPT; 20 A; bears PV with no battery }
wires 10 AWG, 0.4 m {
  a from house.plus to main.line
  b from main.load to sun.batt_plus
  c from sun.batt_minus to house.minus
  d from roof.plus to out.3
  e from out.4 to sun.pv_plus
  f from roof.minus to sun.pv_minus
}
""",
        DECLARED.replace("stops hold", "stops sun"),
    )
    one = said(text.replace("STRINGS", "1"), "interlock_loop").finding("guard", "over-current")
    assert one.measured.value == pytest.approx(11.25)
    assert "it lies in the panel lead of sun" in one.message
    assert said(text.replace("STRINGS", "2"), "interlock_loop").finding(
        "guard", "over-current"
    ).measured.value == pytest.approx(22.5)


def test_what_is_not_said_of_a_power_loop_is_tried_at_its_harshest(said) -> None:  # type: ignore[no-untyped-def]
    """18 AWG: 60 degC insulation 10 A x 1.5 = 15 A; 105 degC 20 A x 1.5 = 30 A (33 CFR 183.425 Table 5, 183.455(c))."""
    silent = build(CHARGE, IN_LEAD, contact="30 A").replace("105 degC insulation; ", "").replace("PWM; 20 A", "PWM; 5 A")
    assert ("guard", "oversized-fuse", "insulation temperature of h") in said(silent, "interlock_loop").missing
    small = silent.replace("fuse main 30 A", "fuse main 4 A")
    assert said(small, "interlock_loop").passed("guard", "oversized-fuse").measured.value == 4.0


@pytest.mark.parametrize(("rating", "missing"), [("5 A", False), ("15 A", True)])
def test_a_wire_that_bears_it_at_the_harshest_need_not_say_more(said, rating: str, missing: bool) -> None:  # type: ignore[no-untyped-def]
    """18 AWG bears 10 A at 60 degC, the harshest insulation (33 CFR 183.425 Table 5)."""
    silent = build(CHARGE, IN_LEAD, contact="30 A").replace("105 degC insulation; ", "").replace("PWM; 20 A", f"PWM; {rating}")
    found = said(silent, "interlock_loop")
    assert (("guard", "over-current", "insulation temperature of h") in found.missing) is missing
    assert ("over-current" in {item.grade for item in found.passes}) is not missing
