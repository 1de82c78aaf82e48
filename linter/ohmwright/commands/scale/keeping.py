"""Pieces packed into bytes, and builds that are read from there when somebody asks, so that a run over many builds holds few of them at a time.

The first pieces that a process finds itself stay as they are, up to a bound: packing and reading them would cost a tenth of finding them. A packed piece has several parts, each compressed by itself: what stands beside the build, the build without its long lists, and each of these. A report
that only counts what passes never reads it.
"""

from __future__ import annotations

import json
import struct
import zlib
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import lru_cache
from typing import Any, TypeVar, overload

from ohmwright_grammar.records import record, replace

from ohmwright.commands.scale.coding import CodingError, read, written
from ohmwright.commands.scale.pieces import Elsewhere, Piece
from ohmwright.findings import DoesNotApply, Passed
from ohmwright.results import BuildResult, Kept
from ohmwright.values import Amount

__all__ = ["Builds", "Later", "Packed", "Shelf", "packed"]

T = TypeVar("T")
_LATER = ("passes", "does_not_apply", "yielded", "switched_off", "assumed")  # lists of a build that are read apart
_AS_THEY_ARE = 200_000  # outcomes in pieces that are not packed; each holds some 330 bytes
_IN_MEMORY = 32_000_000  # bytes of packed pieces; the rest lies in a file
_HEADS_KEPT = 6_000_000  # bytes of text from which builds were made that stay as they are
_LONGEST = 500_000_000  # bytes of one text: what a few bytes of a part that somebody sent could become has an end
_NOTHING: dict[str, Any] = dict.fromkeys(_LATER, ())
_Row = tuple[Any, ...]


def packed(piece: Piece) -> bytes:
    """Return a piece as bytes; CodingError where something in it cannot be written."""
    build = piece.build
    lists = {name: getattr(build, name) for name in _LATER}
    counts = [len(items) for items in lists.values()]
    head = replace(build, **_NOTHING)
    beside = (
        "" if piece.is_plain else written((piece.errors, [(e.path, e.title, e.problems) for e in piece.elsewhere], piece.own))
    )
    texts = [beside, written((counts, head))]
    for name, items in lists.items():
        texts.append("" if not items else _text_of(name, items))
    frames = [zlib.compress(text.encode("ascii"), 1) if text else b"" for text in texts]
    return struct.pack(f"<B{len(frames)}I", len(frames), *map(len, frames)) + b"".join(frames)


def _text_of(name: str, items: Sequence[Any]) -> str:
    """Return a long list as a text: what passes and what does not apply in rows of plain values, for there are hundreds in a build."""
    if name == "passes":
        rules = {id(kept.rule): kept.rule for kept in items}
        places = {key: place for place, key in enumerate(rules)}
        rows: list[_Row] = []
        for kept in items:
            told = kept.passed
            one, two = told.measured, told.limit
            measured = None if one is None else (one.value, one.dimension, one.unit)
            limit = None if two is None else (two.value, two.dimension, two.unit)
            rows.append((places[id(kept.rule)], told.grade, told.subject, measured, limit, told.sense, told.state))
        return _plain([written(tuple(rules.values()), by_name=True), rows])
    if name == "does_not_apply":
        return _plain([(rule, outcome.condition, outcome.count) for rule, outcome in items])
    return written(tuple(items), by_name=True)


def _plain(value: Any) -> str:
    try:
        return json.dumps(value, separators=(",", ":"))
    except (TypeError, ValueError) as error:
        raise CodingError(str(error)) from None


def _items_of(name: str, text: bytes) -> tuple[Any, ...]:
    if name == "passes":
        table, rows = json.loads(text)
        rules = read(table)
        return tuple(
            [
                Kept(
                    rules[place],
                    Passed(grade, tuple(subject), measured and Amount(*measured), limit and Amount(*limit), sense, state),
                )
                for place, grade, subject, measured, limit, sense, state in rows
            ]
        )
    if name == "does_not_apply":
        return tuple([(rule, _condition(words, count)) for rule, words, count in json.loads(text)])
    return tuple(read(text))


@lru_cache(4096)
def _condition(words: str, count: int) -> DoesNotApply:
    return DoesNotApply(words, count)


class Packed:
    """The parts of a packed piece."""

    __slots__ = ("_data", "_ends")

    def __init__(self, data: bytes) -> None:
        try:
            count = data[0]
            lengths = struct.unpack_from(f"<{count}I", data, 1)
        except (struct.error, IndexError):
            raise CodingError("a packed piece is damaged") from None
        start = 1 + 4 * count
        self._ends = [start]
        for length in lengths:
            self._ends.append(self._ends[-1] + length)
        if count != 2 + len(_LATER) or self._ends[-1] != len(data):
            raise CodingError("a packed piece is damaged")
        self._data = data

    def text(self, number: int) -> bytes:
        """Return the text of a part, b"" where it has none."""
        part = self._data[self._ends[number] : self._ends[number + 1]]
        if not part:
            return b""
        unpacking = zlib.decompressobj()
        try:
            text = unpacking.decompress(part, _LONGEST)
        except zlib.error:
            raise CodingError("a packed piece is damaged") from None
        if not unpacking.eof or unpacking.unused_data:
            raise CodingError("a packed piece is damaged, or too large")
        return text

    @property
    def is_plain(self) -> bool:
        """Tell whether there is nothing beside the build."""
        return self._ends[0] == self._ends[1]

    def build(self, again: Callable[[], Packed]) -> tuple[BuildResult, int]:
        """Return the build, whose long lists are read by `again` when somebody asks, and how long its text was."""
        text = self.text(1)
        try:
            counts, head = read(text)
            good = type(head) is BuildResult and len(counts) == len(_LATER) and min(counts) >= 0
        except (ValueError, TypeError):
            good = False
        if not good:
            raise CodingError("a packed piece holds no build")
        lists: dict[str, Any] = {
            name: Later(count, again, number) if count else ()
            for number, (name, count) in enumerate(zip(_LATER, counts, strict=True), 2)
        }
        return replace(head, **lists), len(text)

    def items(self, number: int) -> tuple[Any, ...]:
        """Return one of the long lists."""
        try:
            return _items_of(_LATER[number - 2], self.text(number))
        except (ValueError, TypeError, LookupError) as error:
            raise CodingError(f"a packed piece is damaged: {error}") from None

    def piece(self, again: Callable[[], Packed]) -> Piece:
        """Return the whole piece."""
        build, _ = self.build(again)
        if self.is_plain:
            return Piece(build)
        errors, elsewhere, own = read(self.text(0))
        return Piece(build, errors, tuple(Elsewhere(*item) for item in elsewhere), own)


class Later(Sequence[Any]):
    """A long list of a build: its length is known, what it holds is read anew each time that somebody asks."""

    __slots__ = ("_again", "_count", "_number")

    def __init__(self, count: int, again: Callable[[], Packed], number: int) -> None:
        self._count = count
        self._again = again
        self._number = number

    def __len__(self) -> int:
        return self._count

    def __iter__(self) -> Iterator[Any]:
        return iter(self._items())

    def __reversed__(self) -> Iterator[Any]:
        return iter(self._items()[::-1])  # read once, not once for each

    def __getitem__(self, place: Any) -> Any:
        return self._items()[place]

    def _items(self) -> tuple[Any, ...]:
        items = self._again().items(self._number)
        if len(items) != self._count:
            raise CodingError("a packed piece is damaged: a list is not as long as is said")
        return items


class Shelf:
    """Keeps pieces under numbers: some as they are, the rest packed, in memory, and beyond a bound in a temporary file, where one can be written."""

    def __init__(self, most: int = _IN_MEMORY, room: int = _AS_THEY_ARE) -> None:
        self._most = most
        self._room = room
        self._pieces: dict[int, Piece] = {}
        self._held: dict[int, bytes] = {}
        self._size = 0
        self._file: Any = None
        self._places: dict[int, tuple[int, int]] = {}
        self._full = False

    def lay(self, number: int, piece: Piece, anyway: bool = False) -> bool:
        """Keep a piece as it is where there is room for it, or `anyway`; tell whether it was kept."""
        build = piece.build
        outcomes = sum(map(len, (build.findings, build.not_checked, *(getattr(build, name) for name in _LATER))))
        if outcomes > self._room and not anyway:
            return False
        self._room -= outcomes
        self._pieces[number] = piece
        return True

    def put(self, number: int, data: bytes) -> None:
        """Keep a packed piece."""
        if self._size + len(data) > self._most and not self._full and self._put_away(number, data):
            return
        self._held[number] = data
        self._size += len(data)

    def _put_away(self, number: int, data: bytes) -> bool:
        try:
            if self._file is None:
                import tempfile

                self._file = tempfile.TemporaryFile(prefix="ohmwright-", buffering=0)  # noqa: SIM115 (open as long as the run)
            end = self._file.seek(0, 2)
            if self._file.write(data) != len(data):
                raise OSError("the disk is full")
        except OSError:
            self._full = True
            return False
        self._places[number] = end, len(data)
        return True

    def piece(self, number: int) -> Piece:
        """Return the piece that was kept under a number."""
        laid = self._pieces.get(number)
        return laid or self.packed(number).piece(lambda: self.packed(number))

    def build(self, number: int) -> tuple[BuildResult, int]:
        """Return the build of the piece that was kept under a number, and how long the text was that it was made of."""
        laid = self._pieces.get(number)
        return (laid.build, 0) if laid is not None else self.packed(number).build(lambda: self.packed(number))

    def packed(self, number: int) -> Packed:
        """Return the parts of the piece that was kept under a number."""
        return Packed(self.get(number))

    def get(self, number: int) -> bytes:
        """Return the bytes of the piece that was kept under a number."""
        laid = self._pieces.get(number)
        if laid is not None:
            return packed(laid)
        held = self._held.get(number)
        if held is not None:
            return held
        start, length = self._places[number]
        self._file.seek(start)
        data: bytes = self._file.read(length)
        return data


Change = Callable[[BuildResult], BuildResult]


@record
class _Place:
    """Where a build is: its number on the shelf, or itself, and how it is changed when it is made."""

    path: str
    what: int | BuildResult
    change: Change | None = None


class Builds(Sequence[BuildResult]):
    """Builds in their order, most of them packed: each is made when somebody asks, and the small ones stay."""

    def __init__(self, shelf: Shelf, places: Iterable[_Place] = (), heads: _Heads | None = None) -> None:
        self._heads = heads or _Heads(shelf)
        self._places = list(places)

    def add(self, path: str, what: int | BuildResult) -> None:
        """Take in a build by its number on the shelf, or as it is."""
        self._places.append(_Place(path, what))

    def sort(self) -> None:
        """Put builds in the order of their paths."""
        self._places.sort(key=lambda place: place.path)

    def changed(self, change: Change) -> Builds:
        """Return the same builds, each changed when it is made."""
        return Builds(self._heads.shelf, [_Place(place.path, place.what, change) for place in self._places], self._heads)

    def __add__(self, others: Builds) -> Builds:
        """Return these builds and others of the same shelf."""
        return Builds(self._heads.shelf, [*self._places, *others._places], self._heads)

    def __len__(self) -> int:
        return len(self._places)

    def __iter__(self) -> Iterator[BuildResult]:
        return map(self._get, self._places)

    @overload
    def __getitem__(self, place: int) -> BuildResult: ...
    @overload
    def __getitem__(self, place: slice) -> Sequence[BuildResult]: ...
    def __getitem__(self, place: int | slice) -> BuildResult | Sequence[BuildResult]:
        if isinstance(place, slice):
            return [self._get(item) for item in self._places[place]]
        return self._get(self._places[place])

    def _get(self, place: _Place) -> BuildResult:
        build = self._heads.build(place.what) if isinstance(place.what, int) else place.what
        return place.change(build) if place.change is not None else build


class _Heads:
    """Makes builds without their long lists; the small ones stay, up to a bound."""

    def __init__(self, shelf: Shelf) -> None:
        self.shelf = shelf
        self._made: dict[int, BuildResult] = {}
        self._room = _HEADS_KEPT

    def build(self, number: int) -> BuildResult:
        made = self._made.get(number)
        if made is None:
            made, size = self.shelf.build(number)
            if size <= self._room:
                self._room -= size
                self._made[number] = made
        return made
