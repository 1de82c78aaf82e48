"""The sensible states that are always implied beside the declared ones."""

from __future__ import annotations

from ohmwright_grammar.kinds.inverter import InverterCharger
from ohmwright_grammar.kinds.load import Load
from ohmwright_grammar.kinds.part import Part
from ohmwright_grammar.kinds.switch import Selector
from ohmwright_grammar.model import Build
from ohmwright_grammar.records import replace

from ohmwright.circuit.parts import gate_of_position
from ohmwright.states.anatomy import Anatomy
from ohmwright.states.setup import AS_DECLARED, DEFAULT_CHARGE, FULL_SUN, SURGE_SECONDS, Level, Running, Setup
from ohmwright.states.sockets import others_of, surplus_matings

__all__ = ["implied_setups", "resting_setup", "stored_setup"]

_DAY = 86400.0  # s
_MOST_EACH = 64  # design.md section 4: at most so many of "each load" and "each connector", in name order, the rest counted


def implied_setups(build: Build, anatomy: Anatomy, declared: list[Setup]) -> tuple[list[Setup], int]:
    """Return the sensible states that are implied beside the declared ones, and how many were left out by the limit.

    A declared state with the same switches, plugs and loads takes the implied one's place.
    """
    told = {_shape(setup) for setup in declared}
    implied: list[Setup] = []
    left_out = 0
    base = _base(build, anatomy)
    together = _together(build, anatomy)
    everything = {**base.running, **dict.fromkeys(together, AS_DECLARED)}
    bright = dict.fromkeys(anatomy.arrays, FULL_SUN)
    both_ways = frozenset(name for name in anatomy.inverters if isinstance(build.parts[name], InverterCharger))
    all_chargers = both_ways.union((*anatomy.chargers, *anatomy.charging_inverters))
    inverting = {name: level for name, level in base.inverters.items() if name not in both_ways}
    charging = replace(base, inverters=inverting, chargers=all_chargers, sun=bright, on_mains=both_ways)

    def add(setup: Setup) -> None:
        if _shape(setup) not in told:
            told.add(_shape(setup))
            implied.append(setup)

    add(stored_setup(build, anatomy))
    add(resting_setup(build, anatomy))
    for name in anatomy.loads[:_MOST_EACH]:
        moment = _moment(build.parts[name])
        add(replace(base, name=f"{name} on", running={**base.running, name: AS_DECLARED}, lasts=moment))
        if moment is not None:
            barred = {other for group in anatomy.never_together if name in group for other in group}
            beside = {other: level for other, level in everything.items() if other not in barred}
            add(replace(base, name=f"{name} beside all loads", running={**beside, name: AS_DECLARED}, lasts=moment))
    left_out += max(0, len(anatomy.loads) - _MOST_EACH)
    if everything:
        add(replace(base, name="all loads on", running=everything))
    for name in anatomy.inverters:
        add(replace(base, name=f"{name} full", inverters={**base.inverters, name: Running(share=1.0)}))
        peak = getattr(build.parts[name], "peak_power", None)
        if peak is not None:
            lasts = peak.time.high if getattr(peak, "time", None) is not None else 1.0
            dc = {load: level for load, level in everything.items() if "L" not in build.parts[load].TERMINALS}
            surge = replace(
                base,
                name=f"{name} at surge",
                running=dc,
                inverters={**base.inverters, name: Running(peak=True)},
                lasts=min(lasts, 59.0),
            )
            add(surge)
    if anatomy.arrays or all_chargers:
        add(replace(charging, name="all chargers on"))
    if anatomy.arrays:
        add(replace(base, name="full sun", sun=bright))
        add(replace(base, name="full sun, battery full", sun=bright, levels=_at(anatomy, 1.0), running=everything))
    for mating in anatomy.matings[:_MOST_EACH]:
        others = others_of(anatomy.matings_of, mating)
        if others and mating in base.open_gates:  # its plug is elsewhere in all the others: what is told is that it is here
            name, gates = f"{mating} mated", (base.open_gates | others) - {mating}
        else:
            name, gates = f"{mating} apart", base.open_gates | {mating}
        add(replace(charging, name=name, open_gates=gates, running=everything))
    left_out += max(0, len(anatomy.matings) - _MOST_EACH)
    return implied, left_out


def resting_setup(build: Build, anatomy: Anatomy) -> Setup:
    """Return the implied state in which everything is closed and mated, nothing runs but what is always on, and it is dark."""
    return replace(_base(build, anatomy), name="resting")


def stored_setup(build: Build, anatomy: Anatomy) -> Setup:
    """Return the implied state in which every switch is open and nothing runs but what is always on."""
    base = _base(build, anatomy)
    shut = frozenset((*base.open_gates, *anatomy.switches, *_all_positions(anatomy)))
    left_on = {name: AS_DECLARED for name in anatomy.inverters if name in anatomy.always_on}
    return replace(base, name="stored", open_gates=shut, inverters=left_on, levels=_at(anatomy, DEFAULT_CHARGE))


def _all_positions(anatomy: Anatomy) -> tuple[str, ...]:
    return tuple(gate_of_position(name, position) for name, positions in anatomy.selectors.items() for position in positions)


def _at(anatomy: Anatomy, level: float) -> dict[str, Level]:
    return {name: Level(level) for name in anatomy.batteries}


def _base(build: Build, anatomy: Anatomy) -> Setup:
    """Return the setup that implied states begin with: switches closed, connectors mated, nothing running but what is always on, dark."""
    gates: set[str] = set()
    for selector, positions in anatomy.selectors.items():
        part = build.parts[selector]
        assert isinstance(part, Selector)
        joining = [position.position for position in part.positions or () if position.terminals]
        chosen = joining[0] if joining else ""
        gates |= {gate_of_position(selector, position) for position in positions if position != chosen}
    gates |= anatomy.never_joined
    for group in anatomy.barred_together:
        gates |= set(sorted(group)[1:])
    gates |= surplus_matings(anatomy.matings_of, gates)
    idle = dict.fromkeys(anatomy.inverters, AS_DECLARED)
    always = {name: AS_DECLARED for name in anatomy.loads if name in anatomy.always_on}
    return Setup(name="", origin="implied", open_gates=frozenset(gates), running=always, inverters=idle)


def _together(build: Build, anatomy: Anatomy) -> tuple[str, ...]:
    """Return the loads that may run together; of those that never do, the one that is always on, else the one that takes most.

    What runs for moments only is left out: no state lasts in which it runs.
    """
    left_out = {name for name in anatomy.loads if name not in anatomy.always_on and _moment(build.parts[name]) is not None}
    for group in anatomy.never_together:
        ranked = sorted(
            (name for name in group if name in anatomy.loads and name not in left_out),
            key=lambda name: (name not in anatomy.always_on, -_size(build.parts[name]), name),
        )
        left_out |= set(ranked[1:])
    return tuple(name for name in anatomy.loads if name not in left_out)


def _moment(part: Part) -> float | None:
    """Return for how long a load runs [s] where that is less than a minute in a whole day (a starter motor), None for all others."""
    if not isinstance(part, Load):
        return None
    hours = (
        [part.hours] if part.hours is not None else list(part.hours_by_month.hours) if part.hours_by_month is not None else []
    )
    seconds = max((float(item.high) for item in hours), default=1.0) * _DAY
    return seconds if 0.0 < seconds < SURGE_SECONDS - 1e-9 else None


def _size(part: Part) -> float:
    if not isinstance(part, Load):
        return 0.0
    if part.power is not None:
        return float(part.power.high)
    nominal = part.nominal_voltage.nominal if part.nominal_voltage is not None else 12.0
    if part.current is not None:
        return float(part.current.high) * nominal
    if part.resistance is not None and part.resistance.low > 0:
        return nominal * nominal / float(part.resistance.low)
    return 0.0


def _shape(setup: Setup) -> tuple[object, ...]:
    """Return what makes two states the same: switches, plugs and loads."""
    running = frozenset((name, level) for name, level in setup.running.items())
    inverters = frozenset(
        (name, level) for name, level in setup.inverters.items() if level != AS_DECLARED and level != Running(power=0.0)
    )
    sun = frozenset(name for name, value in setup.sun.items() if value > 0)
    full = all(level.value == 1.0 for level in setup.levels.values()) and bool(setup.levels)
    return setup.open_gates, running, inverters, setup.chargers, setup.off, sun, full, setup.is_surge
