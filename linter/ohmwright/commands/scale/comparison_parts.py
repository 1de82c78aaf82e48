"""A share of a comparison, written to a file, and shares joined."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from ohmwright import __version__
from ohmwright.commands.common import StoppedError, complain
from ohmwright.commands.comparing_sides import Found
from ohmwright.commands.scale.cache import code_digest
from ohmwright.commands.scale.coding import CodingError, also, read, written
from ohmwright.commands.scale.sharing import Share, complete
from ohmwright.comparing import model
from ohmwright.rules import installed_packs
from ohmwright.writing import write_whole

__all__ = ["join", "write_part"]

_FORM = "ohmwright part of a comparison 1"
also(
    model.Judgement, model.FindingChange, model.UncheckedChange, model.Move, model.Row, model.ThingChange, model.PromiseChange, model.BuildChange,
    model.SideTold, model.Comparison, Found,
)  # fmt: skip


def write_part(file: str, share: Share, found: Found) -> bool:
    """Write what was found of a share; tell whether that could be done."""
    head = json.dumps([_FORM, __version__, code_digest(installed_packs()), share])
    try:
        body = written(found, by_name=True)
    except CodingError as error:
        complain(f"{file} cannot be written: {error}")
        return False
    digest = hashlib.sha256(f"{head}\n{body}".encode("ascii")).hexdigest()
    problem = write_whole(Path(file), f"{head}\n{body}\n{digest}\n")
    if problem:
        complain(problem)
    return not problem


def join(files: Sequence[str]) -> list[Found]:
    """Read the shares of a comparison; StoppedError where one is damaged or missing, or where they are not of one comparison."""
    found: dict[int, Found] = {}
    shares: dict[str, Share] = {}
    code = code_digest(installed_packs())
    for file in files:
        try:
            form, version, their_code, share, item = _read_part(file)
        except OSError as error:
            raise StoppedError(f"{file} cannot be read: {error.strerror or error}") from None
        except (ValueError, TypeError, LookupError, RecursionError, CodingError):
            raise StoppedError(f"{file} is no part of a comparison, or it is damaged") from None
        if (form, version, their_code) != (_FORM, __version__, code):
            raise StoppedError(f"{file} was written by another version of the program or its rules")
        shares[file] = share
        found[share[0]] = item
    complete(shares)
    parts = [found[number] for number in sorted(found)]
    if any(item.comparison != parts[0].comparison or item.wrong != parts[0].wrong for item in parts):
        raise StoppedError("the parts are not of one comparison: sides, terms or what changes the judgement differ")
    return parts


def _read_part(file: str) -> tuple[str, str, str, Share, Found]:
    with open(file, encoding="ascii") as stream:
        head, body, digest, *rest = stream.read().split("\n")
    if rest != [""] or hashlib.sha256(f"{head}\n{body}".encode("ascii")).hexdigest() != digest:
        raise ValueError
    form, version, code, (number, count) = json.loads(head)
    item: Any = read(body)
    if type(item) is not Found:
        raise ValueError
    return form, version, code, (int(number), int(count)), item
