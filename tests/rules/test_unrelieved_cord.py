"""Rule unrelieved-cord: the fault catalogue's example G15, the ends of a gland's range, entries, kinds, missing data."""

from __future__ import annotations

import pytest

BUILD = """rig "Lamp on a cord", revision 1
case box { polycarbonateHOLE }
zone inside { in box }
battery house { LFP, 4 cells, 60 Ah; in inside }
load lamp { 20 W }
cable lamp_cord { KIND16 AWG; 4 m; DIAMETERcore a from house.plus to lamp.plus; core b from house.minus to lamp.minus }
"""


def build(
    gland: str = "; for lamp_cord; gland 8 mm to 11 mm", diameter: str = "outer diameter 9 mm; ", kind: str = "flexible cord; "
) -> str:
    hole = f"; hole h1 {{ {gland.removeprefix('; ')} }}" if gland else ""
    return BUILD.replace("HOLE", hole).replace("DIAMETER", diameter).replace("KIND", kind)


def test_catalogue_g15(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, G15, Ex: OD 9 mm, gland 10-14 mm -> warning."""
    found = said(build("for lamp_cord; gland 10 mm to 14 mm"), "unrelieved_cord")
    assert found.grades == [("lamp_cord", "wrong-size", "warning")]
    finding = found.finding("lamp_cord")
    assert (finding.measured.value, finding.limit.value, finding.sense) == (
        pytest.approx(0.009),
        pytest.approx(0.010),
        "at-least",
    )
    assert finding.message == "lamp_cord: with 9 mm it is too thin for h1 of box, whose gland or clamp holds at least 10 mm."
    assert found.passed("lamp_cord", "missing").subject == ("lamp_cord",)


@pytest.mark.parametrize(
    ("diameter", "broken"), [("8 mm", False), ("7.9 mm", True), ("11 mm", False), ("11.1 mm", True), ("9 mm to 12 mm", True)]
)
def test_ends_of_the_range(said, diameter: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    assert bool(said(build(diameter=f"outer diameter {diameter}; "), "unrelieved_cord").findings) is broken


@pytest.mark.parametrize(
    ("diameter", "told", "limit", "sense"),
    [("8.2 mm", 8.2, 8, "at-least"), ("10.8 mm", 10.8, 11, "at-most"), ("8.5 mm to 10.9 mm", 10.9, 11, "at-most")],
)
def test_what_holds_is_told_against_the_nearer_end(said, diameter: str, told: float, limit: float, sense: str) -> None:  # type: ignore[no-untyped-def]
    """Page of the rule: least diameter of the gland <= diameter of the cord <= its largest; 8 mm to 11 mm."""
    passed = said(build(diameter=f"outer diameter {diameter}; "), "unrelieved_cord").passed("lamp_cord", "wrong-size")
    assert (passed.measured.value, passed.limit.value) == (pytest.approx(told / 1000), pytest.approx(limit / 1000))
    assert passed.sense == sense


@pytest.mark.parametrize("hole", ["", "for lamp_cord", "for lamp_cord; no gland"])
def test_no_gland(said, hole: str) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, G15: each cord entry has a gland or clamp; silence is the finding (readings, Silence)."""
    found = said(build(hole), "unrelieved_cord")
    assert found.grades == [("lamp_cord", "missing", "warning")]
    assert "gland or clamp for 9 mm" in found.finding("lamp_cord").remedy


def test_missing_diameter(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build(diameter=""), "unrelieved_cord")
    assert found.missing == [("lamp_cord", "wrong-size", "outer diameter of the cord")]
    assert found.findings == []


@pytest.mark.parametrize(
    ("kind", "hole", "outcome"),
    [
        ("", "", "asks"), ("", "for lamp_cord; gland 8 mm to 11 mm", "passes"), ("building cable; ", "", "other"), ("battery cable; ", "", "other"),
        ("household cord; ", "", "finds"),
    ],
)  # fmt: skip
def test_kinds(said, kind: str, hole: str, outcome: str) -> None:  # type: ignore[no-untyped-def]
    found = said(build(hole, kind=kind), "unrelieved_cord")
    assert bool(found.findings) is (outcome == "finds")
    assert bool(found.passes) is (outcome == "passes")
    assert [item.missing for item in found.unchecked] == (["kind of the cable"] if outcome == "asks" else [])
    assert [item.condition for item in found.idle] == (["is no flexible cord"] if outcome == "other" else [])


def test_cord_names_its_hole(said) -> None:  # type: ignore[no-untyped-def]
    text = build("gland 8 mm to 11 mm", diameter="outer diameter 9 mm; through hole h1; ")
    assert said(text, "unrelieved_cord").passed("lamp_cord", "wrong-size").measured.value == pytest.approx(0.009)


def test_cord_between_plugs_enters_no_case(said) -> None:  # type: ignore[no-untyped-def]
    text = (
        build("")
        .replace("core a from house.plus", "core a from plug.1")
        .replace("core b from house.minus", "core b from plug.2")
    )
    text += "connector out with plug { pins 1, 2 }\nwire x from house.plus to out.1, 12 AWG, 1 m\n"
    assert [item.count for item in said(text, "unrelieved_cord").idle] == [1]
    inside = build("").replace("load lamp { 20 W }", "load lamp { 20 W; in inside }")
    assert [item.count for item in said(inside, "unrelieved_cord").idle] == [1]


@pytest.mark.parametrize(
    ("hole", "cable", "grades"),
    [
        ("in box; gland 8 mm to 11 mm; for lamp_cord", "", []), ("in box; gland 8 mm to 11 mm", "through h1; ", []),
        ("in box; gland 8 mm to 11 mm", "through box.h1; ", []), ("in box; for lamp_cord", "", ["missing"]),
        ("in box; gland 10 mm to 14 mm; for lamp_cord", "", ["wrong-size"]), ("gland 8 mm to 11 mm; for lamp_cord", "", []),
    ],
)  # fmt: skip
def test_hole_that_stands_beside_its_case(said, hole: str, cable: str, grades: list[str]) -> None:  # type: ignore[no-untyped-def]
    text = build("", kind=f"flexible cord; {cable}") + f"hole h1 {{ {hole} }}\n"
    assert [item[1] for item in said(text, "unrelieved_cord").grades] == grades
