"""Rule one-way-breaker: the fault catalogue's examples A11, one-sided paths both ways round, returns, array leads, selectors, what is missing."""

from __future__ import annotations

import pytest

LAMP = """rig "Cabin", revision 1
battery house { LFP, 4 cells, 100 Ah; internal resistance 9 mohm }
breaker cut { 20 A; POLARISED }
load lamps 60 W
wires 10 AWG, 2 m {
  out from house.plus to cut.FIRST
  on from cut.SECOND to lamps.plus
  back from lamps.minus to house.minus
}
"""
SUN = """rig "Cabin with sun", revision 1
battery house { LFP, 4 cells, 100 Ah; internal resistance 9 mohm }
array roof { Voc 22 V; Vmp 18 V; Isc 6.2 A; Imp 5.8 A; 2 in parallel }
controller sun { MPPT; 30 A; absorption 14.2 V; BACK }
breaker cut { 40 A; 2 poles; polarised }
wires 8 AWG, 2 m {
  in from roof.plus to PV_A
  home from sun.pv_minus to roof.minus
  charge from sun.batt_plus to house.plus
  back from house.minus to sun.batt_minus
}
"""


def lamp(polarised: str = "polarised", first: str = "line") -> str:
    second = {"line": "load", "load": "line"}[first]
    return LAMP.replace("POLARISED", polarised).replace("FIRST", first).replace("SECOND", second)


def sun(back: str = "blocks reverse current") -> str:
    return SUN.replace("BACK", back)


def test_catalogue_a11_inverter_charger(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, A11, Ex: polarised breaker between battery and inverter-charger, +80 A and -40 A in two states -> error."""
    text = """rig "Van", revision 1
battery house { LFP, 4 cells, 200 Ah; internal resistance 4 mohm }
breaker cut { 125 A; polarised; line on house.plus }
inverter-charger combi { 920 W; efficiency 90 %; charges at 40 A; absorption 14.2 V; 230 V AC; 50 Hz }
wires 2 AWG, 1 m {
  on from cut.load to combi.plus
  back from combi.minus to house.minus
}
state "inverting" { combi on at 920 W; house at 60 % }
"""
    found = said(text, "one_way_breaker")
    assert found.grades == [("cut", "two-way", "error")]
    finding = found.finding("cut")
    assert "from house at line, from combi at load." in finding.message
    assert finding.working[0].value == pytest.approx(
        80, abs=5
    )  # the other direction is found by connection: no state solves it
    assert finding.remedy == "Use a breaker that is not polarised, or a fuse; turning it round does not help."


def test_catalogue_a11_controller(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, A11, Ex: between controller and battery, set for 30 A of charging -> error; a short at the controller draws 1.48 kA in reverse."""
    assert pytest.approx(1480, rel=1e-3) == 13.4 / 9.05e-3
    for line, load in (("line", "load"), ("load", "line")):
        text = (
            sun()
            .replace("PV_A", "sun.pv_plus")
            .replace(
                "charge from sun.batt_plus to house.plus",
                f"charge from sun.batt_plus to cut.{line}\n  on from cut.{load} to house.plus",
            )
        )
        found = said(text, "one_way_breaker")
        assert found.grades == [("cut", "two-way", "error")], "whichever way it is put"
        assert "from sun at" in found.finding("cut").message
        assert "from house at" in found.finding("cut").message


def test_both_directions_are_told_where_they_were_solved(said) -> None:  # type: ignore[no-untyped-def]
    text = (
        sun()
        .replace("PV_A", "sun.pv_plus")
        .replace(
            "charge from sun.batt_plus to house.plus", "charge from sun.batt_plus to cut.line\n  on from cut.load to house.plus"
        )
    )
    text += "load lamps { 60 W }\nwire lamp_plus from sun.batt_plus to lamps.plus, 10 AWG, 1 m\nwire lamp_minus from lamps.minus to house.minus, 10 AWG, 1 m\n"
    text += 'state "night" { lamps on; house at 60 % }\nstate "noon" { sun 1000 W/m2; house at 60 % }\n'
    finding = said(text, "one_way_breaker").finding("cut")
    assert " flow one way in noon, " in finding.message
    assert " the other way in night." in finding.message
    assert [step.symbol for step in finding.working] == ["I", "I"]


@pytest.mark.parametrize(("first", "grades"), [("line", []), ("load", [("cut", "backwards", "error")])])
def test_one_source_on_one_side(said, first: str, grades: list[tuple[str, str, str]]) -> None:  # type: ignore[no-untyped-def]
    found = said(lamp(first=first), "one_way_breaker")
    assert found.grades == grades
    assert found.passed("cut", "two-way")
    if grades:
        assert found.finding("cut").message.startswith(
            "cut: this polarised breaker is wired backwards: current from house comes in at load, its line is line."
        )


def test_the_line_may_be_said_to_be_the_other_terminal(said) -> None:  # type: ignore[no-untyped-def]
    assert not said(lamp("polarised; line is load", "load"), "one_way_breaker").findings
    assert said(lamp("polarised; line is load", "line"), "one_way_breaker").grades == [("cut", "backwards", "error")]


def test_in_a_return_the_current_comes_from_the_load(said) -> None:  # type: ignore[no-untyped-def]
    text = lamp().replace(
        "out from house.plus to cut.line\n  on from cut.load to lamps.plus", "on from house.plus to lamps.plus"
    )
    right = text.replace(
        "back from lamps.minus to house.minus", "back from lamps.minus to cut.line\n  home from cut.load to house.minus"
    )
    assert not said(right, "one_way_breaker").findings
    wrong = right.replace("cut.line", "cut.x").replace("cut.load", "cut.line").replace("cut.x", "cut.load")
    assert said(wrong, "one_way_breaker").grades == [("cut", "backwards", "error")]


def test_in_the_return_of_a_battery_on_charge_it_is_two_way(said) -> None:  # type: ignore[no-untyped-def]
    text = (
        sun()
        .replace("PV_A", "sun.pv_plus")
        .replace(
            "back from house.minus to sun.batt_minus",
            "back from house.minus to cut.load\n  common from cut.line to sun.batt_minus",
        )
    )
    assert said(text, "one_way_breaker").grades == [("cut", "two-way", "error")]


def test_both_poles_in_array_leads(said) -> None:  # type: ignore[no-untyped-def]
    """A controller that blocks is no source on the array's side, in neither lead, though battery and array share their minus."""
    text = sun().replace("in from roof.plus to PV_A", "in from roof.plus to cut.line\n  on from cut.load to sun.pv_plus")
    text = text.replace(
        "home from sun.pv_minus to roof.minus", "home from sun.pv_minus to cut.line2\n  far from cut.load2 to roof.minus"
    )
    assert not said(text, "one_way_breaker").findings
    assert [item.grade for item in said(text, "one_way_breaker").passes] == ["two-way", "backwards"]
    back = text.replace("blocks reverse current", "backfeed into the array")
    assert said(back, "one_way_breaker").grades == [("cut", "two-way", "error")]
    silent = text.replace("blocks reverse current", "own drain 1 mA")
    assert said(silent, "one_way_breaker").missing == [("cut", "two-way", "whether sun lets current back into the array")]


def test_string_and_string(said) -> None:  # type: ignore[no-untyped-def]
    text = sun().replace("in from roof.plus to PV_A", "in from roof.plus to cut.line\n  on from cut.load to sun.pv_plus")
    text += "array wall { Voc 22 V; Isc 6 A }\nwire p from wall.plus to sun.pv_plus\nwire q from wall.minus to sun.pv_minus\n"
    assert said(text, "one_way_breaker").grades == [("cut", "two-way", "error")]


def test_of_a_selector_only_one_battery_is_on_at_a_time(said) -> None:  # type: ignore[no-untyped-def]
    text = """rig "One or two", revision 1
battery one { LFP, 4 cells, 100 Ah }
battery two { same as one }
breaker cut { 40 A; polarised; line on one.plus }
selector pick { 100 A; position first joins a; position second joins b }
load lamps 60 W
wires 10 AWG, 2 m {
  p from cut.load to pick.a
  q from two.plus to pick.b
  on from pick.common to lamps.plus
  back from lamps.minus to one.minus
  link from one.minus to two.minus
}
"""
    assert not said(text, "one_way_breaker").findings
    both = text.replace("position second joins b", "position second joins b; position both joins a, b")
    assert said(both, "one_way_breaker").grades == [("cut", "two-way", "error")]


@pytest.mark.parametrize("polarised", ["not polarised", "10 A"])
def test_silence_counts_only_where_it_decides(said, polarised: str) -> None:  # type: ignore[no-untyped-def]
    right = said(lamp(polarised.replace("10 A", "manual reset")), "one_way_breaker")
    assert not right.missing
    assert not right.findings
    wrong = said(lamp(polarised.replace("10 A", "manual reset"), "load"), "one_way_breaker")
    asked = [] if polarised == "not polarised" else [("cut", "backwards", "whether it is polarised")]
    assert wrong.missing == asked


def test_a_fuse_is_not_polarised(said) -> None:  # type: ignore[no-untyped-def]
    found = said(lamp("class CC", "load").replace("breaker cut", "fuse cut"), "one_way_breaker")
    assert [item.condition for item in found.idle] == ["a fuse, or a breaker that is not polarised"]
