"""Rule charge-lead-drop: the fault catalogue's example B12 end to end, sense leads, edges, what is missing."""

from __future__ import annotations

import pytest

BUILD = """rig "Hut", revision 1
SYSTEM
battery house { AGM, 6 cells, 100 Ah }
mains charger shore { 20 A; absorption 14.4 V; float 13.6 V }
wires WIRE {
  more from shore.plus to house.plus
  less from shore.minus to house.minus
}
"""
SUN = """rig "Hut", revision 1
system 12 V
battery house { AGM, 6 cells, 100 Ah }
array roof { 2 in parallel; Voc 22 V; Vmp 18 V; Isc 12 A; Imp 11 A }
controller sun { PWM; 20 A; absorption 14.4 V }
wires measured 15 mohm {
  in from roof.plus to sun.pv_plus
  home from sun.pv_minus to roof.minus
  charge from sun.batt_plus to house.plus
  back from house.minus to sun.batt_minus
SENSE
}
"""


def build(wire: str = "12 AWG, 3 m", system: str = "system 12 V") -> str:
    return BUILD.replace("WIRE", wire).replace("SYSTEM", system)


COMBI = """rig "Boat", revision 1
system 12 V
battery house { LFP, 4 cells, 100 Ah }
inverter-charger combi { 20 A; absorption 14.2 V; float 13.5 V; 600 W; efficiency 90 % }
wires measured 15.633 mohm {
  more from combi.plus to house.plus
  less from house.minus to combi.minus
}
"""


def test_an_inverter_charger_counts_while_mains_is_there(said) -> None:  # type: ignore[no-untyped-def]
    """20 A x 2 x 15.633 mohm; what it takes from the battery as an inverter is no charge."""
    for reached in (False, True):  # "all chargers on" is implied: design, states
        finding = said(COMBI, "charge_lead_drop", reached=reached).finding("combi")
        assert finding.measured.value == pytest.approx(0.625, abs=5e-4)
    assert {item.state for item in said(COMBI, "charge_lead_drop").finding("combi").states} == {"all chargers on"}


def test_catalogue_b12(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, B12, Ex: 20 A, 3 m each way 12 AWG: 20·6·5.211 mOhm = 0.625 V; 14.4 V set -> 13.77 V at battery -> warning."""
    found = said(build("measured 15.633 mohm"), "charge_lead_drop")
    assert found.grades == [("shore", "undercharges", "warning")]
    finding = found.finding("shore")
    assert finding.measured.value == pytest.approx(0.625, abs=5e-4)
    assert finding.limit.value == pytest.approx(0.15)
    assert finding.message == (
        "shore: at 20 A its leads lose 0.625 V on the way to the battery, 0.15 V is allowed; it takes that for the battery's voltage."
        " Set to 14.4 V, it leaves absorption at 13.77 V of the battery."
    )
    by_gauge = said(build(), "charge_lead_drop").finding("shore")
    assert by_gauge.measured.value == pytest.approx(0.625, abs=5e-4)  # nothing of temperature is declared: copper at 20 degC
    assert by_gauge.remedy == "Use 4 AWG or larger for less and more, or bring less and more to at most 0.72 m."


@pytest.mark.parametrize(
    ("milliohm", "system", "broken"),
    [
        ("3.749", "system 12 V", False),
        ("3.75", "system 12 V", False),
        ("3.751", "system 12 V", True),
        ("7.5", "system 24 V", False),
        ("7.51", "system 24 V", True),
        ("3.751", "", True),  # by the nominal voltage of the battery
    ],
)
def test_edge(said, milliohm: str, system: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    """20 A x 2 x 3.75 mohm = 0.15 V."""
    assert bool(said(build(f"measured {milliohm} mohm", system), "charge_lead_drop").findings) is broken


@pytest.mark.parametrize(
    ("sense", "broken"),
    [
        ("", True),
        ("  s from sun.sense_plus to house.plus\n  t from sun.sense_minus to house.minus", False),
        ("  s from sun.sense_plus to house.plus", True),
        ("  s from sun.sense_plus to sun.batt_plus\n  t from sun.sense_minus to sun.batt_minus", True),
    ],
)
def test_sense_leads(said, sense: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    found = said(SUN.replace("SENSE", sense), "charge_lead_drop")
    assert bool(found.findings) is broken
    if broken:
        finding = found.finding("sun")
        assert finding.measured.value == pytest.approx(20 * 0.030, rel=1e-3)
        assert finding.remedy.endswith("Or wire its sense terminals to the battery's posts.")


def test_what_the_array_gives_counts(said) -> None:  # type: ignore[no-untyped-def]
    small = SUN.replace("SENSE", "").replace("2 in parallel; ", "").replace("Isc 12 A; Imp 11 A", "Isc 4 A; Imp 3.8 A")
    assert said(small, "charge_lead_drop").passed("sun").measured.value == pytest.approx(4 * 0.030, rel=0.02)


def test_copper_is_as_warm_as_its_zone(said) -> None:  # type: ignore[no-untyped-def]
    """Readings, Temperature: drop takes the hot end; Solver: wire temperature = zone temperature."""
    text = build() + "site { ambient 0 degC to 40 degC }\n"
    finding = said(text, "charge_lead_drop").finding("shore")
    assert finding.measured.value == pytest.approx(0.6253 * (1 + 0.00393 * 20), rel=1e-3)
    assert sum(
        step.value for step in finding.working if step.symbol.startswith("U_") and step.symbol != "U_allowed"
    ) == pytest.approx(finding.measured.value)


def test_of_several_states_the_worst_is_told(said) -> None:  # type: ignore[no-untyped-def]
    text = (
        build("measured 6 mohm")
        + 'state "nearly full" { house at 14.3 V; shore on }\nstate "empty" { house at 12 V; shore on }\n'
    )
    finding = said(text, "charge_lead_drop").finding("shore")
    assert finding.state == "empty"
    assert [state.state for state in finding.states] == ["empty"]


@pytest.mark.parametrize(("wire", "missing"), [("12 AWG", "length of more"), ("3 m", "gauge of more")])
def test_missing_data_are_named(said, wire: str, missing: str) -> None:  # type: ignore[no-untyped-def]
    found = said(build(wire), "charge_lead_drop")
    assert not found.findings
    assert [what for _, _, what in found.missing] == [missing]


def test_the_system_is_asked_for_where_nothing_tells_it(said) -> None:  # type: ignore[no-untyped-def]
    text = build(system="").replace("AGM, 6 cells", "AGM")
    assert [what for _, _, what in said(text, "charge_lead_drop").missing] == ["nominal system voltage"]


def test_what_never_charges_is_counted(said) -> None:  # type: ignore[no-untyped-def]
    text = SUN.replace("SENSE", "").replace("  in from roof.plus to sun.pv_plus\n", "") + "mains charger shelf 5 A\n"
    found = said(text, "charge_lead_drop")
    assert {(item.condition, item.count) for item in found.idle} == {
        ("it charges in no solved state", 1), ("no battery can be joined to its output", 1)
    }  # fmt: skip
