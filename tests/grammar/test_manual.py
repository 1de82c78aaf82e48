"""The manual is true: its tables are current, every line of them is read as what it says, and every example reads without a problem."""

from __future__ import annotations

import re
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.kinds import INNER, KINDS, PLURALS, kind_of
from ohmwright_grammar.kinds.rig import Rig
from ohmwright_grammar.resolve import Loader, Resolved, resolve
from ohmwright_grammar.things import Datum, Thing, data_of
from ohmwright_grammar.tidying import tidied

sys.path.insert(0, str(Path(__file__).parents[2] / "tools"))
sys.path.insert(0, str(Path(__file__).parent))
import make_manual
from lexicon_samples import rows
from test_printing import read_facts

MANUAL = (Path(__file__).parents[2] / "grammar" / "LANGUAGE.md").read_text(encoding="utf-8")

# What completes an example that is no whole build; the marker `<!-- with NAME -->` above it says which.
PREAMBLES = {
    "box": """
rig "Preamble"
basis us-small-craft
case box { plastic }
battery house { LFP; 4 cells; 60 Ah }
bus hub 100 A
load lamp 10 W
load pump 60 W
relay pump_relay 30 A
connector lamp_socket with lamp_plug { pins 1, 2, 3, 4 { 10 A } }
wire feed from house.plus to hub, 8 AWG, 0.4 m
assembly spare_pack {
  connectors 50 A { inlet { pins 1, 2, 3, 4 }; outlet { pins 1, 2, 3, 4 } }
  battery cells { LFP; 4 cells; 50 Ah }
}
""",
}


@dataclass(frozen=True)
class Block:
    """One example: its text, the line on which it begins, its preamble, and its file name."""

    text: str
    line: int
    preamble: str
    file: str

    def __str__(self) -> str:
        return f"line {self.line}"


def blocks() -> list[Block]:
    """Return every example of the manual."""
    found: list[Block] = []
    for match in re.finditer(r"(?:<!-- (with|file) (\S+) -->\n\n)?```rig\n(.*?)```", MANUAL, re.DOTALL):
        how, what, text = match.groups()
        line = MANUAL.count("\n", 0, match.start(3)) + 1
        found.append(Block(text, line, what if how == "with" else "", what if how == "file" else ""))
    return found


BLOCKS = blocks()
FILES = {block.file: block.text for block in BLOCKS if block.file}


def test_the_tables_are_current() -> None:
    assert make_manual.made(MANUAL) == MANUAL, "run: python tools/make_manual.py"


def test_every_block_is_an_example_that_is_run() -> None:
    assert MANUAL.count("```rig") == len(BLOCKS)
    assert len(BLOCKS) > 50
    assert all(not block.preamble or block.preamble in PREAMBLES for block in BLOCKS)
    assert set(re.findall(r"^```(\w*)$", MANUAL, re.MULTILINE)) == {"rig", "sh", ""}


@pytest.mark.parametrize("block", BLOCKS, ids=str)
def test_an_example_reads_and_resolves_without_a_problem(block: Block) -> None:
    path = block.file or "manual.rig"
    text = PREAMBLES.get(block.preamble, "") + block.text
    found = resolve(path, Loader(MemoryFiles({**FILES, path: text})))
    assert isinstance(found, Resolved)
    problems = [*found.problems, *found.library_problems]
    assert not problems, "\n".join(f"{problem.span.line}: {problem.message} {problem.remedy}" for problem in problems)


@pytest.mark.parametrize("block", [block for block in BLOCKS if "fuse third" not in block.text], ids=str)
def test_an_example_is_tidy(block: Block) -> None:
    """All but the one that shows several layouts of the same."""
    made = tidied(block.text, "manual.rig")
    assert not made.problems
    assert made.text == block.text


ROWS = [row for row in rows() if row[1].shape not in ("block", "blocks")]


@pytest.mark.parametrize(("kind", "datum"), ROWS, ids=[f"{kind.__name__}.{datum.name}" for kind, datum in ROWS])
def test_a_line_of_a_table_is_read_as_what_it_says(kind: type[Thing], datum: Datum[Any]) -> None:
    for words in re.findall(r"`([^`]*)`", make_manual._write(datum)):
        facts, problems = read_facts(kind, words)
        assert not problems, f"{words}: {problems[0].message}"
        assert list(facts.facts) == [datum.name], words


def test_every_special_example_is_of_a_datum() -> None:
    known = {f"{datum.owner.__name__}.{datum.name}" for _, datum in rows() if datum.owner is not None}
    assert set(make_manual.EXAMPLES) <= known


def test_the_tables_hold_every_datum_of_every_kind() -> None:
    said = set(re.findall(r"^\| (.*?) \|", MANUAL, re.MULTILINE))
    kinds = {kind_of(words) for words in (*KINDS, *INNER, *PLURALS.values())} | {Rig}
    missing = [
        f"{kind.__name__}.{datum.name}"
        for kind in kinds
        for datum in data_of(kind).values()
        if make_manual._write(datum) not in said
    ]
    assert not missing


RULES = Path(__file__).parents[2] / "rules" / "ohmwright_rules"


def test_every_rule_that_the_manual_names_is_one() -> None:
    """In a waiver, and in backquotes as "rule.grade"; the grades stand in the file of the rule."""
    named = set(re.findall(r"^waive ([a-z.-]+)", MANUAL, re.MULTILINE)) | set(
        re.findall(r"`([a-z]+-[a-z-]+\.[a-z-]+)`", MANUAL)
    )
    assert len(named) >= 4
    for name in sorted(named):
        rule, _, grade = name.partition(".")
        file = RULES / f"{rule.replace('-', '_')}.py"
        assert file.exists(), f"there is no rule {rule}"
        assert not grade or f'Grade("{grade}"' in file.read_text(encoding="utf-8"), f"{rule} has no grade {grade}"


def test_the_contents_list_every_section() -> None:
    """One link for each, in their order; those of the tables at the end."""
    anchors = [
        re.sub(r"[^a-z0-9 -]", "", title.lower()).replace(" ", "-") for title in re.findall(r"^## (.+)$", MANUAL, re.MULTILINE)
    ]
    contents = MANUAL[MANUAL.index("Contents:") : MANUAL.index("\n## ")]
    assert re.findall(r"\(#([^)]+)\)", contents) == anchors
