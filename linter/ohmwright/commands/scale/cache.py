"""What earlier runs found, by everything that it hangs on: the texts, the terms, the program with its rules and tables, and the days that waivers end.

Each entry is a file of its own, sealed with a key that only this user (or this folder) has: one that is damaged, cut short or made by somebody else counts
as none. It is written under another name and then takes its place, so that processes beside each other and a disk that fills up leave whole entries or
none. Nothing that goes wrong here ends a run.
"""

from __future__ import annotations

import hashlib
import json
import os
import stat
import struct
import sys
import time
from collections.abc import Iterable
from contextlib import suppress
from hmac import compare_digest
from pathlib import Path

from ohmwright_grammar.files import MOST_BYTES, FolderFiles, decode

from ohmwright import __version__
from ohmwright.baselines import Baseline
from ohmwright.commands.scale.cache_places import CachePlace
from ohmwright.commands.scale.coding import CodingError
from ohmwright.commands.scale.tasks import Done, content
from ohmwright.rules import Pack, installed_packs

__all__ = ["Cache", "code_digest"]

_FORM = b"ohmwright cache 1\n"
_SEAL = 32
_KEPT_DAYS = 30  # without being asked for
_DAY = 86_400.0
_CODE = (".py", ".toml", ".csv", ".txt", ".lark", ".json")


class Cache:
    """The entries for one run; `terms` says, by group, everything beside the texts that its results hang on."""

    def __init__(
        self, place: CachePlace, roots: Iterable[Path], terms: Iterable[str], today: str, baselines: Iterable[Baseline | None]
    ) -> None:
        self.folder, keys = place
        self.today = today
        self.problem = ""  # why nothing is kept any more
        self._roots = [(root, os.path.realpath(root)) for root in roots]
        code = code_digest(installed_packs())
        self._terms = [f"{code}\n{words}" for words in terms]
        self._any_day = all(pack.name == "ohmwright" for pack in installed_packs())  # other packs may look at the day
        self._held = [_held(baseline) for baseline in baselines]
        self._texts: dict[tuple[int, str], str] = {}
        self._inside: dict[str, bool] = {}
        self._written = 0
        self._key = b"" if not code else self._read_key(keys)

    # the key -----------------------------------------------------------------------------------------------------------

    def _read_key(self, folder: Path) -> bytes:
        """Return the key of a folder, made at its first use; b"" where there can be none."""
        place = folder / "key"
        try:
            for _ in range(2):
                try:
                    with open(place, "rb") as stream:
                        if hasattr(os, "geteuid") and os.fstat(stream.fileno()).st_uid != os.geteuid():
                            self.problem = "its key belongs to somebody else"
                            return b""
                        key = stream.read(64)
                    if len(key) == 32:
                        return key
                    os.unlink(place)  # damaged: what was sealed with it counts no more
                except FileNotFoundError:
                    pass
                folder.mkdir(mode=0o700, parents=True, exist_ok=True)
                self._put(place, os.urandom(32), new=True)
        except OSError as error:
            self.problem = error.strerror or str(error)
        return b""

    # looking and keeping -------------------------------------------------------------------------------------------------

    def look(self, group: int, path: str) -> bytes | None:
        """Return the packed piece of a file as an earlier run found it, None where there is none that holds."""
        if not self._key:
            return None
        mark = self._mark(group, path)
        if not mark:
            return None
        place = self._place(group, path, mark)
        try:
            with open(place, "rb") as stream:
                data = stream.read()
                if time.time() - os.fstat(stream.fileno()).st_mtime > _DAY:
                    os.utime(place)  # it is still asked for
        except OSError:
            return None
        start = len(_FORM) + _SEAL
        if not data.startswith(_FORM) or not compare_digest(self._seal(place.name, data[start:]), data[len(_FORM) : start]):
            return None
        (length,) = struct.unpack_from("<I", data, start)
        head = data[start + 4 : start + 4 + length]
        after, until, read = json.loads(head)
        if not (after < self.today <= until) or any(self._mark(group, name) != known for name, known in read):
            return None
        return data[start + 4 + length :]

    def keep(self, group: int, path: str, done: Done) -> None:
        """Keep what was found, where it can be kept."""
        if not self._key or self.problem or done.read is None:
            return
        mark = next((known for name, known in done.read if name == path), "")
        if not mark:
            return
        if self._any_day:  # a waiver holds up to its last day: between two of them nothing changes
            after = max((day for day in done.days if day < self.today), default="")
            until = min((day for day in done.days if day >= self.today), default="9999-99-99")
        else:
            after, until = self.today[:-1], self.today
        head = json.dumps([after, until, done.read]).encode()
        place = self._place(group, path, mark)
        try:
            payload = struct.pack("<I", len(head)) + head + done.data
        except CodingError:
            return  # a pack said something that cannot be written: reports may still show it
        try:
            place.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
            self._put(place, _FORM + self._seal(place.name, payload) + payload)
            self._written += 1
        except OSError as error:
            self.problem = error.strerror or str(error)

    def close(self) -> str:
        """Clear away what nobody asked for in a long time; return why something could not be kept, "" where all was."""
        if self._written:
            with suppress(OSError):  # another process clears as well
                self._clear()
        return f"the cache in {self.folder} cannot be used: {self.problem}" if self.problem else ""

    # pieces of it ------------------------------------------------------------------------------------------------------

    def _seal(self, name: str, payload: bytes) -> bytes:
        return hashlib.blake2b(name.encode() + b"\0" + payload, key=self._key, digest_size=_SEAL).digest()

    def _place(self, group: int, path: str, mark: str) -> Path:
        words = "\0".join((self._terms[group], path, mark, *self._held[group].get(path, ()))).encode("utf-8", "surrogatepass")
        name = hashlib.blake2b(words, digest_size=20).hexdigest()
        return self.folder / "found" / name[:2] / name[2:]

    def _put(self, place: Path, data: bytes, new: bool = False) -> None:
        """Put a file in its place in one step; a `new` one does not take the place of another."""
        beside = place.with_name(f".{place.name}.{os.getpid()}.tmp")
        try:
            descriptor = os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_TRUNC | getattr(os, "O_BINARY", 0), 0o600)
            with open(descriptor, "wb") as stream:
                stream.write(data)
            if new and os.path.exists(place):
                return
            os.replace(beside, place)
        finally:
            if os.path.lexists(beside):
                os.unlink(beside)

    def _mark(self, group: int, path: str) -> str:
        """Return what is equal for a text only if it has not changed, "" where it cannot be read."""
        known = self._texts.get((group, path))
        if known is None:
            text = self._text(group, path)
            known = self._texts[group, path] = "" if text is None else content(text)
        return known

    def _text(self, group: int, path: str) -> str | None:
        root, real = self._roots[group]
        place = os.path.join(real, path)
        try:
            facts = os.lstat(place)
            if stat.S_ISREG(facts.st_mode) and self._is_inside(os.path.dirname(place), real) and facts.st_size <= MOST_BYTES:
                with open(place, "rb") as stream:
                    source = decode(stream.read(MOST_BYTES + 1), path)
            else:
                source = FolderFiles(root).read(path)  # a link, or what is no file: read, or refused, as builds are
        except (OSError, ValueError):
            return None
        return None if source.problems else source.text

    def _is_inside(self, folder: str, root: str) -> bool:
        """Tell whether a folder is where its name says: no link leads elsewhere."""
        known = self._inside.get(folder)
        if known is None:
            known = self._inside[folder] = os.path.realpath(folder) == os.path.normpath(folder)
        return known

    def _clear(self) -> None:
        now = time.time()
        stamp = self.folder / "cleared"
        try:
            if now - os.stat(stamp).st_mtime < _DAY:
                return
        except FileNotFoundError:
            pass
        with open(stamp, "wb"):
            os.utime(stamp)
        for folder in os.scandir(self.folder / "found"):
            for entry in os.scandir(folder.path):
                age = now - entry.stat(follow_symlinks=False).st_mtime
                if age > (_DAY if entry.name.endswith(".tmp") else _KEPT_DAYS * _DAY):
                    os.unlink(entry.path)


def _held(baseline: Baseline | None) -> dict[str, list[str]]:
    """Return the entries of a baseline by the build that they are of."""
    found: dict[str, list[str]] = {}
    for entry in baseline.entries.values() if baseline is not None else ():
        found.setdefault(entry.path, []).append(repr(entry))
    return {path: sorted(entries) for path, entries in found.items()}


def code_digest(packs: Iterable[Pack]) -> str:
    """Return what is equal for two programs only if they find the same: versions, and every module, table and grammar; "" where they lie in no folders."""
    digest = hashlib.blake2b(f"{__version__}\n{sys.version_info[:3]}\n".encode(), digest_size=20)
    names = {"ohmwright", "ohmwright_grammar", "lark"}
    for pack in packs:
        digest.update(f"{pack.name}\n{pack.version}\n".encode())
        names.update(module.partition(".")[0] for module in pack.modules)
    for name in sorted(names):
        file = getattr(sys.modules.get(name), "__file__", None)
        if not file or not os.path.isfile(file):
            return ""
        if name == "lark":
            digest.update(str(getattr(sys.modules[name], "__version__", "")).encode())
            continue
        is_folder = os.path.basename(file).startswith("__init__.")
        for place in _files(os.path.dirname(file)) if is_folder else (file,):
            with open(place, "rb") as stream:
                data = stream.read()
            digest.update(f"{os.path.relpath(place, os.path.dirname(file))}\0{len(data)}\0".encode())
            digest.update(data)
    return digest.hexdigest()


def _files(folder: str) -> list[str]:
    found: list[str] = []
    for place, folders, files in os.walk(folder):
        folders[:] = sorted(name for name in folders if name != "__pycache__")
        found.extend(os.path.join(place, name) for name in sorted(files) if name.endswith(_CODE))
    return found
