"""Reading the files of a build: never outside of the root folder, never more than the limit, never code.

A path written in a file is relative to that file's folder; a path in a result is relative to the root, with `/`.
"""

from __future__ import annotations

import os
import stat
from pathlib import Path
from typing import Protocol

from ohmwright_grammar.diagnostics import Diagnostic
from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Span

__all__ = ["MOST_BYTES", "FolderFiles", "MemoryFiles", "Source", "Sources", "decode", "joined_path"]

MOST_BYTES = 2_000_000


@record
class Source:
    """The text of one file, or what is wrong with it; `path` is relative to the root."""

    path: str
    text: str
    problems: tuple[Diagnostic, ...] = ()


class Sources(Protocol):
    """Where the text of files comes from."""

    def read(self, path: str, asked_at: Span | None = None) -> Source:
        """Return the file `path` (relative to the root, with `/`); `asked_at` is the statement that names it."""
        ...


def joined_path(asker: str, written: str) -> str | None:
    """Return the path from the root of a file that `asker` names as `written`; None where it leaves the root."""
    parts = asker.split("/")[:-1]
    for piece in written.replace("\\", "/").split("/"):
        if piece in ("", "."):
            continue
        if piece == "..":
            if not parts:
                return None
            parts.pop()
        else:
            parts.append(piece)
    return "/".join(parts)


def decode(data: bytes, path: str) -> Source:
    """Turn bytes into text, with a located message where they are none."""
    whole = Span(path, 1, 1, 1, 2)
    if len(data) > MOST_BYTES:
        return Source(path, "", (_too_large(path, len(data)),))
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        problem = Diagnostic("file-not-read", "The file is written in UTF-16.", whole, "Save the file as UTF-8.", path)
        return Source(path, "", (problem,))
    if b"\0" in data[:8000]:
        problem = Diagnostic(
            "file-not-read", "This is no text: it holds bytes of value zero.", whole, "Give a text file in UTF-8.", path
        )
        return Source(path, "", (problem,))
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = data[: error.start]
        line = before.count(b"\n") + 1
        column = len(before[before.rfind(b"\n") + 1 :].decode("utf-8", "replace")) + 1
        problem = Diagnostic(
            "file-not-read",
            f"The bytes here are no UTF-8 (byte {error.start + 1} of the file).",
            Span(path, line, column, line, column + 1),
            "Save the file as UTF-8.",
            path,
        )
        return Source(path, "", (problem,))
    return Source(path, text.replace("\r\n", "\n").replace("\r", "\n"))


def _too_large(path: str, size: int) -> Diagnostic:
    return Diagnostic(
        "over-limit",
        f"The file has {size / 1e6:.1f} MB; at most {MOST_BYTES / 1e6:.0f} MB are read.",
        Span(path, 1, 1, 1, 2),
        "Split it: put parts into a library and read it with a 'parts from' statement.",
        path,
    )


@record
class FolderFiles:
    """Files below a root folder."""

    root: Path

    def read(self, path: str, asked_at: Span | None = None) -> Source:
        """Read one file below the root; links that lead out of the root, devices and folders are refused."""
        place = asked_at or Span(path, 1, 1, 1, 2)

        def refuse(message: str, remedy: str = "") -> Source:
            return Source(path, "", (Diagnostic("file-not-read", message, place, remedy, path),))

        full = self.root / path
        try:
            real = full.resolve()
            root = self.root.resolve()
            if real != root and root not in real.parents:
                return refuse(f"{path!r} leads out of the folder of the build.", "Keep a copy inside the folder.")
            facts = os.stat(real)
            if stat.S_ISDIR(facts.st_mode):
                return refuse(f"{path!r} is a folder.", "Name a file.")
            if not stat.S_ISREG(facts.st_mode):
                return refuse(f"{path!r} is no plain file.", "Name a text file.")
            if facts.st_size > MOST_BYTES:
                return Source(path, "", (_too_large(path, facts.st_size),))
            with open(real, "rb") as stream:
                data = stream.read(MOST_BYTES + 1)
        except (FileNotFoundError, NotADirectoryError):
            return refuse(f"There is no file {path!r}.", self._near(path))
        except PermissionError:
            return refuse(f"The file {path!r} may not be read.", "Change its permissions.")
        except (OSError, ValueError, RuntimeError) as error:
            reason = getattr(error, "strerror", None) or "the name cannot be used"
            return refuse(f"The file {path!r} cannot be read: {reason}.")
        return decode(data, path)

    def _near(self, path: str) -> str:
        from ohmwright_grammar.diagnostics import names_near

        folder = (self.root / path).parent
        try:
            names = [entry.name for entry in os.scandir(folder)][:1000]
        except OSError:
            return "Its folder does not exist either."
        return names_near(path.rsplit("/", 1)[-1], names, "Files") or "A path begins at the folder of the file that names it."


@record
class MemoryFiles:
    """Files held in memory, for callers without a file system and for tests."""

    texts: dict[str, str]

    def read(self, path: str, asked_at: Span | None = None) -> Source:
        """Return one of the texts."""
        if path not in self.texts:
            place = asked_at or Span(path, 1, 1, 1, 2)
            return Source(path, "", (Diagnostic("file-not-read", f"There is no file {path!r}.", place, "", path),))
        return decode(self.texts[path].encode("utf-8", "surrogatepass"), path)
