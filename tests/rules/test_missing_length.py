"""Rule missing-length: the fault catalogue's example D15, what a finding names, what needs no length."""

from __future__ import annotations

BUILD = """rig "Shed", revision 1
basis us-small-craft
battery house { LFP, 4 cells, 60 Ah; internal resistance 9 mohm }
load lamp 2 A
wire W7 from house.plus to lamp.plus { 12 AWG; LENGTH }
wire W8 from lamp.minus to house.minus { 12 AWG; 1 m }
"""


def test_catalogue_d15(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, D15, Ex: W7 no length -> "D6, F1, F16 not checked for W7"."""
    found = said(BUILD.replace("; LENGTH", ""), "missing_length")
    assert found.grades == [("W7", "not-said", "note")]
    message = found.finding("W7").message
    for words in ("voltage drop", "a short at its far end", "the distance to its fuse"):
        assert words in message
    assert found.finding("W7").span.line == 5
    assert [item.subject for item in found.passes] == [("W8",)]
    assert not found.unchecked


def test_any_length_will_do(said) -> None:  # type: ignore[no-untyped-def]
    found = said(BUILD.replace("LENGTH", "1 mm"), "missing_length")
    assert found.grades == []
    assert [item.subject for item in found.passes] == [("W7",), ("W8",)]


def test_measured_resistance_leaves_the_distance_to_the_fuse(said) -> None:  # type: ignore[no-untyped-def]
    """Declared data, conductor: a measured resistance counts for the drop; F1 reads the length."""
    message = said(BUILD.replace("LENGTH", "measured 4 mohm"), "missing_length").finding("W7").message
    assert "the distance to its fuse" in message
    assert "voltage drop" not in message
    assert "0 ohm" not in message


def test_cable_is_told_once(said) -> None:  # type: ignore[no-untyped-def]
    text = BUILD.replace("LENGTH", "1 m") + (
        "load fan 1 A\ncable lead { boat cable; 16 AWG\n  core out from house.plus to fan.plus\n"
        "  core home from fan.minus to house.minus { 2 m }\n  core third from house.plus to fan.plus\n}\n"
    )
    found = said(text, "missing_length")
    assert [item.subject for item in found.findings] == [("lead", "lead.out", "lead.third")]
    assert found.findings[0].span.line == 8
    assert ("lead.home",) in [item.subject for item in found.passes]


def test_mains_conductor_lacks_its_length_only(said) -> None:  # type: ignore[no-untyped-def]
    text = BUILD.replace("LENGTH", "1 m") + (
        "inverter mains { 300 W; 120 V AC }\nAC load kettle 100 W\nwire in_plus from house.plus to mains.plus { 8 AWG; 1 m }\n"
        "wire in_minus from mains.minus to house.minus { 8 AWG; 1 m }\nwire hot from mains.L to kettle.L { 14 AWG }\n"
    )
    found = said(text, "missing_length")
    assert found.grades == [("hot", "not-said", "note")]
    assert "fuse" not in found.finding("hot").message


def test_what_needs_no_length(said) -> None:  # type: ignore[no-untyped-def]
    text = BUILD.replace("LENGTH", "1 m") + (
        "connector out { pin 1; pin 2; pin 3; jumper bridge from 2 to 3 }\n"
        "wire inner from house.plus to lamp.plus { 12 AWG; inside a bought device }\n"
    )
    found = said(text, "missing_length")
    assert found.grades == []
    assert {item.condition: item.count for item in found.idle} == {
        "inside a bought device or part of it": 1,
        "a jumper inside a connector half": 1,
    }
