"""Results as plain values: everything comes back as it was, and nothing but results comes back."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from ohmwright.commands.scale.coding import CodingError, read, written
from ohmwright.commands.scale.keeping import Builds, Packed, Shelf, packed
from ohmwright.commands.scale.pieces import Piece
from ohmwright.inspecting import InspectOptions, inspect_files
from ohmwright.results import Result
from ohmwright_grammar.files import FolderFiles
from ohmwright_grammar.resolve import Loader

EXAMPLES = Path(__file__).resolve().parents[3] / "examples"
LATER = ("passes", "does_not_apply", "yielded", "switched_off", "assumed")


@pytest.fixture(scope="module")
def result() -> Result:
    """What is found of builds with findings, waivers, adaptations, requirements and assumptions, and of some that cannot be read in full."""
    paths = sorted(
        path.relative_to(EXAMPLES).as_posix()
        for folder in ("farm_stand", "hill_stand", "cabin")
        for path in (EXAMPLES / folder).rglob("*.rig")
    )
    return inspect_files(paths, Loader(FolderFiles(EXAMPLES)), InspectOptions(today=date(2026, 1, 1), assumed=True))


@pytest.mark.parametrize("by_name", [False, True])
def test_builds_come_back(result: Result, by_name: bool) -> None:
    assert any(build.waived for build in result.builds)
    assert any(build.adapted for build in result.builds)
    for build in result.builds:
        assert read(written(build, by_name)) == build


@pytest.mark.parametrize("most", [0, 10_000, 10**9])
def test_packed_builds_come_back(result: Result, most: int) -> None:
    """In memory, in a file, and in part in each."""
    shelf = Shelf(most)
    builds = Builds(shelf)
    for number, build in enumerate(result.builds):
        shelf.put(number, packed(Piece(build)))
        builds.add(build.path, number)
    for _ in range(2):
        for found, build in zip(builds, result.builds, strict=True):
            assert replace(found, **{name: tuple(getattr(found, name)) for name in LATER}) == build  # type: ignore[arg-type]
            assert [len(getattr(found, name)) for name in LATER] == [len(getattr(build, name)) for name in LATER]
    assert builds[0].path == result.builds[0].path
    assert [build.path for build in builds[1:3]] == [build.path for build in result.builds[1:3]]


def test_a_long_list_is_read_once_for_all_of_it(result: Result, monkeypatch: pytest.MonkeyPatch) -> None:
    build = max(result.builds, key=lambda build: len(build.passes))
    shelf = Shelf()
    shelf.put(0, packed(Piece(build)))
    found, _ = shelf.build(0)
    asked: list[int] = []
    real = Packed.items
    monkeypatch.setattr(Packed, "items", lambda self, number: asked.append(number) or real(self, number))
    assert (len(found.passes), asked) == (len(build.passes), [])
    assert list(reversed(found.passes)) == list(reversed(build.passes))
    assert list(found.passes) == list(build.passes)
    assert build.passes[-1] in found.passes
    assert asked == [2] * 3


def test_a_full_disk_leaves_memory(result: Result, monkeypatch: pytest.MonkeyPatch) -> None:
    import tempfile

    def full(*arguments: Any, **more: Any) -> Any:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(tempfile, "TemporaryFile", full)
    shelf = Shelf(0)
    data = [packed(Piece(build)) for build in result.builds]
    for number, item in enumerate(data):
        shelf.put(number, item)
    assert [shelf.get(number) for number in range(len(data))] == data


@pytest.mark.parametrize(
    "value", [1.5, float("inf"), -0.0, "a\ud800\0ß", None, True, (1, (2.0, "x")), {"__proto__": (1,)}, date(2026, 2, 3)]
)
def test_plain_values_come_back(value: Any) -> None:
    assert repr(read(written(value))) == repr(value)


@pytest.mark.parametrize("value", [object(), {1: 2}, print, b"bytes and more"])
def test_what_has_no_place(value: Any) -> None:
    if isinstance(value, bytes):
        assert read(written(value)) == tuple(value)
        return
    with pytest.raises(CodingError):
        written(value)


@pytest.mark.parametrize(
    "text",
    ["", "[]", "{}", "[[],[999]]", "[[],{}]", '[[],["os.system","x"]]', "[[],[5,1]]", '[["[5,1]"],[2,0]]', "[[],[2,0]]", '[[],[7,"no-such-rule"]]', "[[1],1]",
     "[[],[16]]", "[[],[3,5]]", "[[],[4,9]]", "[" * 50_000],
)  # fmt: skip
def test_anything_else_is_refused(text: str) -> None:
    with pytest.raises(CodingError):
        read(text)


@pytest.mark.parametrize(
    "change",
    [
        lambda data: data[:-1],
        lambda data: b"",
        lambda data: data[:30],
        lambda data: data[:60] + b"xx" + data[62:],
        lambda data: b"\xff" * 99,
    ],
)
def test_damaged_pieces_are_refused(result: Result, change: Any) -> None:
    data = change(packed(Piece(result.builds[0])))

    def everything() -> None:
        piece = Packed(data)
        build, _ = piece.build(lambda: piece)
        for name in LATER:
            tuple(getattr(build, name))

    with pytest.raises(CodingError):
        everything()


def test_what_recurs_is_written_once(result: Result) -> None:
    build = next(build for build in result.builds if len(build.findings) > 1)
    table, _ = json.loads(written((build.findings, build.findings)))
    assert len(table) == len(set(table))
