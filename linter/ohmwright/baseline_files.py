"""The file of a baseline: read with a place for everything that is wrong with it, written sorted, one entry to a line.

The document is that of `schemas/baseline.json`; jsonschema is not needed to read it.
"""

from __future__ import annotations

import json
import stat
from bisect import bisect_right
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any, NoReturn

from ohmwright_grammar.spans import Span

from ohmwright.baselines import Baseline, key_of_entry
from ohmwright.judging import key_of
from ohmwright.results import Entry, fingerprint_of
from ohmwright.settings.model import Fault
from ohmwright.settings.reading import line_starts

__all__ = ["SCHEMA", "document_of", "read_baseline", "read_text"]

SCHEMA = 1
MOST_BYTES = 50_000_000
_TOP = ("ohmwright", "baseline", "states", "entries")
_SEVERITIES = ("error", "warning", "note")
_SENSES = ("at-most", "at-least")
_KEYS = ("path", "rule", "grade", "subject", "severity", "measured", "limit", "sense", "fingerprint")
_AGAIN = "Write it again with --write-baseline, or take it from the history of the repository."


def read_baseline(place: Path, file: str) -> tuple[Baseline, tuple[Fault, ...]]:
    """Read a baseline, and what is wrong with it; `file` is its name in results."""
    line, column, message = 1, 1, ""
    try:
        facts = place.stat()
        if not stat.S_ISREG(facts.st_mode):
            message = "This is no plain file."
        elif facts.st_size > MOST_BYTES:
            message = f"The baseline has {facts.st_size / 1e6:.0f} MB; at most {MOST_BYTES / 1e6:.0f} MB are read."
        else:
            data = place.read_bytes()
            try:
                text = data.decode("utf-8-sig")
            except UnicodeDecodeError as error:
                before = data[: error.start]
                line, column = before.count(b"\n") + 1, len(before) - before.rfind(b"\n")
                message = f"The bytes here are no UTF-8 (byte {error.start + 1} of the file)."
    except FileNotFoundError:
        message = "There is no such file. Write it with --write-baseline."
    except (OSError, ValueError, RuntimeError) as error:
        message = f"The baseline cannot be read: {getattr(error, 'strerror', None) or 'its name cannot be used'}."
    if message:
        return Baseline(file), (Fault(message, Span(file, line, column, line, column + 1)),)
    return read_text(text, file)


def read_text(text: str, file: str) -> tuple[Baseline, tuple[Fault, ...]]:
    """Read the text of a baseline."""
    reader = _Reader(text, file)
    try:
        entries = reader.entries()
    except _DamagedError as damaged:
        return Baseline(file), (damaged.fault,)
    except json.JSONDecodeError as error:
        words = error.msg.removesuffix(" at").removesuffix(" starting")
        return Baseline(file), (reader.fault(error.pos, f"This is no JSON: {words[:1].lower()}{words[1:]}."),)
    except RecursionError:
        return Baseline(file), (reader.fault(0, "The baseline is nested too deeply to be read."),)
    return Baseline(file, entries, states=reader.states), ()


class _DamagedError(Exception):
    """Something in a baseline that cannot be used."""

    def __init__(self, fault: Fault) -> None:
        super().__init__(str(fault))
        self.fault = fault


def _no_number(word: str) -> NoReturn:
    raise ValueError(word)


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise ValueError("twice")
    return found


class _Reader:
    """Reads the document piece by piece, so that the place of every entry is known."""

    def __init__(self, text: str, file: str) -> None:
        self.text = text
        self.file = file
        self.at = 0
        self.states = "declared"
        self.lines = line_starts(text)
        self.decoder = json.JSONDecoder(parse_constant=_no_number, object_pairs_hook=_once)

    def fault(self, at: int, message: str) -> Fault:
        line, column = self._position(at)
        return Fault(message, Span(self.file, line, column, line, column + 1), _AGAIN)

    def _position(self, at: int) -> tuple[int, int]:
        line = bisect_right(self.lines, at)
        return line, at - self.lines[line - 1] + 1

    def entries(self) -> dict[tuple[str, ...], Entry]:
        """Return every entry by its key."""
        found: dict[tuple[str, ...], Entry] = {}
        keys: set[str] = set()
        for _ in self._items("{", "}"):
            start = self.at
            key = self._value()
            self._sign(":")
            if not isinstance(key, str) or key in keys or key not in _TOP:
                self._refuse(start, f"The key {str(key)[:40]!r} does not belong here.")
            keys.add(key)
            self._blanks()
            if key == "entries":
                self._entries(found)
                continue
            start = self.at
            value = self._value()
            if key == "baseline" and (value != SCHEMA or isinstance(value, bool)):
                self._refuse(start, f"This program reads version {SCHEMA} of baselines; this one has {str(value)[:40]!r}.")
            if key == "ohmwright" and not isinstance(value, str):
                self._refuse(start, "'ohmwright' is the version of the program that wrote the baseline, a text.")
            if key == "states":
                if value not in ("declared", "reached"):
                    self._refuse(start, "'states' is declared or reached.")
                self.states = value
        self._blanks()
        if self.at < len(self.text):
            self._refuse(self.at, "Something follows after the end of the baseline.")
        for key in ("baseline", "states", "entries"):
            if key not in keys:
                self._refuse(0, f"The baseline has no {key!r}.")
        return found

    def _entries(self, found: dict[tuple[str, ...], Entry]) -> None:
        for _ in self._items("[", "]"):
            start = self.at
            value = self._value()
            line, column = self._position(start)
            wrong = _wrong(value)
            if wrong:
                self._refuse(start, wrong)
            entry = _entry(value, Span(self.file, line, column, line, column + self.at - start))
            key = key_of_entry(entry)
            if fingerprint_of(key) != value["fingerprint"]:
                self._refuse(
                    start, "The fingerprint is not that of this path, rule, grade and subject: the entry was changed by hand."
                )
            if key in found:
                self._refuse(start, f"The entry stands on line {found[key].span.line} already.")
            found[key] = entry

    # pieces --------------------------------------------------------------------------------------------------------

    def _items(self, first: str, last: str) -> Iterator[None]:
        """Stop before every item of an object or a list."""
        self._sign(first)
        self._blanks()
        if self.text.startswith(last, self.at):
            self.at += 1
            return
        while True:
            self._blanks()
            yield None
            self._blanks()
            if self.text.startswith(last, self.at):
                self.at += 1
                return
            self._sign(",")

    def _blanks(self) -> None:
        while self.at < len(self.text) and self.text[self.at] in " \t\r\n":
            self.at += 1

    def _sign(self, sign: str) -> None:
        self._blanks()
        if not self.text.startswith(sign, self.at):
            found = repr(self.text[self.at]) if self.at < len(self.text) else "the end of the file"
            self._refuse(min(self.at, max(len(self.text) - 1, 0)), f"{sign!r} should stand here, not {found}.")
        self.at += 1

    def _value(self) -> Any:
        try:
            value, self.at = self.decoder.raw_decode(self.text, self.at)
        except json.JSONDecodeError:
            raise
        except ValueError as error:
            what = "A key is given twice" if str(error) == "twice" else "A number cannot be read"
            self._refuse(self.at, f"{what} in what begins here.")
        return value

    def _refuse(self, at: int, message: str) -> NoReturn:
        raise _DamagedError(self.fault(at, message))


def _wrong(value: Any) -> str:
    """Return what is wrong with an entry, "" where nothing is."""
    if not isinstance(value, dict):
        return "An entry is an object between braces."
    missing = [key for key in _KEYS if key not in value]
    if missing:
        return f"The entry has no {', '.join(repr(key) for key in missing)}."
    more = sorted(set(value) - set(_KEYS))
    if more:
        return f"The entry has a key that is not known: {more[0][:40]!r}."
    for key in ("path", "rule", "grade", "fingerprint"):
        if not isinstance(value[key], str) or not value[key]:
            return f"The {key} of the entry is no text."
    names = value["subject"]
    if not isinstance(names, list) or not names or not all(isinstance(name, str) and name for name in names):
        return "The subject of the entry is no list of names."
    if value["severity"] not in _SEVERITIES:
        return f"The severity of the entry is none of {', '.join(_SEVERITIES)}."
    if value["sense"] not in _SENSES:
        return f"The sense of the entry is none of {', '.join(_SENSES)}."
    return next(
        (f"The {key} of the entry is no value with a unit." for key in ("measured", "limit") if not _is_amount(value[key])), ""
    )


def _is_amount(value: Any) -> bool:
    if value is None:
        return True
    if not isinstance(value, dict) or set(value) != {"value", "unit"}:
        return False
    number, unit = value["value"], value["unit"]
    if isinstance(number, bool) or not isinstance(number, int | float) or not isinstance(unit, str) or not unit:
        return False
    try:
        return abs(float(number)) < float("inf")
    except OverflowError:
        return False


def _entry(value: Mapping[str, Any], span: Span) -> Entry:
    def amount(key: str) -> tuple[float, str] | None:
        return None if value[key] is None else (float(value[key]["value"]), value[key]["unit"])

    subject = tuple(sorted(set(value["subject"])))
    return Entry(
        value["path"],
        value["rule"],
        value["grade"],
        subject,
        value["severity"],
        amount("measured"),
        amount("limit"),
        value["sense"],
        span,
    )


# writing -------------------------------------------------------------------------------------------------------------


def document_of(entries: Iterable[Entry], version: str, states: str) -> str:
    """Return the text of a baseline: sorted by path, rule, grade and subject, one entry to a line, in plain ASCII."""
    ordered = sorted(entries, key=lambda entry: (entry.path, entry.rule, entry.grade, entry.subject))
    lines = ",\n".join(f"  {json.dumps(_plain(entry))}" for entry in ordered)
    rows = f"[\n{lines}\n ]" if lines else "[]"
    return f'{{\n "ohmwright": {json.dumps(version)},\n "baseline": {SCHEMA},\n "states": {json.dumps(states)},\n "entries": {rows}\n}}\n'


def _plain(entry: Entry) -> dict[str, Any]:
    return {
        "path": entry.path,
        "rule": entry.rule,
        "grade": entry.grade,
        "subject": list(entry.subject),
        "severity": entry.severity,
        "measured": _amount(entry.measured),
        "limit": _amount(entry.limit),
        "sense": entry.sense,
        "fingerprint": fingerprint_of(key_of(entry.path, entry.rule, entry.grade, entry.subject)),
    }


def _amount(amount: tuple[float, str] | None) -> dict[str, Any] | None:
    return None if amount is None else {"value": amount[0], "unit": amount[1]}
