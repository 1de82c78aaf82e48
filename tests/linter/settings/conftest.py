"""A repository of builds in an empty folder."""

from __future__ import annotations

import subprocess
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest


@pytest.fixture
def repository(command: Any, kit: Any, sample_installed: Any) -> Callable[[Mapping[str, str]], Path]:
    """Write files below the current folder, which is made a git root, with the bench build as `box.rig` and the invented rule pack; return the folder."""

    def make(texts: Mapping[str, str]) -> Path:
        folder = Path.cwd()
        (folder / ".git").mkdir(exist_ok=True)
        for name, text in {"box.rig": kit.bench, **texts}.items():
            place = folder / name
            place.parent.mkdir(parents=True, exist_ok=True)
            place.write_text(text, encoding="utf-8")
        return folder

    return make


@pytest.fixture
def git() -> Callable[..., str]:
    """Run git in the current folder."""

    def run(*arguments: str) -> str:
        return subprocess.run(["git", *arguments], check=True, capture_output=True, text=True).stdout

    return run
