"""A repository of builds with a branch to judge by, and the action installed once."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "tests"))

from action.runner import Run, Runner  # noqa: E402

ACTION = ROOT / ".github" / "actions" / "review"
_NO_INDEX = ("Could not find a version", "No matching distribution")


@dataclass
class Repository:
    """A repository with a `main` to judge by, and a change that is checked out as the service does: as its merge into main."""

    folder: Path
    surroundings: dict[str, str]
    proposed: str = ""
    target: str = ""
    names: list[str] = field(default_factory=list)

    def git(self, *arguments: str) -> str:
        done = subprocess.run(
            ["git", *arguments],
            cwd=self.folder,
            env=self.surroundings,
            capture_output=True,
            check=False,
            stdin=subprocess.DEVNULL,
        )
        assert done.returncode == 0, done.stderr.decode("utf-8", "replace")
        return done.stdout.decode("utf-8", "surrogateescape").strip()

    def write(self, texts: Mapping[str, str | None]) -> None:
        """Write files; None takes one away."""
        for name, text in texts.items():
            place = self.folder / name
            place.parent.mkdir(parents=True, exist_ok=True)
            if text is None:
                place.unlink()
            else:
                place.write_bytes(text.encode("utf-8"))

    def commit(self, texts: Mapping[str, str | None]) -> str:
        self.write(texts)
        self.git("add", "--all")
        self.git("commit", "-q", "--allow-empty", "-m", "Change")
        return self.git("rev-parse", "HEAD")

    def propose(self, texts: Mapping[str, str | None], before: Callable[[], None] | None = None) -> None:
        """Commit a change on a branch of its own, and check out its merge into main."""
        self.target = self.git("rev-parse", "main")
        self.git("switch", "-q", "-C", "change", "main")
        if before is not None:
            before()
        self.proposed = self.commit(texts)
        self.merge()

    def merge(self) -> None:
        """Check out the merge of what is proposed into main as it is now."""
        self.git("switch", "-q", "--detach", "main")
        self.git("merge", "-q", "--no-ff", "-m", "Merge", self.proposed)

    def event(self, **more: Any) -> dict[str, Any]:
        """Return what the service tells of a pull request from the repository itself."""
        return {
            "event_name": "pull_request", "sha": self.git("rev-parse", "HEAD"), "repository": "them/builds", "actor": "someone",
            "event": {
                "pull_request": {
                    "base": {"sha": self.target}, "head": {"sha": self.proposed, "repo": {"full_name": "them/builds"}}
                }
            },
        } | more  # fmt: skip


@pytest.fixture
def repository(tmp_path: Path) -> Repository:
    """Return an empty repository."""
    if shutil.which("git") is None or shutil.which("bash") is None or sys.platform == "win32":
        pytest.skip("git or bash is not on this machine")
    config = tmp_path / "gitconfig"
    config.write_text(
        '[user]\n name = Tester\n email = tester@example.org\n[init]\n defaultBranch = main\n[safe]\n directory = *\n[protocol "file"]\n allow = always\n'
    )
    kept = {key: value for key, value in os.environ.items() if not key.startswith(("GIT_", "GITHUB_", "PYTHON"))}
    surroundings = kept | {"GIT_CONFIG_GLOBAL": str(config), "GIT_CONFIG_NOSYSTEM": "1", "LC_ALL": "C.UTF-8"}
    folder = tmp_path / "builds"
    folder.mkdir()
    found = Repository(folder, surroundings)
    found.git("init", "-q")
    return found


@pytest.fixture(scope="session")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Run:
    """Run the action's step that installs, once, in a folder with files that Python would take for its own."""
    temporary, workspace = tmp_path_factory.mktemp("runner"), tmp_path_factory.mktemp("workspace")
    for name in ("venv", "pip", "sitecustomize", "encodings", "hatchling", "ensurepip"):
        (workspace / f"{name}.py").write_text(f"open({str(temporary / 'ran')!r}, 'a').write({name!r})\n", encoding="utf-8")
    runner = Runner(ACTION, workspace, temporary, {**os.environ, "PYTHONPATH": str(workspace)})
    return runner.run({"event_name": "none"}, {"python": sys.executable})


@pytest.fixture
def review(installed: Run, reference_skip: Any, tmp_path: Path) -> Callable[..., Run]:
    """Run the action in a repository; the step that installs is not run again."""
    step = installed.steps["Install Ohmwright"]
    if step.code and any(words in step.log for words in _NO_INDEX):
        reference_skip("the package index, for the environment of the action")
    assert step.code == 0, step.log
    temporary = tmp_path / "runner"
    temporary.mkdir()

    def run(repository: Repository, github: Mapping[str, Any] | None = None, **inputs: str) -> Run:
        given = {name.replace("_", "-"): value for name, value in inputs.items()}
        runner = Runner(ACTION, repository.folder, temporary, repository.surroundings)
        return runner.run(github or repository.event(), given, {"install": step.outputs})

    return run
