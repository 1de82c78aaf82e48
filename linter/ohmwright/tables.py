"""Published tables: a CSV file of figures and, beside it, a TOML passport that says where they come from.

    AMPACITY = tables.load(Path(__file__).with_name("tables"), "nec_310_16")
    AMPACITY.cell("12", "A_75C")        -> Cell: value 25.0, unit A, row 12, column A_75C, status secondary

The CSV has a header row and no comments. The first column is the key of a row, always text and never
twice the same; every other column holds either figures or words, and an empty field means that the
source gives no value. It is read at once, so that a missing or malformed table stops the run. The
passport is read when something is asked of it.

The status of a cell is that of its row, where the table has a column `status` (or one for the column of
the cell alone, such as `operating_status`), else that of its column, else the passport's. The unit of a
cell is that of its row, where the table has a column `unit`, else that of its column.
"""

from __future__ import annotations

import marshal
from collections.abc import Iterator
from dataclasses import field
from functools import cache, cached_property
from itertools import pairwise
from pathlib import Path
from typing import Any, get_args

from ohmwright_grammar.records import entity, record

from ohmwright.references import Reference, Status

__all__ = ["READ_BEFORE", "Cell", "Passport", "Row", "Table", "TableError", "entries_of", "load", "read_passport"]

READ_BEFORE = "entries.bin"
"""The file of a folder that holds the entries of its TOML files, marshalled, by name."""

Value = float | str | None
_STATUSES: tuple[str, ...] = get_args(Status)
_NEAR = 1e-9  # two figures of a table that differ by less are the same figure


class TableError(Exception):
    """A table or passport that is missing or malformed; the message names the file."""

    def __init__(self, path: Path, what: str) -> None:
        super().__init__(f"{path.name}: {what}")
        self.path = path
        self.what = what


@entity
class Passport:
    """Where the figures of a table come from and how far they may be used.

    `units` and `statuses` are by column. `cross_check` says what agreed when the source was read;
    `second_way` says what the tests check besides the copy it was taken from, and is empty for a single
    transcription.
    """

    title: str
    reference: Reference
    urls: tuple[str, ...]
    conditions: str
    units: dict[str, str]
    statuses: dict[str, Status]
    interpolation: bool
    cross_check: str
    second_way: str
    remarks: str = ""


@record
class Cell:
    """One figure of a table, with its place in it."""

    value: float
    row: str
    column: str
    source: Table = field(repr=False, compare=False)
    remark: str = ""

    @property
    def table(self) -> str:
        """The name of the table."""
        return self.source.name

    @property
    def unit(self) -> str:
        """The unit of the figure."""
        row = self.source.row(self.row)
        return str(row["unit"]) if row is not None and "unit" in row else self.source.unit(self.column)

    @property
    def status(self) -> Status:
        """How the figure was read."""
        return self.source.status(self.row, self.column)

    @property
    def reference(self) -> Reference:
        """The document of the table, with the status of this figure."""
        reference = self.source.reference
        return Reference(reference.document, reference.edition, reference.section, self.status)

    @property
    def place(self) -> str:
        """Where the figure stands, in words for a working."""
        return f"{self.source.document}, row {self.row}"


Row = dict[str, Value]


class Table:
    """A published table. `columns` starts with the key; `rows` are in the order of the file."""

    def __init__(self, name: str, path: Path, columns: tuple[str, ...], rows: tuple[Row, ...]) -> None:
        self.name = name
        self.path = path
        self.columns = columns
        self.rows = rows
        self._by_key = {str(row[columns[0]]): row for row in rows}  # a rating is looked up for every wire

    @cached_property
    def passport(self) -> Passport:
        """Where the figures come from, read at the first call; TableError where missing or malformed."""
        return read_passport(self.path.with_suffix(".toml"))

    @property
    def reference(self) -> Reference:
        """The document of the table."""
        return self.passport.reference

    @cached_property
    def document(self) -> str:
        """The document of the table and where it stands there, in words for a working."""
        return " ".join(part for part in (self.reference.document, self.reference.section) if part)

    @property
    def keys(self) -> tuple[str, ...]:
        """The keys of the rows, in the order of the file."""
        return tuple(self._by_key)

    def row(self, key: str) -> Row | None:
        """Return the row of that key, None where there is none."""
        return self._by_key.get(key)

    def cell(self, key: str, column: str) -> Cell | None:
        """Return the figure in that row and column, None where the table has none."""
        row = self.row(key)
        return None if row is None else self._cell(row, column)

    def cells(self, column: str) -> Iterator[Cell]:
        """Yield the figures of a column, empty fields left out."""
        found = (self._cell(row, column) for row in self.rows)
        return (cell for cell in found if cell is not None)

    def where(self, column: str, **match: Value) -> Cell | None:
        """Return the figure of the first row whose other columns hold these values, else None."""
        for row in self.rows:
            if all(row[self._known(name)] == value for name, value in match.items()):
                return self._cell(row, column)
        return None

    def text(self, key: str, column: str) -> str:
        """Return the words in that row and column, empty where the table has none."""
        row = self.row(key)
        value = None if row is None else row[self._known(column)]
        return value if isinstance(value, str) else ""

    def band(self, value: float, column: str, low: str = "", high: str = "") -> Cell | None:
        """Return the figure of the band that holds `value`; None outside all bands and for a blank.

        `low` and `high` name the columns of the bands' ends, inclusive; one of them may be left out, and
        a blank end is open. A value between two bands belongs to the next band upwards. Where only `low`
        is named it belongs to the row of the largest `low` that is not above it.
        """
        row = self.band_row(value, low, high)
        return None if row is None else self._cell(row, column)

    def band_row(self, value: float, low: str = "", high: str = "") -> Row | None:
        """Return the row of the band that holds `value`, None outside all bands."""
        slack = _NEAR * max(1.0, abs(value))
        if high:
            ends = [(_end(row[self._known(high)], float("inf")), row) for row in self.rows]
            above = [(end, index) for index, (end, _) in enumerate(ends) if value <= end + slack]
            if not above:
                return None
            row = ends[min(above)[1]][1]
            first = min(_end(r[low], -float("inf")) for r in self.rows) if low else -float("inf")
            return row if value >= first - slack else None
        starts = [(_end(row[self._known(low)], -float("inf")), -index) for index, row in enumerate(self.rows)]
        below = [(start, index) for start, index in starts if start <= value + slack]
        return self.rows[-max(below)[1]] if below else None

    def at(self, value: float, by: str, column: str) -> Cell | None:
        """Return the figure of `column` where the column `by` is `value`.

        Between two rows it is interpolated along a straight line if the passport allows that; else, and
        outside the table, None. Blanks are passed over.
        """
        points = sorted(
            (x, y, str(row[self.columns[0]]))
            for row in self.rows
            if isinstance(x := row[self._known(by)], float) and isinstance(y := row[self._known(column)], float)
        )
        for x, y, key in points:
            if abs(x - value) <= _NEAR * max(1.0, abs(x)):
                return Cell(y, key, column, self)
        if not self.passport.interpolation:
            return None
        for (x0, y0, key0), (x1, y1, key1) in pairwise(points):
            if x0 < value < x1:
                y = y0 + (y1 - y0) * (value - x0) / (x1 - x0)
                return Cell(y, key0, column, self, f"between the rows {key0} and {key1}")
        return None

    def unit(self, column: str) -> str:
        """Return the unit of a column."""
        return self.passport.units.get(self._known(column), "")

    def status(self, key: str, column: str) -> Status:
        """Return how the figure in that row and column was read."""
        row = self.row(key) or {}
        word = row.get(f"{column}_status") or row.get("status")
        if word:
            return _status(str(word), self.path)
        passport = self.passport
        return passport.statuses.get(column, passport.reference.status)

    def _known(self, column: str) -> str:
        if column not in self.columns:
            raise TableError(self.path, f"there is no column {column!r}")
        return column

    def _cell(self, row: Row, column: str) -> Cell | None:
        value = row[self._known(column)]
        if isinstance(value, str):
            raise TableError(self.path, f"column {column!r} holds words, not figures")
        return None if value is None else Cell(value, str(row[self.columns[0]]), column, self)


def load(folder: Path, name: str) -> Table:
    """Read the table `name` of a folder.

    Raises TableError, naming the file, where it is missing, empty, uneven, has a key twice, or mixes
    words and figures in one column.
    """
    return _load(folder / f"{name}.csv")


@cache
def _load(path: Path) -> Table:
    import csv

    try:
        text = path.read_text(encoding="utf-8")
        lines = list(csv.reader(text.splitlines(), strict=True))
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        raise TableError(path, f"the table cannot be read ({error})") from error
    if len(lines) < 2:
        raise TableError(path, "the table has no rows")
    header = tuple(lines[0])
    if not all(header) or len(set(header)) != len(header):
        raise TableError(path, "a column has no name, or two have the same")
    for number, line in enumerate(lines[1:], start=2):
        if len(line) != len(header):
            raise TableError(path, f"line {number} has {len(line)} fields, the header has {len(header)}")
    columns = [_column(path, name, [line[i] for line in lines[1:]], i == 0) for i, name in enumerate(header)]
    rows = tuple(dict(zip(header, values, strict=True)) for values in zip(*columns, strict=True))
    return Table(path.stem, path, header, rows)


def _column(path: Path, name: str, fields: list[str], is_key: bool) -> list[Value]:
    """Turn the fields of one column into figures, or leave them as words; key, unit and status stay words."""
    if is_key:
        if not all(fields) or len(set(fields)) != len(fields):
            raise TableError(path, f"a row has no {name}, or two rows have the same")
        return list(fields)
    if name in ("unit", "status") or name.endswith("_status"):
        return list(fields)
    figures = [_figure(text) for text in fields]
    if all(text == "" or figure is not None for text, figure in zip(fields, figures, strict=True)):
        return list(figures)
    odd = [text for text, figure in zip(fields, figures, strict=True) if text and figure is None]
    if len(odd) < sum(1 for text in fields if text):
        raise TableError(path, f"column {name!r} mixes words and figures: {odd[0]!r}")
    return list(fields)


def _figure(text: str) -> float | None:
    try:
        value = float(text)
    except ValueError:
        return None
    return value if abs(value) < float("inf") else None


def _end(value: Value, blank: float) -> float:
    return value if isinstance(value, float) else blank


def _status(word: str, path: Path) -> Status:
    if word not in _STATUSES:
        raise TableError(path, f"{word!r} is no status; known are {', '.join(_STATUSES)}")
    return word  # type: ignore[return-value]


def entries_of(path: Path) -> dict[str, Any]:
    """Return the entries of a TOML file; TableError, naming the file, where it cannot be read.

    Where its folder holds what was read of its files beforehand (`tools/make_tables.py`), that is taken: reading TOML costs a hook as much as
    twenty rules do.
    """
    ready = _read_before(path.parent).get(path.name)
    if ready is not None:
        return ready
    import tomllib

    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise TableError(path, f"the file cannot be read ({error})") from error


@cache
def _read_before(folder: Path) -> dict[str, dict[str, Any]]:
    try:
        entries = marshal.loads((folder / READ_BEFORE).read_bytes())
    except (OSError, EOFError, ValueError, TypeError):  # none there, or in a form that this Python does not read
        return {}
    return entries if isinstance(entries, dict) else {}


@cache
def read_passport(path: Path) -> Passport:
    """Read a passport; TableError, naming the file, where it is missing or lacks an entry."""
    entries = entries_of(path)
    try:
        status = _status(entries["status"], path)
        reference = Reference(entries["document"], entries["edition"], entries["section"], status)
        return Passport(
            title=entries["title"],
            reference=reference,
            urls=tuple(entries["urls"]),
            conditions=entries["conditions"],
            units=dict(entries["units"]),
            statuses={name: _status(word, path) for name, word in entries.get("statuses", {}).items()},
            interpolation=entries["interpolation"],
            cross_check=entries["cross_check"],
            second_way=entries["second_way"],
            remarks=entries.get("remarks", ""),
        )
    except KeyError as error:
        raise TableError(path, f"the passport has no entry {error}") from error
