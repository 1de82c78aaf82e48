"""Results with one text in every place that a build file, a file of settings or a rule can fill, and a reader of the commands in a job's log."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from typing import Any

import pytest
from ohmwright.findings import DoesNotApply, Finding, NotChecked, Passed, Related, Severity, StateMeasure
from ohmwright.references import Reference, Step
from ohmwright.results import (
    Assumed,
    BuildResult,
    Entry,
    Home,
    Judged,
    Kept,
    LeftOutHere,
    Promise,
    Regraded,
    Result,
    RunError,
    SettingsTold,
    StateRow,
    Unchecked,
)
from ohmwright.rules import Grade, Rule
from ohmwright.values import Amount
from ohmwright_grammar.kinds.waiver import Waiver
from ohmwright_grammar.spans import Edit, Span
from ohmwright_grammar.things import Fact

RULE = Rule(
    "invented-check", "Invented check", "invented", "wire", ("X1", "X2"),
    (Grade("over", Severity.ERROR, "too much"), Grade("near", Severity.WARNING, "nearly too much"), Grade("far", Severity.NOTE, "far off")),
    (Reference("Invented handbook", "first edition", "table 1", "read"),),
)  # fmt: skip


def place(path: str, line: int = 3) -> Span:
    return Span(path, line, 2, line, 5)


def finding(text: str, path: str, grade: str, number: int = 0) -> Finding:
    amount, limit = Amount(30.0, "current"), Amount(20.0, "current")
    return Finding(
        grade, (f"{text}{number}", text), f"{text} is too much.", place(path, number % 900 + 1), amount, limit,
        state=text, states=(StateMeasure(text, amount, limit, -0.5), StateMeasure(f"{text}2", amount, limit, -0.5)),
        working=(Step(text, text, 1.0, "A", text),), remedy=f"Write {text}.", edits=(Edit(place(path), text),),
        related=(Related(text, place(path, 4)),),
    )  # fmt: skip


def judged(text: str, path: str, grade: str, number: int = 0) -> Judged:
    rule = RULE.grade(grade)
    return Judged(RULE, rule, rule.severity, finding(text, path, grade, number), (path, RULE.id, grade, text, str(number)))


def build_with(text: str, path: str, findings: int = 1, **changes: Any) -> BuildResult:
    """Return what was said of a build in which every text is the same."""
    waiver = Waiver(RULE.id, place(path), {
        "because": Fact(text, place(path)), "until": Fact(date(2026, 5, 1), place(path)),
    })  # fmt: skip
    entry = Entry(path, RULE.id, "near", (text,), "warning", (1.0, "A"), None, "at-most", place(path))
    made = BuildResult(
        path=path, is_library=False, title=text, revision=text, basis="iec", partial=False,
        states=(StateRow(text, "declared"),),
        findings=tuple(judged(text, path, grade, number) for number in range(findings) for grade in ("over", "near", "far")),
        passes=(Kept(RULE, Passed("far", (f"{text} well",), Amount(1.0, "current"), Amount(20.0, "current"), state=text)),),
        not_checked=(Unchecked(RULE, RULE.grade("over"), Severity.ERROR, NotChecked("over", (f"{text} open",), f"length of {text}", place(path, 6), declare=text)),),
        does_not_apply=((RULE.id, DoesNotApply(text)),),
        requirements=(Promise(text, text, None, None, "not-checked", place(path)),),
        assumed=(Assumed(text, text, text, text),),
        waived=(replace(judged(f"{text} waived", path, "over"), waiver=waiver),),
        baselined=(replace(judged(f"{text} held", path, "near"), entry=entry),),
        kinds={f"{text}0": "wire"},
        places={f"{text}0": place(path, 1)},
        rules_run=1,
    )  # fmt: skip
    return replace(made, **changes)


def result_with(text: str, *builds: BuildResult, path: str = "box.rig", **changes: Any) -> Result:
    """Return a result in which every text is the same."""
    told = SettingsTold(
        file="ohmwright.toml", site=text, baseline=text, gone=(text,),
        left_out=(LeftOutHere("path", text, text, 1, (text,)), LeftOutHere("family", "invented", text, 1)),
        grades=(Regraded("invented-check.over", "error", "note", text, 1), Regraded("invented-check.far", "note", "off", text, 1)),
    )  # fmt: skip
    errors = (RunError(text, text, text, text),)
    return replace(
        Result("1.2.3", "2026-01-01", (("sample", "1"),), builds or (build_with(text, path),), errors, (told,)), **changes
    )


@pytest.fixture(scope="session")
def result_of() -> Callable[..., Result]:
    """Make a result in which every text is the same."""
    return result_with


@pytest.fixture(scope="session")
def build_of() -> Callable[..., BuildResult]:
    """Make what was said of one build in which every text is the same."""
    return build_with


@pytest.fixture(scope="session")
def home_of() -> Callable[..., Home]:
    """Make the place of a root in its repository, with the text of its one file."""
    return lambda below, text="": Home(below, lambda path: text)


# What the runner of a job takes for a command, from memory of its public source (ActionCommand.cs): a line that begins, after blanks, with two colons and
# goes on to the next two; else two number signs and a bracket anywhere in the line.
REGISTERED = {"error", "warning", "notice", "debug", "group", "endgroup", "add-mask", "stop-commands", "set-output", "save-state", "set-env", "add-path",
              "add-matcher", "remove-matcher", "echo", "internal-set-repo-path"}  # fmt: skip


def _undone(text: str, inside: bool) -> str:
    for code, sign in ((("%3A", ":"), ("%2C", ",")) if inside else ()) + (("%0D", "\r"), ("%0A", "\n"), ("%25", "%")):
        text = text.replace(code, sign)
    return text


def commands_in(log: str) -> list[tuple[str, dict[str, str], str]]:
    """Return the commands in a log: name, properties, message."""
    found: list[tuple[str, dict[str, str], str]] = []
    for line in log.replace("\r\n", "\n").replace("\r", "\n").split("\n"):
        words = line.lstrip()
        end = words.find("::", 2)
        if words.startswith("::") and end >= 0:
            name, _, properties = words[2:end].partition(" ")
            if name in REGISTERED:
                pairs = [pair.partition("=") for pair in properties.split(",") if pair]
                said = {key.strip(): _undone(value, True) for key, sign, value in pairs if sign}
                found.append((name, said, _undone(words[end + 2 :], False)))
                continue
        start = line.find("##[")
        if start >= 0 and "]" in line[start:]:
            name = line[start + 3 : line.index("]", start)].split(" ")[0]
            found.append((name, {}, line[line.index("]", start) + 1 :]))
    return found


@pytest.fixture(scope="session")
def commands() -> Callable[[str], list[tuple[str, dict[str, str], str]]]:
    """Read the commands in the log of a job."""
    return commands_in
