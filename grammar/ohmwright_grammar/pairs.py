"""Reading `connector A with B { … }`: what stands in its block holds for both halves, blocks with the name of a half for that half alone."""

from __future__ import annotations

from ohmwright_grammar.entries import Entry, Group
from ohmwright_grammar.kinds import kind_of
from ohmwright_grammar.ordering import put_in_order
from ohmwright_grammar.phrases import plain_name
from ohmwright_grammar.properties import FactReader, Facts
from ohmwright_grammar.syntax import Block, Statement, Token

__all__ = ["mate_in", "read_pair"]


def mate_in(rest: tuple[Token, ...]) -> str:
    """Return the name of the second half, where the words after the first one's name say it: "with B"; else ""."""
    if len(rest) < 2 or str(rest[0]).lower() != "with" or rest[1].type not in ("WORD", "TEXT"):
        return ""
    return plain_name(rest[1])


def read_pair(
    name: str, mate: str, tail: tuple[Token, ...], statement: Statement, reader: FactReader, groups: tuple[Group, ...]
) -> list[Entry]:
    """Return the entries of both halves; `tail` are the words of the head line after their names."""
    kind = kind_of("connector")
    own: dict[str, list[Block]] = {name: [], mate: []}
    common: list[Statement] = []
    if statement.block is not None:
        _sort(statement.block.statements, own, common)
    place = statement.span(reader.path)
    entries: list[Entry] = []
    for half in (name, mate):
        facts = Facts()
        told = len(reader.problems)
        if tail:
            reader.line(kind, half, tail, facts, head_line=True)
        for inner in common:
            reader.statement(kind, half, inner, facts)
        if half == mate:  # what is common was already reported for the first half
            del reader.problems[told:]
        for block in own[half]:
            for inner in block.statements:
                reader.statement(kind, half, inner, facts)
        put_in_order(kind, facts.facts)
        entries.append(Entry(kind, half, place, facts.facts, facts.base, groups, mate if half == name else name))
    return entries


def _sort(statements: tuple[Statement, ...], own: dict[str, list[Block]], common: list[Statement]) -> None:
    """Part what holds for one half from what holds for both, also within the braces of "same as … except"."""
    for inner in statements:
        word = plain_name(inner.tokens[0]) if len(inner.tokens) == 1 else ""
        if inner.block is not None and word in own:
            own[word].append(inner.block)
        elif inner.block is not None and inner.tokens and str(inner.tokens[0]).lower() == "same":
            common.append(Statement(inner.tokens, None))
            _sort(inner.block.statements, own, common)
        else:
            common.append(inner)
