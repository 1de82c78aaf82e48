"""Rule unfinished-connector: the fault catalogue's example G19, mates, caps, pin-outs, patterns, copies of one statement."""

from __future__ import annotations

import pytest

PAIR = """rig "Lamp on a plug", revision 1
battery house { LFP, 4 cells, 60 Ah }
load lamp { 20 W }
connector out with tail { PINS; OUT }
wires 12 AWG, 0.4 m {
  a from house.plus to out.1
  b from house.minus to out.2
  c from tail.1 to lamp.plus
  d from tail.2 to lamp.minus
}
"""


def pair(pins: str = "pin 1 plus; pin 2 minus", out: str = "out { female }") -> str:
    return PAIR.replace("PINS", pins).replace("OUT", out)


def lone(facts: str) -> str:
    return (
        f'rig "Open end", revision 1\nbattery house {{ LFP, 4 cells, 60 Ah }}\nconnector J7 {{ {facts} }}\n'
        "wires 12 AWG, 0.4 m {\n  a from house.plus to J7.1\n  b from house.minus to J7.2\n}\n"
    )


def test_catalogue_g19(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, G19, Ex: "J7" has no P7 -> note."""
    found = said(lone("pin 1 plus; pin 2 minus; female"), "unfinished_connector")
    assert found.grades == [("J7", "incomplete", "note")]
    assert found.finding("J7").message == "J7: no mate is specified; nobody else can build it from this."


def test_everything_is_told_in_one_note(said) -> None:  # type: ignore[no-untyped-def]
    text = pair("pins 1, 2", "out { male }").replace("c from tail.1 to lamp.plus", "c from tail.1 to out.2")
    finding = said(text, "unfinished_connector").finding("out")
    assert finding.message.startswith("out: no cap and no pin-out is specified")
    assert (
        said(lone("pins 1, 2"), "unfinished_connector").finding("J7").message.startswith("J7: no mate and no cap is specified")
    )


@pytest.mark.parametrize(
    ("pins", "out", "lacks"),
    [
        ("pin 1 plus; pin 2 minus", "out { female }", ""), ("pin 1 plus; pin 2", "out { female }", "pin-out"),
        ('pin 1 "lamp"; pin 2 "return"', "out { female }", ""), ("pin 1 plus; pin 2 minus", "out { 10 A }", "cap"),
        ("pin 1 plus; pin 2 minus", "out { male }", "cap"), ("pin 1 plus; pin 2 minus", "out { male; cap }", ""),
        ("pin 1 plus; pin 2 minus", "out { male; no cap }", ""), ("pin 1 plus; pin 2 minus", "out { touch-safe }", ""),
        ("2 pins", "out { female }", "pin-out"),
    ],
)  # fmt: skip
def test_what_is_lacking(said, pins: str, out: str, lacks: str) -> None:  # type: ignore[no-untyped-def]
    """Declared data: cap, mate and function are faults where they are silent; "none" is an answer."""
    found = said(pair(pins, out), "unfinished_connector")
    assert bool(found.findings) is bool(lacks)
    assert all(f"no {lacks}" in item.message for item in found.findings)
    assert bool(found.passes) is not bool(lacks) or lacks == "cap"


def test_dead_half_needs_no_cap(said) -> None:  # type: ignore[no-untyped-def]
    """Only what stays live while it is apart needs one: tail leads to a lamp."""
    found = said(pair(out="out { female }"), "unfinished_connector")
    assert found.findings == []


@pytest.mark.parametrize("pattern", ["household socket", "lighter socket", 'family "NEMA 5-15"'])
def test_patterns_are_left_out(said, pattern: str) -> None:  # type: ignore[no-untyped-def]
    (idle,) = said(lone(f"{pattern}; pins 1, 2"), "unfinished_connector").idle
    assert idle.condition.startswith("is of a mains or accessory pattern")


def test_mate_by_name(said) -> None:  # type: ignore[no-untyped-def]
    both = lone("pin 1 plus; pin 2 minus; female") + "connector P7 { pin 1 plus; pin 2 minus; mates with J7 }\n"
    assert said(both, "unfinished_connector").findings == []


def test_copies_of_one_statement_are_told_once(said) -> None:  # type: ignore[no-untyped-def]
    """The last pack of a row has an outlet that nothing is plugged into; the row says what is."""
    text = (
        'rig "Packs", revision 1\nassembly pack {\n  battery cells { LFP, 4 cells, 60 Ah }\n  connector inlet { touch-safe; pins 1, 2 }\n'
        "  connector outlet { touch-safe; pin 1 plus; pin 2 minus }\n  wires 6 AWG, 1 m {\n    a from cells.plus to inlet.1\n    b from cells.minus to inlet.2\n"
        "    c from inlet.1 to outlet.1\n    d from inlet.2 to outlet.2\n  }\n  port inlet at inlet\n  port outlet at outlet\n}\n"
        "connector start { touch-safe; pin 1 plus; pin 2 minus }\nrow packs of 3 pack { starts at start; joins inlet to outlet; 0 to 3 joined }\n"
    )
    found = said(text, "unfinished_connector")
    assert found.grades == [("packs[1].inlet", "incomplete", "note")]
    assert found.finding("packs[1].inlet").subject == ("packs[1].inlet", "packs[2].inlet", "packs[3].inlet")
