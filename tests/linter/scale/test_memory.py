"""How much of a run over many builds is held at a time: results are packed as they come, and reports read them one after the other."""

from __future__ import annotations

import gc
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from ohmwright.commands.scale import keeping
from ohmwright.reports import WRITERS
from ohmwright.results import BuildResult, Kept

from .conftest import lamp

MANY = 40
FEW = 10  # builds at a time; a page of Markdown has all of them in its order, without what passed


@pytest.mark.parametrize("format", sorted(WRITERS))
def test_results_are_read_one_after_the_other(
    builds: Path, inspect: Callable[..., Any], monkeypatch: pytest.MonkeyPatch, format: str
) -> None:
    """Without the room that a small run has to keep what it found as it is."""
    for number in range(MANY):
        (builds / f"more{number}.rig").write_text(lamp(30 + number), encoding="utf-8")
    room = keeping.Shelf.__init__.__defaults__
    assert room is not None
    monkeypatch.setattr(keeping.Shelf.__init__, "__defaults__", (room[0], 0))
    monkeypatch.setattr(keeping, "_HEADS_KEPT", 0)
    held: list[tuple[int, int]] = []
    real = keeping.Packed.build

    def counted(self: keeping.Packed, again: Callable[[], keeping.Packed]) -> tuple[BuildResult, int]:
        kinds = [type(item) for item in gc.get_objects()]
        held.append((kinds.count(BuildResult), kinds.count(Kept)))
        return real(self, again)

    monkeypatch.setattr(keeping.Packed, "build", counted)
    inspect("--jobs", "1", "--cache", "none", "--output", format)
    assert len(held) > MANY
    assert max(built for built, _ in held) <= (3 * (MANY + 20) if format == "markdown" else FEW)
    assert max(passed for _, passed in held) < 400  # of two builds at the most; each passes more than a hundred checks
