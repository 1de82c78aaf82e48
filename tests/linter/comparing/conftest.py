"""A scratch git repository, and two texts of one build held against each other."""

from __future__ import annotations

import json
import subprocess
from collections.abc import Callable, Mapping
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.model import Build
from ohmwright_grammar.resolve import Loader, Resolved, resolve

SCHEMA = json.loads((files("ohmwright") / "schemas" / "compare.json").read_text(encoding="utf-8"))


@pytest.fixture
def model() -> Callable[..., Build]:
    """Read a text as a build."""

    def read(text: str, **others: str) -> Build:
        found = resolve(
            "box.rig", Loader(MemoryFiles({"box.rig": text, **{f"{name}.rig": body for name, body in others.items()}}))
        )
        assert isinstance(found, Resolved), found
        assert found.problems == ()
        return found.build

    return read


@pytest.fixture
def git(tmp_path: Path, command: Any) -> Callable[..., str]:
    """Run git in the current folder, which is made a repository with a branch main."""

    def run(*arguments: str) -> str:
        line = ["git", "-c", "user.name=T", "-c", "user.email=t@example.org", "-c", "commit.gpgsign=false", *arguments]
        return subprocess.run(line, check=True, capture_output=True, text=True, cwd=tmp_path).stdout

    run("init", "-q", "-b", "main")
    return run


@pytest.fixture
def put(tmp_path: Path) -> Callable[[Mapping[str, str | None]], None]:
    """Write files below the current folder; None takes one away."""

    def write(texts: Mapping[str, str | None]) -> None:
        for name, text in texts.items():
            place = tmp_path / name
            if text is None:
                place.unlink()
                continue
            place.parent.mkdir(parents=True, exist_ok=True)
            place.write_bytes(text.encode("utf-8"))

    return write


@pytest.fixture
def commit(git: Any, put: Any) -> Callable[..., None]:
    """Write files and commit them, on a branch of the given name where that is said."""

    def make(texts: Mapping[str, str | None], branch: str = "") -> None:
        if branch:
            git("switch", "-q", "-f", "-C", branch, "main")
        put(texts)
        git("add", "-A")
        git("commit", "-q", "-m", "change", "--allow-empty")

    return make


@pytest.fixture
def compared(command: Any) -> Callable[..., dict[str, Any]]:
    """Run compare and return its result in JSON, checked against the schema."""

    def run(*arguments: str, code: int | None = None) -> dict[str, Any]:
        ran = command("compare", *arguments, "--output", "json", "--today", "2026-01-01")
        assert code is None or ran.code == code, (ran.code, ran.err, ran.out[:2000])
        document: dict[str, Any] = json.loads(ran.out)
        Draft202012Validator(SCHEMA).validate(document)
        return document

    return run
