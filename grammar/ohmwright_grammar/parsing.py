"""From text to the syntax tree, with every independent mistake reported.

The grammar is so wide that only braces can break it. When they do, the tokens are read once more with the missing brace put
where the layout says that it belongs (a block still open at a statement that begins in column 1), so that the rest of the file is read
all the same.
"""

from __future__ import annotations

import gc
import marshal
import re
from pathlib import Path
from typing import Any

from ohmwright_grammar.budget import UNLIMITED, Budget, OutOfBudgetError
from ohmwright_grammar.diagnostics import Diagnostic
from ohmwright_grammar.lexing import RowLexer, in_rows
from ohmwright_grammar.parser_library import LARK_VERSION, Lark, UnexpectedInput
from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Span
from ohmwright_grammar.syntax import Block, Statement, span_of

__all__ = [
    "GRAMMAR_FILE",
    "MOST_LETTERS_OF_A_TEXT",
    "MOST_LETTERS_OF_A_WORD",
    "MOST_NESTED",
    "Parsed",
    "build_parser",
    "parse",
]

GRAMMAR_FILE = Path(__file__).with_name("rig.lark")
MOST_NESTED = 64
MOST_LETTERS_OF_A_WORD = 1000
MOST_LETTERS_OF_A_TEXT = 10_000


@record
class Parsed:
    """The statements of one file and what is wrong with its braces."""

    statements: tuple[Statement, ...]
    diagnostics: tuple[Diagnostic, ...]


class _Statements:
    """Builds statements while the parser runs; no lark tree is made. It looks at the budget of the run at each statement.

    It is no `Transformer`, whose default would stand between the parser and every piece that it takes in.
    """

    budget: Budget = UNLIMITED
    path: str = ""

    def start(self, children: list[Any]) -> tuple[Statement, ...]:
        return children[0]  # type: ignore[no-any-return]

    def body(self, children: list[Any]) -> tuple[Statement, ...]:
        return tuple(children)

    def looked_at(self, token: Any) -> Any:
        """Look at the budget inside of a statement too: it may be as long as the file."""
        if self.budget.is_out():
            raise OutOfBudgetError(span_of(self.path, token))
        return token

    def open(self, children: list[Any]) -> Statement:
        if self.budget.is_out():
            raise OutOfBudgetError(span_of(self.path, children[0][0]))
        return Statement(children[0], None)

    def closed(self, children: list[Any]) -> Statement:
        return Statement(children[0] if len(children) > 1 else (), children[-1])

    def block(self, children: list[Any]) -> Block:
        return Block(*children)


_statements = _Statements()
_WHAT: dict[str, Any] = {"start": ["start", "pieces"], "parser": "lalr", "lexer": "basic", "maybe_placeholders": False}
_HOW: dict[str, Any] = {
    "transformer": _statements,
    "lexer_callbacks": dict.fromkeys(("COMMA", "LBRACE", "RBRACE"), _statements.looked_at),
    "_plugins": {"BasicLexer": RowLexer},
}


def build_parser() -> Lark:
    """Return a parser made from the grammar text (about 20 ms; the shipped table spares them)."""
    return Lark(GRAMMAR_FILE.read_text(encoding="utf-8"), **_WHAT, **_HOW)


def _load_parser() -> Lark:
    try:
        from ohmwright_grammar import _rig_table as table
    except ImportError:
        return build_parser()
    if LARK_VERSION != table.LARK_VERSION:
        return build_parser()
    try:
        loaded: Lark = Lark._load_from_dict(*marshal.loads(table.MARSHALLED), **_HOW)  # type: ignore[no-untyped-call]
        return loaded
    except Exception:  # a table of another lark: the grammar text always works
        return build_parser()


_parser: Lark | None = None


def _shared_parser() -> Lark:
    global _parser
    if _parser is None:
        _parser = _load_parser()
    return _parser


def parse(text: str, path: str, budget: Budget = UNLIMITED) -> Parsed:
    """Read `text` (of the file `path`, named in spans) into statements.

    Raises nothing for any text but OutOfBudgetError. Lines end with LF, CR LF or CR; a byte order mark must have been taken off before.
    """
    refused = _too_deep(text, path) or _too_long(text, path)
    if refused is not None:
        return Parsed((), (refused,))
    parser = _shared_parser()
    _statements.budget, _statements.path = budget, path
    collecting = gc.isenabled()
    gc.disable()  # nearly halves the time of a large file; nothing in a parse makes garbage in circles
    try:
        try:
            statements: tuple[Statement, ...] = parser.parse(text, start="start")  # type: ignore[assignment]
            return Parsed(statements, ())
        except UnexpectedInput:
            return _parse_with_braces_mended(parser, text, path)
    finally:
        _statements.budget = UNLIMITED
        if collecting:
            gc.enable()


def _lexer_of(parser: Lark) -> RowLexer:
    return parser.parser.lexer  # type: ignore[no-any-return]


_BRACES = re.compile(
    r'"[^"\r\n]*"?|#+(?:[ \t\f\v\xa0\x85\u1680\u2000-\u200b\u2028\u2029\u202f\u205f\u3000][^\r\n]*)?(?=[\r\n]|\Z)|#[^\s;,{}]*|[{}]'
)  # texts, comments and words after a number sign, as the grammar has them; what is left are braces


def _letter_at(offset: int, text: str, path: str) -> Span:
    line = text.count("\n", 0, offset) + 1
    column = offset - text.rfind("\n", 0, offset)
    return Span(path, line, column, line, column + 1)


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
                return Diagnostic(
                    "over-limit",
                    f"Blocks are nested deeper than {MOST_NESTED} here, so that the file is not read.",
                    _letter_at(found.start(), text, path),
                    "Take the inner things out of their blocks, or close blocks that were left open.",
                )
        elif sign == "}":
            depth = max(0, depth - 1)
    return None


_LONG = re.compile(rf'[^\s;,{{}}"]{{{MOST_LETTERS_OF_A_WORD + 1}}}|"[^"\r\n]{{{MOST_LETTERS_OF_A_TEXT + 1}}}')
_PIECES = re.compile(r'#+(?:[^\S\r\n][^\r\n]*)?(?=[\r\n]|\Z)|"[^"\r\n]*"?|[^\s;,{}"#]+|#+')


def _too_long(text: str, path: str) -> Diagnostic | None:
    """Return what is wrong where a word or a text is longer than any has reason to be: a name is told once for every check that it is in."""
    if _LONG.search(text) is None:
        return None
    for found in _PIECES.finditer(text):
        piece = found.group()
        what, most = ("text", MOST_LETTERS_OF_A_TEXT + 2) if piece.startswith('"') else ("word", MOST_LETTERS_OF_A_WORD)
        if len(piece) > most and not piece.startswith("#"):
            return Diagnostic(
                "over-limit",
                f"The {what} that begins here has {len(piece):,} letters, so that the file is not read.",
                _letter_at(found.start(), text, path),
                f"A word has at most {MOST_LETTERS_OF_A_WORD:,} letters, a text in quotation marks {MOST_LETTERS_OF_A_TEXT:,}.",
            )
    return None


def _parse_with_braces_mended(parser: Lark, text: str, path: str) -> Parsed:
    from ohmwright_grammar.mending import mend

    problems: list[Diagnostic] = []
    tokens = mend(list(_lexer_of(parser).tokens(text)), path, problems)
    run = parser.parse_interactive("", start="start")
    for taken in in_rows(tokens):
        run.feed_token(taken)  # type: ignore[arg-type]  # lark looks at its type alone
    statements: tuple[Statement, ...] = run.feed_eof()  # type: ignore[no-untyped-call]
    return Parsed(statements, tuple(problems))
