"""Faults while writing: the old file or the new one is there, whole; what could not be done is said. And the watch sees what it is to see."""

from __future__ import annotations

import errno
import json
import os
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))

from hostile.attacking import BUILD, Repository, snapshot
from hostile.breaking import DEEDS, STEPS

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="signals and limits are others there")

UNTIDY = BUILD.replace("; ", ";   ").replace("load lamp 5 A", "load lamp 5A")
OLD = "the old report\n"
ROOT = hasattr(os, "geteuid") and os.geteuid() == 0
WRITERS = {
    "tidy": (("tidy", "box.rig"), "box.rig"),
    "baseline": (("inspect", "box.rig", "--write-baseline", "--baseline", "known.json"), "known.json"),
    "report": (("inspect", "box.rig", "--output", "json", "--to", "report.json"), "report.json"),
}
BASELINE = '{"ohmwright": "0.1.0", "baseline": 1, "states": "declared", "entries": []}\n'


@pytest.fixture(params=WRITERS)
def writer(request: pytest.FixtureRequest, repository: Repository) -> tuple[tuple[str, ...], str]:
    """A command that writes a file which is there already, and the file."""
    repository.write("box.rig", UNTIDY)
    repository.write("known.json", BASELINE)
    repository.write("report.json", OLD)
    found: tuple[tuple[str, ...], str] = WRITERS[request.param]
    return found


def is_whole(repository: Repository, file: str, before: bytes) -> bool:
    """Tell whether a file was changed; fail where it is neither the old nor a new one, whole."""
    now = (repository.root / file).read_bytes()
    if now == before:
        return False
    if file == "box.rig":
        assert now.endswith(b"}\n")
        assert b"5 A\n" in now
    else:
        json.loads(now)
    return True


def leftovers(repository: Repository) -> list[str]:
    return [path.name for path in repository.root.iterdir() if path.name.endswith(".tmp")]


def test_without_a_fault_it_is_written(repository: Repository, writer: tuple[tuple[str, ...], str]) -> None:
    arguments, file = writer
    before = (repository.root / file).read_bytes()
    repository.run(*arguments, writes=(file,))
    assert is_whole(repository, file, before)


@pytest.mark.parametrize("size", [0, 1, 100])
def test_full_disk(repository: Repository, writer: tuple[tuple[str, ...], str], size: int) -> None:
    """The error stream is a pipe here, for a file would be full as well."""
    arguments, file = writer
    before = (repository.root / file).read_bytes()
    answer = repository.run(*arguments, writes=(file,), before="room_for", given=(size,), piped=True)
    assert answer.code == 2
    assert "cannot be written" in answer.err
    assert not is_whole(repository, file, before)
    assert leftovers(repository) == []


# A full disk at each step; the other reasons at one each, for what is done does not hang on the reason.
FAILURES = [
    *((step, errno.ENOSPC) for step in STEPS),
    *zip(STEPS, (errno.EACCES, errno.EROFS, errno.EIO, errno.EPERM, errno.EDQUOT), strict=True),
]


@pytest.mark.parametrize(("step", "number"), FAILURES)
def test_step_that_fails(repository: Repository, writer: tuple[tuple[str, ...], str], step: str, number: int) -> None:
    arguments, file = writer
    before = (repository.root / file).read_bytes()
    answer = repository.run(*arguments, writes=(file,), before="failing", given=(step, number))
    assert answer.code == 2
    assert os.strerror(number) in answer.err
    assert not is_whole(repository, file, before)
    assert leftovers(repository) == []


@pytest.mark.parametrize("when", ["before", "after"])
@pytest.mark.parametrize("step", STEPS)
def test_killed(repository: Repository, writer: tuple[tuple[str, ...], str], step: str, when: str) -> None:
    arguments, file = writer
    before = (repository.root / file).read_bytes()
    repository.run(*arguments, writes=(file,), before="killed", given=(step, when), killed=True)
    assert is_whole(repository, file, before) is (step == "os.replace" and when == "after")
    _goes_on(repository, arguments, file)


@pytest.mark.parametrize("size", [0, 1, 50])
def test_killed_in_the_middle(repository: Repository, writer: tuple[tuple[str, ...], str], size: int) -> None:
    arguments, file = writer
    before = (repository.root / file).read_bytes()
    repository.run(*arguments, writes=(file,), before="killed_within", given=(size,), killed=True)
    assert not is_whole(repository, file, before)
    assert leftovers(repository) != []
    _goes_on(repository, arguments, file)


def _goes_on(repository: Repository, arguments: tuple[str, ...], file: str) -> None:
    """What a killed run left is no build and in nobody's way: the next run does its work."""
    assert list(repository.inspect(".").builds()) == ["box.rig"]
    assert repository.run(*arguments, writes=(file,)).code in (0, 1)


@pytest.mark.skipif(ROOT and sys.platform != "linux", reason="whoever is root may write everywhere")
def test_folder_that_may_not_be_written(repository: Repository, writer: tuple[tuple[str, ...], str]) -> None:
    arguments, file = writer
    before = (repository.root / file).read_bytes()
    repository.root.chmod(0o555)
    try:
        answer = repository.run(*arguments, writes=(file,), before="bound_by_rights" if ROOT else "")
    finally:
        repository.root.chmod(0o755)
    assert answer.code == 2
    assert "cannot be written: Permission denied" in answer.err
    assert not is_whole(repository, file, before)


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="there is no such device")
@pytest.mark.parametrize("output", ["text", "json"])
def test_report_to_a_device_that_is_full(repository: Repository, output: str) -> None:
    repository.write("box.rig")
    answer = repository.run("inspect", "box.rig", "--output", output, "--to", "/dev/full", writes=("/dev/full",))
    assert answer.code == 2
    assert "/dev/full cannot be written" in answer.err


@pytest.mark.parametrize("what", ["files", "processes"])
def test_system_that_gives_no_more(repository: Repository, what: str) -> None:
    repository.write("box.rig", BUILD + 'parts from "shelf.rig"\n')
    repository.write("shelf.rig", "fuse small 15 A blade\n")
    answer = repository.run("inspect", "box.rig", before="out_of", given=(what,))
    assert answer.code in (0, 1, 2)


@pytest.mark.parametrize("how", DEEDS)
def test_watch_sees_a_run_that_misbehaves(repository: Repository, how: str) -> None:
    repository.write("box.rig")
    repository.write("evil.py", "x = 1\n")
    with pytest.raises(AssertionError, match="none of its business"):
        repository.run("inspect", "box.rig", before="misbehave", given=(how,))


CHANGES: dict[str, Callable[[Path], object]] = {
    "another text of the same length": lambda folder: (folder / "box.rig").write_text(BUILD.swapcase(), encoding="utf-8"),
    "other rights": lambda folder: (folder / "box.rig").chmod(0o600),
    "gone": lambda folder: (folder / "box.rig").unlink(),
    "new": lambda folder: (folder / "deep" / "new").touch(),
    "a folder": lambda folder: (folder / "deep" / "new").mkdir(),
    "a link that leads elsewhere": lambda folder: ((folder / "way").unlink(), (folder / "way").symlink_to("deep")),
    "a pipe": lambda folder: os.mkfifo(folder / "new"),
}


@pytest.mark.parametrize("how", CHANGES)
def test_snapshot_sees_what_a_run_changed(repository: Repository, how: str) -> None:
    """Of a run that is killed there is no report: only what lies there afterwards tells what it did."""
    repository.write("box.rig").chmod(0o644)
    (repository.root / "deep").mkdir()
    (repository.root / "way").symlink_to("box.rig")
    before = snapshot(repository.arena)
    assert snapshot(repository.arena) == before
    CHANGES[how](repository.root)
    assert snapshot(repository.arena) != before
