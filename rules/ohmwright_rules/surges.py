"""The surges that a build can meet: the peak of an inverter, the start of each load, the short states that the builder declares.

Each is a setup to solve, at the lowest charge at which the load must work, else half full, with every DC load running that may (readings.md, I1).
"""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.states.setup import DEFAULT_CHARGE, Level, Running, Setup
from ohmwright.study import SolvedState, Study
from ohmwright_grammar.kinds.inverter import Inverter
from ohmwright_grammar.kinds.load import Load
from ohmwright_grammar.records import record, replace

from ohmwright_rules.kept import kept

__all__ = ["MOTOR_START", "Surge", "is_own_surge", "solved_surges", "start_power", "starts_of_loads", "surges_of"]

MOTOR_START = 6.0  # times its running power, of a motor that says nothing: a vendor's range of 3 to 6, secondary
_START = 1.0  # s, of a start that does not say how long it lasts
_LONGEST = 59.0  # s: a surge lasts under a minute
_MOST_SURGES = 24  # states to solve beside those that are solved anyway


@record
class Surge:
    """A surge of an inverter: the state to solve, what it is in words, and whether a load that is promised needs it."""

    setup: Setup
    words: str
    required: bool


def surges_of(study: Study, inverter: Inverter) -> Iterator[Surge]:
    """Yield every surge of an inverter, in the order of the states, then of its loads."""
    from ohmwright_rules.promised_loads import is_promised

    level = _level(study, inverter)
    for state in study.lasting_states:
        setup = state.setup
        running = setup.inverters.get(inverter.name)
        if running is None or not setup.is_surge:
            continue
        if setup.origin == "implied" and not running.peak:
            continue
        loads = [part for name in setup.running if isinstance(part := study.part(name), Load)]
        above = [load for load in loads if is_promised(study, load) and _is_above(setup, load)]
        words = f"its peak power, state {setup.name!r}" if running.peak else f"state {setup.name!r}"
        yield Surge(_charged(setup, level, study), words, bool(above))
    base = _base(study)
    if base is not None:
        yield from _starts(study, inverter, base)


def is_own_surge(study: Study, setup: Setup, inverter: str) -> bool:
    """Tell whether an inverter runs at a level of its own in a short state, or an AC load on it does; else it only happens to be on."""
    running = setup.inverters.get(inverter)
    if running is None:
        return False
    if running.peak or running.power is not None or running.current is not None or running.share is not None:
        return True
    loads = (study.part(name) for name in study.ac_side.loads_of(inverter) if name in setup.running)
    return any(isinstance(load, Load) and _is_above(setup, load) for load in loads)


def _is_above(setup: Setup, load: Load) -> bool:
    """Tell whether a load runs at a level of its own in a state, as at its start."""
    running = setup.running[load.name]
    return running.current is not None or running.power is not None


def _charged(setup: Setup, level: float, study: Study) -> Setup:
    """Return a setup in which every battery that says nothing of its charge is at a level."""
    levels = {name: setup.levels.get(name, Level(level)) for name in study.anatomy.batteries}
    return replace(setup, levels=levels)


def _level(study: Study, inverter: Inverter) -> float:
    loads = (study.part(name) for name in study.ac_side.loads_of(inverter.name))
    said = [
        float(load.lowest_charge_level.low) for load in loads if isinstance(load, Load) and load.lowest_charge_level is not None
    ]
    return min(said, default=DEFAULT_CHARGE)


def _base(study: Study) -> Setup | None:
    """Return the setup with the most running, whose plugs and switches a start begins from; None where there is none in the dark.

    It is the implied one, or the declared one that took its place, without what that says of charge and warmth.
    """
    steady = [state.setup for state in study.lasting_states if not state.setup.is_surge]
    dark = [setup for setup in steady if not any(setup.sun.values()) and not setup.chargers and setup.name != "stored"]
    found = max(dark, key=lambda setup: (len(setup.running), setup.origin == "implied"), default=None)
    if found is None or found.origin == "implied":
        return found
    return replace(found, origin="implied", levels={}, ambient=None, inside=None, duty=None)


def start_power(load: Load, volt: float | None) -> float | None:
    """Return what an AC load takes when it starts [W], None where that is not said; `volt` is the AC voltage."""
    start = load.start
    power = float(load.power.high) if load.power is not None else None
    if start is not None:
        if start.power is not None:
            return float(start.power.high)
        if start.times is not None and power is not None:
            return float(start.times.high) * power
        if start.current is not None and volt is not None:
            return float(start.current.high) * volt
        return None
    return MOTOR_START * power if load.motor and power is not None else None


def _starts(study: Study, inverter: Inverter, base: Setup) -> Iterator[Surge]:
    from ohmwright_rules.promised_loads import is_promised

    names = study.ac_side.loads_of(inverter.name)
    volt = float(inverter.ac_voltage.nominal) if inverter.ac_voltage is not None else None
    peak = float(inverter.peak_power.power.high) if inverter.peak_power is not None else None
    together = {name for name in base.running if name in names}
    for name in names:
        load = study.part(name)
        power = start_power(load, volt) if isinstance(load, Load) else None
        if not isinstance(load, Load) or power is None:
            continue
        others = sum(
            float(other.power.high)
            for one in sorted(together - {name})
            if isinstance(other := study.part(one), Load) and other.power is not None
        )
        total = power + others if peak is None else min(peak, power + others)
        lasts = float(load.start.lasts.high) if load.start is not None and load.start.lasts is not None else _START
        level = float(load.lowest_charge_level.low) if load.lowest_charge_level is not None else DEFAULT_CHARGE
        setup = replace(
            base,
            name=f"{name} starts",
            running={one: how for one, how in base.running.items() if one not in names},
            inverters={**base.inverters, inverter.name: Running(power=total)},
            lasts=min(lasts, _LONGEST),
        )
        yield Surge(_charged(setup, level, study), f"the start of {name}", is_promised(study, load))


def starts_of_loads(study: Study, most: int = 4) -> Iterator[Surge]:
    """Yield the starts of those DC loads that add most to what runs, with everything running that may; at most so many, the largest first.

    A load that says nothing of its start and is no motor has none.
    """
    from ohmwright_rules.promised_loads import is_promised

    base = _base(study)
    if base is None:
        return
    found: list[tuple[float, Load, Running]] = []
    for consumer in study.circuit.consumers:
        part = consumer.part
        if consumer.kind == "load" and isinstance(part, Load):
            volt = float(part.nominal_voltage.low) if part.nominal_voltage is not None else study.system_voltage
            running = _dc_current(part, volt)
            at_start = _dc_start(part, running)
            if at_start is not None:
                found.append((at_start - (running or 0.0), part, Running(current=at_start)))
    for _, load, level in sorted(found, key=lambda item: (-item[0], item[1].name))[:most]:
        lasts = float(load.start.lasts.high) if load.start is not None and load.start.lasts is not None else _START
        charge = float(load.lowest_charge_level.low) if load.lowest_charge_level is not None else DEFAULT_CHARGE
        running_then = {**base.running, load.name: level}
        setup = replace(base, name=f"{load.name} starts", running=running_then, lasts=min(lasts, _LONGEST))
        yield Surge(_charged(setup, charge, study), f"the start of {load.name}", is_promised(study, load))


def _dc_current(load: Load, volt: float | None) -> float | None:
    if load.current is not None:
        return float(load.current.high)
    return float(load.power.high) / volt if load.power is not None and volt else None


def _dc_start(load: Load, running: float | None) -> float | None:
    start = load.start
    if start is None:
        return MOTOR_START * running if load.motor and running is not None else None
    if start.current is not None:
        return float(start.current.high)
    if start.power is not None and load.power is not None and running is not None and load.power.high > 0:
        return float(start.power.high) / float(load.power.high) * running
    return float(start.times.high) * running if start.times is not None and running is not None else None


def solved_surges(study: Study) -> tuple[tuple[SolvedState, float | None, str], ...]:
    """Return every solved surge with how long it lasts [s], None where nobody says, and what it is in words; solved once for all rules."""
    return kept(study, _solved_surges)


def _solved_surges(study: Study) -> tuple[tuple[SolvedState, float | None, str], ...]:
    found: list[tuple[SolvedState, float | None, str]] = []
    for state in study.telling_states:
        if state.solved and state.setup.is_surge:
            found.append((state, _lasts(study, state.setup), f"in state {state.name!r}"))
    known = {state.name for state in study.states}
    surges = [
        *(surge for inverter in sorted(study.of(Inverter), key=lambda part: part.name) for surge in surges_of(study, inverter)),
        *starts_of_loads(study),
    ]
    for surge in [surge for surge in surges if surge.setup.name not in known][:_MOST_SURGES]:
        state = study.solve_setup(surge.setup)
        if state.solved and study.lasts(state.open_gates):
            found.append((state, _lasts(study, surge.setup), f"at {surge.words}"))
    return tuple(found)


def _lasts(study: Study, setup: Setup) -> float | None:
    """Return how long a surge lasts [s] as somebody said it: the state, the load that starts, the inverter at its peak."""
    if setup.origin != "implied":
        return setup.lasts
    if setup.name.endswith(" starts"):
        load = study.part(setup.name.removesuffix(" starts"))
        said = isinstance(load, Load) and load.start is not None and load.start.lasts is not None
        return setup.lasts if said else None
    inverter = study.part(setup.name.removesuffix(" at surge"))
    peak = inverter.peak_power if isinstance(inverter, Inverter) else None
    return setup.lasts if peak is not None and peak.time is not None else None
