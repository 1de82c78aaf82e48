"""The syntax tree: statements of tokens, with blocks of statements."""

from __future__ import annotations

from dataclasses import field

from ohmwright_grammar.parser_library import Token
from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Span

__all__ = ["Block", "Statement", "Token", "span_of", "span_over"]


@record
class Block:
    """Statements between braces."""

    opening: Token = field(compare=False)
    statements: tuple[Statement, ...]
    closing: Token = field(compare=False)


@record
class Statement:
    """Tokens in a row up to a newline, a semicolon or a brace; `block` where braces follow."""

    tokens: tuple[Token, ...]
    block: Block | None

    def span(self, path: str) -> Span:
        """Return the place of the statement's own words, without its block (of its brace where it has no words)."""
        if self.tokens:
            return span_over(path, self.tokens[0], self.tokens[-1])
        assert self.block is not None
        return span_of(path, self.block.opening)


def span_of(path: str, token: Token) -> Span:
    """Return the place of one token, without the blanks that a brace or a comma may carry."""
    text = str(token)
    line, column = token.line or 1, token.column or 1
    end_line, end_column = token.end_line or line, token.end_column or column
    if token.type == "LBRACE":
        return Span(path, end_line, end_column - 1, end_line, end_column)
    if token.type == "COMMA" and len(text) > 1:
        return Span(path, line, column, line, column + 1)
    return Span(path, line, column, end_line, end_column)


def span_over(path: str, first: Token, last: Token) -> Span:
    """Return the place from one token to another."""
    return span_of(path, first).to(span_of(path, last))
