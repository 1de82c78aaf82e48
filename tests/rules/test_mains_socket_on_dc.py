"""Rule mains-socket-on-dc: the fault catalogue's example G3, other patterns, AC, missing family."""

from __future__ import annotations

import pytest

BUILD = """rig "Box", revision 1
battery house { LFP, 4 cells, 60 Ah }
load lamp { 20 W }
connector out with lamp_plug { FACTS; pins 1, 2PINS; out { HERE } }
wires 12 AWG, 0.4 m {
  a from house.plus to out.1
  b from house.minus to out.2
  c from lamp_plug.1 to lamp.plus
  d from lamp_plug.2 to lamp.minus
}
"""


def build(facts: str = "15 A", here: str = "on the panel", pins: str = "") -> str:
    return BUILD.replace("FACTS", facts).replace("HERE", here).replace("PINS", pins)


def test_catalogue_g3(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, G3, Ex: 12 V on household duplex -> error."""
    found = said(build("household duplex"), "mains_socket_on_dc")
    assert found.grades == [("out", "pattern", "error")]
    finding = found.finding("out")
    assert finding.subject == ("out", "lamp_plug")
    assert finding.message == "out: it is a mains socket and carries direct current; a mains appliance or a mains cord fits it."


@pytest.mark.parametrize(
    ("family", "broken"),
    [
        ("NEMA 5-15", True), ("CEE 7/3", True), ("BS 1363", True), ("IEC 60320 C14", True), ("IEC60320-C13", True),
        ("IEC 320 C14", True), ("C13", True), ("16 A, CEE 7/4", True), ("C130", False), ("round two", False),
        ("lighter socket", False), ("remains", False), ("cinema two", False),
    ],
)  # fmt: skip
def test_patterns(said, family: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    """Names of the standards of mains connectors: from memory."""
    found = said(build(f'family "{family}"'), "mains_socket_on_dc")
    assert bool(found.findings) is broken
    assert bool(found.passes) is not broken


@pytest.mark.parametrize(
    ("here", "pins", "asked"),
    [
        ("on the panel", "", True), ("female sockets; on the panel", "", True), ("male; on the panel", "", False),
        ("on the panel", ", 3, 4", False), ("on the panel", ", 3", True),
    ],
)  # fmt: skip
def test_missing_family(said, here: str, pins: str, asked: bool) -> None:  # type: ignore[no-untyped-def]
    found = said(build(here=here, pins=pins), "mains_socket_on_dc")
    assert found.missing == ([("out", "pattern", "family of the connector")] if asked else [])
    assert bool(found.passes) is not asked


def test_mains_and_dead_connectors_do_not_apply(said) -> None:  # type: ignore[no-untyped-def]
    text = (
        'rig "Box", revision 1\nbattery house { LFP, 4 cells, 60 Ah }\ninverter mains { 300 W }\nload lamp 20 W\n'
        "connector out { household socket; pin 1 L; pin 2 N }\nconnector tail { household socket; pins 1, 2 }\n"
        "wires 12 AWG, 0.4 m {\n  a from house.plus to mains.plus\n  b from house.minus to mains.minus\n  c from mains.L to out.1\n"
        "  d from mains.N to out.2\n  e from tail.1 to lamp.plus\n}\n"
    )
    found = said(text, "mains_socket_on_dc")
    assert found.grades == [] and found.passes == [] and found.unchecked == []
    assert {item.condition: item.count for item in found.idle} == {
        "carries mains": 1,
        "lies on no plus of a source": 1,
    }
