"""The order of statements changes nothing, and neither does a new layout: the model is the same."""

from __future__ import annotations

import sys
from pathlib import Path
from random import Random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from ohmwright_grammar.bodies import BodyReader
from ohmwright_grammar.files import FolderFiles, MemoryFiles
from ohmwright_grammar.model import Build
from ohmwright_grammar.parsing import parse
from ohmwright_grammar.printing import print_body
from ohmwright_grammar.resolve import Loader, Resolved, resolve
from ohmwright_grammar.syntax import Statement
from ohmwright_grammar.tidying import tidied

sys.path.insert(0, str(Path(__file__).parent))
from test_manual import BLOCKS, FILES, PREAMBLES

EXAMPLES = Path(__file__).parents[2] / "examples"
MANUAL = [(PREAMBLES.get(block.preamble, "") + block.text, block.file or "manual.rig") for block in BLOCKS]
BUILDS = [file.relative_to(EXAMPLES).as_posix() for file in sorted(EXAMPLES.rglob("*.rig"))]

# Facts that may be said several times and keep their order (steps of a procedure, alternatives) begin with the same word.
_KEPT = frozenset({"parts", "adapts", "parameter"})


def reordered(text: str, chance: Random) -> str:
    """Return a text with its statements, and those in each block, in another order; statements that begin alike keep theirs."""

    def several(statements: tuple[Statement, ...], depth: int) -> str:
        keys: dict[str, list[float]] = {}
        for statement in statements:
            keys.setdefault(_first(statement), []).append(chance.random())
        places = {word: iter(sorted(found)) if depth or word in _KEPT else iter(found) for word, found in keys.items()}
        ranked = sorted(((next(places[_first(statement)]), number, statement) for number, statement in enumerate(statements)))
        return "\n".join(one(statement, depth) for _, _, statement in ranked)

    def one(statement: Statement, depth: int) -> str:
        words = " ".join("," if token.type == "COMMA" else str(token) for token in statement.tokens)
        return words if statement.block is None else f"{words} {{\n{several(statement.block.statements, depth + 1)}\n}}"

    return several(parse(text, "a.rig").statements, 0)


def _first(statement: Statement) -> str:
    return str(statement.tokens[0]).lower() if statement.tokens else ""


def model(text: str, path: str, folder: Path | None = None) -> tuple[Build, list[tuple[str, str]]]:
    """Return the model of a text that stands in the place of a file, and what is wrong with it."""
    if folder is None:
        found = resolve(path, Loader(MemoryFiles({**FILES, path: text})))
    else:
        texts = {name: (folder / name).read_text(encoding="utf-8") for name in BUILDS}
        found = resolve(path, Loader(MemoryFiles({**texts, path: text})))
    assert isinstance(found, Resolved)
    return found.build, sorted((problem.rule, problem.subject) for problem in found.problems)


@settings(max_examples=60, suppress_health_check=list(HealthCheck))
@given(case=st.sampled_from(MANUAL), seed=st.integers(0, 10**9))
def test_examples_of_the_manual_in_any_order(case: tuple[str, str], seed: int) -> None:
    text, path = case
    again = reordered(text, Random(seed))
    assert model(again, path) == model(text, path), again


@settings(max_examples=40, suppress_health_check=list(HealthCheck))
@given(path=st.sampled_from(BUILDS), seed=st.integers(0, 10**9))
def test_example_builds_in_any_order(path: str, seed: int) -> None:
    text = (EXAMPLES / path).read_text(encoding="utf-8")
    again = reordered(text, Random(seed))
    assert model(again, path, EXAMPLES) == model(text, path, EXAMPLES), again


@pytest.mark.parametrize("path", BUILDS)
def test_example_builds_printed_and_tidied_are_the_same(path: str) -> None:
    text = (EXAMPLES / path).read_text(encoding="utf-8")
    made = tidied(text, path)
    if made.problems:
        return
    wanted = model(text, path, EXAMPLES)
    assert model(made.text, path, EXAMPLES) == wanted
    problems: list[object] = []
    body = BodyReader(path, problems).read(parse(text, path).statements)  # type: ignore[arg-type]
    assert model(print_body(body), path, EXAMPLES) == wanted


def test_the_folder_reads_as_the_memory() -> None:
    path = "farm_stand/box.rig"
    found = resolve(path, Loader(FolderFiles(EXAMPLES)))
    assert isinstance(found, Resolved)
    assert found.build == model((EXAMPLES / path).read_text(encoding="utf-8"), path, EXAMPLES)[0]
