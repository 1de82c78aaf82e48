"""Rule overloaded-cord: the fault catalogue's example D7 end to end, markings, cores, kinds that are not said."""

from __future__ import annotations

import pytest

BUILD = """rig "Pump on a cord", revision 1
basis us-small-craft
site { ambient 0 degC to 30 degC }
battery house { LFP, 4 cells, 100 Ah; internal resistance 4 mohm }
load pump LOAD
cable lead { KIND; GAUGE; 3 m
  core out from house.plus to pump.plus
  core back from pump.minus to house.minus
  core spare cut back
}
"""


def build(load: str, gauge: str = "14 AWG", kind: str = "flexible cord") -> str:
    return BUILD.replace("LOAD", load).replace("GAUGE", gauge).replace("KIND", kind)


def test_catalogue_d7(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, D7, Ex: 14 AWG cord at 20 A: cord 18 A -> error. One finding for the cable, at its own line."""
    found = said(build("20 A"), "overloaded_cord")
    assert found.grades == [("lead", "over-cord-table", "error")]
    finding = found.finding("lead")
    assert finding.subject == ("lead", "lead.back", "lead.out")
    assert (finding.measured.value, finding.limit.value) == (pytest.approx(20.0), 18.0)
    assert finding.message == "lead: 20 A flows here in state 'pump on'; this 14 AWG cord is rated for 18 A."
    assert finding.remedy == "Use 12 AWG or larger, or bring the current to 18 A or less."
    assert finding.span.line == 6
    assert said(build("20 A", kind="boat cable; in free air; 105 degC insulation"), "undersized_wire").passed("lead.out")


@pytest.mark.parametrize(("gauge", "value"), [("18 AWG", 10.0), ("16 AWG", 13.0), ("14 AWG", 18.0), ("12 AWG", 25.0)])
def test_edges_of_the_table(said, gauge: str, value: float) -> None:  # type: ignore[no-untyped-def]
    """NFPA 70 Table 400.5(A)(1), two loaded cores, as the catalogue's D7 quotes it: 10, 13, 18, 25 A. At equality it holds."""
    assert said(build(f"{value:g} A", gauge), "overloaded_cord").passed("lead").limit.value == value
    assert said(build(f"{value + 0.01:g} A", gauge), "overloaded_cord").grades == [("lead", "over-cord-table", "error")]


def test_a_third_loaded_core_takes_the_other_column(said) -> None:  # type: ignore[no-untyped-def]
    """NFPA 70 Table 400.5(A)(1), three loaded cores: 14 AWG 15 A."""
    text = build("15.5 A").replace("core spare cut back", "core more from house.plus to lamp.plus") + (
        "load lamp 1 A\nwire home from lamp.minus to house.minus { 14 AWG; 1 m }\n"
    )
    assert said(text, "overloaded_cord").finding("lead").limit.value == 15.0


def test_a_marking_counts_where_it_is_smaller(said) -> None:  # type: ignore[no-untyped-def]
    assert said(build("17 A", kind="flexible cord; marked 16 A"), "overloaded_cord").finding("lead").limit.value == 16.0
    assert said(build("17 A", kind="flexible cord; marked 20 A"), "overloaded_cord").passed("lead").limit.value == 18.0


def test_iec_begins_at_four_square_millimetres(said) -> None:  # type: ignore[no-untyped-def]
    """BS 7671 Table 4F1A: 4 mm2 30 A, two cores on DC; below it the marking, else not checked (readings, Cords)."""
    assert said(build("30 A", "4 mm2"), "overloaded_cord", basis="iec").passed("lead").limit.value == 30.0
    thin = said(build("10 A", "1.5 mm2"), "overloaded_cord", basis="iec")
    assert thin.missing == [("lead", "over-cord-table", "the cord's current marking")]
    assert thin.unchecked[0].declare == "marked 16 A"
    marked = said(build("10 A", "1.5 mm2", "flexible cord; marked 10 A"), "overloaded_cord", basis="iec")
    assert marked.passed("lead").limit.value == 10.0


def test_a_kind_that_is_not_said_passes_only_as_a_cord(said) -> None:  # type: ignore[no-untyped-def]
    assert said(build("18 A", kind="sheathed"), "overloaded_cord").passed("lead").limit.value == 18.0
    found = said(build("18.5 A", kind="sheathed"), "overloaded_cord")
    assert found.missing == [("lead", "over-cord-table", "kind of cable")]
    assert not found.findings


def test_household_cords_are_cords_and_boat_cables_are_not(said) -> None:  # type: ignore[no-untyped-def]
    assert said(build("20 A", kind="household cord"), "overloaded_cord").grades == [("lead", "over-cord-table", "error")]
    boat = said(build("20 A", kind="boat cable"), "overloaded_cord")
    assert [item.condition for item in boat.idle] == [
        "a cable of another kind, which the table of wires judges (undersized-wire)"
    ]


def test_a_coil_is_a_matter_of_its_own(said) -> None:  # type: ignore[no-untyped-def]
    assert said(build("18 A", kind="flexible cord; coiled"), "overloaded_cord").passed("lead").limit.value == 18.0


def test_what_is_missing(said) -> None:  # type: ignore[no-untyped-def]
    no_air = build("10 A").replace("site { ambient 0 degC to 30 degC }\n", "")
    assert said(no_air, "overloaded_cord").missing == [("lead", "over-cord-table", "temperature of the air")]
    hot = build("10 A").replace("to 30 degC", "to 45 degC")
    assert said(hot, "overloaded_cord").passed("lead").limit.value == pytest.approx(18 * 0.5**0.5)
    assert said(hot.replace("10 A", "13 A"), "overloaded_cord").missing == [
        ("lead", "over-cord-table", "insulation temperature")
    ]
    assert said(build("10 A", "tinned"), "overloaded_cord").missing == [("lead", "over-cord-table", "gauge")]
    idle = said(build("10 A").replace("load pump 10 A", "load pump"), "overloaded_cord")
    assert [item.condition for item in idle.idle] == ["carries no steady current in any state"]
