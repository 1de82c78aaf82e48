"""The engine alone, without the command line: no thread, no process, no connection, no file written, no clock, so that it runs wherever Python does."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
# What a Python in a browser does not have, and a clock; None in sys.modules makes importing one fail.
ABSENT = (
    "_thread", "threading", "multiprocessing", "_multiprocessing", "_posixsubprocess", "subprocess", "concurrent", "asyncio", "selectors", "select",
    "socket", "_socket", "ssl", "resource", "fcntl", "termios", "tty", "pwd", "grp", "curses", "time", "random", "secrets", "tempfile", "shutil",
)  # fmt: skip

ENGINE = """
import sys
import time


def no_clock(*arguments):
    raise AssertionError("a clock was asked")


for name in ("time", "time_ns", "monotonic", "monotonic_ns", "perf_counter", "perf_counter_ns", "process_time", "localtime", "gmtime", "sleep"):
    setattr(time, name, no_clock)
from datetime import date
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.resolve import Loader
from ohmwright.inspecting import InspectOptions, inspect_files
from ohmwright.reports import json_report, text as sheet
from ohmwright_rules import PACK

texts = {path: open(path, encoding="utf-8").read() for path in sys.argv[1:]}
for _ in PACK.load():  # every rule and its tables
    pass


def watch(event, arguments):
    if event == "open" and (arguments[1] or "r") not in ("r", "rb") or event.partition(".")[0] in ("subprocess", "socket", "os", "shutil", "tempfile"):
        if event not in ("os.listdir", "os.scandir"):
            raise AssertionError(f"{event}: {arguments}")


clock = time.perf_counter
for name in ABSENT:
    sys.modules[name] = None
sys.addaudithook(watch)
options = InspectOptions(today=date(2026, 1, 1), reached=REACHED, assumed=True)
result = inspect_files(list(texts), Loader(MemoryFiles(texts)), options, (PACK,))
assert not result.errors, result.errors
assert "farm_stand" in sheet.write(result)
assert "farm_stand" in "".join(json_report.pieces(result))
assert sum(len(build.findings) + len(build.passes) for build in result.builds) > 100
DO_MORE
print("done")
"""


def run(more: str = "", reached: bool = False) -> subprocess.CompletedProcess[str]:
    """Run the engine over an example in a process of its own in which what it may not use is missing or watched."""
    script = f"ABSENT = {ABSENT!r}\nREACHED = {reached}\n{ENGINE.replace('DO_MORE', more)}"
    paths = [
        path.relative_to(EXAMPLES).as_posix()
        for path in (EXAMPLES / "first.rig", *sorted((EXAMPLES / "farm_stand").rglob("*.rig")))
    ]
    return subprocess.run([sys.executable, "-c", script, *paths], cwd=EXAMPLES, capture_output=True, text=True)


@pytest.mark.parametrize("reached", [False, True])
def test_engine_reads_solves_and_judges_alone(reached: bool) -> None:
    ran = run(reached=reached)
    assert (ran.stdout, ran.returncode) == ("done\n", 0), ran.stderr


@pytest.mark.parametrize(
    "more",
    [
        "import time",
        "clock()",
        "import threading",
        "import subprocess",
        "open('x.txt', 'w')",
        "import os; os.remove('nowhere')",
        "import random",
    ],
)
def test_watch_would_tell(more: str) -> None:
    assert run(more).returncode == 1
