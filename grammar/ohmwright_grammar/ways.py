"""Every way to read the words of a statement as properties of a kind of thing, and the best of them."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from typing import Any

from ohmwright_grammar.matching import Matcher
from ohmwright_grammar.phrases import Literal, Node, Slot, compile_phrase, leading_words
from ohmwright_grammar.quantities import DIMENSIONS, Measure
from ohmwright_grammar.records import entity, record
from ohmwright_grammar.syntax import Token
from ohmwright_grammar.things import Datum, Thing, data_of
from ohmwright_grammar.units import dimensions_of, plain_symbol

__all__ = ["Index", "Said", "index_of", "read_furthest", "read_to_end", "ways_at"]


@record
class Said:
    """One way to read the tokens from `start` to `end`: a fact of a datum, or the base of a thing."""

    datum: Datum[Any] | None
    start: int
    end: int
    value: Any
    answer: str = "said"
    document: str = ""
    plain_words: int = 0


@entity
class _Row:
    """One phrase of one datum, taken apart once."""

    datum: Datum[Any]
    nodes: tuple[Node, ...]
    literals: int  # how many words of its own it has
    start: tuple[frozenset[str], ...]  # the words with which it begins
    words: tuple[str, ...]  # the same as they are said with "no", "none" and "per"
    figures: bool  # it begins with a figure, or with words for one
    dimensions: frozenset[str]  # those of the quantity with which it begins, empty where it begins otherwise
    denies: bool  # it says that the datum does not hold, or that there is none


def _row(datum: Datum[Any], phrase: str, denies: bool = False) -> _Row:
    nodes = compile_phrase(phrase)
    start: list[frozenset[str]] = []
    for node in nodes:
        if not isinstance(node, Literal):
            break
        start.append(node.words)
    first = nodes[0]
    shapes = first.shapes if isinstance(first, Slot) else ()
    return _Row(
        datum,
        nodes,
        sum(1 for node in nodes if type(node) is Literal),
        tuple(start),
        tuple(leading_words(phrase).lower().split()),
        bool(shapes) and all(shape in _FIGURES or shape in DIMENSIONS or shape[:-1] in DIMENSIONS for shape in shapes),
        frozenset(shapes) if shapes and all(shape in DIMENSIONS for shape in shapes) else frozenset(),
        denies,
    )


_FIGURES = frozenset({"count", "number", "gauge", "gauges", "measure"})


_Phrase = tuple[Datum[Any], str, bool]  # a phrase of a datum, and whether it denies


class Index:
    """The phrases of one kind, found by their first word; each is taken apart when something begins like it."""

    def __init__(self, kind: type[Thing]) -> None:
        self._by_word: dict[str, list[_Phrase]] = {}
        self._elsewhere: list[_Phrase] = []  # those that begin with no word of their own
        self._known: dict[str, tuple[_Row, ...]] = {}
        self.subs: list[tuple[tuple[str, ...], Datum[Any], bool]] = []
        for datum in data_of(kind).values():
            if datum.shape in ("block", "blocks"):
                for order, phrase in enumerate(datum.phrases):
                    self.subs.append((tuple(phrase.split()), datum, datum.shape == "blocks" and order % 2 == 1))
                continue
            for phrase in datum.phrases:
                self._add((datum, phrase, False))
            for phrase in datum.denied:
                self._add((datum, phrase, True))
        self.subs.sort(key=lambda row: -len(row[0]))

    def _add(self, item: _Phrase) -> None:
        datum, phrase, _ = item
        first = phrase.split(" ", 1)[0]
        if first.startswith("<choice"):
            for word in dict.fromkeys(wording.split()[0].lower() for wording in datum.choices or ()):
                self._by_word.setdefault(word, []).append(item)
        elif first[0] in "<[":
            self._elsewhere.append(item)
        else:
            for word in dict.fromkeys(first.lower().split("|")):
                self._by_word.setdefault(word, []).append(item)

    def beginning(self, word: str) -> tuple[_Row, ...]:
        """Return the phrases that begin with a word."""
        known = self._known.get(word)
        if known is None:
            known = self._known[word] = tuple(_row(*item) for item in self._by_word.get(word, ()))
        return known

    @functools.cached_property
    def _without_word(self) -> tuple[_Row, ...]:
        return tuple(_row(*item) for item in self._elsewhere)

    @functools.cached_property
    def figures(self) -> tuple[_Row, ...]:
        """The phrases that begin with a figure."""
        return tuple(row for row in self._without_word if row.figures)

    @functools.cached_property
    def open(self) -> tuple[_Row, ...]:
        """The phrases that begin with a name, a text or another word."""
        return tuple(row for row in self._without_word if not row.figures)


_KNOWN: dict[type[Thing], Index] = {}


def index_of(kind: type[Thing]) -> Index:
    known = _KNOWN.get(kind)
    if known is None:
        known = _KNOWN[kind] = Index(kind)
    return known


def _worth_trying(nodes: tuple[Node, ...], tokens: tuple[Token, ...], position: int) -> bool:
    """Tell whether a phrase that begins with a name has its first plain word further on.

    Any word is a name, so that such a phrase would otherwise speak up in every message about a misspelt word.
    """
    if not (isinstance(nodes[0], Slot) and nodes[0].shapes[0] in ("name", "names") and len(nodes) > 1):
        return True
    second = nodes[1]
    if not isinstance(second, Literal):
        return True
    place = position + 1
    while place < len(tokens):
        word = str(tokens[place]).lower()
        if word in second.words:
            return True
        if nodes[0].shapes[0] == "name":
            return False
        if tokens[place].type == "COMMA" or word == "and":
            place += 2  # past the comma and the next name
        elif word == "else":
            place += 1
        else:
            return False
    return False


def _same_words(tokens: tuple[Token, ...], position: int, words: tuple[str, ...]) -> bool:
    return position + len(words) <= len(tokens) and all(
        str(token).lower() == word for token, word in zip(tokens[position : position + len(words)], words, strict=True)
    )


def _begins(start: tuple[frozenset[str], ...], tokens: tuple[Token, ...], position: int) -> bool:
    """Tell whether the words with which a phrase begins stand at a place (the first one is known to)."""
    if position + len(start) > len(tokens):
        return False
    return all(str(tokens[position + place]).lower() in start[place] for place in range(1, len(start)))


def _dimensions_at(tokens: tuple[Token, ...], position: int) -> frozenset[str]:
    """Return the dimensions of the usual unit that stands at a place, or none."""
    if position >= len(tokens) or tokens[position].type != "WORD":
        return frozenset()
    symbol = plain_symbol(str(tokens[position]))
    found = dimensions_of(symbol)
    if found and position + 1 < len(tokens):
        return found | dimensions_of(f"{symbol} {tokens[position + 1]}")
    return found


@functools.cache
def _tail(datum: Datum[Any]) -> _Row:
    return _row(datum, datum.tail)


_READ: dict[
    tuple[Any, ...], tuple[Said, ...]
] = {}  # what was made of words and their distances (nothing: they cannot be read), for builds say the same of many parts
_MOST_READ, _LONGEST_READ = 4_000, 40  # how many such runs are kept, of how many words


def read_to_end(kind: type[Thing], matcher: Matcher, position: int) -> tuple[Said, ...] | None:
    """Read everything from `position` to the end, the longest property first at each place; None where that cannot be done."""
    tokens = matcher.tokens
    if matcher.thorough or matcher.parameters or len(tokens) > _LONGEST_READ:
        return _read_to_end(kind, matcher, position)
    start = tokens[position].start_pos or 0
    key = (kind, position, *[(str(token), (token.start_pos or 0) - start) for token in tokens])
    known = _READ.get(key)
    if known is None:
        if len(_READ) >= _MOST_READ:
            _READ.clear()
        known = _READ[key] = _read_to_end(kind, matcher, position) or ()
    return known or None


def _read_to_end(kind: type[Thing], matcher: Matcher, position: int) -> tuple[Said, ...] | None:
    tokens = matcher.tokens
    failed: set[tuple[int, int]] = set()
    path: list[Said] = []
    open_ways = [iter(_sorted_ways(kind, matcher, position, None))]
    keys = [(position, id(None))]
    while open_ways:
        for said in open_ways[-1]:
            end = said.end
            if end >= len(tokens):
                return (*path, said)
            after_comma = tokens[end].type == "COMMA"
            if after_comma and end + 1 >= len(tokens):
                return (*path, said)
            if not after_comma and tokens[end].type in ("NUMBER", "GAUGE"):
                continue
            running = said.datum if after_comma else None
            following = end + 1 if after_comma else end
            if (following, id(running)) in failed:
                continue
            path.append(said)
            open_ways.append(iter(_sorted_ways(kind, matcher, following, running)))
            keys.append((following, id(running)))
            break
        else:
            failed.add(keys.pop())
            open_ways.pop()
            if path:
                path.pop()
    return None


def _sorted_ways(kind: type[Thing], matcher: Matcher, position: int, running: Datum[Any] | None) -> list[Said]:
    ways = ways_at(kind, matcher, position, running)
    if len(ways) > 1:
        ways.sort(key=lambda said: (-said.end, -said.plain_words))
    return ways


def ways_at(kind: type[Thing], matcher: Matcher, position: int, running: Datum[Any] | None) -> list[Said]:
    """Return every way to read one property that begins at `position`."""
    tokens = matcher.tokens
    first = tokens[position]
    word = str(first).lower()
    index = index_of(kind)
    ways: list[Said] = []
    if running is not None and running.many and running.tail:
        _match(matcher, _tail(running), position, ways)
    if word in ("no", "not") and position + 1 < len(tokens):
        _denials(index, matcher, position + 1, position, ways)
    elif word in _DENYING_VERBS:
        _denied_verbs(index, matcher, position, ways)
    elif word in ("has", "is") and position + 2 < len(tokens) and str(tokens[position + 1]).lower() in ("no", "not"):
        _denials(index, matcher, position + 2, position, ways)
    if first.type == "WORD":
        for row in index.beginning(word):
            if matcher.thorough or _begins(row.start, tokens, position):
                _match(matcher, row, position, ways)
                if not row.denies:
                    _none_or_elsewhere(matcher, row.datum, row.words, position, ways)
        if word == "same":
            for end, values in matcher.match(compile_phrase("same as <name> [except]"), position):
                ways.append(Said(None, position, end, values["value"], plain_words=2))
        for words, datum, _ in index.subs:
            if words[0] == word:
                _none_or_elsewhere(matcher, datum, words, position, ways)
        if word in ("at", "between") or str(first) in matcher.parameters:
            for row in index.figures:
                _match(matcher, row, position, ways)
    else:
        dimensions = _dimensions_at(tokens, position + 1) if not matcher.thorough else frozenset()
        for row in index.figures:
            if not dimensions or not row.dimensions or not dimensions.isdisjoint(row.dimensions):
                _match(matcher, row, position, ways)
    for row in index.open:
        if _worth_trying(row.nodes, tokens, position):
            _match(matcher, row, position, ways)
    return ways


def _match(matcher: Matcher, row: _Row, position: int, ways: list[Said]) -> None:
    datum = row.datum
    if row.denies:
        for end, _ in matcher.match(row.nodes, position):
            value, answer = (False, "said") if datum.shape == "flag" else (None, "none")
            ways.append(Said(datum, position, end, value, answer, plain_words=row.literals))
        return
    for end, values in matcher.match(row.nodes, position, datum.choices):
        if datum.make is not None:
            value = datum.make(**values)
        elif datum.shape == "flag":
            value = True
        else:
            value = values["value"]
        ways.append(Said(datum, position, end, value, plain_words=row.literals))


def _denials(index: Index, matcher: Matcher, position: int, start: int, ways: list[Said]) -> None:
    tokens = matcher.tokens
    for row in index.beginning(str(tokens[position]).lower()):
        if row.denies:
            continue  # denied twice it would be said
        if row.datum.shape == "flag":
            for end, _ in matcher.match(row.nodes, position):
                ways.append(Said(row.datum, start, end, False, plain_words=end - start))
        elif row.words and _same_words(tokens, position, row.words):
            count = len(row.words)
            ways.append(Said(row.datum, start, position + count, None, "none", plain_words=count))
    for words, datum, _ in index.subs:
        if _same_words(tokens, position, words):
            ways.append(Said(datum, start, position + len(words), None, "none", plain_words=len(words)))


_DENYING_VERBS = {"does": 2, "doesn't": 1, "cannot": 1, "can't": 1}  # and how many words they are, "not" included


def _denied_verbs(index: Index, matcher: Matcher, position: int, ways: list[Said]) -> None:
    """Read "does not bear …" as the denial of "bears …", for what is yes or no."""
    tokens = matcher.tokens
    words = _DENYING_VERBS[str(tokens[position]).lower()]
    verb = position + words
    if verb >= len(tokens) or tokens[verb].type != "WORD" or (words == 2 and str(tokens[position + 1]).lower() != "not"):
        return
    plain = str(tokens[verb]).lower()
    for word in ("has",) if plain == "have" else (f"{plain}s", f"{plain}es"):
        said = Matcher((*tokens[:verb], tokens[verb].update(value=word), *tokens[verb + 1 :]), matcher.parameters)
        for row in index.beginning(word):
            if row.datum.shape == "flag" and not row.denies:
                for end, _ in said.match(row.nodes, verb):
                    ways.append(Said(row.datum, position, end, False, plain_words=row.literals + verb - position))


def _none_or_elsewhere(matcher: Matcher, datum: Datum[Any], words: tuple[str, ...], position: int, ways: list[Said]) -> None:
    tokens = matcher.tokens
    after = position + len(words)
    if not words or after >= len(tokens) or tokens[after].type != "WORD":
        return
    answer = str(tokens[after]).lower()
    if answer not in ("none", "per") or not _same_words(tokens, position, words):
        return
    if answer == "none":
        ways.append(Said(datum, position, after + 1, None, "none", plain_words=len(words)))
    elif after + 1 < len(tokens) and tokens[after + 1].type == "TEXT":
        document = str(tokens[after + 1])[1:-1]
        ways.append(Said(datum, position, after + 2, None, "elsewhere", document, plain_words=len(words)))


def read_furthest(
    kind: type[Thing], tokens: tuple[Token, ...], position: int, parameters: Mapping[str, Measure]
) -> tuple[list[Said], int, Matcher]:
    """Return the properties that can be read from `position`, where the one begins that cannot, and what could stand there.

    Of all ways to read the statement it is the one that was understood furthest.
    """
    came: dict[int, tuple[int, Said] | None] = {position: None}
    queue: list[tuple[int, Datum[Any] | None]] = [(position, None)]
    best, chosen, known = (-1, -1), position, Matcher(tokens, parameters, thorough=True)
    while queue:
        place, running = queue.pop()
        matcher = Matcher(tokens, parameters, thorough=True)
        ways = _sorted_ways(kind, matcher, place, running)
        reached = (max(matcher.furthest, place), place)
        if reached > best:
            best, chosen, known = reached, place, matcher
        for said in ways:
            after_comma = said.end < len(tokens) and tokens[said.end].type == "COMMA"
            following = said.end + 1 if after_comma else said.end
            if following < len(tokens) and following not in came:
                came[following] = (place, said)
                queue.append((following, said.datum if after_comma else None))
    chain: list[Said] = []
    step = came[chosen]
    while step is not None:
        chain.append(step[1])
        step = came[step[0]]
    chain.reverse()
    return chain, chosen, known
