"""Rule overloaded-contact: the fault catalogue's example G5 end to end, loaded neighbours, gangs, what is not declared."""

from __future__ import annotations

from datetime import date

import pytest
from ohmwright.inspecting import InspectOptions, inspect_files
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.resolve import Loader
from ohmwright_rules import PACK

BUILD = """rig "Lamp on a plug", revision 1
battery house { LFP, 4 cells, 100 Ah; internal resistance 4 mohm }
load lamp LOAD
connector outlet with plug { SAID }
wires copper, 8 AWG, 1 m {
  feed from house.plus to outlet.1
  out from plug.1 to lamp.plus
  home from lamp.minus to plug.2
  back from outlet.2 to house.minus
}
"""


def build(load: str, about: str = "15 A; pins 1, 2, 3, 4") -> str:
    return BUILD.replace("LOAD", load).replace("SAID", about)


@pytest.mark.parametrize(("load", "broken"), [("15 A", False), ("14.9 A", False), ("15.1 A", True)])
def test_edges_of_one_contact(said, load: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    found = said(build(load), "overloaded_contact")
    assert found.grades == ([("outlet", "over-rating", "error")] * 2 if broken else [])
    if broken:
        assert [item.subject for item in found.findings] == [
            ("outlet", "outlet.1", "plug.1"),
            ("outlet", "outlet.2", "plug.2"),
        ]
        assert found.findings[0].message == (
            "outlet: 15.1 A flows through the contact of outlet.1 and plug.1 in state 'lamp on'; it carries 15 A."
        )
        assert found.findings[0].remedy == "Use contacts for 15.1 A or more, or bring the current to 15 A or less."
    else:
        assert [item.limit.value for item in found.passes] == [15.0, 15.0]


GANG = (
    build("28 A", "15 A; pins 1, 2, 3, 4, 5, 6, 7, 8, 9")
    .replace(
        "  back from outlet.2 to house.minus\n",
        "  more from house.plus to outlet.3\n  again from plug.3 to lamp.plus\n  back from outlet.2 to house.minus\n",
    )
    .replace("plug.2", "sink")
    .replace("outlet.2", "sink")
    .replace("load lamp 28 A", "load lamp 28 A\nbus sink")
)


def test_catalogue_g5_gang(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, G5, Ex: 2 x 15 A ganged: 24 A; load 28 A -> warning. The contacts are a gang by their wires."""
    found = said(GANG, "overloaded_contact")
    assert found.grades == [("outlet", "ganged", "warning")]
    finding = found.finding("outlet")
    assert (finding.measured.value, finding.limit.value) == (pytest.approx(28.0), 24.0)
    assert finding.subject == ("outlet", "outlet.1", "plug.1", "outlet.3", "plug.3")
    assert finding.remedy == (
        "Use one contact for 28 A, or contacts for 17.5 A or more each, or bring the current to 24 A or less."
    )
    assert finding.reference.status == "from-memory"
    assert not said(GANG.replace("28 A", "24 A"), "overloaded_contact").findings
    assert said(GANG.replace("28 A", "24 A"), "overloaded_contact").passed("outlet", "ganged").limit.value == 24.0
    assert said(GANG.replace("28 A", "24.1 A"), "overloaded_contact").grades


def test_contacts_of_two_circuits_are_no_gang(said) -> None:  # type: ignore[no-untyped-def]
    """Two feeds from one fuse block to two lamps share the box side only."""
    text = build("14 A", "15 A; pins 1, 2, 3, 4, 5, 6, 7, 8, 9") + (
        "load spot 14 A\nwire a from house.plus to outlet.3 { 8 AWG; 1 m }\nwire b from plug.3 to spot.plus { 8 AWG; 1 m }\n"
        "wire c from spot.minus to house.minus { 8 AWG; 1 m }\n"
    )
    assert {item.grade for item in said(text, "overloaded_contact").passes} == {"over-rating"}


def test_a_declared_gang_needs_no_common_wires(said) -> None:  # type: ignore[no-untyped-def]
    text = (
        GANG.replace("28 A", "25 A")
        .replace("more from house.plus", "more from hub")
        .replace("bus sink", "bus sink\nbus hub\nwire x from house.plus to hub { 8 AWG; 1 m }")
    )
    assert not said(text, "overloaded_contact").findings
    ganged = text.replace("{ 15 A;", "{ 15 A; ganged 1, 3;")
    assert said(ganged, "overloaded_contact").grades == [("outlet", "ganged", "warning")]


@pytest.mark.parametrize(
    ("load", "about", "grades"),
    [
        ("12 A", "15 A; pins 1, 2", []),
        ("12.1 A", "15 A; pins 1, 2", [("neighbours-loaded", "warning")] * 2),
        ("12.1 A", "15 A; pins 1, 2, 3", [("neighbours-loaded", "warning")] * 2),  # 2 of 3 are more than half
        ("12.1 A", "15 A; pins 1, 2, 3, 4", []),  # 2 of 4 are half, not more
        ("12.1 A", "15 A; pins 1, 2; neighbour factor 0.85", []),
        ("12.8 A", "15 A; pins 1, 2; neighbour factor 0.85", [("over-rating", "error")] * 2),
        ("12.8 A", "15 A; pins 1, 2, 3, 4; neighbour factor 0.85", []),
        ("15.1 A", "15 A; pins 1, 2; neighbour factor 1", [("over-rating", "error")] * 2),
    ],
)
def test_loaded_neighbours(said, load: str, about: str, grades: list[tuple[str, str]]) -> None:  # type: ignore[no-untyped-def]
    """Readings, G5: part data, else 0.8 when more than half of the contacts carry over half of their rating (from memory)."""
    found = said(build(load, about), "overloaded_contact")
    assert [item[1:] for item in found.grades] == grades
    if grades and grades[0][0] == "neighbours-loaded":
        assert "it carries 12 A, 15 A times 0.8 because its neighbours are loaded" in found.findings[0].message
        assert [item.grade for item in found.passes] == ["over-rating", "over-rating"]


def test_neighbours_that_carry_half_are_not_loaded(said) -> None:  # type: ignore[no-untyped-def]
    """A pin with twice the rating of its neighbour: 12.1 A are more than half of 15 A and not of 30 A."""
    text = build("12.1 A", "15 A; pin 1 { 15 A }; pin 2 { 30 A }")
    assert not said(text, "overloaded_contact").findings


def test_the_weaker_side_counts(said) -> None:  # type: ignore[no-untyped-def]
    text = build("12 A").replace(
        "connector outlet with plug { 15 A; pins 1, 2, 3, 4 }",
        (
            "connector outlet { 20 A; pins 1, 2, 3, 4; pin 1 { 11 A } }\n".replace(
                "pins 1, 2, 3, 4; pin 1 { 11 A }", "pin 1 { 11 A }; pins 2, 3, 4"
            )
            + "connector plug { 15 A; pins 1, 2, 3, 4; mates with outlet }"
        ),
    )
    found = said(text, "overloaded_contact")
    assert [(item.subject[1], item.limit.value) for item in found.findings] == [("plug.1", 11.0)]
    assert [item.limit.value for item in found.passes] == [15.0]


def test_what_is_not_declared(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build("12 A", "pins 1, 2, 3, 4"), "overloaded_contact")
    assert [item[2] for item in found.missing] == ["current of a contact of outlet and plug"] * 2
    assert found.unchecked[0].declare == "15 A per contact"
    half = "connector outlet { 15 A; pins 1, 2, 3, 4 }\nconnector plug { pins 1, 2, 3, 4; mates with outlet }"
    text = build("12 A").replace("connector outlet with plug { 15 A; pins 1, 2, 3, 4 }", half)
    assert [item[2] for item in said(text, "overloaded_contact").missing] == ["current of a contact of plug"] * 2
    assert said(text.replace("12 A", "16 A"), "overloaded_contact").grades == [("plug", "over-rating", "error")] * 2


def test_an_accessory_socket_that_says_nothing_is_a_matter_of_its_own(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, G17: 10 A by default is a warning, not this rule's error."""
    found = said(build("10.1 A", "lighter socket; pins 1, 2; neighbour factor 1"), "overloaded_contact")
    assert found.findings == []
    assert [(item.condition, item.count) for item in found.idle] == [
        ("an accessory socket that says nothing, which is a matter of its own", 2)
    ]
    assert (
        said(build("10.1 A", "lighter socket; pins 1, 2; 10 A"), "overloaded_contact").grades
        == [("outlet", "over-rating", "error")] * 2
    )


def test_a_plug_without_current(said) -> None:  # type: ignore[no-untyped-def]
    text = (
        build("12 A")
        + "bus far\nwire sense from house.plus to outlet.3 { 18 AWG; 1 m }\nwire on from plug.3 to far { 18 AWG; 1 m }\n"
    )
    assert [item.condition for item in said(text, "overloaded_contact").idle] == ["carries no steady current in any state"]


def test_one_cause_one_finding_on_a_gang() -> None:
    """A gang's neighbours are loaded by itself: told once; a single contact over its rating is the cause of its gang's finding."""
    text = GANG.replace("pins 1, 2, 3, 4, 5, 6, 7, 8, 9", "pins 1, 3")
    options = InspectOptions(today=date(2026, 1, 1), only=("overloaded-contact",))
    for load, stands, gone in (
        ("28 A", ["ganged"], ["neighbours-loaded", "neighbours-loaded"]),
        ("31 A", ["over-rating", "over-rating"], ["ganged"]),
    ):
        files = MemoryFiles({"box.rig": text.replace("load lamp 28 A", f"load lamp {load}")})
        (done,) = inspect_files(["box.rig"], Loader(files), options, (PACK,)).builds
        assert [item.grade.name for item in done.findings] == stands
        assert [item.grade.name for item in done.yielded] == gone


@pytest.mark.parametrize(
    ("about", "broken"), [("15 A; pins 1, 2, 3, 4", False), ("pins 1, 2, 3, 4", True), ("15 A; pins 1, 2, 3, 4 { 8 A }", True)]
)
def test_half_says_more_than_a_default_for_all_pins(said, about: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    text = build("10 A", about).replace("\n", "\nall pins { 8 A }\n", 1)
    assert bool([item for item in said(text, "overloaded_contact").grades if item[1] == "over-rating"]) is broken
