"""Which build file of one side is which of the other, where their paths do not say so."""

from __future__ import annotations

from collections.abc import Callable

from ohmwright_grammar.model import Build
from ohmwright_grammar.records import draft, record

from ohmwright.commands.standing import Terms

__all__ = ["File", "Pair", "moved"]


@draft
class File:
    """One build file of one side: its path from the top, the root that it is read from, and its model, None where it cannot be read."""

    path: str
    root: str
    terms: Terms
    build: Build | None = None
    failed: bool = False  # it could not be resolved at all: inspecting it says why

    @property
    def below_root(self) -> str:
        """Its path from its root."""
        return self.path[len(self.root) + 1 :] if self.root else self.path


@record
class Pair:
    """What is one build on both sides, None on a side that does not have it."""

    old: File | None
    new: File | None


def moved(olds: list[File], news: list[File]) -> list[tuple[File, File]]:
    """Pair files that are on one side only: those of the same text, then those whose title only they have."""
    found: list[tuple[File, File]] = []
    for what in (_text, _title):
        left = _single(what, [file for file in olds if file not in [pair[0] for pair in found]])
        right = _single(what, [file for file in news if file not in [pair[1] for pair in found]])
        found += [(left[key], right[key]) for key in sorted(left.keys() & right.keys())]
    return found


def _single(what: Callable[[File], str], files: list[File]) -> dict[str, File]:
    groups: dict[str, list[File]] = {}
    for file in files:
        groups.setdefault(what(file), []).append(file)
    return {key: group[0] for key, group in groups.items() if key and len(group) == 1}


def _text(file: File) -> str:
    return file.build.files[0].text if file.build is not None and file.build.files else ""


def _title(file: File) -> str:
    return (file.build.rig.title or "") if file.build is not None else ""
