"""JUnit XML against the published XSD, and against the exit code: a run that stops has a failure or an error in it, one that passes has none."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import product
from pathlib import Path
from typing import Any

import pytest
from lxml import etree
from ohmwright.commands.inspect import exit_code
from ohmwright.findings import Severity
from ohmwright.reports import junit
from ohmwright.results import Result


@cache
def schema() -> Any:
    return etree.XMLSchema(etree.parse(str(Path(__file__).with_name("schemas") / "junit-10.xsd")))


def report_of(result: Result) -> Any:
    """Return the report of a result, which holds to the XSD."""
    root = etree.fromstring(junit.write(result).encode())
    schema().assertValid(root)
    return root


def test_xsd_refuses_what_is_wrong(result_of: Any) -> None:
    root = report_of(result_of("word"))
    root[0].set("file", "x")
    assert schema().validate(root)  # a suite may have it
    root[0][0].set("line", "1")
    assert not schema().validate(root)  # a case may not


def test_each_check_is_a_case(result_of: Any) -> None:
    root = report_of(result_of("word", errors=()))
    cases = {case.get("name"): [child.tag for child in case] for case in root.iter("testcase")}
    assert cases == {
        "invented-check.over: word0, word": ["failure"],
        "invented-check.near: word0, word": ["system-out"],  # below the bar: it passes, and says so
        "invented-check.far: word0, word": ["system-out"],
        "invented-check.over: word open": ["skipped"],
        "invented-check.over: word waived0, word waived": ["skipped"],
        "invented-check.near: word held0, word held": ["skipped"],
        "invented-check.far: word well": [],
    }
    assert {case.get("classname") for case in root.iter("testcase")} == {"box.rig"}


def test_counts_are_those_of_the_cases(result_of: Any, build_of: Any) -> None:
    root = report_of(result_of("word", build_of("word", "a.rig", 3), build_of("word", "b.rig", 2, partial=True)))
    for suite in root:
        for attribute, tag in (("tests", "testcase"), ("failures", "failure"), ("errors", "error"), ("skipped", "skipped")):
            assert int(suite.get(attribute)) == len(list(suite.iter(tag))), (suite.get("name"), attribute)
    for attribute, tag in (("tests", "testcase"), ("failures", "failure"), ("errors", "error")):
        assert int(root.get(attribute)) == len(list(root.iter(tag)))
    assert [suite.get("name") for suite in root] == ["a.rig", "b.rig", "the run itself"]


def test_failure_says_everything(result_of: Any) -> None:
    failure = next(report_of(result_of("word")).iter("failure"))
    assert failure.get("type") == "error invented-check.over"
    assert failure.get("message") == "Error: invented check. word is too much."
    lines = failure.text.split("\n")
    assert lines[0] == "word0 (wire), line 1"
    assert 'Measured: 30 A in state "word"; also in "word2"' in lines
    assert "Allowed: at most 20 A (50 % over)" in lines
    assert "Remedy: Write word." in lines


def test_report_ends_with_what_was_checked(result_of: Any) -> None:
    said = [item.text for item in report_of(result_of("word"))[-1].findall("system-out")]
    assert said[-1].startswith("This is a design check against published values, no approval.")
    assert any("checks made, 1 could not be made" in words for words in said)


@pytest.mark.parametrize(
    ("bar", "required", "findings", "partial"),
    list(product(Severity, (False, True), (0, 1), (False, True))),
)
@pytest.mark.parametrize("keep", [Severity.NOTE, Severity.WARNING, Severity.ERROR])
def test_stops_where_the_exit_code_does(
    result_of: Any, build_of: Any, bar: Severity, required: bool, findings: int, partial: bool, keep: Severity
) -> None:
    """Over all bars, with and without required checks, findings up to each severity, files read in part."""
    build = build_of("word", "box.rig", findings, bar=bar, require_checked=required, partial=partial)
    for unchecked in (build.not_checked, ()):
        kept = tuple(item for item in build.findings if item.severity <= keep)
        result = result_of("word", replace(build, findings=kept, not_checked=unchecked), errors=())
        root = report_of(result)
        stopped = int(root.get("failures")) + int(root.get("errors"))
        assert bool(stopped) == bool(exit_code(result, bar, required))


def test_run_that_failed_has_an_error(result_of: Any, build_of: Any) -> None:
    build = replace(build_of("word", "box.rig", 0), not_checked=())
    root = report_of(result_of("word", build))
    assert (root.get("failures"), root.get("errors")) == ("0", "1")
    assert next(root.iter("error")).get("message") == "word"


def test_without_builds_there_is_a_report(result_of: Any) -> None:
    result = replace(result_of("word"), builds=(), errors=())
    (suite,) = report_of(result)
    assert (suite.get("name"), suite.get("tests")) == ("the run itself", "0")


def test_large_run_leaves_out_what_passes(result_of: Any, build_of: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """Services refuse reports of 30 MB (from memory)."""
    assert junit.MOST_BYTES < 30_000_000
    monkeypatch.setattr(junit, "MOST_BYTES", 20_000)
    build = build_of("word", "a.rig", 40)
    root = report_of(result_of("word", build, replace(build, path="b.rig"), errors=()))
    assert len(list(root.iter("failure"))) == 80
    assert all(not case.get("name").startswith("invented-check.far: word well") for case in root.iter("testcase"))
    assert [item.text for item in root[0].findall("system-out")] == [
        "1 passed check not written out here; the JSON output holds them all."
    ]
    assert len(etree.tostring(root)) < 120_000


def test_by_the_command(command: Any, kit: Any, sample_installed: Any) -> None:
    """The bar of the command line decides what fails."""
    Path("box.rig").write_text(kit.bench.replace("25 A", "18 A"), encoding="utf-8")
    for bar, failures in (("error", 0), ("warning", 2)):
        ran = command("inspect", "box.rig", "--output", "junit", "--bar", bar)
        root = etree.fromstring(ran.out.encode())
        schema().assertValid(root)
        assert (ran.code, int(root.get("failures"))) == (int(failures > 0), failures)
