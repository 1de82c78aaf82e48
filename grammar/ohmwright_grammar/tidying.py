"""Tidying a text: canonical layout and spelling, with every comment in its place, and never another meaning.

Spelling means units in plain letters (`mΩ` becomes `mohm`) and terminals by their names (`house.+` becomes `house.plus`), where it is certain what is
meant. What comes out is read again, and refused where it does not say the same.

Line ends stay as the first of them is (LF, or CR LF); a byte order mark is taken off; the text ends with one line end.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ohmwright_grammar.bodies import BodyReader
from ohmwright_grammar.budget import UNLIMITED, Budget
from ohmwright_grammar.diagnostics import Diagnostic
from ohmwright_grammar.entries import Body, Entry
from ohmwright_grammar.kinds.part import Part
from ohmwright_grammar.kinds.requirement import Requirement
from ohmwright_grammar.layout import comments_of, laid_out
from ohmwright_grammar.parsing import parse
from ohmwright_grammar.records import record
from ohmwright_grammar.syntax import Block, Statement, Token
from ohmwright_grammar.things import Fact, Thing
from ohmwright_grammar.units import dimensions_of, plain_symbol

__all__ = ["Tidied", "same_meaning", "tidied"]


@record
class Tidied:
    """A tidied text; `problems` where it cannot be read and was left as it is, `refusal` where tidying would have changed what it says."""

    text: str
    problems: tuple[Diagnostic, ...] = ()
    refusal: str = ""


def tidied(
    text: str,
    path: str,
    kinds: Mapping[str, type[Thing]] | None = None,
    glued: bool = False,
    budget: Budget = UNLIMITED,
) -> Tidied:
    """Return the text in canonical layout and spelling.

    `text` is what the file holds, with its own line ends. `kinds` may name the kinds of things that are declared in other files, for the terminals
    of those; things of the text itself are known. With `glued` numbers stay glued to what follows them where they are; without, that is tried where
    parting them would change what is said. Raises OutOfBudgetError where the budget runs out.
    """
    ends = "\r\n" if "\r\n" in text[: text.find("\n") + 1] else "\n"
    plain = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
    body, problems, statements = _read(plain, path, budget)
    if problems:
        return Tidied(text, tuple(problems))
    known = {**(kinds or {}), **_kinds_of(body)}
    spelt = _spelt(statements, known, path)
    made = laid_out(plain, spelt, glued)
    refusal = _difference(plain, statements, spelt, made, path, body, known, budget)
    if refusal and not glued:
        return tidied(text, path, kinds, glued=True, budget=budget)
    if refusal:
        return Tidied(text, (), refusal)
    return Tidied(made.replace("\n", ends) if ends != "\n" else made)


def _read(text: str, path: str, budget: Budget) -> tuple[Body, list[Diagnostic], tuple[Statement, ...]]:
    problems: list[Diagnostic] = []
    parsed = parse(text, path, budget)
    problems.extend(parsed.diagnostics)
    return BodyReader(path, problems, budget=budget).read(parsed.statements), problems, parsed.statements


# spelling ------------------------------------------------------------------------------------------------------------


def _kinds_of(body: Body) -> dict[str, type[Thing]]:
    return {entry.name: entry.kind for entry in body.entries if entry.kind.NAMED and issubclass(entry.kind, Part)}


def _spelt(statements: tuple[Statement, ...], kinds: Mapping[str, type[Thing]], path: str) -> tuple[Statement, ...]:
    """Return statements in which units and terminals are spelt in the usual way."""
    result: list[Statement] = []
    for statement in statements:
        tokens = tuple(_token(statement.tokens, index, kinds) for index in range(len(statement.tokens)))
        block = statement.block
        if block is not None:
            inner = dict(kinds)
            if statement.tokens and str(statement.tokens[0]).lower() == "assembly":
                inner |= _kinds_of(BodyReader(path, []).read(block.statements))
            block = Block(block.opening, _spelt(block.statements, inner, path), block.closing)
        result.append(Statement(tokens, block))
    return tuple(result)


def _token(tokens: tuple[Token, ...], index: int, kinds: Mapping[str, type[Thing]]) -> Token:
    token = tokens[index]
    text = str(token)
    if token.type == "NUMBER" and "\u2212" in text:
        return token.update(value=text.replace("\u2212", "-"))
    if token.type not in ("WORD", "QUOTED_REFERENCE"):
        return token
    if token.type == "WORD" and index and tokens[index - 1].type == "NUMBER":
        symbol = plain_symbol(text)
        if symbol != text and dimensions_of(symbol):
            return token.update(value=symbol)
    head, point, terminal = text.rpartition(".")
    if point and not (index == 1 and str(tokens[0]).lower() == "waive"):
        kind = kinds.get(head.replace('"', ""))
        if kind is not None and issubclass(kind, Part) and terminal not in kind.TERMINALS:
            name = kind.ALIASES.get(terminal) or kind.ALIASES.get(terminal.lower())
            if name is not None:
                return token.update(value=f"{head}.{name}")
    return token


# the same meaning ----------------------------------------------------------------------------------------------------


def _difference(
    before: str,
    statements: tuple[Statement, ...],
    spelt: tuple[Statement, ...],
    after: str,
    path: str,
    body: Body,
    kinds: Mapping[str, type[Thing]],
    budget: Budget,
) -> str:
    """Return what tidying would have changed, "" where nothing."""
    again, problems, read = _read(after, path, budget)
    if problems:
        return f"the tidied text could not be read: {problems[0].message}"
    if not _alike(read, spelt):
        return "the tidied text would have had other words"
    if [comment.text for comment in comments_of(after, read)] != [comment.text for comment in comments_of(before, statements)]:
        return "a comment would have been lost or changed"
    return "" if same_meaning(body, again, kinds) else "the tidied text would have said something else"


def _alike(one: tuple[Statement, ...], other: tuple[Statement, ...]) -> bool:
    """Tell whether two texts have the same tokens in the same blocks; blanks and line ends inside tokens aside."""
    if len(one) != len(other):
        return False
    for first, second in zip(one, other, strict=True):
        if [_bare(token) for token in first.tokens] != [_bare(token) for token in second.tokens]:
            return False
        if (first.block is None) != (second.block is None):
            return False
        if first.block is not None and second.block is not None and not _alike(first.block.statements, second.block.statements):
            return False
    return True


def _bare(token: Token) -> tuple[str, str]:
    return token.type, "," if token.type == "COMMA" else str(token)


def same_meaning(one: Body, other: Body, kinds: Mapping[str, type[Thing]]) -> bool:
    """Tell whether two texts say the same: equal things, defaults and changes, with terminals of the known kinds taken by their names."""
    return _said(one, kinds) == _said(other, kinds)


def _said(body: Body, kinds: Mapping[str, type[Thing]]) -> tuple[Any, ...]:
    return (
        _facts(body.rig.facts, kinds),
        body.rig.base,
        [
            (
                entry.kind,
                entry.name if entry.kind is not Requirement else "",
                _facts(entry.facts, kinds),
                entry.base,
                _groups(entry, kinds),
                entry.mate,
            )
            for entry in body.entries
        ],
        [(item.plural, item.kind, _facts(item.facts, kinds), item.words, item.zone, item.owner) for item in body.defaults],
        [(item.name, item.head, item.adds) for item in body.changes],
        body.removals,
        list(body.assemblies),
        {name: value for name, (value, _) in body.parameters.items()},
    )


def _groups(entry: Entry, kinds: Mapping[str, type[Thing]]) -> list[Any]:
    return [(_facts(group.facts, kinds), group.zone, group.plural) for group in entry.groups]


def _facts(facts: Mapping[str, Fact[Any]], kinds: Mapping[str, type[Thing]]) -> dict[str, Any]:
    return {name: (_value(fact.value, kinds), fact.answer, fact.document) for name, fact in facts.items()}


def _value(value: Any, kinds: Mapping[str, type[Thing]]) -> Any:
    """Return a value that can be compared, with terminals by their names."""
    if isinstance(value, str):
        head, point, terminal = value.rpartition(".")
        kind = kinds.get(head) if point else None
        if kind is not None and issubclass(kind, Part) and terminal not in kind.TERMINALS:
            return f"{head}.{kind.ALIASES.get(terminal) or kind.ALIASES.get(terminal.lower()) or terminal}"
        return value
    if isinstance(value, Thing):
        return type(value), value.name, _facts(value.facts, kinds)
    if isinstance(value, tuple):
        return [_value(item, kinds) for item in value]
    slots = getattr(type(value), "__dataclass_fields__", None)
    if slots:
        return type(value), [_value(getattr(value, name), kinds) for name in slots]
    return value
