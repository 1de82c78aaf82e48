"""Every example is inspected: good builds against what an electrician would say of them, the gallery of faults against its marks.

`expected/` holds one file for each good build, in the same folders: every finding, waived finding, outcome that could not be checked and
promise, one line each, with a comment that says why it is right. `tools/expect.py` rewrites them after a deliberate change.
"""

from __future__ import annotations

import importlib.util
import json
import re
from pathlib import Path
from types import ModuleType

import pytest
from ohmwright.cli import main

ROOT = Path(__file__).resolve().parents[2]
MARK = re.compile(r"# finds ([\w.-]+) here")


def _tool() -> ModuleType:
    spec = importlib.util.spec_from_file_location("expect", ROOT / "tools" / "expect.py")
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


expect = _tool()
GALLERY = sorted(path.relative_to(expect.EXAMPLES).as_posix() for path in (expect.EXAMPLES / "faulty").glob("*.rig"))
GOOD = sorted(path.relative_to(expect.EXPECTED).with_suffix(".rig").as_posix() for path in expect.EXPECTED.rglob("*.txt"))
ALL = sorted(path.relative_to(expect.EXAMPLES).as_posix() for path in expect.EXAMPLES.rglob("*.rig"))


@pytest.mark.parametrize("path", GOOD)
def test_good_build_answers_as_expected(path: str) -> None:
    text = (expect.EXPECTED / path).with_suffix(".txt").read_text(encoding="utf-8")
    assert expect.answer_lines(path) == expect.expected_lines(text)


@pytest.mark.parametrize("path", [path for path in GOOD if path != "first.rig"])
def test_good_build_has_no_error(path: str) -> None:
    build = expect.inspected(path)
    assert not build.partial
    assert [item.finding.message for item in build.findings if item.severity.word == "error"] == []
    assert len(build.passes) >= 10


def test_first_build_teaches_something() -> None:
    build = expect.inspected("first.rig")
    assert any(item.severity.word == "error" for item in build.findings)
    assert len(build.findings) <= 3
    assert len((expect.EXAMPLES / "first.rig").read_text(encoding="utf-8").splitlines()) <= 24


@pytest.mark.parametrize("path", GALLERY)
def test_faulty_build_is_found_on_the_marked_lines(path: str) -> None:
    lines = (expect.EXAMPLES / path).read_text(encoding="utf-8").splitlines()
    assert lines[0].startswith("# ")
    assert lines[0].endswith(".")
    assert 10 <= len(lines) <= 41
    marks = sorted((number, mark) for number, line in enumerate(lines, start=1) for mark in MARK.findall(line))
    assert marks
    build = expect.inspected(path)
    found = sorted(
        (item.finding.span.line, item.rule.id if item.rule.family == "text" else f"{item.rule.id}.{item.grade.name}")
        for item in build.findings
    )
    assert found == marks
    told = {name for item in build.findings for name in item.finding.subject}
    for item in build.not_checked:  # what is wrong may keep another check from being made, on the same thing only
        assert item.severity.word != "error" or build.partial or told & set(item.outcome.subject), item.outcome.missing


def test_gallery_is_wide() -> None:
    marks = {mark for path in GALLERY for mark in MARK.findall((expect.EXAMPLES / path).read_text(encoding="utf-8"))}
    assert len(GALLERY) >= 25
    assert len(marks) >= 25


def test_every_example_is_inspected_somewhere() -> None:
    libraries = [path for path in ALL if 'rig "' not in (expect.EXAMPLES / path).read_text(encoding="utf-8")]
    published = [path for path in ALL if "/published/" in path]
    clean = [path for path in ALL if path.startswith("clean/")]  # see test_clean.py
    assert set(ALL) == {*GALLERY, *GOOD, *libraries, *published, *clean}
    for path in libraries:
        assert [item.finding.message for item in expect.inspected(path).findings] == [], path


def test_examples_are_in_their_canonical_layout(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    from ohmwright.cli import main

    monkeypatch.chdir(ROOT)
    readable = [f"examples/{path}" for path in ALL if path != "faulty/missing_unit.rig"]
    assert main(["tidy", "--check", *readable]) == 0, capsys.readouterr().out


def test_published_copy_is_the_published_build() -> None:
    copies = sorted((expect.EXAMPLES / "hill_stand" / "published").glob("*.rig"))
    assert copies
    for copy in copies:
        assert copy.read_bytes() == (expect.EXAMPLES / "farm_stand" / copy.name).read_bytes(), f"{copy.name} differs"


def test_comments_of_an_expectation_stay_with_their_lines() -> None:
    text = "# opening\nnote a on b  # because\nerror c on d  # gone\n"
    assert expect.expected_lines(text) == ["note a on b", "error c on d"]
    assert expect.rewritten(text, ["note a on b", "note e on f"]) == "# opening\nnote a on b  # because\nnote e on f\n"


@pytest.mark.parametrize("name", ["farm_stand", "hill_stand", "cabin"])
def test_repositories_ask_for_every_state_and_for_every_check(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    """The settings that a reader copies ask for reached states and for what could not be checked, and the builds hold under them."""
    options = ("--today", str(expect.TODAY), "--cache", "none", "--jobs", "1", "--output", "json")
    assert main(["inspect", str(expect.EXAMPLES / name), *options]) == 0
    told = json.loads(capsys.readouterr().out)
    assert [(terms["states"], terms["require_checked"]) for terms in told["run"]["settings"]] == [("reached", True)]
    builds = [build for build in told["builds"] if build["kind"] == "build"]
    assert builds
    assert all(any(state["origin"] == "reached" for state in build["states"]) for build in builds)
