"""Parts of which only the name changed: recognised by what is said of them and what they are joined to, never where anything else changed."""

from __future__ import annotations

import random
import re
from typing import Any

import pytest
from ohmwright.comparing.normal import normal, renaming
from ohmwright.comparing.renames import renamed_parts, renamed_states
from ohmwright.comparing.things import changed_things, names_of
from ohmwright_grammar.quantities import Gauge, Quantity, Volt

PAIR = """\
rig "Pair", revision 1
battery left { LFP, 4 cells, 100 Ah }
battery right { LFP, 4 cells, 50 Ah }
load lamp 5 A
load fan 5 A
wires 6 AWG, copper {
  up_1 from left.plus to lamp.plus, 0.6 m
  down_1 from lamp.minus to left.minus, 0.6 m
  up_2 from right.plus to fan.plus, 0.6 m
  down_2 from fan.minus to right.minus, 0.6 m
}
state "both" { lamp, fan on }
"""


def renamed(text: str, **names: str) -> str:
    for old, new in names.items():
        text = re.sub(rf"(?<![\w.]){old}(?!\w)", new, text)
    return text


@pytest.mark.parametrize(
    "names",
    [
        {"lamp": "light"},
        {"left": "port", "right": "starboard"},
        {"up_1": "feed", "down_1": "back"},
        {
            "left": "port",
            "right": "starboard",
            "lamp": "light",
            "fan": "blower",
            "up_1": "a",
            "up_2": "b",
            "down_1": "c",
            "down_2": "d",
        },
        {"lamp": "fan", "fan": "lamp"},  # each is there on both sides: what they are is a change, not a name
    ],
)
def test_only_the_name_changed(model: Any, names: dict[str, str]) -> None:
    before = model(PAIR)
    if names == {"lamp": "fan", "fan": "lamp"}:
        after = model(renamed(renamed(PAIR, lamp="x", fan="lamp"), x="fan"))
        assert renamed_parts(before, after) == {}
        return
    after = model(renamed(PAIR, **names))
    assert renamed_parts(before, after) == names
    (*changes,) = changed_things(before, after, names_of(before, after))
    assert {(change.how, change.was, change.name) for change in changes} == {
        ("renamed", old, new) for old, new in names.items()
    }


def test_two_that_nothing_but_what_they_are_joined_to_tells_apart(model: Any) -> None:
    """Both loads are alike; the batteries that feed them are not."""
    before = model(PAIR)
    after = model(renamed(PAIR, lamp="second", fan="first"))
    assert renamed_parts(before, after) == {"lamp": "second", "fan": "first"}


def test_two_that_nothing_tells_apart_are_taken_by_name_and_consistently(model: Any) -> None:
    text = PAIR.replace("50 Ah", "100 Ah")
    names = {
        "left": "port",
        "right": "starboard",
        "lamp": "light",
        "fan": "blower",
        "up_1": "a",
        "up_2": "b",
        "down_1": "c",
        "down_2": "d",
    }
    before, after = model(text), model(renamed(text, **names))
    found = renamed_parts(before, after)
    assert set(found) == set(names)
    assert {change.how for change in changed_things(before, after, names_of(before, after))} == {"renamed"}


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("load lamp 5 A", "load light 6 A"),
        ("up_1 from left.plus to lamp.plus, 0.6 m", "feed from left.plus to lamp.plus, 0.7 m"),
    ],
)
def test_what_was_changed_too_is_another_thing(model: Any, old: str, new: str) -> None:
    before = model(PAIR)
    text = renamed(PAIR.replace(old, new), lamp="light") if "light" in new else PAIR.replace(old, new)
    after = model(text)
    assert renamed_parts(before, after) == {}
    hows = {change.how for change in changed_things(before, after, names_of(before, after))}
    assert {"added", "removed"} <= hows


def test_a_wire_that_was_moved_to_another_part_is_no_renamed_one(model: Any) -> None:
    """The wire and both fuses have new names; the wire began at the small fuse, and begins at the large one now."""
    text = 'rig "Two"\nbattery house { LFP, 4 cells, 100 Ah }\nload lamp 5 A\nfuse small 10 A\nfuse large 50 A\nwire out from small.load to lamp.plus { 6 AWG; 1 m }\n'
    after = renamed(text.replace("small.load", "large.load"), small="little", large="big", out="way").replace(
        "large.load", "big.load"
    )
    pairs = renamed_parts(model(text), model(after))
    assert "out" not in pairs
    assert pairs.get("small", "little") == "little"


def test_state_is_recognised_with_parts_that_are_called_otherwise(model: Any) -> None:
    before = model(PAIR)
    after = model(renamed(PAIR, lamp="light").replace('"both"', '"evening"'))
    assert renamed_states(before, after, {"lamp": "light"}) == {"both": "evening"}
    assert renamed_states(before, after, {}) == {}


def test_order_of_statements_and_names_does_not_matter(model: Any) -> None:
    before = model(PAIR)
    names = {"left": "zeta", "right": "alpha", "lamp": "mu", "fan": "beta", "up_1": "q", "down_1": "p"}
    lines = renamed(PAIR, **names).splitlines()
    wires = lines[6:10]
    for seed in range(6):
        random.Random(seed).shuffle(wires)
        assert renamed_parts(before, model("\n".join([*lines[:6], *wires, *lines[10:]]) + "\n")) == names


def test_units_are_not_a_change() -> None:
    one, two = Quantity(Volt(12.0), Volt(12.0), Volt(12.0), "V"), Quantity(Volt(12.0), Volt(12.0), Volt(12.0), "mV")
    assert normal(one) == normal(two)
    assert normal(one) != normal(Quantity(Volt(12.0), Volt(12.0), Volt(12.1), "V"))
    assert normal(Gauge.from_area(6.0)) == normal(Gauge.from_area(6.0))


def test_what_hangs_on_a_name_goes_with_it() -> None:
    called = renaming({"pack[1]": "box", "feed": "supply"})
    assert [called(name) for name in ("pack[1].bms.plus", "feed", "feeder.plus", "a.feed")] == [
        "box.bms.plus",
        "supply",
        "feeder.plus",
        "a.feed",
    ]
