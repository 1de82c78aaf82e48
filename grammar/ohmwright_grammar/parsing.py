"""From text to the syntax tree, with every independent mistake reported.

The grammar is so wide that only braces can break it. When they do, the tokens are read once more with the missing brace put
where the layout says that it belongs (a block still open at a statement that begins in column 1), so that the rest of the file is read
all the same.
"""

from __future__ import annotations

import gc
import pickle
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import lark
from lark import Lark, Token, Transformer
from lark.exceptions import UnexpectedInput

from ohmwright_grammar.diagnostics import Diagnostic, Related
from ohmwright_grammar.spans import Edit, Span
from ohmwright_grammar.syntax import Block, Statement, span_of

__all__ = ["GRAMMAR_FILE", "MOST_NESTED", "Parsed", "build_parser", "parse"]

GRAMMAR_FILE = Path(__file__).with_name("rig.lark")
MOST_NESTED = 64


@dataclass(frozen=True, slots=True)
class Parsed:
    """The statements of one file and what is wrong with its braces."""

    statements: tuple[Statement, ...]
    diagnostics: tuple[Diagnostic, ...]


class _Statements(Transformer[Token, Any]):
    """Builds statements while the parser runs; no lark tree is made."""

    def start(self, children: list[Any]) -> tuple[Statement, ...]:
        return children[0]  # type: ignore[no-any-return]

    def body(self, children: list[Any]) -> tuple[Statement, ...]:
        return tuple(children)

    def open(self, children: list[Any]) -> Statement:
        return Statement(tuple(children), None)

    def closed(self, children: list[Any]) -> Statement:
        return Statement(tuple(children[:-1]), children[-1])

    def block(self, children: list[Any]) -> Block:
        return Block(*children)


def build_parser() -> Lark:
    """Return a parser made from the grammar text (about 20 ms; the shipped table spares them)."""
    return Lark(
        GRAMMAR_FILE.read_text(encoding="utf-8"),
        parser="lalr",
        lexer="contextual",
        maybe_placeholders=False,
        transformer=_Statements(),
    )


def _load_parser() -> Lark:
    try:
        from ohmwright_grammar import _rig_table as table
    except ImportError:
        return build_parser()
    if lark.__version__ != table.LARK_VERSION:
        return build_parser()
    try:
        loaded: Lark = Lark._load_from_dict(*pickle.loads(table.PICKLED), transformer=_Statements())  # type: ignore[no-untyped-call]
        return loaded
    except Exception:  # a table of another lark: the grammar text always works
        return build_parser()


_parser: Lark | None = None


def _shared_parser() -> Lark:
    global _parser
    if _parser is None:
        _parser = _load_parser()
    return _parser


def parse(text: str, path: str) -> Parsed:
    """Read `text` (of the file `path`, named in spans) into statements.

    Never raises for any text. Lines end with LF, CR LF or CR; a byte order mark must have been taken off before.
    """
    deep = _too_deep(text, path)
    if deep is not None:
        return Parsed((), (deep,))
    parser = _shared_parser()
    collecting = gc.isenabled()
    gc.disable()  # nearly halves the time of a large file; nothing in a parse makes garbage in circles
    try:
        try:
            statements: tuple[Statement, ...] = parser.parse(text)  # type: ignore[assignment]
            return Parsed(statements, ())
        except UnexpectedInput:
            return _parse_with_braces_mended(parser, text, path)
    finally:
        if collecting:
            gc.enable()


_BRACES = re.compile(r'"[^"\r\n]*"|(?:(?<=\s)|^)#+(?:[ \t][^\r\n]*)?$|[{}]', re.MULTILINE)


def _too_deep(text: str, path: str) -> Diagnostic | None:
    """Return what is wrong where blocks are nested deeper than `MOST_NESTED`; such a text is not read at all."""
    if text.count("{") <= MOST_NESTED:
        return None
    depth = 0
    for found in _BRACES.finditer(text):
        sign = found.group()
        if sign == "{":
            depth += 1
            if depth > MOST_NESTED:
                line = text.count("\n", 0, found.start()) + 1
                column = found.start() - (text.rfind("\n", 0, found.start()) + 1) + 1
                return Diagnostic(
                    "over-limit",
                    f"Blocks are nested deeper than {MOST_NESTED} here, so that the file is not read.",
                    Span(path, line, column, line, column + 1),
                    "Take the inner things out of their blocks, or close blocks that were left open.",
                )
        elif sign == "}":
            depth = max(0, depth - 1)
    return None


def _parse_with_braces_mended(parser: Lark, text: str, path: str) -> Parsed:
    problems: list[Diagnostic] = []
    tokens = _mend(list(parser.lex(text)), path, problems)
    run = parser.parse_interactive("")
    for token in tokens:
        run.feed_token(token)
    statements: tuple[Statement, ...] = run.feed_eof()  # type: ignore[no-untyped-call]
    return Parsed(statements, tuple(problems))


def _mend(tokens: list[Token], path: str, problems: list[Diagnostic]) -> Iterator[Token]:
    """Yield the tokens with braces that balance, and note what was put in or left out."""
    open_blocks: list[tuple[Token, Token]] = []  # the brace, and the first word of its statement
    head: Token | None = None
    mended: list[Token] = []
    for index, token in enumerate(tokens):
        if token.type == "_SEP":
            head = None
        elif token.type == "LBRACE":
            open_blocks.append((token, head or token))
            head = None
        elif token.type == "RBRACE":
            if not open_blocks:
                problems.append(_stray(token, path))
                mended.append(Token.new_borrow_pos("_SEP", ";", token))
                continue
            open_blocks.pop()
            head = None
        elif head is None:
            head = token
            if open_blocks and token.column == 1 and _closes_before(tokens, index, open_blocks):
                while open_blocks:
                    problems.append(_unclosed(open_blocks.pop(), token, path))
                    mended.append(Token.new_borrow_pos("RBRACE", "}", token))
        mended.append(token)
    last = tokens[-1] if tokens else None
    while open_blocks:
        assert last is not None
        problems.append(_unclosed(open_blocks.pop(), None, path))
        mended.append(Token.new_borrow_pos("RBRACE", "}", last))
    problems.sort(key=lambda problem: (problem.span.line, problem.span.column))
    return iter(mended)


def _closes_before(tokens: list[Token], index: int, open_blocks: list[tuple[Token, Token]]) -> bool:
    """Tell whether the statement at `index`, in column 1 with blocks open, shows that a brace is missing above it.

    It does where the braces from here to the end do not close what is open; a file whose blocks are not indented at all closes
    them.
    """
    depth = len(open_blocks)
    for token in tokens[index:]:
        if token.type == "LBRACE":
            depth += 1
        elif token.type == "RBRACE":
            depth -= 1
    return depth > 0


def _stray(token: Token, path: str) -> Diagnostic:
    place = span_of(path, token)
    return Diagnostic(
        "unclosed-block",
        "This closing brace has no opening brace before it.",
        place,
        "Take it away, or put an opening brace after the words that the block belongs to.",
        edits=(Edit(place, ""),),
    )


def _unclosed(block: tuple[Token, Token], follower: Token | None, path: str) -> Diagnostic:
    brace, head = block
    place = span_of(path, head).to(span_of(path, brace))
    related: tuple[Related, ...] = ()
    where = "at the end of its facts"
    if follower is not None:
        spot = span_of(path, follower)
        where = f"before line {spot.line}"
        related = (Related("This statement cannot belong to the block.", spot),)
        edit = Edit(Span(path, spot.line, spot.column, spot.line, spot.column), "}\n")
        return Diagnostic(
            "unclosed-block",
            f"The block that opens here, after {str(head)!r}, is not closed.",
            place,
            f"Put a closing brace {where}.",
            edits=(edit,),
            related=related,
        )
    return Diagnostic(
        "unclosed-block",
        f"The block that opens here, after {str(head)!r}, is not closed.",
        place,
        f"Put a closing brace {where}.",
        related=related,
    )
