"""Rule unbonded-outlet: the fault catalogue's example I10, cases of metal and plastic, missing data."""

from __future__ import annotations

import pytest

BUILD = """rig "Box", revision 1
case box { CASE }
battery house { LFP, 4 cells, 50 Ah }
inverter power { 600 W; 120 V AC; INVERTER }
connector outlet { household socket; pin 1 L; pin 2 N; PE; female; on the panel; outlet }
wire L from power.L to outlet.1, 14 AWG
wire N from power.N to outlet.2, 14 AWG
REST
"""
PIN = "wire E from power.PE to outlet.3, 14 AWG\n"
BOND = "wire B from power.case to box, 8 AWG\n"


def build(case: str, inverter: str, rest: str = "", earth: str = "pin 3 PE") -> str:
    return BUILD.replace("CASE", case).replace("INVERTER", inverter).replace("PE;", f"{earth};").replace("REST", rest)


def test_catalogue_i10(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, I10, Ex: plastic box, earth pin wired nowhere -> warning."""
    assert said(build("ABS", "metal case"), "unbonded_outlet").grades == [("outlet", "earth-pin", "warning")]


@pytest.mark.parametrize(
    ("case", "inverter", "rest", "earth", "grades", "missing"),
    [
        ("ABS", "metal case", PIN, "pin 3 PE", [], ""),
        ("steel", "metal case", PIN + BOND, "pin 3 PE", [], ""),
        ("steel", "metal case", PIN, "pin 3 PE", ["case"], ""),
        ("steel", "no metal case", PIN, "pin 3 PE", ["case"], ""),
        ("steel", "no metal case", "", "15 A", [], ""),
        ("steel", "no metal case", "wire E from outlet.3 to box, 14 AWG\n", "pin 3 PE", ["case"], ""),
        ("steel", "60 Hz", PIN, "pin 3 PE", [], "whether its case is metal"),
        ("closed", "metal case", PIN, "pin 3 PE", [], "material of box"),
    ],
)  # fmt: skip
def test_ways(said, case: str, inverter: str, rest: str, earth: str, grades: list[str], missing: str) -> None:  # type: ignore[no-untyped-def]
    told = said(build(case, inverter, rest, earth), "unbonded_outlet")
    assert [grade for _, grade, _ in told.grades] == grades
    assert [item.missing for item in told.unchecked] == ([missing] if missing else [])
