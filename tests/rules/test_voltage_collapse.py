"""Rule voltage-collapse: the largest power through a resistance, steady and in surges, behind failures, what is missing."""

from __future__ import annotations

from datetime import date

import pytest
from ohmwright.inspecting import InspectOptions, inspect_files
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.resolve import Loader
from ohmwright_rules import PACK

BUILD = """rig "Heater on thin wires", revision 1
battery house { LFP, 4 cells, 10 Ah; internal resistance 100 mohm; rest 12 V at 0 %, 12 V at 100 % }
load heater { LOAD }
wires copper, WIRES {
  feed from house.plus to heater.plus
  back from heater.minus to house.minus
}
"""


def build(load: str, wires: str = "measured 50 mohm") -> str:
    return BUILD.replace("LOAD", load).replace("WIRES", wires)


@pytest.mark.parametrize(
    ("watt", "share"), [(200.0, 0.9), (360.0, 0.5), (180.001, 180 / 180.001), (179.999, None), (20.0, None)]
)
def test_the_largest_power(said, watt: float, share: float | None) -> None:  # type: ignore[no-untyped-def]
    """P = E^2 / (4 R) = 144 / 0.8 = 180 W: worked by hand."""
    found = said(build(f"{watt} W"), "voltage_collapse")
    if share is None:
        assert found.passed("heater", "collapse")
        assert not found.findings
        return
    assert found.grades == [("heater", "collapse", "error")]
    finding = found.finding("heater")
    assert finding.measured.value == pytest.approx(share, rel=1e-6)
    assert (finding.limit.value, finding.sense) == (1.0, "at-least")
    assert finding.margin == pytest.approx(share - 1, rel=1e-6)
    assert finding.working[1].value == pytest.approx(6.0, rel=1e-3)


def test_words(said) -> None:  # type: ignore[no-untyped-def]
    assert said(build("200 W"), "voltage_collapse").finding("heater").message == (
        "heater: in state 'heater on' the circuit carries only 90 % of what its loads ask for; with more the voltage at heater "
        "falls away (6 V is left at it there)."
    )
    barely = said(build("180.001 W"), "voltage_collapse").finding("heater")
    assert "carries only 99.999 % of what" in barely.message


def test_a_surge_of_what_collapses_in_steady_use_is_told_with_that(said) -> None:  # type: ignore[no-untyped-def]
    start = 'state "start" { heater on at 900 W; lasts 1 s }\n'
    found = said(build("360 W") + start, "voltage_collapse")
    assert found.grades == [("heater", "collapse", "error")]
    finding = found.finding("heater")
    assert (finding.state, finding.measured.value) == ("heater on", pytest.approx(0.5))
    assert {state.state: round(state.measured.value, 6) for state in finding.states}["start"] == 0.2


def test_a_surge_of_an_inverter_that_collapses_in_steady_use_yields() -> None:
    text = build("20 W").replace(
        "load heater { 20 W }", "inverter heater { 200 W; peak 600 W for 1 s; efficiency 100 %; idle 0 W; cut-off 10 V }"
    )
    options = InspectOptions(today=date(2026, 1, 1), only=("voltage-collapse", "surge-cut-off"))
    for words, standing in ((text, ["voltage-collapse"]), (text.replace("{ 200 W;", "{ 100 W;"), ["surge-cut-off"])):
        (result,) = inspect_files(["box.rig"], Loader(MemoryFiles({"box.rig": words})), options, (PACK,)).builds
        assert [item.rule.id for item in result.findings] == standing
        if standing == ["voltage-collapse"]:
            assert [item.rule.id for item in result.yielded] == ["surge-cut-off"]
            assert result.findings[0].because == (result.yielded[0].key,)


@pytest.mark.parametrize(("about", "grade"), [("", ("surge-collapse", "warning")), ("; promised", ("collapse", "error"))])
def test_surges(said, about: str, grade: tuple[str, str]) -> None:  # type: ignore[no-untyped-def]
    found = said(build("60 W" + about) + 'state "start" { heater on at 300 W; lasts 1 s }\n', "voltage_collapse")
    assert found.grades == [("heater", *grade)]
    assert found.finding("heater").measured.value == pytest.approx(0.6, rel=1e-6)


def test_a_requirement_promises_its_loads(said) -> None:  # type: ignore[no-untyped-def]
    """Source: the rule's page; R1 and R7 of the requirements name loads that must run and start."""
    text = build("60 W") + 'state "start" { heater on at 300 W; lasts 1 s }\n'
    for promise in ("require start heater\n", "require run heater for 1 h\n"):
        assert said(text + promise, "voltage_collapse").grades == [("heater", "collapse", "error")]


def test_the_surge_of_an_inverter_is_left_to_its_own_rule(said) -> None:  # type: ignore[no-untyped-def]
    text = build("20 W").replace(
        "load heater { 20 W }", "inverter heater { 100 W; peak 600 W for 1 s; efficiency 100 %; idle 0 W }"
    )
    found = said(text, "voltage_collapse")
    assert not found.findings
    assert [item.condition for item in found.idle] == ["a surge of an inverter, which surge-cut-off judges"]
    full = said(text.replace("100 W; peak", "200 W; peak"), "voltage_collapse")
    assert full.grades == [("heater", "collapse", "error")]
    assert full.finding("heater").state == "heater full"


@pytest.mark.parametrize(
    ("surge", "collapse", "cut_off"),
    [
        ("pump on at 1500 W", [("pump", "surge-collapse", "warning")], []),
        ("pump on; box on at 1500 W", [], [("box", "below-cut-off-unrequired", "warning")]),
        ("pump on; box on; saw on at 1500 W", [], [("box", "below-cut-off-unrequired", "warning")]),
    ],
)
def test_each_surge_is_told_once(said, surge: str, collapse: list[object], cut_off: list[object]) -> None:  # type: ignore[no-untyped-def]
    """Source: the pages of both rules; E^2 / (4 R) = 144 V2 / 0.48 ohm = 300 W. An inverter that is merely on is not the cause."""
    text = """rig "Van", revision 1
system 12 V
battery house { LFP, 4 cells, 100 Ah; internal resistance 100 mohm; rest 12 V at 0 %, 12 V at 100 % }
load pump { 20 W; works on 5 V to 15 V }
inverter box { 100 W; peak 100 W for 1 s; efficiency 100 %; idle 1 W; cut-off 5 V; 230 V AC }
AC load saw { 20 W }
wires copper, measured 10 mohm {
  feed from house.plus to pump.plus
  back from pump.minus to house.minus
  box_feed from house.plus to box.plus
  box_back from box.minus to house.minus
}
wire live from box.L to saw.L { 14 AWG; 2 m }
wire neutral from saw.N to box.N { 14 AWG; 2 m }
state "rush" { SURGE; lasts 1 s }
""".replace("SURGE", surge)
    assert said(text, "voltage_collapse").grades == collapse
    assert said(text, "surge_cut_off").grades == cut_off


def test_behind_a_failure_it_is_a_note(said) -> None:  # type: ignore[no-untyped-def]
    """Readings, States after a failure: what fails is a note behind one failure. Two packs carry 250 W, one does not."""
    text = """rig "Two packs", revision 1
load heater 250 W
bus plus
bus minus
wire out from plus to heater.plus { measured 10 mohm }
wire home from heater.minus to minus { measured 10 mohm }
"""
    for name in ("one", "two"):
        text += f"battery {name} {{ LFP, 4 cells, 10 Ah; internal resistance 150 mohm; rest 12 V at 0 %, 12 V at 100 % }}\n"
        text += f"fuse f{name} 60 A\nwire a{name} from {name}.plus to f{name}.line {{ measured 1 mohm }}\n"
        text += f"wire b{name} from f{name}.load to plus {{ measured 1 mohm }}\nwire c{name} from {name}.minus to minus {{ measured 1 mohm }}\n"
    text += 'state "heating" { heater on }\n'
    assert not said(text, "voltage_collapse").findings
    found = said(text, "voltage_collapse", reached=True)
    assert found.grades == [(name, "collapse", "note") for name in ("one", "fone", "two", "ftwo")]
    assert found.finding("fone").message.startswith(
        "fone: once it has failed, the circuit carries only 83.2 % of what its loads ask for in state 'heating, fone blown'; with more "
    )
    assert len(found.finding("fone").states) == 1
    assert found.finding("one").state == "heating, one failed"
    too_much = said(text.replace("250 W", "400 W"), "voltage_collapse", reached=True)
    assert too_much.grades == [("heater", "collapse", "error")], "both packs carry 369 W, and no failure is to blame"


SUNNY = """rig "Main switch off in the sun", revision 1
all wires { copper; 6 AWG; 0.5 m }
battery house { LFP, 4 cells, 100 Ah; internal resistance 7 mohm }
switch main { 100 A }
array roof { Voc 22 V; Vmp 18 V; Isc 6 A; Imp 5.5 A; 100 W }
controller sun { MPPT; 20 A; absorption 14.2 V }
inverter mains { 600 W; efficiency 90 %; cut-off 11 V }
wires {
  a from house.plus to main.line
  b from main.load to mains.plus
  c from mains.minus to house.minus
  d from main.load to sun.batt_plus
  e from house.minus to sun.batt_minus
  f from roof.plus to sun.pv_plus
  g from sun.pv_minus to roof.minus
}
"""


@pytest.mark.parametrize(
    ("closed", "severity", "state"), [("closed", "note", "cooking, main open"), ("open", "error", "cooking")]
)
def test_with_the_battery_taken_off_by_hand_it_is_a_note(said, closed: str, severity: str, state: str) -> None:  # type: ignore[no-untyped-def]
    """Panels of 100 W cannot run 400 W; said to do so in a declared state it is an error still."""
    text = SUNNY + f"state cooking {{ main {closed}; mains on at 400 W; full sun; house at 60 % }}\n"
    found = said(text, "voltage_collapse", reached=True)
    assert found.grades == [("mains", "collapse", severity)]
    finding = found.finding("mains")
    assert finding.state == state
    assert finding.measured.value < 0.25
    assert ("no battery feeds it any more" in finding.message) is (severity == "note")


def test_a_battery_that_still_feeds_makes_it_an_error(said) -> None:  # type: ignore[no-untyped-def]
    """12 V behind 100 + 25.2 + 1 mohm gives 285 W at most, with the second way open behind 100 + 50 + 1 mohm 238 W."""
    text = BUILD.replace("LOAD", "260 W").replace("WIRES", "measured 50 mohm") + (
        "switch more 50 A\nwire x from house.plus to more.line { measured 50 mohm }\nwire y from more.load to heater.plus { measured 1 mohm }\n"
        "wire z from heater.minus to house.minus { measured 1 mohm }\nstate on { more closed; heater on }\n"
    )
    found = said(text, "voltage_collapse", reached=True)
    assert found.grades == [("heater", "collapse", "error")]
    assert found.finding("heater").state == "on, more open"


def test_a_wire_without_length_leaves_it_unchecked(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build("20 W", "14 AWG"), "voltage_collapse")
    assert found.missing == [("heater", "collapse", "length of feed")]
    assert not found.passes
    assert not said(build("2 A"), "voltage_collapse").passes


BOAT = """rig "Motor behind a contactor with a precharge resistor around it", revision 1
system 48 V
battery bank { LFP, 16 cells, 200 Ah; internal resistance 12 mohm; rest 52 V at 0 %, 52 V at 100 % }
relay contactor { 200 A; coil 48 V; coil 15 W; normally open; line on bank.plus; coil_plus on bank.plus; coil_minus on bank.minus }
resistor soft_start { 100 ohm; 50 W; precharge; a on contactor.line; b on contactor.load }
load motor { 4 kW; motor }
wires copper, measured 1 mohm {
  out from contactor.load to motor.plus
  back from motor.minus to bank.minus
}
"""


def test_a_contactor_is_in_before_the_load_behind_it_starts(said) -> None:  # type: ignore[no-untyped-def]
    """P = E^2 / (4 R), worked by hand: through the precharge resistor, or through battery and wires."""
    assert said(BOAT, "voltage_collapse").passed("motor", "collapse")
    unfed = BOAT.replace("coil_plus on bank.plus; ", "")
    assert said(unfed, "voltage_collapse").finding("motor").measured.value == pytest.approx(
        52**2 / (4 * 100.014) / 4000, rel=1e-4
    )
    weak = BOAT.replace("resistance 12 mohm", "resistance 1 ohm")  # in, and too weak all the same
    assert said(weak, "voltage_collapse").finding("motor").measured.value == pytest.approx(52**2 / (4 * 1.002) / 4000, rel=1e-2)
