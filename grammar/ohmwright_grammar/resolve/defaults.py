"""Which default reaches a thing: the narrower wins, and two equally narrow ones that differ are an error at both lines."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from ohmwright_grammar.block_names import nameless
from ohmwright_grammar.diagnostics import Diagnostic, Related
from ohmwright_grammar.entries import Default, Group
from ohmwright_grammar.kinds import kind_of
from ohmwright_grammar.kinds.conductor import Conductor, Wire
from ohmwright_grammar.kinds.part import Terminal
from ohmwright_grammar.kinds.state import State
from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Span
from ohmwright_grammar.things import Fact, Origin, Thing, data_of

__all__ = ["Defaults", "Scopes", "covers", "merged"]

Scopes = tuple[tuple[Default, ...], ...]  # from the outermost scope to the innermost


def covers(default: Default, kind: type[Thing]) -> bool:
    """Tell whether "all …" reaches things of a kind: that kind and those that are one, "all wires" every conductor."""
    return issubclass(kind, _covered(default))


def _covered(default: Default) -> type[Thing]:
    return Conductor if default.kind is Wire else default.kind


def _is_of_sort(default: Default, kind: type[Thing], facts: Mapping[str, Fact[Any]]) -> bool:
    """Tell whether a thing is of the sort that "all blade fuses" names: one of its choices has that wording."""
    if not default.words:
        return True
    wanted = " ".join(default.words)
    for name, datum in data_of(kind).items():
        if datum.choices and name in facts:
            for wording, value in datum.choices.items():
                if wording.lower() == wanted and facts[name].value == value:
                    return True
    return False


def merged(
    below: Mapping[str, Fact[Any]], above: Mapping[str, Fact[Any]], kind: type[Thing], origin: Origin
) -> dict[str, Fact[Any]]:
    """Lay `above` over `below`; what comes from below gets `origin`. Named blocks are merged by name, states' settings are put in a row."""
    result = {name: fact.carried(origin) if fact.origin == "own" else fact for name, fact in below.items()}
    data = data_of(kind)
    for name, fact in above.items():
        datum = data.get(name)
        under = result.get(name)
        if datum is None or under is None or under.value is None or fact.value is None:
            result[name] = fact
        elif datum.shape == "block":
            inner = merged(under.value.facts, fact.value.facts, type(fact.value), origin)
            result[name] = Fact(type(fact.value)(fact.value.name, fact.value.span, inner), fact.source, fact.origin)
        elif datum.shape == "blocks":
            result[name] = Fact(_blocks(under.value, fact.value, origin), fact.source, fact.origin)
        elif datum.many and issubclass(kind, State):
            lowest = len(under.value) + fact.below if origin == "default" else 0
            result[name] = Fact((*under.value, *fact.value), fact.source, fact.origin, below=lowest)
        else:
            result[name] = fact
    return result


def _blocks(below: tuple[Thing, ...], above: tuple[Thing, ...], origin: Origin) -> tuple[Thing, ...]:
    by_name = {thing.name: thing for thing in below}
    for thing in above:
        under = by_name.get(thing.name)
        facts = thing.facts if under is None else merged(under.facts, thing.facts, type(thing), origin)
        by_name[thing.name] = type(thing)(thing.name, thing.span, facts)
    return tuple(by_name.values())


@record
class _Reached:
    """The defaults that reach a kind of thing in a zone, the widest first, and what they say together."""

    rows: tuple[tuple[_Rank, Default], ...]
    below: dict[str, Fact[Any]]
    differing: tuple[tuple[str, Fact[Any], Fact[Any], str], ...]  # datum, what is said, what is said equally far, the plural
    worded: bool  # some hold for a family or sort only
    scopes: Scopes  # kept, so that no other gets their identity


_Rank = tuple[int, int, int, int]


class Defaults:
    """Lays defaults under things; what reaches a kind in a zone is worked out once."""

    def __init__(self, problems: list[Diagnostic]) -> None:
        self.problems = problems
        self._known: dict[tuple[type[Thing], str, tuple[int, ...], type[Thing] | None], _Reached] = {}
        self._told: set[tuple[Span, Span]] = set()

    def facts(
        self,
        kind: type[Thing],
        own: Mapping[str, Fact[Any]],
        groups: tuple[Group, ...],
        zone: str,
        scopes: Scopes,
        owner: type[Thing] | None = None,
        below: Mapping[str, Fact[Any]] | None = None,
    ) -> dict[str, Fact[Any]]:
        """Return the facts of a thing with those of its groups and of the defaults that reach it.

        `own` already holds what came with a library part. `owner` is the kind of the part for a terminal. `below` is what defaults and groups say
        of the cable of a core: narrower than a default for all conductors, wider than one for cores.
        """
        facts: dict[str, Fact[Any]] = dict(own)
        for group in reversed(groups):
            if group.facts:
                known = {name: fact for name, fact in group.facts.items() if name in data_of(kind)}
                facts = merged(known, facts, kind, "group")
        reached = self._reached(kind, zone, scopes, owner)
        if below:
            narrow = [row for row in reached.rows if issubclass(row[1].kind, kind)]
            wide = [row for row in reached.rows if not issubclass(row[1].kind, kind)]
            return self._lay(self._lay(facts, narrow, kind, below), wide, kind, {})
        if not reached.rows:
            return facts
        if reached.worded:
            return self._lay(facts, list(reached.rows), kind, {})
        self._tell(reached.differing, facts)
        return merged(reached.below, facts, kind, "default")

    def in_blocks(self, kind: type[Thing], facts: dict[str, Fact[Any]], zone: str, scopes: Scopes) -> dict[str, Fact[Any]]:
        """Return facts in which defaults are laid under the blocks of a thing (pins, vents), terminals and conductors aside."""
        for name, fact in list(facts.items()):
            datum = data_of(kind).get(name)
            if datum is None or datum.kind is None or fact.value is None:
                continue
            inner = datum.kind()
            if datum.shape == "blocks" and inner is not Terminal:
                fact = facts[name] = Fact(self._spread(fact.value, datum.phrases[1]), fact.source, fact.origin)
            if inner is Terminal or issubclass(inner, Conductor) or not self._reached(inner, zone, scopes, kind).rows:
                continue
            several = fact.value if isinstance(fact.value, tuple) else (fact.value,)
            laid = tuple(
                type(thing)(thing.name, thing.span, self.facts(inner, thing.facts, (), zone, scopes, kind)) for thing in several
            )
            facts[name] = Fact(laid if isinstance(fact.value, tuple) else laid[0], fact.source, fact.origin)
        return facts

    def _spread(self, things: tuple[Thing, ...], plural: str) -> tuple[Thing, ...]:
        """Lay what a block without a name says under the named ones; a message where there is none."""
        every = nameless(things)
        if every is None:
            return things
        named = tuple(thing for thing in things if thing is not every)
        if not named:
            message = f"This holds for all {plural} of the thing, but none of them is named."
            remedy = f"Name them: {plural} 1, 2 {{ … }}"
            self.problems.append(Diagnostic("unreadable-text", message, every.span, remedy))
        return tuple(
            type(thing)(thing.name, thing.span, merged(every.facts, thing.facts, type(thing), "group")) for thing in named
        )

    def _reached(self, kind: type[Thing], zone: str, scopes: Scopes, owner: type[Thing] | None) -> _Reached:
        key = (kind, zone, tuple(id(scope) for scope in scopes), owner)
        known = self._known.get(key)
        if known is not None:
            return known
        rows: list[tuple[_Rank, Default]] = []
        for depth, scope in enumerate(scopes):
            for default in scope:
                if not covers(default, kind) or (default.zone and default.zone != zone):
                    continue
                if default.owner and (owner is None or not issubclass(owner, kind_of(default.owner))):
                    continue
                narrow = bool(default.words) + bool(default.zone) + bool(default.owner)
                whose = (
                    len(kind_of(default.owner).__mro__) if default.owner else 0
                )  # terminals of breakers lie within those of fuses
                rows.append(((depth, narrow, len(_covered(default).__mro__), whose), default))
        rows.sort(key=lambda row: row[0])
        worded = any(default.words for _, default in rows)
        below, differing = _together(rows, kind) if not worded else ({}, [])
        known = self._known[key] = _Reached(tuple(rows), below, tuple(differing), worded, scopes)
        return known

    def _lay(
        self,
        facts: dict[str, Fact[Any]],
        rows: list[tuple[_Rank, Default]],
        kind: type[Thing],
        lowest: Mapping[str, Fact[Any]],
    ) -> dict[str, Fact[Any]]:
        """Lay defaults, of which some hold for a sort only, under facts, and `lowest` under them."""
        plain = [row for row in rows if not row[1].words]
        known = merged(_together(plain, kind)[0], facts, kind, "default")
        chosen = [row for row in rows if _is_of_sort(row[1], kind, known)]
        below, differing = _together(chosen, kind)
        self._tell(differing, facts)
        laid = merged(below, facts, kind, "default")
        return merged(lowest, laid, kind, "default") if lowest else laid

    def _tell(self, differing: Iterable[tuple[str, Fact[Any], Fact[Any], str]], facts: Mapping[str, Fact[Any]]) -> None:
        """Report, once, defaults that differ where a thing does not say the datum itself."""
        for name, one, other, plural in differing:
            if name in facts or (one.source, other.source) in self._told:
                continue
            self._told.add((one.source, other.source))
            self.problems.append(
                Diagnostic(
                    "defaults-differ",
                    f"Two defaults that reach equally far say different things of {name.replace('_', ' ')}.",
                    one.source,
                    "Keep one, or narrow one of them with a family or a zone.",
                    plural,
                    related=(Related("The other one.", other.source),),
                )
            )
            self.problems.append(
                Diagnostic(
                    "defaults-differ",
                    f"Another default that reaches equally far says something else of {name.replace('_', ' ')}.",
                    other.source,
                    "Keep one, or narrow one of them with a family or a zone.",
                    plural,
                    related=(Related("The other one.", one.source),),
                )
            )


def _together(
    rows: Iterable[tuple[_Rank, Default]], kind: type[Thing]
) -> tuple[dict[str, Fact[Any]], list[tuple[str, Fact[Any], Fact[Any], str]]]:
    """Lay defaults over each other, the narrower over the wider; return also those that differ and reach equally far."""
    below: dict[str, Fact[Any]] = {}
    told: dict[str, _Rank] = {}
    differing: dict[str, tuple[str, Fact[Any], Fact[Any], str]] = {}
    data = data_of(kind)
    for rank, default in rows:
        known = {name: fact for name, fact in default.facts.items() if name in data}
        for name, fact in known.items():
            before = below.get(name)
            if before is None or told[name] != rank:
                differing.pop(name, None)  # a narrower one decides
            elif before != fact:
                differing[name] = (name, fact, before, default.plural)
            told[name] = rank
        below = merged(below, known, kind, "default")
    return {name: fact.carried("default") for name, fact in below.items()}, list(differing.values())
