"""Rule tight-fit: the fault catalogue's example L12, volumes with and without clearance, sides, cut-outs, the edge, missing data."""

from __future__ import annotations

import pytest

BOX = """rig "Box", revision 1
case box { ABS; INSIDE }
battery house { LFP, 4 cells, 50 Ah; HOUSE; in box }
"""


def box(inside: str, house: str) -> str:
    return BOX.replace("INSIDE", inside).replace("HOUSE", house)


def test_catalogue_l12(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, L12, Ex: 2 AWG OD 11 mm: 8*11 = 88 mm, space 60 -> warning."""
    text = 'rig "Lead", revision 1\nload lamp { 10 W }\nload other { 10 W }\nwire lead from lamp.plus to other.plus { 2 AWG; outer diameter 11 mm; bent to BEND }\n'
    found = said(text.replace("BEND", "60 mm"), "tight_fit").finding("lead", "bend")
    assert found.limit is not None
    assert found.limit.value == pytest.approx(0.088)
    assert not said(text.replace("BEND", "88 mm"), "tight_fit").grades
    assert said(text.replace("BEND", "87.9 mm"), "tight_fit").grades


@pytest.mark.parametrize(
    ("cable", "grades", "missing"),
    [
        ("bend at least 50 mm; bent to 50 mm", 0, 0), ("bend at least 50 mm; bent to 49 mm", 1, 0),
        ("outer diameter 10 mm; bend at least 4 times its diameter; bent to 40 mm", 0, 0),
        ("outer diameter 10 mm; bend at least 4 times its diameter; bent to 39 mm", 1, 0), ("bent to 40 mm", 0, 1),
    ],
)  # fmt: skip
def test_bends_of_cables(said, cable: str, grades: int, missing: int) -> None:  # type: ignore[no-untyped-def]
    found = said(f'rig "Lead", revision 1\ncable cord {{ 14 AWG; {cable}; core a; core b }}\n', "tight_fit")
    assert (len(found.grades), len(found.unchecked)) == (grades, missing)


@pytest.mark.parametrize(
    ("inside", "house", "grades", "missing"),
    [
        ("inside 200 x 200 x 200 mm", "size 200 x 200 x 100 mm", [], []),  # readings.md, L12: volumes doubled must fit
        ("inside 200 x 200 x 200 mm", "size 200 x 200 x 101 mm", ["volume"], []),
        ("inside 200 x 200 x 200 mm", "size 180 x 180 x 180 mm; clearance 10 mm", [], []),
        ("inside 200 x 200 x 200 mm", "size 180 x 180 x 180 mm; clearance 11 mm", ["side", "volume"], []),
        ("inside 400 x 300 x 100 mm", "size 100 x 90 x 101 mm", ["side"][:0], []), ("inside 400 x 300 x 80 mm", "size 100 x 90 x 101 mm", ["side"], []),
        ("closed", "size 200 x 200 x 100 mm", [], ["inside size of box"]), ("inside 200 x 200 x 200 mm", "3.2 V", [], ["size of house"]), ("closed", "3.2 V", [], []),
    ],
)  # fmt: skip
def test_cases(said, inside: str, house: str, grades: list[str], missing: list[str]) -> None:  # type: ignore[no-untyped-def]
    found = said(box(inside, house), "tight_fit")
    assert sorted(grade for _, grade, _ in found.grades) == grades
    assert [item.missing for item in found.unchecked] == missing


@pytest.mark.parametrize(
    ("other", "found"),
    [
        ("at 80 mm x 50 mm; 30 mm", 0), ("at 79 mm x 50 mm; 30 mm", 1), ("at 50 mm x 85 mm; size 40 x 40 mm", 0),
        ("at 50 mm x 84 mm; size 40 x 40 mm", 1), ("at 71.3 mm x 71.3 mm; 30 mm", 0), ("30 mm", 0),
    ],
)  # fmt: skip
def test_cut_outs(said, other: str, found: int) -> None:  # type: ignore[no-untyped-def]
    """Two circles touch at the sum of their radii, a square by its sides: geometry."""
    text = f'rig "Panel", revision 1\npanel front {{ hole a {{ at 50 mm x 50 mm; 30 mm }}; hole b {{ {other} }} }}\n'
    assert len(said(text, "tight_fit").grades) == found
