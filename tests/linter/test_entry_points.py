"""Installed rule packs are found as the standard library finds them, only sooner."""

from __future__ import annotations

import importlib.metadata
import subprocess
import sys
from pathlib import Path

import pytest
from ohmwright.entry_points import entry_points

TEXT = "[console_scripts]\nother = x:y\n\n[ohmwright.rules]\n# a comment\nzinc = zinc_pack:PACK\ncopper = copper_pack.rules:PACK [extra]\n\n[more]\na = b:c\n"


@pytest.mark.parametrize("group", ["ohmwright.rules", "console_scripts", "pytest11", "no.such.group"])
def test_same_as_the_standard_library(group: str) -> None:
    """Of names that several distributions give, both see all."""
    expected = sorted(
        {(entry.name, entry.value.partition("[")[0].strip()) for entry in importlib.metadata.entry_points(group=group)}
    )
    assert entry_points(group) == expected


@pytest.mark.parametrize("kind", [".dist-info", ".egg-info"])
def test_group_of_one_distribution(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, kind: str) -> None:
    (tmp_path / f"packs-1.0{kind}").mkdir()
    (tmp_path / f"packs-1.0{kind}" / "entry_points.txt").write_text(TEXT, encoding="utf-8")
    (tmp_path / "plain-1.0.egg-info").write_text("", encoding="utf-8")
    monkeypatch.setattr(sys, "path", [str(tmp_path), str(tmp_path / "missing")])
    assert entry_points("ohmwright.rules") == [("copper", "copper_pack.rules:PACK"), ("zinc", "zinc_pack:PACK")]


def test_distribution_that_comes_first_on_the_path_hides_the_other(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for folder, value in (("first", "one:PACK"), ("second", "two:PACK")):
        (tmp_path / folder / "packs-1.0.dist-info").mkdir(parents=True)
        (tmp_path / folder / "packs-1.0.dist-info" / "entry_points.txt").write_text(
            f"[ohmwright.rules]\np = {value}\n", encoding="utf-8"
        )
    monkeypatch.setattr(sys, "path", [str(tmp_path / "first"), str(tmp_path / "second")])
    assert entry_points("ohmwright.rules") == [("p", "one:PACK")]


@pytest.mark.parametrize("name", ["old.egg", "old.egg-link", "archive.zip"])
def test_anything_installed_otherwise_is_left_to_the_standard_library(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    (tmp_path / name).write_bytes(b"")
    where = tmp_path / name if name.endswith(".zip") else tmp_path
    monkeypatch.setattr(sys, "path", [*sys.path, str(where)])
    asked = []
    real = importlib.metadata.entry_points
    monkeypatch.setattr(importlib.metadata, "entry_points", lambda **named: (asked.append(named), real(**named))[1])
    assert ("ohmwright", "ohmwright_rules:PACK") in entry_points("ohmwright.rules")
    assert asked


def test_plain_inspect_does_not_ask_the_standard_library() -> None:
    script = "import sys; from ohmwright.rules import installed_packs; installed_packs(); sys.exit('importlib.metadata' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", script], check=False).returncode == 0
