"""Reading the facts of one thing: which of its kind's phrases a statement says.

A statement holds one property, or several parted by commas where each names itself; a value without words of its own may follow a comma only
in a head line. Whatever cannot be read is reported once, at its place, and the rest of the statement is read all the same.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from typing import Any

from ohmwright_grammar.block_names import ALL, names_in
from ohmwright_grammar.budget import UNLIMITED, Budget, OutOfBudgetError
from ohmwright_grammar.diagnostics import Diagnostic, Related, names_near
from ohmwright_grammar.matching import Matcher
from ohmwright_grammar.ordering import put_in_order
from ohmwright_grammar.phrases import leading_words
from ohmwright_grammar.quantities import Measure
from ohmwright_grammar.records import draft, record
from ohmwright_grammar.sense import why_senseless
from ohmwright_grammar.slips import SLIPS
from ohmwright_grammar.spans import Edit, Span
from ohmwright_grammar.syntax import Block, Statement, Token, span_of, span_over
from ohmwright_grammar.things import Datum, Fact, Thing, data_of
from ohmwright_grammar.units import dimension_of_unit, dimensions_of, plain_symbol
from ohmwright_grammar.ways import Said, index_of, read_furthest, read_to_end

__all__ = ["MOST_BLOCKS", "MOST_WORDS", "Base", "FactReader", "Facts"]

MOST_WORDS = 10_000  # in one statement
MOST_BLOCKS = 5000  # of one sort in one thing: pins, cores, steps

_MOST_MISTAKES = 20  # of one statement
_MOST_EXPLAINED = 1000  # mistakes of one file; of each further one it is said where it is, but not what it is


@record
class Base:
    """The thing that another is "same as"."""

    name: str
    span: Span = field(compare=False)


@draft
class Facts:
    """What one thing's head line and block say."""

    facts: dict[str, Fact[Any]] = field(default_factory=dict)
    base: Base | None = None


class FactReader:
    """Reads facts in one file; `problems` collects what is wrong, `parameters` the values that names may stand for."""

    def __init__(
        self,
        path: str,
        problems: list[Diagnostic],
        parameters: Mapping[str, Measure] | None = None,
        budget: Budget = UNLIMITED,
    ) -> None:
        self.budget = budget
        self._full: set[tuple[str, str]] = set()  # of which thing which blocks are more than are read
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
        if self.budget.is_out():
            raise OutOfBudgetError(statement.span(self.path))
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
        first = str(tokens[0]).lower() if tokens else ""
        for words, datum, several in index_of(kind).subs:
            if words[0] != first or len(tokens) < len(words):
                continue
            if all(str(token).lower() == word for token, word in zip(tokens, words, strict=False)):
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
            names, rest = names_in(rest, several)
            if not names and several and block is not None and not rest:
                names = [ALL]
            if not names:
                message = f"A name or number is missing after {str(tokens[words - 1])!r}."
                remedy = f"Of all of them at once: {datum.phrases[1]} {{ … }}" if datum.shape == "blocks" else ""
                self._say("unreadable-text", message, place, subject, remedy)
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
        if len(before) + len(things) > MOST_BLOCKS:
            if (subject, datum.name) not in self._full:
                self._full.add((subject, datum.name))
                message = f"There are more than {MOST_BLOCKS:,} {datum.phrases[1]} here; from this one on none is read."
                problem = Diagnostic("over-limit", message, place, "Part them among several things.", subject)
                self.problems.append(problem)
            return
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

    def _no_block_here(self, kind: type[Thing], subject: str, statement: Statement) -> None:
        place = statement.span(self.path)
        words = " ".join(str(token) for token in statement.tokens[:3])
        near = names_near(words, (" ".join(row[0]) for row in index_of(kind).subs), "Blocks") if words else ""
        known = ", ".join(sorted({" ".join(row[0]) for row in index_of(kind).subs}))
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
        if len(tokens) > MOST_WORDS:
            self._too_long(tokens, subject)
            return
        if any(token.type in SLIPS for token in tokens):
            for run in self._without_slips(tokens, subject):
                self.line(kind, subject, run, facts, head_line)
            return
        position = 0
        while position < len(tokens) and tokens[position].type == "COMMA":
            position += 1
        bare_allowed = head_line
        mistakes = 0
        matcher = Matcher(tokens, self.parameters)
        while position < len(tokens):
            said = read_to_end(kind, matcher, position)
            if said is None and not matcher.thorough and self._worth_reading_again(tokens, position):
                matcher = Matcher(tokens, self.parameters, thorough=True)
                said = read_to_end(kind, matcher, position)
            if said is None:
                mistakes += 1
                if mistakes > _MOST_MISTAKES:
                    return  # enough is told of this statement; each further mistake would read the rest of it again
                position = self._best_part(kind, subject, tokens, position, facts, head_line)
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

    def _worth_reading_again(self, tokens: tuple[Token, ...], position: int) -> bool:
        """Tell whether to try all units: always, but after very many mistakes only where there is an unusual unit."""
        return len(self.problems) <= _MOST_EXPLAINED or _has_unusual_unit(tokens, position)

    def _too_long(self, tokens: tuple[Token, ...], subject: str) -> None:
        self._say(
            "over-limit", f"This statement has more than {MOST_WORDS:,} words and figures, so that it is not read.",
            span_of(self.path, tokens[0]), subject, "Say it in several statements.",
        )  # fmt: skip

    # keeping what was read ----------------------------------------------------------------------------------------

    def _keep(self, kind: type[Thing], subject: str, tokens: tuple[Token, ...], said: Said, facts: Facts) -> None:
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
        remedy = why_senseless(datum, value)
        if remedy is None:
            return True
        what = leading_words(datum.phrases[0]) or datum.name.replace("_", " ")
        self._say("senseless-value", f"This value of {what!r} is outside what can be.", place, subject, remedy)
        return False

    # messages ----------------------------------------------------------------------------------------------------

    def _best_part(
        self, kind: type[Thing], subject: str, tokens: tuple[Token, ...], position: int, facts: Facts, in_head: bool
    ) -> int:
        """Keep what can be read up to the mistake, report the mistake, return where to go on (after the next comma)."""
        if len(self.problems) > _MOST_EXPLAINED:
            what = f"{kind.KIND} {subject}".strip() if subject != kind.KIND else subject
            message = f"These words of {what} cannot be read."
            place = span_over(self.path, tokens[position], tokens[-1])
            self._say(
                "unreadable-text",
                message,
                place,
                subject,
                f"Mend the first {_MOST_EXPLAINED:,} mistakes; then it is told what is wrong here.",
            )
            return len(tokens)
        from ohmwright_grammar.explaining import explain, no_number, turned_range, unparted

        told = no_number(self.path, subject, tokens, position)
        if told is None:
            chain, stop, matcher = read_furthest(kind, tokens, position, self.parameters)
            joined = next((place for place, item in enumerate(chain) if tokens[item.end].type in ("NUMBER", "GAUGE")), None)
            if joined is not None:
                for item in chain[: joined + 1]:
                    self._keep(kind, subject, tokens, item, facts)
                before = chain[joined]
                self.problems.append(unparted(kind, subject, self.path, tokens, before.end, in_head))
                rest = read_to_end(kind, Matcher(tokens, self.parameters), before.end)
                if rest is not None and rest[0].datum is not before.datum:
                    return before.end
                return _after_comma(tokens, before.end)  # more of this would be said of the same mistake
            turned = turned_range(tokens, stop)
            for item in chain:
                if turned is None or item.end <= turned[0]:  # its first figure is no value of its own
                    self._keep(kind, subject, tokens, item, facts)
            problem = explain(kind, subject, self.path, matcher, stop, len(self.problems))
        else:
            problem, stop = told
        self.problems.append(problem)
        return _after_comma(tokens, stop)

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


def _after_comma(tokens: tuple[Token, ...], position: int) -> int:
    """Return the place after the next comma."""
    while position < len(tokens) and tokens[position].type != "COMMA":
        position += 1
    return position + 1


def _has_unusual_unit(tokens: tuple[Token, ...], position: int) -> bool:
    """Tell whether a word after a figure is a unit that is in no table, so that another reading with all units might succeed."""
    for place in range(position, len(tokens) - 1):
        if tokens[place].type == "NUMBER" and tokens[place + 1].type == "WORD":
            symbol = plain_symbol(str(tokens[place + 1]))
            if not dimensions_of(symbol) and dimension_of_unit(symbol) is not None:
                return True
    return False
