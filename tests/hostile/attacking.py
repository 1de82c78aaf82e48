"""A repository under attack, and a way to run the command line on it that sees what the run takes and touches."""

from __future__ import annotations

import hashlib
import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

MARK = "\0report "  # the same as in watched.py
WATCHED = Path(__file__).with_name("watched.py")
MOST_SECONDS = 5.0  # of the processor; a machine that is busy with other things makes nobody wait longer for that
MOST_MEGABYTES = 500.0
MOST_WAITING = 120.0  # seconds by the clock: beyond, something waits for a thing that never comes
SECRET = "wigeon-canary-7731"  # stands in the files outside of the repository: it must never be told

BUILD = """\
rig "Bench", revision 1
basis us-small-craft
site { ambient 5 degC to 30 degC }
battery house { LFP, 4 cells, 100 Ah; internal resistance 4 mohm }
load lamp 5 A
all wires { copper; 105 degC insulation; in free air }
wire feed from house.plus to lamp.plus { 6 AWG; 0.6 m }
wire back from lamp.minus to house.minus { 6 AWG; 0.6 m }
state "lamp on" { lamp on; house at 60 % }
"""


@dataclass(frozen=True)
class Answer:
    """What a run printed, and what it took."""

    code: int
    out: str
    err: str
    seconds: float
    megabytes: float | None

    def builds(self) -> dict[str, dict[str, Any]]:
        """Return the builds of a JSON result by their paths."""
        return {build["path"]: build for build in json.loads(self.out)["builds"]}

    def text_findings(self) -> list[dict[str, Any]]:
        """Return what a JSON result says about texts."""
        return [item for build in self.builds().values() for item in build["findings"] if item["family"] == "text"]


@dataclass(frozen=True)
class Repository:
    """A folder with `.git` that is read, beside one that must not be."""

    arena: Path
    taken: list[tuple[str, float, float | None]] = field(default_factory=list)

    @property
    def root(self) -> Path:
        """The folder of the repository."""
        return self.arena / "repository"

    @property
    def outside(self) -> Path:
        """A folder beside the repository."""
        return self.arena / "outside"

    def write(self, name: str, text: str | bytes = BUILD) -> Path:
        """Write a file below the root."""
        path = self.root / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(text if isinstance(text, bytes) else text.encode("utf-8", "surrogatepass"))
        return path

    def run(
        self,
        *arguments: str,
        budget: str = "60,450",
        writes: tuple[str, ...] = (),
        may_change: tuple[str, ...] = (),
        before: str = "",
        given: tuple[Any, ...] = (),
        environment: Mapping[str, str] | None = None,
        killed: bool = False,
        piped: bool = False,
    ) -> Answer:
        """Run the command line in the root; insist on an answer within time and memory, with nothing touched that is not to be.

        `writes` are the files that may be written; `before` is a function of `breaking.py` that breaks something in the run. With
        `piped` what it prints goes through pipes, which have no size.
        """
        given_budget = ("--budget", budget) if budget else ()
        # other processes and the user's cache are what the watch is there to tell
        if arguments[0] == "inspect" and "." in arguments:
            given_budget = (*given_budget, "--jobs", "1", "--cache", "none")
        before_run = snapshot(self.arena)
        places = {
            "root": str(self.root),
            "write": [str(self.root / name) for name in writes],
            "before": before,
            "given": given,
        }
        python = [sys.executable, "-P"]
        variables = {**os.environ, "PYTHONDONTWRITEBYTECODE": "1", "PYTHONUTF8": "1", "NO_COLOR": "1", **(environment or {})}
        with tempfile.TemporaryFile() as out, tempfile.TemporaryFile() as err:  # a pipe could fill, and be waited for
            ended = subprocess.run(
                [*python, str(WATCHED), json.dumps(places), "--", *arguments, *given_budget],
                cwd=self.root,
                stdin=subprocess.DEVNULL,
                stdout=subprocess.PIPE if piped else out,
                stderr=subprocess.PIPE if piped else err,
                timeout=MOST_WAITING,
                env=variables,
                check=False,
            )
            out.seek(0)
            err.seek(0)
            printed = (ended.stdout if piped else out.read()).decode("utf-8")
            all_said = (ended.stderr if piped else err.read()).decode("utf-8")
        said, _, told = all_said.rpartition(MARK) if MARK in all_said else (all_said, "", "")
        after_run = snapshot(self.arena)
        for name in {*writes, *may_change}:
            before_run.pop(f"repository/{name}", None)
            after_run.pop(f"repository/{name}", None)
            if killed:  # whoever is killed cannot clear away
                for left in [path for path in after_run if path.startswith(f"repository/.{name}.") and path.endswith(".tmp")]:
                    after_run.pop(left)
        if killed:
            assert after_run == before_run, "something was written"
            return Answer(ended.returncode, printed, all_said, 0.0, None)
        assert told, f"the run ended without an answer (exit code {ended.returncode}): {all_said[-2000:]}"
        words = json.loads(told)
        self.taken.append((" ".join(arguments)[:60], words["seconds"], words["megabytes"]))
        assert words["told"] == [], "the run touched what is none of its business"
        assert after_run == before_run, "something was written"
        assert words["code"] in (0, 1, 2), said
        assert "Traceback" not in printed + said
        assert "program itself failed" not in said, said
        assert SECRET not in printed + said, "what stands outside of the repository was told"
        assert_harmless(printed)
        assert_harmless(said)
        assert words["seconds"] < MOST_SECONDS, f"{words['seconds']:.1f} s of the processor"
        assert words["megabytes"] is None or words["megabytes"] < MOST_MEGABYTES, f"{words['megabytes']:.0f} MB"
        assert words["code"] != 2 or said or printed or writes
        return Answer(words["code"], printed, said, words["seconds"], words["megabytes"])

    def inspect(self, *paths: str, budget: str = "60,450", **more: Any) -> Answer:
        """Inspect with the result as JSON."""
        return self.run("inspect", *(paths or ("box.rig",)), "--output", "json", "--today", "2026-01-01", budget=budget, **more)

    def refused(
        self, rule: str, words: str, *, path: str = "box.rig", line: int = 0, paths: tuple[str, ...] = ()
    ) -> dict[str, Any]:
        """Inspect, and insist on exit code 2 with a message at the right place; return its finding."""
        answer = self.inspect(*(paths or ("box.rig",)))
        assert answer.code == 2
        assert answer.err == ""
        found = [item for item in answer.text_findings() if item["rule"] == rule and words in item["message"]]
        assert found, [(item["rule"], item["message"]) for item in answer.text_findings()]
        first: dict[str, Any] = found[0]
        assert first["span"]["path"] == path
        if line:
            assert first["span"]["line"] == line
        return first


def assert_harmless(printed: str) -> None:
    """Insist that nothing steers a terminal or hides or turns what is written."""
    for line in printed.split("\n"):
        assert line.isprintable(), f"a character that is not to be seen in {line[:200]!r}"


def snapshot(folder: Path) -> dict[str, tuple[Any, ...]]:
    """Return what every file below a folder is: nothing is followed, no device is opened."""
    found: dict[str, tuple[Any, ...]] = {}
    stack = [(os.fspath(folder), "")]
    while stack:
        place, name = stack.pop()
        for entry in os.scandir(place):
            path = f"{name}{entry.name}"
            facts = entry.stat(follow_symlinks=False)
            if entry.is_dir(follow_symlinks=False):
                found[path] = ("folder", facts.st_mode)
                stack.append((entry.path, f"{path}/"))
            elif entry.is_symlink():
                found[path] = ("link", os.readlink(entry.path))
            elif entry.is_file(follow_symlinks=False):
                digest = b""
                if 0 < facts.st_size < 10_000_000:
                    with suppress(PermissionError), open(entry.path, "rb") as stream:
                        digest = hashlib.sha256(stream.read()).digest()
                found[path] = ("file", facts.st_mode, facts.st_size, digest)
            else:
                found[path] = ("other", facts.st_mode)
    return found


need_links = pytest.mark.skipif(sys.platform == "win32", reason="links need a permission there")
need_pipes = pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="a pipe has no name there")
