"""Which builds a change touches: those that changed, those that read a file that changed, and those whose settings or baseline did.

A build reads libraries and the build that it adapts, and these read others: names are followed through all of them. A name that leads by a link to a
changed file counts, and so does one whose file has gone. Files are looked for among those that git tracks, so that a draft beside a commit cannot stop
it; without git, among all that lie there.
"""

from __future__ import annotations

import os
import re
import unicodedata
from collections.abc import Collection, Iterable, Iterator
from pathlib import Path

from ohmwright_grammar.files import MOST_BYTES, FolderFiles, Source, joined_path
from ohmwright_grammar.kinds.rig import Rig
from ohmwright_grammar.records import draft, record
from ohmwright_grammar.resolve import Loader
from ohmwright_grammar.resolve.loading import LoadedFile, said

from ohmwright.paths import SETTINGS, SHARED, SUFFIX, Gathered, Roots

__all__ = ["Touched", "build_files", "touched"]

_QUOTED = re.compile(r'"([^"\r\n]+)"')
_MOST_NAMES = 5000  # quoted texts of one file that are looked at
_GIT_SECONDS = 30


@record
class Touched:
    """The builds to inspect by root; `wrong` is what cannot be used of the names given, `gone` the names without a file."""

    gathered: tuple[Gathered, ...]
    wrong: tuple[str, ...]
    gone: tuple[str, ...]


def touched(names: Iterable[str], nearest: bool = True, terms: Collection[str] = ()) -> Touched:
    """Return the builds that a change of the named files touches, and the changed libraries themselves.

    With `nearest` off the files of settings in the tree do not count, so that a change of one touches nothing. `terms` are the files of settings and
    baseline in place of those: a change of one touches every build of the root of the current folder.
    """
    search = _Search(Roots(nearest), nearest)
    wrong: list[str] = []
    gone: list[str] = []
    for name in dict.fromkeys(names):
        try:
            if not search.add(name):
                gone.append(name)
        except (OSError, ValueError) as error:
            wrong.append(f"the path {name!r} cannot be used: {getattr(error, 'strerror', None) or error}")
    if any(_key(os.path.abspath(term)) in search.changed for term in terms):
        search.every(Path.cwd())
    search.follow()
    found = (
        Gathered(root, tuple(sorted(paths)), mark)
        for (root, mark), paths in sorted(search.found.items(), key=lambda item: item[0])
        if paths
    )
    return Touched(tuple(found), tuple(wrong), tuple(gone))


def _key(path: str) -> str:
    """Return a path as names are held against it: a system that tells no letters or accents apart finds the same file by either."""
    return unicodedata.normalize("NFC", path).casefold()


class _Search:
    """Gathers what changed, then follows who reads it."""

    def __init__(self, roots: Roots, nearest: bool) -> None:
        self.roots = roots
        self.nearest = nearest
        self.changed: set[str] = set()  # keys of changed files, by their own path and by that behind links
        self.found: dict[tuple[Path, str], set[str]] = {}
        self._shelves: dict[tuple[Path, str], _Shelf] = {}
        self._baselines: dict[tuple[Path, str], str] = {}

    def add(self, name: str) -> bool:
        """Take in a changed file; tell whether it is there."""
        if "\0" in name:
            raise ValueError("it holds a byte of value zero")
        place = Path(os.path.abspath(name))
        there = os.path.lexists(place)
        root = self._root(place.parent)
        self.changed.update((_key(str(place)), _key(os.path.realpath(place))))
        for above in self._upwards(place.parent):
            self.found.setdefault(above, set())  # a build there may read what lies further down
        if place.is_dir():  # as git names a repository within another
            self._below(place)
        elif there and place.name.endswith(SUFFIX):
            self._take(root, place.relative_to(root[0]).as_posix())
        elif self.nearest and place.name in (SETTINGS, SHARED):
            self._settings(place, there)
        elif self.nearest and not place.name.endswith(SUFFIX):
            self._baseline(place)
        return there

    def every(self, folder: Path) -> None:
        """Take every build of the root of a folder."""
        root = self._root(folder)
        self.found.setdefault(root, set()).update(self._shelf(root).builds())

    def follow(self) -> None:
        """Take the builds that read what changed, in each root that something changed in."""
        for root in list(self.found):
            shelf = self._shelf(root)
            for path in shelf.readers(self.changed):
                self._take(root, path)

    def _take(self, root: tuple[Path, str], path: str) -> None:
        self.found.setdefault(root, set()).add(path)

    def _root(self, folder: Path) -> tuple[Path, str]:
        return self.roots.of(folder) or (folder, "")

    def _shelf(self, root: tuple[Path, str]) -> _Shelf:
        if root not in self._shelves:
            paths = [path for path in build_files(root[0]) if self._root((root[0] / path).parent)[0] == root[0]]
            self._shelves[root] = _Shelf(root[0], paths)
        return self._shelves[root]

    # what does not stand in a build -----------------------------------------------------------------------------------

    def _below(self, folder: Path) -> None:
        for place, folders, files in os.walk(folder, followlinks=False):
            folders[:] = [name for name in folders if not name.startswith(".")]
            root = self._root(Path(place))
            for name in files:
                if name.endswith(SUFFIX):
                    self._take(root, (Path(place) / name).relative_to(root[0]).as_posix())

    def _settings(self, place: Path, there: bool) -> None:
        """Take the builds that a file of settings holds for, or held for before it went; a pyproject.toml holds where it has a table of ours."""
        root = self._root(place.parent)
        if there and (root[0] != place.parent or root[1] != place.name):
            return
        below = place.parent.relative_to(root[0]).as_posix() if place.parent != root[0] else ""
        for path in self._shelf(root).builds():
            if not below or path.startswith(f"{below}/"):
                self._take(root, path)

    def _baseline(self, place: Path) -> None:
        """Take the builds of every root, from the nearest upwards, whose settings name this file as their baseline."""
        for root in self._upwards(place.parent):
            if root[1] and root not in self._baselines:
                from ohmwright.settings.finding import found_settings

                named = found_settings(*root)[0].baseline
                self._baselines[root] = _key(os.path.abspath(root[0] / named)) if named else ""
            if self._baselines.get(root) == _key(str(place)):
                self.found[root].update(self._shelf(root).builds())

    def _upwards(self, folder: Path) -> Iterator[tuple[Path, str]]:
        """Yield the root of a folder, and those that it lies in, up to that of the repository."""
        root = self._root(folder)
        yield root
        while not os.path.lexists(root[0] / ".git"):
            above = self.roots.of(root[0].parent)
            if above is None or above == root:
                return
            yield above
            root = above


# the files of one root -----------------------------------------------------------------------------------------------


@draft
class _Text:
    """What one file names: the keys of the files that its quoted texts could be."""

    path: str
    could_read: frozenset[str]


class _Shelf:
    """The build files and libraries of one root."""

    def __init__(self, root: Path, paths: list[str]) -> None:
        self.root = root
        self.paths = paths
        self._loader = Loader(FolderFiles(root))

    def builds(self) -> list[str]:
        """Return all that are no libraries, or may be none."""
        return [path for path in self.paths if not self._is_library(path)]

    def readers(self, changed: Collection[str]) -> list[str]:
        """Return the builds that read a changed file, themselves or through others."""
        texts = [text for text in (self._text(path) for path in self.paths) if text.could_read]
        reached = set(changed)
        found: dict[str, None] = {}
        while True:
            new = [text for text in texts if text.path not in found and self._reads(text, reached)]
            if not new:
                return [path for path in found if not self._is_library(path)]
            for text in new:
                found[text.path] = None
                reached.update(_keys(self.root, text.path))

    def _text(self, path: str) -> _Text:
        try:
            place = self.root / path
            if not place.is_file() or place.stat().st_size > MOST_BYTES:
                return _Text(path, frozenset())
            with open(place, encoding="utf-8-sig", errors="replace") as stream:
                text = stream.read(MOST_BYTES)
        except (OSError, ValueError):
            return _Text(path, frozenset())
        names = [found[1] for found, _ in zip(_QUOTED.finditer(text), range(_MOST_NAMES), strict=False)]
        return _Text(path, frozenset(key for name in names for key in self._keys_of(path, name)))

    def _keys_of(self, asker: str, written: str) -> Iterator[str]:
        joined = joined_path(asker, written)
        if joined and "\0" not in joined:
            yield from _keys(self.root, joined)

    def _reads(self, text: _Text, reached: Collection[str]) -> bool:
        """Tell whether a file reads one of those reached: a quoted text may also be a title, or stand in a comment."""
        if text.could_read.isdisjoint(reached):
            return False
        loaded = self._loader.file(text.path)
        if isinstance(loaded, Source) or loaded.problems:
            return True  # what cannot be read in full may well read it
        return any(key in reached for name in _read_by(loaded) for key in self._keys_of(text.path, name))

    def _is_library(self, path: str) -> bool:
        loaded = self._loader.file(path)
        if isinstance(loaded, Source) or loaded.problems:
            return False
        body = loaded.body
        return said(body, Rig.title) is None and said(body, Rig.adapts) is None and not body.has_rig


def _keys(root: Path, path: str) -> Iterator[str]:
    place = os.path.join(root, path)
    yield _key(os.path.abspath(place))
    if os.path.lexists(place):
        yield _key(os.path.realpath(place))


def _read_by(loaded: LoadedFile) -> Iterator[str]:
    """Yield the names of the files that a file reads, as it writes them."""
    libraries = said(loaded.body, Rig.parts_from)
    if libraries is not None and libraries.value is not None:
        yield from libraries.value
    base = said(loaded.body, Rig.adapts)
    if base is not None and base.value is not None:
        yield base.value.path


def build_files(root: Path) -> list[str]:
    """Return the build files and libraries below a root, in name order: those that git tracks, else all; hidden folders are left out."""
    tracked = _tracked(root)
    if tracked is not None:
        return sorted(path for path in tracked if path.endswith(SUFFIX) and not _is_hidden(path) and (root / path).is_file())
    found: list[str] = []
    for place, folders, files in os.walk(root, followlinks=False):
        folders[:] = [name for name in folders if not name.startswith(".")]
        found.extend((Path(place) / name).relative_to(root).as_posix() for name in files if name.endswith(SUFFIX))
    return sorted(found)


def _is_hidden(path: str) -> bool:
    return any(piece.startswith(".") for piece in path.split("/")[:-1])


def _tracked(root: Path) -> list[str] | None:
    """Return the files that git tracks below a folder, None where git cannot tell."""
    if not any(os.path.lexists(folder / ".git") for folder in (root, *root.parents)):
        return None
    import subprocess  # read only where a change is looked at

    try:
        done = subprocess.run(
            ["git", "ls-files", "-z", "--cached"],
            cwd=root, capture_output=True, check=False, timeout=_GIT_SECONDS, stdin=subprocess.DEVNULL,
        )  # fmt: skip
    except (OSError, subprocess.SubprocessError):
        return None
    if done.returncode:
        return None
    return [os.fsdecode(name) for name in done.stdout.split(b"\0") if name]
