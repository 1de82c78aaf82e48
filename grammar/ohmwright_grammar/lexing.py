"""From text to what the parser takes: braces, ends of statements, and all the pieces of a statement in one row.

The terminals are those of rig.lark. None of them hangs on what came before, and a statement is any row of pieces: so one pattern finds them all, and the
parser takes one step for a row. Together that halves the time of a parse.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from ohmwright_grammar.parser_library import Token

__all__ = ["Row", "RowLexer", "in_rows"]

_ALONE = frozenset({"LBRACE", "RBRACE", "_SEP"})


class Row(tuple[Token, ...]):
    """The pieces of one statement; each knows its place, the row has none of its own."""

    __slots__ = ()
    type = "PIECES"
    start_pos = end_pos = line = column = end_line = end_column = None


def in_rows(tokens: Iterable[Token]) -> Iterator[Token | Row]:
    """Yield tokens as the parser takes them; a brace on a later line goes on with its statement, with comments between them or not."""
    row: list[Token] = []
    ends: list[Token] = []
    for token in tokens:
        kind = token.type
        if kind not in _ALONE:
            row.append(token)
            continue
        if row or kind == "RBRACE" or any(";" in end for end in ends):
            yield from ends
            ends = []
        if row:
            yield Row(row)
            row = []
        if kind == "_SEP":
            ends.append(token)
        else:
            ends = []
            yield token
    yield from ends
    if row:
        yield Row(row)


class RowLexer:
    """A lexer for lark, made of what lark knows of the terminals: pattern, order, which are ignored, what is called for some of them."""

    def __init__(self, conf: Any) -> None:
        def order(terminal: Any) -> tuple[int, int, int, str]:
            """As lark's own lexers have it."""
            pattern = terminal.pattern
            return -terminal.priority, -pattern.max_width, -len(pattern.value), terminal.name

        terminals = sorted(conf.terminals, key=order)
        words = "|".join(f"(?P<{terminal.name}>{terminal.pattern.to_regexp()})" for terminal in terminals)
        self._find = conf.re_module.compile(words).finditer
        self._ignored = frozenset(conf.ignore)
        self._callbacks = dict(conf.callbacks)

    def lex(self, state: Any, parser_state: Any) -> Iterator[Token | Row]:
        """Yield what the parser takes of a text."""
        text = state.text
        return in_rows(self.tokens(text if isinstance(text, str) else text.text))  # a slice of the text from lark 1.3 on

    def tokens(self, text: str) -> Iterator[Token]:
        """Yield every token of a text; each letter is part of one, or ignored."""
        ignored, callbacks = self._ignored, self._callbacks
        line, line_start = 1, 0
        new = str.__new__
        for found in self._find(text):
            kind = found.lastgroup
            if kind in ignored:
                continue
            start, end = found.span()
            value = found.group()
            token = new(Token, value)
            token.type = kind
            token.value = value
            token.start_pos = start
            token.line = line
            token.column = start - line_start + 1
            if "\n" in value:
                line += value.count("\n")
                line_start = start + value.rindex("\n") + 1
            token.end_line = line
            token.end_column = end - line_start + 1
            token.end_pos = end
            yield callbacks[kind](token) if kind in callbacks else token
