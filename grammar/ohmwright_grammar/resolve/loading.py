"""Loading a file with everything it reads: libraries, and the published build that it adapts."""

from __future__ import annotations

from dataclasses import field
from typing import Any

from ohmwright_grammar.bodies import BodyReader
from ohmwright_grammar.budget import UNLIMITED
from ohmwright_grammar.diagnostics import Diagnostic
from ohmwright_grammar.entries import AssemblyText, Body, Default, Entry
from ohmwright_grammar.files import Source, Sources, joined_path
from ohmwright_grammar.kinds.rig import Adapts, Rig
from ohmwright_grammar.parsing import parse
from ohmwright_grammar.records import draft, record
from ohmwright_grammar.resolve.contradicting import contradictions
from ohmwright_grammar.spans import Span
from ohmwright_grammar.things import Datum, Fact

__all__ = ["MOST_FILES_DEEP", "MOST_PATH", "LoadedFile", "Loader", "Shelf", "content_hash", "said"]


MOST_FILES_DEEP = 30
MOST_PATH = 1000  # letters


@draft
class LoadedFile:
    """One file as read: its text, what it says, and what is wrong with it alone."""

    path: str
    text: str
    body: Body
    problems: list[Diagnostic] = field(default_factory=list)


@record
class Shelf:
    """Library parts and assemblies by name, each with the defaults of the file that it was written in."""

    entries: dict[str, tuple[Entry, tuple[Default, ...]]]
    assemblies: dict[str, tuple[AssemblyText, tuple[Default, ...]]]
    files: tuple[LoadedFile, ...]
    problems: tuple[Diagnostic, ...]


def said(body: Body, datum: Datum[Any]) -> Fact[Any] | None:
    """Return what a body's own statements say for a datum of the rig."""
    return body.rig.facts.get(datum.name)


def content_hash(files: tuple[LoadedFile, ...]) -> str:
    """Return the SHA-256 over a build and every file it reads, in reading order, with LF line ends."""
    import hashlib  # only an adaptation has a hash

    digest = hashlib.sha256()
    for loaded in files:
        digest.update(loaded.text.encode("utf-8", "surrogatepass"))
    return digest.hexdigest()


class Loader:
    """Reads files once, however many builds share them."""

    def __init__(self, sources: Sources) -> None:
        self.sources = sources
        self.budget = UNLIMITED
        self._files: dict[str, LoadedFile | Source] = {}

    def text(self, path: str) -> str:
        """Return the text of a file that was read, "" of one that was not."""
        known = self._files.get(path)
        return known.text if known is not None else ""

    def forget(self, path: str) -> None:
        """Let go of a file: the next that asks has it read anew."""
        self._files.pop(path, None)

    def file(self, path: str, asked_at: Span | None = None) -> LoadedFile | Source:
        """Return a file as read; a `Source` with problems where it could not be."""
        known = self._files.get(path)
        if known is None:
            source = self.sources.read(path, asked_at)
            if source.problems:
                return source
            problems: list[Diagnostic] = []
            parsed = parse(source.text, path, self.budget)
            problems.extend(parsed.diagnostics)
            body = BodyReader(path, problems, budget=self.budget).read(parsed.statements)
            problems.extend(contradictions(body))
            if not parsed.statements and not problems:
                message = "The file says nothing: there is no statement in it."
                problems.append(
                    Diagnostic(
                        "no-statement", message, Span(path, 1, 1, 1, 2), 'A build begins with: rig "…", revision 1', path
                    )
                )
            known = self._files[path] = LoadedFile(path, source.text, body, problems)
        return known

    def named(self, asker: str, written: str, place: Span, problems: list[Diagnostic], what: str) -> LoadedFile | None:
        """Return the file that a statement names; a message where it cannot be had."""
        if len(written) > MOST_PATH:
            message = f"A path of {len(written):,} letters is none: at most {MOST_PATH:,} are read."
            problems.append(
                Diagnostic("file-not-read", message, place, "Write the path from this file's folder.", written[:MOST_PATH])
            )
            return None
        if written.startswith(("/", "\\")) or (len(written) > 1 and written[1] == ":"):
            problems.append(
                Diagnostic(
                    "file-not-read",
                    f"{written!r} is an absolute path.",
                    place,
                    "Write the path from this file's folder.",
                    written,
                )
            )
            return None
        path = joined_path(asker, written)
        if not path:
            problems.append(
                Diagnostic(
                    "file-not-read",
                    f"{written!r} leads out of the folder of the build.",
                    place,
                    f"Keep a copy of the {what} inside the folder, or put an ohmwright.toml into the folder that holds both.",
                    written,
                )
            )
            return None
        loaded = self.file(path, place)
        if isinstance(loaded, Source):
            problems.extend(loaded.problems)
            return None
        return loaded

    def shelf(self, start: LoadedFile) -> Shelf:
        """Return everything that the libraries of a file (and theirs) hold."""
        shelf = Shelf({}, {}, (), ())
        problems: list[Diagnostic] = []
        files: list[LoadedFile] = []
        self._stock(start, shelf, files, problems, (start.path,))
        return Shelf(shelf.entries, shelf.assemblies, tuple(files), tuple(problems))

    def _stock(
        self, asker: LoadedFile, shelf: Shelf, files: list[LoadedFile], problems: list[Diagnostic], way: tuple[str, ...]
    ) -> None:
        fact = said(asker.body, Rig.parts_from)
        if fact is None or fact.value is None:
            return
        for written in fact.value:
            loaded = self.named(asker.path, written, fact.source, problems, "library")
            if loaded is None:
                continue
            if loaded.path in way:
                circle = " reads ".join(repr(path) for path in (*way[way.index(loaded.path) :], loaded.path))
                problems.append(
                    Diagnostic(
                        "circle-of-files",
                        f"Files read each other in a circle: {circle}.",
                        fact.source,
                        "Take one of these statements out.",
                    )
                )
                continue
            if any(known.path == loaded.path for known in files):
                continue
            if len(way) > MOST_FILES_DEEP:
                problems.append(
                    Diagnostic(
                        "over-limit",
                        f"Libraries read each other more than {MOST_FILES_DEEP} deep.",
                        fact.source,
                        "Name the libraries that are needed in the build itself.",
                    )
                )
                continue
            files.append(loaded)
            if said(loaded.body, Rig.title) is not None:
                problems.append(
                    Diagnostic(
                        "file-not-read",
                        f"{loaded.path!r} is a build (it has a rig statement), not a library of parts.",
                        fact.source,
                        "Move the parts that both need into a library.",
                    )  # fmt: skip
                )
                continue
            self._stock(loaded, shelf, files, problems, (*way, loaded.path))
            self._add(loaded, shelf, problems, fact.source)

    @staticmethod
    def _add(loaded: LoadedFile, shelf: Shelf, problems: list[Diagnostic], place: Span) -> None:
        defaults = tuple(loaded.body.defaults)
        for entry in loaded.body.entries:
            if not entry.kind.NAMED:
                continue
            if entry.name in shelf.entries:
                other = shelf.entries[entry.name][0].span
                problems.append(
                    Diagnostic(
                        "duplicate-name",
                        f"Two libraries have a part named {entry.name!r}: {other.path} and {loaded.path}.",
                        place,
                        "Rename one of them.",
                        entry.name,
                    )
                )
                continue
            shelf.entries[entry.name] = (entry, defaults)
        for name, assembly in loaded.body.assemblies.items():
            shelf.assemblies.setdefault(name, (assembly, defaults))

    def adapted(self, loaded: LoadedFile, problems: list[Diagnostic]) -> tuple[LoadedFile, Adapts, Span] | None:
        """Return the published build that a file adapts, if it says so and it can be read."""
        fact = said(loaded.body, Rig.adapts)
        if fact is None or fact.value is None:
            return None
        adapts: Adapts = fact.value
        base = self.named(loaded.path, adapts.path, fact.source, problems, "published build")
        if base is None:
            return None
        if base.path == loaded.path:
            problems.append(
                Diagnostic(
                    "circle-of-files", "A build cannot adapt itself.", fact.source, "Name the copy of the published build."
                )
            )
            return None
        return base, adapts, fact.source
