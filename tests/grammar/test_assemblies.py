"""Assemblies, their parameters and ports, rows of them, and the limit on what a build holds."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest
from ohmwright_grammar.resolve import placing

sys.path.insert(0, str(Path(__file__).parent))
from reading import build_of, problems_of, resolved, told

POLE = """
assembly pole {
  parameter height 2 m
  parameter size 16 AWG
  load lamp { 10 W }
  fuse own { 3 A }
  wire up from own.load to lamp.plus, size, height
  port feed at own.line
}
bus hub 10 A
"""
PACK = """
assembly pack {
  parameter lead 0.2 m
  battery cells { LFP; 50 Ah }
  connectors {
    inlet { pin 1 plus; pin 2 minus }
    outlet { pin 1 plus; pin 2 minus }
  }
  wire p from cells.plus to inlet.1, 8 AWG, lead
}
assembly link {
  connectors { near { pin 1 plus; pin 2 minus }; far { pin 1 plus; pin 2 minus } }
  cable cord { 8 AWG; 1 m; core a from near.1 to far.1 }
}
connector socket { pin 1 plus; pin 2 minus }
"""


def lengths(text: str) -> dict[str, tuple[float, str]]:
    """Return the length and size of every wire."""
    return {
        run.name: (run.conductor.length.nominal, run.conductor.gauge.text)
        for run in build_of(text).runs
        if run.conductor.length and run.conductor.gauge
    }


def test_parameters_have_a_usual_value_and_those_of_the_place() -> None:
    text = POLE + "place a of pole\nplace b of pole { with height 3 m; size 14 AWG }\nplace c of pole with height 90 in\n"
    assert lengths(text) == {"a.up": (2.0, "16 AWG"), "b.up": (3.0, "14 AWG"), "c.up": (pytest.approx(2.286), "16 AWG")}


def test_a_size_may_be_given_in_mm2_where_the_usual_one_is_in_awg() -> None:
    assert lengths(POLE + "place a of pole { with size 1.5 mm2 }\n")["a.up"] == (2.0, "1.5 mm2")
    metric = POLE.replace("16 AWG", "1.5 mm2") + "place a of pole\nplace b of pole { with size 16 AWG }\n"
    assert lengths(metric) == {"a.up": (2.0, "1.5 mm2"), "b.up": (2.0, "16 AWG")}


def test_a_value_that_makes_no_sense_inside_is_told_there_once() -> None:
    text = "assembly a { parameter cells 60 %\nbattery b { usable cells } }\nplace x of a { with cells 200 % }\nplace y of a { with cells 200 % }\n"
    assert told(text) == [("senseless-value", 2)]
    assert told(text.replace("200", "20")) == []


@pytest.mark.parametrize(
    ("statement", "message"),
    [
        ("place a of poel", "There is no assembly 'poel'."),
        ("place a", "It is not said of which assembly 'a' is."),
        ("place a of pole { with hieght 3 m }", "The assembly 'pole' has no parameter 'hieght'."),
        ("place a of pole { with height 3 A }", "The parameter 'height' is a length, not a current."),
        ("place a of pole { with size 3 m }", "The parameter 'size' is a size, not a length."),
        ("place a of pole\nwire w from a.feeed to hub, 10 AWG, 1 m", None),
        ("place a of pole\nwire w from a to hub, 10 AWG, 1 m", "'a' is no terminal but a placed assembly."),
        ("row r of 3 pole { 0 to 5 joined }", "5 of 'r' cannot be joined: 3 are placed."),
        ("row r", "It is not said how many of which assembly make the row 'r'."),
    ],
)
def test_what_cannot_be_placed(statement: str, message: str | None) -> None:
    problems = problems_of(POLE + statement)
    assert len(problems) == 1, [problem.message for problem in problems]
    assert message is None or problems[0].message == message


def test_ports_are_short_names_for_what_lies_inside() -> None:
    text = POLE + "place a of pole\nwire w from hub to a.feed, 10 AWG, 1 m\nstate s { a.lamp on }\n"
    build = build_of(text)
    assert {run.name: run.end for run in build.runs}["w"] == "a.own.line"
    assert build.states[0].settings[0].things == ("a.lamp",)  # type: ignore[index]


def test_names_inside_are_seen_from_inside_first() -> None:
    text = (
        "bus hub 10 A\nload lamp 5 W\nassembly p { load lamp 6 W\nwire w from lamp.plus to hub, 10 AWG, 1 m }\nplace a of p\n"
    )
    (run,) = build_of(text).runs
    assert (run.name, run.start, run.end) == ("a.w", "a.lamp.plus", "hub")


def test_assemblies_may_hold_assemblies() -> None:
    text = "assembly inner { load l 5 W }\nassembly outer { assembly own { load m 6 W }\nplace a of inner\nplace b of own }\nplace x of outer\nplace y of outer\n"
    assert sorted(build_of(text).parts) == ["x.a.l", "x.b.m", "y.a.l", "y.b.m"]


def test_an_assembly_cannot_hold_itself() -> None:
    assert told("assembly a { place x of a }\nplace y of a\n") == [("unknown-name", 1)]
    assert told("assembly a { place x of b }\nassembly b { place y of a }\nplace z of a\n") == [("unknown-name", 2)]


def test_a_mistake_inside_an_assembly_is_told_once_however_often_it_is_placed() -> None:
    text = "assembly a { parameter n 1 m\nload l 5 }\nplace x of a\nplace y of a { with n 2 m }\nplace z of a\n"
    assert told(text) == [("missing-unit", 2)]


def test_mistakes_in_an_assembly_that_is_never_placed_are_told_as_well() -> None:
    assert told("assembly a { load l 5 }\nbus hub 3 A\n") == [("missing-unit", 1)]


# rows ----------------------------------------------------------------------------------------------------------------


def test_a_row_is_chained_from_its_start() -> None:
    build = build_of(PACK + "row packs of 3 pack { starts at socket; joins inlet to outlet; cord link; with lead 0.3 m }\n")
    (row,) = build.rows
    assert row.instances == ("packs[1]", "packs[2]", "packs[3]")
    assert row.links == (
        ("socket with packs_cord[1].near", "packs_cord[1].far with packs[1].inlet"),
        ("packs[1].outlet with packs_cord[2].near", "packs_cord[2].far with packs[2].inlet"),
        ("packs[2].outlet with packs_cord[3].near", "packs_cord[3].far with packs[3].inlet"),
    )
    assert (row.least, row.most) == (0, 3)
    assert {mating.link for mating in build.matings} == {1, 2, 3}
    assert all(mating.pins == (("1", "1"), ("2", "2")) for mating in build.matings)
    assert {run.conductor.length.nominal for run in build.runs if run.name.endswith(".p") and run.conductor.length} == {0.3}


def test_a_row_without_cords() -> None:
    build = build_of(PACK + "row packs of 2 pack { starts at socket; joins inlet to outlet; 1 to 2 joined }\n")
    assert [row.links for row in build.rows] == [(("socket with packs[1].inlet",), ("packs[1].outlet with packs[2].inlet",))]
    assert [(row.least, row.most) for row in build.rows] == [(1, 2)]


def test_the_ends_of_a_cord_may_have_other_names() -> None:
    text = (
        PACK.replace("near", "this").replace("far", "that")
        + "row r of 1 pack { starts at socket; joins inlet to outlet; cord link from this to that }\n"
    )
    assert [row.links for row in build_of(text).rows] == [(("socket with r_cord[1].this", "r_cord[1].that with r[1].inlet"),)]


@pytest.mark.parametrize(
    ("facts", "rule"),
    [
        ("starts at sockte; joins inlet to outlet", "unknown-name"),
        ("starts at socket; joins inlt to outlet", "unknown-name"),
        ("starts at socket; joins inlet to outlet; cord lnk", "unknown-name"),
        ("starts at socket; joins inlet to outlet; cord link from x to far", "unknown-name"),
    ],
)
def test_rows_that_cannot_be_chained(facts: str, rule: str) -> None:
    assert [problem.rule for problem in problems_of(PACK + f"row packs of 2 pack {{ {facts} }}\n")] == [rule]


# the limit -----------------------------------------------------------------------------------------------------------


def test_a_build_holds_so_many_things_and_no_more(monkeypatch: pytest.MonkeyPatch) -> None:
    """A part, a pin, a jumper, a core, a state and an instance count one each."""
    monkeypatch.setattr(placing, "MOST_OBJECTS", 10)
    text = (
        "connector s with p { pins 1, 2 { 5 A }; p { jumper j from 1 to 2 { 16 AWG; 1 m } } }\nload l 5 W\nstate a { l on }\n"
    )
    assert len(build_of(text).parts) == 3  # 2 halves, 4 pins, 1 jumper, 1 load, 1 state: 9
    assert told(text + "bus hub 3 A\n") == []
    found = resolved(text + "bus hub 3 A\nbus more 3 A\n")
    assert [(problem.rule, problem.span.line) for problem in found.problems] == [("over-limit", 5)]
    assert found.build.partial


def test_assemblies_without_parts_cannot_go_on_for_ever() -> None:
    nested = "".join(
        f"assembly a{number} {{ place x of a{number - 1}\nplace y of a{number - 1} }}\n" for number in range(1, 40)
    )
    found = resolved("assembly a0 { }\n" + nested + "place top of a39\n")
    assert [problem.rule for problem in found.problems] == ["over-limit"]


def test_a_row_of_very_many_ends_at_the_limit() -> None:
    found = resolved("assembly a { load l 5 W }\nrow r of 1000000000 a\n")
    assert [problem.rule for problem in found.problems] == ["over-limit"]
    assert len(found.build.parts) < placing.MOST_OBJECTS
