"""Rule fragile-wire: the fault catalogue's example D9, its sizes and lengths at the edge, what is left out, missing data."""

from __future__ import annotations

import pytest

BUILD = """rig "Lamp", revision 1
basis BASIS
battery house { LFP, 4 cells, 60 Ah }
load lamp AMPERES
wire feed from house.plus to lamp.plus { WIRE }
CABLE
"""
WIRE = "wire home from lamp.minus to house.minus { 12 AWG; 0.5 m }"


def build(wire: str = "12 AWG; 0.5 m", cable: str = "", basis: str = "us-small-craft", current: str = "2 A") -> str:
    lead = f"cable cord {{ {cable}\n core home from lamp.minus to house.minus\n}}" if cable else WIRE
    return BUILD.replace("WIRE", wire).replace("CABLE", lead).replace("BASIS", basis).replace("AMPERES", current)


def test_catalogue_d9(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, D9, Ex: loose 20 AWG, 2 A, 0.5 m -> warning; inside housing -> exempt."""
    found = said(build("20 AWG; 0.5 m"), "fragile_wire")
    assert found.grades == [("feed", "single", "warning")]
    finding = found.finding("feed")
    assert finding.remedy == "Use 16 AWG or larger, or a cable with a sheath from 18 AWG."
    assert finding.measured.value == pytest.approx(0.5176e-6, rel=1e-3)  # ASTM B258, 20 AWG
    assert said(build("20 AWG; 0.5 m; inside a bought device"), "fragile_wire").grades == []


@pytest.mark.parametrize(
    ("wire", "basis", "broken"),
    [
        ("16 AWG; 0.5 m", "us-small-craft", False), ("17 AWG; 0.5 m", "us-small-craft", True),
        ("1.5 mm2; 0.5 m", "us-small-craft", False), ("1 mm2; 0.5 m", "us-small-craft", True), ("1 mm2; 0.5 m", "iec", False),
        ("0.75 mm2; 0.5 m", "iec", True), ("0.75 mm2; 0.2 m", "iec", False), ("18 AWG; 0.1 m", "us-premises", True),
        ("18 AWG; 0.5 m; enclosed all the way", "us-small-craft", False),
    ],
)  # fmt: skip
def test_single(said, wire: str, basis: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    """33 CFR 183.425(d) to (f): 16 AWG by itself; ISO 10133, 7.7: 1 mm2 where longer than 200 mm."""
    assert said(build(wire, basis=basis), "fragile_wire").grades == ([("feed", "single", "warning")] if broken else [])


@pytest.mark.parametrize(
    ("cable", "grades"),
    [
        ("18 AWG; 3 m; 762 mm outside the sheath", []), ("18 AWG; 3 m; 763 mm outside the sheath", ["long-tail"]),
        ("18 AWG; 3 m; 30 in outside the sheath", []), ("16 AWG; 3 m; 2 m outside the sheath", []),
        ("20 AWG; 3 m; 10 mm outside the sheath", ["sheathed"]), ("18 AWG; 3 m; not sheathed", ["single"]),
    ],
)  # fmt: skip
def test_in_a_sheath(said, cable: str, grades: list[str]) -> None:  # type: ignore[no-untyped-def]
    """33 CFR 183.425(d) to (f): 18 AWG in a sheath, at most 30 in (762 mm) outside of it."""
    found = said(build(cable=cable), "fragile_wire")
    assert [item[:2] for item in found.grades] == [("cord", grade) for grade in grades]


def test_what_is_missing(said) -> None:  # type: ignore[no-untyped-def]
    assert said(build("0.5 m"), "fragile_wire").missing == [("feed", "single", "gauge")]
    assert said(build(cable="18 AWG; 3 m"), "fragile_wire").missing == [
        ("cord", "long-tail", "length of its cores outside the sheath")
    ]
    assert said(build(cable="18 AWG; 0.7 m"), "fragile_wire").missing == []
    assert said(build(cable="18 AWG; 3 m; flexible cord"), "fragile_wire").missing == []


@pytest.mark.parametrize(("current", "broken"), [("0.99 A", False), ("1 A", True)])
def test_electronic_circuits_are_left_out(said, current: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    """33 CFR 183.425(g): circuits below 1 A."""
    found = said(build("20 AWG; 0.5 m", current=current), "fragile_wire")
    assert bool(found.grades) is broken
    assert bool(found.idle) is not broken
