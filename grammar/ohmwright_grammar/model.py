"""The typed model of a build: everything placed, every name looked up, every fact with its place."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import field
from typing import TypeVar

from ohmwright_grammar.kinds.conductor import Conductor
from ohmwright_grammar.kinds.connector import Half
from ohmwright_grammar.kinds.part import Part, Terminal
from ohmwright_grammar.kinds.rig import Rig
from ohmwright_grammar.kinds.state import State
from ohmwright_grammar.kinds.waiver import Waiver
from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Span
from ohmwright_grammar.things import Thing

__all__ = ["AdaptedFrom", "Build", "FileRead", "JointAt", "Mating", "PlacedRow", "Run"]

T = TypeVar("T", bound=Thing)


@record
class Mating:
    """Two connector halves that go together, and which pins meet (terminals of the first and of the second half)."""

    name: str
    first: str
    second: str
    pins: tuple[tuple[str, str], ...]
    span: Span = field(compare=False)
    row: str = ""  # the row whose link it belongs to
    link: int = 0  # which link of the row, counted from its start


@record
class Run:
    """A conductor between two nodes."""

    name: str
    start: str
    end: str
    conductor: Conductor
    cable: str = ""


@record
class JointAt:
    """Two nodes that sit on each other without a wire."""

    first: str
    second: str
    span: Span = field(compare=False)


@record
class PlacedRow:
    """A row as placed: the instances in order, and for each link the matings that join it to what is before it."""

    name: str
    instances: tuple[str, ...]
    links: tuple[tuple[str, ...], ...]
    least: int
    most: int
    thing: Thing


@record
class FileRead:
    """One file that the build was read from, with its text."""

    path: str
    text: str = field(repr=False)

    @property
    def sha256(self) -> str:
        """The SHA-256 of its text, in hexadecimal digits."""
        import hashlib  # few ask

        return hashlib.sha256(self.text.encode("utf-8", "surrogatepass")).hexdigest()


@record
class AdaptedFrom:
    """The published build that this one changes, as declared and as found; `files` are those that its hash covers."""

    path: str
    revision_said: str
    hash_said: str
    revision_found: str
    hash_found: str
    waivers: tuple[Waiver, ...]
    span: Span = field(compare=False)
    files: tuple[str, ...] = ()


@record
class Build:
    """A build (or a library, then without circuit) as a typed model.

    `parts` holds every part by its path name, `Half` among them; `runs` every conductor that joins two nodes; `nodes` maps each terminal
    "part.terminal" (or a bus or case by its own name) to the part it belongs to; what is said of all terminals of a bus or case stands in
    `terminals` under its name and a dot. `partial` tells that some text could not be read.
    Everything stands in name order, so that the order of statements never matters; a state's place tells where it was declared.
    """

    path: str
    is_library: bool
    rig: Rig
    parts: Mapping[str, Part]
    runs: tuple[Run, ...]
    joints: tuple[JointAt, ...]
    matings: tuple[Mating, ...]
    rows: tuple[PlacedRow, ...]
    states: tuple[State, ...]
    waivers: tuple[Waiver, ...]
    things: tuple[Thing, ...]  # everything else: site, zones, cables, labels, requirements, …
    nodes: Mapping[str, str]
    zones: Mapping[str, str]  # thing -> zone
    terminals: Mapping[str, Terminal]
    files: tuple[FileRead, ...] = field(compare=False, default=())
    adapted: AdaptedFrom | None = None
    partial: bool = False

    def of(self, kind: type[T]) -> Iterator[T]:
        """Yield every thing of a kind, parts and other things alike, each sort in name order."""
        for part in self.parts.values():
            if isinstance(part, kind):
                yield part
        for thing in self.things:
            if isinstance(thing, kind):
                yield thing

    def one(self, kind: type[T]) -> T | None:
        """Return the only thing of a kind (the site), or None."""
        return next(self.of(kind), None)

    def halves(self) -> Iterator[Half]:
        """Yield every connector half."""
        return self.of(Half)
