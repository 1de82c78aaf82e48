"""Rule thin-bond: the fault catalogue's example D16, leads and parts that a bond is held against, the edge, missing data."""

from __future__ import annotations

import pytest

BUILD = """rig "Truck", revision 1
basis us-small-craft
case locker { steel; bonded at minusbar }
battery house { LFP, 4 cells, 100 Ah }
load winch 20 A
bus minusbar 100 A
wire feed from house.plus to winch.plus { LEAD 1 m }
wire back from winch.minus to minusbar { 2 AWG; 1 m }
wire home from minusbar to house.minus { 2 AWG; 1 m }
wire bond from minusbar to locker { BOND 0.4 m; JOB }
"""


def build(bond: str, lead: str = "6 AWG;", job: str = "bond") -> str:
    return BUILD.replace("LEAD", lead).replace("BOND", bond).replace("; JOB", f"; {job}" if job else "")


def test_catalogue_d16(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, D16, Ex: 6 AWG lead, 10 AWG bond -> warning."""
    found = said(build("10 AWG;"), "thin_bond")
    assert found.grades == [("bond", "too-thin", "warning")]
    finding = found.finding("bond")
    assert finding.message.startswith("bond: this bond is 10 AWG, thinner than feed with 6 AWG;")
    assert finding.remedy == "Use 6 AWG or larger for the bond."


@pytest.mark.parametrize(
    ("bond", "lead", "job", "broken"),
    [
        ("6 AWG;", "6 AWG;", "bond", False), ("8 AWG;", "6 AWG;", "bond", True), ("8 AWG;", "10 AWG;", "bond", False),
        ("9 AWG;", "10 AWG;", "bond", True), ("10 mm2;", "10 AWG;", "bond", False), ("6 mm2;", "10 AWG;", "bond", True),
        ("10 AWG;", "6 AWG;", "", True), ("10 AWG;", "6 AWG;", "earth", False),
    ],
)  # fmt: skip
def test_edges(said, bond: str, lead: str, job: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    """NEC 552.10(C): 8 AWG at least, and not smaller than the lead; the bonded side's leads (2 AWG here) do not count."""
    assert bool(said(build(bond, lead, job), "thin_bond").grades) is broken


def test_lead_behind_a_fuse_on_the_post(said) -> None:  # type: ignore[no-untyped-def]
    text = build("8 AWG;").replace(
        "wire feed from house.plus", "fuse main { 100 A; line on house.plus }\nwire feed from main.load"
    )
    assert said(text, "thin_bond").finding("bond").limit.value == pytest.approx(13.30e-6, rel=1e-3)  # ASTM B258, 6 AWG


@pytest.mark.parametrize(("size", "broken"), [("8 AWG", False), ("10 AWG", True)])
def test_frame_of_an_array_is_held_against_its_own_leads(said, size: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    more = (
        "array roof { Voc 22 V; Isc 5 A; Vmp 18 V; Imp 4.7 A }\nload pump 2 A\nwire up from roof.plus to pump.plus { 12 AWG; 1 m }\n"
        f"wire down from pump.minus to roof.minus {{ 12 AWG; 1 m }}\nwire frame from roof.frame to locker {{ {size}; 2 m; bond }}\n"
    )
    found = said(build("2 AWG;", "2 AWG;") + more, "thin_bond")
    assert found.grades == ([("frame", "too-thin", "warning")] if broken else [])


def test_case_of_an_inverter_is_held_against_its_own_leads(said) -> None:  # type: ignore[no-untyped-def]
    more = (
        "inverter power { 300 W; metal case }\nwire in from house.plus to power.plus { 2 AWG; 1 m }\nwire out from power.minus to minusbar { 2 AWG; 1 m }\n"
        "wire earth from power.case to locker { 6 AWG; 1 m; bond }\n"
    )
    found = said(build("2 AWG;") + more, "thin_bond")
    assert found.grades == [("earth", "too-thin", "warning")]
    assert "thinner than in with 2 AWG" in found.finding("earth").message


def test_what_is_missing(said) -> None:  # type: ignore[no-untyped-def]
    assert said(build(""), "thin_bond").missing == [("bond", "too-thin", "gauge")]
    assert said(build("8 AWG;", ""), "thin_bond").missing == [("bond", "too-thin", "gauge of feed")]
    assert said(build("10 AWG;", ""), "thin_bond").grades == [("bond", "too-thin", "warning")]


def test_what_does_not_apply(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build("6 AWG;").split("wire bond")[0], "thin_bond")
    assert [item.condition for item in found.idle] == ["no bonding conductor"]


def test_what_is_no_bond_and_what_is_no_lead(said) -> None:  # type: ignore[no-untyped-def]
    """A jumper inside a device is no bond of the build; a sense wire at the post is no lead."""
    device = build("10 AWG;").replace("; bond }", "; bond; inside a bought device }")
    assert [item.condition for item in said(device, "thin_bond").idle] == ["no bonding conductor"]
    sense = "meter eye { takes 1 mA }\nwire eye_plus from house.plus to eye.plus { 2 AWG; 1 m; sense }\nwire eye_minus from eye.minus to minusbar { 18 AWG; 1 m }\n"
    assert said(build("6 AWG;") + sense, "thin_bond").grades == []
