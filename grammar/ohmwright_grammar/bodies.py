"""Reading a file, or the inside of an assembly, into entries: what kind of thing each statement is and which facts it says.

Nothing is looked up here beyond the words themselves: names are resolved later, so that the order of statements never matters.
"""

from __future__ import annotations

from collections.abc import Mapping

from ohmwright_grammar.budget import UNLIMITED, Budget, OutOfBudgetError
from ohmwright_grammar.changes import read_change, read_removals
from ohmwright_grammar.defaulting import read_default
from ohmwright_grammar.diagnostics import Diagnostic, Related, names_near
from ohmwright_grammar.entries import AssemblyText, Body, Entry, Group
from ohmwright_grammar.heads import RESERVED, STATEMENTS, group_words, head_of, may_begin
from ohmwright_grammar.kinds import KINDS, PLURALS, kind_of
from ohmwright_grammar.kinds.rig import Rig
from ohmwright_grammar.matching import Matcher
from ohmwright_grammar.ordering import put_in_order
from ohmwright_grammar.pairs import mate_in, read_pair
from ohmwright_grammar.phrases import compile_phrase, plain_name
from ohmwright_grammar.properties import FactReader, Facts
from ohmwright_grammar.quantities import Measure
from ohmwright_grammar.records import replace
from ohmwright_grammar.spans import Edit, Span
from ohmwright_grammar.syntax import Block, Statement, Token, span_of, span_over
from ohmwright_grammar.things import Thing

__all__ = ["BodyReader"]


class BodyReader:
    """Reads statements of one file into a Body; `problems` collects what is wrong."""

    def __init__(
        self, path: str, problems: list[Diagnostic], values: Mapping[str, Measure] | None = None, budget: Budget = UNLIMITED
    ) -> None:
        self.budget = budget
        self.path = path
        self.problems = problems
        self.values = values or {}
        self.facts = FactReader(path, problems, budget=budget)
        self._unnamed_so_far: dict[tuple[type[Thing], str], Span] = {}  # of one body: what has no name of its own stands once

    def read(self, statements: tuple[Statement, ...]) -> Body:
        """Read all statements; parameters first, since the others may use their names."""
        body = Body(self.path, statements=len(statements))
        rest = [statement for statement in statements if not self._parameter(statement, body)]
        unknown = set(self.values) - set(body.parameters)
        self.facts.parameters = {name: value for name, (value, _) in body.parameters.items()} | {
            name: value for name, value in self.values.items() if name not in unknown
        }
        for statement in rest:
            if self.budget.is_out():
                raise OutOfBudgetError(statement.span(self.path))
            self._statement(statement, body, ())
        put_in_order(Rig, body.rig.facts)
        return body

    # statements --------------------------------------------------------------------------------------------------

    def _parameter(self, statement: Statement, body: Body) -> bool:
        tokens = statement.tokens
        if len(tokens) < 2 or str(tokens[0]).lower() != "parameter" or statement.block is not None:
            return False
        matcher = Matcher(tokens, {})
        ways = [
            way for way in matcher.match(compile_phrase("parameter <name:term> <value:measure>"), 0) if way[0] == len(tokens)
        ]
        place = statement.span(self.path)
        if not ways:
            self._say(
                "unreadable-text",
                "A parameter has a name and a value with its unit.",
                place,
                "Write: parameter lead_length 1.2 m",
            )
            return True
        found = ways[0][1]
        if found["name"] in body.parameters:
            self._twice("parameter", found["name"], place, body.parameters[found["name"]][1])
            return True
        body.parameters[found["name"]] = (found["value"], place)
        return True

    def _statement(self, statement: Statement, body: Body, groups: tuple[Group, ...]) -> None:
        if any(token.type == "SIGN" for token in statement.tokens):
            statement = self._without_signs(statement)
        tokens = statement.tokens
        if not tokens:
            if statement.block is not None:
                message = "A block needs words before its brace."
                self._say("unreadable-text", message, span_of(self.path, statement.block.opening))
            return
        if len(tokens) > 2 and self._two_in_one(statement, body, groups):
            return
        self._read_statement(statement, body, groups)

    def _read_statement(self, statement: Statement, body: Body, groups: tuple[Group, ...]) -> None:
        tokens = statement.tokens
        first = str(tokens[0]).lower()
        if first == "all":
            default = read_default(statement, self.facts, groups)
            if default is not None:
                body.defaults.append(default)
        elif first == "change" and len(tokens) > 1:
            self._change(statement, 1, body, adds=False)
        elif first == "add" and len(tokens) > 2 and str(tokens[1]).lower() == "to":
            self._change(statement, 2, body, adds=True)
        elif first == "remove" and len(tokens) > 1 and statement.block is None:
            body.removals.extend(read_removals(tokens, self.path, self.problems))
        elif first == "assembly" and statement.block is not None:
            self._assembly(statement, body)
        elif statement.block is not None and not head_of(tokens) and group_words(tokens):
            self._group(statement, body, groups)
        else:
            self._thing(statement, body, groups)

    def _without_signs(self, statement: Statement) -> Statement:
        """Report the signs that mean nothing, and return the statement without them."""
        from ohmwright_grammar.slips import slip

        for token in statement.tokens:
            problem = slip(token, self.path, "") if token.type == "SIGN" else None
            if problem is not None:
                self.problems.append(problem)
        return Statement(tuple(token for token in statement.tokens if token.type != "SIGN"), statement.block)

    def _two_in_one(self, statement: Statement, body: Body, groups: tuple[Group, ...]) -> bool:
        """Tell whether a second statement begins inside of this one, and read both; nothing is done where it is one as it stands."""
        tokens = statement.tokens
        for place in range(2, len(tokens)):
            if not may_begin(tokens, place, statement.block is not None) or not self._problems_of(statement):
                continue
            first, second = Statement(tokens[:place], None), Statement(tokens[place:], statement.block)
            if self._problems_of(first) or len(self._problems_of(second)) >= len(self._problems_of(statement)):
                continue
            spot = span_of(self.path, tokens[place])
            self.problems.append(
                Diagnostic(
                    "unreadable-text", f"A second statement begins here, with {str(tokens[place])!r}.", spot, "Put it on a line of its own.",
                    edits=(Edit(Span(self.path, spot.line, spot.column, spot.line, spot.column), "\n"),),
                )
            )  # fmt: skip
            self._statement(first, body, groups)
            self._statement(second, body, groups)
            return True
        return False

    def _problems_of(self, statement: Statement) -> list[Diagnostic]:
        """Return what is wrong with a statement by itself."""
        problems: list[Diagnostic] = []
        alone = BodyReader(self.path, problems, self.values, self.budget)
        alone.facts.parameters = self.facts.parameters
        alone._read_statement(statement, Body(self.path), ())
        return problems

    def _thing(self, statement: Statement, body: Body, groups: tuple[Group, ...]) -> None:
        tokens = statement.tokens
        head = head_of(tokens)
        if not head:
            self._root(statement, body)
            return
        kind = kind_of(head)
        start = len(head.split())
        if not kind.NAMED:
            self._unnamed(kind, statement, tokens[start:], body, groups)
            return
        name, rest = self._name(kind, head, tokens, start)
        if name is None:
            body.unread.update(plain_name(token) for token in tokens[start : start + 1])
            return
        before = len(self.problems)
        self._named(kind, name, rest, span_over(self.path, tokens[0], tokens[start]), statement, body, groups)
        if len(self.problems) > before and rest and rest[0].type == "WORD" and tokens[start].type == "WORD":
            self._name_of_several_words(kind, head, tokens, start, before, body)

    def _name_of_several_words(
        self, kind: type[Thing], head: str, tokens: tuple[Token, ...], start: int, before: int, body: Body
    ) -> None:
        """Say of a name that lacks its quotation marks what is wrong with it, in place of what its words seemed to say."""
        end = start + 1
        while end < len(tokens) and tokens[end].type == "WORD":
            end += 1
        place = span_over(self.path, tokens[start], tokens[end - 1])
        words = " ".join(str(token) for token in tokens[start:end])
        problem = self.problems[before]
        if problem.span.line != place.line or not place.column <= problem.span.column <= place.end_column:
            return
        if kind.KIND == "state" and end == len(tokens):
            message = "A name of several words stands between quotation marks."
            self.problems[before] = Diagnostic(
                "unreadable-text", message, place, f'Write: {head} "{words}"', words, (Edit(place, f'"{words}"'),)
            )
            body.entries[-1] = replace(body.entries[-1], name=words)
        elif problem.rule == "unknown-property":
            remedy = f'{problem.remedy} A name of several words stands between quotation marks: {head} "{words}"'.strip()
            self.problems[before] = replace(problem, remedy=remedy)

    def _named(
        self,
        kind: type[Thing],
        name: str,
        rest: tuple[Token, ...],
        place: Span,
        statement: Statement,
        body: Body,
        groups: tuple[Group, ...],
    ) -> None:
        if kind.KIND == "connector" and (mate := mate_in(rest)):
            tail = rest[3:] if len(rest) > 2 and rest[2].type == "COMMA" else rest[2:]
            body.entries.extend(read_pair(name, mate, tail, statement, self.facts, groups))
            return
        if kind.KIND == "zone":
            self._zone(name, rest, place, statement.block, body, groups)
            return
        facts = self.facts.read(kind, name, rest, statement.block)
        body.entries.append(Entry(kind, name, place, facts.facts, facts.base, groups))

    def _name(
        self, kind: type[Thing], head: str, tokens: tuple[Token, ...], start: int
    ) -> tuple[str | None, tuple[Token, ...]]:
        token = tokens[start] if len(tokens) > start else None
        rest = tokens[start + 1 :]
        if rest and rest[0].type == "COMMA":
            rest = rest[1:]
        if token is None or token.type not in ("WORD", "TEXT"):
            from ohmwright_grammar.slips import slip

            told = slip(token, self.path, "", tokens) if token is not None else None
            if told is not None:
                self.problems.append(told)
                return None, rest
            place = span_over(self.path, tokens[0], tokens[min(start, len(tokens) - 1)])
            self._say(
                "unreadable-text", f"A name is missing after {head!r}.", place, f"Write a word of your own: {head} main …"
            )
            return None, rest
        name = plain_name(token)
        dotted = kind.KIND == "waive"
        if (not dotted and any(sign in name for sign in ".[]")) or not name.strip() or name.lower() in RESERVED:
            place = span_of(self.path, token)
            why = "is kept for the language" if name.lower() in RESERVED else "cannot be a name: points and brackets part names"
            self._say("unreadable-text", f"{name!r} {why}.", place, "Choose another word.", name)
            return None, rest
        return name, rest

    def _root(self, statement: Statement, body: Body) -> None:
        tokens = statement.tokens
        first = str(tokens[0])
        body.has_rig = body.has_rig or first.lower() == "rig"
        if statement.block is not None:
            body.unread.update(plain_name(token) for token in tokens[1:2])
            words = " ".join(str(token) for token in tokens[:2])
            known = [*KINDS, *PLURALS, *STATEMENTS]
            told = len(self.problems)
            remedy = names_near(first, known, "Words", told) or names_near(words, known, "Words", told)
            self._say(
                "unknown-property", f"No statement begins with {first!r}.", statement.span(self.path),
                remedy or "The statements are listed in LANGUAGE.md.",
            )  # fmt: skip
            return
        before = len(self.problems)
        self.facts.statement(Rig, "", statement, body.rig)
        if len(self.problems) == before + 1 and self.problems[-1].rule == "unknown-property":
            problem = self.problems.pop()
            body.unread.update(plain_name(token) for token in tokens[1:2])
            if first.lower() in PLURALS:
                remedy = f"After the plural a block follows: {first} {{ … }}; for all of them: all {first} {{ … }}"
                self._say("unreadable-text", f"It is not said what {first!r} are.", problem.span, remedy)
                return
            before_it = body.entries[-1] if body.entries and body.entries[-1].span.line == problem.span.line else None
            if before_it is not None and not self._problems_of_fact(before_it, statement):
                thing = f"{before_it.kind.KIND} {before_it.name}"
                message = f"The semicolon ends what is said of {thing}, and no statement begins with {first!r}."
                self._say("unknown-property", message, problem.span, f"Put the facts in braces: {thing} {{ … }}")
                return
            near = names_near(first, [*KINDS, *PLURALS, *STATEMENTS], "Words", len(self.problems))
            remedy = near or "The statements are listed in LANGUAGE.md."
            self._say("unknown-property", f"No statement begins with {first!r}.", problem.span, remedy)

    def _problems_of_fact(self, entry: Entry, statement: Statement) -> list[Diagnostic]:
        """Return what is wrong with a statement as a fact of the thing that was declared before it."""
        problems: list[Diagnostic] = []
        alone = BodyReader(self.path, problems, self.values, self.budget)
        alone.facts.read(entry.kind, entry.name, statement.tokens, None)
        return problems

    def _unnamed(
        self, kind: type[Thing], statement: Statement, rest: tuple[Token, ...], body: Body, groups: tuple[Group, ...]
    ) -> None:
        place = statement.span(self.path)
        words = " ".join(str(token) for token in rest[:6])
        facts = self.facts.read(kind, words or kind.KIND, rest, statement.block)
        name = ""
        if kind.KIND == "require":
            from ohmwright_grammar.printing import words_of

            name = words_of(kind, facts.facts)
        before = self._unnamed_so_far.setdefault((kind, name), place)
        if before is not place:
            self._twice("statement", name or kind.KIND, place, before)
            return
        body.entries.append(Entry(kind, name, place, facts.facts, facts.base, groups))

    # zones, groups, assemblies --------------------------------------------------------------------------------------

    def _zone(
        self, name: str, rest: tuple[Token, ...], place: Span, block: Block | None, body: Body, groups: tuple[Group, ...]
    ) -> None:
        """Read a zone: its own facts, and the things that are declared inside its block."""
        kind = kind_of("zone")
        facts = Facts()
        if rest:
            self.facts.line(kind, name, rest, facts, head_line=True)
        inside = (*groups, Group({}, name))
        for inner in block.statements if block is not None else ():
            first = str(inner.tokens[0]).lower() if inner.tokens else ""
            if head_of(inner.tokens) or first == "all" or (inner.block is not None and group_words(inner.tokens)):
                self._statement(inner, body, inside)
            else:
                self.facts.statement(kind, name, inner, facts)
        body.entries.append(Entry(kind, name, place, facts.facts, facts.base, groups))

    def _group(self, statement: Statement, body: Body, groups: tuple[Group, ...]) -> None:
        """Read `wires { … }`: each statement in it is a thing of that kind, words before the brace hold for all of them."""
        tokens = statement.tokens
        plural = group_words(tokens)
        head = PLURALS[plural]
        kind = kind_of(head)
        shared = Facts()
        rest = tokens[len(plural.split()) :]
        if rest and rest[0].type == "COMMA":
            rest = rest[1:]
        if rest:
            self.facts.line(kind, plural, rest, shared, head_line=True)
        inside = (*groups, Group(shared.facts, plural=plural))
        assert statement.block is not None
        for inner in statement.block.statements:
            if inner.tokens and (head_of(inner.tokens) or str(inner.tokens[0]).lower() == "all"):
                self._statement(inner, body, inside)
                continue
            if not inner.tokens:
                self._statement(inner, body, inside)
                continue
            if not kind.NAMED:
                self._unnamed(kind, inner, inner.tokens, body, inside)
                continue
            name, after = self._name(kind, head, inner.tokens, 0)
            if name is not None:
                self._named(kind, name, after, span_of(self.path, inner.tokens[0]), inner, body, inside)

    def _assembly(self, statement: Statement, body: Body) -> None:
        tokens = statement.tokens
        place = statement.span(self.path)
        if len(tokens) != 2 or tokens[1].type not in ("WORD", "TEXT"):
            self._say("unreadable-text", "An assembly has a name and a block.", place, "Write: assembly expansion_pack { … }")
            return
        name = plain_name(tokens[1])
        if name in body.assemblies:
            self._twice("assembly", name, place, body.assemblies[name].span)
            return
        assert statement.block is not None
        inside = BodyReader(self.path, self.problems, budget=self.budget).read(statement.block.statements)
        body.assemblies[name] = AssemblyText(name, place, self.path, statement.block, inside)

    def _change(self, statement: Statement, start: int, body: Body, adds: bool) -> None:
        change = read_change(statement, start, adds, self.path, self.problems)
        if change is not None:
            body.changes.append(change)

    def _twice(self, what: str, name: str, place: Span, before: Span) -> None:
        self.problems.append(
            Diagnostic(
                "duplicate-name", f"The {what} {name!r} is said twice.", place, "Give one of them another name.", name,
                related=(Related("It is said here first.", before),),
            )
        )  # fmt: skip

    def _say(self, rule: str, message: str, place: Span, remedy: str = "", subject: str = "") -> None:
        self.problems.append(Diagnostic(rule, message, place, remedy, subject))
