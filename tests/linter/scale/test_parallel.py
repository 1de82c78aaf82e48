"""Several processes find what one finds, in the same order, and say so in the same bytes."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from ohmwright.commands.scale import workers
from ohmwright.commands.scale.tasks import Done
from ohmwright.commands.scale.workers import FailedError, Workers
from ohmwright.inspecting import InspectOptions
from ohmwright.reports import WRITERS
from ohmwright.rules import installed_packs


@pytest.mark.parametrize("format", sorted(WRITERS))
@pytest.mark.parametrize("more", [("--jobs", "2", "--cache", "none"), ("--jobs", "1", "--cache", "none")])
def test_same_bytes_as_at_once(
    at_once: Callable[..., Any], inspect: Callable[..., Any], format: str, more: tuple[str, ...]
) -> None:
    wanted = at_once("--output", format, "--working", "--assumed")
    found = inspect("--output", format, "--working", "--assumed", *more)
    assert "Lamp 𝛀 one" in wanted.out or format in ("github", "gitlab", "sarif", "json", "junit")
    assert (found.code, found.err) == (wanted.code, wanted.err) == (2, "")
    assert found.out == wanted.out


def test_a_library_that_builds_find_wrong_stands_once(inspect: Callable[..., Any]) -> None:
    found = inspect("--jobs", "3", "--cache", "none")
    assert found.out.count("parts/bad.rig:") == 1


@pytest.mark.parametrize(("count", "started"), [(8, False), (9, True)])
def test_a_handful_starts_no_process(tmp_path: Path, count: int, started: bool) -> None:
    """A run as a hook starts it: the modules of many builds are not even read."""
    (tmp_path / ".git").mkdir()
    for number in range(count):
        (tmp_path / f"lamp{number}.rig").write_text(
            f'rig "Lamp {number}", revision 1\nbasis us-small-craft\nload lamp 5 A\n', encoding="utf-8"
        )
    script = (
        "import sys\nfrom ohmwright.cli import main\nmain(['inspect', '.'])\n"
        "sys.stderr.write(str([name for name in sys.modules if 'commands.scale' in name or name in ('threading_', 'pickle')]))"
    )
    done = subprocess.run(
        [sys.executable, "-c", script],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        env=os.environ | {"XDG_CACHE_HOME": str(tmp_path / "c")},
        check=True,
    )
    assert (done.stderr != "[]") is started, done.stderr


@pytest.mark.parametrize("wrong", ["0", "-1", "many", "1000"])
def test_numbers_of_processes(inspect: Callable[..., Any], wrong: str) -> None:
    found = inspect("--jobs", wrong)
    assert found.code == 2
    assert "is no number of processes" in found.err


def test_modules_beside_the_builds_are_not_run(builds: Path, inspect: Callable[..., Any], at_once: Callable[..., Any]) -> None:
    """A repository is data: what a new process reads first must not come out of the current folder."""
    wanted = at_once().out
    for name in ("json", "struct", "pickle", "zlib", "ohmwright", "lark", "sitecustomize", "multiprocessing"):
        (builds / f"{name}.py").write_text(f"open({str(builds / 'ran')!r}, 'w')\nraise SystemExit(3)\n", encoding="utf-8")
    assert inspect("--jobs", "2", "--cache", "none").out == wanted
    assert not (builds / "ran").exists()


ODD_PACK = """
from ohmwright.findings import Passed, Severity
from ohmwright.references import Reference
from ohmwright.rules import Grade, Pack, Rule

RULE = Rule("odd-pack", "odd", "odd", "build", (), (Grade("odd", Severity.NOTE, "never"),), (Reference("none", "", "", "unknown"),))
PACK = Pack("odd", "1.0", (__name__,), bases=("us-small-craft", "us-premises", "iec"))

def check(study):
    yield Passed("odd", ("lamp", object()), None, None)
"""


def test_what_cannot_be_sent_is_found_by_the_process_that_asked(builds: Path, tmp_path: Path) -> None:
    """A value of another pack's own in an outcome costs a second look, and no build."""
    pack = tmp_path / "pack"
    (pack / "odd_pack-1.0.dist-info").mkdir(parents=True)
    (pack / "odd_pack-1.0.dist-info" / "entry_points.txt").write_text(
        "[ohmwright.rules]\nodd = odd_pack:PACK\n", encoding="utf-8"
    )
    (pack / "odd_pack.py").write_text(ODD_PACK, encoding="utf-8")
    paths = os.pathsep.join([str(pack), *filter(None, [os.environ.get("PYTHONPATH")])])
    rules = sum(len(installed.modules) for installed in installed_packs())
    said = []
    for jobs in ("1", "2"):
        command = [
            sys.executable,
            "-m",
            "ohmwright.cli",
            "inspect",
            ".",
            "--today",
            "2026-01-01",
            "--cache",
            "none",
            "--jobs",
            jobs,
        ]
        ran = subprocess.run(
            command, cwd=builds, env=os.environ | {"PYTHONPATH": paths}, capture_output=True, text=True, check=False
        )
        assert "itself failed" not in ran.stderr + ran.stdout
        assert f"{rules + 1} rules" in ran.stdout
        said.append((ran.returncode, ran.stdout, ran.stderr))
    assert said[0] == said[1]


def groups(folder: Path) -> list[tuple[str, InspectOptions]]:
    from datetime import date

    return [(str(folder), InspectOptions(today=date(2026, 1, 1)))]


def test_a_process_that_dies_costs_its_own_build_only(builds: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    script = workers._START.replace(
        "; main()",
        ";\nfrom ohmwright.commands.scale import tasks; import os; before = tasks.Inspector.inspect\n"
        "def inspect(self, task):\n    os._exit(7) if 'lamp4' in task[1] else None\n    return before(self, task)\n"
        "tasks.Inspector.inspect = inspect\nmain()",
    )
    monkeypatch.setattr(workers, "_START", script)
    team = Workers(2, groups(builds), (15.0, 1000.0))
    found: dict[int, Done] = {}
    try:
        team.run([(number, (0, f"lamp{number}.rig")) for number in range(1, 9)], found.__setitem__)
    finally:
        team.stop()
    from ohmwright.commands.scale.keeping import Packed

    pieces = {number: Packed(done.data).piece(lambda done=done: Packed(done.data)) for number, done in found.items()}  # type: ignore[misc]
    assert sorted(pieces) == list(range(1, 9))
    assert [number for number, piece in pieces.items() if piece.errors] == [4]
    assert "exit code 7" in pieces[4].errors[0].message
    assert pieces[4].build.partial


def test_a_process_in_which_the_program_fails_ends_the_run(builds: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    script = workers._START.replace("; main()", "; from ohmwright.commands.scale import tasks; tasks.piece_of = None; main()")
    monkeypatch.setattr(workers, "_START", script)
    team = Workers(2, groups(builds), (15.0, 1000.0))
    try:
        with pytest.raises(FailedError, match=r"the program itself failed, at tasks\.py line"):
            team.run([(1, (0, "lamp1.rig"))], lambda number, done: None)
    finally:
        team.stop()
    assert all(process.poll() is not None for process in team._running)


def test_where_no_process_can_be_started_this_one_does_it(
    inspect: Callable[..., Any], at_once: Callable[..., Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    wanted = at_once().out
    monkeypatch.setattr(sys, "executable", "")
    assert inspect("--jobs", "2", "--cache", "none").out == wanted


@pytest.mark.skipif(sys.platform == "win32", reason="needs a pseudo-terminal")
@pytest.mark.parametrize(("term", "shown"), [("xterm", True), ("dumb", False)])
def test_progress_on_a_terminal_only(builds: Path, term: str, shown: bool) -> None:
    import pty

    from ohmwright.commands.scale import progress

    main_end, other_end = pty.openpty()
    script = (
        "from ohmwright.commands.scale import progress; progress._EVERY = 0.0\n"
        "from ohmwright.cli import run; import sys; sys.argv = ['ohmwright', 'inspect', '.', '--cache', 'none']; run()"
    )
    assert progress._EVERY > 0
    done = subprocess.run(
        [sys.executable, "-c", script],
        cwd=builds,
        stdout=subprocess.PIPE,
        stderr=other_end,
        env=os.environ | {"TERM": term},
        check=False,
    )
    os.close(other_end)
    said = b""
    try:
        while data := os.read(main_end, 4096):
            said += data
    except OSError:
        pass  # a pseudo-terminal ends with an error
    os.close(main_end)
    assert (b"of 15 builds" in said) is shown
    assert b"of 15 builds" not in done.stdout
    assert not shown or said.endswith(b"\r")


def runs(pid: int) -> bool:
    """Tell whether a process runs: one that ended stays in the list until somebody asks how, and of orphans nobody may ask."""
    try:
        state = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0]
    except OSError:
        return False
    return state not in "ZX"


@pytest.mark.skipif(sys.platform == "win32", reason="looks at processes by /proc")
def test_an_interrupted_run_leaves_no_process(builds: Path) -> None:
    for number in range(100, 160):
        (builds / f"more{number}.rig").write_text((builds / "lamp1.rig").read_text(encoding="utf-8"), encoding="utf-8")
    script = "from ohmwright.cli import run; import sys; sys.argv = ['ohmwright', 'inspect', '.', '--cache', 'none', '--jobs', '2']; run()"
    process = subprocess.Popen([sys.executable, "-c", script], cwd=builds, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
    children: list[int] = []
    while not children and process.poll() is None:
        time.sleep(0.05)
        try:
            children = [int(word) for word in Path(f"/proc/{process.pid}/task/{process.pid}/children").read_text().split()]
        except OSError:
            pytest.skip("the system does not tell who was started")
    process.send_signal(2)
    _, said = process.communicate(timeout=60)
    assert said.strip() in (b"stopped", b"")
    assert process.returncode in (2, -2)
    end = time.monotonic() + 20
    while (left := [pid for pid in children if runs(pid)]) and time.monotonic() < end:
        time.sleep(0.05)
    assert not left


def test_a_failure_of_the_program_is_said_in_one_line(inspect: Callable[..., Any], monkeypatch: pytest.MonkeyPatch) -> None:
    script = workers._START.replace("; main()", "; from ohmwright.commands.scale import tasks; tasks.piece_of = None; main()")
    monkeypatch.setattr(workers, "_START", script)
    found = inspect("--jobs", "2", "--cache", "none")
    assert (found.code, found.out) == (2, "")
    assert found.err.startswith("ohmwright: the program itself failed, at tasks.py line")
    assert found.err.count("\n") == 1
