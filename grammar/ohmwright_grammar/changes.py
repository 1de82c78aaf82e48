"""Reading what an adaptation changes, adds and removes."""

from __future__ import annotations

from ohmwright_grammar.diagnostics import Diagnostic
from ohmwright_grammar.entries import Change, Removal
from ohmwright_grammar.heads import head_of
from ohmwright_grammar.kinds import kind_of
from ohmwright_grammar.matching import Matcher
from ohmwright_grammar.phrases import NAME_TOKENS, compile_phrase, plain_name
from ohmwright_grammar.syntax import Statement, Token, span_over

__all__ = ["read_change", "read_removals"]


def read_change(statement: Statement, start: int, adds: bool, path: str, problems: list[Diagnostic]) -> Change | None:
    """Read `change NAME …` or `add to NAME …`; the words of the thing's kind may stand before its name."""
    tokens = statement.tokens
    head = head_of(tokens[start:])
    at = start + len(head.split())
    if head and (len(tokens) <= at or tokens[at].type not in NAME_TOKENS) and kind_of(head).NAMED:
        head, at = "", start  # a thing whose name is the word of a kind
    named = not head or kind_of(head).NAMED
    if named and (len(tokens) <= at or tokens[at].type not in NAME_TOKENS):
        verb = "add to" if adds else "change"
        message = "It is not said which thing is changed."
        problems.append(Diagnostic("unreadable-text", message, statement.span(path), f"Write: {verb} feed {{ … }}"))
        return None
    name = plain_name(tokens[at]) if named else ""
    after = at + 1 if named else at
    place = span_over(path, tokens[0], tokens[max(after - 1, 0)])
    if len(tokens) > after and tokens[after].type == "COMMA":
        after += 1
    return Change(name, place, tokens[after:], statement.block, head, adds)


def read_removals(tokens: tuple[Token, ...], path: str, problems: list[Diagnostic]) -> list[Removal]:
    """Read `remove NAME, NAME`; the words of a kind may stand before the names."""
    place = span_over(path, tokens[0], tokens[-1])
    head = head_of(tokens[1:])
    start = 1 + len(head.split())
    if len(tokens) <= start:
        head, start = "", 1
    ways = [way for way in Matcher(tokens, {}).match(compile_phrase("<names>"), start) if way[0] == len(tokens)]
    if not ways:
        message = "Say which things are not built."
        problems.append(Diagnostic("unreadable-text", message, place, "Write: remove lamp, lamp_feed"))
        return []
    return [Removal(name, place, head) for name in ways[0][1]["value"]]
