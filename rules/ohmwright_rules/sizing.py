"""The smallest size that mends something: which gauge carries a current, or may lie behind a fuse.

Sizes are those of the system in which the wire is declared: AWG as Table 5 of 33 CFR 183.425 lists them, mm2 as
IEC 60228 does.
"""

from __future__ import annotations

from collections.abc import Callable

from ohmwright.constants.metals import IEC60228_RESISTANCE
from ohmwright.tables import load
from ohmwright_grammar.quantities import Gauge
from ohmwright_grammar.records import record, replace

from ohmwright_rules.ampacity import Ampacity, Demand, ampacity, terminal_ampacity
from ohmwright_rules.basis import TABLES, Basis
from ohmwright_rules.fusing import FuseLimit, fuse_limit
from ohmwright_rules.laying import Laying

__all__ = ["Size", "gauges", "smallest_for_current", "smallest_for_fuse"]

_SLACK = 1e-9
_AWG = load(TABLES, "cfr33_183_table5")


@record
class Size:
    """A standard size and its ampacity under a basis."""

    gauge: Gauge
    ampacity: Ampacity


def gauges(metric: bool) -> tuple[Gauge, ...]:
    """Return the standard sizes of one system, thinnest first.

    >>> gauges(metric=False)[0].text, gauges(metric=True)[-1].text
    ('18 AWG', '120 mm2')
    """
    if metric:
        return tuple(Gauge.from_area(float(key)) for key in IEC60228_RESISTANCE.keys)
    return tuple(Gauge.from_awg(1 - int(key[0]) if key.endswith("/0") else int(key)) for key in _AWG.keys)


def smallest_for_current(
    basis: Basis, laying: Laying, needed: Demand, terminal: float | None = None, *, terminals: bool = False
) -> Size | None:
    """Return the smallest size, laid the same way, that carries what a current asks for; None where none does.

    With `terminals` it must also carry it in the column of the cooler terminal's temperature [degC], or of an
    unmarked one (`terminal` None).
    """

    def fits(rated: Ampacity, sized: Laying) -> bool:
        if not (_reaches(rated.table_value, needed.table) and _reaches(rated.value, needed.corrected)):
            return False
        limit = terminal_ampacity(basis, sized, terminal, needed.corrected) if terminals else None
        return limit is None or (isinstance(limit, Ampacity) and _reaches(limit.value, needed.corrected))

    return _smallest(basis, laying, fits)


def smallest_for_fuse(
    basis: Basis, laying: Laying, rating: float, *, family: str = "", must_open: float | None = None
) -> Size | None:
    """Return the smallest size, laid the same way, that a fuse of this rating [A] may protect; None where none is."""

    def fits(rated: Ampacity, sized: Laying) -> bool:
        limit = fuse_limit(basis, rated, sized.voltage, rating=rating, family=family, must_open=must_open)
        return isinstance(limit, FuseLimit) and not limit.unchecked and _reaches(limit.value, rating)

    return _smallest(basis, laying, fits)


def _smallest(basis: Basis, laying: Laying, fits: Callable[[Ampacity, Laying], bool]) -> Size | None:
    for gauge in gauges(laying.metric):
        sized = replace(laying, gauge=gauge.text, area=gauge.area, cord_marking=None)
        rated = ampacity(basis, sized)
        if isinstance(rated, Ampacity) and fits(rated, sized):
            return Size(gauge, rated)
    return None


def _reaches(value: float, needed: float) -> bool:
    return value >= needed * (1 - _SLACK)
