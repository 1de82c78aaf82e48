"""Defaults: the narrower wins, and two equally narrow ones that differ are an error at both."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import pytest
from ohmwright_grammar.kinds import KINDS, PLURALS
from ohmwright_grammar.kinds.charging import Charging
from ohmwright_grammar.kinds.conductor import Conductor
from ohmwright_grammar.kinds.connector import Half
from ohmwright_grammar.kinds.fuse import Fuse

sys.path.insert(0, str(Path(__file__).parent))
from reading import build_of, problems_of, told

ENDS = "bus a 3 A\nbus b 3 A\n"


def length(text: str, name: str = "w") -> tuple[float, str]:
    """Return the length of a wire and how it reached it."""
    (run,) = [run for run in build_of(ENDS + text).runs if run.name == name]
    fact = run.conductor.fact(Conductor.length)
    assert fact is not None and fact.value is not None
    return fact.value.nominal, fact.origin


LADDER = [
    # each line is narrower than those above it
    ("all conductors { 1 m }", 1.0, "default"),
    ("all stranded wires { 2 m }", 2.0, "default"),
    ("zone z { 5 degC to 30 degC }\nall stranded wires in z { 3 m }", 3.0, "default"),
    ("wires stranded, 10 AWG, 4 m {\n  w from a to b { in z }\n}", 4.0, "group"),
]


@pytest.mark.parametrize("steps", range(1, len(LADDER) + 1))
def test_the_narrower_wins(steps: int) -> None:
    text = "\n".join(line for line, _, _ in LADDER[:steps])
    if steps < len(LADDER):
        text += "\nwire w from a to b { stranded; 10 AWG" + ("; in z" if steps == 3 else "") + " }"
    lines = text.split("\n")
    for arranged in (text, "\n".join(reversed(lines)) if steps < len(LADDER) else text):
        assert length(arranged) == LADDER[steps - 1][1:]


def test_a_things_own_words_win_over_all() -> None:
    text = "all wires { 1 m }\nwires 2 m { w from a to b { 3 m; 10 AWG } }"
    assert length(text) == (3.0, "own")


def test_what_came_with_a_library_part_wins_over_defaults_and_groups_do_not_win_over_it() -> None:
    text = "all fuses { 5 A; blade }\nfuse one { 7 A }\nfuse two { same as one }\nfuses 9 A { three same as one }\n"
    build = build_of(text)
    assert [fuse.rated_current.nominal for fuse in build.of(Fuse)] == [7.0, 7.0, 7.0]  # type: ignore[union-attr]
    assert build.parts["two"].fact(Fuse.rated_current).origin == "base"  # type: ignore[union-attr]
    assert build.parts["two"].fact(Fuse.family).origin == "default"  # type: ignore[union-attr]


def test_two_that_are_equally_narrow_and_differ_are_told_at_both_lines() -> None:
    text = ENDS + "all wires { 1 m }\nwire w from a to b, 10 AWG\nwire v from a to b, 10 AWG\nall wires { 2 m }\n"
    assert told(text) == [("defaults-differ", 3), ("defaults-differ", 6)]
    first, second = problems_of(text)
    assert first.related[0].span.line == 6
    assert second.related[0].span.line == 3


@pytest.mark.parametrize(
    "text",
    [
        "all wires { 1 m }\nall wires { 1 m }\nwire w from a to b, 10 AWG",
        "all wires { 1 m }\nall wires { copper }\nwire w from a to b, 10 AWG",
        "all wires { 1 m }\nall wires { 2 m }\nwire w from a to b, 10 AWG, 3 m",
        "all wires { 1 m }\nall wires { 2 m }\nall red wires { 3 m }\nwire w from a to b, 10 AWG, red",
        "all wires { 1 m }\nall wires { 2 m }",
    ],
)
def test_two_that_do_not_matter_are_not_told(text: str) -> None:
    assert told(ENDS + text) == []


def test_a_default_says_nothing_of_kinds_that_cannot_say_it() -> None:
    build = build_of("all parts { in shed; always on }\nzone shed { 5 degC to 30 degC }\nload l 5 W\nbus h 3 A\n")
    assert set(build.zones) == {"l", "h"}


def test_a_family_that_comes_by_a_default_counts_as_well() -> None:
    text = "all fuses { blade }\nall blade fuses { breaks 1 kA at 32 V dc }\nfuse f 5 A\nfuse g { 5 A; bolt-down }\n"
    found: dict[str, Any] = {fuse.name: fuse.breaks for fuse in build_of(text).of(Fuse)}
    assert found["f"] and not found["g"]


def test_an_assemblys_own_defaults_come_before_those_of_the_file() -> None:
    text = (
        ENDS
        + "all wires { 1 m }\nassembly p { all conductors { 2 m }\nbus x 3 A\nbus y 3 A\nwire w from x to y, 10 AWG }\nplace one of p\nwire v from a to b, 10 AWG\n"
    )
    lengths = {run.name: run.conductor.length.nominal for run in build_of(text).runs if run.conductor.length}
    assert lengths == {"one.w": 2.0, "v": 1.0}


def test_a_zone_inside_an_assembly_is_one_of_each_instance() -> None:
    text = (
        "assembly p { zone hot { 10 degC to 60 degC }\nall wires in hot { 2 m }\nbus x 3 A\nbus y 3 A\nwire w from x to y, 10 AWG, in hot\n"
        "cable c { 10 AWG; in hot; core one from x to y } }\nplace one of p\nplace two of p\n"
    )
    build = build_of(text)
    assert build.zones["one.w"] == "one.hot"
    assert build.zones["two.c.one"] == "two.hot"
    assert {run.conductor.length.nominal for run in build.runs if run.conductor.length} == {2.0}
    assert len(build.runs) == 4


def test_defaults_reach_pins_and_jumpers() -> None:
    text = "all pins { 20 A }\nall jumpers { 16 AWG }\nconnector s with p { pins 1, 2 { 10 degC }; pin 3 { 5 A }; p { jumper j from 1 to 2 { 40 mm } } }\n".replace(
        "{ 10 degC }", "{ tin-plated }"
    )
    build = build_of(text)
    half = build.parts["s"]
    assert isinstance(half, Half)
    assert [pin.rated_current.nominal for pin in half.pins or () if pin.rated_current] == [20.0, 20.0, 5.0]
    assert [run.conductor.gauge.text for run in build.runs if run.conductor.gauge] == ["16 AWG"]


def test_which_things_a_word_after_all_means() -> None:
    assert told("all widgets { 3 A }") == [("unknown-property", 1)]
    assert told("all purple fuses { 3 A }") == [("unknown-property", 1)]
    assert told("all fuse blocks { 30 A }") == []


def test_every_word_that_begins_a_statement_of_parts_has_its_plural() -> None:
    """Named kinds of which a build may have several; a site, a procedure and the like stand once."""
    once = {
        "commissioning",
        "history",
        "procedure",
        "site",
        "box",
        "bus",
        "require",
        "waive",
    }  # or with a plural of its own form
    several = {words for words in KINDS if words not in once}
    irregular = {"array": "arrays", "battery": "batteries", "switch": "switches"}
    assert not {irregular.get(words, f"{words}s") for words in several} - set(PLURALS)


@pytest.mark.parametrize("plural", ["DC-DC chargers", "wind turbines", "inverter-chargers", "chargers"])
def test_chargers_of_one_sort(plural: str) -> None:
    build = build_of(
        f"all {plural} {{ absorption 14.2 V }}\nDC-DC charger a 10 A\nwind turbine b 10 A\ninverter-charger c 10 A\nmains charger d 10 A\n"
    )
    found = {part.name for part in build.of(Charging) if part.absorption_voltage is not None}
    assert (
        found
        == {"DC-DC chargers": {"a"}, "wind turbines": {"b"}, "inverter-chargers": {"c"}, "chargers": {"a", "b", "d"}}[plural]
    )
