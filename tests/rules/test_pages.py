"""Every rule has a page, and the page is its test: builds that pass stay silent, builds that fail are found on the marked lines."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date
from importlib import import_module
from pathlib import Path

import pytest
from ohmwright.inspecting import InspectOptions, inspect_files
from ohmwright.rules import Rule
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.resolve import Loader
from ohmwright_rules import MODULES, PACK

PAGES = Path(import_module("ohmwright_rules").__file__ or "").parent
BLOCK = re.compile(r"^```rig *(passes|fails)(?: +(reached))?\n(.*?)^```", re.MULTILINE | re.DOTALL)
MARK = re.compile(r"# finds ([\w.-]+) here")
SECTIONS = ("Checks", "Why it matters", "Formula", "Worked number", "Source")


def _rule(name: str) -> Rule:
    rule: Rule = import_module(f"ohmwright_rules.{name}").RULE
    return rule


def _page(name: str) -> str:
    return (PAGES / f"{name}.md").read_text(encoding="utf-8")


def _builds() -> Iterator[tuple[str, str, bool, str]]:
    for name in MODULES:
        if (PAGES / f"{name}.md").exists():
            for number, found in enumerate(BLOCK.finditer(_page(name)), start=1):
                yield f"{name}-{number}-{found[1]}", name, found[2] == "reached", found[3]


@pytest.mark.parametrize("name", MODULES)
def test_page_has_everything_a_reader_needs(name: str) -> None:
    rule = _rule(name)
    page = _page(name)
    assert rule.id == name.split(".")[-1].replace("_", "-")
    assert page.startswith(f"# {rule.title}\n")
    for section in SECTIONS:
        assert f"**{section}.**" in page, f"{name}.md lacks the paragraph {section}"
    kinds = [found[1] for found in BLOCK.finditer(page)]
    assert "passes" in kinds
    assert "fails" in kinds
    told = {mark for found in BLOCK.finditer(page) for mark in MARK.findall(found[3])}
    for grade in rule.grades:
        assert f"{rule.id}.{grade.name}" in told, f"no build on {name}.md breaks the grade {grade.name}"


@pytest.mark.parametrize(("name", "reached", "text"), [case[1:] for case in _builds()], ids=[case[0] for case in _builds()])
def test_build_on_page(name: str, reached: bool, text: str) -> None:
    rule = _rule(name)
    options = InspectOptions(today=date(2026, 1, 1), only=(rule.id,), reached=reached)
    result = inspect_files(["page.rig"], Loader(MemoryFiles({"page.rig": text})), options, (PACK,))
    assert not result.errors, result.errors
    (build,) = result.builds
    unreadable = [item.finding.message for item in build.findings if item.rule.family == "text"]
    assert not unreadable, unreadable
    found = sorted((item.finding.span.line, f"{item.rule.id}.{item.grade.name}") for item in build.findings)
    expected = sorted((number, mark) for number, line in enumerate(text.splitlines(), start=1) for mark in MARK.findall(line))
    assert found == expected
    if not expected:
        assert any(kept.rule.id == rule.id for kept in build.passes), "the build on the page passes nothing"
