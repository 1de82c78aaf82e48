"""Entry points of installed distributions, read straight from their metadata where that lies in plain folders.

The standard library's reader imports mail parsers, sockets and archives, some 15 ms at every start. This one reads the same files; wherever anything
is installed in another way (an archive, an egg), the standard library is asked.
"""

from __future__ import annotations

import os
import sys

__all__ = ["entry_points"]


def entry_points(group: str) -> list[tuple[str, str]]:
    """Return the name and value ("module:attribute") of every entry point of a group, in name order."""
    found = _in_folders(group)
    if found is None:
        from importlib.metadata import entry_points as everything

        found = {(entry.name, entry.value) for entry in everything(group=group)}
    return sorted(found)


def _in_folders(group: str) -> set[tuple[str, str]] | None:
    """Return the entry points of distributions in the folders of the path, the first of each name; None where not all lie so."""
    found: set[tuple[str, str]] = set()
    known: set[str] = set()
    for place in dict.fromkeys(sys.path):
        try:
            with os.scandir(place or ".") as entries:
                names = [
                    entry.name for entry in entries if entry.name.endswith((".dist-info", ".egg-info", ".egg", ".egg-link"))
                ]
        except FileNotFoundError:
            continue
        except OSError:
            return None  # an archive, or a folder that cannot be listed
        for name in names:
            if name.endswith((".egg", ".egg-link")):
                return None
            distribution = name.partition("-")[0].lower().replace(".", "_")
            if distribution in known:
                continue
            known.add(distribution)
            try:
                with open(os.path.join(place or ".", name, "entry_points.txt"), encoding="utf-8") as stream:
                    found.update(_of_group(stream.read(), group))
            except (FileNotFoundError, NotADirectoryError):
                continue  # it has none
            except (OSError, UnicodeDecodeError):
                return None
    return found


def _of_group(text: str, group: str) -> list[tuple[str, str]]:
    """Return the entry points of one group in the text of an `entry_points.txt`."""
    inside = False
    found: list[tuple[str, str]] = []
    for line in text.splitlines():
        line = line.strip()
        if line.startswith("["):
            inside = line == f"[{group}]"
        elif inside and line and not line.startswith(("#", ";")):
            name, _, value = line.partition("=")
            found.append((name.strip(), value.partition("[")[0].strip()))
    return found
