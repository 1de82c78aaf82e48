"""Rule pinched-interlock: the fault catalogue's example H10, cases that float or are bonded, either side of the coil, cables, silence."""

from __future__ import annotations

import pytest

BUILD = """rig "Box", revision 1
CASE
battery house { LFP, 4 cells, 50 Ah }
fuse own 1 A
relay hold { 20 A; coil 12 V; coil 1.8 W }
connector out with plug {
  pins 3, 4 { "interlock" }
  plug { jumper bridge from 3 to 4 { 18 AWG; 40 mm } }
}
wire g from house.plus to own.line, 18 AWG, 0.4 m
"""
SUPPLY = """wire h from own.load to out.3, 18 AWG, 0.4 m
wire i from out.4 to hold.coil_plus, 18 AWG, 0.4 m
wire j from hold.coil_minus to house.minus, 18 AWG, 0.4 m
"""
RETURN = """wire h from own.load to hold.coil_plus, 18 AWG, 0.4 m
wire i from hold.coil_minus to out.3, 18 AWG, 0.4 m
wire j from out.4 to house.minus, 18 AWG, 0.4 m
"""


def build(wires: str, case: str = "case box { steel; bonded at house.minus }") -> str:
    return BUILD.replace("CASE", case) + wires


def test_catalogue_h10(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, H10, Ex: loop on coil return, wire pinched to bonded case -> coil on with plug out -> warning."""
    found = said(build(RETURN), "pinched_interlock")
    assert [item[1:] for item in found.grades] == [("fails-live", "warning")]
    assert "i pinched to box switches hold on" in found.findings[0].message


@pytest.mark.parametrize(
    ("wires", "case", "live"),
    [
        (SUPPLY, "case box { steel; bonded at house.minus }", False),
        (SUPPLY, "case box { steel; bonded at house.plus }", True),
        (RETURN, "case box { steel; bonded at house.plus }", False),
        (RETURN, "case box { steel; floats }", False),
        (RETURN, "case box { polycarbonate }", False),
        (RETURN, "case box steel\nwire b from box to house.minus, 8 AWG, 0.3 m", True),
    ],
)
def test_side_and_bond(said, wires: str, case: str, live: bool) -> None:  # type: ignore[no-untyped-def]
    found = said(build(wires, case), "pinched_interlock")
    assert bool(found.findings) is live
    assert not found.unchecked


@pytest.mark.parametrize(
    ("case", "missing"),
    [
        ("case box steel", "whether box is bonded to a pole or floats"),
        ("case box { inside size 300 x 200 x 200 mm }", "material of box, and whether it is bonded to a pole or floats"),
        ("", "the case: of what it is, and whether it is bonded or floats"),
    ],
)
def test_silence(said, case: str, missing: str) -> None:  # type: ignore[no-untyped-def]
    """Readings, Silence: bonded or floating as declared, else not checked."""
    assert [item[2] for item in said(build(RETURN, case), "pinched_interlock").missing] == [missing]


def test_both_wires_in_one_cable(said) -> None:  # type: ignore[no-untyped-def]
    """Readings, H10 as the catalogue words it: both ends shorted to each other always look like plugged in, a note."""
    cable = "cable lead {\n  18 AWG; 2 m\n  core h from own.load to out.3\n  core i from out.4 to hold.coil_plus\n}\n"
    text = build(cable + SUPPLY.splitlines()[2] + "\n", "case box polycarbonate")
    loop = "interlock l { loop out.3, plug.bridge, out.4, WIRES; stops hold }\n"
    assert [item[1:] for item in said(text + loop.replace("WIRES", "lead.h, lead.i"), "pinched_interlock").grades] == [
        ("pinched-together", "note")
    ]
    assert not said(build(SUPPLY, "case box polycarbonate") + loop.replace("WIRES", "h, i"), "pinched_interlock").findings


def test_a_loop_without_a_coil(said) -> None:  # type: ignore[no-untyped-def]
    text = build(
        "load lamp 5 W\nwire h from own.load to out.3\nwire i from out.4 to lamp.plus\nwire j from lamp.minus to house.minus\n"
    )
    assert [item.condition for item in said(text, "pinched_interlock").idle] == ["it feeds neither a coil nor an enable input"]


ENABLE = """rig "Box", revision 1
case box { steel; bonded at house.minus }
battery house { LFP, 4 cells, 50 Ah }
fuse own 1 A
inverter mill 300 W
connector out with plug {
  pins 3, 4 { "interlock" }
  plug { jumper bridge from 3 to 4 { 18 AWG; 40 mm } }
}
wires 10 AWG, 0.4 m {
  p from house.plus to mill.plus
  m from mill.minus to house.minus
  g from house.plus to own.line
}
"""


@pytest.mark.parametrize(
    ("wires", "live"),
    [
        (
            "wire h from own.load to out.3\nwire i from out.4 to mill.enable\nwire j from mill.enable_return to house.minus\n",
            False,
        ),
        (
            "wire h from own.load to mill.enable\nwire i from mill.enable_return to out.3\nwire j from out.4 to house.minus\n",
            True,
        ),
    ],
)
def test_enable_inputs(said, wires: str, live: bool) -> None:  # type: ignore[no-untyped-def]
    found = said(ENABLE + wires, "pinched_interlock")
    assert bool(found.findings) is live
    assert not found.idle
