"""The examples for other services and for a plain shell, run for real with the program that the action installed.

Of GitLab's runner only this is imitated: variables of a job are in the surroundings, and the lines of `script` are run by a shell ("GitLab CI/CD YAML syntax
reference" and "Predefined CI/CD variables", docs.gitlab.com, from memory).
"""

from __future__ import annotations

import json
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import yaml

ROOT = Path(__file__).resolve().parents[2]
EXAMPLES = ROOT / "examples" / "review"
LAMP = 'rig "Bench lamp", revision 1\nbasis us-small-craft\nload lamp { 1 A; works on 10.5 V to 15 V }\n'
BROKEN = LAMP.replace("1 A", "1 bolt")
STRICT = 'bar = "warning"\n'
OFF = '[[left-out]]\npath = "**"\nbecause = "it is in the way"\n'


def shell(repository: Any, installed: Any, *command: str, **more: str) -> subprocess.CompletedProcess[str]:
    programs = installed.steps["Install Ohmwright"].outputs["programs"]
    surroundings = repository.surroundings | more | {"PATH": f"{programs}:{repository.surroundings['PATH']}"}
    return subprocess.run(
        command, cwd=repository.folder, env=surroundings, capture_output=True, text=True, encoding="utf-8", check=False,
        timeout=600, stdin=subprocess.DEVNULL,
    )  # fmt: skip


@pytest.fixture
def by_shell(repository: Any, review: Any, installed: Any, tmp_path: Path) -> Callable[[], int]:
    """Review what is checked out with the plain script; `review` makes sure that the program is there."""

    def run() -> int:
        done = shell(repository, installed, "bash", str(EXAMPLES / "review.sh"), "main", str(tmp_path / "reports"))
        (tmp_path / "printed").write_text(done.stdout + done.stderr, encoding="utf-8")
        return done.returncode

    return run


@pytest.fixture
def by_gitlab(repository: Any, review: Any, installed: Any, tmp_path: Path) -> Callable[[], int]:
    """Review what is checked out with the script of the job for GitLab, in a clone of the repository."""

    def run() -> int:
        job = yaml.safe_load((EXAMPLES / "gitlab-ci.yml").read_text(encoding="utf-8"))["review-of-builds"]
        script = tmp_path / "script.sh"
        script.write_text("\n".join(job["script"]), encoding="utf-8")
        clone = tmp_path / "clone"
        if not clone.exists():
            repository.git("clone", "-q", repository.folder.as_uri(), str(clone))
        repository.git("-C", str(clone), "fetch", "-q", "origin", repository.git("rev-parse", "HEAD"))
        repository.git("-C", str(clone), "checkout", "-q", "FETCH_HEAD")
        here, repository.folder = repository.folder, clone
        repository.git("config", "--global", "uploadpack.allowAnySHA1InWant", "true")
        try:
            done = shell(
                repository, installed, "bash", "-e", str(script), CI_MERGE_REQUEST_TARGET_BRANCH_NAME="main", CI_PROJECT_DIR=str(clone)
            )  # fmt: skip
        finally:
            repository.folder = here
        (tmp_path / "printed").write_text(done.stdout + done.stderr, encoding="utf-8")
        return done.returncode

    return run


@pytest.fixture(params=["by_shell", "by_gitlab"])
def reviewed(request: pytest.FixtureRequest) -> Callable[[], int]:
    """Review what is checked out, by each of the examples."""
    found: Callable[[], int] = request.getfixturevalue(request.param)
    return found


def test_good_and_bad_changes(repository: Any, reviewed: Callable[[], int], tmp_path: Path) -> None:
    repository.commit({"lamp.rig": LAMP, "other.rig": BROKEN})
    repository.propose({"lamp.rig": LAMP.replace("revision 1", "revision 2")})
    assert reviewed() == 0, (tmp_path / "printed").read_text(encoding="utf-8")
    repository.propose({"Kühl box.rig": LAMP.replace("; works on 10.5 V to 15 V", "")})
    assert reviewed() == 1, (tmp_path / "printed").read_text(encoding="utf-8")
    repository.propose({"lamp.rig": BROKEN})
    assert reviewed() == 2
    assert "lamp.rig" in (tmp_path / "printed").read_text(encoding="utf-8")
    repository.propose({"notes.md": "words"})
    assert reviewed() == 0


def test_settings_of_the_change_do_not_judge_it(repository: Any, reviewed: Callable[[], int], tmp_path: Path) -> None:
    repository.commit({"ohmwright.toml": STRICT})
    repository.propose({"ohmwright.toml": OFF, "lamp.rig": LAMP, "sub/ohmwright.toml": OFF, "sub/lamp.rig": LAMP})
    assert reviewed() == 1
    printed = (tmp_path / "printed").read_text(encoding="utf-8")
    assert printed.count("terminal left open") >= 2


def test_weaker_settings_alone_are_stopped(repository: Any, reviewed: Callable[[], int]) -> None:
    repository.commit({"ohmwright.toml": STRICT, "lamp.rig": LAMP})
    repository.propose({"ohmwright.toml": 'bar = "error"\n'})
    assert reviewed() == 1


def test_baseline_of_the_target_counts(repository: Any, reviewed: Callable[[], int], review: Any, installed: Any) -> None:
    repository.write({"lamp.rig": LAMP})
    shell(
        repository,
        installed,
        "ohmwright",
        "inspect",
        "--write-baseline",
        "--baseline",
        "known.json",
        "--states",
        "reached",
        "lamp.rig",
    )
    repository.commit({"ohmwright.toml": f'{STRICT}baseline = "known.json"\n'})
    repository.propose({"lamp.rig": LAMP.replace("revision 1", "revision 2")})
    assert reviewed() == 0


def test_a_change_that_lags_behind_is_told_to_merge(repository: Any, reviewed: Callable[[], int], tmp_path: Path) -> None:
    """Where it once left the target branch, settings may have been weaker."""
    repository.commit({"lamp.rig": LAMP})
    repository.propose({"lamp.rig": LAMP.replace("revision 1", "revision 2")})
    repository.git("switch", "-q", "main")
    repository.commit({"ohmwright.toml": STRICT})
    repository.git("checkout", "-q", repository.proposed)
    assert reviewed() == 2
    assert "erge" in (tmp_path / "printed").read_text(encoding="utf-8")


def test_reports_for_gitlab(repository: Any, by_gitlab: Callable[[], int], tmp_path: Path) -> None:
    repository.commit({"lamp.rig": LAMP})
    repository.propose({"lamp.rig": BROKEN})
    assert by_gitlab() == 2
    quality = json.loads((tmp_path / "clone" / "reports" / "quality.json").read_text(encoding="utf-8"))
    assert {item["location"]["path"] for item in quality} == {"lamp.rig"}
    assert (tmp_path / "clone" / "reports" / "junit.xml").read_text(encoding="utf-8").startswith("<?xml")


def test_several_files_of_settings_are_more_than_they_take(
    repository: Any, reviewed: Callable[[], int], tmp_path: Path
) -> None:
    repository.commit({"a/ohmwright.toml": STRICT, "b/ohmwright.toml": STRICT})
    repository.propose({"a/lamp.rig": LAMP})
    assert reviewed() == 2
    assert "ohmwright.toml, at the top" in (tmp_path / "printed").read_text(encoding="utf-8")
