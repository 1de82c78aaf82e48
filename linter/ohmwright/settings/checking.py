"""Holding a document of settings against the keys that there are, by own code: the same that `schemas/settings.json` says, with places and near names."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Literal, NamedTuple

from ohmwright_grammar.diagnostics import names_near

from ohmwright.settings.locating import Path

__all__ = ["KEYS", "MOST_ENTRIES", "Key", "Wrong", "check", "path_fault"]

MOST_ENTRIES = 1000  # of one list

Kind = Literal["word", "choice", "flag", "path", "pattern", "paths", "table", "entries"]


class Key(NamedTuple):
    """One key: what its value is, and which values or keys it may have."""

    kind: Kind
    choices: tuple[str, ...] = ()
    keys: Mapping[str, Key] = {}
    needed: tuple[str, ...] = ()  # keys that an entry must have
    one_of: tuple[str, ...] = ()  # keys of which an entry must have exactly one


class Wrong(NamedTuple):
    """Something wrong at a place of the document; `at_key` where the key is, not its value."""

    path: Path
    at_key: bool
    message: str
    remedy: str = ""


_SEVERITIES = ("error", "warning", "note")
_BECAUSE = Key("word")

KEYS: dict[str, Key] = {
    "basis": Key("word"),
    "bar": Key("choice", _SEVERITIES),
    "require-checked": Key("flag"),
    "states": Key("choice", ("declared", "reached")),
    "site": Key("word"),
    "builds": Key("paths"),
    "baseline": Key("path"),
    "cache": Key("path"),
    "left-out": Key(
        "entries",
        keys={"path": Key("pattern"), "family": Key("word"), "because": _BECAUSE},
        needed=("because",),
        one_of=("path", "family"),
    ),
    "grades": Key(
        "entries",
        keys={"grade": Key("word"), "severity": Key("choice", (*_SEVERITIES, "off")), "because": _BECAUSE},
        needed=("grade", "severity", "because"),
    ),
    "accepted": Key(
        "entries",
        keys={"build": Key("pattern"), "waiver": Key("word"), "because": _BECAUSE},
        needed=("build", "waiver", "because"),
    ),
    "output": Key("table", keys={"format": Key("word"), "working": Key("flag"), "assumed": Key("flag")}),
}

_WANTED: dict[str, str] = {
    "word": "a text between quotation marks",
    "choice": "a text between quotation marks",
    "flag": "true or false, without quotation marks",
    "path": "a path between quotation marks",
    "pattern": "a path between quotation marks",
    "paths": 'a list of paths, such as ["cabin", "boats/ferry.rig"]',
    "table": "a table of its own",
    "entries": "a row of entries",
}


def check(document: Mapping[str, Any]) -> Iterator[Wrong]:
    """Yield everything that is wrong with a document: unknown keys, values of the wrong kind, values that cannot be, what is missing."""
    yield from _table(document, KEYS, (), "setting")


def _table(table: Mapping[str, Any], keys: Mapping[str, Key], path: Path, what: str) -> Iterator[Wrong]:
    for name, value in table.items():
        key = keys.get(name)
        if key is None:
            near = names_near(name, keys, "Settings" if not path else "Keys")
            where = "" if not path else f" in {_words(path).replace('E', 'e', 1)}"
            listed = f"{'Settings' if not path else 'Keys'}: {', '.join(keys)}."
            yield Wrong(
                (*path, name), True, f"There is no {what} {name[:60]!r}{where}.", near or _elsewhere(name, path) or listed
            )
        else:
            yield from _value(value, key, (*path, name))


def _elsewhere(name: str, path: Path) -> str:
    """Return the right place of a key that stands in the wrong table, "" where there is none."""
    if not path:
        tables = [table for table, key in KEYS.items() if name in key.keys and name != "because"]
        return f"It belongs into {' or '.join(repr(table) for table in tables)}." if tables else ""
    return f"{name!r} stands before the first table." if name in KEYS else ""


def _value(value: Any, key: Key, path: Path) -> Iterator[Wrong]:
    name = str(path[-1])
    if key.kind == "table":
        if isinstance(value, dict):
            yield from _table(value, key.keys, path, "key")
        else:
            yield _kind(value, key, path)
    elif key.kind == "entries":
        yield from _entries(value, key, path)
    elif key.kind == "paths":
        if not isinstance(value, list):
            yield _kind(value, key, path)
        elif not value:
            yield Wrong(path, False, f"{name!r} names nothing.", "Name a file or a folder, or take the line out.")
        elif len(value) > MOST_ENTRIES:
            yield _too_many(value, path)
        else:
            for number, item in enumerate(value):
                yield from _value(item, Key("path"), (*path, number))
    elif key.kind == "flag":
        if type(value) is not bool:
            yield _kind(value, key, path)
    elif not isinstance(value, str):
        yield _kind(value, key, path)
    elif not value.strip() or "\0" in value:
        yield Wrong(
            path, False, f"{_words(path)} is empty." if not value.strip() else f"{_words(path)} holds a byte of value zero."
        )
    elif key.kind == "choice" and value not in key.choices:
        near = names_near(value, key.choices, "Values")
        yield Wrong(path, False, f"{_words(path)} cannot be {value[:60]!r}.", near or f"Values: {', '.join(key.choices)}.")
    elif key.kind in ("path", "pattern"):
        fault = path_fault(value)
        if fault:
            yield Wrong(path, False, f"{value[:60]!r} {fault}.", 'Write a path from the folder of the settings, with "/".')


def _entries(value: Any, key: Key, path: Path) -> Iterator[Wrong]:
    name = str(path[-1])
    if not isinstance(value, list) or not all(isinstance(item, dict) for item in value):
        example = "\n".join(f"{needed} = …" for needed in (*key.one_of[:1], *key.needed))
        yield Wrong(
            path,
            False,
            f"{name!r} is {_WANTED['entries']}; this is {_kind_of(value)}.",
            f"Write: [[{name}]], then {example}".replace("\n", ", "),
        )
        return
    if len(value) > MOST_ENTRIES:
        yield _too_many(value, path)
        return
    for number, item in enumerate(value):
        here = (*path, number)
        yield from _table(item, key.keys, here, "key")
        for needed in key.needed:
            if needed not in item:
                yield Wrong(here, True, f"{_words(here)} does not say {needed!r}.", f'Add: {needed} = "…"')
        given = [word for word in key.one_of if word in item]
        if key.one_of and len(given) != 1:
            choices = " or ".join(repr(word) for word in key.one_of)
            fault = (
                f"says neither {' nor '.join(repr(word) for word in key.one_of)}"
                if not given
                else f"says both {' and '.join(repr(word) for word in given)}"
            )
            yield Wrong(here, True, f"{_words(here)} {fault}.", f"Each entry has either {choices}.")


def _too_many(value: list[Any], path: Path) -> Wrong:
    return Wrong(path, False, f"{str(path[-1])!r} has {len(value):,} entries; at most {MOST_ENTRIES:,} are read.")


def path_fault(path: str) -> str:
    """Return what keeps a path from staying below the folder that it counts from, "" where nothing does."""
    if "\\" in path:
        return "is written with a backslash"
    if path.startswith(("/", "~")) or path[1:2] == ":":
        return "is no path from a folder"
    if ".." in path.split("/"):
        return "leads out of the folder"
    return "" if path.isprintable() else "holds a character that cannot be printed"


def _kind(value: Any, key: Key, path: Path) -> Wrong:
    wanted = _WANTED[key.kind]
    remedy = f"Values: {', '.join(key.choices)}." if key.choices else ""
    if key.kind == "flag" and isinstance(value, str) and value.lower() in ("true", "false"):
        remedy = f"Write: {path[-1]} = {value.lower()}"
    return Wrong(path, False, f"{_words(path)} takes {wanted}; this is {_kind_of(value)}.", remedy)


def _kind_of(value: Any) -> str:
    if isinstance(value, bool):
        return "true or false"
    if isinstance(value, int | float):
        return "a number"
    if isinstance(value, str):
        return "a text"
    if isinstance(value, list):
        return "a list"
    if isinstance(value, dict):
        return "a table"
    return "a date or a time"


def _words(path: Path) -> str:
    """Return how a place of the document is named in a message.

    >>> _words(("left-out", 1, "path")), _words(("bar",))
    ("'path' of entry 2 of 'left-out'", "'bar'")
    """
    words = [f"entry {piece + 1}" if isinstance(piece, int) else repr(piece) for piece in reversed(path)]
    words[0] = words[0][:1].upper() + words[0][1:]
    return " of ".join(words)
