"""The pieces of a text: those that lark's own lexer finds, every letter in one of them, and the rows in which the parser takes them."""

from __future__ import annotations

import sys
from functools import lru_cache
from itertools import islice, takewhile
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from lark import Lark
from ohmwright_grammar import parsing
from ohmwright_grammar.lexing import Row, in_rows
from ohmwright_grammar.parsing import GRAMMAR_FILE, parse

sys.path.insert(0, str(Path(__file__).parent))
sys.path.insert(0, str(Path(__file__).parents[1]))
from fuzz.inputs import SIGNS, inputs
from reading import told
from test_parsing import EXAMPLES, PIECES

TEXTS = st.one_of(
    st.text(),
    st.text(st.sampled_from("".join(SIGNS) + "aA09−"), max_size=40),
    st.lists(st.sampled_from([*PIECES, *SIGNS])).map("".join),
)
ALONE = ("LBRACE", "RBRACE", "_SEP")
IGNORED = " \t\f\v\xa0\x85\u1680\u2028\u2029\u202f\u205f\u3000" + "".join(map(chr, range(0x2000, 0x200C)))


@lru_cache(1)
def lark_of_its_own() -> Lark:
    """A parser of the same grammar whose lexer is lark's."""
    return Lark(GRAMMAR_FILE.read_text(encoding="utf-8"), **parsing._WHAT)


def ours(text: str) -> list[Any]:
    """The tokens of a text, as the parser's lexer finds them."""
    return list(parsing._lexer_of(parsing._shared_parser()).tokens(text))


def plain(tokens: Any) -> list[tuple[Any, ...]]:
    """Tokens with their places, to compare."""
    return [(t.type, str(t), t.start_pos, t.end_pos, t.line, t.column, t.end_line, t.end_column) for t in tokens]


def same_as_lark(text: str) -> None:
    """Hold the tokens of a text against those of lark's own lexer, places and all."""
    assert plain(ours(text)) == plain(lark_of_its_own().lex(text))


@settings(max_examples=400)
@given(TEXTS)
@example("a # b\n\t {\r\n}; ;\n,# c\n 3−4 5-35 0,25 2/0 2027-06-30x #8# {\x85\u2028\ud800")
def test_the_tokens_of_any_text_are_those_of_lark(text: str) -> None:
    same_as_lark(text)


@pytest.mark.parametrize("text", EXAMPLES, ids=range(len(EXAMPLES)))
def test_the_tokens_of_an_example_are_those_of_lark(text: str) -> None:
    same_as_lark(text)


def test_the_tokens_of_spoilt_builds_are_those_of_lark() -> None:
    for text in islice(inputs(7), 300):
        same_as_lark(text)


@settings(max_examples=400)
@given(TEXTS)
def test_every_letter_of_any_text_is_part_of_a_token_a_comment_or_a_blank(text: str) -> None:
    """A letter that nothing matches would vanish without a word: a search passes over it."""
    place = 0
    for token in [*ours(text), None]:
        start = len(text) if token is None else token.start_pos
        assert start >= place
        between = text[place:start].strip(IGNORED)
        if between:  # one comment or several, each to the end of its line; the end itself is a token
            assert between.startswith("#")
            assert "\n" not in between
            assert "\r" not in between
        if token is not None:
            assert str(token) == text[token.start_pos : token.end_pos]
            place = token.end_pos


@settings(max_examples=400)
@given(TEXTS)
def test_rows_hold_every_token_in_its_order_and_end_where_a_statement_does(text: str) -> None:
    """Only ends of lines straight before a brace are left out; a semicolon stays."""
    tokens = ours(text)
    taken: list[Any] = []
    before = ""
    for item in in_rows(tokens):
        if isinstance(item, Row):
            assert item.type == "PIECES" != before
            assert all(token.type not in ALONE for token in item)
            taken += item
        else:
            assert item.type in ALONE
            taken.append(item)
        before = item.type
    kept: list[Any] = []
    for token in tokens:
        if token.type == "LBRACE":
            ends = list(takewhile(lambda item: item.type == "_SEP", reversed(kept)))
            if not any(";" in end for end in ends):
                del kept[len(kept) - len(ends) :]
        kept.append(token)
    assert [id(token) for token in taken] == [id(token) for token in kept]


@pytest.mark.parametrize("between", ["", " ", "\n", "# why\n", "\n# why\n", "\n\n  # why\n\n# and how\n\n\t"])
def test_a_brace_may_stand_on_a_later_line_with_comments_before_it(between: str) -> None:
    parsed = parse(f"fuse a {between}{{ 10 A }}\nbus b 3 A", "a.rig")
    assert not parsed.diagnostics
    assert [([str(token) for token in one.tokens], one.block is not None) for one in parsed.statements] == [
        (["fuse", "a"], True),
        (["bus", "b", "3", "A"], False),
    ]


def test_a_semicolon_ends_a_statement_before_a_brace() -> None:
    assert told("fuse a;\n# why\n{ 10 A }") == [("unreadable-text", 3)]


def test_the_lexer_takes_the_text_of_either_lark() -> None:
    """lark 1.2 hands over the text itself, lark 1.3 a slice of it."""
    lexer = parsing._lexer_of(parsing._shared_parser())
    text = "bus a { 3 A }"
    given = [SimpleNamespace(text=text), SimpleNamespace(text=SimpleNamespace(text=text))]
    assert [[item.type for item in lexer.lex(state, None)] for state in given] == [["PIECES", "LBRACE", "PIECES", "RBRACE"]] * 2


# the depth of blocks is told before a text is parsed -----------------------------------------------------------------

MANY = "{" * (parsing.MOST_NESTED + 1)


@pytest.mark.parametrize(
    "text",
    [
        f'rig "A"# {MANY}\n', f"bus a {{ 3 A }}# {MANY}\n", f"bus a {{ 3 A;# {MANY}\n}}\n", f"bus a 3 A, # {MANY}\n 12 V\n", f"#\tx {MANY}\rbus a 3 A\r",
        f'bus a "{MANY}"\n',
    ],
)  # fmt: skip
def test_braces_in_comments_and_texts_open_nothing(text: str) -> None:
    assert told(text) == told(text.replace(MANY, "x"))
    assert not parse(text, "a.rig").diagnostics


def test_a_brace_after_a_number_sign_without_a_blank_does_open() -> None:
    assert [problem.rule for problem in parse(f"bus a 3 A #8# {MANY}", "a.rig").diagnostics] == ["over-limit"]


@settings(max_examples=400)
@given(
    st.lists(
        st.sampled_from(["{", "}", "{", "a", '"', "#", "# ", "##", "\n", "\r\n", ";", ",", " ", "8", "\x1c", "\xa0", "="])
    ).map("".join)
)
def test_depth_is_counted_by_the_braces_that_the_lexer_finds(text: str) -> None:
    depth = deepest = 0
    for token in ours(text):
        depth = depth + 1 if token.type == "LBRACE" else max(0, depth - 1) if token.type == "RBRACE" else depth
        deepest = max(deepest, depth)
    with pytest.MonkeyPatch.context() as patch:
        for most in range(max(0, deepest - 1), deepest + 2):
            patch.setattr(parsing, "MOST_NESTED", most)
            assert (parsing._too_deep(text, "a.rig") is not None) == (deepest > most)
