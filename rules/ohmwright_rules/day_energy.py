"""What a build takes from its bank in a day: every load by its hours, through inverters and converters, and everything that stays fed."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.assumptions import ASSUMED_EFFICIENCY
from ohmwright.circuit.batteries import nominal_voltage
from ohmwright.missing import Missing
from ohmwright.references import Step
from ohmwright.states.setup import Setup
from ohmwright.study import SolvedState, Study
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.inverter import Converter, Inverter
from ohmwright_grammar.kinds.load import AcLoad, Load
from ohmwright_grammar.kinds.part import Part
from ohmwright_grammar.kinds.switch import Relay
from ohmwright_grammar.records import record

from ohmwright_rules.kept import kept
from ohmwright_rules.run_energy import Taken, taken_by, wiring_share

__all__ = [
    "Day",
    "day_energy",
    "day_energy_in",
    "hours_of_coil",
    "hours_of_inverter",
    "hours_of_load",
    "states_with_inverter_on",
]

_DAY = 86400.0
_TRACE = 1e-6  # A: less is none


@record
class Day:
    """What leaves the posts of the bank in a day [J], its working, and the state with everything on that told the wiring's share.

    `unsaid` is what was not said and would make it more.
    """

    energy: float
    taken: Taken
    steps: tuple[Step, ...]
    unsaid: Missing | None = None


def day_energy(study: Study) -> Day | Missing:
    """Return what is taken from the bank in a day; a datum where nothing can be said without it."""
    return kept(study, _day)


def day_energy_in(study: Study, month: int) -> Day | Missing:
    """Return what is taken from the bank on a day of a month, January being 0; None of its loads may run in it: then only what stays fed counts."""
    return _of_month(study, month)


def _day(study: Study) -> Day | Missing:
    return _of_month(study, None)


def _of_month(study: Study, month: int | None) -> Day | Missing:
    fed = {name for inverter in study.anatomy.inverters for name in study.ac_side.loads_of(inverter)}
    loads = [load for load in study.of(Load) if not isinstance(load, AcLoad) or load.name in fed]
    if not loads:
        return Missing("a load", study.build.rig.span)
    hours = {load.name: hours_of_load(load, month) for load in loads}
    using = tuple(load for load in loads if hours_of_load(load) != 0.0 and _power(study, load) is not None)
    if not using:
        load = loads[0]
        return Missing(f"power or current of {load.name}", load.span, "20 W")
    taken = taken_by(study, _together(study, using))
    if isinstance(taken, Missing):
        return taken
    unsaid = taken.unsaid
    entries: list[tuple[str, str, float]] = []
    for load in sorted(loads, key=lambda load: load.name):
        share, power = hours[load.name], _power(study, load)
        if power is None:
            unsaid = unsaid or Missing(f"power or current of {load.name}", load.span, "20 W")
        elif share is None:
            unsaid = unsaid or Missing(f"hours a day of {load.name}", load.span, "for 4 h/day")
        elif share > 0:
            efficiency = _chain(study, load)
            way = f" / {efficiency:.3g}" if efficiency < 1.0 else ""
            entries.append((load.name, f"{power:.4g} W x {24 * share:.4g} h{way}", power * share * _DAY / efficiency))
    entries.extend(_standing(study))
    share = wiring_share(taken, None)
    total = sum(energy for _, _, energy in entries) / share
    steps = [Step(f"E_{name}", words, energy / 3600.0, "Wh/day", "as declared") for name, words, energy in entries]
    steps.append(Step("eta_wire", "share left after the wiring, everything on", share, "1", "solved circuit"))
    steps.append(Step("E_day", "sum / eta_wire", total / 3600.0, "Wh/day", "what leaves the posts in a day"))
    return Day(total, taken, tuple(steps), unsaid)


def hours_of_load(load: Load, month: int | None = None) -> float | None:
    """Return for which part of the day a load runs, in a month, else in that in which it runs longest; None where that is not said."""
    if load.hours is not None:
        return min(1.0, float(load.hours.high))
    if month is not None and load.hours_by_month is not None and len(load.hours_by_month.hours) == 12:
        return min(1.0, float(load.hours_by_month.hours[month].high))
    if load.hours_by_month is not None:
        return min(1.0, max(float(hours.high) for hours in load.hours_by_month.hours))
    return 1.0 if load.always_on else None


def _power(study: Study, load: Load) -> float | None:
    """Return what a load takes [W]: its power, else its current or resistance at its own nominal voltage or the system's."""
    if load.power is not None:
        return float(load.power.high)
    volt = float(load.nominal_voltage.nominal) if load.nominal_voltage is not None else study.system_voltage or 12.0
    if load.current is not None:
        return float(load.current.high) * volt
    if load.resistance is not None and load.resistance.low > 0:
        return volt * volt / float(load.resistance.low)
    return None


def _together(study: Study, loads: tuple[Load, ...]) -> tuple[Load, ...]:
    """Return those loads that may run together: of a group that never does, the largest."""
    names = {load.name for load in loads}
    out: set[str] = set()
    for group in study.anatomy.never_together:
        ours = sorted((name for name in group if name in names), key=lambda name: (-_size(study, name), name))
        out.update(ours[1:])
    return tuple(load for load in loads if load.name not in out)


def _size(study: Study, name: str) -> float:
    part = study.part(name)
    return (_power(study, part) or 0.0) if isinstance(part, Load) else 0.0


def _chain(study: Study, load: Load) -> float:
    """Return the efficiency of everything between a load and the bank but wires: an inverter, converters in a row."""
    share = 1.0
    if isinstance(load, AcLoad):
        inverter = next(
            (part for part in study.of(Inverter) if load.name in study.ac_side.loads_of(part.name)),
            None,
        )
        if inverter is None:
            return share
        share *= float(inverter.efficiency.low) if inverter.efficiency is not None else ASSUMED_EFFICIENCY
        node = f"{inverter.name}.plus"
    else:
        node = f"{load.name}.plus"
    left = list(study.of(Converter))
    while True:
        found = next((part for part in left if node in _output(study, part)), None)
        if found is None:
            return share
        left.remove(found)
        share *= float(found.efficiency.low) if found.efficiency is not None else ASSUMED_EFFICIENCY
        node = f"{found.name}.in_plus"


def _output(study: Study, converter: Converter) -> set[str]:
    return study.circuit.reach(f"{converter.name}.out_plus")


def _standing(study: Study) -> Iterator[tuple[str, str, float]]:
    """Yield what inverters and converters take with no load, own drains, management systems and coils: name, words, energy a day [J]."""
    volt = _nominal(study)
    for inverter in sorted(study.of(Inverter), key=lambda part: part.name):
        if not study.ac_side.loads_of(inverter.name):
            continue
        share = hours_of_inverter(study, inverter)
        if inverter.no_load_draw is not None:
            draw = float(inverter.no_load_draw.high)
            yield inverter.name, f"{draw:.4g} W with no load x {24 * share:.4g} h", draw * share * _DAY
        own = _own_power(inverter, volt) if inverter.sleeps else 0.0
        if own > 0.0:
            yield inverter.name, f"own drain {own:.4g} W asleep x {24 * (1 - share):.4g} h", own * (1 - share) * _DAY
    for converter in sorted(study.of(Converter), key=lambda part: part.name):
        if converter.no_load_draw is not None:
            current = float(converter.no_load_draw.high)
            yield converter.name, f"{current:.4g} A with no load x {volt:.4g} V x 24 h", current * volt * _DAY
    for consumer in study.circuit.consumers:
        part = consumer.part
        if consumer.kind == "coil":
            if isinstance(part, Relay) and part.coil_power is not None and not part.latching:
                power, share = float(part.coil_power.high), hours_of_coil(study, consumer.name)
                yield f"coil of {part.name}", f"{power:.4g} W x {24 * share:.4g} h", power * share * _DAY
        elif consumer.kind == "drain":
            if part.own_drain is not None:
                current = float(part.own_drain.high)
                yield part.name, f"own drain {current:.4g} A x {volt:.4g} V x 24 h", current * volt * _DAY
            elif part.own_drain_power is not None:
                power = float(part.own_drain_power.high)
                yield part.name, f"own drain {power:.4g} W x 24 h", power * _DAY
    for battery in study.of(Battery):
        drain = battery.bms.own_drain if battery.bms is not None else None
        if drain is not None:
            nominal = nominal_voltage(battery) or volt
            yield (
                f"BMS of {battery.name}",
                f"{float(drain.high):.4g} A x {nominal:.4g} V x 24 h",
                float(drain.high) * nominal * _DAY,
            )


def _own_power(part: Part, volt: float) -> float:
    """Return what a part takes for itself while fed [W], 0 where it says nothing."""
    if part.own_drain_power is not None:
        return float(part.own_drain_power.high)
    return float(part.own_drain.high) * volt if part.own_drain is not None else 0.0


def _nominal(study: Study) -> float:
    if study.system_voltage is not None:
        return study.system_voltage
    return max((volt for battery in study.of(Battery) if (volt := nominal_voltage(battery)) is not None), default=12.0)


def hours_of_inverter(study: Study, inverter: Inverter) -> float:
    """Return for which part of a day an inverter is on: as long as its loads run where it sleeps, as its states say where all do, else all day."""
    if inverter.sleeps:
        loads = [study.part(name) for name in study.ac_side.loads_of(inverter.name)]
        known = [hours_of_load(load) for load in loads if isinstance(load, Load)]
        return min(1.0, sum(1.0 if share is None else share for share in known))
    return _share_said([state.setup.duty for state in states_with_inverter_on(study, inverter.name)])


def states_with_inverter_on(study: Study, inverter: str) -> list[SolvedState]:
    """Return the declared states, surges left out, in which an inverter is on and fed; an open switch before it takes it off as well as its own does."""
    return [
        state
        for state in study.states
        if _is_told(state.setup)
        and inverter in state.setup.inverters
        and (not state.solved or abs(state.current(inverter)) > _TRACE)
    ]


def hours_of_coil(study: Study, relay: str) -> float:
    """Return for which part of a day a coil is fed: as the declared states in which it is say, where all do, else all day."""
    fed = [state for state in study.states if _is_told(state.setup) and abs(state.current(f"{relay} coil")) > _TRACE]
    return _share_said([state.setup.duty for state in fed])


def _share_said(duties: list[float | None]) -> float:
    known = [duty for duty in duties if duty is not None]
    return min(1.0, sum(known)) if duties and len(known) == len(duties) else 1.0


def _is_told(setup: Setup) -> bool:
    return setup.origin == "declared" and not setup.is_surge
