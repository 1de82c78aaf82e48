"""How much of a run over many builds is held at a time: results are packed as they come, and reports read them one after the other."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from ohmwright.reports import WRITERS

from .conftest import lamp

MANY = 40
FEW = 10  # builds at a time; a page of Markdown has all of them in its order, without what passed

# Without the room that a small run has to keep what it found as it is. In a process of its own, which holds nothing but the run.
SCRIPT = """
import gc, json, sys
from ohmwright.cli import main
from ohmwright.commands.scale import keeping
from ohmwright.results import BuildResult, Kept

keeping.Shelf.__init__.__defaults__ = (keeping.Shelf.__init__.__defaults__[0], 0)
keeping._HEADS_KEPT = 0
held = []
real = keeping.Packed.build

def counted(self, again):
    kinds = [type(item) for item in gc.get_objects()]
    held.append((kinds.count(BuildResult), kinds.count(Kept)))
    return real(self, again)

keeping.Packed.build = counted
main(sys.argv[1:])
sys.stderr.write(json.dumps(held))
"""


@pytest.mark.parametrize("format", sorted(WRITERS))
def test_results_are_read_one_after_the_other(builds: Path, format: str) -> None:
    for number in range(MANY):
        (builds / f"more{number}.rig").write_text(lamp(30 + number), encoding="utf-8")
    command = [sys.executable, "-c", SCRIPT, "inspect", ".", "--today", "2026-01-01", "--jobs", "1", "--cache", "none"]
    ran = subprocess.run(
        [*command, "--output", format],
        cwd=builds,
        env=os.environ | {"NO_COLOR": "1"},
        capture_output=True,
        text=True,
        check=True,
    )
    held = json.loads(ran.stderr)
    assert len(held) > MANY
    assert max(built for built, _ in held) <= (3 * (MANY + 20) if format == "markdown" else FEW)
    assert max(passed for _, passed in held) < 400  # of two builds at the most; each passes more than a hundred checks
