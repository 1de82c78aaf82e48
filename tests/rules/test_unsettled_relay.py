"""Rule unsettled-relay: buzzing relays, hunting disconnects, states that contradict a coil, and what is left out."""

from __future__ import annotations

import pytest

HEAD = (
    'rig "Relay", revision 1\nbasis us-small-craft\nsystem 12 V\nall wires { 12 AWG; 0.5 m }\n'
    "battery house { LFP, 4 cells, 60 Ah; internal resistance 9 mohm }\n"
)
GATE = (
    "relay gate { 30 A; COIL; REST }\nswitch button 2 A\nload pump 5 A\nwire a from house.plus to gate.line\n"
    "wire b from gate.load to pump.plus\nwire c from pump.minus to house.minus\nwire d from house.plus to button.line\n"
    "wire e from button.load to gate.coil_plus\nwire f from gate.coil_minus to house.minus\n"
)


def gate(coil: str = "coil 12 V; coil 2 W", rest: str = "normally open") -> str:
    return HEAD + GATE.replace("COIL", coil).replace("REST", rest)


@pytest.mark.parametrize(
    ("rest", "button", "says", "broken"),
    [
        ("normally open", "closed", "closed", False), ("normally open", "open", "closed", True),
        ("normally open", "closed", "open", True), ("normally open", "open", "open", False),
        ("normally closed", "closed", "closed", True), ("normally closed", "open", "closed", False),
        ("normally closed", "closed", "open", False), ("normally closed", "open", "open", True),
    ],
)  # fmt: skip
def test_state_against_coil(said, rest: str, button: str, says: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    text = gate(rest=rest) + f'state "said" {{ button {button}; gate {says}; pump on }}\n'
    found = said(text, "unsettled_relay")
    assert found.grades == ([("gate", "contradicts-coil", "error")] if broken else [])
    if broken:
        does = "open" if says == "closed" else "closed"
        assert found.finding("gate").message.startswith(f"gate: state 'said' says it is {says}; ")
        assert found.finding("gate").message.endswith(f"so that it is {does}.")
    else:
        assert found.passed("gate", "contradicts-coil")


@pytest.mark.parametrize(("ohm", "broken"), [("30 ohm", False), ("34 ohm", True)])
def test_three_quarters_of_the_coils_voltage(said, ohm: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    """A coil of 72 ohm (12 V, 2 W) behind a resistor at 13.15 V: 9.28 V behind 30 ohm, 8.93 V behind 34 ohm; 9 V is needed."""
    text = gate().replace(
        "wire e from button.load to gate.coil_plus",
        f"resistor r {ohm}\nwire e from button.load to r.a\nwire g from r.b to gate.coil_plus",
    )
    found = said(text + 'state "said" { button closed; gate closed }\n', "unsettled_relay")
    assert bool(found.findings) is broken


def test_coil_behind_its_own_contact_at_rest_closed(said) -> None:  # type: ignore[no-untyped-def]
    text = gate(rest="normally closed").replace("from button.load to gate.coil_plus", "from gate.load to gate.coil_plus")
    found = said(text, "unsettled_relay")
    assert found.grades == [("gate", "chatters", "error")]
    finding = found.finding("gate")
    assert finding.working[0].value > 12 > finding.working[2].value == 9
    assert finding.working[1].value == 0
    assert finding.remedy == "Feed the coil from where its own contact changes nothing."


def test_coil_whose_load_takes_its_voltage(said) -> None:  # type: ignore[no-untyped-def]
    """Contact and coil share a thin lead: with the pump on, the coil lets go."""
    text = gate().replace("load pump 5 A", "load pump 20 A\nbus shared\nwire thin from house.plus to shared { 20 AWG; 8 m }")
    text = text.replace("from house.plus to gate.line", "from shared to gate.line").replace(
        "from house.plus to button.line", "from shared to button.line"
    )
    found = said(text + 'state "pumping" { button closed; pump on }\n', "unsettled_relay")
    assert [item[:2] for item in found.grades] == [("gate", "chatters")]
    assert "or more with the contact closed" in found.finding("gate").remedy


GUARD = (
    "disconnect guard { 60 A; opens at 11.8 V; closes at CLOSES }\nload pump 40 A\nwire g from house.plus to guard.line { 14 AWG; 4 m }\n"
    "wire h from guard.load to pump.plus\nwire i from pump.minus to house.minus\n"
)


@pytest.mark.parametrize(("closes", "broken"), [("12.2 V", True), ("13.1 V", True), ("13.2 V", False)])
def test_disconnect_that_hunts(said, closes: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    """LFP half full rests at 13.16 V; 40 A over 9 mohm and 33 mohm of 14 AWG take the line side below 11.8 V."""
    found = said(HEAD + GUARD.replace("CLOSES", closes) + 'state "pumping" { pump on }\n', "unsettled_relay")
    assert found.grades == ([("guard", "hunts", "warning")] if broken else [])
    if broken:
        finding = found.finding("guard")
        assert finding.working[0].value < 11.8 < 13.1 < finding.working[1].value
        assert finding.state == "pumping"


def test_disconnect_measures_against_its_own_minus(said) -> None:  # type: ignore[no-untyped-def]
    """As above, and 40 A over another 33 mohm in the way back: 13.16 V less 40 A times 75 mohm is about 10.2 V."""
    text = GUARD.replace("CLOSES", "12.2 V").replace(
        "from pump.minus to house.minus",
        "from pump.minus to house.minus { 14 AWG; 4 m }\nwire j from guard.minus to pump.minus",
    )
    finding = said(HEAD + text + 'state "pumping" { pump on }\n', "unsettled_relay").finding("guard")
    assert finding.working[0].value == pytest.approx(10.2, abs=0.2)


def test_what_is_missing(said) -> None:  # type: ignore[no-untyped-def]
    state = 'state "said" { button closed; gate closed; pump on }\n'
    assert said(gate("coil 2 W") + state, "unsettled_relay").missing == [("gate", "contradicts-coil", "coil voltage")]
    bare = gate().replace("wire e from button.load to gate.coil_plus\nwire f from gate.coil_minus to house.minus\n", "")
    assert said(bare + state, "unsettled_relay").missing == [("gate", "contradicts-coil", "what its coil is joined to")]


def test_what_does_not_apply(said) -> None:  # type: ignore[no-untyped-def]
    found = said(gate(rest="normally open; latching") + 'state "said" { button open; gate closed }\n', "unsettled_relay")
    assert [item.condition for item in found.idle] == ["a latching relay, which keeps its position without its coil"]
    assert found.grades == []
    found = said(HEAD + "load lamp 1 A\n", "unsettled_relay")
    assert [item.condition for item in found.idle] == ["no relay and no disconnect"]
    found = said(gate(), "unsettled_relay")
    assert [item.condition for item in found.idle] == ["no state says its position, or nothing moves it by itself"]
