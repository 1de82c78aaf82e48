"""Rule live-spare-pin: the fault catalogue's example G8, functions, cavities, missing data."""

from __future__ import annotations

import pytest

BUILD = """rig "Lamp on a plug", revision 1
battery house { LFP, 4 cells, 60 Ah }
load lamp { 20 W }
connector out with tail { pin 1; pin 2; OWN }
wires 12 AWG, 0.4 m {
  a from house.plus to out.1
  b from house.minus to out.2
  c from tail.1 to lamp.plus
  d from tail.2 to lamp.minus
}
"""


def build(own: str = "", more: str = "") -> str:
    return BUILD.replace("; OWN", f"; {own}" if own else "") + more


FIVE = "wire five from house.plus to out.5, 16 AWG, 1 m\n"


def test_catalogue_g8(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, G8, Ex: pin 5 on B+ "reserve" -> warning."""
    found = said(build('pin 5 "reserve"', FIVE), "live_spare_pin")
    assert found.grades == [("out", "spare-on-net", "warning")]
    finding = found.finding("out")
    assert finding.subject == ("out", "out.5")
    assert finding.message.startswith("out: pin 5 is spare and live at up to 13.6 V (house full).")


@pytest.mark.parametrize(
    ("pin", "grade"),
    [
        ("spare", "spare-on-net"), ("plugged", "spare-on-net"), ('"not used"', "spare-on-net"), ('"fan"', ""), ("plus", ""),
        ("named fan", ""), ("5 A", "no-function"), ('"spare 2"', "spare-on-net"), ('"reserve pin B"', "spare-on-net"), ('"spare pump"', ""),
    ],
)  # fmt: skip
def test_function_of_a_pin_that_leads_nowhere(said, pin: str, grade: str) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, G8: every pin with a net has a function; declared data: silence is the fault."""
    found = said(build(f"pin 5 {{ {pin} }}", FIVE), "live_spare_pin")
    assert [item[1] for item in found.grades] == ([grade] if grade else [])
    assert ("out" in {item.subject[0] for item in found.passes}) is not bool(grade)


def test_pin_that_leads_on_has_its_function_in_the_circuit(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build(), "live_spare_pin")
    assert found.findings == [] and found.unchecked == []
    assert found.passed("out").grade == "no-function"


def test_dead_pin_on_a_net(said) -> None:  # type: ignore[no-untyped-def]
    finding = said(build("pin 5 spare", FIVE.replace("house.plus", "house.minus")), "live_spare_pin").finding("out")
    assert finding.message.startswith("out: pin 5 is spare and joined to something.")


def test_half_without_a_mate(said) -> None:  # type: ignore[no-untyped-def]
    text = build(
        more="connector lone { pin 1; pin 2 minus }\nwire x from house.plus to lone.1, 16 AWG, 1 m\nwire y from house.minus to lone.2, 16 AWG, 1 m\n"
    )
    assert said(text, "live_spare_pin").grades == [("lone", "no-function", "warning")]


@pytest.mark.parametrize(
    ("own", "outcome"),
    [
        ("pin 3 plugged", "passes"), ("pin 3", "asks"), ("pin 3 spare", "asks"), ("pin 3 { not plugged }", "finds"), ("3 pins", "asks"),
        ("2 pins", "passes"),
    ],
)  # fmt: skip
def test_cavities(said, own: str, outcome: str) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, G8: unused cavities plugged and on no net; declared data: not said is not checked."""
    found = said(build(own), "live_spare_pin")
    assert {item[1] for item in found.grades} == ({"open-cavity"} if outcome == "finds" else set())
    asked = [
        ("out", "open-cavity", "whether its unused cavities are plugged"),
        ("tail", "open-cavity", "whether its unused cavities are plugged"),
    ]
    assert found.missing == (asked if outcome == "asks" else [])
    assert bool(found.passes) is (outcome == "passes")


def test_pin_that_only_the_other_half_uses_is_no_open_cavity(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build('pin 5 "fan"', FIVE), "live_spare_pin")
    assert found.unchecked == [] and found.findings == []
