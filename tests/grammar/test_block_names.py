"""Blocks inside things: one, several alike, a row of numbers, and all of them at once."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest
from ohmwright_grammar.kinds import kind_of
from ohmwright_grammar.kinds.connector import Half

sys.path.insert(0, str(Path(__file__).parent))
from ohmwright_grammar.printing import print_body, say_fact
from ohmwright_grammar.things import data_of
from reading import build_of, problems_of
from test_printing import read_body, read_facts

BASE = 'rig "Base", revision 1\nbattery house { 60 Ah; terminal plus { 75 degC; M8 } }\nconnector a { pins 1 to 3 { 10 A; mate last } }\n'


def pins(text: str) -> dict[str, float | None]:
    """Return the current of each pin of a."""
    half = build_of(text).parts["a"]
    assert isinstance(half, Half)
    return {pin.name: pin.rated_current.high if pin.rated_current is not None else None for pin in half.pins or ()}


@pytest.mark.parametrize(
    ("written", "names"),
    [
        ("pins 1 to 4 { 10 A }", ["1", "2", "3", "4"]),
        ("pins 1, 2, 5 { 10 A }", ["1", "2", "5"]),
        ("pins 1 to 3 and 7 { 10 A }", ["1", "2", "3", "7"]),
        ("pins 1, 4 to 5, 9 10 A", ["1", "4", "5", "9"]),
        ("pins 3 to 3 { 10 A }", ["3"]),
        ("pin 1 to 2 { 10 A }", ["1", "2"]),
    ],
)
def test_a_row_of_numbers_names_each_of_them(written: str, names: list[str]) -> None:
    assert pins(f"connector a {{ {written} }}\n") == dict.fromkeys(names, 10.0)


@pytest.mark.parametrize(
    "written", ["pins 4 to 1 { 10 A }", "pins 1 to 100000 { 10 A }", "pins 1 to { 10 A }", "pins a to c { 10 A }", "pins 10 A"]
)
def test_what_is_no_row_is_told(written: str) -> None:
    _, problems = read_facts(kind_of("connector"), written)
    assert problems


def test_a_block_without_a_name_holds_for_all_that_are_named_and_narrower_ones_win() -> None:
    assert pins("connector a { pins { 10 A }; pin 1 plus; pin 2 { minus; 5 A } }\n") == {"1": 10.0, "2": 5.0}
    kept = build_of(
        'rig "A"\nparts from "b.rig"\nconnector a same as b except { pins 1, 2 { mate last } }\n',
        {"b.rig": "connector b { pins { 10 A } }\n"},
    )
    half = kept.parts["a"]
    assert isinstance(half, Half)
    assert [pin.rated_current.high for pin in half.pins or () if pin.rated_current is not None] == [10, 10]
    assert pins("all pins { 7 A; mate last }\nconnector a { pins { 10 A }; pin 1 plus }\n") == {"1": 10.0}


def test_a_block_for_all_of_none_is_told() -> None:
    problem, *more = problems_of("connector a { pins { 10 A } }\n")
    assert not more
    assert problem.message == "This holds for all pins of the thing, but none of them is named."


def test_all_terminals_of_a_part() -> None:
    build = build_of(
        "all terminals { 60 degC; M5 }\nbattery house { 60 Ah; terminals { 75 degC }; terminal minus { 90 degC; M8 } }\n"
    )
    found = {
        name: (terminal.temperature.high, terminal.stud_size)
        for name, terminal in build.terminals.items()
        if terminal.temperature
    }
    assert found == {"house.plus": (75.0, "M5"), "house.minus": (90.0, "M8")}


def test_cores_and_jumpers_are_said_at_once_as_well() -> None:
    build = build_of(
        "battery house { 60 Ah }\nload lamp 5 W\nconnector a { pins 1 to 4 { 9 A }; jumper x from 1 to 2; jumper y from 3 to 4; jumpers { 16 AWG; 40 mm } }\n"
        "cable k { 14 AWG; 2 m; core one from house.plus to lamp.plus; core two from lamp.minus to house.minus; cores { ends in ferrules } }\n"
    )
    runs = {run.name: run.conductor for run in build.runs}
    assert sorted(runs) == ["a.x", "a.y", "k.one", "k.two"]
    assert {runs[name].gauge.text for name in ("a.x", "a.y")} == {"16 AWG"}  # type: ignore[union-attr]
    assert {runs[name].wire_ends for name in ("k.one", "k.two")} == {"ferrule"}


def test_a_change_of_all_changes_each_that_the_base_says() -> None:
    text = 'rig "B"\nadapts "base.rig" revision 1\nchange connector a { pins { 20 A } }\n'
    assert pins_of(text) == {"1": 20.0, "2": 20.0, "3": 20.0}
    assert problems_of(
        'rig "B"\nadapts "base.rig" revision 1\nchange battery house { terminals { 90 degC } }\n', {"base.rig": BASE}
    )
    other = 'rig "B"\nadapts "base.rig" revision 1\nchange connector a { pins { 20 A }; pin 2 { 30 A } }\n'
    assert pins_of(other) == {"1": 20.0, "2": 30.0, "3": 20.0}


def pins_of(text: str) -> dict[str, float | None]:
    """Return the current of each pin of a in an adaptation."""
    half = build_of(text, {"base.rig": BASE}).parts["a"]
    assert isinstance(half, Half)
    return {pin.name: pin.rated_current.high if pin.rated_current is not None else None for pin in half.pins or ()}


def test_what_holds_for_all_is_printed_so() -> None:
    facts, problems = read_facts(kind_of("fuse"), "terminals { 75 degC }")
    assert not problems
    assert say_fact(data_of(kind_of("fuse"))["terminals"], facts.facts["terminals"]) == "terminals { 75 degC }"
    body, problems = read_body("connector a { pins { 10 A }; pin 1 plus }\n")
    assert not problems
    assert read_body(print_body(body))[0].entries == body.entries
