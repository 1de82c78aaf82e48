"""Rule mains-on-dc: live conductors on DC nets, earth and cases; a bonded neutral is none; mixed wiring never breaks a run."""

from __future__ import annotations

import pytest

HEAD = (
    'rig "Mains", revision 1\nbasis us-small-craft\nall wires { 12 AWG; 1 m }\nbus bar\ncase box steel\n'
    "battery house { LFP, 4 cells, 100 Ah; internal resistance 5 mohm }\ninverter mains { 600 W; 120 V AC }\nAC load kettle 500 W\n"
    "wire m from house.plus to bar\nwire i1 from bar to mains.plus\nwire i2 from mains.minus to house.minus\n"
    "wire hot from mains.L to kettle.L\nwire cold from mains.N to kettle.N\n"
)


@pytest.mark.parametrize("end", ["bar", "house.minus", "box", "mains.PE"])
def test_live_conductor(said, end: str) -> None:  # type: ignore[no-untyped-def]
    found = said(HEAD + f"wire slip from kettle.L to {end}\n", "mains_on_dc")
    assert found.grades == [("slip", "joined", "error")]
    finding = found.finding("slip")
    assert finding.subject[0] == "slip"
    assert f"it joins {end} with " in finding.message
    assert finding.span.line == 14


@pytest.mark.parametrize("end", ["house.minus", "box", "mains.PE"])
def test_bonded_neutral_is_none(said, end: str) -> None:  # type: ignore[no-untyped-def]
    """A neutral that is bonded to earth, and earth that is bonded to the DC minus, are usual; the run reads such a build like any other."""
    found = said(HEAD + f"wire bond from mains.N to {end}\nwire earth from mains.PE to house.minus\n", "mains_on_dc")
    assert found.grades == []
    assert [item.condition for item in found.idle] == ["a neutral that is bonded, which is a matter of its own"]
    assert ("mains",) in [item.subject for item in found.passes]


def test_joint_and_pin(said) -> None:  # type: ignore[no-untyped-def]
    more = "connector out with plug { pin 1; pin 2 }\nwire a from mains.L to out.1\nwire b from plug.1 to bar\nload lamp 1 A\nkettle.L on lamp.plus\n"
    assert [item[0] for item in said(HEAD + more, "mains_on_dc").grades] == ["a", "kettle.L"]


def test_no_mains(said) -> None:  # type: ignore[no-untyped-def]
    found = said('rig "None", revision 1\nload lamp 1 A\n', "mains_on_dc")
    assert [item.condition for item in found.idle] == ["no mains and no inverter's output"]


@pytest.mark.parametrize("slip", ["mains.L to house.minus", "out.1 to house.minus", "out.1 to bar"])
def test_the_slip_is_named_wherever_it_begins(said, slip: str) -> None:  # type: ignore[no-untyped-def]
    """One joint alone joins the two sides: that one is told, not those of the outlet that it pulls along."""
    text = (
        'rig "Kettle", revision 1\nbasis us-small-craft\nbattery house { LFP, 4 cells, 100 Ah; internal resistance 5 mohm }\n'
        "inverter mains { 600 W; 120 V AC }\nAC load kettle 500 W\nbus bar\n"
        "connector out with plug { household socket; pin 1 L; pin 2 N; out { female; 1 on mains.L; 2 on mains.N }; plug { male } }\n"
        "wires 4 AWG, 0.5 m { a from house.plus to bar; b from bar to mains.plus; c from mains.minus to house.minus }\n"
        "wires 14 AWG, 1 m { hot from plug.1 to kettle.L; cold from plug.2 to kettle.N }\n"
    )
    start, _, end = slip.partition(" to ")
    found = said(f"{text}wire slip from {start} to {end} {{ 14 AWG; 1 m }}\n", "mains_on_dc")
    assert [item.subject[0] for item in found.findings] == ["slip"]
    assert not said(text, "mains_on_dc").findings


@pytest.mark.parametrize(("end", "broken"), [("box", True), ("house.minus", True), ("keeper.L", False)])
def test_the_live_pin_of_an_inlet_is_live(said, end: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, I14: mains comes in at the inlet, whatever hangs behind it."""
    text = (
        'rig "Charger", revision 1\nbasis us-small-craft\nbattery house { LFP, 4 cells, 100 Ah; internal resistance 5 mohm }\ncase box steel\n'
        "mains charger keeper { 10 A; absorption 14.2 V }\nconnector inlet { 3 pins; pin 1 L; pin 2 N; pin 3 PE }\n"
        "wires 10 AWG, 1 m { a from keeper.plus to house.plus; b from house.minus to keeper.minus }\n"
        f"wires 14 AWG, 1 m {{ hot from inlet.1 to {end}; cold from inlet.2 to keeper.N; earth from inlet.3 to box }}\n"
    )
    found = said(text, "mains_on_dc")
    assert [item.subject for item in found.findings] == ([("hot", "inlet")] if broken else [])
