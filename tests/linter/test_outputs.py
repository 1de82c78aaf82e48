"""Where outputs go: which --to belongs to which --output, what cannot be, and that a file is written whole or not at all."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from ohmwright.commands.outputs import Target, planned
from ohmwright.reports import WRITERS
from ohmwright.writing import write_whole


@pytest.fixture
def bench(kit: Any, command: Any, sample_installed: Any) -> Any:
    """The bench build in the current folder, with the invented pack in place of the installed ones."""
    Path("box.rig").write_text(kit.bench, encoding="utf-8")
    return kit


OUT, TO = "output", "to"
LINKS = pytest.mark.skipif(sys.platform == "win32", reason="links need a right that a user may lack")
POSIX = pytest.mark.skipif(os.name != "posix", reason="rights and devices of POSIX")


@pytest.mark.parametrize(
    ("given", "expected"),
    [
        ([], [("", "")]),
        ([(OUT, "json")], [("json", "")]),
        ([(TO, "a")], [("", "a")]),
        ([(OUT, "json"), (TO, "a")], [("json", "a")]),
        ([(TO, "a"), (OUT, "json")], [("json", "a")]),
        ([(OUT, "json"), (TO, "a"), (OUT, "text"), (TO, "b")], [("json", "a"), ("text", "b")]),
        ([(OUT, "json"), (TO, "a"), (OUT, "text")], [("json", "a"), ("text", "")]),
        ([(OUT, "text"), (OUT, "json"), (TO, "a")], [("text", ""), ("json", "a")]),  # never the wrong one into the file
        ([(OUT, "json"), (TO, "a"), (OUT, "json"), (TO, "b")], [("json", "a"), ("json", "b")]),
    ],
)
def test_each_file_belongs_to_the_output_before_it(given: list[tuple[str, str]], expected: list[tuple[str, str]]) -> None:
    assert planned(given) == (tuple(Target(*pair) for pair in expected), "")


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ([(OUT, "json"), (OUT, "text")], "only one --output can go to the screen"),
        ([(OUT, "json"), (OUT, "text"), (OUT, "json"), (TO, "a")], "only one --output can go to the screen"),
        ([(TO, "a"), (TO, "b")], "there is no --output for --to b"),
        ([(OUT, "json"), (TO, "a"), (TO, "b")], "there is no --output for --to b"),
        ([(TO, "a"), (OUT, "json"), (TO, "b")], "there is no --output for --to b"),
        ([(OUT, "json"), (TO, "")], "--to names no file"),
    ],
)
def test_what_cannot_be(given: list[tuple[str, str]], words: str) -> None:
    targets, problem = planned(given)
    assert targets == ()
    assert words in problem


def test_every_output_is_told_and_tested() -> None:
    """The recipe in DEVELOPERS.md: a row in README.md, a place among those that hostile texts go through, a file of tests."""
    root = Path(__file__).resolve().parents[2]
    rows = re.findall(r"^\| `([a-z]+)` \|", (root / "README.md").read_text(encoding="utf-8"), re.MULTILINE)
    assert set(WRITERS) <= set(rows)
    hostile = (root / "tests/linter/reports/test_injection.py").read_text(encoding="utf-8")
    for place in WRITERS.values():
        module = place.rpartition(".")[2]
        assert f"{module}.write(" in hostile or f"{module}," in hostile, module
        words = {"text": "text_report"}.get(module, module)
        assert (root / "tests/linter/reports" / f"test_{words}.py").is_file(), module


def test_screen_and_file(command: Any, bench: Any) -> None:
    ran = command("inspect", "box.rig", "--output", "text", "--output", "json", "--to", "a.json")
    assert ran.code == 1
    assert ran.out.startswith("box.rig: Bench")
    assert json.loads(Path("a.json").read_text(encoding="utf-8"))["schema"] == 1


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--output", "json", "--to", "a", "--output", "text", "--to", "./a"), "two outputs would go to ./a"),
        (("--to", "box.rig"), "box.rig is read by this run"),
        pytest.param(("--to", "way.rig"), "way.rig is read by this run", marks=LINKS),
        (("--to", "ohmwright.toml"), "ohmwright.toml is read by this run"),
        (("--to", "known.json", "--baseline", "known.json"), "known.json is read by this run"),
    ],
)
def test_nothing_is_written_over(command: Any, bench: Any, arguments: tuple[str, ...], words: str) -> None:
    Path("ohmwright.toml").write_text("", encoding="utf-8")
    Path("known.json").write_text('{"baseline": 1, "states": "declared", "entries": []}', encoding="utf-8")
    if "way.rig" in arguments:
        Path("way.rig").symlink_to("box.rig")
    before = {path.name: path.read_bytes() for path in Path().iterdir()}
    ran = command("inspect", "box.rig", *arguments)
    assert (ran.code, ran.out) == (2, "")
    assert words in ran.err
    assert {path.name: path.read_bytes() for path in Path().iterdir()} == before


@POSIX
def test_both_to_nowhere(command: Any, bench: Any) -> None:
    """What is no plain file is written to as it is, and twice if asked."""
    twice = ("--output", "json", "--to", "/dev/null", "--output", "text", "--to", "/dev/null")
    assert command("inspect", "box.rig", *twice).code == 1
    assert not Path("/dev/null").is_file()


def test_one_file_that_cannot_be_written_keeps_no_other_from_it(command: Any, bench: Any) -> None:
    ran = command("inspect", "box.rig", "--output", "json", "--to", "no/such/a.json", "--output", "text", "--to", "b.txt")
    assert (ran.code, ran.out) == (2, "")
    assert ran.err == "ohmwright: no/such/a.json cannot be written: No such file or directory\n"
    assert "warm-wire" in Path("b.txt").read_text(encoding="utf-8")


@POSIX
def test_rights_of_the_file_stay_and_new_ones_are_the_usual(command: Any, bench: Any) -> None:
    old = os.umask(0o022)
    try:
        Path("a.txt").write_text("before", encoding="utf-8")
        Path("a.txt").chmod(0o640)
        command("inspect", "box.rig", "--to", "a.txt")
        command("inspect", "box.rig", "--to", "b.txt")
    finally:
        os.umask(old)
    assert Path("a.txt").stat().st_mode & 0o777 == 0o640
    assert Path("b.txt").stat().st_mode & 0o777 == 0o644


@LINKS
def test_link_is_followed(tmp_path: Path) -> None:
    (tmp_path / "real.txt").write_text("before", encoding="utf-8")
    (tmp_path / "way.txt").symlink_to("real.txt")
    assert write_whole(tmp_path / "way.txt", "after\n") == ""
    assert (tmp_path / "real.txt").read_bytes() == b"after\n"
    assert (tmp_path / "way.txt").is_symlink()


def test_folder_is_no_file(tmp_path: Path) -> None:
    assert write_whole(tmp_path, "x") == f"{tmp_path} is a folder"


@pytest.mark.parametrize("name", ["a\0b", "x" * 300])
def test_name_that_cannot_be(tmp_path: Path, name: str) -> None:
    assert "cannot be written" in write_whole(tmp_path / name, "x")


FAULTS = {
    "full disk": "import resource; signal.signal(signal.SIGXFSZ, signal.SIG_IGN); resource.setrlimit(resource.RLIMIT_FSIZE, (100, 100))",
    "killed": "os.fsync = lambda number: os.kill(os.getpid(), signal.SIGKILL)",
}


@pytest.mark.skipif(sys.platform == "win32", reason="signals and limits of POSIX")
@pytest.mark.parametrize("fault", list(FAULTS))
def test_old_file_or_new_one_and_never_a_half(tmp_path: Path, fault: str) -> None:
    place = tmp_path / "sheet.txt"
    place.write_text("before", encoding="utf-8")
    script = f"import os, signal, pathlib\n{FAULTS[fault]}\nfrom ohmwright.writing import write_whole\nprint(write_whole(pathlib.Path({str(place)!r}), 'after ' * 1000))"
    environment = {**os.environ, "PYTHONDONTWRITEBYTECODE": "1"}
    ran = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=False, env=environment)
    assert place.read_text(encoding="utf-8") == "before"
    if fault == "full disk":
        assert "cannot be written: File too large" in ran.stdout
        assert [path.name for path in tmp_path.iterdir()] == ["sheet.txt"]
    else:
        assert ran.returncode == -9
