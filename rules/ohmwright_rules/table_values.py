"""The published current of a conductor, before any factor: which table, which column, which row."""

from __future__ import annotations

from functools import lru_cache

from ohmwright.references import Reference, Step
from ohmwright.tables import Cell
from ohmwright_grammar.records import entity

from ohmwright_rules.basis import Basis, CordRating, Rating
from ohmwright_rules.derating import Factor, count_factor
from ohmwright_rules.laying import Laying, Unknown, row_of_size, size_of_row

__all__ = ["TableValue", "cord_value", "terminal_value", "wire_value"]

_SLACK = 1e-9
# The lowest class of flexible cords, for which both cord tables are made; used where nothing is declared.
_CORD_INSULATION = 60.0


@entity
class TableValue:
    """A published current [A]: its row, the temperature of its column [degC], and the working.

    `insulation` is None where neither the table nor the cord names a temperature. `cores` is the factor for more
    loaded cores than the table has columns for.
    """

    current: float
    row: str
    insulation: float | None
    steps: tuple[Step, ...]
    references: tuple[Reference, ...]
    cores: Factor | None = None

    @property
    def class_temperature(self) -> float:
        """The temperature that the table value heats the conductor to [degC]."""
        return _CORD_INSULATION if self.insulation is None else self.insulation


def wire_value(basis: Basis, laying: Laying) -> TableValue | Unknown:
    """Return the value of the insulation's column for the way of laying; between two columns the lower."""
    if laying.insulation is None:
        return Unknown("insulation temperature")
    ratings = tuple(rating for rating in basis.ratings if rating.use in ("", laying.use))
    return _at_temperature(ratings, laying.insulation, laying, "insulation")


def terminal_value(basis: Basis, laying: Laying, temperature: float) -> TableValue | Unknown:
    """Return the value of the column of a terminal's temperature [degC]; between two columns the lower."""
    return _at_temperature(basis.terminals, temperature, laying, "a terminal")


def _at_temperature(ratings: tuple[Rating, ...], temperature: float, laying: Laying, what: str) -> TableValue | Unknown:
    return _published(ratings, temperature, laying.ways, laying.gauge, laying.area, laying.metal, what)


@lru_cache(maxsize=4096)  # most wires of a build have one of a few sizes, and are laid alike
def _published(
    ratings: tuple[Rating, ...], temperature: float, ways: tuple[str, ...], gauge: str, area: float, metal: str, what: str
) -> TableValue | Unknown:
    named = [rating for rating in ratings if _way(rating, ways)]
    if not named:
        return Unknown("how the wire is laid")
    cooler = [rating for rating in named if rating.insulation <= temperature + _SLACK]
    if not cooler:
        return Unknown(f"published rating for {what} of {temperature:g} degC")
    rating = max(cooler, key=lambda rating: rating.insulation)
    way = _way(rating, ways)
    found = row_of_size(rating.table, rating.columns[way], gauge, area, metal)
    if isinstance(found, Unknown):
        return found
    cell, steps = found
    laid = "" if way == "any" else f", {way}"
    words = f"{size_of_row(rating.table, cell.row)}, column {rating.insulation:g} degC{laid}"
    steps = (*steps, Step("I_table", words, cell.value, "A", cell.place))
    if rating.factor is None:
        return TableValue(cell.value, cell.row, rating.insulation, steps, (cell.reference,))
    value = cell.value * rating.factor.value
    step = Step("I_table", f"{cell.value:g} x {rating.factor.value:g}", value, "A", rating.factor.source)
    references = (cell.reference, rating.factor.reference)
    return TableValue(value, cell.row, rating.insulation, (*steps, step), references)


def _way(rating: Rating, ways: tuple[str, ...]) -> str:
    """Return the way of laying for which a rating has a column, empty where it has none."""
    return next((way for way in (*ways, "any") if way in rating.columns), "")


def cord_value(basis: Basis, laying: Laying) -> TableValue | Unknown:
    """Return the value of the cord table, or the cord's marking where that is smaller or the table has none."""
    table = _cord_table_value(basis, laying)
    if laying.cord_marking is None:
        return table
    marked = Reference("marking of the cord", "", "as declared", "read")
    step = Step("I_marked", "marked on the cord", laying.cord_marking, "A", str(marked))
    if isinstance(table, Unknown):
        return TableValue(laying.cord_marking, laying.gauge, laying.insulation, (step,), (marked,))
    if laying.cord_marking >= table.current:
        return table
    steps, references = (*table.steps, step), (marked, *table.references)
    return TableValue(laying.cord_marking, table.row, table.insulation, steps, references, table.cores)


def _cord_table_value(basis: Basis, laying: Laying) -> TableValue | Unknown:
    rating = _cord_rating(basis, laying)
    if isinstance(rating, Unknown):
        return rating
    most = max(rating.columns)
    cores = max(laying.together, min(rating.columns))
    factor = None
    if cores > most:
        factor = None if rating.more is None else count_factor("k_cores", rating.more, cores)
        if factor is None:
            return Unknown(f"published rating of a cord of {cores} loaded cores")
    for column in rating.columns.get(min(cores, most), ()):
        found = row_of_size(rating.table, column, laying.gauge, laying.area, laying.metal)
        if not isinstance(found, Unknown):
            return _cord_cell(rating, column, *found, laying, factor)
    return Unknown("the cord's current marking")


def _cord_rating(basis: Basis, laying: Laying) -> CordRating | Unknown:
    """Choose the table of a cord's type, by its insulation where the type has several."""
    ratings = [rating for rating in basis.cords if rating.type == laying.cord_type]
    if not ratings:
        return Unknown("the cord's current marking")
    if len(ratings) == 1:
        return ratings[0]
    if laying.insulation is None:
        return Unknown("insulation temperature")
    cooler = [rating for rating in ratings if (rating.insulation or 0.0) <= laying.insulation + _SLACK]
    if not cooler:
        return Unknown(f"published rating for a cord of {laying.insulation:g} degC")
    return max(cooler, key=lambda rating: rating.insulation or 0.0)


def _cord_cell(
    rating: CordRating, column: str, cell: Cell, steps: tuple[Step, ...], laying: Laying, cores: Factor | None
) -> TableValue:
    words = f"cord {size_of_row(rating.table, cell.row)}, column {column}"
    insulation = laying.insulation if rating.insulation is None else rating.insulation
    steps = (*steps, Step("I_table", words, cell.value, "A", cell.place))
    return TableValue(cell.value, cell.row, insulation, steps, (cell.reference,), cores)
