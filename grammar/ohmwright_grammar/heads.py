"""The words with which statements begin: of a kind, of several things of a kind, and of statements that declare no thing."""

from __future__ import annotations

from ohmwright_grammar.kinds import HEADS, PLURALS
from ohmwright_grammar.syntax import Token
from ohmwright_grammar.things import Thing, data_of

__all__ = ["RESERVED", "STATEMENTS", "choices_of", "group_words", "head_of", "may_begin", "names_a_choice", "plural_in"]

STATEMENTS = ("all", "assembly", "parameter", "change", "add to", "remove")  # those that declare no thing of a kind

RESERVED = frozenset({"all", "no", "not", "none", "same", "except", "and", "with", "everything"})

_HEADS_BY_WORD: dict[str, tuple[tuple[str, ...], ...]] = {}
for _words in HEADS:
    _HEADS_BY_WORD[_words[0]] = (*_HEADS_BY_WORD.get(_words[0], ()), _words)


# Words that begin a statement of the file itself; those of things are in HEADS.
_ROOT_WORDS = frozenset({"rig", "basis", "adapts", "parts"})
_GOES_ON = frozenset(
    {"in", "the", "to", "from", "of", "with", "and", "on", "at", "as", "a", "an", "for", "by", "no", "not", "per"}
)


def may_begin(tokens: tuple[Token, ...], place: int, has_block: bool) -> bool:
    """Tell whether a statement may begin at a place inside another: a word that begins one, with a name or a block after it."""
    token, before = tokens[place], tokens[place - 1]
    if token.type != "WORD" or before.type == "COMMA" or str(before) in _GOES_ON:
        return False
    if tokens[place + 1].type not in ("WORD", "TEXT") if place + 1 < len(tokens) else not has_block:
        return False
    word = str(token).lower()
    return word in _HEADS_BY_WORD or word in _ROOT_WORDS


def head_of(tokens: tuple[Token, ...]) -> str:
    """Return the words of the kind that the statement begins with, or ""."""
    for words in _HEADS_BY_WORD.get(str(tokens[0]).lower(), ()) if tokens else ():
        if len(words) == 1:
            return words[0]
        if len(tokens) >= len(words) and all(str(t).lower() == w for t, w in zip(tokens, words, strict=False)):
            return " ".join(words)
    return ""


def group_words(tokens: tuple[Token, ...]) -> str:
    """Return the plural of a kind that the statement begins with, or ""."""
    for length in (3, 2, 1):
        words = " ".join(str(token).lower() for token in tokens[:length])
        if len(tokens) >= length and words in PLURALS:
            return words
    return ""


def plural_in(tokens: tuple[Token, ...]) -> tuple[str, int, int] | None:
    """Find the plural word after "all": the word, where it begins and where it ends."""
    for start in range(1, min(len(tokens), 4)):
        for length in (3, 2, 1):
            words = " ".join(str(token).lower() for token in tokens[start : start + length])
            if words in PLURALS and start + length <= len(tokens):
                return words, start, start + length
    return None


def choices_of(kind: type[Thing]) -> list[str]:
    """Return the wordings of every choice that things of a kind have."""
    return [wording for datum in data_of(kind).values() for wording in datum.choices or ()]


def names_a_choice(kind: type[Thing], words: tuple[str, ...]) -> bool:
    """Tell whether words name a family or sort of a kind."""
    return " ".join(words) in {wording.lower() for wording in choices_of(kind)}
