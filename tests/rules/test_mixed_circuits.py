"""Rule mixed-circuits: the fault catalogue's example I8, ducts and sheaths, the edge, missing data."""

from __future__ import annotations

import pytest

BUILD = """rig "Van", revision 1
battery house { LFP, 4 cells, 50 Ah }
inverter power { 300 W; VOLT }
AC load till { 60 W }
load lamp { 10 W }
wire a from power.L to till.L { 14 AWG; 300 V insulation; duct back }
wire b from power.N to till.N { 14 AWG; 300 V insulation; duct back }
wire c from house.plus to lamp.plus { 14 AWG; DC }
wire d from lamp.minus to house.minus { 14 AWG; 300 V insulation }
REST
"""


def build(volt: str = "120 V AC", direct: str = "300 V insulation; duct back", rest: str = "") -> str:
    return BUILD.replace("VOLT", volt).replace("DC }", f"{direct} }}").replace("REST", rest)


def test_catalogue_i8(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, I8, Ex: 120 V and 12 V on one 7-pin -> error."""
    rest = "connector plug { 7 pins }\nwire e from house.plus to plug.1, 14 AWG\nwire f from power.L to plug.7, 14 AWG\n"
    assert said(build(rest=rest), "mixed_circuits").grades == [("plug", "shared-connector", "error")]


def test_promised_poles_count(said) -> None:  # type: ignore[no-untyped-def]
    rest = "connector plug { pin 1 plus; pin 2 minus; pin 3 L; pin 4 PE }\nwire e from house.plus to plug.1, 14 AWG\n"
    assert said(build(rest=rest), "mixed_circuits").grades == [("plug", "shared-connector", "error")]
    rest = "connector plug { pin 1 plus; pin 2 minus; pin 4 PE }\nwire e from house.plus to plug.1, 14 AWG\n"
    assert not said(build(rest=rest), "mixed_circuits").grades


@pytest.mark.parametrize(
    ("volt", "direct", "found", "missing"),
    [
        ("230 V AC", "230 V insulation; duct back", 0, ""), ("230 V AC", "229 V insulation; duct back", 1, ""),
        ("230 V AC", "100 V insulation; duct front", 0, ""), ("230 V AC", "duct back", 0, "insulation voltage of c"),
        ("50 Hz", "240 V insulation; duct back", 1, ""), ("50 Hz", "250 V insulation; duct back", 0, ""),
    ],
)  # fmt: skip
def test_duct(said, volt: str, direct: str, found: int, missing: str) -> None:  # type: ignore[no-untyped-def]
    told = said(build(volt, direct), "mixed_circuits")
    assert len([item for item in told.grades if item[1] == "shared-duct"]) == found
    assert [item.missing for item in told.unchecked] == ([missing] if missing else [])


def test_one_sheath_is_a_duct(said) -> None:  # type: ignore[no-untyped-def]
    rest = "cable x { 14 AWG; 60 V insulation; core p from house.plus to lamp.plus; core q from power.L to till.L }"
    assert ("x", "shared-duct", "warning") in said(build(direct="duct front", rest=rest), "mixed_circuits").grades
