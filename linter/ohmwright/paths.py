"""Which files a run is about, and the root that their paths are told from."""

from __future__ import annotations

import os
from collections.abc import Iterable
from pathlib import Path

from ohmwright_grammar.records import record

__all__ = ["SETTINGS", "SHARED", "SUFFIX", "Gathered", "Roots", "gather"]

SUFFIX = ".rig"
SETTINGS = "ohmwright.toml"
SHARED = "pyproject.toml"  # holds settings of ours where it has a table tool.ohmwright
_MOST_SHARED = 1_000_000  # bytes of such a file that are looked at


@record
class Gathered:
    """The files to inspect, relative to one root, in name order; `mark` is the name of the file of settings in the root, "" where there is none."""

    root: Path
    paths: tuple[str, ...]
    mark: str = ""


class Roots:
    """Finds the root of a file: the nearest folder upwards with settings, never above the one with `.git`; else that one; else the folder named.

    With `nearest` off no file of settings counts, so that the root is that of the repository.
    """

    def __init__(self, nearest: bool = True) -> None:
        self.nearest = nearest
        self._known: dict[Path, tuple[Path, str] | None] = {}

    def of(self, start: Path) -> tuple[Path, str] | None:
        """Return the root of a folder and the name of the settings in it; None where no folder upwards has a mark."""
        folder = Path(os.path.abspath(start))
        passed: list[Path] = []
        found: tuple[Path, str] | None = None
        for place in (folder, *folder.parents):
            if place in self._known:
                found = self._known[place]
                break
            passed.append(place)
            mark = _mark_in(place) if self.nearest else ""
            if mark or os.path.lexists(place / ".git"):
                found = (place, mark)
                break
        self._known.update(dict.fromkeys(passed, found))
        return found


def _mark_in(folder: Path) -> str:
    """Return the name of the file of settings in a folder, "" where there is none; of two the one of our own name counts."""
    if os.path.lexists(folder / SETTINGS):
        return SETTINGS
    return SHARED if has_table(folder / SHARED) else ""


def has_table(path: Path) -> bool:
    """Tell whether a pyproject.toml has settings of ours, or may have them where it cannot be read."""
    try:
        if _leads_out(path):
            return True  # the same: it is not opened to find out
        if not path.is_file():
            return False
        with open(path, "rb") as stream:
            data = stream.read(_MOST_SHARED)
    except PermissionError:
        return True  # what it may say must not be passed over: reading it tells why it cannot be read
    except (OSError, ValueError):
        return False
    if b"ohmwright" not in data:
        return False
    from ohmwright.settings.shared import table_in  # read only where a project names us

    return table_in(data)


def _leads_out(path: Path) -> bool:
    """Tell whether a file is a link that leads out of its repository."""
    if not path.is_symlink():
        return False
    folder = path.parent
    top = os.path.realpath(next((place for place in (folder, *folder.parents) if os.path.lexists(place / ".git")), folder))
    return not os.path.realpath(path).startswith(os.path.join(top, ""))


def gather(given: Iterable[str], nearest: bool = True) -> tuple[tuple[Gathered, ...], tuple[str, ...]]:
    """Return the files below the given paths, grouped by root, and what is wrong with paths that cannot be used.

    With `nearest` off the files of settings in the tree do not count.
    """
    roots = Roots(nearest)
    by_root: dict[tuple[Path, str], set[str]] = {}
    wrong: list[str] = []
    for text in given:
        try:
            path = Path(text)
            if path.is_dir():
                found = list(_below(path, wrong))
                if not found:
                    wrong.append(f"there is no {SUFFIX} file in the folder {text}")
                for file in found:
                    _add(by_root, roots, file, path)
            elif path.exists() or path.is_symlink():
                _add(by_root, roots, path, path.parent)
            else:
                wrong.append(f"there is no file {text}{_near(path)}")
        except (OSError, ValueError) as error:
            wrong.append(f"the path {text!r} cannot be used: {getattr(error, 'strerror', None) or error}")
    gathered = tuple(Gathered(root, tuple(sorted(paths)), mark) for (root, mark), paths in sorted(by_root.items()))
    return gathered, tuple(wrong)


def _add(by_root: dict[tuple[Path, str], set[str]], roots: Roots, file: Path, named: Path) -> None:
    root = roots.of(file.parent) or (Path(os.path.abspath(named)), "")
    whole = Path(os.path.abspath(file))
    by_root.setdefault(root, set()).add(whole.relative_to(root[0]).as_posix())


def _below(folder: Path, wrong: list[str]) -> Iterable[Path]:
    """Yield the files below a folder, in name order; hidden folders are left out, folders that cannot be read are said."""

    def refused(error: OSError) -> None:
        wrong.append(f"the folder {error.filename} cannot be read: {error.strerror}")

    for place, folders, files in os.walk(folder, onerror=refused, followlinks=False):
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        for name in sorted(files):
            if name.endswith(SUFFIX):
                yield Path(place) / name


def _near(path: Path) -> str:
    from ohmwright_grammar.diagnostics import near

    try:
        names = [entry.name for entry in os.scandir(path.parent if str(path.parent) else ".")][:1000]
    except OSError:
        return ""
    found = near(path.name, names)
    return f" (files near this name: {', '.join(found)})" if found else ""
