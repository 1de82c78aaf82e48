"""Where what earlier runs found is kept: in the user's own folder for such things, or where somebody asks for it."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable, Mapping
from pathlib import Path

__all__ = ["CachePlace", "cache_place", "user_folder"]

CachePlace = tuple[Path, Path]  # the folder of what was found, and the one of the key that it is sealed with


def user_folder(system: str = sys.platform, surroundings: Mapping[str, str] = os.environ) -> Path | None:
    """Return the user's folder for what can be made again; None where the system names none.

    Windows: LOCALAPPDATA; macOS: Library/Caches; elsewhere XDG_CACHE_HOME where it is absolute, else .cache (XDG Base Directory Specification).
    """
    if system == "win32":
        local = surroundings.get("LOCALAPPDATA", "")
        return Path(local, "ohmwright", "Cache") if local else None
    given = surroundings.get("XDG_CACHE_HOME", "")
    if given.startswith("/") and system != "darwin":
        return Path(given, "ohmwright")
    home = surroundings.get("HOME", "")
    if not home.startswith("/"):
        return None
    return Path(home, "Library", "Caches", "ohmwright") if system == "darwin" else Path(home, ".cache", "ohmwright")


def cache_place(named: str, roots: Iterable[Path]) -> CachePlace | str | None:
    """Return where to keep what is found, None where nowhere, or why a folder that was named cannot be used.

    `named` is a folder, "none", or "" for the user's own. A change could bring what lies in the repository that it changes: there only what is sealed with
    a key from outside counts, and the user's own folder is not used where it lies inside.
    """
    if named == "none":
        return None
    tops = [os.path.realpath(_top(root)) for root in roots]
    usual = user_folder()
    if usual is not None and _is_below(usual, tops):
        usual = None
    if not named:
        return None if usual is None else (usual, usual)
    folder = Path(os.path.abspath(named))
    if not _is_below(folder, tops):
        return folder, folder
    if usual is None:
        return f"the cache {named} is not used: it lies in the repository, and there is no folder outside for the key that it is sealed with"
    return folder, usual


def _top(root: Path) -> Path:
    return next((folder for folder in (root, *root.parents) if os.path.lexists(folder / ".git")), root)


def _is_below(folder: Path, tops: Iterable[str]) -> bool:
    real = os.path.realpath(folder)
    return any(real == top or real.startswith(os.path.join(top, "")) for top in tops)
