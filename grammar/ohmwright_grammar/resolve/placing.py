"""Placing: parts taken from libraries, things that are the same as others, assemblies placed once or in a row.

The result is a flat list of things with path names ("pack[2].feed") and complete facts; names inside the facts are still as written.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ohmwright_grammar.bodies import BodyReader
from ohmwright_grammar.budget import UNLIMITED, Budget
from ohmwright_grammar.diagnostics import Diagnostic, Related, names_near, worth_searching
from ohmwright_grammar.entries import AssemblyText, Body, Default, Entry
from ohmwright_grammar.kinds.assembly import Placement, Row
from ohmwright_grammar.kinds.rig import Rig
from ohmwright_grammar.quantities import DIMENSIONS, Measure
from ohmwright_grammar.records import record
from ohmwright_grammar.resolve.defaults import Defaults, Scopes, merged
from ohmwright_grammar.resolve.loading import Shelf
from ohmwright_grammar.spans import Span
from ohmwright_grammar.things import Fact, Thing
from ohmwright_grammar.units import units_of

__all__ = ["MOST_OBJECTS", "Placed", "PlacedRowText", "Placer"]

MOST_OBJECTS = 50_000
_MOST_DEPTH = 50


@record
class Placed:
    """A thing with its path name and complete facts; `prefix` is the instance that it lies in ("" or "pack[2].")."""

    thing: Thing
    prefix: str
    mate: str
    zone: str
    span: Span
    scopes: Scopes

    def plain_zone(self) -> str:
        """Return the zone's name as the statements around it write it, without the instance."""
        return _plain(self.zone, self.prefix)


@record
class PlacedRowText:
    """A row and the instances placed for it, and those of its cords."""

    row: Row
    prefix: str
    instances: tuple[str, ...]
    cords: tuple[str, ...]
    span: Span


class Placer:
    """Places the entries of one build; it looks at the budget of the run at each of them."""

    def __init__(self, shelf: Shelf, problems: list[Diagnostic], budget: Budget = UNLIMITED) -> None:
        self.shelf = shelf
        self.budget = budget
        self.problems = problems
        self.placed: list[Placed] = []
        self.by_name: dict[str, Placed] = {}
        self.ports: dict[str, str] = {}
        self.rows: list[PlacedRowText] = []
        self.joints: list[tuple[str, str, str, Span]] = []  # prefix, terminal, where, place
        self.full = False
        self.unread: set[str] = set()  # names whose statements could not be read
        self.defaults = Defaults(problems)
        self._objects = 0
        self._scopes: dict[int, tuple[Default, ...]] = {}  # the defaults of each body that was read, always as the same tuple
        self._read: dict[tuple[str, str, tuple[tuple[str, Measure], ...]], Body] = {}

    def place(
        self,
        body: Body,
        entries: list[Entry],
        assemblies: Mapping[str, tuple[AssemblyText, tuple[Default, ...]]],
        scopes: Scopes,
        prefix: str,
        zone: str,
        at: Span | None,
        way: tuple[str, ...],
    ) -> None:
        """Place the entries of a body under `prefix`; `at` is the statement that placed the instance, where there is one."""
        self.unread.update(f"{prefix}{name}" for name in body.unread)
        local = {entry.name: entry for entry in reversed(entries) if entry.kind.NAMED}
        for entry in entries:
            if self.full:
                return
            self.budget.check(at or entry.span)
            own, base_scopes = self._with_base(entry, local, ())
            own_zone = zone
            for group in entry.groups:
                own_zone = f"{prefix}{group.zone}" if group.zone else _zone_in(group.facts, own_zone)
            own_zone = _zone_in(own, own_zone)
            reach = (*base_scopes, *scopes) if base_scopes else scopes
            plain_zone = _plain(own_zone, prefix)
            facts = self.defaults.facts(entry.kind, own, entry.groups, plain_zone, reach)
            own_zone = own_zone or _zone_in(facts, "")
            facts = self.defaults.in_blocks(entry.kind, facts, plain_zone, reach)
            span = at or entry.span
            if issubclass(entry.kind, Placement):
                self._instance(Placement(entry.name, entry.span, facts), assemblies, scopes, prefix, own_zone, span, way)
            elif issubclass(entry.kind, Row):
                self._row(Row(entry.name, entry.span, facts), assemblies, scopes, prefix, own_zone, span, way)
            else:
                name = f"{prefix}{entry.name}" if entry.kind.NAMED else entry.name
                self._keep(Placed(entry.kind(name, span, facts), prefix, entry.mate, own_zone, entry.span, reach))
        self._root(body, prefix)

    # one thing ---------------------------------------------------------------------------------------------------

    def _counts(self, objects: int, place: Span, subject: str) -> bool:
        """Count objects that are placed; False, with one message, where the limit is passed."""
        self._objects += objects
        if self._objects <= MOST_OBJECTS:
            return True
        if not self.full:
            self.problems.append(
                Diagnostic(
                    "over-limit", f"The build holds more than {MOST_OBJECTS:,} things; from this one on nothing is placed.", place,
                    "Place fewer instances, or split the build.", subject,
                )
            )  # fmt: skip
        self.full = True
        return False

    def _keep(self, placed: Placed) -> None:
        thing = placed.thing
        if not self._counts(_objects_of(thing), placed.span, thing.name):
            return
        self.placed.append(placed)
        if not thing.NAMED or thing.KIND == "waive":
            return
        key = f"state {thing.name}" if thing.KIND == "state" else thing.name
        known = self.by_name.get(key)
        if known is not None:
            self.problems.append(
                Diagnostic(
                    "duplicate-name", f"The name {thing.name!r} is given twice.", placed.span, "Give one of them another name.", thing.name,
                    related=(Related("It is given here first.", known.span),),
                )
            )  # fmt: skip
            return
        self.by_name[key] = placed

    def _with_base(
        self, entry: Entry, local: Mapping[str, Entry], seen: tuple[str, ...]
    ) -> tuple[Mapping[str, Fact[Any]], Scopes]:
        """Return an entry's facts laid over those of the thing that it is the same as, and the defaults that came with that."""
        base = entry.base
        if base is None:
            return entry.facts, ()
        found: Entry | None = local.get(base.name)
        scopes: Scopes = ()
        if found is entry or found is None:
            shelved = self.shelf.entries.get(base.name)
            if shelved is not None:
                found, scopes = shelved[0], (shelved[1],)
                local = {name: item for name, (item, _) in self.shelf.entries.items()}
        if found is None or found is entry:
            self._say(
                "unknown-name",
                f"There is no {base.name!r} that this could be the same as.",
                base.span,
                self._near(base.name, local, self.shelf.entries),
                entry.name,
            )
            return entry.facts, ()
        if base.name not in seen and len(seen) > _MOST_DEPTH:
            self._say(
                "over-limit",
                f"Things are the same as others more than {_MOST_DEPTH} deep here.",
                base.span,
                "Name the first of them.",
                entry.name,
            )
            return entry.facts, ()
        if base.name in seen:
            circle = ", ".join(repr(name) for name in (*seen, base.name))
            self._say(
                "unknown-name",
                f"These are the same as each other in a circle: {circle}.",
                base.span,
                "Declare one of them.",
                entry.name,
            )
            return entry.facts, ()
        if not (issubclass(found.kind, entry.kind) or issubclass(entry.kind, found.kind)):
            self._say(
                "unknown-name", f"{base.name!r} is a {found.kind.KIND}, not a {entry.kind.KIND}.", base.span, "", entry.name
            )
            return entry.facts, ()
        below, deeper = self._with_base(found, local, (*seen, base.name))
        lower: Mapping[str, Fact[Any]] = below
        if found.groups:
            for group in reversed(found.groups):
                lower = merged(group.facts, lower, found.kind, "group")
        return merged(lower, entry.facts, entry.kind, "base"), (*deeper, *scopes)

    def _root(self, body: Body, prefix: str) -> None:
        joints = body.rig.facts.get("joints")
        if joints is not None and joints.value is not None:
            self.joints.extend((prefix, joint.terminal, joint.at, joints.source) for joint in joints.value)
        ports = body.rig.facts.get("ports")
        if prefix and ports is not None and ports.value is not None:
            for port in ports.value:
                self.ports[f"{prefix}{port.name}"] = f"{prefix}{port.at}"

    # assemblies --------------------------------------------------------------------------------------------------

    def _instance(
        self,
        placement: Placement,
        assemblies: Mapping[str, tuple[AssemblyText, tuple[Default, ...]]],
        scopes: Scopes,
        prefix: str,
        zone: str,
        at: Span,
        way: tuple[str, ...],
    ) -> None:
        fact = placement.facts.get("assembly")
        if fact is None or fact.value is None:
            self._say(
                "unreadable-text",
                f"It is not said of which assembly {placement.name!r} is.",
                at,
                f"Write: place {placement.name} of …",
                placement.name,
            )
            return
        values = {item.name: item.value for item in placement.values or ()}
        self._assembly(fact.value, f"{prefix}{placement.name}", values, assemblies, scopes, zone, at, fact.source, way)

    def _row(
        self,
        row: Row,
        assemblies: Mapping[str, tuple[AssemblyText, tuple[Default, ...]]],
        scopes: Scopes,
        prefix: str,
        zone: str,
        at: Span,
        way: tuple[str, ...],
    ) -> None:
        of = row.of
        if of is None:
            self._say(
                "unreadable-text",
                f"It is not said how many of which assembly make the row {row.name!r}.",
                at,
                f"Write: row {row.name} of 3 …",
                row.name,
            )
            return
        values = {item.name: item.value for item in row.values or ()}
        place = row.place_of(Row.of)
        instances: list[str] = []
        cords: list[str] = []
        cord = row.cord
        for number in range(1, of.count + 1):
            if self.full:
                return
            name = f"{prefix}{row.name}[{number}]"
            if not self._assembly(of.assembly, name, values, assemblies, scopes, zone, at, place, way):
                return
            instances.append(name)
            if cord is not None:
                link = f"{prefix}{row.name}_cord[{number}]"
                if not self._assembly(cord.assembly, link, {}, assemblies, scopes, zone, at, row.place_of(Row.cord), way):
                    return
                cords.append(link)
        self.rows.append(
            PlacedRowText(Row(f"{prefix}{row.name}", row.span, row.facts), prefix, tuple(instances), tuple(cords), at)
        )

    def _assembly(
        self,
        name: str,
        instance: str,
        values: Mapping[str, Measure],
        assemblies: Mapping[str, tuple[AssemblyText, tuple[Default, ...]]],
        scopes: Scopes,
        zone: str,
        at: Span,
        place: Span,
        way: tuple[str, ...],
    ) -> bool:
        """Place one instance of an assembly; False where that cannot be done (said once)."""
        found = assemblies.get(name) or self.shelf.assemblies.get(name)
        if found is None:
            near = self._near(name, assemblies, self.shelf.assemblies, "Assemblies")
            self._say("unknown-name", f"There is no assembly {name!r}.", place, near, instance)
            return False
        text, written_in = found
        if name in way:
            self._say(
                "unknown-name",
                f"The assembly {name!r} is placed inside itself.",
                place,
                "Take it out of its own block.",
                instance,
            )
            return False
        if instance in self.by_name:
            self._say(
                "duplicate-name", f"The name {instance!r} is given twice.", at, "Give one of them another name.", instance
            )
            return False
        if not self._counts(1, at, instance):
            return False
        body = self._body(text, self._fitting(values, text, place, instance))
        inner = {key: (item, ()) for key, item in body.assemblies.items()}
        merged_assemblies: dict[str, tuple[AssemblyText, tuple[Default, ...]]] = {**assemblies, **inner}
        self.by_name.setdefault(instance, Placed(Rig(instance, at, {}), "", "", zone, at, ()))
        self.place(
            body,
            body.entries,
            merged_assemblies,
            (*scopes, written_in, self._scopes.setdefault(id(body), tuple(body.defaults))),
            f"{instance}.",
            zone,
            at,
            (*way, name),
        )
        return True

    def _fitting(self, values: Mapping[str, Measure], text: AssemblyText, place: Span, instance: str) -> dict[str, Measure]:
        """Return the values that are those of a parameter and of its quantity; a message for each of the others."""
        fitting: dict[str, Measure] = {}
        for wanted, value in sorted(values.items()):
            known = text.inside.parameters.get(wanted)
            if known is None:
                self._say(
                    "unknown-name",
                    f"The assembly {text.name!r} has no parameter {wanted!r}.",
                    place,
                    self._near(wanted, text.inside.parameters, {}, "Parameters"),
                    instance,
                )
                continue
            due, found = known[0].dimension, value.dimension
            if due != found and {due, found} != {"gauge", "area"}:
                self._say(
                    "wrong-unit",
                    f"The parameter {wanted!r} is {_words_of(due)}, not {_words_of(found)}.",
                    place,
                    f"Units that fit: {'AWG or mm2' if due == 'gauge' else units_of(DIMENSIONS[due])}.",
                    instance,
                )
                continue
            fitting[wanted] = value
        return fitting

    def _body(self, text: AssemblyText, values: Mapping[str, Measure]) -> Body:
        """Read the text of an assembly with given values of its parameters, each combination once."""
        if not values:
            return text.inside
        key = (text.path, f"{text.span.line}:{text.span.column}", tuple(sorted(values.items())))
        known = self._read.get(key)
        if known is None:
            problems: list[Diagnostic] = []
            known = self._read[key] = BodyReader(text.path, problems, values, self.budget).read(text.block.statements)
            usual: list[Diagnostic] = []
            BodyReader(text.path, usual, budget=self.budget).read(
                text.block.statements
            )  # what is wrong with any values was told with the file
            known.parameters.clear()  # asked no more, and much where there are many parameters and many values
            told = {(problem.rule, problem.span) for problem in usual}
            self.problems.extend(problem for problem in problems if (problem.rule, problem.span) not in told)
        return known

    def _near(self, name: str, known: Mapping[str, Any], more: Mapping[str, Any], what: str = "Names") -> str:
        """Return which names are spelt nearly so, as long as it is worth while."""
        told = len(self.problems)
        return names_near(name, (*known, *more), what, told) if worth_searching(told, len(known) + len(more)) else ""

    def _say(self, rule: str, message: str, place: Span, remedy: str = "", subject: str = "") -> None:
        self.problems.append(Diagnostic(rule, message, place, remedy, subject))


def _words_of(dimension: str) -> str:
    return "a size" if dimension == "gauge" else DIMENSIONS[dimension].words


def _zone_in(facts: Mapping[str, Fact[Any]], otherwise: str) -> str:
    """Return the zone that facts name, if they name one."""
    said = facts.get("zone")
    return said.value if said is not None and isinstance(said.value, str) else otherwise


def _plain(zone: str, prefix: str) -> str:
    return zone[len(prefix) :] if prefix and zone.startswith(prefix) else zone


def _objects_of(thing: Thing) -> int:
    """Return how many objects a thing is: itself, and its pins, jumpers, cores and the like."""
    return 1 + sum(
        len(fact.value)
        for fact in thing.facts.values()
        if type(fact.value) is tuple and fact.value and isinstance(fact.value[0], Thing)
    )
