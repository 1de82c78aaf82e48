"""Rule loose-metal: the fault catalogue's example L1, partitions, boots and covers, silence."""

from __future__ import annotations

import pytest

BUILD = """rig "Cord box", revision 1
basis us-small-craft
case box { closed }
FLOOR
POCKET
battery house { LFP, 4 cells, 60 Ah; in ZONE; terminals plus, minus { M8 stud; BOOT } }
load lamp 2 A
wire feed from house.plus to lamp.plus { 14 AWG; 1 m }
wire back from lamp.minus to house.minus { 14 AWG; 1 m }
"""
FLOOR = "zone floor { in box; no loose things }"


def build(pocket: str, boot: str = "no boot", zone: str = "floor", more: str = "", floor: str = FLOOR) -> str:
    lines = f"zone pocket {{ in box; {pocket} }}" if pocket else ""
    return (
        BUILD.replace("FLOOR", floor)
        .replace("POCKET", lines)
        .replace("; BOOT", f"; {boot}" if boot else "")
        .replace("ZONE", zone)
        + more
    )


def test_catalogue_l1(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, L1, Ex: cord pocket above bare M8 posts -> error; full-width cover -> pass."""
    bare = build("loose things; no insulating partition")
    found = said(bare, "loose_metal")
    assert found.grades == [("pocket", "bare", "error")]
    finding = found.finding("pocket")
    assert finding.subject == ("pocket", "box", "house.minus", "house.plus")
    assert finding.message.startswith(
        "pocket: loose things are kept here beside house.minus and house.plus in the same case (box), with no partition between;"
    )
    covered = said(bare + "cover lid { over house.plus, house.minus; by hand }\n", "loose_metal")
    assert covered.grades == []
    assert covered.passed("pocket")


@pytest.mark.parametrize(
    ("pocket", "boot", "zone", "broken", "missing"),
    [
        ("loose things; insulating partition", "no boot", "floor", False, None),
        ("loose things", "no boot", "floor", False, "a partition between pocket and the terminals in box"),
        ("loose things", "boot", "floor", False, None),
        ("loose things", "no boot", "pocket", True, None),
        ("loose things", "", "pocket", False, "a boot or cover over house.minus and house.plus"),
        ("loose things; no insulating partition", "", "floor", False, "a boot or cover over house.minus and house.plus"),
        ("no loose things", "no boot", "floor", False, None),
        ("wire duct", "no boot", "floor", False, "whether loose things are kept in pocket"),
        ("5 degC to 30 degC", "boot", "floor", False, None),
    ],
)  # fmt: skip
def test_zones(said, pocket: str, boot: str, zone: str, broken: bool, missing: str | None) -> None:  # type: ignore[no-untyped-def]
    found = said(build(pocket.replace("wire duct", "0 degC to 30 degC"), boot, zone), "loose_metal")
    assert bool(found.grades) is broken
    assert [item.missing for item in found.unchecked] == ([missing] if missing else [])
    assert bool(found.passes) is (not broken and missing is None)


def test_a_case_without_zones_has_to_say_it(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build("", zone="box", floor=""), "loose_metal")
    (item,) = found.unchecked
    assert item.missing == "whether loose things are kept in box"
    assert item.declare == "zone inside { in box; no loose things }"


def test_terminals_inside_plastic_and_halves(said) -> None:  # type: ignore[no-untyped-def]
    more = "connector out { in pocket; pin 1 }\nwire x from house.plus to out.1 { 14 AWG; 1 m }\n"
    text = build("loose things", "no boot", "pocket", more).replace("M8 stud; no boot", "spring cage")
    assert said(text, "loose_metal").grades == []


def test_what_does_not_apply(said) -> None:  # type: ignore[no-untyped-def]
    text = build("loose things", zone="floor").replace("in floor; ", "")
    assert [item.condition for item in said(text, "loose_metal").idle] == ["a case or zone without terminals"]
    bare = text.replace("case box { closed }\n", "").replace(FLOOR, "").replace("zone pocket { in box; loose things }", "")
    assert [item.condition for item in said(bare, "loose_metal").idle] == ["no case and no zone"]


def test_zones_that_lie_in_no_case_are_spaces_of_their_own(said) -> None:  # type: ignore[no-untyped-def]
    text = build("loose things", zone="floor").replace("case box { closed }\n", "").replace("in box; ", "")
    found = said(text, "loose_metal")
    assert found.grades == []
    assert [item.subject for item in found.passes] == [("floor",)]
    assert said(text.replace("no loose things", "loose things"), "loose_metal").grades == [("floor", "bare", "error")]


def test_the_zone_with_terminals_is_asked_first(said) -> None:  # type: ignore[no-untyped-def]
    text = build("0 degC to 30 degC", floor="zone floor { in box; 0 degC to 30 degC }")
    assert [item.subject for item in said(text, "loose_metal").unchecked] == [("box", "floor")]


@pytest.mark.parametrize(
    ("boot", "broken", "missing"), [("boot", False, None), ("no boot", True, None), ("M6 stud", False, "a boot or cover over bar")]
)  # fmt: skip
def test_the_studs_of_a_busbar_are_read_like_terminals(said, boot: str, broken: bool, missing: str | None) -> None:  # type: ignore[no-untyped-def]
    bar = f"bus bar {{ in pocket; terminals {{ {boot} }} }}\nwire x from house.plus to bar {{ 14 AWG; 1 m }}\n"
    found = said(build("loose things", "boot", "pocket", bar), "loose_metal")
    assert [item.subject for item in found.findings] == ([("pocket", "box", "bar")] if broken else [])
    assert [item.missing for item in found.unchecked] == ([missing] if missing else [])
