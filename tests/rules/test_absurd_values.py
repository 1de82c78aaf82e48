"""Absurd values in the builds of every rule's page: zeros, specks, giants, air hotter than any insulation. A rule finds, passes or asks; it never raises."""

from __future__ import annotations

import random
import re
from datetime import date
from importlib import import_module
from pathlib import Path

import pytest
from ohmwright.inspecting import InspectOptions, inspect_files
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.resolve import Loader
from ohmwright_rules import MODULES, PACK

PAGES = Path(import_module("ohmwright_rules").__file__ or "").parent
BLOCK = re.compile(r"^```rig *(?:passes|fails)(?: +reached)?\n(.*?)^```", re.MULTILINE | re.DOTALL)
NUMBER = re.compile(r"(?<![\w.])-?\d+(?:\.\d+)?(?= ?(?:%|[A-Za-z]))")
ABSURD = ("0", "0.000001", "1", "1000000", "-5", "60", "200", "0.5")
AIR = ("60 degC to 75 degC", "100 degC to 300 degC", "-200 degC to -100 degC", "25 degC to 90 degC", "60 degC to 60 degC")
BASES = ("", "us-small-craft", "us-premises", "iec")


def absurd(text: str, dice: random.Random) -> str:
    """Return a build with some of its numbers replaced, and often with air that is too hot, or with nothing but zero lengths."""
    share = dice.choice((0.03, 0.1, 0.3))
    lines = text.split("\n")
    changed = "\n".join(
        [
            lines[0],
            *(NUMBER.sub(lambda found: dice.choice(ABSURD) if dice.random() < share else found[0], line) for line in lines[1:]),
        ]
    )
    kind = dice.random()
    if kind < 0.4:
        changed = re.sub(r"ambient [^;}]*", f"ambient {dice.choice(AIR)} ", changed)
        if "site" not in changed:
            changed += f"\nsite {{ ambient {dice.choice(AIR)}; record low -30 degC }}\n"
        if kind < 0.1:
            changed = re.sub(r"\d+ degC insulation", f"{dice.choice((20, 30, 60, 200))} degC insulation", changed)
    elif kind < 0.6:
        changed = re.sub(r"(?<=[ ,{;])\d+(?:\.\d+)? m(?=[ ;},\n])", "0 m", changed)
    return changed


@pytest.mark.parametrize("name", MODULES)
def test_nothing_raises(name: str) -> None:
    page = (PAGES / f"{name}.md").read_text(encoding="utf-8")
    blocks = BLOCK.findall(page)
    assert blocks
    dice = random.Random(name)
    for number in range(8):
        text = absurd(blocks[number % len(blocks)], dice)
        options = InspectOptions(today=date(2026, 1, 1), basis=dice.choice(BASES), reached=number == 0, assumed=True)
        result = inspect_files(["box.rig"], Loader(MemoryFiles({"box.rig": text})), options, (PACK,))
        failed = [error.message for error in result.errors if error.rule]
        assert not failed, f"{failed}\n{text}"


BUILD = """rig "Everything at once", revision 1
basis us-small-craft
system 12 V
site { ambient 20 degC to 40 degC; record low -20 degC }
all wires { copper; 60 degC insulation; in free air; 14 AWG; 1 m }
battery house { LFP, 4 cells, 60 Ah; self-discharge 3 %/month; internal resistance 5 mohm; bms { own drain 3 mA } }
fuse main { 20 A bolt-down; breaks 5 kA at 32 V dc; line on house.plus }
controller sun { MPPT; 20 A; absorption 14.2 V; load output at most 20 A }
inverter mill { 300 W; peak 600 W for 1 s; idle 8 W; cut-off 10.5 V; efficiency 90 %; 230 V AC }
load lamp 4 A
wire a from main.load to sun.batt_plus
wire b from sun.batt_minus to house.minus
wire c from sun.load_plus to mill.plus
wire d from mill.minus to sun.load_minus
cable lead { flexible cord; 16 AWG; 15 m; 60 degC insulation; coiled; reel marked 660 W wound; reel marked 1760 W unwound
  core out from main.load to lamp.plus
  core back from lamp.minus to house.minus
}
procedure { store from 80 %; store down to 20 % }
require on the shelf for 6 months
"""


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("", ""),
        ("60 Ah", "0 Ah"),  # an inverter that idles on an empty bank
        ("efficiency 90 %", "efficiency 0 %"),
        ("1760 W unwound", "0 W unwound"),
        ("store from 80 %; store down to 20 %", "store from 20 %; store down to 20 %"),
        ("self-discharge 3 %/month", "self-discharge 0 %/month"),
        ("20 degC to 40 degC", "60 degC to 100 degC"),
    ],
)
def test_what_could_divide_by_nothing(old: str, new: str) -> None:
    assert old in BUILD
    files = MemoryFiles({"box.rig": BUILD.replace(old, new)})
    result = inspect_files(["box.rig"], Loader(files), InspectOptions(today=date(2026, 1, 1)), (PACK,))
    assert not [item.finding.message for item in result.builds[0].findings if item.rule.family == "text" and not new]
    assert not result.errors
