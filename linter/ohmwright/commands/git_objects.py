"""Reading a repository through git's objects: commits, what a tree holds, and files, without a checkout.

Only `rev-parse`, `merge-base`, `ls-tree` and `cat-file --batch` are run, which call no hook, no filter and no text conversion; nothing is fetched, no
replacement of an object counts, and no shell is in between.
"""

from __future__ import annotations

import os
import subprocess
from pathlib import Path
from shutil import which
from typing import IO, NoReturn

from ohmwright_grammar.records import record

__all__ = ["LINK", "GitError", "Node", "Repository"]

LINK = "120000"  # the mode of a symbolic link
_MOST_SECONDS = 120
_SAFE = {
    "GIT_OPTIONAL_LOCKS": "0",
    "GIT_TERMINAL_PROMPT": "0",
    "GIT_NO_LAZY_FETCH": "1",
    "GIT_ALLOW_PROTOCOL": "none",  # older versions of git do not know the line above
    "GIT_NO_REPLACE_OBJECTS": "1",
    "GIT_LITERAL_PATHSPECS": "1",
    "GIT_PAGER": "cat",
    "LC_ALL": "C",
}


class GitError(Exception):
    """Why git cannot be asked, in words for the person at the command line."""


@record
class Node:
    """One file of a tree: its mode, the name of its object, and its size in bytes (-1 of what is no file)."""

    mode: str
    object: str
    size: int


class Repository:
    """The repository that a folder lies in; `top` is its working tree, or the folder itself of one without."""

    def __init__(self, folder: Path) -> None:
        program = which("git")
        if program is None:
            raise GitError("revisions are compared with the help of git, and there is no program of that name")
        self._program = os.path.abspath(program)
        self._folder = folder
        self._environment = {**os.environ, **_SAFE}
        self._reader: subprocess.Popen[bytes] | None = None
        self._kept: dict[str, bytes] = {}
        lines = self._run("rev-parse", "--is-bare-repository", "--show-prefix").splitlines()
        self.below = lines[1] if len(lines) > 1 else ""  # the folder as seen from the top, with "/" at its end
        top = "" if lines[0] == "true" else self._run("rev-parse", "--show-toplevel").rstrip("\n")
        self.top = Path(top) if top else folder

    def commit(self, name: str) -> str:
        """Return the name of the commit that a revision stands for; GitError where there is none."""
        ran = self._ran("rev-parse", "--verify", "--quiet", "--end-of-options", f"{name}^{{commit}}")
        found = ran.stdout.decode("ascii", "replace").strip()
        if ran.returncode or not found:
            raise GitError(f"there is no file and no revision {name!r}")
        return found

    def common(self, one: str, two: str) -> str:
        """Return the last commit that two commits have in common; GitError where they have none."""
        ran = self._ran("merge-base", one, two)
        found = ran.stdout.decode("ascii", "replace").split()
        if ran.returncode or not found:
            raise GitError("the two revisions have no commit in common here; a shallow copy of a repository may lack it")
        return found[0]

    def tree(self, commit: str) -> dict[str, Node]:
        """Return every file of a commit by its path from the top; parts of other repositories are left out."""
        found: dict[str, Node] = {}
        for line in self._ran_well("ls-tree", "-r", "-z", "-l", "--full-tree", commit).split(b"\0"):
            facts, _, path = line.partition(b"\t")
            if not path:
                continue
            mode, kind, name, size = facts.split()
            if kind == b"blob":
                found[path.decode("utf-8", "surrogateescape")] = Node(
                    mode.decode("ascii"), name.decode("ascii"), int(size) if size.isdigit() else -1
                )
        return found

    def blob(self, name: str) -> bytes:
        """Return the bytes of a file by the name of its object; GitError where the object is not here."""
        known = self._kept.get(name)
        if known is None:
            known = self._kept[name] = self._read(name)
        return known

    def start(self) -> None:
        """Start the process that reads objects, where it does not run yet."""
        self._process()

    def close(self) -> None:
        """End the process that reads objects."""
        if self._reader is not None:
            for stream in (self._reader.stdin, self._reader.stdout):
                if stream is not None:
                    stream.close()
            self._reader.wait(_MOST_SECONDS)
            self._reader = None

    # asking git ----------------------------------------------------------------------------------------------------

    def _read(self, name: str) -> bytes:
        asking, answer = _streams(self._process())
        try:
            asking.write(f"{name}\n".encode("ascii"))
            asking.flush()
            head = answer.readline().split()
            if len(head) != 3:
                raise GitError(f"the object {name[:12]} is not in this copy of the repository")
            data = answer.read(int(head[2]))
            answer.read(1)  # the line end after it
        except (OSError, ValueError) as error:
            raise GitError(f"git does not read the object {name[:12]}: {error}") from error
        if len(data) != int(head[2]):
            raise GitError(f"git ended while it read the object {name[:12]}")
        return data

    def _process(self) -> subprocess.Popen[bytes]:
        if self._reader is None:
            self._reader = subprocess.Popen(
                [self._program, "-C", str(self._folder), "cat-file", "--batch"],
                stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, env=self._environment,
            )  # fmt: skip
        return self._reader

    def _ran(self, *arguments: str) -> subprocess.CompletedProcess[bytes]:
        line = [self._program, "-C", str(self._folder), "--no-pager", *arguments]
        try:
            return subprocess.run(
                line, stdin=subprocess.DEVNULL, capture_output=True, check=False, timeout=_MOST_SECONDS, env=self._environment
            )
        except (OSError, ValueError, subprocess.TimeoutExpired) as error:
            raise GitError(f"git cannot be asked: {error}") from error

    def _ran_well(self, *arguments: str) -> bytes:
        ran = self._ran(*arguments)
        if ran.returncode:
            _refuse(ran.stderr)
        return ran.stdout

    def _run(self, *arguments: str) -> str:
        return self._ran_well(*arguments).decode("utf-8", "surrogateescape")


def _streams(process: subprocess.Popen[bytes]) -> tuple[IO[bytes], IO[bytes]]:
    assert process.stdin is not None
    assert process.stdout is not None
    return process.stdin, process.stdout


def _refuse(said: bytes) -> NoReturn:
    words = " ".join(said.decode("utf-8", "replace").split())
    if "not a git repository" in words:
        raise GitError("this is no file, and the current folder lies in no git repository in which it could be a revision")
    raise GitError(f"git says: {words[:300] or 'nothing'}")
