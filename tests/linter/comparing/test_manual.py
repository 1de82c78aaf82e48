"""CHANGES.md names every kind of change of the judgement, and the schema knows the same."""

from __future__ import annotations

import json
import re
from importlib.resources import files
from pathlib import Path

from ohmwright.comparing.wording import KINDS
from ohmwright.rules import installed_packs
from ohmwright_rules import limit_names

MANUAL = (Path(__file__).parents[3] / "linter" / "CHANGES.md").read_text(encoding="utf-8")
SCHEMA = json.loads((files("ohmwright") / "schemas" / "compare.json").read_text(encoding="utf-8"))


def test_table_and_schema_name_every_kind() -> None:
    assert re.findall(r"^\| ([a-z ]+) \| ", MANUAL, re.MULTILINE)[1:] == list(KINDS.values())
    assert SCHEMA["properties"]["judgement"]["items"]["properties"]["kind"]["enum"] == list(KINDS)


def test_limits_that_have_names_are_of_grades_that_there_are() -> None:
    grades = {f"{rule.id}.{grade.name}" for pack in installed_packs() for rule, _, _ in pack.load() for grade in rule.grades}
    assert set(limit_names._NAMES) <= grades
    (pack,) = [pack for pack in installed_packs() if pack.name == "ohmwright"]
    assert pack.limits is not None
    assert pack.limits("undersized-wire.over-ampacity") == "its ampacity"
