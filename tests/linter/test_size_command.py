"""`size`: exit codes, what it prints, and that it changes nothing."""

from __future__ import annotations

from pathlib import Path
from typing import Any

BUILD = """rig "Bench", revision 1
basis us-small-craft
system 12 V
site { ambient 5 degC to 30 degC }
all wires { copper; 105 degC insulation; in free air }
all terminals { 105 degC }
battery house { LFP, 4 cells, 50 Ah; internal resistance 30 mohm; held down; hold-down rated 400 N; moves at most 5 mm }
fuse main { 25 A blade; breaks 1 kA at 32 V dc; 32 V; line on house.plus }
load lamp { 24 A; works on 8 V to 15 V }
wire feed from main.load to lamp.plus, 18 AWG, 0.4 m, red
wire back from lamp.minus to house.minus, 12 AWG, 0.4 m, black
"""


def test_findings_that_a_size_mends_are_told_with_the_line(command: Any) -> None:
    Path("box.rig").write_text(BUILD, encoding="utf-8")
    told = command("size", "box.rig", "--today", "2026-01-01")
    assert told.code == 1
    assert "Size      feed 16 AWG\n    Write     in line 10 '16 AWG'" in told.out
    assert "No file was\nchanged." in told.out or "No file was changed." in told.out.replace("\n", " ")
    assert Path("box.rig").read_text(encoding="utf-8") == BUILD


def test_nothing_to_mend(command: Any) -> None:
    Path("box.rig").write_text(BUILD.replace("24 A;", "9 A;").replace("18 AWG", "12 AWG"), encoding="utf-8")
    told = command("size", "box.rig")
    assert "undersized-wire" not in told.out
    assert "0 findings would be mended" in told.out


def test_what_cannot_be_read_is_no_clean_run(command: Any) -> None:
    Path("box.rig").write_text(BUILD + "lamp shade {\n", encoding="utf-8")
    told = command("size", "box.rig")
    assert (told.code, told.out) == (2, "")
    assert "box.rig cannot be read in full: inspect says what is wrong with it" in told.err


def test_library_is_no_build(command: Any) -> None:
    Path("shelf.rig").write_text("fuse large { 60 A blade }\n", encoding="utf-8")
    assert command("size", "shelf.rig").code == 0


def test_names_that_are_not_known(command: Any) -> None:
    Path("box.rig").write_text(BUILD, encoding="utf-8")
    assert command("size").code == 2
    assert command("size", "bax.rig").code == 2
    assert command("size", "box.rig", "--basis", "us-smal-craft").code == 2
