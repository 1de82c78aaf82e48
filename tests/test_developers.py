"""What DEVELOPERS.md names is there: files, names in modules, and a reason for every dependency."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
TEXT = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
SOURCES = ("grammar", "linter", "rules", "tests", "tools", "examples", ".github")
FILES = [path.relative_to(ROOT).as_posix() for name in SOURCES for path in sorted((ROOT / name).rglob("*")) if path.is_file()]
QUOTED = sorted(set(re.findall(r"`([^`\s]+)`", TEXT)))
PATHS = [word for word in QUOTED if re.search(r"\w\.(?:py|md|toml|csv|json|lark|txt|yml)$", word) and "<" not in word]
DOTTED = [word for word in QUOTED if re.fullmatch(r"[a-z_]+\.[A-Za-z_]+", word) and word not in PATHS]


@pytest.mark.parametrize("path", PATHS)
def test_a_file_that_is_named_is_there(path: str) -> None:
    assert (ROOT / path).is_file() or any(file.endswith(f"/{path}") for file in FILES) or path == "pyproject.toml"


@pytest.mark.parametrize("word", DOTTED)
def test_a_name_in_a_module_is_there(word: str) -> None:
    """`engine.run_rules` is something that a module engine.py defines."""
    module, name = word.split(".")
    found = [ROOT / file for file in FILES if file.endswith(f"/{module}.py") and not file.startswith("tests/")]
    defined = re.compile(rf"^ *(?:def|class) {name}\b|^ *{name}(?::[^=\n]+)? = ", re.MULTILINE)
    assert any(defined.search(file.read_text(encoding="utf-8")) for file in found), f"{word} is in none of {found}"


def test_there_is_something_to_look_for() -> None:
    assert len(PATHS) > 30
    assert len(DOTTED) > 5


def test_every_dependency_has_its_reason() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    wanted = [*project["project"]["dependencies"], *project["build-system"]["requires"]]
    for extra in project["project"]["optional-dependencies"].values():
        wanted.extend(extra)
    names = {re.split(r"[\s<>=;~!\[]", item)[0] for item in wanted}
    table = TEXT[TEXT.index("## Dependencies") :]
    told = {name for line in table.splitlines() if line.startswith("| ") for name in line.split("|")[1].strip().split(", ")}
    assert names <= told, f"without a reason: {sorted(names - told)}"


def test_the_oldest_libraries_that_are_tried_are_the_oldest_that_are_allowed() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    allowed: dict[str, str] = {}
    for bound in project["dependencies"]:
        name, _, versions = bound.partition(">=")
        allowed[name] = versions.partition(",")[0]
    lines = (ROOT / "tests" / "oldest.txt").read_text(encoding="utf-8").splitlines()
    tried = {line.partition("==")[0]: line.partition("==")[2] for line in lines if not line.startswith("#")}
    assert tried.keys() == allowed.keys()
    for name, version in tried.items():
        assert version.startswith(allowed[name])
