"""Adaptations: a published build with a reader's changes laid over it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Any

from ohmwright_grammar.block_names import spread
from ohmwright_grammar.budget import UNLIMITED, Budget
from ohmwright_grammar.diagnostics import Diagnostic, Related, names_near, worth_searching
from ohmwright_grammar.entries import AssemblyText, Body, Change, Default, Entry
from ohmwright_grammar.kinds import kind_of
from ohmwright_grammar.kinds.rig import Rig
from ohmwright_grammar.kinds.state import State
from ohmwright_grammar.kinds.waiver import Waiver
from ohmwright_grammar.properties import FactReader
from ohmwright_grammar.records import draft
from ohmwright_grammar.resolve.defaults import covers, merged
from ohmwright_grammar.resolve.leaving_out import facts_without, without
from ohmwright_grammar.spans import Span
from ohmwright_grammar.things import Fact, Thing, data_of

__all__ = ["Source", "laid_over"]

_MEANT_TO_DIFFER = frozenset({"title", "revision", "written", "author", "adapts"})
_WHERE_IT_STANDS = frozenset({"zone", "joints", "ends"})
_MOST_STEPS = 50


@draft
class Source:
    """What is to be placed: a body's entries with everything that a base brought."""

    body: Body
    entries: list[Entry]
    defaults: list[tuple[Default, ...]]
    assemblies: dict[str, tuple[AssemblyText, tuple[Default, ...]]]
    waivers_of_base: list[Entry]
    changed: dict[str, Span]


def own(body: Body) -> Source:
    """Return a body as it stands, without a base."""
    assemblies: dict[str, tuple[AssemblyText, tuple[Default, ...]]] = {
        name: (text, ()) for name, text in body.assemblies.items()
    }
    return Source(body, list(body.entries), [tuple(body.defaults)], assemblies, [], {})


def laid_over(
    base: Source, body: Body, shelf: Mapping[str, Entry], problems: list[Diagnostic], budget: Budget = UNLIMITED
) -> Source:
    """Lay an adaptation's body over its base: removals, changes, new things, the rig's own facts.

    `shelf` holds the library parts that the base may be the same as.
    """
    known = {_key(entry): index for index, entry in enumerate(base.entries) if entry.kind is not Waiver}
    entries: list[Entry | None] = list(base.entries)
    changed: dict[str, Span] = dict(base.changed)
    removed: set[str] = set()
    for removal in body.removals:
        index = _find(removal.name, removal.head, removal.span, known, base.entries, problems)
        if index is not None:
            if base.entries[index].kind is not State:
                removed.add(removal.name)
            entries[index] = None
            changed[removal.name] = removal.span
    by_name = {item.name: item for item in base.entries if item.kind.NAMED and item.kind is not State} if body.changes else {}
    by_default = _by_default(base)
    for change in body.changes:
        budget.check(change.span)
        index = _find(change.name, change.head, change.span, known, base.entries, problems)
        entry = entries[index] if index is not None else None
        if index is not None and entry is not None:
            said = _said_so_far(entry, by_name, shelf), by_default(entry.kind)
            entries[index] = _changed(entry, change, said, body.path, problems)
            changed[entry.name] = change.span
    removed -= {entry.name for entry in body.entries if entry.kind is not State}  # declared anew under its old name
    if removed:
        left_out = frozenset(removed)
        entries = [without(entry, left_out) if entry is not None else None for entry in entries]
    waivers = [entry for entry in entries if entry is not None and entry.kind is Waiver]
    states = {entry.name for entry in body.entries if entry.kind is State}
    alone = {entry.kind: entry for entry in body.entries if not entry.kind.NAMED and entry.kind.KIND != "require"}
    result: list[Entry] = []
    for entry in entries:
        if entry is None or entry.kind is Waiver:
            continue
        if entry.kind is State and entry.name in states:
            continue  # a state said again takes the published one's place
        again = alone.pop(entry.kind, None)
        if again is not None:
            laid = merged(entry.facts, again.facts, entry.kind, "base")
            entry = Entry(entry.kind, entry.name, again.span, laid, again.base, again.groups)
        result.append(entry)
    result.extend(
        entry for entry in body.entries if entry.kind.NAMED or entry.kind.KIND == "require" or alone.get(entry.kind) is entry
    )
    combined = Body(body.path)
    combined.rig.facts = _rig_facts(base, body, frozenset(removed))
    combined.statements = body.statements + base.body.statements
    combined.has_rig = body.has_rig
    combined.unread = body.unread | base.body.unread
    assemblies = {**base.assemblies, **{name: (text, ()) for name, text in body.assemblies.items()}}
    return Source(
        combined, result, [*base.defaults, tuple(body.defaults)], assemblies, [*base.waivers_of_base, *waivers], changed
    )


def _rig_facts(base: Source, body: Body, removed: frozenset[str]) -> dict[str, Fact[Any]]:
    published = facts_without(Rig, base.body.rig.facts, removed)
    below = {name: fact.carried("base") for name, fact in published.items() if name not in _MEANT_TO_DIFFER}
    own = body.rig.facts
    data = data_of(Rig)
    for name, fact in own.items():
        under = below.get(name)
        if under is not None and data[name].many and under.value is not None and fact.value is not None:
            below[name] = Fact((*under.value, *fact.value), fact.source, fact.origin)
        else:
            below[name] = fact
    return below


def _key(entry: Entry) -> str:
    """Return the words under which an entry is found: states have names of their own, what stands once goes by its kind."""
    if entry.kind is State:
        return f"state {entry.name}"
    return entry.name if entry.name else f"({entry.kind.KIND})"


def _find(
    name: str, head: str, place: Span, known: Mapping[str, int], entries: list[Entry], problems: list[Diagnostic]
) -> int | None:
    """Return the entry that a change or removal names; a message where the published build has none."""
    kind = kind_of(head) if head else None
    if kind is State:
        index = known.get(f"state {name}")
    elif kind is not None and not kind.NAMED and not name:
        index = known.get(f"({kind.KIND})")
    else:
        index = known.get(name, known.get(f"state {name}") if kind is None else None)
    if index is None:
        names = [key.removeprefix("state ") for key in known] if worth_searching(len(problems), len(known)) else []
        what = f"{head} {name!r}".strip() if head and name else repr(name) if name else head
        problems.append(
            Diagnostic(
                "lost-property", f"The published build has no {what} that could be changed.", place,
                names_near(name, names) or "Take the statement out, or declare the thing anew.", name or head,
            )
        )  # fmt: skip
        return None
    found = entries[index]
    if kind is not None and not issubclass(found.kind, kind) and not issubclass(kind, found.kind):
        problems.append(
            Diagnostic(
                "lost-property", f"In the published build {name!r} is a {found.kind.KIND}, not a {head}.", place,
                f"Write {found.kind.KIND} before its name, or nothing.", name, related=(Related("It stands here.", found.span),),
            )
        )  # fmt: skip
        return None
    return index


def _said_so_far(entry: Entry, own: Mapping[str, Entry], shelf: Mapping[str, Entry]) -> Mapping[str, Fact[Any]]:
    """Return what the published build says of a thing itself, in groups and by its library part."""
    facts: Mapping[str, Fact[Any]] = entry.facts
    step: Entry | None = entry
    for _ in range(_MOST_STEPS):
        assert step is not None
        for group in step.groups:
            facts = merged(group.facts, facts, entry.kind, "group")
        below = step.base
        if below is None:
            break
        found = own.get(below.name)
        step = found if found is not None and found is not step else shelf.get(below.name)
        if step is None:
            break
        facts = merged(step.facts, facts, entry.kind, "base")
    return facts


def _by_default(base: Source) -> Callable[[type[Thing]], frozenset[str]]:
    """Return what tells the names of the data that a published build's defaults say of a kind."""
    known: dict[type[Thing], frozenset[str]] = {}

    def names_of(kind: type[Thing]) -> frozenset[str]:
        if kind not in known:
            known[kind] = frozenset(
                name for scope in base.defaults for default in scope if covers(default, kind) for name in default.facts
            )
        return known[kind]

    return names_of


def _changed(
    entry: Entry,
    change: Change,
    said: tuple[Mapping[str, Fact[Any]], frozenset[str]],
    path: str,
    problems: list[Diagnostic],
) -> Entry:
    name = change.name or entry.kind.KIND
    read = FactReader(path, problems).read(entry.kind, name, change.words, change.block)
    if read.base is None:
        read.facts = spread(entry.kind, read.facts, said[0])
        for message in _misfits(read.facts, said[0], said[1], entry.kind, change, name):
            problems.append(message)
    laid = {key: fact.carried("changed") for key, fact in read.facts.items()}
    lower: Mapping[str, Fact[Any]] = entry.facts
    if read.base is not None:  # another part in its place: only where it stands is kept
        lower = {key: fact for key, fact in entry.facts.items() if key in _WHERE_IT_STANDS}
    if change.adds:
        for key, fact in laid.items():
            under = lower.get(key)
            if _goes_on(entry.kind, key) and under is not None and under.value is not None and fact.value is not None:
                laid[key] = Fact((*under.value, *fact.value), fact.source, "changed")
    return Entry(
        entry.kind, entry.name, change.span, merged(lower, laid, entry.kind, "base"), read.base or entry.base, entry.groups, entry.mate
    )  # fmt: skip


def _goes_on(kind: type[Thing], name: str) -> bool:
    """Tell whether what is added to a datum goes on with what the base says (blocks and states are merged anyhow)."""
    datum = data_of(kind)[name]
    return datum.many and datum.shape != "blocks" and kind is not State


def _misfits(
    facts: Mapping[str, Fact[Any]],
    said: Mapping[str, Fact[Any]],
    by_default: frozenset[str],
    kind: type[Thing],
    change: Change,
    name: str,
) -> Iterator[Diagnostic]:
    """Yield a message for each changed property that the base does not have, and each added one that it has."""
    from ohmwright_grammar.printing import say_fact

    data = data_of(kind)
    for key, fact in facts.items():
        datum = data[key]
        known = said.get(key)
        if datum.shape in ("block", "blocks") and fact.value is not None:
            inner = fact.value if isinstance(fact.value, tuple) else (fact.value,)
            under = known.value if known is not None and known.value is not None else ()
            by_name = {thing.name: thing for thing in (under if isinstance(under, tuple) else (under,))}
            for thing in inner:
                below = by_name.get(thing.name)
                what = f"{datum.phrases[0]} {thing.name}".strip()
                if below is not None:
                    yield from _misfits(thing.facts, below.facts, frozenset(), type(thing), change, name)
                elif not change.adds:
                    yield _lost_property(what, name, fact.source, change)
            continue
        many = datum.many or issubclass(kind, State)
        words = say_fact(datum, fact)
        if not change.adds and known is None and key not in by_default and not (issubclass(kind, State) and datum.many):
            yield _lost_property(words, name, fact.source, change)
        elif change.adds and known is not None and not many:
            yield Diagnostic(
                "said-twice", f"The published build says this of {name!r} itself.", fact.source,
                f"Write: change {name} {{ {words} }}", name, related=(Related("It is said here.", known.source),),
            )  # fmt: skip


def _lost_property(words: str, name: str, place: Span, change: Change) -> Diagnostic:
    return Diagnostic(
        "lost-property", f"The published build has nothing of {name!r} that this changes: {words}.", place,
        f"Where it is new, write: add to {name} {{ {words} }}", name,
    )  # fmt: skip
