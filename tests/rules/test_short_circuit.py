"""Rule short-circuit: what joins a source plus to minus, which wire is named, strings, selectors, states, what is no short."""

from __future__ import annotations

import pytest

HEAD = (
    'rig "Short", revision 1\nbasis us-small-craft\nsystem 12 V\nall wires { 12 AWG; 1 m }\n'
    "battery house { LFP, 4 cells, 60 Ah; internal resistance 18 mohm }\n"
)
PUMP = "load pump 4 A\nbus bar\nwire feed from house.plus to bar\nwire run from bar to pump.plus\nwire back from pump.minus to house.minus\n"


def test_the_wire_that_does_it_is_named(said) -> None:  # type: ignore[no-untyped-def]
    found = said(HEAD + PUMP + "wire slip from bar to house.minus\n", "short_circuit")
    assert found.grades == [("house", "shorted", "error")]
    finding = found.finding("house")
    assert finding.subject == ("house", "feed", "slip")
    assert finding.span.line == 11
    assert finding.remedy.startswith("Take slip away")
    # 13.16 V at half charge over 18 mohm and 2 x 5.211 mohm (12 AWG, catalogue): 463 A.
    assert finding.working[0].value == pytest.approx(13.152 / (0.018 + 2 * 0.005211), rel=2e-3)
    assert {state.state for state in finding.states} == {"stored", "pump on"}


def test_without_the_wire_it_passes(said) -> None:  # type: ignore[no-untyped-def]
    found = said(HEAD + PUMP, "short_circuit")
    assert found.grades == []
    assert [item.subject for item in found.passes] == [("house",)]


def test_single_wire(said) -> None:  # type: ignore[no-untyped-def]
    finding = said(HEAD + "wire slip from house.plus to house.minus\n", "short_circuit").finding("house")
    assert finding.subject == ("house", "slip")
    assert finding.span.line == 6


def test_two_ways_leave_no_wire_to_name(said) -> None:  # type: ignore[no-untyped-def]
    finding = said(HEAD + PUMP + "wire slip from bar to house.minus\nwire slop from bar to house.minus\n", "short_circuit")
    assert finding.finding("house").span.line == 5
    assert finding.finding("house").remedy.startswith("Open the way")


@pytest.mark.parametrize(("ohm", "short"), [("99 mohm", True), ("100 mohm", False), ("1 kohm", False)])
def test_resistor_below_a_tenth_of_an_ohm_counts_as_a_wire(said, ohm: str, short: bool) -> None:  # type: ignore[no-untyped-def]
    more = f"resistor bleed {ohm}\nwire r1 from bar to bleed.a\nwire r2 from bleed.b to house.minus\n"
    assert bool(said(HEAD + PUMP + more, "short_circuit").findings) is short


def test_long_thin_wire_is_a_short_as_well(said) -> None:  # type: ignore[no-untyped-def]
    more = "wire slip from bar to house.minus { 24 AWG; 100 m }\n"
    finding = said(HEAD + PUMP + more, "short_circuit").finding("house")
    # 24 AWG has 84.2 mohm/m (ASTM B258 and 0.017241 ohm mm2/m): 13.15 V / 8.4 ohm, and the 4 A of the pump.
    assert finding.working[0].value == pytest.approx(4 + 13.15 / 8.42, abs=0.05)


def test_coil_clamp_and_blocking_diode_are_none(said) -> None:  # type: ignore[no-untyped-def]
    more = "diode clamp\nwire d1 from bar to clamp.cathode\nwire d2 from clamp.anode to house.minus\n"
    assert said(HEAD + PUMP + more, "short_circuit").grades == []


def test_string_in_a_ring(said) -> None:  # type: ignore[no-untyped-def]
    """A series string whose ends a wire joins: no battery of it is shorted alone."""
    text = HEAD + (
        "battery second { LFP, 4 cells, 60 Ah; internal resistance 18 mohm }\nwire link from house.plus to second.minus\n"
        "wire slip from second.plus to house.minus\n"
    )
    finding = said(text, "short_circuit").finding("house")
    assert finding.subject == ("house", "second", "link", "slip")
    assert "close a ring" in finding.message


def test_parallel_batteries_are_told_once(said) -> None:  # type: ignore[no-untyped-def]
    more = (
        "battery second { LFP, 4 cells, 60 Ah; internal resistance 18 mohm }\nwire u from house.plus to second.plus\n"
        "wire l from house.minus to second.minus\nwire slip from bar to house.minus\n"
    )
    found = said(HEAD + PUMP + more, "short_circuit")
    assert len(found.findings) == 1
    assert found.findings[0].subject == ("house", "second", "feed", "slip")
    assert found.findings[0].span.line == 14


def test_only_in_one_position_of_a_selector(said) -> None:  # type: ignore[no-untyped-def]
    more = (
        'selector choice { position "1" joins one; position "2" joins two }\nwire s1 from bar to choice.common\n'
        "wire s2 from choice.two to house.minus\nload lamp 1 A\nwire s3 from choice.one to lamp.plus\n"
        'wire s4 from lamp.minus to house.minus\nstate "lit" { choice at "1"; lamp on }\n'
    )
    finding = said(HEAD + PUMP + more, "short_circuit").finding("house")
    assert [state.state for state in finding.states] == ["resting, choice at 2"]
    one = said(HEAD + PUMP + more.replace("choice.two to house.minus", "choice.two to lamp.plus"), "short_circuit")
    assert one.grades == []


def test_only_with_a_switch_closed(said) -> None:  # type: ignore[no-untyped-def]
    more = (
        "switch odd 10 A\nwire s1 from bar to odd.line\nwire s2 from odd.load to house.minus\n"
        'state "good" { pump on }\nstate "bad" { odd closed; pump on }\n'
    )
    finding = said(HEAD + PUMP + more, "short_circuit").finding("house")
    states = {state.state for state in finding.states}
    assert "bad" in states
    assert not states & {"good", "stored"}


def test_other_sources(said) -> None:  # type: ignore[no-untyped-def]
    more = (
        "array roof { Voc 22 V; Vmp 18 V; Isc 6 A; Imp 5.5 A }\nwire slip from roof.plus to roof.minus\n"
        "converter small { output 5 V; output at most 3 A }\nwire c1 from small.out_plus to small.out_minus\n"
    )
    found = said(HEAD + PUMP + more, "short_circuit")
    assert [item[0] for item in found.grades] == ["roof", "small"]


def test_battery_without_resistance(said) -> None:  # type: ignore[no-untyped-def]
    """The state has no operating point; the finding says so, and the run does not fail."""
    text = HEAD.replace("; internal resistance 18 mohm", "") + "bus bar\nhouse.plus on bar\nhouse.minus on bar\n"
    finding = said(text, "short_circuit").finding("house")
    assert "nothing that is declared limits the current" in finding.message


def test_resistor_that_says_nothing_is_not_checked(said) -> None:  # type: ignore[no-untyped-def]
    text = HEAD.replace("; internal resistance 18 mohm", "") + (
        "resistor bleed { for bleeding }\nbleed.a on house.plus\nbleed.b on house.minus\n"
    )
    found = said(text, "short_circuit")
    assert found.missing == [("house", "shorted", "resistance")]


def test_declared_dead_short_is_left_out(said) -> None:  # type: ignore[no-untyped-def]
    assert said(HEAD + PUMP + 'state "test" { short at bar }\n', "short_circuit").grades == []


def test_parts_in_the_way_go_by_their_names(said) -> None:  # type: ignore[no-untyped-def]
    more = (
        "fuse branch { 10 A; line on bar }\nconnector out with plug { pin 1; pin 2 }\nwire s1 from branch.load to out.1\n"
        "wire s2 from plug.1 to house.minus\n"
    )
    finding = said(HEAD + PUMP + more, "short_circuit").finding("house")
    assert finding.subject == ("house", "feed", "branch", "s1", "out with plug", "s2")


def test_no_source(said) -> None:  # type: ignore[no-untyped-def]
    found = said('rig "None", revision 1\nload lamp 1 A\n', "short_circuit")
    assert [item.condition for item in found.idle] == ["no source"]


@pytest.mark.parametrize(
    ("ends", "shorted"), [("anode on bar; cathode on house.minus", True), ("anode on house.minus; cathode on bar", False)]
)
def test_a_diode_that_lets_the_battery_through_shorts_it(said, ends: str, shorted: bool) -> None:  # type: ignore[no-untyped-def]
    """As across a coil, the wrong way round: a diode in its own direction uses next to nothing."""
    text = (
        'rig "Coil", revision 1\nbasis us-small-craft\nbattery house { LFP, 4 cells, 60 Ah; internal resistance 18 mohm }\nfuse main 20 A\nbus bar\n'
        "load pump 4 A\nall wires { 12 AWG; 1 m }\nwires { a from house.plus to main.line; b from main.load to bar; c from bar to pump.plus\n"
        f"d from pump.minus to house.minus }}\ndiode spike {{ 1 A; {ends} }}\n"
    )
    found = said(text, "short_circuit")
    assert [item.subject[0] for item in found.findings] == (["house"] if shorted else [])
    if shorted:
        assert "spike" in found.findings[0].subject and found.findings[0].remedy.startswith("Turn spike round")
