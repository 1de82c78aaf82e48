"""Rule late-interlock: the fault catalogue's example G7, lengths on either half, 60 V, mains, missing lengths."""

from __future__ import annotations

import doctest

import pytest
from ohmwright_rules import pin_lengths

BUILD = """rig "Pump on a plug", revision 1
battery house { LFP, CELLS cells, 60 Ah; LEVEL }
relay pump_relay { 30 A; normally open; coil 12 V; coil 1.6 W }
load pump { 25 A }
connector out with tail { 30 A; pins 1, 2POWER; pins 3, 4LOOP; tail { jumper loop from 3 to 4 { 16 AWG; 40 mm } } }
wires 12 AWG, 0.4 m {
  a from house.plus to pump_relay.line
  b from pump_relay.load to out.1
  c from out.2 to house.minus
  d from tail.1 to pump.plus
  e from tail.2 to pump.minus
  f from house.plus to out.3
  g from out.4 to pump_relay.coil_plus
  h from pump_relay.coil_minus to house.minus
}
"""


def build(loop: str = "", power: str = "", cells: int = 4, level: str = "internal resistance 5 mohm") -> str:
    text = BUILD.replace("LOOP", f" {{ {loop} }}" if loop else "").replace("POWER", f" {{ {power} }}" if power else "")
    return text.replace("CELLS", str(cells)).replace("LEVEL", level)


def test_catalogue_g7(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, G7, Ex: same-length pins, 25 A breaks at the power pin -> note."""
    found = said(build("mate equal"), "late_interlock")
    assert found.grades == [("tail.loop", "not-first", "note")]
    finding = found.finding("tail.loop")
    assert finding.subject[1:] == ("out", "out.3", "out.4")
    assert "on out its pins 3 and 4 part no earlier than the power pins 1 and 2" in finding.message


@pytest.mark.parametrize(
    ("loop", "power", "outcome"),
    [
        ("mate last", "", "passes"), ("part first", "", "passes"), ("mate last, part first", "mate first", "passes"),
        ("", "mate first", "passes"), ("mate equal", "mate first", "passes"), ("mate equal", "", "finds"), ("mate first", "", "finds"),
        ("mate last", "mate last", "finds"), ("", "mate last", "finds"), ("", "", "asks"), ("", "mate equal", "asks"),
    ],
)  # fmt: skip
def test_lengths(said, loop: str, power: str, outcome: str) -> None:  # type: ignore[no-untyped-def]
    found = said(build(loop, power), "late_interlock")
    assert bool(found.findings) is (outcome == "finds")
    assert bool(found.passes) is (outcome == "passes")
    assert [item.missing for item in found.unchecked] == (["which pins part first"] if outcome == "asks" else [])


@pytest.mark.parametrize(("volt", "grade"), [("60 V", "not-first"), ("60.1 V", "over-touch-voltage")])
def test_sixty_volts(said, volt: str, grade: str) -> None:  # type: ignore[no-untyped-def]
    """60 V dc: glossary of IEC 61140, secondary; catalogue, G7: warning above."""
    text = build("mate equal", level=f"rests at {volt} at 100 %, 12 V at 0 %")
    assert [item[1] for item in said(text, "late_interlock").grades] == [grade]


def test_one_short_contact_of_the_two_is_enough(said) -> None:  # type: ignore[no-untyped-def]
    text = build("mate equal").replace("pins 3, 4 { mate equal }", "pin 3 { mate last }; pin 4 { mate equal }")
    assert said(text, "late_interlock").findings == []


def test_mains_beside_the_loop(said) -> None:  # type: ignore[no-untyped-def]
    more = "inverter mains { 300 W }\nAC load lamp 5 W\nwire x from mains.L to out.5, 14 AWG, 1 m\nwire y from tail.5 to lamp.L, 14 AWG, 1 m\n"
    text = build("mate equal").replace("pins 3, 4", "pin 5 L; pins 3, 4") + more
    assert [item[1:] for item in said(text, "late_interlock").grades] == [("over-touch-voltage", "warning")]


def test_no_loop_does_not_apply(said) -> None:  # type: ignore[no-untyped-def]
    text = build().replace("; tail { jumper loop from 3 to 4 { 16 AWG; 40 mm } }", "")
    (idle,) = said(text, "late_interlock").idle
    assert idle.condition.startswith("there is no interlock loop")


def test_examples_in_the_code() -> None:
    found = doctest.testmod(pin_lengths)
    assert found.attempted > 0 and found.failed == 0
