"""A basis: the family of published tables and factors that a build is held against, as data.

    basis = get("us-small-craft")
    basis.fuse_distance.value            -> 0.178 [m], with its reference

The files lie in `bases/`, one TOML each; a fourth basis is one more file there, named in `PACK.bases` (and its tables beside
it, when the shared ones in `tables/` do not have them). Every number carries its reference, and whether
the basis itself prints it or it is borrowed because the basis is silent. All values are SI; temperatures
are degrees Celsius.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from functools import cache
from pathlib import Path
from typing import Any, Literal

from ohmwright.references import Reference
from ohmwright.tables import Table, TableError, entries_of, load
from ohmwright_grammar.records import entity, record

__all__ = [
    "TABLES",
    "AmbientFactor",
    "Basis",
    "Bundling",
    "CordRating",
    "FuseRule",
    "Number",
    "Rating",
    "Span",
    "UnknownBasisError",
    "get",
    "load_basis",
    "names",
]

BASES = Path(__file__).with_name("bases")
TABLES = Path(__file__).with_name("tables")

_INFINITE = float("inf")
# Records that hold tables are compared by identity: comparing their contents is never needed and costs start-up time.
_Entries = Mapping[str, Any]


class UnknownBasisError(ValueError):
    """A basis of that name does not exist; the message lists those that do."""


@record
class Number:
    """A number of a basis. `words` is how its document prints it ("7 in"), empty when the value says it.

    `in_basis` is False for a number that is borrowed because the basis is silent.
    """

    value: float
    unit: str
    reference: Reference
    words: str = ""
    in_basis: bool = True

    @property
    def source(self) -> str:
        """Where the number comes from, in words for a working."""
        return str(self.reference) if self.in_basis else f"{self.reference} (not in this basis)"


@record
class Span:
    """The voltages from `low`, inclusive, to `high`, exclusive [V], for which something holds."""

    low: float = -_INFINITE
    high: float = _INFINITE

    def holds(self, voltage: float | None) -> bool:
        """Tell whether the voltage lies inside; an unknown one does where every voltage does."""
        if voltage is None:
            return self.low == -_INFINITE and self.high == _INFINITE
        return self.low <= voltage < self.high


@entity
class Rating:
    """The column of a table for one insulation temperature [degC] and each way of laying; "any" for the others.

    `factor` multiplies the table's value where the column belongs to another temperature. `use` is
    "array" for ratings that hold only for the leads of an array.
    """

    table: Table
    insulation: float
    columns: Mapping[str, str]
    factor: Number | None = None
    use: str = ""


@entity
class CordRating:
    """The columns of a cord table by the number of loaded cores; each the first that has a value.

    `insulation` is None where the table does not ask for it. `more` is the count table for further cores.
    """

    type: str
    table: Table
    columns: Mapping[int, tuple[str, ...]]
    insulation: float | None = None
    more: Table | None = None


@entity
class AmbientFactor:
    """Where a table prints the ambient factor of one insulation temperature.

    Either bands (`least`, `most` name the columns of their ends), or one figure (`row`) that holds at `from_`
    [degC], above which the smaller of it and the law of the temperature rise is taken.
    """

    table: Table
    insulation: float
    column: str
    least: str = ""
    most: str = ""
    row: str = ""
    from_: float | None = None


@entity
class Bundling:
    """A table of factors by the number of loaded conductors, or circuits, that lie together.

    It applies only over a length of more than `longer_than` [m], where that is given, and inside `span`.
    """

    table: Table
    counts: Literal["conductors", "circuits"]
    least: str
    most: str
    span: Span
    longer_than: float | None = None
    in_basis: bool = True


@entity
class FuseRule:
    """How large a fuse may be against the corrected ampacity inside a span of voltages.

    `factor` times the ampacity; or the next standard rating up, to `next_size_up_to` times the ampacity
    or below `next_size_below` [A]; or, with `must_open`, the rule I2 <= must_open x Iz with the
    multiples of a table. `small` limits small conductors, by row.
    """

    factor: float
    reference: Reference
    span: Span
    next_size_up_to: float | None = None
    next_size_below: float | None = None
    ratings: Table | None = None
    must_open: float | None = None
    multiples: Table | None = None
    small: Table | None = None
    small_column: str = ""


@entity
class Basis:
    """A family of published tables and factors. Numbers: shares and factors are plain, lengths in metres.

    `continuous` is the factor on continuous current against the table's value, `corrected` against the
    corrected one; `array_current`, `array_conductor`, `array_device`, `string_current` multiply a
    short-circuit current; `string_fuse_least` and `_most` bound a string fuse by it; `cord_fuse` bounds
    the fuse of a cord by the cord's value; `fuse_loading` is the share of a fuse that continuous current
    may use; `coil` the factor of a wound cord without a marking; `terminal` the temperature of an
    unmarked terminal up to `terminal_current`, `terminal_above` beyond; `fuse_distance`, `_enclosed` and
    `_battery` the length before the first fuse; `drop_vital`, `drop_other` and `drop_array` shares of
    voltage; `smallest_single` and `smallest_sheathed` areas in mm2.
    """

    name: str
    title: str
    note: str
    sizes: str
    colours: str
    reference_ambient: Number
    continuous: Number
    corrected: Number
    array_current: Number
    array_conductor: Number
    array_device: Number
    string_current: Number
    string_fuse_least: Number
    cord_fuse: Number
    fuse_loading: Number
    coil: Number
    terminal: Number
    terminal_above: Number
    terminal_current: Number
    fuse_distance: Number
    fuse_distance_enclosed: Number
    fuse_distance_battery: Number
    drop_vital: Number
    drop_other: Number
    drop_array: Number
    smallest_single: Number
    smallest_sheathed: Number
    sheath_exit: Number
    pigtail: Number
    touch_voltage: Number
    string_fuse_most: Number | None
    ratings: tuple[Rating, ...]
    terminals: tuple[Rating, ...]
    cords: tuple[CordRating, ...]
    uprates: bool
    ambient: tuple[AmbientFactor, ...]
    bundling: tuple[Bundling, ...]
    fuses: tuple[FuseRule, ...]
    standard_ratings: tuple[Table, ...]

    def numbers(self) -> tuple[tuple[str, Number], ...]:
        """Return all single numbers with their names, for printing them side by side with another basis'."""
        pairs = ((entry.name, getattr(self, entry.name)) for entry in fields(self))
        return tuple((name, value) for name, value in pairs if isinstance(value, Number))


def names() -> tuple[str, ...]:
    """Return the names of the bases, sorted; a passport beside its table is no basis.

    >>> names()
    ('iec', 'us-premises', 'us-small-craft')
    """
    return _names_in(BASES)


@cache
def _names_in(folder: Path) -> tuple[str, ...]:
    passports = {path.stem for path in folder.glob("*.csv")}
    return tuple(sorted({path.stem for path in folder.glob("*.toml")} - passports))


def get(name: str) -> Basis:
    """Return the basis of that name; UnknownBasisError where there is none, TableError where its file is malformed."""
    path = BASES / f"{name}.toml"
    if name not in names():
        raise UnknownBasisError(f"there is no basis {name!r}; known are {', '.join(names())}")
    return load_basis(path)


@cache
def load_basis(path: Path) -> Basis:
    """Read a basis from its file; TableError, naming the file, where an entry or a table is missing."""
    entries = entries_of(path)
    try:
        return _Reader(path, entries).basis()
    except (KeyError, TypeError, ValueError) as error:
        raise TableError(path, f"the basis has no entry, or a wrong one, at {error}") from error


class _Reader:
    """Turns the entries of one file into a basis."""

    def __init__(self, path: Path, entries: _Entries) -> None:
        self.path = path
        self.entries = entries
        self.references = {name: Reference(**entry) for name, entry in entries["references"].items()}

    def basis(self) -> Basis:
        entries = self.entries
        numbers: dict[str, Any] = {"string_fuse_most": None}
        numbers |= {name: self._number(entry) for name, entry in entries["numbers"].items()}
        return Basis(
            name=self.path.stem,
            title=entries["title"],
            note=entries["note"],
            sizes=entries["sizes"],
            colours=entries["colours"],
            ratings=tuple(self._rating(entry) for entry in entries["ratings"]),
            terminals=tuple(self._rating(entry) for entry in entries["terminals"]),
            cords=tuple(self._cord(entry) for entry in entries["cords"]),
            uprates=entries["ambient"]["uprates"],
            ambient=tuple(self._ambient(entry) for entry in entries["ambient"]["factors"]),
            bundling=tuple(self._bundling(entry) for entry in entries["bundling"]),
            fuses=tuple(self._fuse(entry) for entry in entries["fuses"]),
            standard_ratings=tuple(self._table(name) for name in entries["remedies"].values()),
            **numbers,
        )

    def _table(self, name: str) -> Table:
        beside = self.path.parent
        return load(beside if (beside / f"{name}.csv").exists() else TABLES, name)

    def _number(self, entry: _Entries) -> Number:
        return Number(
            value=float(entry["value"]),
            unit=entry["unit"],
            reference=self.references[entry["reference"]],
            words=entry.get("words", ""),
            in_basis=entry.get("in_basis", True),
        )

    def _rating(self, entry: _Entries) -> Rating:
        table = self._table(entry["table"])
        for column in entry["columns"].values():
            self._check(table, column)
        factor = None
        if "factor" in entry:
            factor = Number(float(entry["factor"]), "1", self.references[entry["reference"]])
        return Rating(table, float(entry["insulation_C"]), entry["columns"], factor, entry.get("use", ""))

    def _cord(self, entry: _Entries) -> CordRating:
        table = self._table(entry["table"])
        columns = {int(count): tuple(names) for count, names in entry["columns"].items()}
        for group in columns.values():
            for column in group:
                self._check(table, column)
        return CordRating(
            type=entry["type"],
            table=table,
            columns=columns,
            insulation=entry.get("insulation_C"),
            more=self._table(entry["more"]) if "more" in entry else None,
        )

    def _ambient(self, entry: _Entries) -> AmbientFactor:
        table = self._table(entry["table"])
        self._check(table, entry["column"])
        return AmbientFactor(
            table=table,
            insulation=float(entry["insulation_C"]),
            column=entry["column"],
            least=entry.get("least", ""),
            most=entry.get("most", ""),
            row=entry.get("row", ""),
            from_=entry.get("from_C"),
        )

    def _bundling(self, entry: _Entries) -> Bundling:
        return Bundling(
            table=self._table(entry["table"]),
            counts=entry["counts"],
            least=entry.get("least", ""),
            most=entry["most"],
            span=_span(entry),
            longer_than=entry.get("longer_than_m"),
            in_basis=entry.get("in_basis", True),
        )

    def _fuse(self, entry: _Entries) -> FuseRule:
        def table(key: str) -> Table | None:
            return self._table(entry[key]) if key in entry else None

        return FuseRule(
            factor=float(entry["factor"]),
            reference=self.references[entry["reference"]],
            span=_span(entry),
            next_size_up_to=entry.get("next_size_up_to"),
            next_size_below=entry.get("next_size_below_A"),
            ratings=table("ratings"),
            must_open=entry.get("must_open"),
            multiples=table("multiples"),
            small=table("small_conductors"),
            small_column=entry.get("small_column", ""),
        )

    def _check(self, table: Table, column: str) -> None:
        if column not in table.columns:
            raise TableError(self.path, f"table {table.name} has no column {column!r}")


def _span(entry: _Entries) -> Span:
    return Span(float(entry.get("from_V", -_INFINITE)), float(entry.get("below_V", _INFINITE)))
