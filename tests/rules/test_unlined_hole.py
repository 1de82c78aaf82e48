"""Rule unlined-hole: the fault catalogue's example D14, which conductors pass a hole, what lines it, what lies before a fuse, missing data."""

from __future__ import annotations

import pytest

BUILD = """rig "Locker", revision 1
basis us-small-craft
case locker { steel; hole entry { 12 mm; HOLE } }
battery house { LFP, 4 cells, 60 Ah }
fuse main { 40 A; line on house.plus }
load lamp 2 A
wire spare from house.plus to stud { 8 AWG; 1 m; SPARE }
bus stud
wire feed from main.load to lamp.plus { 14 AWG; 1 m; FEED }
wire back from lamp.minus to house.minus { 14 AWG; 1 m; BACK }
"""
THROUGH = "through entry"


def build(hole: str = "no grommet", spare: str = "", feed: str = "", back: str = "") -> str:
    text = BUILD.replace("HOLE", hole)
    for word, said in (("SPARE", spare), ("FEED", feed), ("BACK", back)):
        text = text.replace(f"; {word}", f"; {said}" if said else "")
    return text


def test_catalogue_d14(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, D14, Ex: 8 AWG battery lead through bare steel hole, before fuse -> error."""
    found = said(build(spare=THROUGH), "unlined_hole")
    assert found.grades == [("locker.entry", "unfused", "error")]
    finding = found.finding("locker.entry")
    assert finding.subject == ("locker.entry", "spare")
    assert finding.message.startswith("locker.entry: spare passes this hole without a grommet; no fuse stands before it")


@pytest.mark.parametrize(
    ("where", "grades"),
    [
        ({"spare": THROUGH}, ["unfused"]), ({"feed": THROUGH}, ["bare"]), ({"back": THROUGH}, ["bare"]),
        ({"feed": THROUGH, "spare": THROUGH}, ["unfused"]), ({"feed": "through locker.entry"}, ["bare"]), ({}, []),
    ],
)  # fmt: skip
def test_which_side_of_the_fuse(said, where: dict[str, str], grades: list[str]) -> None:  # type: ignore[no-untyped-def]
    found = said(build(**where), "unlined_hole")
    assert [item[1] for item in found.grades] == grades
    assert bool(found.idle) is (not where)


@pytest.mark.parametrize(
    ("hole", "grades", "missing"),
    [
        ("grommet", 0, []), ("bushing", 0, []), ("gland 5 mm to 8 mm", 0, []), ("no grommet", 1, []), ("deburred", 0, ["what lines the hole locker.entry"]),
        ("no grommet; for feed", 1, []),
    ],
)  # fmt: skip
def test_what_lines_it(said, hole: str, grades: int, missing: list[str]) -> None:  # type: ignore[no-untyped-def]
    found = said(build(hole, feed="" if "for" in hole else THROUGH), "unlined_hole")
    assert len(found.grades) == grades
    assert [item.missing for item in found.unchecked] == missing


def test_hole_of_a_panel_and_core_of_a_cable(said) -> None:  # type: ignore[no-untyped-def]
    text = build().replace("hole entry { 12 mm; no grommet }", "panel front { 2 mm; hole slot { 9 mm; no grommet; for cord } }")
    more = "load fan 1 A\ncable cord { 16 AWG; 1 m\n core out from main.load to fan.plus\n core home from fan.minus to house.minus\n}\n"
    found = said(text + more, "unlined_hole")
    assert found.finding("locker.front.slot").subject == ("locker.front.slot", "cord.home", "cord.out")
    assert found.grades == [("locker.front.slot", "bare", "warning")]


def test_hole_that_is_not_declared(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build(spare="through roof_hole", feed="through wall_hole"), "unlined_hole")
    assert sorted(found.missing) == [
        ("roof_hole", "unfused", "what lines the hole roof_hole"),
        ("wall_hole", "bare", "what lines the hole wall_hole"),
    ]


def test_plus_on_the_case_makes_the_minus_the_live_side(said) -> None:  # type: ignore[no-untyped-def]
    text = build(back=THROUGH).replace("steel;", "steel; bonded at house.plus;")
    assert [item[1] for item in said(text, "unlined_hole").grades] == ["unfused"]


def test_mains_wires_pass_holes_too_and_either_end_may_be_before_the_fuse(said) -> None:  # type: ignore[no-untyped-def]
    more = "inverter power 300 W\nAC load till 50 W\nwire hot from power.L to till.L { 14 AWG; 1 m; through entry }\n"
    assert [item[:2] for item in said(build() + more, "unlined_hole").grades] == [("locker.entry", "bare")]
    lead = "fuse far 40 A\nwire lead from far.line to stud { 8 AWG; 1 m; through entry }\nwire other from stud to far.load { 8 AWG; 1 m }\n"
    assert [item[1] for item in said(build() + lead, "unlined_hole").grades] == ["unfused"]


@pytest.mark.parametrize(
    ("hole", "feed", "grades", "passes"),
    [
        ("in locker; grommet", "through inlet", [], 1), ("in locker; gland 5 mm to 8 mm", "through locker.inlet", [], 1),
        ("in locker; no grommet", "through inlet", [("inlet", "bare", "warning")], 0),
        ("no grommet; for feed", "", [("inlet", "bare", "warning")], 0),
    ],
)  # fmt: skip
def test_hole_that_stands_beside_its_case(  # type: ignore[no-untyped-def]
    said, hole: str, feed: str, grades: list[tuple[str, str, str]], passes: int
) -> None:
    found = said(build(feed=feed) + f"hole inlet {{ {hole} }}\n", "unlined_hole")
    assert found.grades == grades
    assert len(found.passes) == passes
    assert found.missing == []
