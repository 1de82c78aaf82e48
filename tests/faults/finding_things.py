"""Finding what an edit names: a thing of the build, the rig itself, or what is said of all things of a kind."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from ohmwright_grammar.diagnostics import names_near
from ohmwright_grammar.entries import Body, Default, Entry, Group
from ohmwright_grammar.kinds import KINDS, kind_of
from ohmwright_grammar.kinds.rig import Rig
from ohmwright_grammar.properties import Base
from ohmwright_grammar.resolve.defaults import merged
from ohmwright_grammar.saying import phrase_words
from ohmwright_grammar.things import Datum, Fact, Thing, data_of

__all__ = ["DefaultAt", "EntryAt", "Place", "PlantingError", "RigAt", "datum_called", "place_of"]


class PlantingError(Exception):
    """A planting that is not written as it must be; the message says what is wrong with it."""


@dataclass(slots=True)
class EntryAt:
    """A thing of the build, by its number among the entries."""

    body: Body
    index: int
    entry: Entry

    @property
    def kind(self) -> type[Thing]:
        """What it is."""
        return self.entry.kind

    @property
    def facts(self) -> Mapping[str, Fact[Any]]:
        """What it says itself."""
        return self.entry.facts

    @property
    def base(self) -> Base | None:
        """What it is the same as."""
        return self.entry.base

    def put(self, facts: Mapping[str, Fact[Any]], base: Base | None) -> None:
        """Let it say these facts and no other."""
        self._become(replace(self.entry, facts=dict(facts), base=base))

    def leave_groups(self) -> None:
        """Let it say itself what the groups around it say; zones stay around it."""
        facts: Mapping[str, Fact[Any]] = self.facts
        for group in reversed(self.entry.groups):
            known = {name: fact for name, fact in group.facts.items() if name in data_of(self.kind)}
            facts = merged(known, facts, self.kind, "group")
        zones = tuple(Group({}, group.zone) for group in self.entry.groups if group.zone)
        own = {name: replace(fact, origin="own") for name, fact in facts.items()}
        self._become(replace(self.entry, facts=own, groups=zones))

    def _become(self, entry: Entry) -> None:
        self.entry = self.body.entries[self.index] = entry


@dataclass(slots=True)
class DefaultAt:
    """What is said of all things of a kind."""

    body: Body
    default: Default

    @property
    def kind(self) -> type[Thing]:
        """What it is said of."""
        return self.default.kind

    @property
    def facts(self) -> Mapping[str, Fact[Any]]:
        """What it says."""
        return self.default.facts

    @property
    def base(self) -> Base | None:
        """A default is the same as nothing."""
        return None

    def put(self, facts: Mapping[str, Fact[Any]], base: Base | None) -> None:
        """Let it say these facts and no other."""
        made = replace(self.default, facts=dict(facts))
        self.body.defaults[self.body.defaults.index(self.default)] = made
        self.default = made


@dataclass(slots=True)
class RigAt:
    """What the build says of itself: its title, basis, system voltage, libraries."""

    body: Body
    kind: type[Thing] = Rig

    @property
    def facts(self) -> Mapping[str, Fact[Any]]:
        """What it says."""
        return self.body.rig.facts

    @property
    def base(self) -> Base | None:
        """The build that it is the same as, which none is."""
        return self.body.rig.base

    def put(self, facts: Mapping[str, Fact[Any]], base: Base | None) -> None:
        """Let it say these facts and no other."""
        self.body.rig.facts = dict(facts)
        self.body.rig.base = base


Place = EntryAt | DefaultAt | RigAt


def place_of(body: Body, name: str) -> Place:
    """Return what an edit names: a thing by its name, "state NAME", "waive RULE", an unnamed statement by its words ("site"), "rig", "all wires"."""
    if name == "rig":
        return RigAt(body)
    if name.startswith("all "):
        return _default(body, name)
    found = [index for index, entry in enumerate(body.entries) if _is(entry, name)]
    if len(found) > 1:
        parts = [index for index in found if body.entries[index].kind.KIND not in ("state", "waive")]
        found = parts if len(parts) == 1 else found
    if len(found) == 1:
        return EntryAt(body, found[0], body.entries[found[0]])
    if found:
        raise PlantingError(f"{name!r} names {len(found)} things")
    raise PlantingError(
        f"there is no {name!r}. {names_near(name, [entry.name for entry in body.entries if entry.name], 'Names')}"
    )


def _is(entry: Entry, name: str) -> bool:
    if not entry.kind.NAMED:
        return name in (entry.kind.KIND, f"{entry.kind.KIND} {entry.name}") or (
            name.lower() in KINDS and kind_of(name.lower()) is entry.kind
        )
    return entry.name == name or (entry.kind.KIND in ("state", "waive") and name == f"{entry.kind.KIND} {entry.name}")


def _default(body: Body, name: str) -> DefaultAt:
    found = [item for item in body.defaults if _head(item) == name]
    if len(found) != 1:
        known = ", ".join(sorted(_head(item) for item in body.defaults))
        raise PlantingError(f"{name!r} is said {len(found)} times; the build says {known or 'nothing of all things of a kind'}")
    return DefaultAt(body, found[0])


def _head(default: Default) -> str:
    words = " ".join(("all", *default.words, default.plural))
    return f"{words} of {default.owner}" if default.owner else f"{words} in {default.zone}" if default.zone else words


def datum_called(kind: type[Thing], name: str, thing: str) -> Datum[Any]:
    """Return a datum by its attribute, or by the words with which it is said."""
    data = data_of(kind)
    plain = name.replace(" ", "_")
    if plain in data:
        return data[plain]
    said = [datum for datum in data.values() if any(phrase_words(phrase) == name for phrase in datum.phrases)]
    if len(said) == 1:
        return said[0]
    raise PlantingError(f"nothing called {name!r} can be said of {thing!r}. {names_near(plain, data, 'Data')}")
