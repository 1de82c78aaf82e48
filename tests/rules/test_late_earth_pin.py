"""Rule late-earth-pin: the fault catalogue's example G10, lengths, mains patterns, direct current, missing lengths."""

from __future__ import annotations

import pytest

BUILD = """rig "Kettle", revision 1
inverter mains { 300 W }
AC load kettle { 100 W }
connector out with tail { FACTS; pin 1 { LIVE }; pin 2 { NEUTRAL }; pin 3 { EARTH } }
wires 14 AWG, 0.4 m {
  a from mains.L to out.1
  b from mains.N to out.2
  c from mains.PE to out.3
  d from tail.1 to kettle.L
  e from tail.2 to kettle.N
  f from tail.3 to kettle.PE
}
"""


def build(facts: str = "15 A", live: str = "L", neutral: str = "N", earth: str = "PE") -> str:
    return BUILD.replace("FACTS", facts).replace("LIVE", live).replace("NEUTRAL", neutral).replace("EARTH", earth)


def test_catalogue_g10(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, G10, Ex: AC outlet on multi-pin with equal pins -> warning."""
    found = said(build("15 A; contacts mate equal"), "late_earth_pin")
    assert found.grades == [("out", "not-first", "warning")]
    finding = found.finding("out")
    assert finding.subject == ("out", "tail", "out.3", "tail.3")
    assert "it carries mains, and its earth contact (pin 3) meets no earlier" in finding.message


@pytest.mark.parametrize(
    ("live", "neutral", "earth", "outcome"),
    [
        ("L", "N", "PE; mates first", "passes"), ("L", "N", "PE; parts last", "passes"),
        ("L; mates last", "N; mates last", "PE", "passes"), ("L; mates last", "N", "PE", "asks"),
        ("L; mates first", "N", "PE; mates first", "finds"), ("L", "N", "PE; mates last", "finds"),
        ("L; mates first", "N", "PE", "finds"), ("L", "N", "PE; mates equal", "finds"), ("L", "N", "PE", "asks"),
    ],
)  # fmt: skip
def test_lengths(said, live: str, neutral: str, earth: str, outcome: str) -> None:  # type: ignore[no-untyped-def]
    found = said(build(live=live, neutral=neutral, earth=earth), "late_earth_pin")
    assert bool(found.findings) is (outcome == "finds")
    assert bool(found.passes) is (outcome == "passes")
    assert [item.missing for item in found.unchecked] == (["whether its earth pin mates first"] if outcome == "asks" else [])


def test_household_pattern_passes(said) -> None:  # type: ignore[no-untyped-def]
    """Household patterns lead with their earth contact: from memory."""
    assert said(build("household socket"), "late_earth_pin").passed("out").grade == "not-first"


def test_earth_by_its_net(said) -> None:  # type: ignore[no-untyped-def]
    text = build("15 A; contacts mate equal", "15 A", "15 A", "15 A")
    assert said(text, "late_earth_pin").finding("out").subject == ("out", "tail", "out.3", "tail.3")


def test_without_an_earth_contact(said) -> None:  # type: ignore[no-untyped-def]
    text = (
        build()
        .replace("; pin 3 { PE }", "")
        .replace("  c from mains.PE to out.3\n", "")
        .replace("  f from tail.3 to kettle.PE\n", "")
    )
    assert [(item.condition, item.count) for item in said(text, "late_earth_pin").idle] == [("has no earth contact", 1)]


@pytest.mark.parametrize(("volt", "finds"), [("60 V", False), ("60.1 V", True)])
def test_direct_current_counts_above_sixty_volts(said, volt: str, finds: bool) -> None:  # type: ignore[no-untyped-def]
    """60 V dc: glossary of IEC 61140, secondary."""
    text = (
        f'rig "Box", revision 1\nbattery house {{ LFP, 4 cells, 60 Ah; rests at {volt} at 100 %, 12 V at 0 % }}\nload lamp 20 W\ncase box {{ steel }}\n'
        "connector out with tail { contacts mate equal; pin 1 plus; pin 2 minus; pin 3 PE }\nwires 14 AWG, 0.4 m {\n  a from house.plus to out.1\n"
        "  b from house.minus to out.2\n  c from box to out.3\n  d from tail.1 to lamp.plus\n  e from tail.2 to lamp.minus\n}\n"
    )
    found = said(text, "late_earth_pin")
    assert bool(found.findings) is finds
    assert [item.condition for item in found.idle] == ([] if finds else ["carries no mains, and at most 60 V"])
