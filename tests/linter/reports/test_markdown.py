"""The summary, read by GitHub's own converter (cmarkgfm), and within the size that a job may show."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import cmarkgfm
import pytest
from lxml import html
from ohmwright.findings import Severity
from ohmwright.reports import markdown
from ohmwright.results import Result


def page_of(result: Result) -> Any:
    return html.fromstring(f"<div>{cmarkgfm.github_flavored_markdown_to_html(markdown.write(result))}</div>")


def rows_of(page: Any) -> list[list[str]]:
    return [[cell.text_content() for cell in row] for row in page.iter("tr")]


def test_table_of_builds(result_of: Any, build_of: Any) -> None:
    clean = replace(build_of("clean", "c.rig", 0), not_checked=(), waived=())
    page = page_of(result_of("word", clean, build_of("word", "b.rig", 2), build_of("part", "a.rig", 0, partial=True)))
    assert rows_of(page) == [
        ["file", "title", "revision", "verdict", "worst margin", "errors", "warnings", "notes", "not checked", "waived"],
        ["a.rig", "part", "part", "read in part", "95 %", "0", "0", "0", "1", "1"],
        ["b.rig", "word", "word", "stopped", "-50 %", "2", "2", "2", "1", "1"],
        ["c.rig", "clean", "clean", "passes", "95 %", "0", "0", "0", "0", "0"],
    ]


@pytest.mark.parametrize(
    ("bar", "required", "verdict"),
    [
        (Severity.ERROR, False, "passes"),
        (Severity.ERROR, True, "stopped, not checked"),
        (Severity.WARNING, False, "stopped, not checked"),
    ],
)
def test_verdict_of_what_could_not_be_checked(
    result_of: Any, build_of: Any, bar: Severity, required: bool, verdict: str
) -> None:
    page = page_of(result_of("word", build_of("word", "b.rig", 0, bar=bar, require_checked=required)))
    assert rows_of(page)[1][3] == verdict


def test_findings_are_lists_under_their_thing(result_of: Any) -> None:
    page = page_of(result_of("word"))
    assert [item.text for item in page.iter("h2")] == ["box.rig: word"]
    assert [item.text_content() for item in page.iter("h3")] == ["word0 (wire), line 1", "Could not be checked", "Waived"]
    first = page.find(".//ul/li")
    assert first.find(".//strong").text == "Error: invented check"
    said = [item.text_content() for item in first.findall("ul/li")]
    assert "Allowed: at most 20 A (50 % over)" in said
    assert "Remedy: Write word." in said


def test_it_ends_with_what_was_checked(result_of: Any) -> None:
    text = page_of(result_of("word")).text_content()
    assert "Left out: word, 1 file (word), because word" in text
    assert text.rstrip().endswith("have a qualified person look before you connect anything.")
    assert "The run itself failed: word (word)" in text


def test_it_stays_below_one_mebibyte_and_says_what_is_left_out(result_of: Any, build_of: Any) -> None:
    """1 MiB a step: "Workflow commands for GitHub Actions", docs.github.com."""
    builds = [build_of("ä" * 300, f"b{number}.rig", 100) for number in range(12)]
    written = markdown.write(result_of("word", *builds))
    assert 900_000 < len(written.encode()) < 1_048_576
    (count,) = re.findall(r"\*\*([0-9,]+) more entries not written out here; the JSON output holds them all\.\*\*", written)
    shown = written.count("- **Error") + written.count("- **Warning") + written.count("- **Note") + written.count("until 2026")
    assert int(count.replace(",", "")) + shown == 12 * (300 + 1 + 1)
    assert "no approval" in written


def test_many_builds_are_counted(result_of: Any, build_of: Any) -> None:
    quiet = replace(build_of("word", "b.rig", 0), not_checked=(), waived=(), baselined=())
    builds = [replace(quiet, path=f"b{number}.rig") for number in range(1500)]
    page = page_of(result_of("word", *builds))
    assert len(rows_of(page)) == 1001
    assert "and 500 more files, none worse than these." in page.text_content()


def test_huge_settings_do_not_break_the_size(result_of: Any, build_of: Any) -> None:
    written = markdown.write(result_of("ä" * 3000, *[build_of("ä" * 5000, f"b{number}.rig", 30) for number in range(40)]))
    assert len(written.encode()) < 1_048_576


def test_by_the_command(command: Any, kit: Any, sample_installed: Any) -> None:
    Path("box.rig").write_text(kit.bench, encoding="utf-8")
    ran = command("inspect", "box.rig", "--output", "markdown", "--to", "b.md", "--output", "text")
    assert ran.code == 1
    assert "| box.rig | Bench | 1 | stopped | -25 % | 2 | 0 | 0 |" in Path("b.md").read_text(encoding="utf-8")
