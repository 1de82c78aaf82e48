"""When overcurrent devices open: the current at which they must, the time that they take, the heat that they let through.

A device's own figures come first; else the published limits of its family, which are remembered and make a finding a warning at most.
"""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise
from math import exp, log
from pathlib import Path

from ohmwright import tables
from ohmwright.missing import Missing
from ohmwright.references import Reference
from ohmwright.tables import Cell, Table
from ohmwright.values import Amount, shown
from ohmwright_grammar.kinds.fuse import Breaker, Fuse
from ohmwright_grammar.records import record

from ohmwright_rules.guarding import table_family

__all__ = ["TABLES", "Curve", "Point", "curve_missing", "curve_of", "must_open"]

TABLES = Path(__file__).with_name("tables")
# Words of a build for families of devices, to the table of opening times and the family's name in it.
_TIMES = {
    "blade": ("fuse_times_blade", "blade"),
    "mini blade": ("fuse_times_blade", "blade"),
    "maxi blade": ("fuse_times_blade", "maxi blade"),
    "bolt-down": ("fuse_times_bolt_down", "MIDI"),
    "large bolt-down": ("fuse_times_bolt_down", "MEGA"),
}
_DECLARED = Reference("time-current curve of the device", "", "as declared", "read")
_SLACK = 1e-9


def curve_missing(part: Fuse) -> Missing:
    """Return what to ask of a device whose curve is not known: two points of it, about where such a device has them."""
    rating = float(part.rated_current.nominal) if part.rated_current is not None else 40.0
    slow, quick = (shown(Amount(rating * multiple, "current", "A")) for multiple in (2.5, 7.5))
    return Missing(f"time-current curve of {part.name}", part.span, f"opens in 5 s at {slow}, 0.1 s at {quick}")


def must_open(part: Fuse, rating: float) -> tuple[Cell | None, float | None]:
    """Return the multiple of its rating [A] at which a device must open: declared (without a cell), else that of its family; None where neither is known."""
    if part.must_open is not None:
        return None, float(part.must_open.high)
    family = table_family(part)
    table = tables.load(TABLES, "fuse_conventional_currents")
    for row in table.rows if family else ():
        above, up_to = row["above_A"], row["up_to_A"]
        low = above if isinstance(above, float) else 0.0
        high = up_to if isinstance(up_to, float) else float("inf")
        if row["family"] == family and low < rating * (1 + _SLACK) and rating <= high * (1 + _SLACK):
            cell = table.cell(str(row[table.columns[0]]), "operating")
            return (cell, cell.value) if cell is not None else (None, None)
    return None, None


@record
class Point:
    """A current [A] and the longest time that a device takes to open at it [s]."""

    ampere: float
    second: float


@record
class Curve:
    """How long a device takes to open: points in the order of their currents, and where they come from.

    `mechanical` tells that it does not open faster for a larger current beyond the last point (a breaker); a fuse then lets the same heat through.
    `shortest` is the curve of the shortest times, where both are published.
    """

    points: tuple[Point, ...]
    reference: Reference
    mechanical: bool = False
    shortest: tuple[Point, ...] = ()

    def time(self, ampere: float) -> float | None:
        """Return the longest time to open at a current [s]; None below the first point, where it may never open."""
        return _time(self.points, ampere, self.mechanical)

    def least_time(self, ampere: float) -> float | None:
        """Return the shortest time to open at a current [s]; None where it surely does not open."""
        return _time(self.shortest or self.points, ampere, self.mechanical)

    def heat(self, ampere: float) -> float | None:
        """Return the largest heat that it lets through at a current [A2s]; None where it may never open."""
        second = self.time(ampere)
        return None if second is None else ampere * ampere * second

    def between(self, low: float, high: float) -> tuple[float, ...]:
        """Return the currents at which a curve is looked at between two [A], both among them."""
        inner = (point.ampere for point in (*self.points, *self.shortest) if low < point.ampere < high)
        return tuple(sorted({low, *inner, high}))

    def current_at(self, second: float) -> float | None:
        """Return the smallest current at which it opens within a time [A]; None where no point is that fast."""
        for before, point in zip((None, *self.points), self.points, strict=False):
            if point.second <= second * (1 + _SLACK):
                if before is None:
                    return point.ampere
                share = log(before.second / second) / log(before.second / point.second)
                return exp(log(before.ampere) + share * log(point.ampere / before.ampere))
        last = self.points[-1]
        return None if self.mechanical else last.ampere * (last.second / second) ** 0.5


def _time(points: tuple[Point, ...], ampere: float, mechanical: bool) -> float | None:
    """Interpolate along straight lines of logarithms."""
    first, last = points[0], points[-1]
    if ampere < first.ampere * (1 - _SLACK):
        return None
    if ampere >= last.ampere:
        return last.second if mechanical else last.second * (last.ampere / ampere) ** 2
    for one, two in pairwise(points):
        if ampere <= two.ampere:
            share = log(ampere / one.ampere) / log(two.ampere / one.ampere)
            return exp(log(one.second) + share * log(two.second / one.second))
    return last.second


def curve_of(part: Fuse, rating: float | None) -> Curve | None:
    """Return the curve of a device: as declared, else the limits of its family for its rating [A]; None where neither is known."""
    mechanical = isinstance(part, Breaker)
    said = sorted({float(point.current.high): float(point.time.high) for point in part.curve or ()}.items())
    if said:
        return Curve(tuple(Point(ampere, second) for ampere, second in said), _DECLARED, mechanical)
    known = _TIMES.get(part.family or "")
    if known is None or rating is None or mechanical:
        return None
    return _of_family(*known, rating)


@lru_cache(maxsize=256)
def _of_family(name: str, family: str, rating: float) -> Curve:
    table = tables.load(TABLES, name)
    return Curve(_points(table, family, "most_s", rating), table.reference, shortest=_points(table, family, "least_s", rating))


def _points(table: Table, family: str, column: str, rating: float) -> tuple[Point, ...]:
    found = []
    for row in table.rows:
        multiple, second = row["multiple"], row[column]
        if row["family"] == family and isinstance(multiple, float) and isinstance(second, float):
            found.append(Point(multiple * rating, second))
    return tuple(sorted(found, key=lambda point: point.ampere))
