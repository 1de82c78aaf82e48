"""Rule reversed-polarity: the fault catalogue's example G4, each kind of part, one cause told once, pins, motors, missing promises."""

from __future__ import annotations

import pytest

HEAD = (
    'rig "Poles", revision 1\nbasis us-small-craft\nsystem 12 V\nall wires { 12 AWG; 1 m }\n'
    "battery house { LFP, 4 cells, 60 Ah; internal resistance 18 mohm }\n"
)
LAMP = "load lamp 1 A\nwire l1 from house.plus to lamp.plus\nwire l2 from lamp.minus to house.minus\n"
SUN = (
    "array roof { Voc 22 V; Vmp 18 V; Isc 6 A; Imp 5.5 A }\ncontroller sun { MPPT; 10 A; absorption 14.2 V; PV at most 50 V }\n"
    "wire c1 from sun.batt_plus to house.plus\nwire c2 from sun.batt_minus to house.minus\n"
    "connector inlet with lead { pin 1 plus; pin 2 minus }\nwire p3 from inlet.1 to sun.pv_plus\nwire p4 from inlet.2 to sun.pv_minus\n"
)


def test_catalogue_g4(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, G4, Ex: two-pole lead reversed for PV + standard lead on box -> one swap -> error."""
    found = said(
        HEAD + LAMP + SUN + "wire p1 from roof.plus to lead.2\nwire p2 from roof.minus to lead.1\n", "reversed_polarity"
    )
    assert found.grades == [("lead", "broken-promise", "error")]
    finding = found.findings[0]
    assert finding.subject == ("lead", "inlet", "sun")
    assert finding.message == (
        "lead.1 promises plus and lies on the minus side, and lead.2 promises minus and lies on the plus side; sun behind it is reversed."
    )
    assert finding.remedy.startswith("Swap the wires at lead.1 and lead.2")


def test_two_swaps_are_none_for_the_load_but_break_the_promise_between(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, G4: the number of swaps is even; the pins between still lie."""
    text = (
        HEAD
        + LAMP
        + SUN.replace("inlet.1 to sun.pv_plus", "inlet.2 to sun.pv_plus").replace(
            "inlet.2 to sun.pv_minus", "inlet.1 to sun.pv_minus"
        )
    )
    found = said(text + "wire p1 from roof.plus to lead.2\nwire p2 from roof.minus to lead.1\n", "reversed_polarity")
    assert [item.subject for item in found.findings] == [("inlet", "lead")]
    assert ("sun",) in [item.subject for item in found.passes]


def test_straight_lead_passes(said) -> None:  # type: ignore[no-untyped-def]
    found = said(
        HEAD + LAMP + SUN + "wire p1 from roof.plus to lead.1\nwire p2 from roof.minus to lead.2\n", "reversed_polarity"
    )
    assert found.grades == []
    assert {item.subject[0] for item in found.passes} == {"house", "lamp", "roof", "sun", "inlet", "lead"}


def test_swap_behind_right_pins_is_the_parts_own(said) -> None:  # type: ignore[no-untyped-def]
    text = (
        HEAD
        + LAMP
        + SUN.replace("inlet.1 to sun.pv_plus", "inlet.2 to sun.pv_plus").replace(
            "inlet.2 to sun.pv_minus", "inlet.1 to sun.pv_minus"
        )
    )
    found = said(text + "wire p1 from roof.plus to lead.1\nwire p2 from roof.minus to lead.2\n", "reversed_polarity")
    assert found.grades == [("sun", "swapped", "error")]
    assert "the plus of its PV side" in found.findings[0].message


def test_load(said) -> None:  # type: ignore[no-untyped-def]
    more = "load pump 10 A\nwire feed from house.plus to pump.minus\nwire back from pump.plus to house.minus\n"
    finding = said(HEAD + LAMP + more, "reversed_polarity").finding("pump")
    assert finding.remedy == "Swap back and feed at pump."
    assert finding.working[0].value == pytest.approx(-13.15, abs=0.1)  # LFP half full, 4 x 3.29 V
    assert {state.state for state in finding.states} >= {"stored", "pump on"}


@pytest.mark.parametrize(
    ("part", "plus", "minus"),
    [
        ("mains charger part { 10 A; absorption 14 V }", "plus", "minus"),
        ("inverter part { 300 W }", "plus", "minus"),
        ("meter part { takes 1 mA }", "plus", "minus"),
        ("controller part { MPPT; 10 A }", "batt_plus", "batt_minus"),
        ("converter part { output 5 V; isolated }", "in_plus", "in_minus"),
        ("relay part { coil 12 V; coil 2 W; diode across the coil }", "coil_plus", "coil_minus"),
        ("battery part { LFP, 4 cells, 60 Ah; internal resistance 18 mohm }", "plus", "minus"),
    ],
)
def test_kinds(said, part: str, plus: str, minus: str) -> None:  # type: ignore[no-untyped-def]
    wires = f"\nwire a from house.plus to part.{minus}\nwire b from part.{plus} to house.minus\n"
    assert said(HEAD + LAMP + part + wires, "reversed_polarity").grades == [("part", "swapped", "error")]
    right = f"\nwire a from house.plus to part.{plus}\nwire b from part.{minus} to house.minus\n"
    assert said(HEAD + LAMP + part + right, "reversed_polarity").grades == []


def test_coil_without_a_diode_has_no_polarity(said) -> None:  # type: ignore[no-untyped-def]
    more = "relay gate { coil 12 V; coil 2 W }\nwire a from house.plus to gate.coil_minus\nwire b from gate.coil_plus to house.minus\n"
    assert said(HEAD + LAMP + more, "reversed_polarity").grades == []


def test_behind_a_converter(said) -> None:  # type: ignore[no-untyped-def]
    more = (
        "converter small { output 5 V; isolated }\nload phone { 5 V; 5 W }\nwire a from house.plus to small.in_plus\n"
        "wire b from small.in_minus to house.minus\nwire c from small.out_plus to phone.minus\nwire d from phone.plus to small.out_minus\n"
    )
    assert said(HEAD + LAMP + more, "reversed_polarity").grades == [("phone", "swapped", "error")]


def test_battery_that_everything_contradicts_is_told_itself(said) -> None:  # type: ignore[no-untyped-def]
    text = HEAD + (
        "load one 1 A\nload two 1 A\nbus upper\nbus lower\nwire h1 from house.minus to upper\nwire h2 from house.plus to lower\n"
        "wire a from upper to one.plus\nwire b from upper to two.plus\nwire c from one.minus to lower\nwire d from two.minus to lower\n"
    )
    found = said(text, "reversed_polarity")
    assert [item.subject for item in found.findings] == [("house", "one", "two")]
    assert found.findings[0].remedy == "Swap h2 and h1 at house. Or turn all the others round."


def test_one_of_two_parallel_batteries(said) -> None:  # type: ignore[no-untyped-def]
    """The loads tell which of both it is, whatever their names."""
    other = "battery another { LFP, 4 cells, 60 Ah; internal resistance 18 mohm }\nwire a from house.plus to another.minus\n"
    found = said(HEAD + LAMP + other + "wire b from house.minus to another.plus\n", "reversed_polarity")
    assert found.grades == [("another", "swapped", "error")]


def test_motor_that_turns_both_ways(said) -> None:  # type: ignore[no-untyped-def]
    winch = (
        'load winch { 5 A; MOTOR }\nselector one { position "in" joins a; position "out" joins b }\n'
        'selector two { position "in" joins a; position "out" joins b }\nwire w1 from one.common to winch.plus\n'
        "wire w2 from two.common to winch.minus\nwire w3 from house.plus to one.a\nwire w4 from house.minus to one.b\n"
        "wire w5 from house.minus to two.a\nwire w6 from house.plus to two.b\n"
        'state "hauling" { one at "in"; two at "in"; winch on }\nstate "paying out" { one at "out"; two at "out"; winch on }\n'
    )
    found = said(HEAD + LAMP + winch.replace("MOTOR", "motor"), "reversed_polarity")
    assert found.grades == []
    assert "a motor that its switches turn both ways" in [item.condition for item in found.idle]
    assert said(HEAD + LAMP + winch.replace("; MOTOR", ""), "reversed_polarity").grades == [("winch", "swapped", "error")]


def test_single_pole_pin(said) -> None:  # type: ignore[no-untyped-def]
    more = "connector red { pin 1 plus }\nwire r from house.minus to red.1\n"
    finding = said(HEAD + LAMP + more, "reversed_polarity").finding("red")
    assert finding.message == "red.1 promises plus and lies on the minus side."


def test_pins_that_promise_nothing_are_not_checked(said) -> None:  # type: ignore[no-untyped-def]
    """Declared data, connector: undeclared, then G4 not checked."""
    more = "connector out { pin 1; pin 2 }\nwire r from house.plus to out.1\nwire s from house.minus to out.2\n"
    assert said(HEAD + LAMP + more, "reversed_polarity").missing == [
        ("out", "broken-promise", "polarity that its pins promise")
    ]


def test_what_nothing_feeds(said) -> None:  # type: ignore[no-untyped-def]
    found = said(HEAD + LAMP + "load lost 1 A\nload half 1 A\nwire a from house.plus to half.plus\n", "reversed_polarity")
    assert {item.condition: item.count for item in found.idle} == {"no source reaches both of its poles": 2}


_BAR = (
    'rig "Bar", revision 1\nbasis us-small-craft\nbattery house { LFP, 4 cells, 60 Ah; internal resistance 9 mohm }\nswitch main 40 A\n'
    "load lamp 2 A\nload fan 1 A\nbus plus\nbus minus\nall wires { 10 AWG; 1 m }\n"
    "wires { a from house.PLUS to main.line; b from main.load to plus; c from minus to house.MINUS; d from plus to lamp.plus\n"
    "e from lamp.minus to minus; f from plus to fan.plus; g from fan.minus to minus }\n"
)


def test_a_swapped_charger_is_told_alone_though_it_feeds_the_rest_without_the_battery(said) -> None:  # type: ignore[no-untyped-def]
    text = _BAR.replace("PLUS", "plus").replace("MINUS", "minus")
    text += (
        "mains charger home { 10 A; absorption 14.4 V }\nconnector in with lead { pin 1 plus; pin 2 minus }\n"
        "wires { h from lead.1 to home.minus; i from lead.2 to home.plus; j from plus to in.1; k from in.2 to minus }\n"
    )
    found = said(text, "reversed_polarity")
    assert [(item.subject[0], item.grade) for item in found.findings] == [("home", "swapped")]


def test_a_swapped_battery_is_told_beside_a_panel_too(said) -> None:  # type: ignore[no-untyped-def]
    text = _BAR.replace("PLUS", "minus").replace("MINUS", "plus")
    text += (
        "array roof { Voc 22 V; Vmp 18 V; Isc 6 A; Imp 5.5 A }\ncontroller sun { MPPT; 10 A; absorption 14.2 V; common negative }\n"
        "wires { p from roof.plus to sun.pv_plus; q from roof.minus to sun.pv_minus; r from sun.batt_plus to plus; s from sun.batt_minus to minus }\n"
    )
    (finding,) = said(text, "reversed_polarity").findings
    assert finding.subject == ("house", "fan", "lamp", "sun")
