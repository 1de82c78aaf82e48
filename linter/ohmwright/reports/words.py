"""Lines for a terminal: cleaned of what could steer it, wrapped at 80 columns, coloured only where that is wanted."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from textwrap import wrap

__all__ = ["CAUTIONS", "WIDTH", "Ink", "clean", "counted", "cut", "labelled", "listed", "visible", "wrapped"]

WIDTH = 80

CAUTIONS = (
    "This is a design check against published values, no approval. Local codes and licensed practice decide. "
    "Batteries can give thousands of amperes into a short, DC arcs do not go out by themselves, and mains and "
    "charged capacitors kill: have a qualified person look before you connect anything."
)


def visible(text: str) -> str:
    """Return a text with characters that hide or turn what is written, or that no reader can see, spelt out.

    >>> visible("a\\x1b[31mb\\u202ec")
    'a\\\\x1b[31mb\\\\u202ec'
    """
    if text.isprintable():
        return text
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode("ascii") for c in text)


def clean(text: str) -> str:
    """Return a text that steers neither a terminal nor a service that looks for commands in the lines of a job.

    Such services take a line that begins with two colons, or two number signs and a word in brackets anywhere, as a command.

    >>> clean("a\\x1b[31mb"), clean("::warning::##[group]")
    ('a\\\\x1b[31mb', ':\\\\x3awarning:\\\\x3a#\\\\x23[group]')
    """
    text = visible(text)
    if "::" not in text and "##" not in text:
        return text
    return text.replace("::", ":\\x3a").replace("##", "#\\x23")


def wrapped(text: str, indent: int = 0, hanging: int = 0) -> Iterator[str]:
    """Yield the lines of a text, all indented, those after the first by `hanging` more."""
    space = " " * indent
    yield from wrap(
        clean(" ".join(text.split())),
        WIDTH,
        initial_indent=space,
        subsequent_indent=space + " " * hanging,
        break_on_hyphens=False,
    )


def labelled(label: str, text: str, indent: int, width: int) -> Iterator[str]:
    """Yield the lines of a text with a label before it, the text in a column of its own."""
    left = indent + width
    lines = wrap(clean(" ".join(text.split())), WIDTH - left, break_on_hyphens=False) or [""]
    yield f"{' ' * indent}{label:<{width}}{lines[0]}"
    for line in lines[1:]:
        yield " " * left + line


def listed(names: Iterable[str], most: int = 6) -> str:
    """Return names in a row, the last ones counted where there are many.

    >>> listed(["a", "b", "c"], 2)
    'a, b and 1 more'
    """
    known = list(names)
    if len(known) <= most:
        return ", ".join(known)
    return f"{', '.join(known[:most])} and {len(known) - most:,} more"


def counted(count: int, word: str) -> str:
    """Return a number with its word in the right form.

    >>> counted(1, "file"), counted(2000, "file")
    ('1 file', '2,000 files')
    """
    if count != 1:
        word = f"{word[:-1]}ies" if word.endswith("try") else f"{word}s"
    return f"{count:,} {word}"


def cut(text: str, most: int) -> str:
    """Return a text of at most so many letters (30 or more); of a longer one the beginning, and how much is left out.

    >>> cut("a" * 100, 30)
    'aaaaaaaaa … (91 letters more)'
    """
    if len(text) <= most:
        return text
    kept = most - 18 - len(f"{len(text):,}")
    return f"{text[:kept]} … ({len(text) - kept:,} letters more)"


class Ink:
    """Colours, or none. Each takes a text that is clean already."""

    __slots__ = ("on",)

    def __init__(self, on: bool) -> None:
        self.on = on

    def _in(self, code: str, text: str) -> str:
        return f"\x1b[{code}m{text}\x1b[0m" if self.on and text else text

    def bold(self, text: str) -> str:
        """Return a heading."""
        return self._in("1", text)

    def severity(self, word: str, text: str) -> str:
        """Return a text in the colour of a severity."""
        return self._in({"error": "31", "warning": "33"}.get(word, "36"), text)
