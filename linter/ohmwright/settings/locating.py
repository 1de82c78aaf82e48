"""Where in the text of a TOML document each key and each value stands.

The standard reader says what a document holds, not where. This walks over a text that the reader has accepted, so that it need not judge: it only
finds its way through tables, dotted keys, strings, lists and tables on one line. TOML 1.0 (toml.io, read), sections String, Array, Table, Inline Table, Array of Tables.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

__all__ = ["Path", "Place", "locate"]

Path = tuple[str | int, ...]  # of a value: keys of tables, numbers in lists (from 0)


class Place(NamedTuple):
    """Where a key and its value begin and end, as offsets in the text; both the same for what has no key (the item of a list)."""

    key: tuple[int, int]
    value: tuple[int, int]


def locate(text: str, unescaped: Callable[[str], str]) -> dict[Path, Place]:
    """Return the place of every value of a valid document; `unescaped` reads one string between double quotation marks, its marks included."""
    walk = _Walk(text, unescaped)
    walk.document()
    return walk.places


class _Walk:
    """One walk over one text."""

    def __init__(self, text: str, unescaped: Callable[[str], str]) -> None:
        self.text = text
        self.end = len(text)
        self.at = 0
        self.unescaped = unescaped
        self.places: dict[Path, Place] = {}
        self.counts: dict[Path, int] = {}  # of the arrays of tables so far

    def document(self) -> None:
        here: Path = ()
        while self._skip():
            if self.text[self.at] == "[":
                here = self._header()
            else:
                self._pair(here)

    # pieces --------------------------------------------------------------------------------------------------------

    def _skip(self) -> bool:
        """Pass blanks, line ends and comments; tell whether anything is left."""
        while self.at < self.end:
            sign = self.text[self.at]
            if sign == "#":
                stop = self.text.find("\n", self.at)
                self.at = self.end if stop < 0 else stop
            elif sign in " \t\r\n":
                self.at += 1
            else:
                return True
        return False

    def _blanks(self) -> None:
        while self.at < self.end and self.text[self.at] in " \t":
            self.at += 1

    def _header(self) -> Path:
        start = self.at
        several = self.text.startswith("[[", start)
        self.at += 2 if several else 1
        keys = self._keys()
        self.at += 2 if several else 1
        span = (start, self.at)
        path: Path = ()
        for number, (key, _) in enumerate(keys):
            path = (*path, key)
            last = number == len(keys) - 1
            if last and several:
                count = self.counts.get(path, 0)
                self.counts[path] = count + 1
                self.places.setdefault(path, Place(span, span))
                path = (*path, count)
            elif path in self.counts:
                path = (*path, self.counts[path] - 1)
            self.places.setdefault(path, Place(span, span))
        return path

    def _keys(self) -> list[tuple[str, tuple[int, int]]]:
        """Read a key, or several parted by points, each with its place."""
        keys: list[tuple[str, tuple[int, int]]] = []
        while True:
            self._blanks()
            start = self.at
            if self.text[start] in "\"'":
                self._string()
                raw = self.text[start : self.at]
                name = self.unescaped(raw) if raw[0] == '"' and "\\" in raw else raw[1:-1]
            else:
                while self.at < self.end and (self.text[self.at].isalnum() or self.text[self.at] in "_-"):
                    self.at += 1
                name = self.text[start : self.at]
            keys.append((name, (start, self.at)))
            self._blanks()
            if self.at < self.end and self.text[self.at] == ".":
                self.at += 1
                continue
            return keys

    def _pair(self, here: Path) -> None:
        keys = self._keys()
        self.at += 1  # the sign of equality
        self._blanks()
        path = here
        above: list[tuple[Path, tuple[int, int]]] = []
        for key, span in keys:
            path = (*path, key)
            above.append((path, span))
        start, _ = self._value(path)
        for path, span in above:
            self.places.setdefault(path, Place(span, (start, self.at)))

    # values --------------------------------------------------------------------------------------------------------

    def _value(self, path: Path) -> tuple[int, int]:
        start = self.at
        sign = self.text[start]
        if sign in "\"'":
            self._string()
        elif sign == "[":
            self._list(path)
        elif sign == "{":
            self._table(path)
        else:
            while self.at < self.end and self.text[self.at] not in ",]}#\r\n":
                self.at += 1
            while self.text[self.at - 1] in " \t":
                self.at -= 1
        return start, self.at

    def _list(self, path: Path) -> None:
        self.at += 1
        count = 0
        while self._skip() and self.text[self.at] != "]":
            if self.text[self.at] == ",":
                self.at += 1
                continue
            span = self._value((*path, count))
            self.places.setdefault((*path, count), Place(span, span))
            count += 1
        self.at += 1

    def _table(self, path: Path) -> None:
        self.at += 1
        while self._skip() and self.text[self.at] != "}":
            if self.text[self.at] == ",":
                self.at += 1
                continue
            self._pair(path)
        self.at += 1

    def _string(self) -> None:
        mark = self.text[self.at]
        if self.text.startswith(mark * 3, self.at):
            self._long_string(mark)
            return
        self.at += 1
        while self.at < self.end and self.text[self.at] != mark:
            self.at += 2 if self.text[self.at] == "\\" and mark == '"' else 1
        self.at += 1

    def _long_string(self, mark: str) -> None:
        self.at += 3
        while self.at < self.end and not self.text.startswith(mark * 3, self.at):
            self.at += 2 if self.text[self.at] == "\\" and mark == '"' else 1
        self.at += 3
        while self.at < self.end and self.text[self.at] == mark:  # up to two marks may stand before the closing three
            self.at += 1
