"""Reading a file of settings: text to a checked record, or everything that is wrong with it, each with line and column."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping
from typing import Any

from ohmwright_grammar.diagnostics import Diagnostic
from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Span

from ohmwright.settings.checking import Wrong, check
from ohmwright.settings.locating import Path, Place, locate
from ohmwright.settings.model import Accepted, Fault, GradeChange, LeftOut, Settings

__all__ = ["MOST_BYTES", "Read", "as_faults", "line_starts", "read"]

MOST_BYTES = 200_000
MOST_FAULTS = 50  # told of one file
_MOST_PARTS = 100  # points in one key; the standard reader's work grows with their square, and its memory too


@record
class Read:
    """What came of reading a file: its settings, or what is wrong; neither where a shared file says nothing of us. `legible` tells whether it is TOML at all."""

    settings: Settings | None
    faults: tuple[Fault, ...] = ()
    legible: bool = True


def as_faults(problems: tuple[Diagnostic, ...]) -> tuple[Fault, ...]:
    """Return what kept a file from being read."""
    return tuple(Fault(problem.message, problem.span, problem.remedy) for problem in problems)


def read(text: str, file: str, *, shared: bool = False, folder: str = "") -> Read:
    """Read settings; of a shared file (pyproject.toml) only its table `tool.ohmwright`."""
    if len(text) > MOST_BYTES:
        message = f"The file has {len(text) / 1e6:.2g} MB; at most {MOST_BYTES / 1e6:g} MB of settings are read."
        return _illegible(message, file, 1)
    line = _long_key(text)
    if line is not None:
        return _illegible(f"More than {_MOST_PARTS} points stand in one key or value here.", file, line)
    import tomllib  # costs as much as reading a small build: only where there are settings

    try:
        document: Any = tomllib.loads(text)
        places = _Places(text, file, ("tool", "ohmwright") if shared else (), lambda raw: str(tomllib.loads(f"x = {raw}")["x"]))
        return _checked(document, places, file, folder)
    except (tomllib.TOMLDecodeError, ValueError) as error:
        return Read(None, (_no_toml(str(error), text, file),), False)
    except RecursionError:
        return _illegible("More brackets stand inside each other here than can be read.", file, _deepest(text))


def _illegible(message: str, file: str, line: int) -> Read:
    return Read(None, (Fault(message, Span(file, line, 1, line, 2)),), False)


def _checked(document: Any, places: _Places, file: str, folder: str) -> Read:
    for name in places.above:
        if not isinstance(document, dict) or name not in document:
            return Read(None)
        document = document[name]
    if not isinstance(document, dict):
        return Read(None, (Fault("'tool.ohmwright' is a table; this is not.", places.value(())),))
    wrong = list(check(document))
    if wrong:
        return Read(None, places.faults(wrong))
    return Read(_settings(document, places, file, folder))


def _settings(document: Mapping[str, Any], places: _Places, file: str, folder: str) -> Settings:
    output = document.get("output", {})
    site = document.get("site", "")
    return Settings(
        file=file,
        folder=folder,
        basis=document.get("basis", ""),
        bar=document.get("bar", ""),
        require_checked=document.get("require-checked"),
        states=document.get("states", ""),
        site=site,
        builds=tuple(document.get("builds", ())),
        baseline=document.get("baseline", ""),
        cache=document.get("cache", ""),
        left_out=tuple(
            LeftOut(what, item[what], " ".join(item["because"].split()), places.value(("left-out", number, what)))
            for number, item in enumerate(document.get("left-out", ()))
            for what in ("path", "family")
            if what in item
        ),
        grades=tuple(
            GradeChange(
                item["grade"],
                item["severity"],
                " ".join(item["because"].split()),
                places.value(("grades", number, "grade")),
            )
            for number, item in enumerate(document.get("grades", ()))
        ),
        accepted=tuple(
            Accepted(
                item["build"],
                " ".join(item["waiver"].split()),
                " ".join(item["because"].split()),
                places.value(("accepted", number, "waiver")),
            )
            for number, item in enumerate(document.get("accepted", ()))
        ),
        format=output.get("format", ""),
        working=output.get("working"),
        assumed=output.get("assumed"),
        spans=places.spans(),
        site_text=places.words(("site",), site) if site else None,
    )


class _Places:
    """Lines and columns of one file, looked for once somebody asks."""

    def __init__(self, text: str, file: str, above: Path, unescaped: Any) -> None:
        self.text = text
        self.file = file
        self.above = above
        self.unescaped = unescaped
        self._known: dict[Path, Place] | None = None
        self._lines: list[int] = []

    def _place(self, path: Path) -> Place:
        if self._known is None:
            self._known = locate(self.text, self.unescaped)
        path = (*self.above, *path)
        while path and path not in self._known:
            path = path[:-1]
        return self._known[path] if path else Place((0, 1), (0, 1))

    def _span(self, start: int, end: int) -> Span:
        if not self._lines:
            self._lines = line_starts(self.text)
        line, last = bisect_right(self._lines, start), bisect_right(self._lines, end)
        return Span(self.file, line, start - self._lines[line - 1] + 1, last, end - self._lines[last - 1] + 1)

    def key(self, path: Path) -> Span:
        return self._span(*self._place(path).key)

    def value(self, path: Path) -> Span:
        return self._span(*self._place(path).value)

    def spans(self) -> dict[Path, Span]:
        """Return the place of every value of ours."""
        self._place(())
        assert self._known is not None
        depth = len(self.above)
        return {path[depth:]: self._span(*place.value) for path, place in self._known.items() if path[:depth] == self.above}

    def words(self, path: Path, value: str) -> tuple[Span, bool]:
        """Return where the words of a text stand, without its marks, and whether they stand there letter by letter (no escapes)."""
        start, end = self._place(path).value
        raw = self.text[start:end]
        marks = 3 if raw[:3] in ('"""', "'''") and len(raw) >= 6 else 1
        start, end = start + marks, end - marks
        if marks == 3 and self.text.startswith("\n", start):
            start += 1  # the line end right after the opening marks is no part of the text
        if self.text[start:end] == value:
            return self._span(start, end), True
        return self.value(path), False

    def faults(self, wrong: list[Wrong]) -> tuple[Fault, ...]:
        found = [
            Fault(item.message, self.key(item.path) if item.at_key else self.value(item.path), item.remedy)
            for item in wrong[:MOST_FAULTS]
        ]
        found.sort(key=lambda fault: fault.span)
        if len(wrong) > MOST_FAULTS:
            found.append(Fault(f"{len(wrong) - MOST_FAULTS:,} more settings are wrong.", Span(self.file, 1, 1, 1, 2)))
        return tuple(found)


def line_starts(text: str) -> list[int]:
    """Return the offset at which each line of a text begins."""
    starts = [0]
    at = text.find("\n")
    while at >= 0:
        starts.append(at + 1)
        at = text.find("\n", at + 1)
    return starts


def _position(text: str, at: int) -> tuple[int, int]:
    return text.count("\n", 0, at) + 1, at - (text.rfind("\n", 0, at) + 1) + 1


def _long_key(text: str) -> int | None:
    """Return on which line a key has so many parts that the standard reader would take minutes over it, None where none has."""
    if text.count(".") <= _MOST_PARTS:
        return None
    for number, line in enumerate(text.split("\n"), 1):
        long = line.count(".") > _MOST_PARTS and not line.lstrip().startswith("#")
        if long and any(piece.count(".") > _MOST_PARTS for piece in line.split("=")):
            return number
    return None


def _deepest(text: str) -> int:
    """Return the line with the most brackets."""
    lines = text.split("\n")
    return max(range(len(lines)), key=lambda number: lines[number].count("[") + lines[number].count("{")) + 1


_PLAINER = {  # words of the standard reader that a builder may not understand
    "Exceeds the limit": "a number is too long to be read",
    "Cannot overwrite a value": "a key is given twice",
    "Cannot declare": "a table is given twice",
}


def _no_toml(words: str, text: str, file: str) -> Fault:
    """Return what the standard reader found wrong, at its place (its message ends with it)."""
    import re

    found = re.search(r" \(at line (\d+), column (\d+)\)$", words)
    if found is not None:
        line, column = int(found[1]), int(found[2])
    else:
        line, column = _position(text, len(text.rstrip("\n")))
    reason = re.sub(r" \(at [^()]*\)$", "", words)
    reason = next((plain for start, plain in _PLAINER.items() if reason.startswith(start)), reason[:1].lower() + reason[1:160])
    return Fault(
        f"This is no TOML: {reason}.", Span(file, line, column, line, column + 1), 'A setting is written: bar = "warning"'
    )
