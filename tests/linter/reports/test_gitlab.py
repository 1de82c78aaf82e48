"""The code quality report against GitLab's description of it ("Code Quality", docs.gitlab.com; an older mirror was read): no schema is published."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

from jsonschema import Draft202012Validator
from ohmwright.reports import gitlab
from ohmwright.results import Result

# Written from that description: an array of objects; other fields are ignored there.
DESCRIBED = {
    "type": "array",
    "items": {
        "type": "object",
        "required": ["description", "check_name", "fingerprint", "severity", "location"],
        "properties": {
            "description": {"type": "string", "minLength": 1},
            "check_name": {"type": "string", "minLength": 1},
            "fingerprint": {"type": "string", "minLength": 1},
            "severity": {"enum": ["info", "minor", "major", "critical", "blocker"]},
            "location": {
                "type": "object",
                "required": ["path", "lines"],
                "properties": {
                    "path": {"type": "string", "pattern": "^(?!/|\\./)"},
                    "lines": {"type": "object", "required": ["begin"], "properties": {"begin": {"type": "integer", "minimum": 1}}},
                },
            },
        },
    },
}  # fmt: skip


def issues_of(result: Result) -> Any:
    written = gitlab.write(result)
    assert not written.startswith("\ufeff")  # no byte order mark, as the description asks
    issues = json.loads(written)
    assert [error.message for error in Draft202012Validator(DESCRIBED).iter_errors(issues)] == []
    prints = [issue["fingerprint"] for issue in issues]
    assert len(set(prints)) == len(prints)  # equal ones are shown once
    return issues


def test_issues(result_of: Any) -> None:
    issues = issues_of(result_of("word"))
    assert [(issue["check_name"], issue["severity"], issue["location"]["lines"]["begin"]) for issue in issues] == [
        ("invented-check.over", "critical", 1),
        ("invented-check.near", "major", 1),
        ("invented-check.far", "info", 1),
        ("not-checked", "major", 6),
        ("run-failed", "blocker", 1),
    ]
    first = issues[0]
    assert first["location"]["path"] == "box.rig"
    assert first["description"] == (
        'word0: word is too much. Measured: 30 A in state "word"; also in "word2". Allowed: at most 20 A (50 % over). Remedy: Write word. '
        "Basis: Invented handbook, first edition, table 1 (read at the source)."
    )


def test_required_check_is_critical(result_of: Any, build_of: Any) -> None:
    issues = issues_of(result_of("word", build_of("word", "box.rig", 0, require_checked=True), errors=()))
    assert [(issue["check_name"], issue["severity"]) for issue in issues] == [("not-checked", "critical")]
    assert issues[0]["description"] == "Not checked for want of length of word: invented-check.over of word open."


def test_nothing_found_is_an_empty_list(result_of: Any, build_of: Any) -> None:
    build = replace(build_of("word", "box.rig", 0), not_checked=())
    assert gitlab.write(result_of("word", build, errors=())) == "[]\n"


def test_fingerprint_is_the_same_whatever_the_line_and_state(result_of: Any, build_of: Any) -> None:
    build = build_of("word", "box.rig")
    moved = [
        replace(item, finding=replace(item.finding, state="other", span=item.finding.span._replace(line=9, end_line=9)))
        for item in build.findings
    ]
    before = issues_of(result_of("word", build))
    after = issues_of(result_of("word", replace(build, findings=tuple(moved))))
    assert [issue["fingerprint"] for issue in before] == [issue["fingerprint"] for issue in after]
    assert [issue["location"]["lines"]["begin"] for issue in after[:3]] == [9, 9, 9]


def test_two_roots_with_a_build_of_one_name(result_of: Any, build_of: Any, home_of: Any) -> None:
    builds = [build_of("word", "box.rig", home=home_of(below)) for below in ("a/", "b/")]
    issues = issues_of(result_of("word", *builds))
    assert {issue["location"]["path"] for issue in issues[:-1]} == {"a/box.rig", "b/box.rig"}


def test_by_the_command(command: Any, kit: Any, sample_installed: Any) -> None:
    Path("box.rig").write_text(kit.bench, encoding="utf-8")
    issues = json.loads(command("inspect", "box.rig", "--output", "gitlab").out)
    assert [(issue["check_name"], issue["location"]["path"]) for issue in issues] == [("warm-wire.over", "box.rig")] * 2
