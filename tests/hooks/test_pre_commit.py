"""The hook as a builder uses it: through pre-commit itself, in a repository of builds."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
GOOD = """rig "Bench lamp", revision 1
basis us-small-craft
load lamp 1 A
"""
BAD = GOOD.replace("1 A", "1 bolt")

pytestmark = pytest.mark.skipif(shutil.which("git") is None, reason="git is not on this machine")


@pytest.fixture
def surroundings(tmp_path: Path) -> dict[str, str]:
    """Return an environment in which git and pre-commit touch nothing outside of the test's folder."""
    config = tmp_path / "gitconfig"
    config.write_text(
        '[user]\n name = Tester\n email = tester@example.org\n[protocol "file"]\n allow = always\n[init]\n defaultBranch = main\n'
        f"[safe]\n directory = {ROOT.as_posix()}\n directory = *\n"
    )
    return os.environ | {
        "GIT_CONFIG_GLOBAL": str(config),
        "PRE_COMMIT_HOME": str(tmp_path / "cache"),
        "PRE_COMMIT_COLOR": "never",
    }


def _run(arguments: list[str], folder: Path, surroundings: dict[str, str]) -> subprocess.CompletedProcess[str]:
    return subprocess.run(arguments, cwd=folder, env=surroundings, capture_output=True, text=True, check=False, timeout=600)


def _builds(folder: Path, surroundings: dict[str, str]) -> Path:
    repository = folder / "builds"
    repository.mkdir()
    _run(["git", "init", "-q"], repository, surroundings)
    return repository


def test_hook_file_is_valid(surroundings: dict[str, str]) -> None:
    done = _run([sys.executable, "-m", "pre_commit", "validate-manifest", ".pre-commit-hooks.yaml"], ROOT, surroundings)
    assert done.returncode == 0, done.stdout + done.stderr


def test_try_repo_stops_a_bad_build_and_passes_a_good_one(tmp_path: Path, surroundings: dict[str, str]) -> None:
    if not (ROOT / ".git").exists():
        pytest.skip("this copy of the project is no git repository")
    repository = _builds(tmp_path, surroundings)
    build = repository / "lamp no 1.rig"
    build.write_text(BAD)
    _run(["git", "add", "."], repository, surroundings)
    command = [sys.executable, "-m", "pre_commit", "try-repo", str(ROOT), "ohmwright", "--all-files"]
    stopped = _run(command, repository, surroundings)
    if (
        "Could not find a version" in stopped.stdout + stopped.stderr
        or "No matching distribution" in stopped.stdout + stopped.stderr
    ):
        pytest.skip("the package index cannot be reached")
    assert stopped.returncode == 1, stopped.stdout + stopped.stderr
    assert "unknown-unit" in stopped.stdout
    assert "lamp no 1.rig" in stopped.stdout
    build.write_text(GOOD)
    _run(["git", "add", "."], repository, surroundings)
    passed = _run(command, repository, surroundings)
    assert passed.returncode == 0, passed.stdout + passed.stderr
