"""The last step of reading: from placed things to the model, with every name looked up."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ohmwright_grammar.block_names import nameless
from ohmwright_grammar.diagnostics import Diagnostic
from ohmwright_grammar.kinds.cable import Cable, Core
from ohmwright_grammar.kinds.conductor import Conductor, Ends
from ohmwright_grammar.kinds.connector import Half
from ohmwright_grammar.kinds.part import Part, Terminal
from ohmwright_grammar.kinds.rig import Adapts, Rig
from ohmwright_grammar.kinds.state import State
from ohmwright_grammar.kinds.switch import Selector
from ohmwright_grammar.kinds.waiver import Waiver
from ohmwright_grammar.model import AdaptedFrom, Build, FileRead, Run
from ohmwright_grammar.records import record, replace
from ohmwright_grammar.resolve import adapting
from ohmwright_grammar.resolve.connecting import Connections
from ohmwright_grammar.resolve.defaults import Scopes
from ohmwright_grammar.resolve.joining import joints_of, joints_of_parts
from ohmwright_grammar.resolve.linking import Names
from ohmwright_grammar.resolve.loading import MOST_FILES_DEEP, LoadedFile, Loader, Shelf, content_hash
from ohmwright_grammar.resolve.placing import Placed, Placer
from ohmwright_grammar.resolve.references import promised, resolve_references
from ohmwright_grammar.resolve.terminals import foreign_terminals, is_one_node, terminal_names
from ohmwright_grammar.spans import Span
from ohmwright_grammar.things import Fact, Thing, data_of

__all__ = ["Resolved", "resolve"]


@record
class Resolved:
    """A build with what is wrong with its text; `library_problems` are those of the files that it reads, by path."""

    build: Build
    problems: tuple[Diagnostic, ...]
    library_problems: tuple[Diagnostic, ...]


def resolve(path: str, loader: Loader) -> Resolved | tuple[Diagnostic, ...]:
    """Read the file `path` and everything it reads into a model; only problems where it cannot be read at all."""
    loaded = loader.file(path)
    if not isinstance(loaded, LoadedFile):
        return loaded.problems
    problems: list[Diagnostic] = []
    outside: list[Diagnostic] = []
    shelves: list[Shelf] = []
    source, files, adapted = _with_base(loaded, loader, problems, outside, (), shelves)
    shelf = loader.shelf(loaded)
    problems.extend(shelf.problems)
    for library in shelf.files:
        if all(known.path != library.path for known in files):
            files.append(library)
            outside.extend(library.problems)
    for below in shelves:  # the nearest base first
        problems.extend(problem for problem in below.problems if problem not in problems)
        for name, item in below.entries.items():
            shelf.entries.setdefault(name, item)
        for name, text in below.assemblies.items():
            shelf.assemblies.setdefault(name, text)
    placer = Placer(shelf, problems, loader.budget)
    scopes: Scopes = tuple(source.defaults)
    placer.place(source.body, source.entries, source.assemblies, scopes, "", "", None, ())
    builder = _Builder(path, source, placer, files, problems)
    build = builder.build(adapted, content_hash)
    told = {problem.subject for problem in (*loaded.problems, *problems, *outside)}
    problems.extend(problem for problem in builder.endless if problem.subject not in told)
    everything = [*loaded.problems, *problems]
    everything.sort(key=lambda problem: (problem.span.path != path, problem.span))
    partial = bool(everything or outside) or placer.full
    return Resolved(replace(build, partial=partial), tuple(everything), tuple(outside))


def _with_base(
    loaded: LoadedFile,
    loader: Loader,
    problems: list[Diagnostic],
    outside: list[Diagnostic],
    way: tuple[str, ...],
    shelves: list[Shelf],
) -> tuple[adapting.Source, list[LoadedFile], tuple[LoadedFile, Adapts, Span, list[LoadedFile]] | None]:
    """Return what a file builds, laid over its base and its base's base; the files read; the base. `shelves` gets the libraries of every base."""
    files = [loaded]
    found = loader.adapted(loaded, problems)
    if found is None:
        places = [(change.name, change.span) for change in loaded.body.changes]
        places += [(removal.name, removal.span) for removal in loaded.body.removals]
        for name, place in places:
            problems.append(
                Diagnostic(
                    "lost-property",
                    "Only a file that adapts a published build can change or remove its things.",
                    place,
                    'Begin the file with: adapts "path/of/the/copy.rig"',
                    name,
                )
            )
        return adapting.own(loaded.body), files, None
    base, adapts, place = found
    if base.path in way:
        problems.append(
            Diagnostic("circle-of-files", "Builds adapt each other in a circle.", place, "Take one of these statements out.")
        )
        return adapting.own(loaded.body), files, None
    if len(way) >= MOST_FILES_DEEP:
        problems.append(
            Diagnostic(
                "over-limit", f"Builds adapt each other more than {MOST_FILES_DEEP} deep.", place, "Adapt the first of them."
            )
        )
        return adapting.own(loaded.body), files, None
    outside.extend(base.problems)
    shelf = loader.shelf(base)
    shelves.append(shelf)
    below, base_files, _ = _with_base(base, loader, problems, outside, (*way, loaded.path), shelves)
    for library in shelf.files:
        if all(known.path != library.path for known in base_files):
            base_files.append(library)
            outside.extend(library.problems)
    on_shelf = {name: entry for known in reversed(shelves) for name, (entry, _) in known.entries.items()}
    laid = adapting.laid_over(below, loaded.body, on_shelf, problems, loader.budget)
    return laid, [*files, *base_files], (base, adapts, place, base_files)


class _Builder:
    """Makes the model of one build out of placed things."""

    def __init__(
        self, path: str, source: adapting.Source, placer: Placer, files: list[LoadedFile], problems: list[Diagnostic]
    ) -> None:
        self.path = path
        self.source = source
        self.placer = placer
        self.budget = placer.budget
        self.files = files
        self.problems = problems
        self.endless: list[Diagnostic] = []  # conductors without ends: no news where their words could not be read
        self.parts: dict[str, Part] = {}
        self.conductors: dict[str, tuple[Conductor, Placed, str]] = {}
        self.things: list[Thing] = []
        self.states: list[State] = []
        self.waivers: list[Waiver] = []
        self.zones: dict[str, str] = {}
        self.terminals: dict[str, Terminal] = {}
        self.prefixes: dict[str, str] = {}

    def build(self, adapted: tuple[LoadedFile, Adapts, Span, list[LoadedFile]] | None, hash_of: Any) -> Build:
        """Return the model."""
        self._sort()
        names = self._names()
        self._resolve_facts(names)
        runs = self._runs(names)
        joints = joints_of_parts(self.parts, self.prefixes, self.placer, names)
        lone_joints, rig_facts = joints_of(self.placer, names, self.source.body.rig.facts)
        joints += lone_joints
        connections = Connections(self.parts, self.placer, names, self.problems)
        matings = connections.matings()
        rows, row_matings = connections.rows()
        self._terminals()
        self._zones(names)
        title = rig_facts.get("title")
        nodes = {
            (f"{name}.{terminal}"): name
            for name, part in self.parts.items()
            for terminal in (names.terminals(part) or tuple(sorted(names.used_pins.get(name, ()))))
        } | {name: name for name, part in self.parts.items() if is_one_node(part)}
        base = None
        if adapted is not None:
            file, adapts, place, base_files = adapted
            revision = file.body.rig.facts.get("revision")
            base = AdaptedFrom(
                file.path, adapts.revision, adapts.hash, str(revision.value) if revision is not None else "", hash_of(tuple(base_files)),
                tuple(Waiver(entry.name, entry.span, entry.facts) for entry in self.source.waivers_of_base), place,
                tuple(base_file.path for base_file in base_files),
            )  # fmt: skip
        rig = resolve_references(
            Rig(
                str(title.value) if title is not None else "",
                title.source if title is not None else Span(self.path, 1, 1, 1, 1),
                rig_facts,
            ),
            names,
            "",
            self.problems,
        )
        assert isinstance(rig, Rig)
        return Build(
            path=self.path,
            is_library=title is None and not self.source.body.has_rig,
            rig=rig,
            parts=self.parts,
            runs=runs,
            joints=tuple(sorted(joints, key=lambda joint: (joint.first, joint.second))),
            matings=tuple(sorted((*matings, *row_matings), key=lambda mating: (mating.name, mating.link))),
            rows=tuple(sorted(rows, key=lambda row: row.name)),
            states=tuple(self.states),
            waivers=tuple(self.waivers),
            things=tuple(self.things),
            nodes=nodes,
            zones=self.zones,
            terminals=self.terminals,
            files=tuple(FileRead(file.path, file.text) for file in self.files),
            adapted=base,
        )

    # sorting -----------------------------------------------------------------------------------------------------

    def _sort(self) -> None:
        """Part the placed things by what they are, each in name order, so that nothing depends on the order of statements."""
        for placed in self.placer.placed:
            self.budget.check(placed.span)
            thing = placed.thing
            if thing.NAMED and thing.KIND != "waive":
                key = f"state {thing.name}" if isinstance(thing, State) else thing.name
                if self.placer.by_name.get(key) is not placed:
                    continue  # a name given twice: the first one stands
            self.prefixes[thing.name] = placed.prefix
            if isinstance(thing, Part):
                self.parts[thing.name] = thing
                if isinstance(thing, Half):
                    for jumper in thing.jumpers or ():
                        name = f"{thing.name}.{jumper.name}"
                        made = type(jumper)(name, jumper.span, self._conductor_facts(jumper, placed, {}))
                        self.conductors[name] = (made, replace(placed, prefix=f"{thing.name}."), "")
            elif isinstance(thing, Conductor):
                self.conductors[thing.name] = (thing, placed, "")
            elif isinstance(thing, Cable):
                self.things.append(thing)
                self._cores(thing, placed)
            elif isinstance(thing, State):
                self.states.append(thing)
            elif isinstance(thing, Waiver):
                self.waivers.append(thing)
            else:
                self.things.append(thing)

        self.parts = dict(sorted(self.parts.items()))
        self.conductors = dict(sorted(self.conductors.items()))
        self.things.sort(key=lambda thing: (thing.KIND, thing.name))
        self.states.sort(key=lambda state: state.name)
        self.waivers.sort(key=lambda waiver: (waiver.name, waiver.on or (), str(waiver.up_to), str(waiver.until)))

    def _conductor_facts(self, conductor: Conductor, placed: Placed, shared: Mapping[str, Fact[Any]]) -> dict[str, Fact[Any]]:
        """Return the facts of a core or jumper: its own, then what its cable says, then defaults (those of its cable among them)."""
        kind = type(conductor)
        own = {name: fact for name, fact in shared.items() if fact.origin not in ("default", "group")}
        laid = {name: fact.carried("group") if fact.origin == "own" else fact for name, fact in own.items()} | dict(
            conductor.facts
        )
        said_zone = laid.get("zone")
        zone = str(said_zone.value) if said_zone is not None and said_zone.value is not None else placed.plain_zone()
        of_cable = {name: fact for name, fact in shared.items() if name not in own}
        return self.placer.defaults.facts(kind, laid, (), zone, placed.scopes, below=of_cable)

    def _cores(self, cable: Cable, placed: Placed) -> None:
        shared = {name: fact for name, fact in cable.facts.items() if name in data_of(Core)}
        for core in cable.cores or ():
            self.budget.check(core.span)
            name = f"{cable.name}.{core.name}"
            if name in self.conductors:
                self.problems.append(
                    Diagnostic(
                        "duplicate-name", f"The core {core.name!r} is said twice.", core.span, "Rename one of them.", name
                    )
                )
                continue
            made = Core(name, core.span, self._conductor_facts(core, placed, shared))
            self.conductors[name] = (made, placed, cable.name)

    # names -------------------------------------------------------------------------------------------------------

    def _names(self) -> Names:
        things: dict[str, Thing] = dict(self.parts)
        things.update({name: conductor for name, (conductor, _, _) in self.conductors.items()})
        for thing in self.things:
            if thing.NAMED:
                things.setdefault(thing.name, thing)
        extra = frozenset(name for name in self.placer.by_name if name not in things) | frozenset(
            row.row.name for row in self.placer.rows
        )
        names = Names(things, extra, self.placer.ports, self.problems)
        names.unread = frozenset(self.placer.unread)
        names.shelved = {name: entry.kind.KIND for name, (entry, _) in self.placer.shelf.entries.items() if entry.kind.NAMED}
        return names

    def _resolve_facts(self, names: Names) -> None:
        for name, part in list(self.parts.items()):
            self.budget.check(part.span)
            self.parts[name] = resolve_references(part, names, self.prefixes[name], self.problems)  # type: ignore[assignment]
            if isinstance(part, Selector):
                self.problems.extend(foreign_terminals(part))
        self.things = [promised(self._resolved(thing, names, self.prefixes.get(thing.name, ""))) for thing in self.things]
        self.states = [self._resolved(state, names, "") for state in self.states]  # type: ignore[misc]
        self.waivers = [self._resolved(waiver, names, "") for waiver in self.waivers]  # type: ignore[misc]
        names.things = {**names.things, **self.parts}

    def _resolved(self, thing: Thing, names: Names, prefix: str) -> Thing:
        self.budget.check(thing.span)
        return resolve_references(thing, names, prefix, self.problems)

    def _runs(self, names: Names) -> tuple[Run, ...]:
        runs: list[Run] = []
        for name, (conductor, placed, cable) in self.conductors.items():
            self.budget.check(conductor.span)
            ends = conductor.ends
            if ends is None:
                spare = isinstance(conductor, Core)
                if not spare:
                    self.endless.append(
                        Diagnostic(
                            "unreadable-text", f"It is not said what {conductor.KIND} {name!r} joins.", conductor.span,
                            f"Write: {conductor.KIND} {name} from … to …", name,
                        )
                    )  # fmt: skip
                continue
            place = conductor.place_of(Conductor.ends)
            start = names.node(ends.start, placed.prefix, place, name)
            end = names.node(ends.end, placed.prefix, place, name)
            if start is None or end is None:
                continue
            if start == end:
                self.problems.append(
                    Diagnostic(
                        "senseless-value",
                        f"{name!r} begins and ends at the same terminal.",
                        place,
                        "Correct one of its ends.",
                        name,
                    )
                )
                continue
            linked = resolve_references(conductor, names, placed.prefix, self.problems)
            said = linked.facts["ends"]
            facts = {**linked.facts, "ends": Fact(Ends(start, end), said.source, said.origin)}
            full = type(linked)(linked.name, linked.span, facts)
            assert isinstance(full, Conductor)
            runs.append(Run(name, start, end, full, cable))
        return tuple(runs)

    # terminals and zones -----------------------------------------------------------------------------------------

    def _terminals(self) -> None:
        """Lay the facts of each terminal together: defaults for terminals of the kind, and what its part says of it."""
        scopes_of = {placed.thing.name: placed for placed in self.placer.placed}
        cache: dict[tuple[type[Part], str, int], dict[str, Fact[Any]]] = {}
        for name, part in self.parts.items():
            self.budget.check(part.span)
            placed = scopes_of[name]
            key = (type(part), placed.zone, id(placed.scopes))
            if key not in cache:
                cache[key] = self.placer.defaults.facts(Terminal, {}, (), placed.plain_zone(), placed.scopes, type(part))
            shared = cache[key]
            every = nameless(part.terminals or ())
            if every is not None:
                shared = {**shared, **every.facts}
            for terminal in part.terminals or ():
                if terminal is every:
                    continue
                known = part.ALIASES.get(terminal.name, terminal.name)
                self.terminals[f"{name}.{known}"] = Terminal(known, terminal.span, {**shared, **terminal.facts})
            if shared and is_one_node(part):
                self.terminals[f"{name}."] = Terminal(
                    "", part.span, shared
                )  # all studs of a bar; a node of its own has no terminal
            elif shared:
                for known in terminal_names(part) or ():
                    self.terminals.setdefault(f"{name}.{known}", Terminal(known, part.span, shared))

    def _zones(self, names: Names) -> None:
        for placed in self.placer.placed:
            self.budget.check(placed.span)
            name = placed.thing.name
            if placed.zone and placed.thing.NAMED and name not in self.zones:
                fact = placed.thing.facts.get("zone")
                place = fact.source if fact is not None else placed.span
                found = names.thing(placed.zone, placed.prefix, place, name, "Zones")
                if found is not None:
                    self.zones[name] = found
        for name, (conductor, placed, _) in self.conductors.items():
            if name in self.zones:
                continue
            fact = conductor.facts.get("zone")
            if fact is not None and isinstance(fact.value, str):
                prefix = self.prefixes.get(placed.thing.name, "")
                found = names.thing(fact.value, prefix, fact.source, name, "Zones")
                if found is not None:
                    self.zones[name] = found
            elif placed.zone and placed.thing.name in self.zones:
                self.zones[name] = self.zones[placed.thing.name]
