"""The examples that share a run among jobs: their own lines are run, each job as its service would, and the joined run says what one run says.

Of the services only this is imitated: variables are in the surroundings, lines of a job are run by a shell, and parts lie in one folder ("GitLab CI/CD YAML
syntax reference" and "Workflow syntax for GitHub Actions", from memory).
"""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import yaml

EXAMPLES = Path(__file__).resolve().parents[3] / "examples" / "review"


@pytest.fixture
def shell(builds: Path, tmp_path: Path) -> Callable[..., int]:
    """Run lines of a job among the builds with the program of this checkout."""
    programs = tmp_path / "ohmwright" / "bin"
    programs.mkdir(parents=True)
    program = programs / "ohmwright"
    program.write_text(f'#!/bin/sh\nexec {sys.executable} -c "from ohmwright.cli import run; run()" "$@"\n', encoding="utf-8")
    program.chmod(0o755)

    def run(script: str, folder: Path, **more: str) -> int:
        surroundings = os.environ | more | {"PATH": f"{programs}:{os.environ['PATH']}", "RUNNER_TEMP": str(tmp_path)}
        return subprocess.run(
            ["bash", "-e", "-c", script], cwd=folder, env=surroundings, stdout=subprocess.DEVNULL, check=False
        ).returncode

    return run


pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="the jobs run on Linux")


def test_gitlab(shell: Callable[..., int], builds: Path, at_once: Callable[..., Any]) -> None:
    jobs = yaml.safe_load((EXAMPLES / "gitlab-shares.yml").read_text(encoding="utf-8"))
    count = jobs["share"]["parallel"]
    wanted = {format: at_once("--output", format) for format in ("gitlab", "markdown")}
    for number in range(1, count + 1):
        variables = {"CI_NODE_INDEX": str(number), "CI_NODE_TOTAL": str(count), "CI_JOB_STARTED_AT": "2026-01-01T10:00:00Z"}
        assert shell("\n".join(jobs["share"]["script"]), builds, **variables) == 0
    assert shell("\n".join(jobs["joined"]["script"]), builds) == wanted["gitlab"].code == 2
    assert (builds / "reports" / "quality.json").read_text(encoding="utf-8") == wanted["gitlab"].out
    assert (builds / "reports" / "inspection.md").read_text(encoding="utf-8") == wanted["markdown"].out


def test_github(shell: Callable[..., int], builds: Path, tmp_path: Path, at_once: Callable[..., Any]) -> None:
    jobs = yaml.safe_load((EXAMPLES / "github-shares.yml").read_text(encoding="utf-8"))["jobs"]
    wanted = at_once("--output", "markdown")
    (inspect,) = (step for step in jobs["share"]["steps"] if step.get("name") == "Inspect")
    (join,) = (step for step in jobs["joined"]["steps"] if step.get("name") == "Join")
    shares = jobs["share"]["strategy"]["matrix"]["share"]
    for number in shares:
        assert f"/{len(shares)}" in inspect["run"]
        assert shell(inspect["run"], builds, SHARE=str(number), TODAY="2026-01-01") == 0
    (tmp_path / "parts").mkdir()
    for path in tmp_path.glob("part-*"):
        path.rename(tmp_path / "parts" / path.name)
    summary = tmp_path / "summary.md"
    assert shell(join["run"], tmp_path, GITHUB_STEP_SUMMARY=str(summary)) == wanted.code
    assert summary.read_text(encoding="utf-8") == wanted.out
