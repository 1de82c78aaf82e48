"""Rule charge-current-sum: the fault catalogue's example B6 end to end, states, shares of unequal packs, weak arrays, edges, what is missing."""

from __future__ import annotations

import pytest

BUILD = """rig "Van", revision 1
battery house { LFP, 4 cells, 200 Ah; internal resistance 3 mohm; LIMIT }
mains charger shore { 30 A; absorption 14.2 V }
mains charger second { 20 A; absorption 14.2 V }
mains charger third { 30 A; absorption 14.2 V }
wires 8 AWG, 0.6 m {
  a from shore.plus to house.plus
  b from shore.minus to house.minus
  c from second.plus to house.plus
  d from second.minus to house.minus
  e from third.plus to house.plus
  f from third.minus to house.minus
}
"""


def build(limit: str = "bms { charge at most 50 A }") -> str:
    return BUILD.replace("LIMIT", limit)


def test_catalogue_b6(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, B6, Ex: 30+20+30 = 80 A vs 50 A -> error."""
    found = said(build(), "charge_current_sum")
    assert found.grades == [("house", "over-limit", "error")]
    finding = found.finding("house")
    assert (finding.measured.value, finding.limit.value) == (80.0, 50.0)
    assert finding.subject == ("house", "second", "shore", "third")
    assert finding.state == "all chargers on"
    assert finding.message == (
        "house: in state 'all chargers on' 80 A can flow into it (second 20 A + shore 30 A + third 30 A); its BMS lets in 50 A."
        " The BMS opens, and what charges is left without a battery."
    )
    assert finding.remedy == "Bring the chargers that run together to 50 A or less, or never run them together."


@pytest.mark.parametrize(
    ("limit", "grades"),
    [
        ("charge at most 80 A", []),
        ("charge at most 79.9 A", [("house", "over-limit", "error")]),
        ("charge at most 100 A; bms { charge at most 60 A }", [("house", "over-limit", "error")]),
        ("charge at most 100 A; charge advised at most 60 A", [("house", "over-advice", "warning")]),
        ("charge at most 100 A; charge advised at most 80 A", []),
    ],
)
def test_two_limits(said, limit: str, grades: list[tuple[str, str, str]]) -> None:  # type: ignore[no-untyped-def]
    """Readings, B6: BMS or hard limit (error), recommended (warning); at equality it holds."""
    assert said(build(limit), "charge_current_sum").grades == grades


def test_only_what_runs_in_a_state_adds_up(said) -> None:  # type: ignore[no-untyped-def]
    """A declared state in the place of the implied one: two chargers, 50 A."""
    text = (
        build("charge at most 60 A")
        + 'state "at anchor" { shore, second on; third off }\nstate "underway" { shore, second off; third on }\n'
    )
    found = said(text, "charge_current_sum").finding("house")
    assert [measure.state for measure in found.states] == ["all chargers on"]
    apart = text + "switch cut 40 A\n"
    apart = apart.replace("e from third.plus to house.plus", "e from third.plus to cut.line\n  g from cut.load to house.plus")
    apart += 'state "cut off" { everything else on; cut open; house at 50 % }\n'
    states = {measure.state for measure in said(apart, "charge_current_sum").finding("house").states}
    assert "cut off" not in states


def test_unequal_packs_take_their_solved_share(said) -> None:  # type: ignore[no-untyped-def]
    """A pack of half the resistance, same rest voltage, takes two thirds of 80 A."""
    text = (
        build("charge at most 60 A")
        + "battery pack { LFP, 4 cells, 100 Ah; internal resistance 6 mohm; charge at most 25 A }\n"
    )
    text += (
        "wire p from pack.plus to house.plus { measured 1 uohm }\nwire q from pack.minus to house.minus { measured 1 uohm }\n"
    )
    found = said(text, "charge_current_sum")
    assert found.passed("house").measured.value == pytest.approx(80 * 2 / 3, rel=1e-3)
    pack = found.finding("pack")
    assert pack.measured.value == pytest.approx(80 / 3, rel=1e-3)
    assert "26.7 A, 33.3 % of 80 A, can flow into it" in pack.message
    assert pack.remedy.startswith("Bring the chargers that run together to 75 A or less")


def test_batteries_in_series_take_all_of_it(said) -> None:  # type: ignore[no-untyped-def]
    text = build("charge at most 60 A")
    for letter in "ace":
        text = text.replace(f"{letter} from", f"{letter}{letter} from")
    text = text.replace(".plus to house.plus", ".plus to top.plus")
    text = (
        text.replace("14.2 V", "28.4 V")
        + "battery top { LFP, 4 cells, 100 Ah; internal resistance 3 mohm; charge at most 90 A }\nwire l from top.minus to house.plus { 8 AWG; 0.2 m }\n"
    )
    found = said(text, "charge_current_sum")
    assert found.passed("top").measured.value == pytest.approx(80.0)
    assert found.finding("house").measured.value == pytest.approx(80.0)


SUN = """rig "Small roof", revision 1
battery house { LFP, 4 cells, 20 Ah; internal resistance 10 mohm; lowest 11 V; charge at most 10 A }
array roof { Voc 22 V; Vmp 18 V; Isc 6 A; Imp 5.5 A }
controller sun { KIND; 30 A; absorption 14.2 V }
wires 10 AWG, 1 m {
  a from roof.plus to sun.pv_plus
  b from roof.minus to sun.pv_minus
  c from sun.batt_plus to house.plus
  d from sun.batt_minus to house.minus
}
"""


def test_a_small_array_bounds_a_large_controller(said) -> None:  # type: ignore[no-untyped-def]
    """1.25 x 6 A = 7.5 A through a series switch; 1.25 x 99 W / 11 V = 11.25 A through a tracker; 30 A by the label alone."""
    assert said(SUN.replace("KIND", "PWM"), "charge_current_sum").passed("house").measured.value == pytest.approx(7.5)
    tracker = said(SUN.replace("KIND", "MPPT"), "charge_current_sum").finding("house")
    assert tracker.measured.value == pytest.approx(11.25)
    assert tracker.working[0].expression == "sun: as much as its array gives in bright sun"
    unknown = said(SUN.replace("KIND; ", ""), "charge_current_sum").finding("house")
    assert unknown.measured.value == 30.0


@pytest.mark.parametrize(
    ("text", "missing"),
    [
        (build("own drain 1 mA"), ("house", "over-limit", "charge current limit")),
        (build().replace("shore { 30 A; ", "shore { "), ("house", "over-limit", "highest current out of shore")),
    ],
)
def test_missing_data_are_named(said, text: str, missing: tuple[str, str, str]) -> None:  # type: ignore[no-untyped-def]
    found = said(text, "charge_current_sum")
    assert not found.findings
    assert found.missing == [missing]


def test_a_battery_that_nothing_charges_is_counted(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build("charge at most 80 A") + "battery lonely { 12 V; 5 Ah }\n", "charge_current_sum")
    assert [(item.condition, item.count) for item in found.idle] == [("nothing charges it in any state", 1)]


def test_a_large_array_is_bounded_by_the_controllers_rating(said) -> None:  # type: ignore[no-untyped-def]
    text = SUN.replace("KIND", "MPPT").replace("30 A; absorption", "9 A; absorption")
    assert said(text, "charge_current_sum").passed("house").measured.value == 9.0


def test_a_battery_whose_voltage_is_unknown_counts_the_rating(said) -> None:  # type: ignore[no-untyped-def]
    text = SUN.replace("KIND", "MPPT").replace("LFP, 4 cells, 20 Ah", "20 Ah").replace("; lowest 11 V", "")
    assert said(text, "charge_current_sum").finding("house").measured.value == 30.0


def test_an_inverter_charger_is_one_of_all_chargers(said) -> None:  # type: ignore[no-untyped-def]
    """Design, states: all chargers at once; 30 + 20 + 30 A where the third is an inverter-charger on shore supply, also without reached states."""
    text = build().replace("mains charger third { 30 A;", "inverter-charger third { 1000 W; 30 A;")
    finding = said(text, "charge_current_sum").finding("house")
    assert (finding.measured.value, finding.state) == (80.0, "all chargers on")
