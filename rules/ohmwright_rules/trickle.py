"""What a lead-acid battery holds a small array down to that is joined straight to it: of an array that it bears for ever (A12) the open-circuit voltage never stands there.

While the battery is joined the array charges it, and nothing ends that: the voltage climbs until all of the current gasses. How far that is goes with the share of
the capacity: 2.4 V per cell at 4 mA for each ampere-hour, the boost charge of EN 50272-2, from memory; 2.6 V per cell, the usual equalising voltage, up to
the 1.5 % that A12 accepts; more in the cold, as every charge voltage of lead-acid (common practice, no source, for both).
"""

from __future__ import annotations

from ohmwright.circuit.batteries import cells_of
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step
from ohmwright.study import SolvedState, Study
from ohmwright_grammar.kinds.battery import LITHIUM, Battery
from ohmwright_grammar.records import record

from ohmwright_rules.conductors import AMBIENT, said_of_missing
from ohmwright_rules.direct_arrays import ENDLESS_SHARE, Target, capacity_of, straight_on
from ohmwright_rules.kept import kept
from ohmwright_rules.sunside import short_circuit_of
from ohmwright_rules.voltage_lines import Gap, Line, Lines, lines_of

__all__ = ["Held", "held_down"]

_BOOST, _BOOST_CELL = 0.004, 2.4  # of the capacity in an hour, and the voltage that it lifts a full cell to [V]
_EQUALISE_CELL = 2.6  # V
_SLOPE = 0.004  # V per cell and K below 25 degC
_RATED = 25.0  # degC
_HOUR = 3600.0
_REFERENCE = Reference("common practice", "", "charge voltages of lead-acid, from memory", "from-memory")


@record
class Held:
    """Arrays that a bank of lead-acid batteries holds down, and the voltage at which it does; `gap` could make it higher."""

    arrays: frozenset[str]
    line: Line
    gap: Gap | None


@record
class _Small:
    """A bank that bears the arrays on it for ever: their strings between its poles, its own strings, the voltage it holds."""

    target: Target
    held: Held


def held_down(study: Study, state: SolvedState, plus: str, minus: str) -> tuple[Held, ...]:
    """Return the arrays whose open-circuit voltage cannot stand between two nodes in a state, because a lead-acid battery is joined to both."""
    known = kept(study, _small)
    if not known:
        return ()
    group = lines_of(study).groups(state.open_gates)
    if plus not in group or minus not in group:
        return ()
    ends = group[minus], group[plus]
    gone = state.setup.bms_open | state.setup.failed
    return tuple(
        small.held
        for small in known
        if any(gone.isdisjoint(bank) and _lies(study, group, bank, ends) for bank in small.target.banks)
        and all(_lies(study, group, string, ends) for string in small.target.arrangement.strings)
    )


def _lies(study: Study, group: dict[str, int], string: tuple[str, ...], ends: tuple[int, int]) -> bool:
    """Tell whether a string lies unbroken between two nets."""
    at = ends[0]
    for name in string:
        if group.get(f"{name}.minus") != at:
            return False
        at = group[f"{name}.plus"]
    return at == ends[1]


def _small(study: Study) -> tuple[_Small, ...]:
    found = (_judged(study, target) for target in straight_on(study))
    return tuple(small for small in found if small is not None)


def _judged(study: Study, target: Target) -> _Small | None:
    batteries = [part for name in target.names if isinstance(part := study.part(name), Battery)]
    if any(battery.chemistry is None or battery.chemistry in LITHIUM for battery in batteries):
        return None
    capacity, current = capacity_of(study, target), short_circuit_of(study, (target.arrangement,), plugged=True)
    cells = [_cells(study, bank) for bank in target.banks]
    if isinstance(capacity, Missing) or isinstance(current, Missing) or None in cells:
        return None
    share = current[0] * _HOUR / capacity[0]
    if share > ENDLESS_SHARE * (1 + 1e-9):
        return None
    most = max(value for value in cells if value is not None)
    return _Small(target, _held(study, target, share, most, batteries))


def _cells(study: Study, bank: tuple[str, ...]) -> float | None:
    total = 0.0
    for name in bank:
        battery = study.part(name)
        cells = cells_of(battery) if isinstance(battery, Battery) else None
        if cells is None:
            return None
        total += cells
    return total


def _held(study: Study, target: Target, share: float, cells: float, batteries: list[Battery]) -> Held:
    lines: Lines = lines_of(study)
    names = " and ".join(target.arrangement.names)
    cell = _BOOST_CELL if share <= _BOOST * (1 + 1e-9) else _EQUALISE_CELL
    volt = cells * cell
    words = f"{cells:g} cells x {cell:g} V, {share * 100:.2g} % of the capacity an hour"
    steps = [Step("U_held", words, volt, "V", str(_REFERENCE))]
    told = f"{names} straight on {' and '.join(target.names)}, full"
    known = [lines.lowest_at(battery.name) for battery in batteries]
    lowest = min((value for value in known if value is not None), default=None)
    gap = None
    if None in known or lowest is None:
        gap = Gap(AMBIENT, batteries[0].span, said_of_missing(AMBIENT))
    elif lowest < _RATED:
        volt += cells * _SLOPE * (_RATED - lowest)
        cold = f"{cells * cell:.4g} V + {cells * _SLOPE * 1000:.3g} mV/K x ({_RATED:g} - {lowest:.3g}) K"
        steps.append(Step("U", cold, volt, "V", str(_REFERENCE)))
        told += f", at {lowest:.3g} degC"
    line = Line(volt, target.arrangement.names[0], told, tuple(steps), _REFERENCE)
    return Held(frozenset(target.arrangement.names), line, gap)
