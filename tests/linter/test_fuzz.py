"""Whatever is written, nothing but diagnostics comes out: random statements of the grammar, and real builds with pieces spoilt."""

from __future__ import annotations

import json
import sys
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from ohmwright.inspecting import InspectOptions, inspect_files
from ohmwright.reports import json_report, text
from ohmwright.results import Result
from ohmwright.rules import installed_packs
from ohmwright_grammar.budget import Budget
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.resolve import Loader

sys.path.insert(0, str(Path(__file__).parents[1]))

from fuzz.strategies import FIELD_BOX, NOISE, SMALL_BOX, STATEMENTS, examples, spoilt


def inspect(source: str, packs: Any) -> Result:
    options = InspectOptions(today=date(2026, 1, 1), assumed=True, budget=lambda: Budget(20.0, 1000.0))
    return inspect_files(
        ["fuzz.rig"], Loader(MemoryFiles({"fuzz.rig": source, "shelf.rig": "fuse small { 15 A blade }\n"})), options, packs
    )


def check(source: str, packs: Any) -> None:
    result = inspect(source, packs)
    assert [error for error in result.errors if error.rule] == []
    for build in result.builds:
        for item in build.findings:
            span = item.finding.span
            assert span.path
            assert (span.line, span.column) >= (1, 1)
            assert (span.end_line, span.end_column) >= (span.line, span.column)
            assert item.finding.message
        assert build.partial or not any(item.rule.family == "text" for item in build.findings)
    sheet = text.write(result, text.TextOptions(working=True, assumed=True))
    assert all(line.isprintable() for line in sheet.split("\n"))
    json.loads(json_report.write(result), parse_constant=pytest.fail)


SAMPLE: Any = ()


@pytest.fixture(autouse=True)
def _sample_pack(kit: Any) -> None:
    """Take the invented pack from the fixtures of this folder: it cannot be passed to each example."""
    global SAMPLE
    SAMPLE = (kit.sample,)


@examples(200, 850)
@given(source=STATEMENTS)
def test_random_statements(source: str) -> None:
    check(f'rig "Fuzz"\nbattery house {{ LFP, 4 cells, 100 Ah }}\nload lamp 5 A\n{source}\n', SAMPLE)


@examples(80, 200)
@given(source=spoilt(FIELD_BOX))
def test_spoilt_build(source: str) -> None:
    check(source, SAMPLE)


@examples(40, 150)
@given(source=spoilt(FIELD_BOX))
def test_spoilt_build_under_the_installed_rules(source: str) -> None:
    """No rule may raise, whatever a half-read build lacks."""
    check(source, installed_packs())


@examples(60, 600)
@given(source=spoilt(SMALL_BOX))
def test_spoilt_small_build_under_the_installed_rules(source: str) -> None:
    """More of them in the same time: most of what goes wrong needs few parts."""
    check(source, installed_packs())


@examples(200)
@given(source=NOISE)
def test_noise(source: str) -> None:
    check(source, SAMPLE)
