"""Promises that the rules answer together: safe in any order, work at temperatures, packs, and that none is met where something could not be checked."""

from __future__ import annotations

from datetime import date

import pytest
from ohmwright.findings import Finding, NotChecked, Passed, Severity
from ohmwright.inspecting import InspectOptions, inspect_files
from ohmwright.judging import judged
from ohmwright.results import Kept, Told, Unchecked
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study, StudyOptions
from ohmwright.studying import make_study
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.resolve import Loader, Resolved, resolve
from ohmwright_rules.answers import answers

BUILD = """rig "Box", revision 1
site { ambient -10 degC to 40 degC }
battery house { LFP, 4 cells, 50 Ah }
"""


def study(require: str, reached: bool = False) -> Study:
    found = resolve("box.rig", Loader(MemoryFiles({"box.rig": f"{BUILD}require {require}\n"})))
    assert isinstance(found, Resolved)
    return make_study(found.build, StudyOptions(reached=reached))


def rule(code: str, severity: Severity = Severity.ERROR) -> Rule:
    return Rule("sample", "Sample", "wiring", "part", (code,), (Grade("bad", severity, "it is bad"),), ())


def told(code: str, what: str, severity: Severity = Severity.ERROR) -> Told:
    of = study("safe in any order")
    span = of.build.rig.span
    one = rule(code, severity)
    finding = judged("box.rig", one, Finding("bad", ("house",), "It is bad.", span))
    kept = Kept(one, Passed("bad", ("house",)))
    unchecked = Unchecked(one, one.grades[0], severity, NotChecked("bad", ("house",), "a datum", span))
    return Told(
        (finding,) if "finding" in what else (), (kept,) if "pass" in what else (), (unchecked,) if "unchecked" in what else ()
    )


def verdict(require: str, said: Told, reached: bool = False) -> str:
    (promise,) = answers(study(require, reached), said)
    return promise.verdict


@pytest.mark.parametrize(
    ("what", "reached", "expected"),
    [
        ("finding", False, "broken"),
        ("finding", True, "broken"),
        ("pass", False, "not-checked"),
        ("pass", True, "met"),
        ("pass, unchecked", True, "not-checked"),
    ],
)
def test_r14(what: str, reached: bool, expected: str) -> None:
    """Catalogue, R14: H5 over all states; without the reached states nothing is met."""
    assert verdict("safe in any order", told("F1", what), reached) == expected


def test_a_warning_does_not_break_the_order() -> None:
    assert verdict("safe in any order", told("F1", "finding", Severity.WARNING), reached=True) == "met"


@pytest.mark.parametrize(
    ("code", "what", "expected"),
    [
        ("A1", "finding", "broken"),
        ("L5", "pass", "met"),
        ("L5", "pass, unchecked", "not-checked"),
        ("L5", "", "not-checked"),
        ("F1", "finding", "not-checked"),
    ],
)
def test_r8(code: str, what: str, expected: str) -> None:
    """Catalogue, R8: A1 cold, A2, D3, F5, L5 hot, B5."""
    assert verdict("work from -10 degC to 40 degC", told(code, what)) == expected


def test_r8_needs_an_ambient_that_reaches_as_far() -> None:
    assert verdict("work from -20 degC to 40 degC", told("L5", "pass")) == "not-checked"
    assert verdict("work from -10 degC to 41 degC", told("L5", "pass")) == "not-checked"


def test_r10() -> None:
    """Catalogue, R10: C4 to C7 for n = 0 to N; a row that holds fewer breaks it."""
    assert verdict("accept 2 packs", told("C4", "pass")) == "broken"


@pytest.mark.parametrize(("what", "expected"), [("finding", "broken"), ("pass", "met"), ("", "not-checked")])
def test_r12(what: str, expected: str) -> None:
    assert verdict("water protection IP44", told("L8", what, Severity.WARNING)) == expected


def test_they_stand_in_the_results() -> None:
    text = f"{BUILD}require safe in any order\nrequire run 5 W for 1 h\n"
    result = inspect_files(["box.rig"], Loader(MemoryFiles({"box.rig": text})), InspectOptions(today=date(2026, 1, 1)))
    assert not result.errors
    rows = {item.name: item for item in result.builds[0].requirements}
    assert set(rows) == {"safe in any order", "run 5 W for 1 h"}
    assert rows["safe in any order"].formula.startswith("errors in every state")
    only = inspect_files(
        ["box.rig"], Loader(MemoryFiles({"box.rig": text})), InspectOptions(today=date(2026, 1, 1), only=("run-time",))
    )
    row = next(item for item in only.builds[0].requirements if item.name == "safe in any order")
    assert row.verdict == "not-checked" and row.value is None, "a part of the rules answers nothing together"
