"""A part of a run, written to a file, and parts joined to the run that they are parts of.

Lines of text: what the run was, each file with its packed piece, each text that reports tell places of, and at the end a digest of all before it. A reader
makes nothing but the records of results: see `coding`.
"""

from __future__ import annotations

import base64
import binascii
import hashlib
import json
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any

from ohmwright_grammar.records import record, replace

from ohmwright import __version__
from ohmwright.commands.common import StoppedError, complain
from ohmwright.commands.scale.cache import code_digest
from ohmwright.commands.scale.coding import CodingError, read, written
from ohmwright.commands.scale.keeping import Packed, Shelf
from ohmwright.commands.scale.running import joined_builds, reader_of
from ohmwright.commands.scale.sharing import Share, complete
from ohmwright.commands.terms import Group, counted_again, files_told, home_below
from ohmwright.findings import Severity
from ohmwright.results import Home, Result, SettingsTold
from ohmwright.rules import installed_packs
from ohmwright.writing import write_whole

__all__ = ["Joined", "JoinedGroup", "join", "write_part"]

_FORM = "ohmwright part 1"
_HEAD = frozenset({"version", "code", "today", "share", "wrong", "groups", "usual"})


def write_part(
    file: str,
    share: Share,
    done: Sequence[tuple[Group, Result]],
    pieces: Iterable[tuple[int, str, bytes]],
    wrong: bool,
    usual: Sequence[Any],
) -> bool:
    """Write what a run found; tell whether that could be done. `usual` is what the settings say of outputs."""
    groups = []
    texts: list[tuple[int, str, str]] = []
    for number, (group, result) in enumerate(done):
        held = [home_below(group.gathered.root), int(group.bar), group.require_checked, tuple(result.settings)]
        groups.append(written(tuple(held)))
        text = reader_of(group.gathered.root)
        texts.extend((number, path, text(path)) for path in sorted(set(files_told(result))))
    first = done[0][1]
    head = {
        "version": __version__, "code": code_digest(installed_packs()), "today": first.today, "share": list(share), "wrong": wrong,
        "groups": groups, "usual": list(usual),
    }  # fmt: skip
    try:
        problem = write_whole(Path(file), _lines(head, pieces, texts))
    except CodingError as error:
        problem = f"{file} cannot be written: {error}"
    if problem:
        complain(problem)
    return not problem


def _lines(
    head: dict[str, Any], pieces: Iterable[tuple[int, str, bytes]], texts: Iterable[tuple[int, str, str]]
) -> Iterator[str]:
    digest = hashlib.sha256()

    def line(*what: Any) -> str:
        text = json.dumps(what) + "\n"
        digest.update(text.encode("ascii"))
        return text

    yield line(_FORM, head)
    for group, path, data in pieces:
        yield line("file", group, path, base64.b85encode(data).decode("ascii"))
    for group, path, text in texts:
        yield line("text", group, path, text)
    yield json.dumps(["end", digest.hexdigest()]) + "\n"


@record
class JoinedGroup:
    """The builds of one root, and the terms that held for them."""

    result: Result
    bar: Severity
    require_checked: bool
    is_empty: bool


@record
class Joined:
    """A run that was put together; `wrong` tells that one of its parts could not use everything, `usual` what the settings say of outputs."""

    groups: tuple[JoinedGroup, ...]
    wrong: bool
    usual: tuple[Any, ...]


def join(files: Sequence[str], bar: Severity | None) -> Joined:
    """Read parts and put them together; StoppedError where one is damaged or missing, or where they are not of one run.

    CodingError, here or when a report asks for more, where what a part holds is none of ours.
    """
    shelf = Shelf()
    heads: dict[str, dict[str, Any]] = {}
    pieces: list[tuple[int, str, int, bool]] = []
    texts: dict[tuple[int, str], str] = {}
    for file in files:
        try:
            heads[file] = _read_part(file, shelf, pieces, texts)
        except OSError as error:
            raise StoppedError(f"{file} cannot be read: {error.strerror or error}") from None
        except (ValueError, TypeError, LookupError, RecursionError, CodingError, binascii.Error):
            raise StoppedError(f"{file} is no part of a run, or it is damaged") from None
    _hold_together(heads)
    first = next(iter(heads.values()))
    terms = [read(words) for words in first["groups"]]
    groups = tuple(_group(number, held, first, shelf, pieces, texts, bar) for number, held in enumerate(terms))
    return Joined(groups, any(head["wrong"] for head in heads.values()), tuple(first["usual"]))


def _read_part(
    file: str, shelf: Shelf, pieces: list[tuple[int, str, int, bool]], texts: dict[tuple[int, str], str]
) -> dict[str, Any]:
    digest = hashlib.sha256()
    head: dict[str, Any] = {}
    sealed = False
    with open(file, "rb") as stream:
        for number, line in enumerate(stream):
            what, *rest = json.loads(line)
            if sealed or (number == 0) != (what == _FORM):
                raise ValueError
            if what == "end":
                sealed = rest == [digest.hexdigest()]
                if not sealed:
                    raise ValueError
                continue
            digest.update(line)
            if what == _FORM:
                (head,) = rest
            elif what == "file":
                group, path, data = rest
                whole = base64.b85decode(data)
                packed = Packed(whole)
                shelf.put(len(pieces), whole)
                pieces.append((int(group), str(path), len(pieces), packed.is_plain))
            else:
                group, path, text = rest
                texts[int(group), str(path)] = str(text)
    if not sealed or head.keys() != _HEAD or [type(number) for number in head["share"]] != [int, int]:
        raise ValueError
    for words in head["groups"]:
        _, _, _, settings = read(words)
        if any(type(told) is not SettingsTold for told in settings):
            raise ValueError
    return head


def _hold_together(heads: dict[str, dict[str, Any]]) -> None:
    """Make sure that parts are all those of one run."""
    first_file, first = next(iter(heads.items()))
    if first["version"] != __version__ or first["code"] != code_digest(installed_packs()):
        raise StoppedError(f"{first_file} was written by another version of the program or its rules")
    for file, head in heads.items():
        if (
            any(head[name] != first[name] for name in ("version", "code", "today", "usual"))
            or head["share"][1] != first["share"][1]
        ):
            raise StoppedError(f"{file} and {first_file} are not of one run: program, day or number of shares differ")
        if _terms(head) != _terms(first):
            raise StoppedError(f"{file} and {first_file} are not of one run: settings, baseline or left-out files differ")
    complete({file: (head["share"][0], head["share"][1]) for file, head in heads.items()})


def _terms(head: dict[str, Any]) -> list[Any]:
    """Return what must be the same in all parts: what was counted in one of them is not."""
    found: list[Any] = []
    for words in head["groups"]:
        below, bar, require_checked, settings = read(words)
        plain = tuple(
            replace(told, held=0, grades=tuple(replace(grade, count=0) for grade in told.grades)) for told in settings
        )
        found.append((below, bar, require_checked, plain))
    return found


def _group(
    number: int, held: Sequence[Any], head: dict[str, Any], shelf: Shelf, pieces: Sequence[tuple[int, str, int, bool]],
    texts: dict[tuple[int, str], str], bar: Severity | None,
) -> JoinedGroup:  # fmt: skip
    below, own_bar, require_checked, settings = held
    bar = bar or Severity(own_bar)
    mine = sorted((path, place, is_plain) for group, path, place, is_plain in pieces if group == number)
    if len({path for path, *_ in mine}) < len(mine):
        raise StoppedError("one file is in two parts: they are not of one run")
    builds, errors = joined_builds(shelf, mine)
    home = Home(below, lambda path: texts.get((number, path), ""))
    packs = tuple((pack.name, pack.version) for pack in installed_packs())
    result = Result(__version__, head["today"], packs, builds.changed(lambda build: replace(build, bar=bar, home=home)), errors)
    result = replace(result, settings=tuple(counted_again(told, result) for told in settings))
    return JoinedGroup(result, bar, require_checked, not mine)
