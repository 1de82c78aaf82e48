"""A figure that follows another fact with nothing between them: said there, once, and the rest is read all the same."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest
from ohmwright.sizing.writing import edited

sys.path.insert(0, str(Path(__file__).parent))
from reading import build_of, problems_of

HEAD = 'rig "T", revision 1\nbattery b { LFP; 4 cells; 10 Ah }\nbus m 30 A\n'


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("wire x from b.plus to m 18 AWG, 2 m, black", "In wire x '18 AWG' follows 'm' with no comma between them."),
        ("wire x from b.plus to m 2 m, 18 AWG, black", "In wire x '2 m' follows 'm' with no comma between them."),
        ("fuse f blade 30 A", "In fuse f '30 A' follows 'blade' with no comma between them."),
        ("load l { drop matters 3 A }", "In load l '3 A' follows 'matters' with no semicolon between them."),
    ],
)
def test_said_where_the_sign_belongs_and_mended_by_it(text: str, message: str) -> None:
    (problem,) = [item for item in problems_of(HEAD + text) if item.rule == "unreadable-text"]
    assert problem.message == message
    assert problem.edits
    mended = build_of(edited(HEAD + text, problem.edits))
    read = {name for thing in (*mended.parts.values(), *(run.conductor for run in mended.runs)) for name in thing.facts}
    assert read >= ({"gauge", "length", "colour"} if "wire" in text else {"family"} if "fuse" in text else {"current"})


@pytest.mark.parametrize("text", ["load l { 3 A 5 A; drop matters }", "relay r { coil 12 V 2 W; 40 A }"])
def test_what_cannot_go_on_is_no_second_mistake(text: str) -> None:
    assert len(problems_of(HEAD + text)) == 1


def test_no_word_is_said_to_be_near_itself() -> None:
    for problem in problems_of(HEAD + "fuse f { 30 A; blade slow black }"):
        assert "near this one: black" not in problem.remedy
