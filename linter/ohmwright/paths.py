"""Which files a run is about, and the root that their paths are told from."""

from __future__ import annotations

import os
from collections.abc import Iterable
from pathlib import Path

from ohmwright_grammar.records import record

__all__ = ["SUFFIX", "Gathered", "gather", "root_of"]

SUFFIX = ".rig"


@record
class Gathered:
    """The files to inspect, relative to one root, in name order."""

    root: Path
    paths: tuple[str, ...]


def root_of(path: Path, named: Path | None = None) -> Path:
    """Return the nearest folder upwards with `ohmwright.toml`, else with `.git`, else the folder that was named, or that of the named file."""
    start = path if path.is_dir() else path.parent
    start = Path(os.path.abspath(start))
    folders = (start, *start.parents)
    for mark in ("ohmwright.toml", ".git"):
        for folder in folders:
            if (folder / mark).exists():
                return folder
    return Path(os.path.abspath(named)) if named is not None else start


def gather(given: Iterable[str]) -> tuple[tuple[Gathered, ...], tuple[str, ...]]:
    """Return the files below the given paths, grouped by root, and what is wrong with paths that cannot be used."""
    by_root: dict[Path, set[str]] = {}
    wrong: list[str] = []
    for text in given:
        try:
            path = Path(text)
            if path.is_dir():
                found = list(_below(path, wrong))
                if not found:
                    wrong.append(f"there is no {SUFFIX} file in the folder {text}")
                for file in found:
                    _add(by_root, file, path)
            elif path.exists() or path.is_symlink():
                _add(by_root, path)
            else:
                wrong.append(f"there is no file {text}{_near(path)}")
        except (OSError, ValueError) as error:
            wrong.append(f"the path {text!r} cannot be used: {getattr(error, 'strerror', None) or error}")
    gathered = tuple(Gathered(root, tuple(sorted(paths))) for root, paths in sorted(by_root.items()))
    return gathered, tuple(wrong)


def _add(by_root: dict[Path, set[str]], file: Path, named: Path | None = None) -> None:
    root = root_of(file, named)
    whole = Path(os.path.abspath(file))
    by_root.setdefault(root, set()).add(whole.relative_to(root).as_posix())


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
