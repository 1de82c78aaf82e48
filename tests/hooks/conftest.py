"""Repositories of builds in empty folders, with git and pre-commit kept from everything outside of them."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[2]
Ran = subprocess.CompletedProcess[str]
_NO_INDEX = ("Could not find a version", "No matching distribution", "Failed to establish a new connection")


@dataclass
class Repository:
    """A git repository and the surroundings in which its commands run."""

    folder: Path
    surroundings: dict[str, str]

    def run(self, *arguments: str, **more: str) -> Ran:
        """Run a command in the repository; `more` are variables of its surroundings."""
        return subprocess.run(
            list(arguments), cwd=self.folder, env=self.surroundings | more, capture_output=True, text=True, encoding="utf-8",
            errors="replace", check=False, timeout=600, stdin=subprocess.DEVNULL,
        )  # fmt: skip

    def git(self, *arguments: str) -> str:
        """Run git, which must succeed; return what it prints."""
        done = self.run("git", *arguments)
        assert done.returncode == 0, done.stdout + done.stderr
        return done.stdout

    def pre_commit(self, *arguments: str, **more: str) -> Ran:
        """Run pre-commit."""
        return self.run(sys.executable, "-m", "pre_commit", *arguments, **more)

    def write(self, texts: Mapping[str, str]) -> None:
        """Write files, line ends as they are."""
        for name, text in texts.items():
            place = self.folder / name
            place.parent.mkdir(parents=True, exist_ok=True)
            place.write_bytes(text.encode("utf-8"))

    def commit(self, texts: Mapping[str, str], message: str = "Change") -> str:
        """Write files and commit everything, without hooks; return the commit."""
        self.write(texts)
        self.git("add", "--all")
        self.git("commit", "-q", "--no-verify", "--allow-empty", "-m", message)
        return self.git("rev-parse", "HEAD").strip()


def surroundings_in(folder: Path) -> dict[str, str]:
    """Return an environment in which git and pre-commit touch nothing outside of a folder."""
    config = folder / "gitconfig"
    config.write_text(
        '[user]\n name = Tester\n email = tester@example.org\n[protocol "file"]\n allow = always\n[init]\n defaultBranch = main\n'
        "[safe]\n directory = *\n[commit]\n gpgsign = false\n[core]\n autocrlf = false\n"
    )
    kept = {key: value for key, value in os.environ.items() if not key.startswith(("GIT_", "GITHUB_", "PRE_COMMIT", "PYTHON"))}
    return kept | {
        "GIT_CONFIG_GLOBAL": str(config),
        "GIT_CONFIG_NOSYSTEM": "1",
        "PRE_COMMIT_HOME": str(folder / "cache"),
        "PRE_COMMIT_COLOR": "never",
        "PYTHONUTF8": "1",
    }


@pytest.fixture(scope="session")
def hooks_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder that all tests of hooks share: the environment of the hooks is made in it once."""
    if shutil.which("git") is None:
        pytest.skip("git is not on this machine")
    return tmp_path_factory.mktemp("hooks")


@pytest.fixture(scope="session")
def published(hooks_folder: Path) -> tuple[Repository, str]:
    """Return a repository that holds this project as it stands here, with its commit."""
    repository = Repository(hooks_folder / "published", surroundings_in(hooks_folder))
    left_out = shutil.ignore_patterns("__pycache__", ".*cache", ".hypothesis", ".git", ".venv*", "tests", "build", "dist")
    shutil.copytree(ROOT, repository.folder, ignore=left_out, symlinks=True)
    repository.git("init", "-q")
    return repository, repository.commit({}, "Publish")


@pytest.fixture
def builds(tmp_path: Path, hooks_folder: Path) -> Repository:
    """Return an empty repository of builds."""
    repository = Repository(tmp_path / "builds", surroundings_in(hooks_folder))
    repository.folder.mkdir()
    repository.git("init", "-q")
    return repository


@pytest.fixture(scope="session")
def _warm(hooks_folder: Path, published: tuple[Repository, str]) -> Ran:
    """Make the environment of the hooks, once."""
    repository = Repository(hooks_folder / "first", surroundings_in(hooks_folder))
    repository.folder.mkdir()
    repository.git("init", "-q")
    repository.commit({".pre-commit-config.yaml": hook_settings(published)})
    return repository.pre_commit("install-hooks")


@pytest.fixture
def hooked(builds: Repository, published: tuple[Repository, str], _warm: Ran, reference_skip: Any) -> Callable[..., Repository]:
    """Give the repository of builds the hooks, pinned to a commit and installed."""
    if _warm.returncode and any(words in _warm.stdout + _warm.stderr for words in _NO_INDEX):
        reference_skip("the package index, for the environment of a hook")
    assert _warm.returncode == 0, _warm.stdout + _warm.stderr

    def make(texts: Mapping[str, str], hooks: tuple[str, ...] = ("ohmwright",), args: str = "") -> Repository:
        builds.commit({".pre-commit-config.yaml": hook_settings(published, hooks, args), **texts}, "Begin")
        done = builds.pre_commit("install")
        assert done.returncode == 0, done.stdout + done.stderr
        return builds

    return make


def hook_settings(
    published: tuple[Repository, str], hooks: tuple[str, ...] = ("ohmwright", "ohmwright-tidy"), args: str = ""
) -> str:
    """Return the settings of pre-commit for some hooks of the published project."""
    repository, commit = published
    lines = ["repos:", f"  - repo: {repository.folder.as_posix()}", f"    rev: {commit}", "    hooks:"]
    for hook in hooks:
        lines.append(f"      - id: {hook}")
        if args:
            lines.append(f"        args: {args}")
    return "\n".join(lines) + "\n"
