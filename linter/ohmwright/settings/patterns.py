"""Which files a path in the settings means: the file, or everything below the folder, with `*` and `?` in a name and `**` for any folders."""

from __future__ import annotations

from collections.abc import Sequence

__all__ = ["covers"]


def covers(pattern: str, path: str) -> bool:
    """Tell whether a pattern means a file (its path from the root, with "/"), or a folder that it is in.

    >>> covers("drafts", "drafts/old/box.rig"), covers("*/trial*.rig", "cabin/trial2.rig"), covers("drafts", "my/drafts/box.rig")
    (True, True, False)
    >>> covers("**/drafts", "my/drafts/box.rig"), covers("./drafts/", "drafts/box.rig")
    (True, True)
    """
    wanted = [piece for piece in pattern.split("/") if piece not in ("", ".")]
    return not wanted or _starts(wanted, path.split("/"))


def _starts(wanted: Sequence[str], pieces: Sequence[str]) -> bool:
    """Tell whether some leading pieces of a path are what is wanted; the work is bounded by the product of both lengths."""
    reached = {0}  # how many pieces the pattern so far may have taken
    for piece in wanted:
        if piece == "**":
            reached = set(range(min(reached), len(pieces) + 1)) if reached else set()
        else:
            reached = {count + 1 for count in reached if count < len(pieces) and _name(piece, pieces[count])}
    return bool(reached)


def _name(wanted: str, name: str) -> bool:
    """Tell whether one name is what is wanted, going back only to the last star."""
    if "*" not in wanted and "?" not in wanted:
        return wanted == name
    at = place = 0
    star = back = -1
    while place < len(name):
        if at < len(wanted) and wanted[at] == "*":
            star, back = at, place
            at += 1
        elif at < len(wanted) and wanted[at] in (name[place], "?"):
            at += 1
            place += 1
        elif star >= 0:
            back += 1
            at, place = star + 1, back
        else:
            return False
    return all(sign == "*" for sign in wanted[at:])
