"""Workflow commands against lines that GitHub's own library wrote, and the numbers that its manual publishes."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from ohmwright.reports import workflow_commands as job
from ohmwright.reports.words import visible

VECTORS = json.loads((Path(__file__).with_name("schemas") / "workflow-commands.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize("vector", VECTORS, ids=[repr(vector["text"]) for vector in VECTORS])
def test_escaping_is_that_of_the_library(vector: dict[str, str]) -> None:
    text = vector["text"]
    name = job._property(text) if "\n" not in text else visible(text).replace("%", "%25")  # a name has one line here
    line = vector["line"] if "\n" not in text else vector["line"].replace("=a%0Ab", "=a\\nb")
    assert f"::warning file={name},title={name}::{job._data(text)}" == line


def test_each_finding_at_its_place(result_of: Any, commands: Any) -> None:
    found = commands(job.write(result_of("word")))
    assert [name for name, _, _ in found] == ["error", "error", "warning", "warning", "notice", "notice"]
    assert found[0] == ("error", {"title": "The run itself failed"}, "word (word)")
    name, said, message = found[1]
    assert name == "error"
    assert said == {
        "file": "box.rig", "line": "1", "endLine": "1", "col": "2", "endColumn": "5", "title": "Error: invented check (invented-check.over)",
    }  # fmt: skip
    assert message.split("\n")[:3] == [
        "word0 (wire), line 1",
        "Found: word is too much.",
        'Measured: 30 A in state "word"; also in "word2"',
    ]
    assert found[3][1]["title"] == "Could not be checked"
    assert found[3][2] == "Not checked for want of length of word: invented-check.over of word open.\nDeclare: word"


def test_ten_of_each_the_worst_first_and_a_count_of_the_rest(result_of: Any, build_of: Any, commands: Any) -> None:
    """A step may have 10 errors and 10 warnings (from memory: 10 notices too), a job 50 annotations."""
    result = result_of("word", build_of("word", "a.rig", 25), build_of("word", "b.rig", 4))
    found = commands(job.write(result))
    names = [name for name, _, _ in found]
    assert names == ["error"] * 10 + ["warning"] * 10 + ["notice"] * 10
    assert len(found) <= 50
    assert {said["file"] for _, said, _ in found[1:10]} == {"a.rig"}
    count = found[-1][2].split("\n")[0]
    # 29 errors and the run's own, 29 warnings and two data that are missing, 29 notes and this notice
    assert (
        count
        == "20 more errors and 21 more warnings and 20 more notes not shown here: a step may show ten of each. The other outputs hold them all."
    )


def test_nothing_left_out_is_not_told(result_of: Any, commands: Any) -> None:
    last = commands(job.write(result_of("word")))[-1][2]
    assert "not shown here" not in last
    assert "Settings: ohmwright.toml (bar error)." in last
    assert "This is a design check against published values, no approval." in last


def test_required_check_is_an_error(result_of: Any, build_of: Any, commands: Any) -> None:
    build = build_of("word", "box.rig", 0, require_checked=True)
    assert [name for name, _, _ in commands(job.write(result_of("word", build, errors=())))] == ["error", "notice"]


def test_lengths(result_of: Any, build_of: Any) -> None:
    build = build_of("w" * 20_000, "box.rig")
    assert all(
        len(line) < 3 * (job.MOST_MESSAGE + job.MOST_TITLE) + 300 for line in job.write(result_of("word", build)).split("\n")
    )


def test_paths_are_told_from_the_top_of_the_repository(result_of: Any, build_of: Any, home_of: Any, commands: Any) -> None:
    build = build_of("word", "a, b.rig", home=home_of("boats/"))
    assert {said["file"] for _, said, _ in commands(job.write(result_of("word", build))) if "file" in said} == {
        "boats/a, b.rig"
    }


def test_by_the_command(command: Any, kit: Any, sample_installed: Any, commands: Any) -> None:
    Path("box.rig").write_text(kit.bench, encoding="utf-8")
    ran = command("inspect", "box.rig", "--output", "github")
    assert [(name, said.get("line")) for name, said, _ in commands(ran.out)] == [
        ("error", "7"),
        ("error", "8"),
        ("notice", None),
    ]


def test_waived_and_held_ones_are_not_shown(result_of: Any, build_of: Any, commands: Any) -> None:
    build = replace(build_of("word", "box.rig", 0), not_checked=())
    assert len(commands(job.write(result_of("word", build, errors=())))) == 1
