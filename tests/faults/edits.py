"""Edits of what a build says. They change what was read of its text (entries with facts), which is then written back as text in canonical form.

An edit says exactly what a builder would have written; nothing is resolved here, so that the written text goes the whole way that any text goes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, fields, is_dataclass, replace
from typing import Any

from ohmwright.results import Entry as Known
from ohmwright_grammar.block_names import ALL, nameless
from ohmwright_grammar.bodies import BodyReader
from ohmwright_grammar.diagnostics import Diagnostic
from ohmwright_grammar.entries import Body, Default, Entry, Group
from ohmwright_grammar.kinds.part import Terminal
from ohmwright_grammar.parsing import parse
from ohmwright_grammar.properties import FactReader, Facts
from ohmwright_grammar.resolve.defaults import Defaults, covers, merged
from ohmwright_grammar.things import Datum, Fact, Thing, data_of

from faults.finding_things import DefaultAt, EntryAt, Place, PlantingError, datum_called, place_of

__all__ = [
    "Draft", "Edit", "PlantingError", "add", "beside", "drop", "in_state", "instead", "replace_text", "say", "site", "unsay",
]  # fmt: skip

_Facts = Mapping[str, Fact[Any]]
_Library = Callable[[str], tuple[Entry, tuple[Default, ...]] | None]


@dataclass(slots=True)
class Draft:
    """A build while it is edited: what its text says, changes of the written text itself, and what lies beside it."""

    body: Body
    library: _Library  # the part of that name on the shelf of the build, with the defaults of the file that it stands in
    text_changes: list[Callable[[str], str]] = field(default_factory=list)
    files: dict[str, str] = field(default_factory=dict)  # beside the build, by name
    known: list[Known] = field(default_factory=list)  # entries of a baseline


@dataclass(frozen=True, slots=True)
class Edit:
    """One edit: the words in which its author wrote it, and what it does to a draft."""

    words: str
    apply: Callable[[Draft], None]

    def __repr__(self) -> str:
        return self.words


# reading the words of an edit ------------------------------------------------------------------------------------------


def _read_facts(draft: Draft, kind: type[Thing], thing: str, words: str) -> Facts:
    problems: list[Diagnostic] = []
    parsed = parse(words, "edit")
    facts = Facts()
    reader = FactReader("edit", problems, {name: value for name, (value, _) in draft.body.parameters.items()})
    for statement in parsed.statements:
        reader.statement(kind, thing, statement, facts)
    _no_problems(words, [*parsed.diagnostics, *problems])
    if not facts.facts and facts.base is None:
        raise PlantingError(f"{words!r} says nothing of {thing!r}")
    return facts


def _read_body(words: str) -> Body:
    problems: list[Diagnostic] = []
    parsed = parse(words, "edit")
    body = BodyReader("edit", problems).read(parsed.statements)
    _no_problems(words, [*parsed.diagnostics, *problems])
    return body


def _no_problems(words: str, problems: Iterable[Diagnostic]) -> None:
    told = [f"{problem.message} {problem.remedy}".strip() for problem in problems]
    if told:
        raise PlantingError(f"{words!r} cannot be read: {' '.join(told)}")


def _names(things: str | tuple[str, ...]) -> tuple[str, ...]:
    return (things,) if isinstance(things, str) else things


# say ---------------------------------------------------------------------------------------------------------------------


def say(things: str | tuple[str, ...], words: str) -> Edit:
    """Let a thing say something, in place of what it says of the same data itself; what came with a library, a group or a default counts after it.

    `things`: a name, several, or "site", "procedure", "rig", "all wires", 'state NAME'. `words`: statements of its block, parted by semicolons. Named
    blocks (`pin 3 { 5 A }`) are laid over the block of that name; every other datum is replaced as a whole.
    """

    def apply(draft: Draft) -> None:
        for name in _names(things):
            place = place_of(draft.body, name)
            said = _read_facts(draft, place.kind, name, words)
            place.put(_laid(place.kind, place.facts, said.facts), said.base or place.base)

    return Edit(f"say({things!r}, {words!r})", apply)


def _laid(kind: type[Thing], below: _Facts, above: _Facts) -> dict[str, Fact[Any]]:
    """Return facts with others in their place; named blocks are laid over those of their name, fact by fact."""
    result = dict(below)
    data = data_of(kind)
    for name, fact in above.items():
        under = result.get(name)
        if data[name].shape in ("block", "blocks") and under is not None and under.value is not None and fact.value is not None:
            result[name] = replace(under, value=_blocks_laid(under.value, fact.value))
        else:
            result[name] = fact
    return result


def _blocks_laid(below: Any, above: Any) -> Any:
    if isinstance(above, Thing):
        return type(above)(above.name, above.span, _laid(type(above), below.facts, above.facts))
    known = {thing.name: thing for thing in below}
    for thing in above:
        under = known.get(thing.name)
        known[thing.name] = thing if under is None else _blocks_laid(under, thing)
    return tuple(known.values())


def site(words: str) -> Edit:
    """Let the site say something else."""
    return replace(say("site", words), words=f"site({words!r})")


def in_state(state: str, words: str) -> Edit:
    """Let a state say something more: what it says of the same things itself is replaced ("pump off"), so are its temperature and the like.

    "all states" names what is said of all of them.
    """

    def apply(draft: Draft) -> None:
        place = place_of(draft.body, state if state == "all states" else f"state {state}")
        said = _read_facts(draft, place.kind, state, words)
        facts = dict(place.facts)
        for name, fact in said.facts.items():
            under = facts.get(name)
            if data_of(place.kind)[name].many and under is not None and under.value is not None and fact.value is not None:
                named = {thing for item in fact.value for thing in _things_of(item)}
                kept = [item for item in (_without(item, named) for item in under.value) if item is not None]
                fact = replace(under, value=(*kept, *fact.value))
            facts[name] = fact
        place.put(facts, place.base)

    return Edit(f"in_state({state!r}, {words!r})", apply)


def _things_of(item: Any) -> tuple[str, ...]:
    return getattr(item, "things", None) or ((item,) if isinstance(item, str) else (getattr(item, "row", type(item).__name__),))


def _without(item: Any, names: set[str]) -> Any:
    """Return one record of a state without the things that are named anew, None where nothing is left of it."""
    left = tuple(name for name in _things_of(item) if name not in names)
    if not left:
        return None
    return replace(item, things=left) if hasattr(item, "things") else item


# unsay -------------------------------------------------------------------------------------------------------------------


def unsay(things: str | tuple[str, ...], *data: str) -> Edit:
    """Let nothing be said of data of a thing, whether it said them itself or they came with a library part or a group.

    A datum is named by its attribute ("interrupting_rating"), inside a named block by block, name and attribute ("pins.3.rated_current"). What comes
    with "all wires" must be unsaid there: unsay("all wires", …).
    """

    def apply(draft: Draft) -> None:
        for name in _names(things):
            place = place_of(draft.body, name)
            for datum in data:
                _unsay(draft, place, name, datum)

    return Edit(f"unsay({', '.join(repr(item) for item in (things, *data))})", apply)


def _unsay(draft: Draft, place: Place, thing: str, datum: str) -> None:
    first, _, inner = datum.partition(".")
    found = datum_called(place.kind, first, thing)
    if place.base is not None and found.name in _of_base(draft, place):
        place.put(merged(_of_base(draft, place), place.facts, place.kind, "base"), None)
    if isinstance(place, EntryAt) and any(found.name in group.facts for group in place.entry.groups):
        place.leave_groups()
    if found.name not in place.facts:
        told = next((item for item in draft.body.defaults if found.name in item.facts and place.kind.KIND != "site"), None)
        where = f'; "all {told.plural}" says it: unsay it there' if told is not None else ""
        raise PlantingError(f"{thing!r} says nothing of {found.name!r} (it says {', '.join(sorted(place.facts))}){where}")
    facts = dict(place.facts)
    if inner:
        facts[found.name] = _unsaid_inside(facts[found.name], found, inner, f"{thing} {first}")
    else:
        del facts[found.name]
    place.put(facts, place.base)


def _unsaid_inside(fact: Fact[Any], block: Datum[Any], inner: str, thing: str) -> Fact[Any]:
    assert block.kind is not None
    name, _, attribute = inner.rpartition(".")
    datum = datum_called(block.kind(), attribute, thing)

    def without(item: Thing) -> Thing:
        return type(item)(item.name, item.span, {key: value for key, value in item.facts.items() if key != datum.name})

    items = fact.value if isinstance(fact.value, tuple) else (fact.value,)
    if not any(datum.name in item.facts for item in items if name in ("", "*", item.name)):
        raise PlantingError(f"{thing} {name} says nothing of {datum.name!r}")
    made = tuple(without(item) if name in ("", "*", item.name) else item for item in items)
    return replace(fact, value=made if isinstance(fact.value, tuple) else made[0])


def _of_base(draft: Draft, place: Place) -> dict[str, Fact[Any]]:
    """Return what a thing has from those that it is the same as."""
    if place.base is None:
        return {}
    name = place.base.name
    found = next((entry for entry in draft.body.entries if entry.kind.NAMED and entry.name == name), None)
    defaults: tuple[Default, ...] = ()
    if found is None:
        shelved = draft.library(name)
        if shelved is None:
            raise PlantingError(f"there is no {name!r} that {place.base} could be")
        found, defaults = shelved
    lower = _of_base(draft, EntryAt(draft.body, -1, found))
    for group in reversed(found.groups):
        lower = merged(group.facts, lower, found.kind, "group")
    facts = merged(lower, found.facts, found.kind, "base")
    if defaults:
        facts = _with_defaults(draft.body, found.kind, facts, defaults)
    return {key: replace(fact, origin="own") for key, fact in facts.items()}


def _with_defaults(body: Body, kind: type[Thing], facts: _Facts, shelf: tuple[Default, ...]) -> dict[str, Fact[Any]]:
    """Return facts with what the file of a library part says of all parts of its kind and of their terminals, but for what the build says of all of them itself."""
    defaults = Defaults([])
    ours = {name for item in body.defaults if covers(item, kind) for name in item.facts}
    laid = defaults.in_blocks(kind, defaults.facts(kind, facts, (), "", (shelf,)), "", (shelf,))
    made = {name: fact for name, fact in laid.items() if name in facts or name not in ours}
    ours = {name for item in body.defaults if covers(item, Terminal) for name in item.facts}
    shared = defaults.facts(Terminal, {}, (), "", (shelf,), kind) if "terminals" in data_of(kind) else {}
    shared = {name: fact for name, fact in shared.items() if name not in ours}
    if shared:
        said = made.get("terminals")
        blocks: tuple[Thing, ...] = said.value if said is not None and said.value else ()
        every = nameless(blocks)
        source = next(iter(shared.values())).source
        below = Terminal(ALL, source, {name: replace(fact, origin="own") for name, fact in shared.items()})
        first = below if every is None else _blocks_laid(below, every)
        made["terminals"] = Fact(
            (first, *(block for block in blocks if block is not every)), said.source if said is not None else source
        )
    return made


# add, drop ---------------------------------------------------------------------------------------------------------------


def add(text: str) -> Edit:
    """Add statements: things, defaults, promises, waivers, states, whatever may stand in a build outside of a block."""

    def apply(draft: Draft) -> None:
        more = _read_body(text)
        body = draft.body
        body.entries.extend(more.entries)
        body.defaults.extend(more.defaults)
        body.changes.extend(more.changes)
        body.removals.extend(more.removals)
        body.assemblies.update(more.assemblies)
        body.parameters.update(more.parameters)
        body.rig.facts.update(more.rig.facts)

    return Edit(f"add({text!r})", apply)


def drop(*things: str) -> Edit:
    """Take things out, and their names out of every list of names (of states, labels, covers, orders, promises) that holds them.

    What is connected to them is not touched: drop the wires too, or say where they go now.
    """

    def apply(draft: Draft) -> None:
        body = draft.body
        for name in things:
            place = place_of(body, name)
            if isinstance(place, DefaultAt):
                body.defaults.remove(place.default)
            elif isinstance(place, EntryAt):
                body.entries.remove(place.entry)
            else:
                raise PlantingError(f"{name!r} cannot be dropped")
        gone = frozenset(things)
        left = [(entry, _entry_without(entry, gone)) for entry in body.entries]
        body.entries[:] = [made for entry, made in left if made.facts or made is entry or made.kind.NAMED]
        body.defaults[:] = [replace(item, facts=_facts_without(item.facts, gone)) for item in body.defaults]

    return Edit(f"drop({', '.join(map(repr, things))})", apply)


def _entry_without(entry: Entry, gone: frozenset[str]) -> Entry:
    groups = entry.groups
    if any(_facts_without(group.facts, gone) is not group.facts for group in groups):
        groups = tuple(Group(_facts_without(group.facts, gone), group.zone, group.plural) for group in groups)
    facts = _facts_without(entry.facts, gone)
    return entry if facts is entry.facts and groups is entry.groups else replace(entry, facts=facts, groups=groups)


def _facts_without(facts: _Facts, gone: frozenset[str]) -> _Facts:
    """Return facts whose lists of names do not hold those that are gone; the same object where none did."""
    changed: dict[str, Fact[Any] | None] = {}
    for name, fact in facts.items():
        if isinstance(fact.value, tuple) and fact.value:
            kept = tuple(item for item in (_item_without(item, gone) for item in fact.value) if item is not None)
            if kept != fact.value:
                changed[name] = replace(fact, value=kept) if kept else None
        elif is_dataclass(fact.value):
            rest = _item_without(fact.value, gone)
            if rest != fact.value:
                changed[name] = replace(fact, value=rest) if rest is not None else None
    if not changed:
        return facts
    return {name: now for name, fact in facts.items() if (now := changed.get(name, fact)) is not None}


def _item_without(item: Any, gone: frozenset[str]) -> Any:
    if isinstance(item, str):
        return None if item in gone or item.partition(".")[0] in gone else item
    if is_dataclass(item) and not isinstance(item, type):
        for part in fields(item):
            value = getattr(item, part.name)
            if isinstance(value, tuple) and value and all(isinstance(name, str) for name in value):
                kept = tuple(name for name in value if name not in gone and name.partition(".")[0] not in gone)
                if not kept:
                    return None
                if kept != value:
                    item = replace(item, **{part.name: kept})
    return item


# text --------------------------------------------------------------------------------------------------------------------


def replace_text(old: str, new: str) -> Edit:
    """Replace words of the written text, which must hold them once: for faults of the text itself. It is done after all other edits."""

    def change(text: str) -> str:
        if text.count(old) != 1:
            raise PlantingError(f"the written text holds {old!r} {text.count(old)} times, not once")
        return text.replace(old, new)

    return Edit(f"replace_text({old!r}, {new!r})", lambda draft: draft.text_changes.append(change))


def instead(text: str) -> Edit:
    """Put a whole other text in place of the build."""
    return Edit(f"instead({text[:40]!r})", lambda draft: draft.text_changes.append(lambda _: text))


def beside(name: str, text: str) -> Edit:
    """Put another file beside the build, in its folder (a library, a published build)."""
    return Edit(f"beside({name!r}, {text[:40]!r})", lambda draft: draft.files.__setitem__(name, text))
