"""Rule crowded-stud: the fault catalogue's example G13, four and five lugs, parts on a post, holes, order, missing data."""

from __future__ import annotations

import doctest
from datetime import date

import pytest
from ohmwright.inspecting import InspectOptions, inspect_files
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.resolve import Loader
from ohmwright_rules import PACK, crowded_stud

BUILD = """rig "Post", revision 1
battery house { LFP, 4 cells, 60 Ah; terminal plus { TERMINAL } }
load lamp { 1 A }
wire w0 from house.plus to lamp.plus { 6 AWG; 1 m }
"""


def build(terminal: str = "M8 stud; M8 lug", count: int = 1, more: str = "", size: str = "16 AWG") -> str:
    wires = "".join(f"wire w{k} from house.plus to lamp.plus {{ {size}; 1 m }}\n" for k in range(1, count))
    return BUILD.replace("TERMINAL", terminal) + wires + more


def test_catalogue_g13(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, G13, Ex: 7 -> warning."""
    found = said(build(count=7, size="6 AWG"), "crowded_stud")
    assert found.grades == [("house", "too-many", "warning")]
    finding = found.finding("house")
    assert (finding.measured.value, finding.limit.value) == (7, 4)
    assert finding.message == "house: 7 lugs lie on house.plus (w0, w1, w2 and 4 more); at most 4 hold each other."


@pytest.mark.parametrize(("count", "broken"), [(4, False), (5, True)])
def test_four_hold(said, count: int, broken: bool) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, G13: warning at 5 and more."""
    assert bool(said(build(count=count, size="6 AWG"), "crowded_stud").findings) is broken


def test_part_that_sits_on_the_post_counts(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build(count=4, size="6 AWG", more="fuse main { 30 A; line on house.plus }\n"), "crowded_stud")
    assert found.finding("house").measured.value == 5


@pytest.mark.parametrize(
    ("terminal", "count", "asked"), [("75 degC", 5, True), ("75 degC", 4, False), ("clamp plate", 5, False)]
)
def test_kind_is_asked_for_only_where_it_matters(said, terminal: str, count: int, asked: bool) -> None:  # type: ignore[no-untyped-def]
    found = said(build(terminal, count), "crowded_stud")
    assert [item.missing for item in found.unchecked if item.subject[1] == "house.plus"] == (
        ["kind of the terminal"] if asked else []
    )
    assert found.findings == []


@pytest.mark.parametrize(
    ("stud", "hole", "outcome"),
    [
        ("M8 stud", "M8 lug", "passes"), ("M8 stud", "M10 lug", "finds"), ("M8 stud", "M6 lug", "finds"),
        ('stud "5/16 in"', "M8 lug", "passes"), ("M8 stud", 'hole "5/16 in"', "passes"), ("M8 stud", 'hole "3/8 in"', "finds"),
        ("M8 stud", "", "hole of the lugs"), ("stud", "M8 lug", "size of the stud"), ("stud", "", "size of the stud"),
    ],
)  # fmt: skip
def test_holes(said, stud: str, hole: str, outcome: str) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, G13: hole = stud size; 5/16 in = 7.94 mm, 3/8 in = 9.53 mm."""
    found = said(build(f"{stud}; {hole}" if hole else stud), "crowded_stud")
    assert bool(found.findings) is (outcome == "finds")
    assert ("wrong-hole" in {item.grade for item in found.passes}) is (outcome == "passes")
    assert [item.missing for item in found.unchecked] == ([] if outcome in ("finds", "passes") else [outcome])


@pytest.mark.parametrize(
    ("order", "outcome"),
    [
        ("lugs from the bottom w0, w1", "passes"), ("lugs from the bottom w1, w0", "finds"), ("lugs from the bottom w1, w2, w0", "finds"),
        ("lugs from the bottom w0, w2, w1", "passes"), ("75 degC", "asks"),
    ],
)  # fmt: skip
def test_order(said, order: str, outcome: str) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, G13: biggest at bottom, a note."""
    found = said(build(f"M8 stud; M8 lug; {order}", 3), "crowded_stud")
    assert found.grades == ([("house", "order", "note")] if outcome == "finds" else [])
    assert ("order" in {item.grade for item in found.passes}) is (outcome == "passes")
    assert [item.missing for item in found.unchecked] == (["order of the lugs on house.plus"] if outcome == "asks" else [])
    assert [item.declare for item in found.unchecked if outcome == "asks"] == [
        "terminal plus { lugs from the bottom w0, w1, w2 }" for _ in found.unchecked
    ]


@pytest.mark.parametrize(("size", "broken"), [("5 AWG", True), ("6 AWG", False), ("7 AWG", False), ("13.3 mm2", False)])
def test_order_by_area(said, size: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    """6 AWG is 13.3 mm2 by the law of ASTM B258."""
    found = said(build("M8 stud; M8 lug; lugs from the bottom w0, w1", 2, size=size), "crowded_stud")
    assert bool(found.findings) is broken


def test_hole_that_is_asked_for_can_be_said(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build('stud "5/16 in"'), "crowded_stud")
    assert found.unchecked[0].declare == 'terminals { hole "5/16 in" }'
    assert said(build('stud "5/16 in"; hole "5/16 in"'), "crowded_stud").unchecked == []


def test_examples_in_the_code() -> None:
    found = doctest.testmod(crowded_stud)
    assert found.attempted > 0 and found.failed == 0


def test_bars_and_lugs_of_one_size_do_not_matter(said) -> None:  # type: ignore[no-untyped-def]
    more = "bus bar\n" + "".join(f"wire b{k} from bar to lamp.minus {{ 16 AWG; 1 m }}\n" for k in range(6))
    found = said(
        build(
            count=2, size="6 AWG", more=more + "all terminals of buses { M6 stud }\nall terminals of loads { clamp plate }\n"
        ),
        "crowded_stud",
    )
    conditions = {item.condition: item.count for item in found.idle}
    assert conditions["a busbar or a case, which has several studs"] == 1
    assert conditions["lugs of one size lie on it, so that their order does not matter"] == 1
    assert found.findings == []


@pytest.mark.parametrize(("allowed", "told"), [("4 wires", {"wire-range"}), ("8 wires", {"crowded-stud"})])
def test_more_than_the_terminal_itself_allows_is_told_once(allowed: str, told: set[str]) -> None:
    text = build(f"M8 stud; M8 lug; {allowed}", count=7, size="6 AWG")
    options = InspectOptions(today=date(2026, 1, 1), only=("wire-range", "crowded-stud"))
    (result,) = inspect_files(["a.rig"], Loader(MemoryFiles({"a.rig": text})), options, (PACK,)).builds
    assert {item.rule.id for item in result.findings} == told
