"""What is wrong with a text: one record for every independent mistake, with its place and what would mend it."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache

from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Edit, Span

__all__ = ["MOST_NEAR", "Diagnostic", "Related", "names_near", "near", "worth_searching"]


@record
class Related:
    """Another place that belongs to a message."""

    message: str
    span: Span


@record
class Diagnostic:
    """A mistake in a text: `rule` names the problem (an id such as "missing-unit"), `subject` the nearest named thing.

    `subject` is "" where nothing is named near; `blocking` says that a part of the file could not be read at all.
    """

    rule: str
    message: str
    span: Span
    remedy: str = ""
    subject: str = ""
    edits: tuple[Edit, ...] = ()
    related: tuple[Related, ...] = ()


MOST_NEAR = 1000  # of so many mistakes in one file names near the wrong ones are looked for: each search takes a quarter of a millisecond


_MOST_COMPARED = (
    300_000  # of so many names near ones are looked for in one file, whatever the mistakes: each takes two microseconds
)


def worth_searching(told: int, names: int) -> bool:
    """Tell whether near ones are still looked for among so many names, where so many mistakes were told before."""
    return told <= MOST_NEAR and told * names <= _MOST_COMPARED


def near(wanted: str, known: object, most: int = 3) -> tuple[str, ...]:
    """Return the few of `known` (an iterable of str) that are spelt nearly like `wanted`, case ignored, nearest first."""
    return _near(wanted, tuple(sorted(known)), most)  # type: ignore[call-overload]


@lru_cache(64)
def _near(wanted: str, known: tuple[str, ...], most: int) -> tuple[str, ...]:
    from difflib import get_close_matches  # only when something is misspelt

    by_case: dict[str, str] = {}
    for name in known:
        by_case.setdefault(name.lower(), name)
    close = get_close_matches(wanted.lower(), by_case, n=most, cutoff=0.6)
    return tuple(by_case[key] for key in close)


def names_near(wanted: str, known: Iterable[str], what: str = "Names", told: int = 0) -> str:
    """Return "Names near this one: …." or "" where none is near, or where so many mistakes were `told` before that nobody reads on."""
    names = tuple(known)
    if not worth_searching(told, len(names)):
        return ""
    found = near(wanted, names)
    return f"{what} near this one: {', '.join(found)}." if found else ""
