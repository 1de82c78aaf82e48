"""Defaults for terminals: those of a narrower kind of part win over those of a wider one."""

from __future__ import annotations

from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.resolve import Loader, Resolved, resolve

TEXT = """rig "Defaults", revision 1
all terminals { 75 degC; takes 18 AWG to 8 AWG }
all terminals of fuses { takes 14 AWG to 2 AWG }
all terminals of breakers { takes 14 AWG to 4 AWG }
all terminals of fuse blocks { takes 18 AWG to 10 AWG }
battery house { LFP, 4 cells, 100 Ah }
fuse main 30 A
breaker branch 15 A
fuse block ways 60 A
wire feed from house.plus to main.line, 8 AWG, 0.1 m
wire out from branch.load to ways.feed, 10 AWG, 0.1 m
wire on from main.load to branch.line, 8 AWG, 0.1 m
"""


def test_terminals_of_a_narrower_kind_of_part_win() -> None:
    resolved = resolve("build.rig", Loader(MemoryFiles({"build.rig": TEXT})))
    assert isinstance(resolved, Resolved)
    assert [problem.message for problem in resolved.problems] == []
    thickest = {
        node: terminal.wire_range.range[1].text
        for node, terminal in resolved.build.terminals.items()
        if terminal.wire_range is not None
    }
    assert thickest["house.plus"] == "8 AWG"
    assert thickest["main.line"] == "2 AWG"
    assert thickest["branch.line"] == "4 AWG"
    assert thickest["ways.feed"] == "10 AWG"


def test_studs_of_a_bar_keep_what_is_said_of_them() -> None:
    text = 'rig "Bars", revision 1\nall terminals of buses { torque 5 Nm }\nbus bar { 100 A; terminals { M6 stud } }\nbus plain\ncase box { steel }\n'
    resolved = resolve("build.rig", Loader(MemoryFiles({"build.rig": text})))
    assert isinstance(resolved, Resolved)
    found = resolved.build.terminals
    assert (found["bar."].stud_size, found["bar."].torque is not None) == ("M6", True)
    assert (found["plain."].stud_size, found["plain."].torque is not None) == (None, True)
    assert "box." not in found
