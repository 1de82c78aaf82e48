"""What can be compared, how git is asked, and that asking it runs nothing and leaves nothing."""

from __future__ import annotations

import os
import stat
import sys
from pathlib import Path
from typing import Any

import pytest
from ohmwright.commands.git_objects import GitError, Repository
from ohmwright.commands.sides import Sides, sides_of
from ohmwright.commands.trees import CommitTree
from ohmwright.comparing.model import SideTold
from ohmwright_grammar.files import FolderFiles


@pytest.fixture(autouse=True)
def bench(sample_installed: Any) -> None:
    """The invented pack in place of the installed ones."""


def changes(document: dict[str, Any]) -> list[tuple[str, str | None, str | None]]:
    return [(build["change"], build["old_path"], build["path"]) for build in document["builds"]]


@pytest.fixture
def history(kit: Any, commit: Any) -> None:
    """Two builds on main; on pr one of them is louder, one moved, one added."""
    commit({"box.rig": kit.bench, "boats/ferry.rig": kit.bench.replace("Bench", "Ferry")})
    moved = kit.bench.replace("Bench", "Ferry")
    commit(
        {
            "box.rig": kit.bench.replace("25 A", "26 A"),
            "boats/ferry.rig": None,
            "boats/barge.rig": moved,
            "new.rig": kit.bench.replace("Bench", "New"),
        },
        "pr",
    )


EXPECTED = [("added", None, "new.rig"), ("changed", "box.rig", "box.rig"), ("renamed", "boats/ferry.rig", "boats/barge.rig")]


@pytest.mark.parametrize(
    "words", [("main..pr",), ("main..",), ("main", "pr"), ("main...pr",), ("main", "."), ("HEAD~1..HEAD", ".")]
)
def test_ranges_and_pairs_of_revisions_and_folders(history: None, compared: Any, words: tuple[str, ...]) -> None:
    assert sorted(changes(compared(*words)), key=str) == sorted(EXPECTED, key=str)


def test_paths_limit_it(history: None, compared: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    assert changes(compared("main..pr", "boats")) == [EXPECTED[2]]
    assert changes(compared("main..pr", "box.rig", "new.rig")) == [EXPECTED[1], EXPECTED[0]]
    monkeypatch.chdir("boats")
    assert changes(compared("main..pr", "barge.rig", "ferry.rig")) == [EXPECTED[2]]
    assert changes(compared("main..pr", "../box.rig")) == [EXPECTED[1]]
    assert len(changes(compared("main..pr"))) == 3


def test_three_points_begin_at_the_common_commit(history: None, kit: Any, git: Any, put: Any, compared: Any) -> None:
    git("switch", "-q", "main")
    put({"late.rig": kit.bench.replace("Bench", "Late")})
    git("add", "-A")
    git("commit", "-q", "-m", "later")
    assert ("removed", "late.rig", None) in changes(compared("main..pr"))
    assert ("removed", "late.rig", None) not in changes(compared("main...pr"))


def test_folders_and_files(kit: Any, put: Any, compared: Any, command: Any) -> None:
    put(
        {
            "a/box.rig": kit.bench,
            "b/box.rig": kit.bench.replace("25 A", "26 A"),
            "b/more/new.rig": kit.bench.replace("Bench", "New"),
        }
    )
    assert changes(compared("a", "b", code=1)) == [("changed", "box.rig", "box.rig"), ("added", None, "more/new.rig")]
    assert changes(compared("a/box.rig", "b/more/new.rig", code=0)) == []  # only the title is another
    assert command("compare", "a", "a", "--today", "2026-01-01").code == 0
    assert changes(compared("a", "a", code=0)) == []


def test_folders_of_one_repository(git: Any, kit: Any, put: Any, compared: Any, command: Any) -> None:
    put({"a/box.rig": kit.bench, "b/box.rig": kit.bench.replace("25 A", "26 A"), "a/.github/x.rig": kit.bench})
    assert changes(compared("a", "b", code=1)) == [("changed", "a/box.rig", "b/box.rig")]
    assert changes(compared("a/box.rig", "b/box.rig", code=1)) == [("changed", "a/box.rig", "b/box.rig")]
    git("add", "-A")
    git("commit", "-q", "-m", "folders")
    put({"b/box.rig": kit.bench.replace("25 A", "27 A")})
    assert changes(compared("HEAD", "b", code=1)) == [("changed", "b/box.rig", "b/box.rig")]
    assert changes(compared("HEAD", "b/box.rig", code=1)) == [("changed", "b/box.rig", "b/box.rig")]
    assert changes(compared("HEAD", "a", code=0)) == []
    assert command("compare", "a", "nowhere").code == 2


def test_what_reads_the_same_is_not_inspected(
    history: None, git: Any, put: Any, kit: Any, compared: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    git("switch", "-q", "pr")
    put(
        {
            "shelf.rig": "load small 5 A\n",
            "user.rig": 'rig "User"\nparts from "shelf.rig"\nload a same as small\n',
            "readme.txt": "x",
        }
    )
    git("add", "-A")
    git("commit", "-q", "-m", "library")
    put({"shelf.rig": "load small 6 A\n", "readme.txt": "y"})
    git("commit", "-q", "-a", "-m", "rating")
    document = compared("HEAD~1..HEAD")
    assert changes(document) == [("changed", "user.rig", "user.rig")]
    assert document["unchanged"] == 4  # the library has nothing to say of itself
    put({"readme.txt": "z"})
    git("commit", "-q", "-a", "-m", "note")
    monkeypatch.setattr("ohmwright.commands.comparing_sides.inspect_files", None)  # nothing is left to inspect
    assert compared("HEAD~1..HEAD", code=0)["unchanged"] == 5


@pytest.mark.parametrize("library", ["shelf.rig", "sub/shelf.rig", ".hidden/shelf.rig", "Kähne.txt", "parts"])
def test_what_a_library_reads_from_wherever_it_lies_concerns_who_reads_the_library(
    commit: Any, compared: Any, library: str
) -> None:
    """The build names a library that did not change, and that names one which did."""
    back = "../" * library.count("/")
    user = f'rig "User"\nparts from "{library}"\nload a same as small\n'
    commit(
        {
            "user.rig": user,
            library: f'parts from "{back}deep.rig"\nload other 1 A\n',
            "deep.rig": "load small 5 A\n",
            "alone.rig": 'rig "Alone"\nload a 1 A\n',
        }
    )
    commit({"deep.rig": "load small 6 A\n"}, "pr")
    for words in (("main..pr",), ("main", ".")):
        document = compared(*words)
        assert ("changed", "user.rig", "user.rig") in changes(document), words
        assert [(item["kind"], item["was"], item["now"]) for item in document["judgement"]] == [("library", "5 A", "6 A")]


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("nobody..pr",), "there is no file and no revision 'nobody'"),
        (("main", "nothing.rig"), "there is no file and no revision 'nothing.rig'"),
        (("main",), "name two files, folders or revisions, or a range such as main..HEAD"),
        (("../old.rig", "box.rig"), "there is no file and no revision '../old.rig'"),
        (("main..pr", "nowhere"), "neither revision has a file or folder nowhere"),
        (("main..pr", "../x"), "../x leads out of the repository"),
        (("box.rig", "."), "box.rig and . are a file and a folder"),
        (("--output=json", "--", "--upload-pack=x", "main"), "there is no file and no revision '--upload-pack=x'"),
        (
            (
                "--output=json",
                "--",
                "-q..main",
            ),
            "there is no file and no revision '-q'",
        ),
        (("main:box.rig..pr",), "there is no file and no revision 'main:box.rig'"),
    ],
)
def test_what_cannot_be_compared(history: None, command: Any, words: tuple[str, ...], told: str) -> None:
    ran = command("compare", *words)
    assert (ran.code, ran.out) == (2, "")
    assert told in ran.err


def test_outside_of_any_repository(command: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GIT_CEILING_DIRECTORIES", str(tmp_path.parent))
    ran = command("compare", "main..pr")
    assert ran.code == 2
    assert "lies in no git repository" in ran.err
    monkeypatch.setenv("PATH", "")
    assert "there is no program of that name" in command("compare", "main..pr").err


@pytest.mark.skipif(sys.platform == "win32", reason="scripts with rights to run")
def test_nothing_of_the_repository_runs_and_nothing_changes(
    history: None, git: Any, put: Any, compared: Any, tmp_path: Path
) -> None:
    """Hooks, filters, text conversions, file system monitors, pagers and aliases of the repository are all set to leave a trace."""
    trace = tmp_path.parent / f"{tmp_path.name}_trace"
    script = tmp_path.parent / f"{tmp_path.name}_script"
    script.write_text(f"#!/bin/sh\necho ran >> {trace}\ncat\n", encoding="utf-8")
    script.chmod(script.stat().st_mode | stat.S_IXUSR)
    put({".gitattributes": "*.rig filter=evil diff=evil text eol=crlf\n"})
    git("add", ".gitattributes")
    git("commit", "-q", "-m", "attributes")
    for key in (
        "filter.evil.smudge",
        "filter.evil.clean",
        "filter.evil.process",
        "diff.evil.textconv",
        "core.fsmonitor",
        "core.pager",
        "core.editor",
        "core.sshCommand",
        "alias.cat-file",
        "alias.ls-tree",
    ):
        git("config", key, str(script) if not key.startswith("alias") else f"!{script}")
    for name in ("post-checkout", "reference-transaction", "post-index-change", "pre-commit"):
        hook = tmp_path / ".git" / "hooks" / name
        hook.write_bytes(script.read_bytes())
        hook.chmod(0o755)
    before = {path: (path.stat().st_mtime_ns, path.read_bytes()) for path in tmp_path.rglob("*") if path.is_file()}
    assert len(changes(compared("main..pr"))) == 3
    after = {path: (path.stat().st_mtime_ns, path.read_bytes()) for path in tmp_path.rglob("*") if path.is_file()}
    assert before == after
    assert not trace.exists()


def test_replaced_objects_do_not_count(history: None, git: Any, kit: Any, put: Any, compared: Any) -> None:
    put({"quiet": kit.bench.replace("25 A", "5 A")})
    one, two = git("rev-parse", "pr:box.rig").strip(), git("hash-object", "-w", "quiet").strip()
    git("replace", one, two)
    (build,) = [build for build in compared("main..pr")["builds"] if build["path"] == "box.rig"]
    assert build["things"][0]["properties"][0]["now"] == "26 A"


@pytest.mark.skipif(sys.platform == "win32", reason="links")
def test_links_are_followed_inside_and_refused_outside_as_in_a_folder(git: Any, put: Any, tmp_path: Path) -> None:
    put({"a/real.rig": "load x 5 A\n", "b/other.rig": "load y 5 A\n"})
    for name, target in (
        ("a/way.rig", "real.rig"), ("a/up.rig", "../b/other.rig"), ("a/out.rig", "../../x.rig"), ("abs.rig", "/b/other.rig"),
        ("a/round.rig", "round.rig"), ("a/dead.rig", "nothing.rig"), ("a/far", "../b"), ("a/self", "."),
    ):  # fmt: skip
        os.symlink(target, tmp_path / name)
    git("add", "-A")
    git("commit", "-q", "-m", "links")
    repository = Repository(tmp_path)
    try:
        tree = CommitTree(repository, repository.commit("HEAD"), SideTold("HEAD"))
        for root in ("", "a", "b"):
            commits, folder = tree.sources(root), FolderFiles(tmp_path / root)
            for path in ("a/way.rig", "a/up.rig", "a/out.rig", "abs.rig", "a/round.rig", "a/dead.rig", "a/far/other.rig", "a/self/real.rig", "a", "a/nothing", "way.rig", "up.rig", "far/other.rig", "../a/real.rig", "other.rig"):  # fmt: skip
                one, two = commits.read(path), folder.read(path)
                assert (one.text, bool(one.problems)) == (two.text, bool(two.problems)), (root, path)
    finally:
        repository.close()


def test_object_that_is_not_there(history: None, tmp_path: Path) -> None:
    repository = Repository(tmp_path)
    try:
        with pytest.raises(GitError, match="is not in this copy"):
            repository.blob("0" * 40)
    finally:
        repository.close()


def test_names_with_blanks_and_letters_of_other_scripts(kit: Any, commit: Any, compared: Any) -> None:
    name = "Boote & Kähne/mein «Kahn».rig"
    commit({name: kit.bench})
    commit({name: kit.bench.replace("25 A", "26 A")}, "pr")
    assert changes(compared("main..pr")) == [("changed", name, name)]


def test_bare_repository(history: None, git: Any, compared: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    git("clone", "-q", "--bare", ".", "bare.git")
    monkeypatch.chdir(tmp_path / "bare.git")
    assert len(changes(compared("main..pr"))) == 3


def test_sides_say_what_they_are(history: None) -> None:
    found = sides_of(["main..pr"])
    assert isinstance(found, Sides)
    assert (found.old.tree.told.name, found.new.tree.told.name, found.shared) == ("main", "pr", True)
    assert len(found.old.tree.told.commit) == 40
    found.close()
