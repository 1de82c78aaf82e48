"""A repository under attack for each test."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))

from hostile.attacking import SECRET, Repository


@pytest.fixture
def repository(tmp_path: Path) -> Iterator[Repository]:
    """An empty repository beside a folder with a secret in it."""
    made = Repository(tmp_path / "arena")
    (made.root / ".git").mkdir(parents=True)
    made.outside.mkdir()
    for name in ("shelf.rig", "box.rig", "ohmwright.toml", "baseline.json"):
        (made.outside / name).write_text(
            f'# {SECRET}\nfuse canary {{ 15 A blade; described as "{SECRET}" }}\n', encoding="utf-8"
        )
    yield made
    if made.taken and os.environ.get("OHMWRIGHT_SHOW_TAKEN"):
        for arguments, seconds, megabytes in made.taken:
            sys.__stdout__.write(f"\ntaken {seconds:6.2f} s {megabytes or 0:6.0f} MB  {arguments}")
