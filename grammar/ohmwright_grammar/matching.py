"""Matching the words of a statement against the phrases of a lexicon, with the values in their slots.

A matcher walks one statement's tokens. A thorough one remembers the furthest place and everything that could have stood where it failed, so
that a message can say what was expected in the reader's own terms.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any

from ohmwright_grammar.figures import Figures
from ohmwright_grammar.phrases import NAME_TOKENS, Literal, Miss, Node, Optional, Slot, plain_name
from ohmwright_grammar.quantities import DIMENSIONS

__all__ = ["Matcher"]

_NOT_IN_A_LIST = frozenset({"no", "not", "none", "all", "same", "except", "with"})
_MOST_SHORTER = 4


class Matcher(Figures):
    """Matches phrases against one statement's tokens; positions are indices of tokens."""

    __slots__ = ()

    def match(
        self, nodes: tuple[Node, ...], position: int, choices: Mapping[str, str] | None = None
    ) -> Iterator[tuple[int, dict[str, Any]]]:
        """Yield every way the phrase matches from `position`: where it ends and the values of its slots, longest first."""
        if choices is not None:
            self.choices = choices
        return self._walk(nodes, 0, position, {})

    def _walk(
        self, nodes: tuple[Node, ...], index: int, position: int, found: dict[str, Any]
    ) -> Iterator[tuple[int, dict[str, Any]]]:
        while True:
            if index == len(nodes):
                yield position, found
                return
            node = nodes[index]
            if type(node) is not Literal:
                break
            if position >= len(self.tokens) or str(self.tokens[position]).lower() not in node.words:
                if self.thorough:
                    self.miss(position, Miss("unreadable-text", f"{sorted(node.words)[0]!r}"))
                return
            position += 1
            index += 1
        if isinstance(node, Optional):
            for end, inner in self._walk(node.nodes, 0, position, found):
                yield from self._walk(nodes, index + 1, end, inner)
            yield from self._walk(nodes, index + 1, position, found)
            return
        assert isinstance(node, Slot)
        for shape in node.shapes:
            for end, value in self._value(shape, position):
                yield from self._walk(nodes, index + 1, end, {**found, node.field: value})

    # values ------------------------------------------------------------------------------------------------------

    def _value(self, shape: str, position: int) -> Iterator[tuple[int, Any]]:
        if shape in DIMENSIONS:
            return self._quantities(DIMENSIONS[shape], position)
        if shape.endswith("s") and shape[:-1] in DIMENSIONS:
            return self._quantity_list(DIMENSIONS[shape[:-1]], position)
        return getattr(self, f"_{shape}")(position)  # type: ignore[no-any-return]

    def _rest(self, position: int) -> bool:
        """Tell whether the words "everything else" stand here, which name whatever a state does not name otherwise."""
        return self._is_word(position, "everything") and self._is_word(position + 1, "else")

    def _term(self, position: int) -> Iterator[tuple[int, str]]:
        token = self._token(position, "WORD", "TEXT")
        if token is None:
            self.miss(position, Miss("unreadable-text", "a word"))
        else:
            yield position + 1, plain_name(token)

    def _name(self, position: int) -> Iterator[tuple[int, str]]:
        token = self._token(position, *NAME_TOKENS, "NUMBER")
        if token is None or (token.type == "WORD" and str(token).lower() in _NOT_IN_A_LIST):
            self.miss(position, Miss("unreadable-text", "a name"))
        else:
            yield position + 1, plain_name(token)

    def _names(self, position: int) -> Iterator[tuple[int, tuple[str, ...]]]:
        ends: list[int] = []  # after each name
        found: list[str] = []
        while True:
            token = self._token(position, *NAME_TOKENS, "NUMBER")
            if token is None or (token.type == "WORD" and str(token).lower() in _NOT_IN_A_LIST):
                self.miss(position, Miss("unreadable-text", "a name"))
                break
            if self._rest(position):
                found.append("everything else")
                ends.append(position + 2)
                break
            found.append(plain_name(token))
            position += 1
            ends.append(position)
            if self._token(position, "COMMA") is not None or self._is_word(position, "and"):
                position += 1
                continue
            break
        yield from _longest_lists(ends, found)

    def _text(self, position: int) -> Iterator[tuple[int, str]]:
        token = self._token(position, "TEXT")
        if token is None:
            self.miss(position, Miss("unreadable-text", 'a text between quotation marks such as "return"'))
        else:
            yield position + 1, str(token)[1:-1]

    def _texts(self, position: int) -> Iterator[tuple[int, tuple[str, ...]]]:
        ends: list[int] = []  # after each text
        found: list[str] = []
        while (token := self._token(position, "TEXT")) is not None:
            found.append(str(token)[1:-1])
            position += 1
            ends.append(position)
            if self._token(position, "COMMA") is None and not self._is_word(position, "and"):
                break
            position += 1
        if not ends:
            self.miss(position, Miss("unreadable-text", "a text between quotation marks"))
        yield from _longest_lists(ends, found)

    def _word(self, position: int) -> Iterator[tuple[int, str]]:
        token = self._token(position, "WORD", "TEXT", "NUMBER", "GAUGE", "DATE")
        if token is None or str(token).lower() == "none":  # in quotation marks it is a word like any other
            self.miss(position, Miss("unreadable-text", "a word"))
        elif token.type == "TEXT":
            yield position + 1, str(token)[1:-1]
        else:
            text, end = str(token), position + 1
            while (
                end < len(self.tokens)
                and self.tokens[end].start_pos == self.tokens[end - 1].end_pos
                and self.tokens[end].type != "COMMA"
            ):
                text += str(self.tokens[end])  # "7b" is one word, kept as written
                end += 1
            yield end, text

    def _date(self, position: int) -> Iterator[tuple[int, date]]:
        token = self._token(position, "DATE")
        if token is None:
            self.miss(position, Miss("unreadable-text", "a date such as 2027-06-30"))
            return
        try:
            yield position + 1, date.fromisoformat(str(token))
        except ValueError:
            self.miss(position, Miss("senseless-value", "a day that the calendar has"))

    def _choice(self, position: int) -> Iterator[tuple[int, str]]:
        if position < len(self.tokens):
            first = str(self.tokens[position]).lower()
            for wording, value in _wordings(self.choices).get(first, ()):
                end = position + len(wording)
                if end <= len(self.tokens) and all(
                    str(token).lower() == word for token, word in zip(self.tokens[position:end], wording, strict=True)
                ):
                    yield end, value
        if self.thorough:
            options = list(self.choices)
            expected = "one of " + ", ".join(options[:12]) if len(options) > 1 else options[0]
            self.miss(position, Miss("unreadable-text", expected))


def _longest_lists(ends: list[int], found: list[str]) -> Iterator[tuple[int, tuple[str, ...]]]:
    """Yield the whole list, then shorter ones; only the last few names can belong to words that follow the list."""
    for length in range(len(ends), max(len(ends) - _MOST_SHORTER, 0), -1):
        yield ends[length - 1], tuple(found[:length])


_Wordings = Mapping[
    str, tuple[tuple[tuple[str, ...], str], ...]
]  # by first word: the words of a choice, longest first, and its value
_KNOWN: dict[int, tuple[Mapping[str, str], _Wordings]] = {}  # with the choices themselves, so that the number stays theirs


def _wordings(choices: Mapping[str, str]) -> _Wordings:
    known = _KNOWN.get(id(choices))
    if known is None:
        split = sorted(
            ((tuple(wording.lower().split()), value) for wording, value in choices.items()), key=lambda item: -len(item[0])
        )
        firsts = dict.fromkeys(wording[0] for wording, _ in split)
        known = choices, {first: tuple(item for item in split if item[0][0] == first) for first in firsts}
        _KNOWN[id(choices)] = known
    return known[1]
