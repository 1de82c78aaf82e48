"""Where the files of one side of a comparison come from: a folder, or a commit that is read without a checkout.

Both answer the same questions. Paths are from the top of the side, with "/". Links are followed where they stay inside, as files in a folder are.
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Protocol

from ohmwright_grammar.diagnostics import Diagnostic, names_near
from ohmwright_grammar.files import MOST_BYTES, FolderFiles, Source, Sources, decode
from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Span

from ohmwright.commands.git_objects import LINK, Node, Repository
from ohmwright.comparing.model import SideTold

__all__ = ["CommitTree", "FolderTree", "Tree"]

_HIDDEN = frozenset({".github", ".gitlab"})  # folders that hold what runs the review
_MOST_LINKS = 40
_MOST_READ = 50_000_000  # bytes of a file that is no build


class Tree(Protocol):
    """One side of a comparison."""

    @property
    def told(self) -> SideTold:
        """What the side is called."""
        ...

    def paths(self, below: str = "") -> Iterator[str]:
        """Yield every file below a folder, in name order; hidden folders are left out but those of services that run reviews."""
        ...

    def has(self, path: str) -> bool:
        """Tell whether there is such a file."""
        ...

    def read(self, path: str) -> bytes | None:
        """Return the bytes of a file, None where there is none that can be read."""
        ...

    def mark(self, path: str) -> str:
        """Return what is equal for two files only if their bytes are: the name of the object that git has, or would make; "" of no file."""
        ...

    def sources(self, root: str) -> Sources:
        """Return the files below a folder, which reading does not leave."""
        ...


def _is_shown(path: str) -> bool:
    return all(not piece.startswith(".") or piece in _HIDDEN for piece in path.split("/")[:-1])


@record
class FolderTree:
    """The files below a folder."""

    top: Path
    told: SideTold

    def paths(self, below: str = "") -> Iterator[str]:
        """Yield every file below a folder, in name order."""
        for place, folders, files in os.walk(self.top / below, followlinks=False):
            folders[:] = sorted(name for name in folders if not name.startswith(".") or name in _HIDDEN)
            here = Path(place).relative_to(self.top).as_posix()
            yield from (name if here == "." else f"{here}/{name}" for name in sorted(files))

    def has(self, path: str) -> bool:
        """Tell whether there is such a file."""
        return os.path.lexists(self.top / path) and not os.path.isdir(self.top / path)

    def read(self, path: str) -> bytes | None:
        """Return the bytes of a file; a link that leads out of the folder is not followed."""
        try:
            real, top = os.path.realpath(self.top / path), os.path.realpath(self.top)
            if not real.startswith(os.path.join(top, "")) or not os.path.isfile(real) or os.path.getsize(real) > _MOST_READ:
                return None
            with open(real, "rb") as stream:
                return stream.read()
        except (OSError, ValueError):
            return None

    def mark(self, path: str) -> str:
        """Return the name of the object that git would make of a file."""
        import hashlib

        data = self.read(path)
        if data is None:
            return ""
        return hashlib.sha1(b"blob %d\0" % len(data) + data, usedforsecurity=False).hexdigest()

    def sources(self, root: str) -> Sources:
        """Return the files below a folder."""
        return FolderFiles(self.top / root)


class CommitTree:
    """The files of one commit."""

    def __init__(self, repository: Repository, commit: str, told: SideTold) -> None:
        self.repository = repository
        self.told = told
        repository.start()  # before the memory of this process is limited, which it would inherit
        self.nodes: Mapping[str, Node] = repository.tree(commit)
        self.folders = {
            path[:at] for path in self.nodes for at in range(len(path)) if path[at] == "/"
        }  # git keeps none that is empty

    def paths(self, below: str = "") -> Iterator[str]:
        """Yield every file below a folder, in name order."""
        before = f"{below}/" if below else ""
        return (path for path in sorted(self.nodes) if path.startswith(before) and _is_shown(path))

    def has(self, path: str) -> bool:
        """Tell whether there is such a file."""
        return path in self.nodes

    def read(self, path: str) -> bytes | None:
        """Return the bytes of a file."""
        found = self.followed(path, "")
        node = self.nodes.get(found) if found is not None else None
        return self.repository.blob(node.object) if node is not None and 0 <= node.size <= _MOST_READ else None

    def mark(self, path: str) -> str:
        """Return the object of a file, of a link that of the file that it leads to."""
        found = self.followed(path, "")
        node = self.nodes.get(found) if found is not None else None
        return node.object if node is not None else ""

    def sources(self, root: str) -> Sources:
        """Return the files below a folder."""
        return _CommitFiles(self, root)

    def followed(self, path: str, root: str) -> str | None:
        """Return the path that a path leads to once its links are followed, None where it leads out of a folder, or nowhere."""
        pieces = path.split("/")
        done: list[str] = []
        links = 0
        while pieces:
            piece = pieces.pop(0)
            if piece in ("", "."):
                continue
            if piece == "..":
                if not done:
                    return None
                done.pop()
                continue
            done.append(piece)
            node = self.nodes.get("/".join(done))
            if node is None or node.mode != LINK:
                continue
            links += 1
            target = self.repository.blob(node.object).decode("utf-8", "surrogateescape") if node.size <= 4096 else "/"
            if links > _MOST_LINKS or target.startswith("/"):
                return None
            done.pop()
            pieces = [*target.split("/"), *pieces]
        found = "/".join(done)
        inside = not root or found == root or found.startswith(f"{root}/")
        return found if inside else None


@record
class _CommitFiles:
    """Files of a commit below a folder, with the words of those below a folder on a disk."""

    tree: CommitTree
    root: str

    def read(self, path: str, asked_at: Span | None = None) -> Source:
        """Read one file below the root; links that lead out of it and folders are refused."""
        place = asked_at or Span(path, 1, 1, 1, 2)

        def refuse(message: str, remedy: str = "", rule: str = "file-not-read") -> Source:
            return Source(path, "", (Diagnostic(rule, message, place, remedy, path),))

        whole = f"{self.root}/{path}" if self.root else path
        found = self.tree.followed(whole, self.root)
        if found is None:
            return refuse(f"{path!r} leads out of the folder of the build.", "Keep a copy inside the folder.")
        if found in self.tree.folders:
            return refuse(f"{path!r} is a folder.", "Name a file.")
        node = self.tree.nodes.get(found)
        if node is None:
            folder = whole.rpartition("/")[0]
            names = [name.rpartition("/")[2] for name in self.tree.nodes if name.rpartition("/")[0] == folder][:1000]
            near = names_near(path.rsplit("/", 1)[-1], names, "Files") if names else "Its folder does not exist either."
            return refuse(f"There is no file {path!r}.", near)
        if node.size > MOST_BYTES:
            message = f"The file has {node.size / 1e6:.1f} MB; at most {MOST_BYTES / 1e6:.0f} MB are read."
            return refuse(
                message, "Split it: put parts into a library and read it with a 'parts from' statement.", "over-limit"
            )
        return decode(self.tree.repository.blob(node.object), path)
