"""A folder of small builds, some of them wrong in a way of their own, and ways to inspect it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

LIBRARY = "fuse small { 10 A blade; breaks 1 kA at 32 V dc; 32 V }\n"
FAULTY = "fuse small { 10 bolt blade }\n"


def lamp(number: int, more: str = "") -> str:
    """Return a small build."""
    return (
        f'rig "Lamp {number}", revision 1\nbasis us-small-craft\n{more}'
        "battery house { LFP, 4 cells, 100 Ah; internal resistance 4 mohm }\n"
        f"load lamp {5 + number} A\n"
        "wire feed from house.plus to lamp.plus { 6 AWG; 0.6 m }\nwire back from lamp.minus to house.minus { 6 AWG; 0.6 m }\n"
    )


@pytest.fixture
def builds(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Twelve builds of two roots, one of which cannot be read in full, one that does not solve, and two that read a faulty library; a cache of its own."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "caches"))
    folder = tmp_path / "builds"
    (folder / ".git").mkdir(parents=True)
    (folder / "parts").mkdir()
    (folder / "parts" / "good.rig").write_text(LIBRARY, encoding="utf-8")
    (folder / "parts" / "bad.rig").write_text(FAULTY, encoding="utf-8")
    for number in range(1, 9):
        reads = {3: 'parts from "parts/good.rig"\n', 4: 'parts from "parts/bad.rig"\n', 6: 'parts from "parts/bad.rig"\n'}
        text = lamp(number, reads.get(number, ""))
        (folder / f"lamp{number}.rig").write_text(
            text if number != 5 else text.replace("6 A", "6 bolts").replace("10 A", "1 bolt"), encoding="utf-8"
        )
    inner = folder / "inner"
    inner.mkdir()
    (inner / "ohmwright.toml").write_text('bar = "note"\n', encoding="utf-8")
    for number in range(9, 13):
        (inner / f"lamp{number}.rig").write_text(lamp(number), encoding="utf-8")
    (inner / "lamp 𝛀.rig").write_text(lamp(20).replace("Lamp 20", "Lamp 𝛀 one"), encoding="utf-8")
    return folder


@pytest.fixture
def inspect(command: Callable[..., Any], builds: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[..., Any]:
    """Inspect the folder on a fixed day."""
    monkeypatch.chdir(builds)

    def run(*arguments: str, today: str = "2026-01-01") -> Any:
        return command("inspect", ".", "--today", today, *arguments)

    return run


@pytest.fixture
def at_once(inspect: Callable[..., Any], monkeypatch: pytest.MonkeyPatch) -> Callable[..., Any]:
    """Inspect it as a handful of builds is inspected: in one process, without anything of what is tested here."""

    def run(*arguments: str) -> Any:
        with monkeypatch.context() as changed:
            changed.setattr("ohmwright.commands.inspect.HANDFUL", 10**9)
            return inspect(*arguments)

    return run
