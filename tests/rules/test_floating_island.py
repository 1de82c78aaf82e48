"""Rule floating-island: loads and sources outside of every loop, through which a part may be closed, what goes on outside, mains."""

from __future__ import annotations

import pytest

HEAD = (
    'rig "Loops", revision 1\nbasis us-small-craft\nall wires { 12 AWG; 1 m }\n'
    "battery house { LFP, 4 cells, 60 Ah; internal resistance 9 mohm }\nload lamp 1 A\n"
    "wire l1 from house.plus to lamp.plus\nwire l2 from lamp.minus to house.minus\n"
)


def test_what_is_closed_passes(said) -> None:  # type: ignore[no-untyped-def]
    found = said(HEAD, "floating_island")
    assert found.grades == []
    assert sorted((item.subject[0], item.grade) for item in found.passes) == [("house", "no-return"), ("lamp", "unfed")]


@pytest.mark.parametrize(
    ("wires", "words"),
    [
        ("wire a from house.plus to fan.plus\n", "nothing leads back from the minus"),
        ("wire a from fan.minus to house.minus\n", "no source reaches the plus"),
        ("", "no source reaches the plus or the minus"),
        ("wire a from house.plus to fan.plus\nwire b from fan.minus to fan.plus\n", "lie on one node"),
        (
            "battery other { LFP, 4 cells, 5 Ah }\nload bell 1 A\nwire a from house.plus to fan.plus\nwire b from fan.minus to other.minus\n"
            "wire c from other.plus to bell.plus\nwire d from bell.minus to other.minus\n",
            "two sources that have nothing in common",
        ),
    ],
)
def test_load_that_nothing_can_feed(said, wires: str, words: str) -> None:  # type: ignore[no-untyped-def]
    found = said(HEAD + "load fan 1 A\n" + wires, "floating_island")
    assert found.grades == [("fan", "unfed", "warning")]
    assert words in found.finding("fan").message


def test_open_switches_and_plugs_count_as_closed(said) -> None:  # type: ignore[no-untyped-def]
    more = (
        "switch gate 10 A\nconnector out with plug { pin 1; pin 2 }\nload fan 1 A\nwire a from house.plus to gate.line\n"
        "wire b from gate.load to out.1\nwire c from out.2 to house.minus\nwire d from plug.1 to fan.plus\nwire e from plug.2 to fan.minus\n"
        'state "off" { gate open; plug apart }\n'
    )
    assert said(HEAD + more, "floating_island").grades == []


def test_loads_in_series_work(said) -> None:  # type: ignore[no-untyped-def]
    more = "load one 1 A\nload two 1 A\nwire a from house.plus to one.plus\nwire b from one.minus to two.plus\nwire c from two.minus to house.minus\n"
    assert said(HEAD + more, "floating_island").grades == []


def test_source_without_a_way_back(said) -> None:  # type: ignore[no-untyped-def]
    found = said(HEAD + "battery spare { LFP, 4 cells, 5 Ah }\nwire a from spare.minus to house.minus\n", "floating_island")
    assert found.grades == [("spare", "no-return", "warning")]


def test_connector_without_a_mate_leads_outside(said) -> None:  # type: ignore[no-untyped-def]
    more = (
        "battery pack { LFP, 4 cells, 60 Ah }\nconnector socket { pin 1; pin 2 }\nwire a from pack.plus to socket.1\n"
        "wire b from pack.minus to socket.2\nconnector plug { pin 1; pin 2 }\nload fan 1 A\nwire c from plug.1 to fan.plus\n"
        "wire d from plug.2 to fan.minus\n"
    )
    found = said(HEAD + more, "floating_island")
    assert found.grades == []
    assert {item.condition: item.count for item in found.idle} == {
        "goes on outside, through a connector that has no mate here": 2
    }


def test_mated_connector_does_not_lead_outside(said) -> None:  # type: ignore[no-untyped-def]
    more = "connector out with plug { pin 1; pin 2 }\nload fan 1 A\nwire a from house.plus to out.1\nwire b from plug.1 to fan.plus\nwire c from fan.minus to plug.2\n"
    found = said(HEAD + more, "floating_island")
    assert found.grades == [("fan", "unfed", "warning")]
    assert not found.idle


def test_meter_is_a_consumer_and_a_controllers_drain_is_no_second_one(said) -> None:  # type: ignore[no-untyped-def]
    more = "meter gauge { takes 1 mA }\nwire g from gauge.plus to house.plus\ncontroller sun { MPPT; own drain 1 mA }\n"
    found = said(HEAD + more, "floating_island")
    assert found.grades == [("gauge", "unfed", "warning"), ("sun", "no-return", "warning")]


def test_controller_and_array(said) -> None:  # type: ignore[no-untyped-def]
    more = (
        "array roof { Voc 22 V }\ncontroller sun { MPPT; own drain 1 mA }\nwire c1 from sun.batt_plus to house.plus\n"
        "wire c2 from sun.batt_minus to house.minus\nwire p1 from roof.plus to sun.pv_plus\n"
    )
    good = said(HEAD + more + "wire p2 from roof.minus to sun.pv_minus\n", "floating_island")
    assert good.grades == []
    bad = said(HEAD + more + "wire p2 from sun.pv_minus to house.minus\n", "floating_island")
    assert bad.grades == [("roof", "no-return", "warning"), ("sun", "unfed", "warning")]
    assert "of its PV side" in bad.finding("sun").message


def test_array_that_returns_by_the_common_minus_of_its_controller(said) -> None:  # type: ignore[no-untyped-def]
    """A declared common pole joins the array's minus inside, also where nothing is joined to that terminal."""
    more = (
        "array roof { Voc 22 V; Vmp 18 V; Isc 6 A; Imp 5.5 A }\ncontroller sun { MPPT; 10 A; absorption 14.2 V; COMMON }\n"
        "wire c1 from sun.batt_plus to house.plus\nwire c2 from sun.batt_minus to house.minus\nwire p1 from roof.plus to sun.pv_plus\n"
        "wire p2 from roof.minus to house.minus\n"
    )
    assert said(HEAD + more.replace("COMMON", "common negative"), "floating_island").grades == []
    assert [item[0] for item in said(HEAD + more.replace("; COMMON", ""), "floating_island").grades] == ["roof"]


@pytest.mark.parametrize(
    ("words", "grades"), [("output 5 V", []), ("output 5 V; isolated", [("phone", "unfed"), ("small", "no-return")])]
)
def test_load_that_returns_past_its_converter(said, words: str, grades: list[tuple[str, str]]) -> None:  # type: ignore[no-untyped-def]
    """A converter that does not isolate joins both minus poles (declared data: undeclared is no)."""
    more = (
        f"converter small {{ {words} }}\nload phone {{ 5 V; 5 W }}\nwire a from house.plus to small.in_plus\n"
        "wire b from small.in_minus to house.minus\nwire c from small.out_plus to phone.plus\nwire d from phone.minus to house.minus\n"
    )
    assert sorted(item[:2] for item in said(HEAD + more, "floating_island").grades) == grades


def test_mains(said) -> None:  # type: ignore[no-untyped-def]
    more = (
        "inverter mains 300 W\nAC load kettle 100 W\nwire i1 from house.plus to mains.plus\nwire i2 from mains.minus to house.minus\n"
        "wire hot from mains.L to kettle.L\n"
    )
    found = said(HEAD + more, "floating_island")
    assert found.grades == [("kettle", "unfed", "warning")]
    assert "reaches N" in found.finding("kettle").message
    assert said(HEAD + more + "wire cold from mains.N to kettle.N\n", "floating_island").grades == []
    inlet = "connector inlet { inlet; pin 1 L; pin 2 N }\nAC load lantern 5 W\nwire x from inlet.1 to lantern.L\nwire y from inlet.2 to lantern.N\n"
    assert said(HEAD + inlet, "floating_island").grades == []
