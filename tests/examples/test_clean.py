"""Clean builds of many kinds: every rule looks at each of them, in its declared states and in all that it can get into, and none finds more than a note.

The builds are made as a careful builder makes them; a finding on one of them is a false alarm, or a fault that this test has found. What could not be checked,
and the notes, stand in `clean_expected/`, one file for each build; `tools/expect_clean.py` rewrites them after a deliberate change. Source of every
build: common practice, with the figures of its data sheets invented; there is no other authority for "no finding" than reading the build.
"""

from __future__ import annotations

import importlib.util
import re
from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).resolve().parents[2]
COMPLETE = ("bench_supply", "cargo_trike", "fence_box", "portable_box")  # they declare all that any rule asks for


def _tool() -> ModuleType:
    spec = importlib.util.spec_from_file_location("expect_clean", ROOT / "tools" / "expect_clean.py")
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


clean = _tool()


@pytest.mark.parametrize("name", clean.BUILDS)
def test_clean_build_has_no_finding_above_a_note(name: str) -> None:
    assert clean.above_note(name) == []


@pytest.mark.parametrize("name", clean.BUILDS)
def test_clean_build_leaves_unchecked_what_is_written_down(name: str) -> None:
    assert clean.expected_text(name) == (clean.EXPECTED / f"{name}.txt").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", COMPLETE)
def test_build_that_declares_everything_leaves_nothing_unchecked(name: str) -> None:
    for reached in (False, True):
        assert [item.outcome.missing for item in clean.inspected(f"clean/{name}.rig", reached).not_checked] == []


@pytest.mark.parametrize("name", clean.BUILDS)
def test_promises_of_a_clean_build_are_met(name: str) -> None:
    build = clean.inspected(f"clean/{name}.rig")
    assert len(build.requirements) >= 2
    assert [promise.name for promise in build.requirements if promise.verdict != "met"] == []


@pytest.mark.parametrize("name", clean.BUILDS)
def test_clean_build_waives_nothing_and_is_really_looked_at(name: str) -> None:
    build = clean.inspected(f"clean/{name}.rig")
    assert not build.waived
    assert len({item.rule.id for item in build.passes}) >= 50


def test_clean_builds_are_of_many_kinds() -> None:
    texts = {name: (clean.CLEAN / f"{name}.rig").read_text(encoding="utf-8") for name in clean.BUILDS}
    assert len(texts) >= 15
    for words in (
        ("basis us-small-craft", "basis us-premises", "basis iec"),
        ("system 12 V", "system 24 V", "system 48 V"),
        ("same as lfp", "same as agm", "same as flooded"),
        ("steel", "not metal;"),
    ):
        for word in words:
            assert sum(word in text for text in texts.values()) >= 2, word
    inverters = sum(re.search(r"^inverter", text, re.MULTILINE) is not None for text in texts.values())
    assert 3 <= inverters <= len(texts) - 3


def test_every_expectation_has_its_build() -> None:
    assert {file.stem for file in clean.EXPECTED.glob("*.txt")} == set(clean.BUILDS)
