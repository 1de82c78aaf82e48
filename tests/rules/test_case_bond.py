"""Rule case-bond: the fault catalogue's example L13, floating cases, earths that are no bonds, missing data."""

from __future__ import annotations

import pytest

BUILD = """rig "Box", revision 1
case box { BOX }
battery house { LFP, 4 cells, 50 Ah }
bus minusbar 100 A
controller sun { MPPT; 20 A }
wire a from minusbar to house.minus, 8 AWG, 0.2 m
wire b from sun.batt_minus to minusbar, 8 AWG, 0.2 m
REST
"""
BOND = "wire bond from minusbar to box, 8 AWG, 0.2 m\n"
SECOND = "wire second from sun.batt_minus to box, 8 AWG, 0.2 m\n"
GOOD = "steel; bond reachable and clean"


@pytest.mark.parametrize(
    ("box", "rest", "grades", "missing"),
    [
        (GOOD, BOND + SECOND, ["twice"], []),  # catalogue, L13, Ex: two bonds via controller and inverter -> warning
        (GOOD, BOND, [], []), ("ABS", "", [], []), ("closed", "", [], ["material"]),
        ("steel; floats", "", [], []), ("steel; not floats", "", ["missing"], []),
        ("steel", "", [], ["whether a pole is bonded to box, or it floats"]),
        (f"{GOOD}; bonded at minusbar", BOND, [], []), (f"{GOOD}; bonded at minusbar", "", [], []),
        ("steel", BOND, [], ["whether its bond can be reached and is clean"]), ("steel; not bond reachable and clean", BOND, ["hidden"], []),
        (GOOD, BOND + "connector inlet { pin 1 L; pin 2 N; pin 3 PE }\nwire e from inlet.3 to box, 14 AWG\n", [], []),
    ],
)  # fmt: skip
def test_bonds(said, box: str, rest: str, grades: list[str], missing: list[str]) -> None:  # type: ignore[no-untyped-def]
    found = said(BUILD.replace("BOX", box).replace("REST", rest), "case_bond")
    assert [grade for _, grade, _ in found.grades] == grades
    assert [item.missing for item in found.unchecked] == missing
