"""Rule dead-load: what a declared state names as on, on direct current and on mains, and what stands in the way."""

from __future__ import annotations

from datetime import date

import pytest
from ohmwright.inspecting import InspectOptions, inspect_files
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.resolve import Loader
from ohmwright_rules import PACK

BOX = """rig "Cabin", revision 1
battery house { LFP, 4 cells, 100 Ah; internal resistance 5 mohm }
switch isolator 40 A
connector out with tail { 15 A; pins 1, 2 }
load lamp 2 A
load fan 1 A
wires 14 AWG, 1 m {
  a from house.plus to isolator.line
  b from isolator.load to lamp.plus
  c from lamp.minus to house.minus
  d from isolator.load to out.1
  e from out.2 to house.minus
  f from tail.1 to fan.plus
  g from fan.minus to tail.2
}
"""


def state(words: str, name: str = "evening") -> str:
    return f'state "{name}" {{ {words} }}\n'


@pytest.mark.parametrize(
    ("words", "finding"),
    [
        ("isolator closed; lamp on", ""),
        ("lamp on", "lamp: state 'evening' says that it is on, but nothing feeds it there: isolator is open."),
        ("isolator open; lamp on at 1 A", "lamp: state 'evening' says that it is on, but nothing feeds it there: isolator is open."),
        ("isolator closed; tail apart; fan on", "fan: state 'evening' says that it is on, but nothing feeds it there: out with tail is apart."),
        ("tail apart; fan on", "fan: state 'evening' says that it is on, but nothing feeds it there: out with tail is apart and isolator is open."),
        ("isolator closed; everything else on; tail apart", ""),  # fan is not named
        ("lamp off", ""),
    ],
)  # fmt: skip
def test_what_a_state_says(said, words: str, finding: str) -> None:  # type: ignore[no-untyped-def]
    found = said(BOX + state(words), "dead_load")
    assert [item.message for item in found.findings] == ([finding] if finding else [])
    if finding:
        assert found.grades == [(finding.split(":")[0], "unfed", "warning")]
        assert found.findings[0].span.line == BOX.count("\n") + 1
        assert found.findings[0].remedy.endswith(f"or say in that state that {finding.split(':')[0]} is off.")


def test_all_states_are_listed_and_the_fed_one_is_not(said) -> None:  # type: ignore[no-untyped-def]
    text = BOX + state("lamp on", "one") + state("isolator closed; lamp on", "two") + state("lamp on; house at 20 %", "three")
    finding = said(text, "dead_load").finding("lamp")
    assert [item.state for item in finding.states] == ["one", "three"]
    assert finding.remedy == "Close isolator there, or say in that state that lamp is off."


def test_what_passes_and_what_no_state_names(said) -> None:  # type: ignore[no-untyped-def]
    found = said(BOX + state("isolator closed; lamp on"), "dead_load")
    assert found.passed("lamp").grade == "unfed"
    assert {item.condition: item.count for item in found.idle} == {"no declared state says that it is on": 1}
    assert not said(BOX.replace("load fan 1 A", "load fan { 1 A; always on }") + state("lamp off"), "dead_load").findings


@pytest.mark.parametrize("failure", ["house failed", "link blown", "bms of house open"])
def test_a_failure_that_is_said_is_no_slip(said, failure: str) -> None:  # type: ignore[no-untyped-def]
    text = BOX.replace("a from house.plus", "a from link.load").replace(
        "switch isolator", "fuse link { 40 A; line on house.plus }\nswitch isolator"
    )
    found = said(text + state(f"isolator closed; lamp on; {failure}"), "dead_load")
    assert not found.findings
    assert "a state in which something has failed" in [item.condition for item in found.idle]


def test_a_battery_that_is_not_there_is_no_open_switch(said) -> None:  # type: ignore[no-untyped-def]
    text = (
        BOX.replace("a from house.plus", "a from roof.plus")
        .replace("house.minus", "roof.minus")
        .replace(
            "battery house { LFP, 4 cells, 100 Ah; internal resistance 5 mohm }",
            "array roof { Voc 22 V; Vmp 18 V; Isc 6 A; Imp 5.5 A }",
        )
    )
    finding = said(text + state("isolator closed; lamp on"), "dead_load").finding("lamp")
    assert finding.message == "lamp: state 'evening' says that it is on, but nothing feeds it there."
    assert finding.remedy == "Say in that state that lamp is off, or join it to a source that is on."
    assert not said(text + state("isolator closed; lamp on; sun 100 %"), "dead_load").findings


def test_a_selector_in_another_position(said) -> None:  # type: ignore[no-untyped-def]
    text = BOX.replace(
        "switch isolator 40 A", 'selector isolator { 40 A; position "rest" joins spare; position "work" joins line }'
    )
    text = text.replace("to isolator.line", "to isolator.line").replace("isolator.load", "isolator.common")
    finding = said(text + state('isolator at "rest"; lamp on'), "dead_load").finding("lamp")
    assert finding.message.endswith("nothing feeds it there: isolator is not at work.")
    assert finding.remedy.startswith("Put isolator at work there, or say")


def test_a_connector_without_a_mate_may_feed_it(said) -> None:  # type: ignore[no-untyped-def]
    text = BOX.replace(
        "connector out with tail { 15 A; pins 1, 2 }", "connector out { pins 1, 2 }\nconnector tail { pins 1, 2 }"
    )
    found = said(text + state("fan on"), "dead_load")
    assert not found.findings
    assert "goes on outside, through a connector that has no mate here" in [item.condition for item in found.idle]


MAINS = """rig "Mill", revision 1
battery house { LFP, 4 cells, 100 Ah; internal resistance 5 mohm }
switch isolator 80 A
inverter mill { 300 W; idle 8 W; efficiency 90 %; 230 V AC }
AC load saw 200 W
wires 6 AWG, 1 m {
  a from house.plus to isolator.line
  b from isolator.load to mill.plus
  c from mill.minus to house.minus
}
wire live from mill.L to saw.L { 14 AWG; 2 m }
wire neutral from saw.N to mill.N { 14 AWG; 2 m }
"""


@pytest.mark.parametrize(
    ("words", "messages"),
    [
        ("isolator closed; saw on", []),
        ("isolator closed; mill on", []),
        ("saw on", ["saw: state 'evening' says that it is on, but nothing feeds it there: mill, on which it hangs, has no feed itself."]),
        ("isolator closed; mill off; saw on", ["saw: state 'evening' says that it is on, but nothing feeds it there: mill, on which it hangs, is off."]),
        ("mill on", ["mill: state 'evening' says that it is on, but nothing feeds it there: isolator is open."]),
        ("isolator open", []),  # an inverter of which nothing is said runs where it is fed
    ],
)  # fmt: skip
def test_mains(said, words: str, messages: list[str]) -> None:  # type: ignore[no-untyped-def]
    assert [item.message for item in said(MAINS + state(words), "dead_load").findings] == messages


def test_a_converter(said) -> None:  # type: ignore[no-untyped-def]
    text = BOX + (
        "converter step { output 24 V; efficiency 90 %; input 9 V to 15 V }\nload radio 1 A\nwires 14 AWG, 1 m {\n  h from isolator.load to step.in_plus\n"
        "  i from step.in_minus to house.minus\n  j from step.out_plus to radio.plus\n  k from radio.minus to step.out_minus\n}\n"
    )
    assert said(text + state("step on; radio on"), "dead_load").grades == [
        ("radio", "unfed", "warning"),
        ("step", "unfed", "warning"),
    ]
    assert said(text + state("isolator closed; step off; radio on"), "dead_load").grades == [("radio", "unfed", "warning")]
    assert not said(text + state("isolator closed; radio on"), "dead_load").findings


def test_what_no_state_could_feed_is_told_once() -> None:
    text = BOX.replace("  g from fan.minus to tail.2\n", "") + state("isolator closed; fan on")
    options = InspectOptions(today=date(2026, 1, 1), only=("open-terminal", "floating-island", "dead-load"))
    (build,) = inspect_files(["box.rig"], Loader(MemoryFiles({"box.rig": text})), options, (PACK,)).builds
    assert [item.rule.id for item in build.findings] == ["open-terminal"]
    assert sorted(item.rule.id for item in build.yielded) == ["dead-load", "floating-island"]
