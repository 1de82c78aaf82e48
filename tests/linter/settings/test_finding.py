"""Which file of settings holds for a build: found upwards, never above the root of the repository, or named in place of all."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import pytest
from ohmwright.paths import Roots, gather

TABLE = '[tool.ohmwright]\nbar = "warning"\n'


@pytest.fixture
def tree(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, kit: Any) -> Path:
    """outer/ohmwright.toml above a repository outer/repo with a build in cabin/deep."""
    repo = tmp_path / "outer" / "repo"
    (repo / "cabin" / "deep").mkdir(parents=True)
    (repo / ".git").mkdir()
    (repo / "cabin" / "deep" / "box.rig").write_text(kit.bench, encoding="utf-8")
    (tmp_path / "outer" / "ohmwright.toml").write_text('bar = "note"\n', encoding="utf-8")
    monkeypatch.chdir(repo)
    return repo


def root_and_mark(folder: Path) -> tuple[str, str]:
    found = Roots().of(folder)
    assert found is not None
    return found[0].name, found[1]


def test_never_above_the_root_of_the_repository(tree: Path) -> None:
    assert root_and_mark(tree / "cabin" / "deep") == ("repo", "")
    (tree / ".git").rmdir()
    assert root_and_mark(tree / "cabin" / "deep") == ("outer", "ohmwright.toml")


def test_git_may_be_a_file(tree: Path) -> None:
    """In a worktree and in a submodule it is one (gitrepository-layout(5), read)."""
    (tree / ".git").rmdir()
    (tree / ".git").write_text("gitdir: ../elsewhere\n", encoding="utf-8")
    assert root_and_mark(tree / "cabin" / "deep") == ("repo", "")


@pytest.mark.parametrize("folder", [".", "cabin", "cabin/deep"])
def test_nearest_folder_upwards(tree: Path, folder: str) -> None:
    (tree / folder / "ohmwright.toml").write_text("", encoding="utf-8")
    assert root_and_mark(tree / "cabin" / "deep") == ((tree / folder).resolve().name, "ohmwright.toml")


@pytest.mark.parametrize(
    ("text", "counts"),
    [
        (TABLE, True),
        ("[tool]\nohmwright = {bar = 'note'}\n", True),
        ("tool = {ohmwright = {}}\n", True),
        ("tool.ohmwright.bar = 'note'\n", True),
        ("[ tool . 'ohmwright' ]\n", True),
        ("[tool.ohmwright.output]\nformat = 'json'\n", True),
        ("[tool.ohmwright]\nwrong =\n", True),  # meant for us, and broken: told
        ("[tool.other]\nx = 1\n", False),
        ("[project]\nname = 'ohmwright'\n[tool]\nx = 1\n", False),
        ("[project]\ndependencies = ['ohmwright']\n", False),
        ("# tool.ohmwright\n", False),
        ("[tool]\nbroken =\n[project.scripts]\nohmwright = 'x'\n", False),  # broken, but not for us
        ("\x00\xff", False),
    ],
)
def test_pyproject_counts_where_it_has_our_table(tree: Path, text: str, counts: bool) -> None:
    (tree / "cabin" / "pyproject.toml").write_text(text, encoding="utf-8")
    expected = ("cabin", "pyproject.toml") if counts else ("repo", "")
    assert root_and_mark(tree / "cabin" / "deep") == expected


def test_of_two_in_one_folder_our_own_counts_and_the_nearer_one_else(tree: Path) -> None:
    (tree / "pyproject.toml").write_text(TABLE, encoding="utf-8")
    (tree / "ohmwright.toml").write_text("", encoding="utf-8")
    assert root_and_mark(tree / "cabin" / "deep") == ("repo", "ohmwright.toml")
    (tree / "cabin" / "pyproject.toml").write_text(TABLE, encoding="utf-8")
    assert root_and_mark(tree / "cabin" / "deep") == ("cabin", "pyproject.toml")


def test_both_files_say_which_counts(tree: Path, command: Any, sample_installed: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tree)
    Path("pyproject.toml").write_text('[tool.ohmwright]\nbar = "note"\n', encoding="utf-8")
    Path("ohmwright.toml").write_text('bar = "warning"\n', encoding="utf-8")
    words = "pyproject.toml has settings too"
    assert f"Settings: ohmwright.toml (bar warning); {words}" in command("inspect", "cabin").out
    ran = command("inspect", "--show-settings")
    assert words in ran.out
    assert "bar              warning                   ohmwright.toml line 1" in ran.out
    Path("ohmwright.toml").unlink()
    ran = command("inspect", "--show-settings")
    assert "bar              note                      pyproject.toml line 2" in ran.out


def test_settings_named_or_none_make_the_repository_the_root(tree: Path) -> None:
    (tree / "cabin" / "ohmwright.toml").write_text("", encoding="utf-8")
    (group,), _ = gather(["cabin"])
    assert (group.root.name, group.paths, group.mark) == ("cabin", ("deep/box.rig",), "ohmwright.toml")
    (group,), _ = gather(["cabin"], nearest=False)
    assert (group.root.name, group.paths, group.mark) == ("repo", ("cabin/deep/box.rig",), "")


def test_several_roots_each_with_its_own_settings(
    tree: Path, command: Any, kit: Any, sample_installed: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The bench with 18 A is a warning: it counts below the root whose bar is there, and nowhere else."""
    monkeypatch.chdir(tree)
    text = kit.bench.replace("25 A", "18 A")
    for name in ("one", "two"):
        Path(name).mkdir()
        Path(name, "box.rig").write_text(text, encoding="utf-8")
    Path("one/ohmwright.toml").write_text('bar = "error"\n', encoding="utf-8")
    Path("two/ohmwright.toml").write_text('bar = "warning"\n', encoding="utf-8")
    assert command("inspect", "one").code == 0
    assert command("inspect", "two").code == 1
    ran = command("inspect", "one", "two")
    assert ran.code == 1
    assert ran.out.count("Settings: ohmwright.toml") == 2


# files that cannot be used ------------------------------------------------------------------------------------------


def test_link_inside_of_the_repository_is_followed(tree: Path, command: Any, sample_installed: Any, monkeypatch: Any) -> None:
    monkeypatch.chdir(tree)
    Path("shared.toml").write_text('bar = "note"\n', encoding="utf-8")
    Path("cabin/ohmwright.toml").symlink_to("../shared.toml")
    assert "bar note" in command("inspect", "cabin").out


@pytest.mark.parametrize("target", ["../../secret.toml", "/etc/passwd", "/dev/zero", "/dev/stdin"])
def test_link_out_of_the_repository_is_refused(
    tree: Path, command: Any, sample_installed: Any, monkeypatch: Any, target: str
) -> None:
    monkeypatch.chdir(tree)
    (tree.parent / "secret.toml").write_text("password = 1\n", encoding="utf-8")
    Path("cabin/ohmwright.toml").symlink_to(target)
    ran = command("inspect", "cabin")
    assert (ran.code, ran.out) == (2, "")
    assert "cabin/ohmwright.toml line 1 column 1:" in ran.err
    assert "leads out of the folder" in ran.err
    assert "password" not in ran.err


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"bar = '\xff'\n", "line 1 column 8: The bytes here are no UTF-8 (byte 8 of the file)."),
        ("bar = 'note'".encode("utf-16"), "line 1 column 1: The file is written in UTF-16."),
        (b"\x00\x01\x02", "line 1 column 1: This is no text: it holds bytes of value zero."),
        (b"junk [[[ = \xc3\xa9 " * 78_000, "line 1 column 1: The file has 1 MB; at most 0.2 MB of settings are read."),
        (bytes(range(32, 127)) * 1500, "This is no TOML"),
        (b"x" * 3_000_000, "line 1 column 1: The file has 3.0 MB"),
    ],
)
def test_junk(tree: Path, command: Any, sample_installed: Any, monkeypatch: Any, data: bytes, words: str) -> None:
    monkeypatch.chdir(tree)
    Path("ohmwright.toml").write_bytes(data)
    for arguments in (
        ("inspect", "cabin"),
        ("inspect", "cabin/deep/box.rig"),
        ("size", "cabin"),
        ("solve", "cabin"),
        ("inspect",),
        ("inspect", "--show-settings"),
    ):
        ran = command(*arguments)
        assert (ran.code, ran.out) == (2, "")
        assert ran.err.startswith("ohmwright: ohmwright.toml line 1 column ")
        assert words in ran.err
        assert len(ran.err) < 600
        assert len(ran.err.splitlines()) == 1


def test_settings_that_are_a_folder_a_pipe_or_a_dead_link(
    tree: Path, command: Any, sample_installed: Any, monkeypatch: Any
) -> None:
    monkeypatch.chdir(tree)
    place = Path("ohmwright.toml")
    place.mkdir()
    assert "is a folder" in command("inspect", "cabin").err
    place.rmdir()
    place.symlink_to("nowhere.toml")
    assert "There is no file" in command("inspect", "cabin").err
    place.unlink()
    if hasattr(os, "mkfifo"):
        os.mkfifo(place)
        ran = command("inspect", "cabin")
        assert ran.code == 2
        assert "is no plain file" in ran.err


@pytest.mark.parametrize("name", ["ohmwright.toml", "pyproject.toml"])
def test_settings_that_may_not_be_read(
    tree: Path, command: Any, sample_installed: Any, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    """The system's answer is put in, so that the test says the same whoever runs it."""
    monkeypatch.chdir(tree)
    Path(name).write_text(TABLE, encoding="utf-8")
    import builtins

    real = builtins.open

    def refused(file: Any, *arguments: Any, **named: Any) -> Any:
        if str(file).endswith(name):
            raise PermissionError(13, "Permission denied")
        return real(file, *arguments, **named)

    monkeypatch.setattr(builtins, "open", refused)
    ran = command("inspect", "cabin")
    assert (ran.code, ran.out) == (2, "")
    assert f"The file '{name}' may not be read." in ran.err


def test_pyproject_that_is_no_plain_file_is_nobodys(tree: Path, command: Any, sample_installed: Any, monkeypatch: Any) -> None:
    monkeypatch.chdir(tree)
    if hasattr(os, "mkfifo"):
        os.mkfifo("pyproject.toml")
    else:
        Path("pyproject.toml").mkdir()
    assert command("inspect", "cabin").code == 1


# named on the command line ------------------------------------------------------------------------------------------


def test_named_settings_replace_everything(tree: Path, command: Any, sample_installed: Any, monkeypatch: Any) -> None:
    monkeypatch.chdir(tree)
    Path("ohmwright.toml").write_text('bar = "note"\n', encoding="utf-8")
    Path("cabin/ohmwright.toml").write_text("broken", encoding="utf-8")
    Path("../base.toml").write_text('[[left-out]]\npath = "cabin"\nbecause = "the target branch says so"\n', encoding="utf-8")
    ran = command("inspect", "cabin", "--settings", "../base.toml")
    assert ran.code == 0
    assert "Settings: ../base.toml (bar error)." in ran.out
    assert "Left out: cabin, 1 file (cabin/deep/box.rig), because the target branch says so" in " ".join(ran.out.split())
    ran = command("inspect", "cabin", "--settings", "none")
    assert ran.code == 1
    assert "Settings:" not in ran.out
    assert ran.out.startswith("cabin/deep/box.rig")


@pytest.mark.parametrize(
    ("name", "text", "words"),
    [
        ("missing.toml", None, "missing.toml line 1 column 1: There is no file 'missing.toml'."),
        ("bad.toml", "bra = 1", "bad.toml line 1 column 1: There is no setting 'bra'. Settings near this one: bar."),
        ("pyproject.toml", "[project]\n", "pyproject.toml line 1 column 1: The file has no table 'tool.ohmwright'."),
        ("pyproject.toml", "[tool.ohmwright]\nbra = 1", "pyproject.toml line 2 column 1: There is no setting 'bra'."),
    ],
)
def test_named_settings_that_cannot_be_used(
    tree: Path, command: Any, sample_installed: Any, monkeypatch: Any, name: str, text: str | None, words: str
) -> None:
    monkeypatch.chdir(tree)
    if text is not None:
        Path(name).write_text(text, encoding="utf-8")
    ran = command("inspect", "cabin", "--settings", name)
    assert (ran.code, ran.out) == (2, "")
    assert words in ran.err


def test_settings_are_no_code(tree: Path, command: Any, sample_installed: Any, monkeypatch: Any) -> None:
    """Whatever a file of settings names, nothing of it is imported: there is no key for it, and values are names to look up."""
    monkeypatch.chdir(tree)
    Path("evil.py").write_text('open("ran", "w").close()\n', encoding="utf-8")
    for text in (
        'packs = ["evil"]\n', 'basis = "evil"\n', '[output]\nformat = "evil"\n', '[output]\nformat = "evil:write"\n',
        '[[left-out]]\nfamily = "evil"\nbecause = "x"\n', '[[grades]]\ngrade = "evil.py"\nseverity = "off"\nbecause = "x"\n',
    ):  # fmt: skip
        Path("ohmwright.toml").write_text(text, encoding="utf-8")
        ran = command("inspect", "cabin")
        assert (ran.code, ran.out) == (2, "")
        assert not Path("ran").exists()


def test_gathering_looks_at_each_folder_once(tree: Path, kit: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    for number in range(50):
        (tree / "cabin" / f"box{number}.rig").write_text(kit.bench, encoding="utf-8")
    looked: list[str] = []
    real = os.path.lexists
    monkeypatch.setattr("os.path.lexists", lambda path: looked.append(str(path)) or real(path))
    gather(["cabin"])
    assert len(looked) == len(set(looked)) <= 8
