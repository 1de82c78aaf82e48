"""From text to statements: every text gets an answer, braces are mended, places are exact, both parsers agree."""

from __future__ import annotations

import random
import sys
import zlib
from pathlib import Path

import lark
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lark import Lark
from ohmwright_grammar import _rig_table, _unit_factors, parsing
from ohmwright_grammar.parsing import GRAMMAR_FILE, MOST_NESTED, build_parser, parse
from ohmwright_grammar.properties import FactReader, Facts
from ohmwright_grammar.syntax import Statement
from ohmwright_grammar.units import make_factors

sys.path.insert(0, str(Path(__file__).parent))
from reading import problems_of, told
from test_printing import WHOLE

EXAMPLES = [file.read_text(encoding="utf-8") for file in sorted((Path(__file__).parents[2] / "examples").rglob("*.rig"))]
PIECES = [
    "wire", "12", "V", "-5", "1e400", "2/0", "AWG", "2027-06-30", '"text"', '"open', '"a b".plus', "{", "}", ";", "\n", ",", ", ", "#", "# c\n", "##",
    "=", ":", "(", "“", "5-35", "0,25", "10x38", "a.b", "pack[2].x", "\x07", "\ufffd", "\t", "\xa0", "−3", "..", "é", "𝛀",
]  # fmt: skip


def plain(statements: tuple[Statement, ...]) -> list[object]:
    """Return statements as lists of token types and texts, with places."""
    return [
        (
            [
                (token.type, str(token), token.line, token.column, token.end_line, token.end_column)
                for token in statement.tokens
            ],
            plain(statement.block.statements) if statement.block is not None else None,
        )
        for statement in statements
    ]


# the shipped table ---------------------------------------------------------------------------------------------------


def test_the_shipped_table_is_of_this_grammar() -> None:
    assert zlib.crc32(GRAMMAR_FILE.read_bytes()) == _rig_table.GRAMMAR_CRC, "run: python tools/make_tables.py"


def test_the_shipped_table_is_of_this_lark() -> None:
    if lark.__version__ != _rig_table.LARK_VERSION:
        pytest.skip(
            f"lark {lark.__version__} is here, the table is of {_rig_table.LARK_VERSION}: parsers are made from the grammar text"
        )
    assert parsing._load_parser().source_path == "<deserialized>"


def test_the_shipped_factors_are_those_of_pint() -> None:
    assert make_factors() == _unit_factors.FACTORS, "run: python tools/make_tables.py"


@pytest.fixture(scope="module")
def made() -> Lark:
    """A parser made from the grammar text."""
    return build_parser()


@pytest.mark.parametrize("text", [WHOLE, *EXAMPLES], ids=range(len(EXAMPLES) + 1))
def test_the_table_and_the_grammar_text_parse_alike(text: str, made: Lark) -> None:
    shipped = parsing._load_parser()
    assert plain(shipped.parse(text, start="start")) == plain(made.parse(text, start="start"))  # type: ignore[arg-type]


def test_another_lark_falls_back_to_the_grammar_text(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(_rig_table, "LARK_VERSION", "0.0")
    calls: list[int] = []
    real = parsing.build_parser
    monkeypatch.setattr(parsing, "build_parser", lambda: calls.append(1) or real())
    assert plain(parsing._load_parser().parse("bus a 3 A", start="start")) == plain(parse("bus a 3 A", "a.rig").statements)  # type: ignore[arg-type]
    assert calls


@settings(max_examples=300)
@given(st.lists(st.sampled_from(PIECES), max_size=40), st.integers(0, 10**6))
def test_both_parsers_agree_on_any_tokens(pieces: list[str], seed: int) -> None:
    chance = random.Random(seed)
    text = "".join(piece + chance.choice(["", " "]) for piece in pieces)
    shipped = parse(text, "a.rig")
    kept, parsing._parser = parsing._parser, build_parser_once()
    try:
        again = parse(text, "a.rig")
    finally:
        parsing._parser = kept
    assert plain(shipped.statements) == plain(again.statements)
    assert shipped.diagnostics == again.diagnostics


_made: list[Lark] = []


def build_parser_once() -> Lark:
    """Return a parser made from the grammar text, made once."""
    if not _made:
        _made.append(build_parser())
    return _made[0]


# any text ------------------------------------------------------------------------------------------------------------


@settings(max_examples=300)
@given(st.one_of(st.text(), st.lists(st.sampled_from(PIECES), max_size=60).map(" ".join)))
def test_any_text_gets_an_answer(text: str) -> None:
    for problem in problems_of(text):
        assert problem.message
        assert problem.span.line >= 1
        assert problem.span.column >= 1
        assert (problem.span.end_line, problem.span.end_column) >= (problem.span.line, problem.span.column)


# braces --------------------------------------------------------------------------------------------------------------

UNCLOSED = """\
rig "A"
bus first { 10 A
bus second { 20 A }
zone hot {
  bus third { 30 A }
  bus fourth { 40 A
}
bus fifth { 50 A }
"""


def test_a_missing_brace_is_put_where_the_layout_says() -> None:
    parsed = parse(UNCLOSED, "a.rig")
    assert [(problem.rule, problem.span.line) for problem in parsed.diagnostics] == [
        ("unclosed-block", 2),
        ("unclosed-block", 4),
    ]
    first = parsed.diagnostics[0]
    assert first.related[0].span.line == 3
    assert first.edits[0].span[1:3] == (3, 1)
    names = [str(statement.tokens[1]) for statement in parsed.statements]
    assert names == ["A".join(['"', '"']), "first", "second", "hot", "fifth"]


def test_the_edits_close_the_blocks() -> None:
    lines = UNCLOSED.splitlines(keepends=True)
    for problem in reversed(parse(UNCLOSED, "a.rig").diagnostics):
        (edit,) = problem.edits
        assert edit.span.column == 1
        lines.insert(edit.span.line - 1, edit.text)
    assert not parse("".join(lines), "a.rig").diagnostics


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("bus a { 3 A }\n}\nbus b { 4 A }\n", [("unclosed-block", 2)]),
        ("bus a { 3 A\n", [("unclosed-block", 1)]),
        ("bus a { 3 A\n\n# end\n", [("unclosed-block", 1)]),
        ("zone a {\nbus b {\n3 A\n}\n", [("unclosed-block", 1)]),
        ("} } }\n", [("unclosed-block", 1)] * 3),
        ("{ { {\n", [("unclosed-block", 1)] * 3),
        ("zone z {\nbus a { 3 A }\nbus b { 4 A }\n}\n", []),  # a file that is not indented at all
        ('bus a { "}" }\n', []),
        ("bus a { 3 A } # }\n", []),
    ],
)
def test_braces(text: str, wanted: list[tuple[str, int]]) -> None:
    assert [(problem.rule, problem.span.line) for problem in parse(text, "a.rig").diagnostics] == wanted


def test_the_rest_of_a_file_with_a_missing_brace_is_read() -> None:
    text = "bus a { 3 A\nbus b { 4 }\nload c { 5 W }\nwire w from a to c.plus { 4 AWG; 1 m }\n"
    assert told(text) == [("unclosed-block", 1), ("missing-unit", 2)]


def test_blocks_may_be_nested_so_deep_and_no_deeper() -> None:
    assert not parse("a { " * MOST_NESTED + "}" * MOST_NESTED, "a.rig").diagnostics
    (problem,) = parse("a\n{ " * (MOST_NESTED + 1) + "}" * (MOST_NESTED + 1), "a.rig").diagnostics
    assert problem.rule == "over-limit"
    assert problem.span.line == MOST_NESTED + 2
    assert problem.span.column == 1


# places --------------------------------------------------------------------------------------------------------------


def test_places_are_lines_and_code_points_from_1_with_an_exclusive_end() -> None:
    text = '# 𝛀 first\n\tload "é𝛀" {  12  Vx ; 5\n}\n'
    spans = {problem.rule: problem.span for problem in problems_of(text)}
    assert spans["unknown-unit"] == ("build.rig", 2, 19, 2, 21)
    assert spans["missing-unit"][1:] == (2, 24, 2, 25)


def test_a_fact_stands_at_its_own_words() -> None:
    facts = Facts()
    statement = parse("fuse a {\n  40 A; breaks 1 kA at\n 32 V dc }", "a.rig").statements[0]
    assert statement.block is not None
    from ohmwright_grammar.kinds.fuse import Fuse

    FactReader("a.rig", []).statement(Fuse, "a", statement.block.statements[0], facts)
    assert facts.facts["rated_current"].source == ("a.rig", 2, 3, 2, 7)


# many mistakes -------------------------------------------------------------------------------------------------------

MANY = """\
rig "Many"
bus hub { 3 }
bus hub2 { 3 V }
battery b { 60 Ah; internal resistence 9 mohm; cells 1.5 }
fuse f { 40 A; bolt-down; 0,5 V }
load l { 5-9 W; works on 10 V to 15 V }
load m { 12 W; 13 W }
switch s { -4 A }
wire w from hub2 to nowhere.plus { 10 AWG; 1 m }
wire x from b.top to hub2 { 10 AWG; 1 m }
wire b from b.plus to hub2 { 10 AWG; 1 m }
widget y { 3 A }
state n { l on; zzz closed }
load q { 10x38 W }
cable c { 3 AWG; core one blue from b.plus to hub2; core one red }
"""


def test_every_independent_mistake_is_told_in_one_run() -> None:
    lines = [line for _, line in told(MANY)]
    assert sorted(set(lines)) == [2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15]
    assert lines.count(4) == 2
    assert all(lines.count(line) == 1 for line in set(lines) - {4})
