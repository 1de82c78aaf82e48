"""Which builds `inspect --changed` takes. The expectations are read from the files that the test writes: who names whom. No outside source."""

from __future__ import annotations

import io
import json
import os
import subprocess
import sys
from collections.abc import Callable, Mapping
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from ohmwright.commands.changes import like_an_option

BUILD = 'rig "Lamp", revision 1\nbasis us-small-craft\nload lamp 1 A\n'
READS = BUILD.replace("load lamp 1 A", 'parts from "{}"\nload lamp same as lamp')
LIBRARY = "load lamp 1 A\n"
FAULTY = BUILD.replace("1 A", "1 bolt")

Make = Callable[[Mapping[str, str]], Path]


@pytest.fixture
def tree(git: Any, sample_installed: Any) -> Make:
    """Write files below the current folder, tracked by git."""

    def make(texts: Mapping[str, str]) -> Path:
        git("init", "-q")
        for name, text in texts.items():
            place = Path(name)
            place.parent.mkdir(parents=True, exist_ok=True)
            place.write_text(text, encoding="utf-8")
        git("add", "--all")
        return Path.cwd()

    return make


@pytest.fixture
def git(command: Any) -> Callable[..., None]:
    def run(*arguments: str) -> None:
        subprocess.run(["git", *arguments], check=True, capture_output=True)

    return run


@pytest.fixture
def taken(command: Any) -> Callable[..., list[str]]:
    """Return the builds that are inspected when the named files changed, in order."""

    def run(*names: str) -> list[str]:
        ran = command("inspect", "--output", "json", "--today", "2026-01-01", "--changed", *names)
        assert ran.code in (0, 1, 2), ran.err
        return [build["path"] for build in json.loads(ran.out)["builds"]]

    return run


# who is touched ------------------------------------------------------------------------------------------------------


def test_changed_builds_and_libraries(tree: Make, taken: Any) -> None:
    tree({"a.rig": BUILD, "b.rig": BUILD, "stock.rig": LIBRARY})
    assert taken("a.rig") == ["a.rig"]
    assert taken("stock.rig") == ["stock.rig"]
    assert taken("b.rig", "stock.rig", "b.rig") == ["b.rig", "stock.rig"]


def test_builds_that_read_a_changed_file(tree: Make, taken: Any) -> None:
    tree(
        {
            "stock.rig": LIBRARY,
            "near/box.rig": READS.format("../stock.rig"),
            "near/windows.rig": READS.format("..\\\\stock.rig").replace("\\\\", "\\"),
            "near/other.rig": BUILD,
        }
    )
    assert taken("stock.rig") == ["near/box.rig", "near/windows.rig", "stock.rig"]


def test_through_libraries_and_adaptations(tree: Make, taken: Any) -> None:
    tree(
        {
            "raw.rig": LIBRARY,
            "stock.rig": 'parts from "raw.rig"\nload other 2 A\n',
            "box.rig": READS.format("stock.rig"),
            "mine.rig": 'adapts "box.rig" revision 1\n',
            "alone.rig": BUILD,
        }
    )
    assert taken("raw.rig") == ["box.rig", "mine.rig", "raw.rig"]  # stock.rig says nothing else than before
    assert taken("box.rig") == ["box.rig", "mine.rig"]
    assert taken("mine.rig") == ["mine.rig"]


def test_file_with_another_ending(tree: Make, taken: Any) -> None:
    tree({"stock.txt": LIBRARY, "box.rig": READS.format("stock.txt"), "notes.md": "nothing"})
    assert taken("stock.txt") == ["box.rig"]
    assert taken("notes.md") == []


def test_deleted_file(tree: Make, taken: Any, command: Any) -> None:
    tree({"box.rig": READS.format("parts/stock.rig")})
    assert taken("parts/stock.rig") == ["box.rig"]
    ran = command("inspect", "--changed", "parts/stock.rig")
    assert ran.code == 2
    assert "taken as deleted, since there is no such file: parts/stock.rig" in ran.err
    assert "There is no file 'parts/stock.rig'" in " ".join(ran.out.split())


def test_words_that_are_no_names_of_files(tree: Make, taken: Any) -> None:
    titled = BUILD.replace('"Lamp"', '"stock.rig"')
    tree({"stock.rig": LIBRARY, "titled.rig": titled, "remarked.rig": f'# parts from "stock.rig"\n{BUILD}'})
    assert taken("stock.rig") == ["stock.rig"]


def test_build_that_cannot_be_read_in_full(tree: Make, taken: Any) -> None:
    tree({"stock.rig": LIBRARY, "box.rig": READS.format("stock.rig").replace("parts from", "parts out of")})
    assert taken("stock.rig") == ["box.rig", "stock.rig"]


@pytest.mark.skipif(sys.platform == "win32", reason="links need rights there")
def test_library_behind_a_link(tree: Make, taken: Any, git: Any) -> None:
    folder = tree(
        {"shared/stock.rig": LIBRARY, "box.rig": READS.format("parts/link.rig"), "by.rig": READS.format("way/stock.rig")}
    )
    (folder / "parts").mkdir()
    (folder / "parts" / "link.rig").symlink_to("../shared/stock.rig")
    (folder / "way").symlink_to("shared")
    git("add", "--all")
    assert taken("shared/stock.rig") == ["box.rig", "by.rig", "shared/stock.rig"]


def test_names_with_blanks_and_letters_of_any_kind(tree: Make, taken: Any) -> None:
    tree(
        {
            "Ersatz teile ä.rig": LIBRARY,
            "Kühlbox 1.rig": READS.format("Ersatz teile ä.rig"),
            "-b.rig": READS.format("Ersatz teile ä.rig"),
        }
    )
    assert taken("Ersatz teile ä.rig") == ["-b.rig", "Ersatz teile ä.rig", "Kühlbox 1.rig"]
    assert taken("--", "-b.rig") == ["-b.rig"]
    assert taken("./-b.rig") == ["-b.rig"]


def test_decomposed_letters_name_the_same_file(tree: Make, taken: Any) -> None:
    """A system that takes both for one file hands out either (Unicode Standard Annex 15, canonical equivalence)."""
    tree({"box.rig": READS.format("tu\u0308r.rig"), "t\u00fcr.rig": LIBRARY})
    assert "box.rig" in taken("t\u00fcr.rig")


# what git tracks -----------------------------------------------------------------------------------------------------


def test_draft_that_is_not_tracked_is_not_taken(tree: Make, taken: Any) -> None:
    folder = tree({"stock.rig": LIBRARY, "box.rig": READS.format("stock.rig")})
    (folder / "draft.rig").write_text(READS.format("stock.rig").replace("lamp same", "bulb same"), encoding="utf-8")
    assert taken("stock.rig") == ["box.rig", "stock.rig"]
    assert taken("draft.rig") == ["draft.rig"]


def test_without_git_all_that_lie_there(tree: Make, taken: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = tree({"stock.rig": LIBRARY, "box.rig": READS.format("stock.rig"), ".hidden/box.rig": READS.format("../stock.rig")})
    (folder / "draft.rig").write_text(READS.format("stock.rig"), encoding="utf-8")
    monkeypatch.setenv("PATH", os.devnull)
    assert taken("stock.rig") == ["box.rig", "draft.rig", "stock.rig"]


def test_folder_stands_for_what_is_in_it(tree: Make, taken: Any) -> None:
    tree(
        {
            "sub/a.rig": BUILD,
            "sub/deep/b.rig": BUILD,
            "c.rig": BUILD,
            "d.rig": READS.format("sub/stock.rig"),
            "sub/stock.rig": LIBRARY,
        }
    )
    assert taken("sub") == ["sub/a.rig", "sub/deep/b.rig", "sub/stock.rig"]


# settings and baselines ----------------------------------------------------------------------------------------------


def test_settings_touch_what_they_hold_for(tree: Make, taken: Any) -> None:
    tree(
        {
            "ohmwright.toml": 'baseline = "known.json"\n',
            "known.json": '{"ohmwright": "0.1.0", "baseline": 1, "states": "declared", "entries": []}',
            "a.rig": BUILD,
            "stock.rig": LIBRARY,
            "own/ohmwright.toml": "",
            "own/b.rig": BUILD,
            "sub/c.rig": BUILD,
        }
    )
    assert taken("ohmwright.toml") == ["a.rig", "sub/c.rig"]
    assert taken("own/ohmwright.toml") == ["b.rig"]
    assert taken("known.json") == ["a.rig", "sub/c.rig"]
    assert taken("other.json") == []
    assert taken("sub/ohmwright.toml") == ["sub/c.rig"]  # it has gone: these now stand on the terms above
    assert taken("--settings", "none", "ohmwright.toml") == []
    assert taken("--settings", "ohmwright.toml", "ohmwright.toml") == ["a.rig", "own/b.rig", "sub/c.rig"]
    assert taken("--settings", "ohmwright.toml", "known.json") == ["a.rig", "own/b.rig", "sub/c.rig"]
    assert taken("--settings", "none", "--baseline", "known.json", "known.json") == ["a.rig", "own/b.rig", "sub/c.rig"]


def test_project_file_touches_only_with_a_table_of_ours(tree: Make, taken: Any) -> None:
    folder = tree({"pyproject.toml": "[project]\n", "a.rig": BUILD})
    assert taken("pyproject.toml") == []
    (folder / "pyproject.toml").write_text('[tool.ohmwright]\nbar = "note"\n', encoding="utf-8")
    assert taken("pyproject.toml") == ["a.rig"]


def test_library_of_a_folder_with_settings_read_from_above(tree: Make, taken: Any) -> None:
    tree({"box.rig": READS.format("sub/stock.rig"), "sub/ohmwright.toml": "", "sub/stock.rig": LIBRARY})
    assert sorted(taken("sub/stock.rig")) == ["box.rig", "stock.rig"]


def test_left_out_stays_left_out(tree: Make, taken: Any) -> None:
    text = '[[left-out]]\npath = "drafts"\nbecause = "not yet"\n'
    tree({"ohmwright.toml": text, "drafts/box.rig": READS.format("../stock.rig"), "stock.rig": LIBRARY})
    assert taken("stock.rig") == ["stock.rig"]


# how it ends ---------------------------------------------------------------------------------------------------------


def test_nothing_touched_is_clean(tree: Make, command: Any) -> None:
    tree({"notes.md": "x", "box.rig": FAULTY})
    assert command("inspect", "--changed", "notes.md").code == 0
    assert command("inspect", "--changed").code == 0
    assert command("inspect", "--changed", "box.rig").code == 2
    for name in ("sarif", "junit", "gitlab", "markdown", "github", "json", "text"):
        ran = command("inspect", "--output", name, "--changed")
        assert ran.code == 0, name
        assert ran.out, name


def test_settings_that_cannot_be_used_are_said(tree: Make, command: Any) -> None:
    tree({"ohmwright.toml": "bar = 3\n", "box.rig": BUILD})
    ran = command("inspect", "--changed", "notes.md")
    assert ran.code == 2
    assert "ohmwright.toml line 1" in ran.err


def test_name_that_cannot_be_used(tree: Make, command: Any) -> None:
    tree({"box.rig": BUILD})
    ran = command("inspect", "--changed", "a\0b.rig", "box.rig")
    assert ran.code == 2
    assert "cannot be used" in ran.err


# names from the standard input ---------------------------------------------------------------------------------------


def feed(monkeypatch: pytest.MonkeyPatch, data: bytes) -> None:
    monkeypatch.setattr(sys, "stdin", SimpleNamespace(buffer=io.BytesIO(data)))


def test_names_from_the_standard_input(tree: Make, taken: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    names = ["--settings=x.rig", "a b.rig", *([] if sys.platform == "win32" else ["new\nline.rig"])]
    tree(dict.fromkeys([*names, "other.rig"], BUILD))
    feed(monkeypatch, b"".join(name.encode() + b"\0" for name in reversed(names)))
    assert taken("-") == names
    feed(monkeypatch, b"")
    assert taken("-") == []


def test_names_without_a_zero_byte_are_refused(tree: Make, command: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    tree({"a.rig": FAULTY})
    feed(monkeypatch, b"a.rig\n")
    ran = command("inspect", "--changed", "-")
    assert ran.code == 2
    assert "git diff --name-only -z" in ran.err


# files named like options --------------------------------------------------------------------------------------------


def test_file_named_like_an_option_is_refused(tree: Make, command: Any) -> None:
    tree({"--settings=none.rig": FAULTY, "none.rig": ""})
    ran = command("inspect", "--changed", "--settings=none.rig")
    assert ran.code == 2
    assert "--settings=none.rig is the name of a file and reads as an option" in ran.err
    assert like_an_option(["inspect", "--settings=none.rig"])
    assert not like_an_option(["inspect", "--", "--settings=none.rig"])
    assert not like_an_option(["inspect", "--settings=other.rig"])
    Path("--changed").touch()
    assert not like_an_option(["inspect", "--changed"])  # an option that takes no value, whatever lies there
