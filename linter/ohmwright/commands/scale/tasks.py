"""Inspecting one file after the other: what every process of a run does, and the run itself where it is the only one."""

from __future__ import annotations

import hashlib
from pathlib import Path

from ohmwright_grammar.files import FolderFiles, Source
from ohmwright_grammar.records import replace
from ohmwright_grammar.resolve import Loader
from ohmwright_grammar.resolve.loading import LoadedFile
from ohmwright_grammar.spans import Span

from ohmwright.commands.common import Limits
from ohmwright.commands.scale.keeping import packed
from ohmwright.commands.scale.pieces import Piece, piece_of
from ohmwright.inspecting import InspectOptions, Run
from ohmwright.results import BuildResult, RunError
from ohmwright.rules import installed_packs

__all__ = ["Done", "Inspector", "Task", "content", "lost"]

_MOST_KNOWN = 256  # files that stay read for the builds that share them

Task = tuple[int, str]  # the group of a build, and its path from the root of that


def content(text: str) -> str:
    """Return what is equal for two texts only if they are."""
    return hashlib.blake2b(text.encode("utf-8", "surrogatepass"), digest_size=20).hexdigest()


class Done:
    """A file that was inspected: its piece, where it was inspected in this process, and the same packed; whether there is nothing beside the build in it.

    `read` are the files that were read for it with what they held, None where a later run cannot rest on this one: something was missing, wrong or cut
    short. `days` are those that some of them may name.
    """

    def __init__(
        self, found: Piece | bytes, is_plain: bool, read: tuple[tuple[str, str], ...] | None = None, days: tuple[str, ...] = ()
    ) -> None:
        self.piece = None if isinstance(found, bytes) else found
        self._data = found if isinstance(found, bytes) else b""
        self.is_plain = is_plain
        self.read = read
        self.days = days

    @property
    def data(self) -> bytes:
        """The packed piece; CodingError where something in it cannot be written."""
        if self.piece is not None and not self._data:
            self._data = packed(self.piece)
        return self._data


class _Watched(Loader):
    """Notes which files were asked for."""

    def __init__(self, root: Path) -> None:
        super().__init__(FolderFiles(root))
        self.asked: dict[str, LoadedFile | Source] = {}
        self._contents: dict[str, tuple[str, tuple[str, ...]]] = {}

    def file(self, path: str, asked_at: Span | None = None) -> LoadedFile | Source:
        found = super().file(path, asked_at)
        self.asked[path] = found
        return found

    def forget(self, path: str) -> None:
        super().forget(path)
        self._contents.pop(path, None)
        if len(self._files) > _MOST_KNOWN:
            self._files.clear()
            self._contents.clear()

    def read(self) -> tuple[tuple[tuple[str, str], ...], tuple[str, ...]] | None:
        """Return the files that were asked for with what they held, and the days that they may name; None where one could not be read."""
        found: list[tuple[str, str]] = []
        days: set[str] = set()
        for path, loaded in self.asked.items():
            if isinstance(loaded, Source):
                return None
            known = self._contents.get(path)
            if known is None:
                known = self._contents[path] = content(loaded.text), _days(loaded.text)
            found.append((path, known[0]))
            days.update(known[1])
        return tuple(found), tuple(sorted(days))


def _days(text: str) -> tuple[str, ...]:
    """Return every day that a text names; a waiver ends with one."""
    if "until" not in text:
        return ()
    import re

    return tuple(re.findall(r"\d{4}-\d\d-\d\d", text))


class Inspector:
    """Inspects files of several roots, each on the terms of its own."""

    def __init__(self, groups: list[tuple[str, InspectOptions]], limits: Limits) -> None:
        self.groups = groups
        self.limits = limits
        self._runs: dict[int, Run] = {}

    def inspect(self, task: Task) -> Done:
        """Inspect one file; PackError as it comes."""
        number, path = task
        run = self._runs.get(number)
        if run is None:
            root, options = self.groups[number]
            run = Run(_Watched(Path(root)), replace(options, budget=self.limits), installed_packs())
            self._runs = {number: run}  # of one root at a time: files come in their order
        loader = run.loader
        assert isinstance(loader, _Watched)
        loader.asked.clear()
        piece = piece_of(run, path)
        read = loader.read() if _can_be_kept(piece) else None
        loader.asked.clear()
        loader.forget(path)
        run.let_go()
        return Done(piece, piece.is_plain, *(read or (None, ())))


def _can_be_kept(piece: Piece) -> bool:
    """Tell whether a later run finds the same: a budget that ran out, a file that was not there or a rule that failed may be otherwise next time."""
    return piece.is_plain and not piece.build.partial


def lost(path: str, why: str) -> Done:
    """Return what stands for a file whose process ended over it."""
    build = BuildResult(path, False, "", "", "", True)
    piece = Piece(build, (RunError(f"the process that inspected it ended before it was done ({why})", build=path),))
    return Done(piece, False)
