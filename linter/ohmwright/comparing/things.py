"""What was changed of the parts, wires, states and other things of a build, in the words in which they are declared."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from ohmwright_grammar.model import Build
from ohmwright_grammar.printing import say_fact
from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Span
from ohmwright_grammar.things import Datum, Fact, Thing, data_of

from ohmwright.comparing.model import Row, ThingChange
from ohmwright.comparing.normal import Renamed, nobody, normal, renaming
from ohmwright.comparing.renames import renamed_parts, renamed_states

__all__ = ["Names", "changed_facts", "changed_things", "fact_words", "names_of"]

_TOLD_OF_NEW = 4  # facts of a thing that was added or removed
_Key = tuple[str, str]  # a class of names, and a name


@record
class Names:
    """How things of the old build are called in the new one, those that are called otherwise: parts and wires, and states."""

    parts: Mapping[str, str]
    states: Mapping[str, str]

    @property
    def both(self) -> dict[str, str]:
        """All of them together, as findings name them."""
        return {**self.states, **self.parts}


def names_of(old: Build, new: Build) -> Names:
    """Return what only changed its name between two builds."""
    parts = renamed_parts(old, new)
    return Names(parts, renamed_states(old, new, parts))


@record
class _View:
    """A thing as declared: the words of its kind, and every fact with its datum."""

    kind: str
    name: str
    span: Span
    thing: Thing
    owner: str = ""  # the cable of a core, the part of a terminal


def changed_things(old: Build, new: Build, names: Names) -> tuple[ThingChange, ...]:
    """Return what was added, removed, renamed and changed, in the order in which it stands in the new file, then in the old one."""
    renamed = renaming(names.parts)
    before = {_called(key, names): view for key, view in _views(old).items()}
    after = _views(new)
    found: list[ThingChange] = []
    rows_of: dict[str, tuple[Row, ...]] = {}
    for key, view in after.items():
        was = before.get(key)
        if was is None:
            if key[0] != "terminal":
                found.append(ThingChange("added", view.kind, view.name, "", tuple(_summary(view, now=True)), view.span))
            continue
        rows = tuple(changed_facts(was.thing, view.thing, renamed))
        if key[0] == "part":
            rows_of[view.name] = rows
        if view.owner and key[0] == "part":
            told = rows_of.get(view.owner, ())
            rows = tuple(row for row in rows if row not in told)
        if rows or was.name != view.name:
            how = "changed" if rows or key[0] == "terminal" else "renamed"
            if rows or how == "renamed":
                found.append(ThingChange(how, view.kind, view.name, was.name, rows, view.span))  # type: ignore[arg-type]
    found.sort(key=lambda change: (change.span.path != new.path, change.span))
    gone = [
        ThingChange("removed", view.kind, view.name, view.name, tuple(_summary(view, now=False)), view.span)
        for key, view in before.items()
        if key not in after and key[0] != "terminal"
    ]
    gone.sort(key=lambda change: (change.span.path != old.path, change.span))
    return (*found, *gone)


def _called(key: _Key, names: Names) -> _Key:
    """Return the key of an old thing as the new build would have it."""
    if key[0] == "state":
        return key[0], names.states.get(key[1], key[1])
    return key[0], str(renaming(names.parts)(key[1]))


def _views(build: Build) -> dict[_Key, _View]:
    """Return everything that a build declares: cables before their cores."""
    found: dict[_Key, _View] = {("rig", ""): _View("rig", "", build.rig.span, build.rig)}
    for thing in build.things:
        if thing.KIND == "require":
            continue  # told with its verdict
        key = ("part", thing.name) if thing.name and thing.NAMED else (thing.KIND, thing.name)
        found[key] = _View(thing.KIND, thing.name, thing.span, thing)
    for name, part in build.parts.items():
        found["part", name] = _View(part.KIND, name, part.span, part)
    for run in build.runs:
        conductor = run.conductor
        found["part", run.name] = _View(conductor.KIND, run.name, conductor.span, conductor, run.cable)
    for state in build.states:
        found["state", state.name] = _View("state", state.name, state.span, state)
    for name, terminal in build.terminals.items():
        owner = build.nodes.get(name, name.rstrip("."))
        if owner in build.parts:
            found["terminal", name] = _View("terminal", name.rstrip("."), terminal.span, terminal, owner)
    return found


# facts -----------------------------------------------------------------------------------------------------------


def changed_facts(old: Thing, new: Thing, renamed: Renamed = nobody, *, inside: bool = False) -> Iterator[Row]:
    """Yield every fact of a thing that is said otherwise, in the order of the lexicon; what the rig says of its own file is not a change of the design.

    With `inside` also what is said of its terminals, cores and jumpers, which a build tells by themselves.
    """
    yield from _changed(type(new), old.facts, new.facts, renamed, "", inside)


_NOT_TOLD = {"rig": frozenset({"title", "author", "written", "parts_from", "adapts", "ports", "basis"})}
_ELSEWHERE = frozenset({"cores", "terminals", "jumpers"})  # blocks of things that are told by themselves


def _changed(
    kind: type[Thing],
    old: Mapping[str, Fact[Any]],
    new: Mapping[str, Fact[Any]],
    renamed: Renamed,
    before: str,
    inside: bool,
) -> Iterator[Row]:
    hidden = _NOT_TOLD.get(kind.KIND, frozenset())
    for name, datum in data_of(kind).items():
        was, now = old.get(name), new.get(name)
        if (was is None and now is None) or name in hidden:
            continue
        if not inside and datum.shape in ("block", "blocks") and name in _ELSEWHERE:
            continue
        if was is not None and now is not None:
            if normal(was, renamed) == normal(now):
                continue
            if datum.shape in ("block", "blocks") and was.answer == now.answer == "said":
                yield from _blocks(was.value, now.value, renamed, before, inside)
                continue
        one, two = _differing(datum, was, now)
        yield Row(f"{before}{datum.doc}", one, two)


def _blocks(was: Any, now: Any, renamed: Renamed, before: str, inside: bool) -> Iterator[Row]:
    old = {thing.name: thing for thing in (was if isinstance(was, tuple) else (was,))}
    new = {thing.name: thing for thing in (now if isinstance(now, tuple) else (now,))}
    for name in {**old, **new}:
        thing = new.get(name) or old[name]
        head = f"{before}{thing.KIND} {name}".rstrip() + ": "
        facts = tuple(side[name].facts if name in side else {} for side in (old, new))
        yield from _changed(type(thing), facts[0], facts[1], renamed, head, inside)


def fact_words(datum: Datum[Any], fact: Fact[Any] | None) -> str:
    """Return what is said for a datum as a builder would write it, "" where nothing is."""
    return say_fact(datum, fact) if fact is not None else ""


def _differing(datum: Datum[Any], was: Fact[Any] | None, now: Fact[Any] | None) -> tuple[str, str]:
    """Return the words of both sides; of several statements only those that the other side does not have."""
    one, two = fact_words(datum, was), fact_words(datum, now)
    if datum.many:
        left, right = one.split("; "), two.split("; ")
        differ = [item for item in left if item not in right], [item for item in right if item not in left]
        if differ[0] or differ[1]:
            return "; ".join(differ[0]), "; ".join(differ[1])
    return one, two


def _summary(view: _View, now: bool) -> Iterator[Row]:
    """Yield the first few things that a statement itself says."""
    told = 0
    for name, datum in data_of(type(view.thing)).items():
        fact = view.thing.facts.get(name)
        if fact is None or fact.origin in ("default", "base") or datum.shape in ("block", "blocks"):
            continue
        words = fact_words(datum, fact)
        yield Row(datum.doc, "" if now else words, words if now else "")
        told += 1
        if told >= _TOLD_OF_NEW:
            return
