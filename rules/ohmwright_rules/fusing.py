"""How large a fuse may be for a conductor under a basis, and the standard ratings around a current.

Pure functions of plain values, currents in A and voltages in V. A limit keeps its working and its references.
"""

from __future__ import annotations

from ohmwright.references import Reference, Step, is_remembered, weakest
from ohmwright.tables import Cell, Table
from ohmwright_grammar.records import record

from ohmwright_rules.ampacity import Ampacity
from ohmwright_rules.basis import Basis, FuseRule
from ohmwright_rules.laying import Unknown

__all__ = [
    "FuseLimit",
    "fuse_factor",
    "fuse_limit",
    "largest_rating",
    "rating_at_least",
    "rating_at_most",
    "standard_ratings",
]

_SLACK = 1e-9


@record
class FuseLimit:
    """The largest rating of an overcurrent device for a conductor [A], with its working.

    `unchecked` names what could not be held against the device because it was not declared; empty when all was.
    """

    value: float
    steps: tuple[Step, ...]
    references: tuple[Reference, ...]
    unchecked: str = ""

    @property
    def weakest(self) -> Reference:
        """The reference of the weakest standing among its figures."""
        return weakest(self.references) or self.references[0]

    @property
    def remembered(self) -> bool:
        """Tell whether any of its figures is from memory, so that the limit is at most a warning."""
        return is_remembered(self.weakest)


def fuse_limit(
    basis: Basis,
    rated: Ampacity,
    voltage: float | None,
    *,
    rating: float | None = None,
    family: str = "",
    must_open: float | None = None,
) -> FuseLimit | Unknown:
    """Return the largest rating that may protect a conductor of this ampacity at its highest voltage.

    A cord takes its unwound value on every basis. Elsewhere the basis decides: a factor on the corrected ampacity;
    or the next standard rating up; and the limits of small conductors; or the rule that the device must open at
    no more than 1.45 times the ampacity, with its multiple: `must_open` as declared, else that of its `family` (gG,
    MCB, UL 248-14, blade, bolt-down) for its `rating`, or for the limit itself when no rating is given. With neither,
    the limit is the ampacity and `unchecked` says what is missing.

    Source: 33 CFR 183.455(c); NEC 240.4(B), (D); IEC 60364-4-43 433.1.
    """
    if rated.cord:
        number = basis.cord_fuse
        value = number.value * rated.unwound
        step = Step("I_fuse", f"{number.value:g} x {rated.unwound:.4g}", value, "A", number.source)
        return FuseLimit(value, (step,), (number.reference, *rated.references))
    rule = next((rule for rule in basis.fuses if rule.span.holds(voltage)), None)
    if rule is None:
        return Unknown("highest voltage of the wire")
    if rule.must_open is not None:
        return _opening_limit(rule, rated.value, rule.must_open, rating, family, must_open, rated.references)
    value = rule.factor * rated.value
    steps = [Step("I_fuse", f"{rule.factor:g} x {rated.value:.4g}", value, "A", str(rule.reference))]
    references = [rule.reference]
    size = _next_size(rule, rated.value)
    if size is not None:
        value = size.value
        steps.append(Step("I_fuse", f"next standard rating up from {rated.value:.4g} A", value, "A", size.place))
        references.append(size.reference)
    small = _small(rule, rated.row)
    if small is not None and small.value < value:
        value = small.value
        steps.append(Step("I_fuse", f"small conductor, {rated.row} AWG", value, "A", small.place))
        references.append(small.reference)
    return FuseLimit(value, tuple(steps), (*references, *rated.references))


def fuse_factor(basis: Basis, voltage: float | None) -> float | Unknown:
    """Return the factor between a fuse and the corrected ampacity at a conductor's highest voltage."""
    rule = next((rule for rule in basis.fuses if rule.span.holds(voltage)), None)
    return Unknown("highest voltage of the wire") if rule is None else rule.factor


def _next_size(rule: FuseRule, rated: float) -> Cell | None:
    """Return the next standard rating up, where the basis allows it and the ampacity is no standard rating."""
    if rule.ratings is None:
        return None
    up = next((cell for cell in _by_rating(rule.ratings) if cell.value >= rated * (1 - _SLACK)), None)
    if up is None or abs(up.value - rated) <= _SLACK * rated or rated <= 0:
        return None
    if rule.next_size_up_to is not None and up.value > rule.next_size_up_to * rated * (1 + _SLACK):
        return None
    if rule.next_size_below is not None and up.value > rule.next_size_below:
        return None
    return up


def _small(rule: FuseRule, row: str) -> Cell | None:
    return None if rule.small is None else rule.small.cell(row, rule.small_column)


def _opening_limit(
    rule: FuseRule,
    rated: float,
    most: float,
    rating: float | None,
    family: str,
    must_open: float | None,
    references: tuple[Reference, ...],
) -> FuseLimit:
    """Return the smaller of the ampacity and of 1.45 times it over the multiple at which the device must open."""
    plain = Step("I_fuse", f"1 x {rated:.4g}", rated, "A", str(rule.reference))
    if must_open is not None:
        value = min(rated, most * rated / must_open)
        step = _opening_step(rated, most, must_open, value, "as declared")
        return FuseLimit(value, (plain, step), (rule.reference, *references))
    cells = _multiples(rule.multiples, family)
    if not cells:
        return FuseLimit(rated, (plain,), (rule.reference, *references), "multiple of its rating at which the device must open")
    if rating is not None:
        chosen = next((band for band in cells if rating <= band[1] * (1 + _SLACK)), cells[-1])
        low, high, multiple = chosen
        value = min(rated, most * rated / multiple.value)
    else:
        # The limit itself decides which multiple holds: the highest band that its own limit reaches.
        value, multiple = 0.0, cells[0][2]
        for low, high, candidate in reversed(cells):
            limit = min(rated, most * rated / candidate.value, high)
            if limit > low:
                value, multiple = limit, candidate
                break
    step = _opening_step(rated, most, multiple.value, value, multiple.place)
    return FuseLimit(value, (plain, step), (rule.reference, multiple.reference, *references))


def _opening_step(rated: float, most: float, multiple: float, value: float, source: str) -> Step:
    return Step("I_fuse", f"smaller of {rated:.4g} and {most:g} x {rated:.4g} / {multiple:g}", value, "A", source)


def _multiples(table: Table | None, family: str) -> list[tuple[float, float, Cell]]:
    """Return the bands of a family, lowest first: above, up to [A], and the multiple."""
    if table is None or not family:
        return []
    found = []
    for row in table.rows:
        cell = table.cell(str(row[table.columns[0]]), "operating")
        above, up_to = row["above_A"], row["up_to_A"]
        if row["family"] == family and cell is not None and isinstance(above, float):
            found.append((above, up_to if isinstance(up_to, float) else float("inf"), cell))
    return sorted(found, key=lambda band: band[0])


def _by_rating(table: Table) -> list[Cell]:
    return sorted(table.cells("rating_A"), key=lambda cell: cell.value)


def standard_ratings(basis: Basis) -> tuple[float, ...]:
    """Return the ratings at which fuses are sold, smallest first [A]: for remedies, never as a limit."""
    return tuple(sorted({cell.value for table in basis.standard_ratings for cell in table.cells("rating_A")}))


def rating_at_most(basis: Basis, current: float) -> float | None:
    """Return the largest standard rating that is not above a current [A], None where there is none.

    >>> from ohmwright_rules.basis import get
    >>> rating_at_most(get("us-premises"), 34.0)
    30.0
    """
    return max((size for size in standard_ratings(basis) if size <= current * (1 + _SLACK)), default=None)


def rating_at_least(basis: Basis, current: float) -> float | None:
    """Return the smallest standard rating that is not below a current [A], None where there is none.

    >>> from ohmwright_rules.basis import get
    >>> rating_at_least(get("us-premises"), 34.0)
    35.0
    """
    return min((size for size in standard_ratings(basis) if size >= current * (1 - _SLACK)), default=None)


def largest_rating(
    basis: Basis, rated: Ampacity, voltage: float | None, *, family: str = "", must_open: float | None = None
) -> float | None:
    """Return the largest standard rating that may protect a conductor [A]; None where none may or cannot be told."""

    def fits(size: float) -> bool:
        limit = fuse_limit(basis, rated, voltage, rating=size, family=family, must_open=must_open)
        return isinstance(limit, FuseLimit) and size <= limit.value * (1 + _SLACK)

    return max((size for size in standard_ratings(basis) if fits(size)), default=None)
