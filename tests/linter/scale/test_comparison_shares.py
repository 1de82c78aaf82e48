"""Shares of a comparison, and their joining: the same bytes as the comparison that was not shared."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from ohmwright.commands.scale import comparison_parts

from .conftest import lamp

Compare = Callable[..., Any]


@pytest.fixture
def compare(builds: Path, tmp_path: Path, command: Callable[..., Any], monkeypatch: pytest.MonkeyPatch) -> Compare:
    """Compare the folder before and after a change of five builds, one of them new, one gone, one with a waiver, one broken."""
    monkeypatch.chdir(tmp_path)
    shutil.copytree(builds, tmp_path / "old")
    (builds / "lamp1.rig").write_text(lamp(80), encoding="utf-8")
    (builds / "lamp2.rig").write_text(lamp(2, 'waive voltage-drop on lamp because "seen" until 2026-03-01\n'), encoding="utf-8")
    (builds / "lamp3.rig").unlink()
    (builds / "new.rig").write_text(lamp(33), encoding="utf-8")
    (builds / "inner" / "lamp9.rig").write_text(lamp(9).replace("0.6 m", "6 m"), encoding="utf-8")
    return lambda *more: command("compare", *more)


def parts_of(compare: Compare, folder: Path, count: int) -> list[str]:
    files = [str(folder / f"part{number}") for number in range(1, count + 1)]
    for number, file in enumerate(files, 1):
        compare("old", "builds", "--today", "2026-01-01", "--share", f"{number}/{count}", "--part", file)
    return files


@pytest.mark.parametrize("count", [1, 2, 7])
def test_joined_shares_say_the_same(compare: Compare, tmp_path: Path, count: int) -> None:
    files = parts_of(compare, tmp_path, count)
    for format in ("text", "json", "markdown"):
        for more in ((), ("--bar-judgement",), ("--bar", "note")):
            wanted = compare("old", "builds", "--today", "2026-01-01", "--output", format, *more)
            found = compare("--join", *reversed(files), "--output", format, *more)
            assert (found.code, found.err) == (wanted.code, wanted.err)
            assert found.out == wanted.out
    assert "lamp80" not in wanted.out and "waiver" in wanted.out


def test_each_share_inspects_its_own(compare: Compare, tmp_path: Path) -> None:
    told = [
        compare("old", "builds", "--today", "2026-01-01", "--share", f"{number}/2", "--output", "json").out for number in (1, 2)
    ]
    whole = compare("old", "builds", "--today", "2026-01-01", "--output", "json").out
    assert all(len(text) < len(whole) for text in told)


def test_parts_that_do_not_belong_together(compare: Compare, tmp_path: Path) -> None:
    one, two = parts_of(compare, tmp_path, 2)
    assert "part 2 of 2 is missing" in compare("--join", one).err
    assert "stands alone" in compare("old", "builds", "--join", one).err
    beside = compare("--join", one, two, "--share", "1/2", "--part", str(tmp_path / "third"))
    assert (beside.code, beside.out) == (2, "")
    assert "leave out --share, --part" in beside.err
    assert not (tmp_path / "third").exists()
    text = Path(two).read_text(encoding="ascii")
    for damaged in ("", text[:-9], text.replace("lamp", "lump"), "[" * 90_000):
        Path(two).write_text(damaged, encoding="ascii")
        found = compare("--join", one, two)
        assert (found.code, found.out) == (2, "")
        assert "is no part of a comparison, or it is damaged" in found.err
    compare("old", "builds", "--today", "2026-01-02", "--share", "2/2", "--part", two)
    assert "are not of one comparison" in compare("--join", one, two).err


def test_the_bar_may_be_said_when_shares_are_joined(compare: Compare, builds: Path, tmp_path: Path) -> None:
    for folder in (builds, tmp_path / "old"):
        for path in folder.rglob("*.rig"):
            if path.name != "lamp1.rig":
                path.unlink()
        (folder / "inner" / "ohmwright.toml").unlink()
        (folder / "lamp1.rig").write_text(lamp(1), encoding="utf-8")
    (builds / "lamp1.rig").write_text(
        lamp(1).replace("internal resistance 4 mohm", "internal resistance 4 mohm; own drain 2 A"), encoding="utf-8"
    )
    files = parts_of(compare, tmp_path, 2)
    codes = []
    for bar in ("error", "warning", "note"):
        codes.append(compare("--join", *files, "--bar", bar).code)
        assert codes[-1] == compare("old", "builds", "--today", "2026-01-01", "--bar", bar).code
    assert len(set(codes)) > 1


def test_what_a_pack_says_in_a_form_that_cannot_be_written_is_no_part(
    compare: Compare, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def unwritable(value: Any, by_name: bool = False) -> str:
        raise comparison_parts.CodingError("a value of the kind Odd has no place in a result")

    monkeypatch.setattr(comparison_parts, "written", unwritable)
    found = compare("old", "builds", "--today", "2026-01-01", "--part", str(tmp_path / "part"))
    assert found.code == 2
    assert "cannot be written: a value of the kind Odd" in found.err
    assert not (tmp_path / "part").exists()
