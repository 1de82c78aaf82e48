"""Getting the settings that hold for a root: from the file found there, or from one that the command line names in place of all of them."""

from __future__ import annotations

import os
from pathlib import Path

from ohmwright_grammar.files import FolderFiles, Source
from ohmwright_grammar.records import replace
from ohmwright_grammar.spans import Span

from ohmwright.paths import SETTINGS, SHARED, has_table
from ohmwright.settings.locating import Path as Place
from ohmwright.settings.model import Fault, Settings
from ohmwright.settings.reading import as_faults, read

__all__ = ["found_settings", "given_settings", "outside_of", "shown_path"]


def found_settings(root: Path, mark: str) -> tuple[Settings, tuple[Fault, ...]]:
    """Return the settings that stand in a root, and what is wrong with them; a link that leads out of the repository is refused."""
    if not mark:
        return Settings(), ()
    top = _repository(root)
    place = root / mark
    source = FolderFiles(top).read(place.relative_to(top).as_posix())
    also = SHARED if mark == SETTINGS and has_table(root / SHARED) else ""
    return _settings(source, mark, mark == SHARED, root, shown_path(place), also)


def given_settings(named: str) -> tuple[Settings, tuple[Fault, ...]]:
    """Return the settings of a file that the command line names, and what is wrong with them."""
    try:
        place = Path(named).resolve()
    except (OSError, ValueError, RuntimeError):
        place = Path(os.path.abspath(named.replace("\0", "?")))
    source = FolderFiles(place.parent).read(place.name)
    shared = place.name == SHARED
    settings, faults = _settings(source, named, shared, place.parent, named, "")
    if shared and not faults and settings.file == "":
        faults = (Fault("The file has no table 'tool.ohmwright'.", Span(named, 1, 1, 1, 2)),)
    return settings, faults


def _settings(
    source: Source, file: str, shared: bool, folder: Path, shown: str, also: str
) -> tuple[Settings, tuple[Fault, ...]]:
    if source.problems:
        return Settings(), _at(as_faults(source.problems), shown)
    found = read(source.text, file, shared=shared, folder=str(folder))
    if found.settings is None:
        return Settings(), _at(found.faults, shown)
    return replace(found.settings, also=also), ()


def _at(faults: tuple[Fault, ...], shown: str) -> tuple[Fault, ...]:
    """Return faults with the path as a person at the command line knows it."""
    return tuple(replace(fault, span=fault.span._replace(path=shown)) for fault in faults)


def _repository(root: Path) -> Path:
    """Return the folder that links may not leave: that of the repository, else the root itself."""
    return next((folder for folder in (root, *root.parents) if os.path.lexists(folder / ".git")), root)


def shown_path(place: Path) -> str:
    """Return a path as seen from the current folder, where that is shorter to read."""
    try:
        return Path(os.path.relpath(place)).as_posix()
    except ValueError:  # another drive
        return place.as_posix()


def outside_of(root: Path, place: Path, settings: Settings, key: Place, shown: str) -> tuple[Fault, ...]:
    """Return a fault where a path that the settings name leads, by a link, out of the repository of a root."""
    top = os.path.realpath(_repository(root))
    real = os.path.realpath(place)
    if real == top or real.startswith(os.path.join(top, "")):
        return ()
    span = settings.spans.get(key, Span(shown, 1, 1, 1, 2))._replace(path=shown)
    return (Fault(f"{place.name!r} leads out of the repository.", span, "Keep what the settings name inside of it."),)
