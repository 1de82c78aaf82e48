"""Shares of a run and their joining: each build in one share, shares of like size, and together the same bytes as the run that was not shared."""

from __future__ import annotations

import base64
import hashlib
import json
import struct
import zlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as some
from ohmwright.commands.scale.sharing import dealt
from ohmwright.reports import WRITERS


@given(some.lists(some.integers(1, 10**6), max_size=60), some.integers(1, 9))
def test_shares_are_balanced(sizes: list[int], count: int) -> None:
    """R. L. Graham, Bounds on multiprocessing timing anomalies, 1969, theorem 2 (from memory): at most 4/3 - 1/3m of the best, which is no less than these."""
    found = dealt(sizes, count)
    assert len(found) == len(sizes)
    held = [sum(size for size, share in zip(sizes, found, strict=True) if share == number) for number in range(count)]
    assert sum(held) == sum(sizes)
    largest = max(sizes, default=0)
    assert max(held) <= sum(sizes) / count + largest * (count - 1) / count
    assert found == dealt(sizes, count)


Shares = Callable[..., list[str]]


@pytest.fixture
def shares(inspect: Callable[..., Any], tmp_path: Path) -> Shares:
    """Inspect in shares; return the files of the parts."""

    def run(count: int, *more: str) -> list[str]:
        files = [str(tmp_path / f"part {number}") for number in range(1, count + 1)]
        for number, file in enumerate(files, 1):
            ran = inspect("--jobs", "1", "--cache", "none", "--share", f"{number}/{count}", "--part", file, *more)
            assert ran.err == ""
        return files

    return run


@pytest.mark.parametrize("count", [1, 3, 20])
def test_joined_parts_say_the_same(
    shares: Shares,
    at_once: Callable[..., Any],
    command: Callable[..., Any],
    builds: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    count: int,
) -> None:
    wanted = {format: at_once("--output", format, "--working") for format in WRITERS}
    files = shares(count)
    elsewhere = tmp_path / "elsewhere"  # where nothing of the builds is
    elsewhere.mkdir()
    monkeypatch.chdir(elsewhere)
    builds.rename(tmp_path / "gone")
    for format, ran in wanted.items():
        found = command("inspect", "--join", *reversed(files), "--output", format, "--working")
        assert (found.code, found.err) == (ran.code, "")
        assert found.out == ran.out, format


def test_each_build_is_in_one_share(inspect: Callable[..., Any], builds: Path) -> None:
    import json

    seen: list[str] = []
    for number in (1, 2, 3):
        document = json.loads(inspect("--share", f"{number}/3", "--output", "json").out)
        seen += [build["path"] for build in document["builds"] if build["path"] != "parts/bad.rig"]
    files = [path.name for path in builds.rglob("*.rig") if path.name != "bad.rig"]
    assert sorted(path.rpartition("/")[2] for path in seen) == sorted(files)


def test_a_share_without_builds_is_no_fault(inspect: Callable[..., Any], builds: Path) -> None:
    for path in builds.rglob("*.rig"):
        if path.name not in ("lamp1.rig", "lamp9.rig"):
            path.unlink()
    codes = [inspect("--share", f"{number}/5").code for number in range(1, 6)]
    assert sorted(codes) == [0, 0, 0, 1, 1]


def test_a_clean_run_and_its_bar(shares: Shares, command: Callable[..., Any], builds: Path) -> None:
    for path in builds.rglob("*.rig"):
        if path.name not in ("lamp1.rig", "lamp2.rig"):
            path.unlink()
    (builds / "inner" / "ohmwright.toml").unlink()
    (builds / "ohmwright.toml").write_text('bar = "note"\n[output]\nformat = "json"\n', encoding="utf-8")
    files = shares(2, "--only", "voltage-drop")
    found = command("inspect", "--join", *files)
    assert found.out.startswith("{"), "the settings said so where the parts were made"
    assert found.code == 0
    assert command("inspect", "--join", *files, "--bar", "warning").code == 0


@pytest.mark.parametrize("share", ["0/2", "3/2", "1/0", "1", "a/b", "1/2/3", "-1/2", "1/1001", "１/２"])
def test_what_is_no_share(inspect: Callable[..., Any], share: str) -> None:
    found = inspect(f"--share={share}")
    assert found.code == 2
    assert "is no share" in found.err or share == "１/２"


@pytest.mark.parametrize(
    "more",
    [("lamp1.rig",), ("--share", "1/2"), ("--part", "x"), ("--only", "labels"), ("--settings", "none"), ("--write-baseline",)],
)
def test_joining_stands_alone(shares: Shares, command: Callable[..., Any], more: tuple[str, ...]) -> None:
    found = command("inspect", *more, "--join", *shares(1))
    assert found.code == 2
    assert "leave out" in found.err


def test_a_missing_part_is_no_clean_run(shares: Shares, command: Callable[..., Any]) -> None:
    files = shares(3)
    for given_files, words in (
        ([files[0], files[2]], "part 2 of 3 is missing"),
        ([files[0]], "parts 2, 3 of 3 are missing"),
        ([*files, str(Path(files[0]).with_name("nowhere"))], "cannot be read"),
    ):
        found = command("inspect", "--join", *given_files)
        assert (found.code, found.out) == (2, "")
        assert words in found.err


def test_parts_of_other_runs(
    shares: Shares, command: Callable[..., Any], builds: Path, tmp_path: Path, inspect: Callable[..., Any]
) -> None:
    files = shares(2)
    other = str(tmp_path / "other")
    inspect("--share", "2/2", "--part", other, today="2026-01-02")
    assert "are not of one run" in command("inspect", "--join", files[0], other).err
    (builds / "inner" / "ohmwright.toml").write_text('bar = "warning"\n', encoding="utf-8")
    inspect("--share", "2/2", "--part", other)
    assert "are not of one run" in command("inspect", "--join", files[0], other).err
    copy = tmp_path / "copy"
    copy.write_bytes(Path(files[0]).read_bytes())
    assert "given twice" in command("inspect", "--join", *files, str(copy)).err
    text = Path(files[0]).read_text(encoding="ascii")
    Path(files[0]).write_text(text.replace('"version": "', '"version": "9'), encoding="ascii")
    assert "is no part of a run, or it is damaged" in command("inspect", "--join", *files).err


@pytest.mark.parametrize(
    "damage",
    [
        lambda text: "",
        lambda text: text[:-80],
        lambda text: text[: len(text) // 2],
        lambda text: text.replace("lamp", "lump", 1),
        lambda text: "\0" * 50,
        lambda text: '["ohmwright part 1", {}]\n',
        lambda text: text + text,
        lambda text: "[" * 100_000,
    ],
)
def test_damaged_parts(shares: Shares, command: Callable[..., Any], damage: Callable[[str], str]) -> None:
    (file,) = shares(1)
    Path(file).write_text(damage(Path(file).read_text(encoding="ascii")), encoding="ascii")
    found = command("inspect", "--join", file)
    assert (found.code, found.out) == (2, "")
    assert "is no part of a run, or it is damaged" in found.err


def sealed(lines: list[Any]) -> str:
    """Return the text of a part that holds these lines, with the digest that they have."""
    body = "".join(json.dumps(line) + "\n" for line in lines)
    return body + json.dumps(["end", hashlib.sha256(body.encode("ascii")).hexdigest()]) + "\n"


def with_frame(number: int, text: bytes) -> Callable[[list[Any]], None]:
    """Return what puts another text in one place of the first packed piece."""

    def change(lines: list[Any]) -> None:
        line = next(line for line in lines if line[0] == "file" and line[2] == "lamp1.rig")
        data = base64.b85decode(line[3])
        count, *lengths = struct.unpack_from("<B7I", data)
        frames, place = [], 1 + 4 * count
        for length in lengths:
            frames.append(data[place : place + length])
            place += length
        frames[number] = text
        packed = struct.pack("<B7I", count, *map(len, frames)) + b"".join(frames)
        line[3] = base64.b85encode(packed).decode("ascii")

    return change


def with_head(**more: Any) -> Callable[[list[Any]], None]:
    """Return what says something else of the run."""
    return lambda lines: lines[0][1].update(more)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (with_frame(1, b"no stream"), "a packed piece is damaged"),
        (with_frame(1, zlib.compress(b"[[],1]")), "holds no build"),
        (with_frame(1, zlib.compress(b"[[],[0,5,6]]")), "holds no build"),
        (with_frame(2, b"no stream"), "a packed piece is damaged"),
        (with_frame(2, zlib.compress(b"[[],1]")), "JSON"),
        (with_frame(2, zlib.compress(b'["[[],[0]]",[]]')), "a list is not as long as is said"),
        (with_frame(2, zlib.compress(b"[]")[:-1]), "a packed piece is damaged, or too large"),
        (with_frame(2, zlib.compress(b" " * 3_000_000 + b"[]")), "a packed piece is damaged, or too large"),
        (with_head(groups=["[[],1]"]), "is no part of a run"),
        (with_head(groups=5), "is no part of a run"),
        (with_head(share=[1, 10**12]), "shares that no run has"),
        (with_head(share=[0, 1]), "shares that no run has"),
        (with_head(share=["1", "1"]), "is no part of a run"),
        (with_head(more=1), "is no part of a run"),
        (lambda lines: lines[0][1].clear(), "is no part of a run"),
    ],
)
def test_parts_whose_digest_is_right_but_not_what_they_hold(
    shares: Shares,
    command: Callable[..., Any],
    monkeypatch: pytest.MonkeyPatch,
    change: Callable[[list[Any]], None],
    words: str,
) -> None:
    """Somebody may have made one: it is told like a damaged one, not as a failure of the program."""
    (file,) = shares(1)
    lines = [json.loads(line) for line in Path(file).read_text(encoding="ascii").splitlines()[:-1]]
    Path(file).write_text(sealed(lines), encoding="ascii")
    assert command("inspect", "--output", "json", "--join", file).err == ""
    change(lines)
    Path(file).write_text(sealed(lines), encoding="ascii")
    if "too large" in words:
        monkeypatch.setattr("ohmwright.commands.scale.keeping._LONGEST", 2_000_000)
    found = command("inspect", "--output", "json", "--join", file)
    assert found.code == 2
    assert words in found.err
    assert "itself failed" not in found.err


def test_a_baseline_is_written_from_a_whole_run(inspect: Callable[..., Any]) -> None:
    found = inspect("--share", "1/2", "--write-baseline", "--baseline", "known.json")
    assert found.code == 2
    assert "leave out --share" in found.err
