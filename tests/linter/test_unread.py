"""Where a statement could not be read, what it may hold is not found to be absent (design: missing data never passes, and a cause is told once)."""

from __future__ import annotations

from datetime import date

import pytest
from ohmwright.inspecting import InspectOptions, inspect_files
from ohmwright.results import BuildResult
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.resolve import Loader
from ohmwright_rules import PACK

BOX = """rig "Boat", revision 1
basis us-small-craft
battery house { LFP, 4 cells, 100 Ah; internal resistance 5 mohm }
fuse main { 40 A; line on house.plus }
bus hall 100 A
load lamp 2 A
load fan { 2 A }
wire in1 from main.load to hall { 10 AWG; 1 m }
wire out from hall to lamp.plus { 14 AWG; 2 m }
wire f1 from hall to fan.plus { 14 AWG; 1 m }
wire f2 from fan.minus to house.minus { 14 AWG; 1 m }
wire back from lamp.minus to house.minus { 14 AWG; 2 m }
"""
RULES = ("open-terminal", "floating-island", "missing-length", "far-fuse")


def inspect(text: str, **files: str) -> BuildResult:
    loader = Loader(MemoryFiles({"box.rig": text, **{f"{name}.rig": words for name, words in files.items()}}))
    (build, *_) = inspect_files(["box.rig"], loader, InspectOptions(date(2026, 1, 1), only=RULES), (PACK,)).builds
    return build


def told(build: BuildResult) -> set[tuple[str, str]]:
    return {(item.rule.id, item.finding.subject[0]) for item in build.findings if item.rule.family != "text"}


def unread(build: BuildResult) -> set[tuple[str, str, str]]:
    return {
        (item.rule.id, item.outcome.subject[0], item.outcome.missing.partition("(")[2].rstrip(")"))
        for item in build.not_checked
        if item.outcome.missing.startswith("a statement that could not be read")
    }


def test_whole_box_says_nothing_of_the_kind() -> None:
    build = inspect(BOX)
    assert (told(build), unread(build), build.partial) == (set(), set(), False)


@pytest.mark.parametrize(
    ("old", "new", "missing"),
    [
        (
            "line on house.plus",
            "line on hose.plus",  # the misspelt name, and the one that is near it
            {("open-terminal", "main", "line 4"), ("open-terminal", "house", "line 4"), ("floating-island", "house", "line 4"),
             ("floating-island", "lamp", "line 4"), ("floating-island", "fan", "line 4")},
        ),
        ("14 AWG; 2 m }\nwire f1", "14 AWG; 2 metrs }\nwire f1", {("missing-length", "out", "line 9")}),
        (
            "wire f2 from",
            "wire f2 form",
            {("open-terminal", "fan", "line 11"), ("floating-island", "fan", "line 11")},
        ),
        (
            "wire back from lamp.minus to house.minus",
            "wyre back from lamp.minus to house.minus",
            {("open-terminal", "lamp", "line 12"), ("floating-island", "lamp", "line 12")},
        ),
    ],
)  # fmt: skip
def test_what_touches_an_unread_statement_is_not_checked(old: str, new: str, missing: set[tuple[str, str, str]]) -> None:
    assert old in BOX
    build = inspect(BOX.replace(old, new))
    assert told(build) == set()
    assert unread(build) == missing
    assert build.partial


def test_what_does_not_touch_it_is_found_all_the_same() -> None:
    text = BOX.replace("wire f2 form", "wire f2 from").replace("wire back from", "wire back form") + "load horn 1 A\n"
    text = text.replace("wire f2 from fan.minus to house.minus { 14 AWG; 1 m }\n", "").replace(
        "fan.plus { 14 AWG; 1 m }", "fan.plus { 14 AWG }"
    )
    build = inspect(text)
    assert told(build) == {("open-terminal", "horn"), ("open-terminal", "fan"), ("missing-length", "f1")}
    assert {(rule, subject) for rule, subject, _ in unread(build)} == {
        ("open-terminal", "lamp"),
        ("open-terminal", "house"),
        ("floating-island", "lamp"),
        ("floating-island", "house"),
    }


def test_a_missing_fuse_is_found_all_the_same() -> None:
    """What protects does not wait for the rest of the text: a wire with both ends in the circuit has no fuse, whatever else stands there."""
    text = BOX.replace("wire in1 from main.load to hall", "wire in1 form main.load to hall")
    assert ("far-fuse", "extra") in told(inspect(text + "wire extra from house.plus to hall { 10 AWG; 1 m }\n"))


def test_a_block_over_several_lines_belongs_to_its_statement() -> None:
    text = BOX.replace(
        "wire back from lamp.minus to house.minus { 14 AWG; 2 m }", "wyre back {\n  from lamp.minus\n  to house.minus\n}"
    )
    assert told(inspect(text)) == set()
    assert {subject for _, subject, _ in unread(inspect(text))} == {"lamp"}


def test_things_of_an_assembly_are_named_there_without_their_place() -> None:
    text = (
        BOX
        + 'parts from "more.rig"\nplace kit of boxed\nwire k1 from hall to kit.feed { 14 AWG; 1 m }\nwire k2 from kit.back to house.minus { 14 AWG; 1 m }\n'
    )
    more = (
        "assembly boxed {\n  port feed at bell.plus\n  port back at bell.minus\n  load bell 1 A\n  load drum 1 A\n"
        "  wire d1 from bell.plus to drum.plus { 14 AWG; 1 m }\n  wire d2 form bell.minus to drum.minus { 14 AWG; 1 m }\n}\n"
    )
    build = inspect(text, more=more)
    assert told(build) == set()
    assert {(rule, subject) for rule, subject, _ in unread(build)} >= {
        ("open-terminal", "kit.drum"),
        ("floating-island", "kit.drum"),
    }
    assert {subject for _, subject, _ in unread(build)}.isdisjoint({"lamp", "fan", "house", "main"})
