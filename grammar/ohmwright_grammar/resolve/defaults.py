"""Which default reaches a thing: the narrower wins, and two equally narrow ones that differ are an error at both lines."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ohmwright_grammar.bodies import Default, Group
from ohmwright_grammar.diagnostics import Diagnostic, Related
from ohmwright_grammar.kinds.conductor import Conductor, Wire
from ohmwright_grammar.kinds.state import State
from ohmwright_grammar.things import Fact, Origin, Thing, data_of

__all__ = ["Scopes", "effective_facts", "merged"]

Scopes = tuple[tuple[Default, ...], ...]  # from the outermost scope to the innermost


def _covers(default: Default, kind: type[Thing]) -> bool:
    covered = Conductor if default.kind is Wire else default.kind
    return issubclass(kind, covered)


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
            result[name] = Fact((*under.value, *fact.value), fact.source, fact.origin)
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


def effective_facts(
    kind: type[Thing],
    own: Mapping[str, Fact[Any]],
    groups: tuple[Group, ...],
    zone: str,
    scopes: Scopes,
    problems: list[Diagnostic],
    owner: type[Thing] | None = None,
) -> dict[str, Fact[Any]]:
    """Return the facts of a thing with those of its groups and of the defaults that reach it.

    `own` already holds what came with a library part. `owner` is the kind of the part for a terminal.
    """
    facts: dict[str, Fact[Any]] = dict(own)
    for group in reversed(groups):
        facts = merged(group.facts, facts, kind, "group") if group.facts else facts
    reached: list[tuple[tuple[int, int, int], Default]] = []
    for depth, scope in enumerate(scopes):
        for default in scope:
            if not _covers(default, kind) or (default.zone and default.zone != zone):
                continue
            if default.owner:
                from ohmwright_grammar.kinds import kind_of

                if owner is None or not issubclass(owner, kind_of(default.owner)):
                    continue
            narrow = bool(default.words) + bool(default.zone) + bool(default.owner)
            reached.append(((depth, narrow, len(default.kind.__mro__)), default))
    if not reached:
        return facts
    reached.sort(key=lambda item: item[0])
    plain = [item for item in reached if not item[1].words]
    known = _laid_under(facts, plain, kind, None)
    chosen = [item for item in reached if _is_of_sort(item[1], kind, known)]
    return _laid_under(facts, chosen, kind, problems)


def _laid_under(
    facts: dict[str, Fact[Any]],
    reached: list[tuple[tuple[int, int, int], Default]],
    kind: type[Thing],
    problems: list[Diagnostic] | None,
) -> dict[str, Fact[Any]]:
    below: dict[str, Fact[Any]] = {}
    told: dict[str, tuple[tuple[int, int, int], Default]] = {}
    data = data_of(kind)
    for rank, default in reached:
        for name, fact in default.facts.items():
            if name not in data:
                continue
            before = told.get(name)
            if problems is not None and before is not None and before[0] == rank and below[name] != fact and name not in facts:
                problems.append(
                    Diagnostic(
                        "defaults-differ",
                        f"Two defaults that reach equally far say different things of {name.replace('_', ' ')}.",
                        fact.source,
                        "Keep one, or narrow one of them with a family or a zone.",
                        default.plural,
                        related=(Related("The other one.", before[1].facts[name].source),),
                    )
                )
            told[name] = (rank, default)
        below = merged(below, default.facts, kind, "default")
    relevant = {name: fact.carried("default") for name, fact in below.items() if name in data}
    return merged(relevant, facts, kind, "default")
