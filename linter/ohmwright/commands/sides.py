"""The two sides of a comparison as a command line names them: files, folders, revisions, and which file of one belongs to which of the other."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path

from ohmwright_grammar.records import record

from ohmwright.commands.git_objects import GitError, Repository
from ohmwright.commands.trees import CommitTree, FolderTree, Tree
from ohmwright.comparing.model import SideTold
from ohmwright.paths import SUFFIX, Roots

__all__ = ["Side", "Sides", "sides_of"]


@record
class Side:
    """One side: its tree, the files and folders of it that are compared ("" for all), and the folder from which its files are told."""

    tree: Tree
    scopes: tuple[str, ...]
    below: str = ""
    is_file: bool = False  # one file is compared with one file, whatever they are called

    def builds(self) -> list[str]:
        """Return the build files that are compared, in name order."""
        return [path for path in self.files() if self.is_file or (path.endswith(SUFFIX) and not _is_hidden(path))]

    def files(self) -> list[str]:
        """Return every file that is compared, in name order."""
        if self.is_file:
            return list(self.scopes)
        found: set[str] = set()
        for scope in self.scopes:
            found.update((scope,) if scope and self.tree.has(scope) else self.tree.paths(scope))
        return sorted(found)

    def holds(self, path: str) -> bool:
        """Tell whether a file is among those that are compared."""
        return any(not scope or path == scope or path.startswith(f"{scope}/") for scope in self.scopes)

    def key(self, path: str) -> str:
        """Return a path as the other side has it below its own folder."""
        return path[len(self.below) :] if path.startswith(self.below) else path


def _is_hidden(path: str) -> bool:
    return any(piece.startswith(".") for piece in path.split("/")[:-1])


@record
class Sides:
    """Both sides; `shared` tells that paths from the top mean the same file on both."""

    old: Side
    new: Side
    shared: bool
    repository: Repository | None = None

    def close(self) -> None:
        """End what was started to read them."""
        if self.repository is not None:
            self.repository.close()


def sides_of(words: Sequence[str]) -> Sides | str:
    """Return what a command line names, or what is wrong with it.

    `OLD..NEW` and `OLD...NEW` (from the last commit that both have in common) are ranges of revisions, with paths after them; OLD and NEW by themselves
    are files, folders or revisions, and a path counts before a revision.
    """
    try:
        if not os.path.lexists(words[0]) and ".." in words[0] and not words[0].startswith(("../", "./", "/")):
            return _range(words[0], words[1:])
        if len(words) < 2:
            return "name two files, folders or revisions, or a range such as main..HEAD"
        return _pair(words[0], words[1], words[2:])
    except GitError as error:
        return str(error)
    except (OSError, ValueError) as error:
        return f"{words[0]!r} cannot be used: {getattr(error, 'strerror', None) or error}"


def _range(words: str, paths: Sequence[str]) -> Sides | str:
    repository = Repository(Path.cwd())
    sign = "..." if "..." in words else ".."
    one, _, two = words.partition(sign)
    old, new = (repository.commit(name or "HEAD") for name in (one, two))
    name = one or "HEAD"
    if sign == "...":
        old = repository.common(old, new)
        name = f"{name} and {two or 'HEAD'} in common"
    return _commits(repository, (name, old), (two or "HEAD", new), paths)


def _commits(repository: Repository, old: tuple[str, str], new: tuple[str, str], paths: Sequence[str]) -> Sides | str:
    before, after = (CommitTree(repository, commit, SideTold(name, commit)) for name, commit in (old, new))
    scopes = tuple(_below(repository.below, path) for path in paths) or ("",)
    for path, scope in zip(paths, scopes, strict=False):
        if scope is None:
            return f"{path} leads out of the repository"
        if not any(scope in tree.nodes or scope in tree.folders or not scope for tree in (before, after)):
            return f"neither revision has a file or folder {path}"
    known = tuple(scope or "" for scope in scopes)
    return Sides(Side(before, known), Side(after, known), True, repository)


def _below(below: str, path: str) -> str | None:
    """Return a path of the command line as seen from the top of the repository, None where it leads out of it."""
    pieces = [piece for piece in below.split("/") if piece]
    for piece in path.replace(os.sep, "/").split("/"):
        if piece == "..":
            if not pieces:
                return None
            pieces.pop()
        elif piece not in ("", "."):
            pieces.append(piece)
    return "/".join(pieces)


def _pair(one: str, two: str, paths: Sequence[str]) -> Sides | str:
    there = [os.path.lexists(word) for word in (one, two)]
    if not any(there):
        repository = Repository(Path.cwd())
        return _commits(repository, (one, repository.commit(one)), (two, repository.commit(two)), paths)
    if paths:
        return "paths stand beside revisions only: a file or folder says itself what is compared"
    if all(there):
        return _on_disk(Path(one), Path(two))
    place = Path(one if there[0] else two)
    repository = Repository(place if place.is_dir() else place.parent)
    name = two if there[0] else one
    commit = CommitTree(repository, repository.commit(name), SideTold(name, repository.commit(name)))
    top = Path(os.path.realpath(repository.top))
    scope = Path(os.path.realpath(place if place.is_dir() else place.parent)).relative_to(top).as_posix()
    scope = "" if scope == "." else scope
    if not place.is_dir():
        scope = f"{scope}/{place.name}" if scope else place.name
    folder = FolderTree(top, SideTold(str(place)))
    sides = Side(folder, (scope,)), Side(commit, (scope,))
    return Sides(*(sides if there[0] else sides[::-1]), True, repository)


def _on_disk(one: Path, two: Path) -> Sides | str:
    if one.is_dir() != two.is_dir():
        return f"{one} and {two} are a file and a folder: compare two of the same"
    old, new = _side(one), _side(two)
    for side, path in ((old, one), (new, two)):
        if not side.builds():
            return f"there is no {SUFFIX} file in the folder {path}"
    return Sides(old, new, False)


def _side(path: Path) -> Side:
    is_file = not path.is_dir()
    folder = Path(os.path.abspath(path.parent if is_file else path))
    top = _top(folder)
    below = folder.relative_to(top).as_posix()
    below = "" if below == "." else f"{below}/"
    scope = f"{below}{path.name}" if is_file else below.rstrip("/")
    return Side(FolderTree(top, SideTold(path.as_posix())), (scope,), below, is_file)


def _top(folder: Path) -> Path:
    """Return the top of the repository that a folder lies in; where it lies in none, the root of its builds, else the folder itself."""
    for place in (folder, *folder.parents):
        if os.path.lexists(place / ".git"):
            return place
    found = Roots().of(folder)
    return found[0] if found is not None else folder
