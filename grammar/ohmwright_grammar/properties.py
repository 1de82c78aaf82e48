"""Reading the facts of one thing: which of its kind's phrases a statement says.

A statement holds one property, or several parted by commas where each names itself; a value without words of its own may follow a comma only
in a head line. Whatever cannot be read is reported once, at its place, and the rest of the statement is read all the same.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Mapping
from dataclasses import dataclass, field, fields, is_dataclass
from typing import Any

from ohmwright_grammar.diagnostics import Diagnostic, Related, names_near
from ohmwright_grammar.ordering import put_in_order
from ohmwright_grammar.phrases import (
    NAME_TOKENS,
    Literal,
    Matcher,
    Node,
    Slot,
    compile_phrase,
    leading_words,
    plain_name,
)
from ohmwright_grammar.quantities import DIMENSIONS, Measure, Quantity
from ohmwright_grammar.slips import SLIPS
from ohmwright_grammar.spans import Edit, Span
from ohmwright_grammar.syntax import Block, Statement, Token, span_of, span_over
from ohmwright_grammar.things import Datum, Fact, Thing, data_of
from ohmwright_grammar.units import dimensions_of, plain_symbol

__all__ = ["Base", "FactReader", "Facts"]


@dataclass(frozen=True, slots=True)
class Base:
    """The thing that another is "same as"."""

    name: str
    span: Span = field(compare=False)


@dataclass(slots=True)
class Facts:
    """What one thing's head line and block say."""

    facts: dict[str, Fact[Any]] = field(default_factory=dict)
    base: Base | None = None


@dataclass(frozen=True, slots=True)
class _Said:
    """One way to read the tokens from `start` to `end`: a fact of a datum, or the base of a thing."""

    datum: Datum[Any] | None
    start: int
    end: int
    value: Any
    answer: str = "said"
    document: str = ""
    plain_words: int = 0


@dataclass(frozen=True, slots=True, eq=False)
class _Row:
    """One phrase of one datum, taken apart once."""

    datum: Datum[Any]
    nodes: tuple[Node, ...]
    literals: int  # how many words of its own it has
    start: tuple[frozenset[str], ...]  # the words with which it begins
    words: tuple[str, ...]  # the same as they are said with "no", "none" and "per"
    figures: bool  # it begins with a figure, or with words for one
    dimensions: frozenset[str]  # those of the quantity with which it begins, empty where it begins otherwise


def _row(datum: Datum[Any], phrase: str) -> _Row:
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
    )


_FIGURES = frozenset({"count", "number", "gauge", "gauges", "measure"})


class _Index:
    """The phrases of one kind, found by their first word."""

    __slots__ = ("by_word", "figures", "open", "subs")

    def __init__(self, kind: type[Thing]) -> None:
        self.by_word: dict[str, list[_Row]] = {}
        self.open: list[_Row] = []  # those that begin with a name, a text or another word
        self.figures: list[_Row] = []  # those that begin with a figure
        self.subs: list[tuple[tuple[str, ...], Datum[Any], bool]] = []
        for datum in data_of(kind).values():
            if datum.shape in ("block", "blocks"):
                for order, phrase in enumerate(datum.phrases):
                    self.subs.append((tuple(phrase.split()), datum, datum.shape == "blocks" and order % 2 == 1))
                continue
            for phrase in datum.phrases:
                self._add(_row(datum, phrase), phrase.split(" ", 1)[0])
        self.subs.sort(key=lambda row: -len(row[0]))

    def _add(self, row: _Row, first: str) -> None:
        if first.startswith("<choice"):
            for word in dict.fromkeys(wording.split()[0].lower() for wording in row.datum.choices or ()):
                self.by_word.setdefault(word, []).append(row)
        elif first[0] in "<[":
            (self.figures if row.figures else self.open).append(row)
        else:
            for word in dict.fromkeys(first.lower().split("|")):
                self.by_word.setdefault(word, []).append(row)


_INDEX: dict[type[Thing], _Index] = {}


def _index(kind: type[Thing]) -> _Index:
    known = _INDEX.get(kind)
    if known is None:
        known = _INDEX[kind] = _Index(kind)
    return known


class FactReader:
    """Reads facts in one file; `problems` collects what is wrong, `parameters` the values that names may stand for."""

    def __init__(self, path: str, problems: list[Diagnostic], parameters: Mapping[str, Measure] | None = None) -> None:
        self.path = path
        self.problems = problems
        self.parameters = parameters or {}

    def read(self, kind: type[Thing], subject: str, head: tuple[Token, ...], block: Block | None) -> Facts:
        """Read a head line (the tokens after kind and name) and a block into the facts of `kind`."""
        facts = Facts()
        if head:
            self.line(kind, subject, head, facts, head_line=True)
        if block is not None:
            for statement in block.statements:
                self.statement(kind, subject, statement, facts)
        put_in_order(kind, facts.facts)
        return facts

    def statement(self, kind: type[Thing], subject: str, statement: Statement, facts: Facts) -> None:
        """Read one statement of a block into `facts`."""
        tokens = statement.tokens
        sub = self._sub(kind, tokens)
        if sub is not None:
            self._read_sub(*sub, subject, tokens, statement.block, facts)
            return
        if statement.block is not None:
            if tokens and str(tokens[0]).lower() == "same":
                self.line(kind, subject, tokens, facts, head_line=False)
                for inner in statement.block.statements:
                    self.statement(kind, subject, inner, facts)
                return
            self._no_block_here(kind, subject, statement)
            return
        self.line(kind, subject, tokens, facts, head_line=False)

    # blocks ------------------------------------------------------------------------------------------------------

    def _sub(self, kind: type[Thing], tokens: tuple[Token, ...]) -> tuple[Datum[Any], int, bool] | None:
        """Return the block datum whose words the tokens begin with, how many words, and whether it names several."""
        for words, datum, several in _index(kind).subs:
            if len(tokens) >= len(words) and all(
                str(token).lower() == word for token, word in zip(tokens, words, strict=False)
            ):
                after = tokens[len(words)] if len(tokens) > len(words) else None
                if after is not None and after.type == "WORD" and str(after).lower() in ("none", "per"):
                    return None
                return datum, len(words), several
        return None

    def _read_sub(
        self,
        datum: Datum[Any],
        words: int,
        several: bool,
        subject: str,
        tokens: tuple[Token, ...],
        block: Block | None,
        facts: Facts,
    ) -> None:
        assert datum.kind is not None
        kind = datum.kind()
        place = span_over(self.path, tokens[0], tokens[-1])
        names: list[str] = [""]
        rest = tokens[words:]
        if datum.shape == "blocks":
            names, rest = self._sub_names(rest, several)
            if not names:
                self._say(
                    "unreadable-text",
                    f"A name or number is missing after {str(tokens[words - 1])!r}.",
                    place,
                    subject,
                )
                return
        within = f"{subject}.{names[0]}" if names[0] else subject
        inner = self.read(kind, within, rest, block)
        things = tuple(kind(name, place, inner.facts) for name in names)
        known = facts.facts.get(datum.name)
        if datum.shape == "block":
            if known is not None:
                self._twice(datum, place, known.source, subject, "")
                return
            facts.facts[datum.name] = Fact(things[0], place)
            return
        before: tuple[Thing, ...] = known.value if known is not None and known.value is not None else ()
        joined = self._joined(before, things, subject)
        facts.facts[datum.name] = Fact(joined, known.source if known is not None else place)

    def _joined(self, before: tuple[Thing, ...], things: tuple[Thing, ...], subject: str) -> tuple[Thing, ...]:
        """Add named blocks to those before them: one of a name that is known goes on with it, but says nothing of it again."""
        by_name = {thing.name: thing for thing in before}
        for thing in things:
            known = by_name.get(thing.name)
            if known is None:
                by_name[thing.name] = thing
                continue
            data = data_of(type(thing))
            facts = dict(known.facts)
            for name, fact in thing.facts.items():
                under = facts.setdefault(name, fact)
                if under is fact:
                    continue
                if data[name].many and under.value is not None and fact.value is not None:
                    facts[name] = Fact((*under.value, *fact.value), under.source)
                else:
                    self._twice(data[name], fact.source, under.source, f"{subject}.{thing.name}", "")
            by_name[thing.name] = type(known)(known.name, known.span, facts)
        return tuple(by_name.values())

    @staticmethod
    def _sub_names(tokens: tuple[Token, ...], several: bool) -> tuple[list[str], tuple[Token, ...]]:
        names: list[str] = []
        position = 0
        while position < len(tokens) and tokens[position].type in (*NAME_TOKENS, "NUMBER"):
            names.append(plain_name(tokens[position]))
            position += 1
            if not several or position >= len(tokens):
                break
            if tokens[position].type != "COMMA" and str(tokens[position]).lower() != "and":
                break
            position += 1
        if position < len(tokens) and tokens[position].type == "COMMA":
            position += 1
        return names, tokens[position:]

    def _no_block_here(self, kind: type[Thing], subject: str, statement: Statement) -> None:
        place = statement.span(self.path)
        words = " ".join(str(token) for token in statement.tokens[:3])
        near = names_near(words, (" ".join(row[0]) for row in _index(kind).subs), "Blocks") if words else ""
        known = ", ".join(sorted({" ".join(row[0]) for row in _index(kind).subs}))
        what = f"{kind.KIND} {subject}".strip()
        message = f"No block of {what} begins with {words!r}." if words else "A block needs words before its brace."
        remedy = near or (
            f"Blocks that may stand here: {known}." if known else "Say it without braces, or close the block before it."
        )
        if statement.tokens and statement.tokens[0].column == 1:
            remedy += " If this is a statement of its own, a closing brace is missing above it."
        self._say("unknown-property", message, place, subject, remedy)

    # properties --------------------------------------------------------------------------------------------------

    def line(self, kind: type[Thing], subject: str, tokens: tuple[Token, ...], facts: Facts, head_line: bool) -> None:
        """Read the properties that one run of tokens says; in a head line values without words may stand after commas."""
        if any(token.type in SLIPS for token in tokens):
            for run in self._without_slips(tokens, subject):
                self.line(kind, subject, run, facts, head_line)
            return
        position = 0
        while position < len(tokens) and tokens[position].type == "COMMA":
            position += 1
        bare_allowed = head_line
        matcher = Matcher(tokens, self.parameters)
        while position < len(tokens):
            said = self._sequence(kind, matcher, position)
            if said is None and not matcher.thorough:
                matcher = Matcher(tokens, self.parameters, thorough=True)
                said = self._sequence(kind, matcher, position)
            if said is None:
                position = self._best_part(kind, subject, tokens, position, facts)
                continue
            for index, item in enumerate(said):
                first = tokens[item.start]
                starts_bare = first.type in ("NUMBER", "GAUGE") and item.plain_words == 0
                if index == 0 and (starts_bare or (item.datum is not None and item.datum.shape == "choice")):
                    bare_allowed = True
                if index > 0 and starts_bare and not bare_allowed and tokens[item.start - 1].type == "COMMA":
                    self._semicolon(tokens[item.start - 1], subject)
                    continue
                self._keep(kind, subject, tokens, item, facts)
            return

    def _sequence(self, kind: type[Thing], matcher: Matcher, position: int) -> list[_Said] | None:
        """Read everything from `position` to the end, the longest property first at each place; None where that cannot be done."""
        tokens = matcher.tokens
        failed: set[tuple[int, int]] = set()
        path: list[_Said] = []
        open_ways = [iter(self._sorted_ways(kind, matcher, position, None))]
        keys = [(position, id(None))]
        while open_ways:
            for said in open_ways[-1]:
                end = said.end
                if end >= len(tokens):
                    return [*path, said]
                after_comma = tokens[end].type == "COMMA"
                if after_comma and end + 1 >= len(tokens):
                    return [*path, said]
                if not after_comma and tokens[end].type in ("NUMBER", "GAUGE"):
                    continue
                running = said.datum if after_comma else None
                following = end + 1 if after_comma else end
                if (following, id(running)) in failed:
                    continue
                path.append(said)
                open_ways.append(iter(self._sorted_ways(kind, matcher, following, running)))
                keys.append((following, id(running)))
                break
            else:
                failed.add(keys.pop())
                open_ways.pop()
                if path:
                    path.pop()
        return None

    def _sorted_ways(self, kind: type[Thing], matcher: Matcher, position: int, running: Datum[Any] | None) -> list[_Said]:
        ways = self._ways(kind, matcher, position, running)
        if len(ways) > 1:
            ways.sort(key=lambda said: (-said.end, -said.plain_words))
        return ways

    def _ways(self, kind: type[Thing], matcher: Matcher, position: int, running: Datum[Any] | None) -> list[_Said]:
        """Return every way to read one property that begins at `position`."""
        tokens = matcher.tokens
        first = tokens[position]
        word = str(first).lower()
        index = _index(kind)
        ways: list[_Said] = []
        if running is not None and running.many and running.tail:
            self._match(matcher, _tail(running), position, ways)
        if word in ("no", "not") and position + 1 < len(tokens):
            self._denials(index, matcher, position + 1, position, ways)
        if first.type == "WORD":
            for row in index.by_word.get(word, ()):
                if matcher.thorough or _begins(row.start, tokens, position):
                    self._match(matcher, row, position, ways)
                    self._none_or_elsewhere(matcher, row.datum, row.words, position, ways)
            if word == "same":
                for end, values in matcher.match(compile_phrase("same as <name> [except]"), position):
                    ways.append(_Said(None, position, end, values["value"], plain_words=2))
            for words, datum, _ in index.subs:
                if words[0] == word:
                    self._none_or_elsewhere(matcher, datum, words, position, ways)
            if word == "at" or str(first) in self.parameters:
                for row in index.figures:
                    self._match(matcher, row, position, ways)
        else:
            dimensions = _dimensions_at(tokens, position + 1) if not matcher.thorough else frozenset()
            for row in index.figures:
                if not dimensions or not row.dimensions or not dimensions.isdisjoint(row.dimensions):
                    self._match(matcher, row, position, ways)
        for row in index.open:
            if _worth_trying(row.nodes, tokens, position):
                self._match(matcher, row, position, ways)
        return ways

    @staticmethod
    def _match(matcher: Matcher, row: _Row, position: int, ways: list[_Said]) -> None:
        datum = row.datum
        for end, values in matcher.match(row.nodes, position, datum.choices):
            value: Any
            if datum.make is not None:
                value = datum.make(**values)
            elif datum.shape == "flag":
                value = True
            else:
                value = values["value"]
            ways.append(_Said(datum, position, end, value, plain_words=row.literals))

    @staticmethod
    def _denials(index: _Index, matcher: Matcher, position: int, start: int, ways: list[_Said]) -> None:
        tokens = matcher.tokens
        for row in index.by_word.get(str(tokens[position]).lower(), ()):
            if row.datum.shape == "flag":
                for end, _ in matcher.match(row.nodes, position):
                    ways.append(_Said(row.datum, start, end, False, plain_words=end - start))
            elif row.words and _same_words(tokens, position, row.words):
                count = len(row.words)
                ways.append(_Said(row.datum, start, position + count, None, "none", plain_words=count))
        for words, datum, _ in index.subs:
            if _same_words(tokens, position, words):
                ways.append(_Said(datum, start, position + len(words), None, "none", plain_words=len(words)))

    @staticmethod
    def _none_or_elsewhere(
        matcher: Matcher, datum: Datum[Any], words: tuple[str, ...], position: int, ways: list[_Said]
    ) -> None:
        tokens = matcher.tokens
        after = position + len(words)
        if not words or after >= len(tokens) or tokens[after].type != "WORD":
            return
        answer = str(tokens[after]).lower()
        if answer not in ("none", "per") or not _same_words(tokens, position, words):
            return
        if answer == "none":
            ways.append(_Said(datum, position, after + 1, None, "none", plain_words=len(words)))
        elif after + 1 < len(tokens) and tokens[after + 1].type == "TEXT":
            document = str(tokens[after + 1])[1:-1]
            ways.append(_Said(datum, position, after + 2, None, "elsewhere", document, plain_words=len(words)))

    # keeping what was read ----------------------------------------------------------------------------------------

    def _keep(self, kind: type[Thing], subject: str, tokens: tuple[Token, ...], said: _Said, facts: Facts) -> None:
        place = span_over(self.path, tokens[said.start], tokens[said.end - 1])
        datum = said.datum
        if datum is None:
            if facts.base is not None:
                self._say("duplicate-name", "A thing can be the same as one other thing only.", place, subject)
                return
            facts.base = Base(said.value, place)
            return
        if said.answer == "said" and not self._makes_sense(datum, said.value, place, subject):
            return
        known = facts.facts.get(datum.name)
        if datum.many and said.answer == "said":
            values = said.value if isinstance(said.value, tuple) and datum.shape == "names" else (said.value,)
            before: tuple[Any, ...] = known.value if known is not None and known.value is not None else ()
            facts.facts[datum.name] = Fact(before + values, known.source if known is not None else place)
            return
        if known is not None:
            self._twice(datum, place, known.source, subject, str(tokens[said.start]))
            return
        facts.facts[datum.name] = Fact(said.value, place, "own", said.answer, said.document)  # type: ignore[arg-type]

    def _makes_sense(self, datum: Datum[Any], value: Any, place: Span, subject: str) -> bool:
        """Tell whether a value lies inside what its datum, or its unit's dimension, allows; say so where it does not."""
        dimension = datum.dimension
        if datum.make is not None:
            limits = [(low, high, *_limits_of_unit(unit)) for low, high, unit in _ends_of_record(value)]
            if all(floor <= low and high <= ceiling for low, high, floor, ceiling in limits):
                return True
            self._senseless(datum, place, subject, None, None)
            return False
        if datum.above is None and datum.at_least is None and datum.at_most is None and dimension is None:
            return True
        floor = dimension.low if dimension is not None else None
        ceiling = dimension.high if dimension is not None else None
        lowest = max((limit for limit in (floor, datum.at_least) if limit is not None), default=None)
        highest = min((limit for limit in (ceiling, datum.at_most) if limit is not None), default=None)
        for low, high in _ends(value):
            too_low = (lowest is not None and low < lowest) or (datum.above is not None and low <= datum.above)
            too_high = highest is not None and high > highest
            if too_low or too_high:
                self._senseless(datum, place, subject, lowest, highest if too_high or datum.at_most is not None else None)
                return False
        return True

    def _senseless(self, datum: Datum[Any], place: Span, subject: str, lowest: float | None, highest: float | None) -> None:
        from ohmwright_grammar.explaining import limits_of

        what = leading_words(datum.phrases[0]) or datum.name.replace("_", " ")
        message = f"This value of {what!r} is outside what can be."
        remedy = limits_of(datum, lowest, highest) if datum.make is None else "Check its numbers and their units."
        self._say("senseless-value", message, place, subject, remedy)

    # messages ----------------------------------------------------------------------------------------------------

    def _best_part(self, kind: type[Thing], subject: str, tokens: tuple[Token, ...], position: int, facts: Facts) -> int:
        """Keep what can be read up to the mistake, report the mistake, return where to go on (after the next comma)."""
        from ohmwright_grammar.explaining import explain, no_number

        told = no_number(self.path, subject, tokens, position)
        if told is None:
            chain, stop, matcher = self._furthest(kind, tokens, position)
            for item in chain:
                self._keep(kind, subject, tokens, item, facts)
            problem = explain(kind, subject, self.path, matcher, stop, len(self.problems))
        else:
            problem, stop = told
        self.problems.append(problem)
        following = stop
        while following < len(tokens) and tokens[following].type != "COMMA":
            following += 1
        return following + 1

    def _furthest(self, kind: type[Thing], tokens: tuple[Token, ...], position: int) -> tuple[list[_Said], int, Matcher]:
        """Return the properties that can be read from `position`, where the one begins that cannot, and what could stand there.

        Of all ways to read the statement it is the one that was understood furthest.
        """
        came: dict[int, tuple[int, _Said] | None] = {position: None}
        queue: list[tuple[int, Datum[Any] | None]] = [(position, None)]
        best, chosen, known = (-1, -1), position, Matcher(tokens, self.parameters, thorough=True)
        while queue:
            place, running = queue.pop()
            matcher = Matcher(tokens, self.parameters, thorough=True)
            ways = self._sorted_ways(kind, matcher, place, running)
            reached = (max(matcher.furthest, place), place)
            if reached > best:
                best, chosen, known = reached, place, matcher
            for said in ways:
                after_comma = said.end < len(tokens) and tokens[said.end].type == "COMMA"
                following = said.end + 1 if after_comma else said.end
                if following < len(tokens) and following not in came:
                    came[following] = (place, said)
                    queue.append((following, said.datum if after_comma else None))
        chain: list[_Said] = []
        step = came[chosen]
        while step is not None:
            chain.append(step[1])
            step = came[step[0]]
        chain.reverse()
        return chain, chosen, known

    def _without_slips(self, tokens: tuple[Token, ...], subject: str) -> list[tuple[Token, ...]]:
        """Report the slips of a run, and return what can be read all the same: what stands between commas without any."""
        from ohmwright_grammar.slips import mended, slip

        runs: list[list[Token]] = [[]]
        spoilt = False
        for token in tokens:
            problem = slip(token, self.path, subject, tokens)
            if problem is not None:
                self.problems.append(problem)
            if token.type == "COMMA":
                if spoilt:
                    while runs[-1] and runs[-1][-1].type != "COMMA":
                        runs[-1].pop()
                    runs.append([])
                    spoilt = False
                else:
                    runs[-1].append(token)
                continue
            kept = mended(token)
            spoilt = spoilt or (problem is not None and kept is None and token.type != "SIGN")
            if kept is not None:
                runs[-1].append(kept)
        if spoilt:
            while runs[-1] and runs[-1][-1].type != "COMMA":
                runs[-1].pop()
        for run in runs:
            while run and run[-1].type == "COMMA":
                run.pop()
        return [tuple(run) for run in runs if run]

    def _semicolon(self, comma: Token, subject: str) -> None:
        place = span_of(self.path, comma)
        self._say(
            "unreadable-text", "A comma goes on with the property before it; here another one begins.", place, subject,
            "Put a semicolon between them.", (Edit(place, ";"),),
        )  # fmt: skip

    def _twice(self, datum: Datum[Any], place: Span, before: Span, subject: str, word: str) -> None:
        what = leading_words(datum.phrases[0]) or datum.name.replace("_", " ")
        self.problems.append(
            Diagnostic(
                "said-twice",
                f"{what!r} of {subject} is said twice." if subject else f"{what!r} is said twice.",
                place,
                "Keep one of the two.",
                subject,
                related=(Related("It is said here first.", before),),
            )  # fmt: skip
        )

    def _say(
        self,
        rule: str,
        message: str,
        place: Span,
        subject: str,
        remedy: str = "",
        edits: tuple[Edit, ...] = (),
    ) -> None:
        self.problems.append(Diagnostic(rule, message, place, remedy, subject, edits))


def _worth_trying(nodes: tuple[Node, ...], tokens: tuple[Token, ...], position: int) -> bool:
    """Tell whether a phrase that begins with a name has its first plain word further on.

    Any word is a name, so that such a phrase would otherwise speak up in every message about a misspelt word.
    """
    if not (isinstance(nodes[0], Slot) and nodes[0].shapes[0] in ("name", "names") and len(nodes) > 1):
        return True
    second = nodes[1]
    return not isinstance(second, Literal) or any(str(token).lower() in second.words for token in tokens[position + 1 :])


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


def _ends_of_record(value: Any) -> list[tuple[float, float, str]]:
    """Return the ends and the unit of every quantity in a record."""
    if not is_dataclass(value) or isinstance(value, type):
        return []
    found = [getattr(value, part.name) for part in fields(value)]
    return [(low, high, item.unit) for item in found if isinstance(item, Quantity) for low, high in _ends(item)]


@functools.cache
def _limits_of_unit(unit: str) -> tuple[float, float]:
    """Return what a value in this unit can be, at most: the widest of the dimensions that know it."""
    known = [DIMENSIONS[name] for name in dimensions_of(unit)] if unit else []
    if not known:
        return -math.inf, math.inf
    return min(item.low for item in known), max(item.high for item in known)


def _ends(value: Any) -> list[tuple[float, float]]:
    if isinstance(value, Quantity):
        low = value.high if value.form == "at most" else value.low
        return [(low, value.low if value.form == "at least" else value.high)]
    if isinstance(value, int) and not isinstance(value, bool):
        return [(float(value), float(value))]
    return []
