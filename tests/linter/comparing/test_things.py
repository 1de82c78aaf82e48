"""What was changed of parts, wires and states, in the words in which it is declared."""

from __future__ import annotations

from typing import Any

import pytest
from ohmwright.comparing.things import changed_things, names_of
from ohmwright.comparing.wording import things_in_words

BOX = """\
rig "Box", revision 1
site { ambient 5 degC to 30 degC }
battery house { LFP, 4 cells, 100 Ah; BMS { charge at most 50 A; discharge at most 100 A } }
fuse main 20 A
load lamp 5 A
all wires { copper; 105 degC insulation }
all terminals { 75 degC }
wires 6 AWG {
  feed from house.plus to main.line, 0.6 m, red
  out from main.load to lamp.plus, 0.6 m, red
  back from lamp.minus to house.minus, 0.6 m, black
}
state "lamp on" { lamp on; house at 60 % }
"""


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("fuse main 20 A", "fuse main 30 A", ["main (fuse): 20 A to 30 A"]),
        ("fuse main 20 A", "fuse main { 20 A; class T }", ["main (fuse): now says class T"]),
        ("feed from house.plus to main.line, 0.6 m", "feed from house.plus to main.line, 8 m", ["feed (wire): 0.6 m to 8 m"]),
        ("back from lamp.minus to house.minus, 0.6 m, black", "back from lamp.minus to house.minus, 0.6 m", ["back (wire): no longer says black"]),
        ("wires 6 AWG", "wires 8 AWG", ["feed, out, back (wire): 6 AWG to 8 AWG"]),
        ("copper; 105", "copper; 90", ["feed, out, back (wire): 105 degC insulation to 90 degC insulation"]),
        ("ambient 5 degC to 30 degC", "ambient -5 degC to 30 degC", ["site: ambient -5 degC to 30 degC, was ambient 5 degC to 30 degC"]),
        ("lamp on; house at 60 %", "lamp on; house at 40 %", ["lamp on (state): house at 60 % to 40 %"]),
        ("charge at most 50 A", "charge at most 60 A", ["house (battery): charge at most 50 A to 60 A"]),
        ("revision 1", "revision 2", ["rig: revision 1 to 2"]),
        ("load lamp 5 A", "load lamp 5000 mA", []),
        ('"Box"', '"Other box"', []),
    ],
)  # fmt: skip
def test_in_words(model: Any, old: str, new: str, words: list[str]) -> None:
    before, after = model(BOX), model(BOX.replace(old, new))
    assert list(things_in_words(changed_things(before, after, names_of(before, after)), ())) == words


def test_terminals_are_told_where_only_a_default_of_them_changed(model: Any) -> None:
    before, after = model(BOX), model(BOX.replace("all terminals { 75 degC }", "all terminals { 90 degC }"))
    (words,) = things_in_words(changed_things(before, after, names_of(before, after)), ())
    assert words.endswith("(terminal): 75 degC to 90 degC")
    assert "house.minus" in words


def test_added_and_taken_out(model: Any) -> None:
    more = BOX.replace(
        "load lamp 5 A",
        "load lamp 5 A\nload fan 3 A\nwire fan_1 from main.load to fan.plus { 10 AWG; 2 m }\nwire fan_2 from fan.minus to house.minus { 10 AWG; 2 m }",
    )
    before, after = model(BOX), model(more)
    assert list(things_in_words(changed_things(before, after, names_of(before, after)), ())) == [
        "fan (load): added, 3 A",
        "fan_1 (wire): added, from main.load to fan.plus; 10 AWG; 2 m",
        "fan_2 (wire): added, from fan.minus to house.minus; 10 AWG; 2 m",
    ]
    words = list(things_in_words(changed_things(after, before, names_of(after, before)), ()))
    assert words[0].startswith("fan (load): taken out, 3 A")


def test_the_core_does_not_repeat_its_cable(model: Any) -> None:
    cord = BOX.replace(
        "  out from main.load to lamp.plus, 0.6 m, red\n  back from lamp.minus to house.minus, 0.6 m, black\n", ""
    )
    cord = cord.replace(
        'state "',
        'cable cord {\n  14 AWG; copper; 3 m\n  core hot from main.load to lamp.plus, red\n  core cold from lamp.minus to house.minus, black\n}\nstate "',
    )
    before, after = model(cord), model(cord.replace("14 AWG; copper; 3 m", "12 AWG; copper; 5 m"))
    assert list(things_in_words(changed_things(before, after, names_of(before, after)), ())) == [
        "cord (cable): 14 AWG to 12 AWG; 3 m to 5 m"
    ]
    after = model(cord.replace("hot from main.load to lamp.plus, red", "hot from main.load to lamp.plus, white"))
    assert list(things_in_words(changed_things(before, after, names_of(before, after)), ())) == [
        "cord.hot (core): white, was red"
    ]


def test_nothing_changed(model: Any) -> None:
    before, after = model(BOX), model("\n".join(["# a note", *BOX.splitlines()]) + "\n")
    assert changed_things(before, after, names_of(before, after)) == ()
