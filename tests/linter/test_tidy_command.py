"""The command that tidies files: what it writes, what it leaves alone, and its exit codes."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest
from ohmwright.cli import main

UNTIDY = 'rig   "A"\nbus hub{3 A}\n'
TIDY = 'rig "A"\nbus hub { 3 A }\n'
LINKS = pytest.mark.skipif(sys.platform == "win32", reason="links need a right that a user may lack")


@pytest.fixture
def root(tmp_path: Path) -> Path:
    """A folder that is its own root."""
    (tmp_path / "ohmwright.toml").write_text("", encoding="utf-8")
    return tmp_path


def write(root: Path, name: str, text: str) -> Path:
    """Write a file with its line ends as given."""
    file = root / name
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_bytes(text.encode("utf-8"))
    return file


def test_a_file_is_tidied_in_place(root: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = write(root, "a.rig", UNTIDY)
    assert main(["tidy", str(file)]) == 0
    assert file.read_bytes().decode() == TIDY
    assert capsys.readouterr().out == "changed a.rig\n1 of 1 files changed.\n"
    assert main(["tidy", str(file)]) == 0
    assert capsys.readouterr().out == "0 of 1 files changed.\n"
    assert sorted(os.listdir(root)) == ["a.rig", "ohmwright.toml"]


def test_check_writes_nothing_and_exits_with_1(root: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = write(root, "a.rig", UNTIDY)
    assert main(["tidy", "--check", str(file)]) == 1
    assert file.read_bytes().decode() == UNTIDY
    assert capsys.readouterr().out == "would change a.rig\n1 of 1 files would change.\n"
    file.write_text(TIDY, encoding="utf-8")
    assert main(["tidy", "--check", str(file)]) == 0


def test_a_folder_is_tidied_and_what_cannot_be_read_is_left_alone(root: Path, capsys: pytest.CaptureFixture[str]) -> None:
    write(root, "a.rig", UNTIDY)
    wrong = write(root, "deep/b.rig", "bus   hub { 3 }\n")
    assert main(["tidy", str(root)]) == 2
    assert (root / "a.rig").read_text(encoding="utf-8") == TIDY
    assert wrong.read_text(encoding="utf-8") == "bus   hub { 3 }\n"
    assert "deep/b.rig:1:13: " in capsys.readouterr().err


@pytest.mark.parametrize("arguments", [[], ["no-such.rig"]])
def test_nothing_to_tidy_exits_with_2(arguments: list[str]) -> None:
    assert main(["tidy", *arguments]) == 2


def test_bytes_that_are_no_text_are_left_alone(root: Path) -> None:
    file = root / "a.rig"
    file.write_bytes(b"bus  hub \xff { 3 A }\n")
    assert main(["tidy", str(file)]) == 2
    assert file.read_bytes() == b"bus  hub \xff { 3 A }\n"


def test_line_ends_stay(root: Path) -> None:
    file = write(root, "a.rig", "\ufeff" + UNTIDY.replace("\n", "\r\n"))
    assert main(["tidy", str(file)]) == 0
    assert file.read_bytes().decode() == TIDY.replace("\n", "\r\n")


def test_terminals_of_library_parts_are_named(root: Path) -> None:
    write(root, "shelf.rig", "battery big { 60 Ah }\n")
    build = (
        'rig "A"\nparts from "shelf.rig"\nbattery house same as big\nbus hub { 3 A }\nwire w from house.+ to hub, 10 AWG, 1 m\n'
    )
    file = write(root, "a.rig", build)
    assert main(["tidy", str(file)]) == 0
    assert "house.plus" in file.read_text(encoding="utf-8")


def test_terminals_that_sit_on_others_are_named(root: Path) -> None:
    text = 'rig "A"\nrequire drop at one.+ at most 5 %\nbattery one { 60 Ah }\nbattery two { 60 Ah }\nfuse f { 3 A; in on two.+ }\none.+ on two.-\n'
    file = write(root, "a.rig", text)
    assert main(["tidy", str(file)]) == 0
    assert file.read_text(encoding="utf-8").endswith("on two.plus }\none.plus on two.minus\n")
    assert "require drop at one.plus at most 5 %" in file.read_text(encoding="utf-8")


def test_a_copy_that_is_adapted_is_left_alone_unless_it_is_named(root: Path, capsys: pytest.CaptureFixture[str]) -> None:
    base = write(root, "published/a.rig", UNTIDY)
    write(root, "mine.rig", 'rig "B"\nadapts "published/a.rig"\n')
    assert main(["tidy", str(root)]) == 0
    assert base.read_text(encoding="utf-8") == UNTIDY
    assert "left as it is published/a.rig: mine.rig adapts it" in capsys.readouterr().out
    assert main(["tidy", str(base)]) == 0
    assert base.read_text(encoding="utf-8") == TIDY


@LINKS
def test_a_link_that_leads_out_of_the_root_is_not_followed(root: Path, tmp_path_factory: pytest.TempPathFactory) -> None:
    outside = write(tmp_path_factory.mktemp("outside"), "b.rig", UNTIDY)
    (root / "a.rig").symlink_to(outside)
    assert main(["tidy", str(root / "a.rig")]) == 2
    assert outside.read_text(encoding="utf-8") == UNTIDY
    assert (root / "a.rig").is_symlink()


@LINKS
def test_a_link_inside_of_the_root_stays_one(root: Path) -> None:
    target = write(root, "real/b.rig", UNTIDY)
    target.chmod(0o640)
    (root / "a.rig").symlink_to(target)
    assert main(["tidy", str(root / "a.rig")]) == 0
    assert target.read_text(encoding="utf-8") == TIDY
    assert (root / "a.rig").is_symlink()
    assert target.stat().st_mode & 0o777 == 0o640


def test_a_file_that_changes_meanwhile_is_left_alone(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = write(root, "a.rig", UNTIDY)
    real = os.chmod

    def meddle(path: str, mode: int) -> None:
        file.write_text("# somebody else's\n", encoding="utf-8")
        real(path, mode)

    monkeypatch.setattr(os, "chmod", meddle)
    assert main(["tidy", str(file)]) == 2
    assert file.read_text(encoding="utf-8") == "# somebody else's\n"
    assert sorted(os.listdir(root)) == ["a.rig", "ohmwright.toml"]


def test_what_would_be_another_build_is_refused(
    root: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    import ohmwright.commands.tidy as tidy

    file = write(root, "a.rig", UNTIDY)
    monkeypatch.setattr(tidy, "_same_model", lambda one, other: False)
    assert main(["tidy", str(file)]) == 2
    assert file.read_text(encoding="utf-8") == UNTIDY
    assert "another build" in capsys.readouterr().err


def test_another_model_is_told_apart(root: Path) -> None:
    import ohmwright.commands.tidy as tidy
    from ohmwright_grammar.files import FolderFiles

    write(root, "a.rig", TIDY)
    one = tidy._model("a.rig", FolderFiles(root), {})
    assert tidy._same_model(one, tidy._model("a.rig", FolderFiles(root), {"a.rig": UNTIDY}))
    assert not tidy._same_model(one, tidy._model("a.rig", FolderFiles(root), {"a.rig": TIDY.replace("3 A", "4 A")}))
    assert not tidy._same_model(one, tidy._model("a.rig", FolderFiles(root), {"a.rig": TIDY + "wire w from a to hub\n"}))
