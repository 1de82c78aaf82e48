"""Rule bare-stud: the fault catalogue's example L2, fuses and switches on the way, covers, missing data."""

from __future__ import annotations

import pytest

BUILD = """rig "Box", revision 1
battery house { LFP, 4 cells, 50 Ah; terminals plus { HOUSE } }
fuse main { 40 A; terminals line { stud; boot }; terminals load { MAIN } }
switch off { 40 A; terminals line, load { stud; no boot } }
load lamp { 10 W; terminals { stud; no boot } }
REST
wire a from house.plus to main.line, 8 AWG, 0.1 m
wire b from main.load to off.line, 8 AWG, 0.1 m
wire c from off.load to lamp.plus, 8 AWG, 1 m
wire d from lamp.minus to house.minus, 8 AWG, 1 m
"""


def build(house: str = "stud; boot", main: str = "stud; boot", rest: str = "cover lid { over off }") -> str:
    return BUILD.replace("HOUSE", house).replace("MAIN", main).replace("REST", rest)


def test_catalogue_l2(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, L2, Ex: battery + stud bare -> error; what a switch makes dead is not told."""
    found = said(build(house="stud; no boot"), "bare_stud")
    assert found.grades == [("house", "unfused", "error")]


@pytest.mark.parametrize(
    ("house", "main", "rest", "grades", "missing"),
    [
        ("stud; boot", "stud; no boot", "cover lid { over off }", [("main", "fused", "warning")], 0),
        ("stud; no boot", "stud; boot", "cover lid { over house.plus, off }", [], 0),
        ("stud; boot", "stud; boot", "", [("off", "fused", "warning")], 0),
        ("stud", "stud", "cover lid { over off }", [], 2),
        ("clamp plate; no boot", "clamp plate", "cover lid { over off }", [], 0),
        ("wing nut; no boot", "stud; boot", "cover lid { over off }", [("house", "unfused", "error")], 0),
    ],
)  # fmt: skip
def test_ways(said, house: str, main: str, rest: str, grades: list[tuple[str, str, str]], missing: int) -> None:  # type: ignore[no-untyped-def]
    found = said(build(house, main, rest), "bare_stud")
    assert found.grades == grades
    assert len(found.unchecked) == missing


def test_the_bonded_pole_is_not_live(said) -> None:  # type: ignore[no-untyped-def]
    rest = "case box { steel }\ncover lid { over off }\nwire e from house.plus to box, 8 AWG, 0.1 m\n"
    found = said(build(house="stud; no boot", rest=rest), "bare_stud")
    assert "house" not in [subject for subject, _, _ in found.grades]
