"""Factors on a published ampacity: ambient temperature, bundling, coiling.

Each is a value with its step of the working and its references. Choices that the sources leave open are
made on the side that protects and are written down at the function that makes them.
"""

from __future__ import annotations

import math
from functools import lru_cache

from ohmwright.references import Reference, Step
from ohmwright.tables import Cell, Table
from ohmwright_grammar.records import entity

from ohmwright_rules.basis import AmbientFactor, Basis, Bundling
from ohmwright_rules.laying import Laying, Unknown

__all__ = ["Factor", "ambient_factor", "bundling_factor", "coil_factor", "count_factor", "rise_factor"]

_SLACK = 1e-9
_ONE = "1"


@entity
class Factor:
    """A factor with its line of the working and the documents that it rests on."""

    value: float
    step: Step
    references: tuple[Reference, ...] = ()


def rise_factor(insulation: float, ambient: float, reference_ambient: float = 30.0) -> float:
    """Return the law of the temperature rise, sqrt((T_ins - T) / (T_ins - T_ref)), 0 from T_ins up.

    All temperatures in degC. Source: from memory, agrees with the printed factors of NEC 310.15(B)(1) and
    IEC 60364-5-52 Table B.52.14 within 0.01.

    >>> round(rise_factor(75, 55), 3)
    0.667
    """
    if ambient >= insulation:
        return 0.0
    return math.sqrt((insulation - ambient) / (insulation - reference_ambient))


@lru_cache(maxsize=4096)  # one temperature of the air counts for many wires
def ambient_factor(basis: Basis, insulation: float, ambient: float) -> Factor:
    """Return the ambient factor of a column's temperature: the basis' table, outside it the law of the rise.

    A blank inside a table means not permitted: 0. A basis without a table of its own never goes above 1.
    Of a single printed figure and the law the smaller holds: so the remembered figures of 33 CFR Table 5 note 1
    give way to the law, which is lower wherever the figure was not read.
    """
    source = next((factor for factor in basis.ambient if factor.insulation == insulation), None)
    if source is not None and source.row:
        return _single_ambient(basis, source, insulation, ambient)
    if source is not None:
        row = source.table.band_row(ambient, source.least, source.most)
        if row is not None:
            key = str(row[source.table.columns[0]])
            cell = source.table.cell(key, source.column)
            words = f"air at {ambient:.4g} degC, column {insulation:g} degC"
            if cell is not None:
                return _of_cell("k_ambient", words, cell)
            reference = source.table.reference
            step = Step("k_ambient", f"{words}: not permitted", 0.0, _ONE, f"{reference}, row {key}")
            return Factor(0.0, step, (reference,))
    return _law(basis, insulation, ambient)


def _single_ambient(basis: Basis, source: AmbientFactor, insulation: float, ambient: float) -> Factor:
    law = _law(basis, insulation, ambient)
    cell = source.table.cell(source.row, source.column)
    if cell is None or source.from_ is None or ambient < source.from_ - _SLACK:
        return law
    if law.value <= cell.value:
        return law
    words = f"air at {ambient:.4g} degC, printed factor of {source.from_:g} degC"
    return _of_cell("k_ambient", words, cell)


def _law(basis: Basis, insulation: float, ambient: float) -> Factor:
    reference_ambient = basis.reference_ambient.value
    factor = rise_factor(insulation, ambient, reference_ambient)
    expression = f"sqrt(({insulation:g} - {ambient:.4g}) / ({insulation:g} - {reference_ambient:g}))"
    if factor > 1.0 and not basis.uprates:
        factor, expression = 1.0, f"air at {ambient:.4g} degC, no more than at {reference_ambient:g} degC"
    return Factor(factor, Step("k_ambient", expression, factor, _ONE, "law of the temperature rise"))


def bundling_factor(basis: Basis, laying: Laying) -> Factor | Unknown | None:
    """Return the factor for loaded conductors that lie together; None where none applies.

    Where the voltage decides between two tables and is undeclared, or the length that is not, the datum is
    missing only if it would matter.
    """
    for bundling in basis.bundling:
        if not bundling.span.holds(laying.voltage):
            continue
        count = math.ceil(laying.together / 2) if bundling.counts == "circuits" else laying.together
        factor = _bundle_count(bundling, count)
        if factor is None or isinstance(factor, Unknown):
            return factor
        if bundling.longer_than is None or factor.value == 1.0:
            return factor
        if laying.bundled_length is None:
            return Unknown("length over which the wires lie together")
        if laying.bundled_length > bundling.longer_than + _SLACK:
            return factor
        words = f"{count} {bundling.counts} together over no more than {bundling.longer_than:g} m"
        return Factor(1.0, Step("k_bundle", words, 1.0, _ONE, str(bundling.table.reference)))
    unknown = laying.voltage is None and any(
        isinstance(found, Unknown) or (found is not None and found.value < 1.0)
        for found in (_bundle_count(bundling, laying.together) for bundling in basis.bundling)
    )
    return Unknown("highest voltage of the wire") if unknown else None


def _bundle_count(bundling: Bundling, count: int) -> Factor | Unknown | None:
    first = bundling.table.rows[0]
    lowest = first[bundling.least] if bundling.least else first[bundling.most]
    if isinstance(lowest, float) and count < lowest:
        return None
    cell = bundling.table.band(count, "factor", bundling.least, bundling.most)
    words = f"{count} {bundling.counts} together"
    if cell is None:
        return Unknown(f"published factor for {words}")
    return _of_cell("k_bundle", words, cell, "" if bundling.in_basis else " (not in this basis)")


def coil_factor(basis: Basis, laying: Laying) -> Factor | None:
    """Return the factor of a conductor used while wound: its reel's marking, else the lowest marking read."""
    if not laying.coiled:
        return None
    if laying.coil_marking is not None:
        step = Step("k_coil", "wound over unwound, marked on the reel", laying.coil_marking, _ONE, "as declared")
        return Factor(laying.coil_marking, step)
    number = basis.coil
    step = Step("k_coil", "wound on a reel without a marking", number.value, _ONE, number.source)
    return Factor(number.value, step, (number.reference,))


def count_factor(symbol: str, table: Table, count: int) -> Factor | None:
    """Return the factor of a count table for loaded conductors or cores, None where it has none."""
    cell = table.band(count, "factor", "conductors_min", "conductors_max")
    return None if cell is None else _of_cell(symbol, f"{count} loaded cores", cell)


def _of_cell(symbol: str, words: str, cell: Cell, note: str = "") -> Factor:
    return Factor(cell.value, Step(symbol, words, cell.value, _ONE, cell.place + note), (cell.reference,))
