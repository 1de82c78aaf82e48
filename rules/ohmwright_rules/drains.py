"""What empties a battery in a state: every consumer that stays fed, by name, the management systems, self-discharge.

Of tolerances the end that protects counts: the largest drain, the smallest capacity.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ohmwright.circuit.graph import Consumer
from ohmwright.missing import Missing
from ohmwright.references import Reference
from ohmwright.study import SolvedState, Study
from ohmwright.tables import Cell, load
from ohmwright.values import Amount, figures, shown
from ohmwright_grammar.kinds.battery import LITHIUM, Battery
from ohmwright_grammar.kinds.charging import Charger
from ohmwright_grammar.kinds.controller import Controller
from ohmwright_grammar.kinds.distribution import Meter
from ohmwright_grammar.kinds.inverter import Converter, Inverter
from ohmwright_grammar.kinds.load import Load
from ohmwright_grammar.kinds.part import Part
from ohmwright_grammar.kinds.switch import Disconnect, Relay
from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Span

from ohmwright_rules.basis import TABLES
from ohmwright_rules.strings import groups_of, strings_in
from ohmwright_rules.wording import listed

__all__ = ["Bank", "Drain", "banks_in", "self_discharge_of", "summed_beyond"]

_SELF_DISCHARGE = load(TABLES, "battery_self_discharge")
_PER_MONTH = 0.01 / (730.0 * 3600.0)  # percent a month, as a share a second; a month is 730 h
_DECLARED = Reference("battery data sheet, as declared", "", "self-discharge", "computed")


@record
class Drain:
    """One consumer that takes current from a stored bank [A], what of it does, and where it was said."""

    name: str
    current: float
    what: str
    span: Span


@record
class Bank:
    """Batteries that are joined in a state, and everything that empties them.

    `capacity` [C] is None where a battery declares none; `strings` counts those side by side. `missing` are drains that nobody declared.
    """

    batteries: tuple[Battery, ...]
    strings: tuple[tuple[str, ...], ...]
    capacity: float | None
    drains: tuple[Drain, ...]
    missing: tuple[Missing, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """The batteries, in name order."""
        return tuple(battery.name for battery in self.batteries)

    @property
    def words(self) -> str:
        """The batteries in words."""
        return listed(self.names)

    @property
    def total(self) -> float:
        """The sum of all drains [A]."""
        return sum(drain.current for drain in self.drains)


def banks_in(study: Study, state: SolvedState) -> tuple[Bank, ...]:
    """Return every bank of a state, in name order, with what empties it there."""
    banks: list[Bank] = []
    for names in groups_of(study, "battery", state.open_gates):
        study.options.budget.check()
        banks.append(_bank(study, state, names))
    return tuple(banks)


def _bank(study: Study, state: SolvedState, names: tuple[str, ...]) -> Bank:
    batteries = []
    for name in names:
        part = study.part(name)
        assert isinstance(part, Battery)
        batteries.append(part)
    strings = _strings(study, state, tuple(batteries))
    by_name = {battery.name: battery for battery in batteries}
    capacity: float | None = 0.0
    for string in strings:
        ours = [_capacity(by_name[name]) for name in string]
        known = [value for value in ours if value is not None]
        capacity = capacity + min(known) if capacity is not None and len(known) == len(ours) else None
    near = study.circuit.reach([f"{name}.{pole}" for name in names for pole in ("plus", "minus")], open_gates=state.open_gates)
    drains = [*_consumers(study, state, near), *_further(study, state, near)]
    missing = list(_undeclared(study, state, near))
    for string in strings:
        worst: Drain | None = None
        for name in string:
            found = _of_bms(by_name[name])
            if isinstance(found, Missing):
                missing.append(found)
            elif found is not None and (worst is None or found.current > worst.current):
                worst = found
        if worst is not None:
            drains.append(worst)
    drains.sort(key=lambda drain: (-drain.current, drain.name))
    return Bank(tuple(batteries), strings, capacity, tuple(drains), tuple(missing))


def _strings(study: Study, state: SolvedState, batteries: tuple[Battery, ...]) -> tuple[tuple[str, ...], ...]:
    """Return the strings of a bank: between the pole that is nobody's plus and the one that is nobody's minus."""
    found: dict[tuple[str, ...], None] = {}
    longest: tuple[tuple[str, ...], ...] = ()
    for first in batteries:
        for last in batteries:
            strings = strings_in(study, "battery", f"{first.name}.minus", f"{last.name}.plus", state.open_gates)
            if strings and (sum(map(len, strings)), max(map(len, strings))) > (
                sum(map(len, longest)),
                max(map(len, longest), default=0),
            ):
                longest = strings
    for string in longest:
        found.setdefault(string)
    met = {name for string in found for name in string}
    for battery in batteries:
        if battery.name not in met:
            found.setdefault((battery.name,))
    return tuple(found)


def _capacity(battery: Battery) -> float | None:
    return float(battery.capacity.charge.low) if battery.capacity is not None else None


# drains ------------------------------------------------------------------------------------------------------------


def _consumers(study: Study, state: SolvedState, near: set[str]) -> Iterator[Drain]:
    """Yield what the solved circuit takes from the bank, by consumer."""
    for consumer in study.circuit.consumers:
        if consumer.plus not in near or consumer.minus not in near or _is_asleep(study, state, consumer.part):
            continue
        current = abs(state.current(_element(consumer)))
        what = _what(consumer)
        part = consumer.part
        if isinstance(part, Load) and part.always_on:
            what = "always on"
            if part.hours is not None:
                current *= min(1.0, float(part.hours.high))
                what += f", {float(part.hours.high) * 24.0:.3g} h/day"
        if current > 1e-9:
            yield Drain(part.name, current, what, part.span)


def _is_asleep(study: Study, state: SolvedState, part: Part) -> bool:
    """Tell whether a part is an inverter that is on in a state and sleeps there: nothing runs on it, and it takes no more than its own drain."""
    level = state.setup.inverters.get(part.name)
    if level is None or not isinstance(part, Inverter) or not part.sleeps:
        return False
    gives = level.power or level.share or level.current or level.peak
    return not gives and state.setup.running.keys().isdisjoint(study.ac_side.loads_of(part.name))


def _element(consumer: Consumer) -> str:
    """Return the name under which the solved circuit has a consumer."""
    if consumer.kind in ("drain", "coil"):
        return f"{consumer.name} {consumer.kind}"
    return f"{consumer.part.name}.in" if consumer.kind == "converter" else consumer.name


def _what(consumer: Consumer) -> str:
    words = {
        "drain": "own drain",
        "coil": "coil",
        "load": "runs",
        "inverter": "runs",
        "converter": "runs",
    }
    return words[consumer.kind]


def _further(study: Study, state: SolvedState, near: set[str]) -> Iterator[Drain]:
    """Yield declared own drains of parts that the circuit has no consumer for: loads and inverters that are switched off or asleep but fed."""
    drained = {consumer.part.name for consumer in study.circuit.consumers if consumer.kind == "drain"}
    told: set[str] = set()
    for consumer in study.circuit.consumers:
        part = consumer.part
        if part.name in drained or part.name in told or consumer.plus not in near or consumer.minus not in near:
            continue
        if abs(state.current(_element(consumer))) > 1e-9 and not _is_asleep(study, state, part):
            continue  # it runs: what it takes for itself is part of that
        volt = state.across(consumer.plus, consumer.minus)
        if part.own_drain is not None:
            current = float(part.own_drain.high)
        elif part.own_drain_power is not None and volt:
            current = float(part.own_drain_power.high) / abs(volt)
        else:
            continue
        told.add(part.name)
        if current > 0:
            yield Drain(part.name, current, "own drain", part.place_of(Part.own_drain))


def _undeclared(study: Study, state: SolvedState, near: set[str]) -> Iterator[Missing]:
    """Yield parts that stay fed and whose drain nobody declared, and loads that are always on and do not say what they take."""
    behind = _behind_converters(study, state, near)
    names = {study.build.nodes.get(node, "") for node in behind}
    for name in sorted(names & study.build.parts.keys()):
        part = study.build.parts[name]
        said = part.own_drain is not None or part.own_drain_power is not None or part.says_none(Part.own_drain)
        if isinstance(part, Controller):
            if f"{name}.batt_plus" in near and not said:
                yield Missing(f"own drain of {name}", part.span, "own drain 10 mA")
        elif isinstance(part, Meter):
            if f"{name}.plus" in near and not said:
                yield Missing(f"own drain of {name}", part.span, "own drain 10 mA")
        elif isinstance(part, Disconnect):
            if f"{name}.line" in near and not said:
                yield Missing(f"own drain of {name}", part.span, "own drain 2 mA")
        elif isinstance(part, Inverter):
            asleep = _is_asleep(study, state, part)
            runs = name in state.setup.inverters and not asleep
            fed = near.issuperset((f"{name}.plus", f"{name}.minus"))
            if fed and not said and not runs:
                idle = "sleeps" if asleep else "is switched off"
                yield Missing(f"own drain of {name} while it {idle}", part.span, "own drain 1 mA")
            elif fed and runs and part.no_load_draw is None and not part.says_none(Inverter.no_load_draw):
                yield Missing(f"draw of {name} with no load", part.span, "draws 6 W with no load")
        elif isinstance(part, Charger):
            if f"{name}.plus" in near and part.drain_unplugged is None and not part.says_none(Charger.drain_unplugged):
                yield Missing(f"drain of {name} when unplugged", part.span, "drain when unplugged 1 mA")
        elif isinstance(part, Converter):
            if f"{name}.in_plus" in near and part.no_load_draw is None and not part.says_none(Converter.no_load_draw):
                yield Missing(f"draw of {name} with no load", part.span, "idle 5 mA")
        elif isinstance(part, Load) and part.always_on and not said:
            takes = part.power is not None or part.current is not None or part.resistance is not None
            if not takes and f"{name}.plus" in behind:
                yield Missing(f"power or current of {name}", part.span, "5 mA")
        elif (
            isinstance(part, Relay) and part.coil_power is None and f"{name}.coil_plus" in near and f"{name}.coil_minus" in near
        ):
            yield Missing(f"coil power of {name}", part.span, "coil 1.5 W")


def _behind_converters(study: Study, state: SolvedState, near: set[str]) -> set[str]:
    """Return the nodes that a bank feeds, those behind converters included."""
    found = set(near)
    left = sorted(study.of(Converter), key=lambda part: part.name)
    while fed := [part for part in left if f"{part.name}.in_plus" in found]:
        left = [part for part in left if part not in fed]
        found |= study.circuit.reach([f"{part.name}.out_plus" for part in fed], open_gates=state.open_gates)
    return found


def _of_bms(battery: Battery) -> Drain | Missing | None:
    """Return what a battery's management system takes; None for a battery that has none."""
    said = [
        (float(quantity.high), span)
        for quantity, span in (
            (
                battery.bms.own_drain if battery.bms is not None else None,
                battery.bms.span if battery.bms is not None else battery.span,
            ),
            (battery.own_drain, battery.place_of(Battery.own_drain)),
        )
        if quantity is not None
    ]
    if said:
        current, span = max(said, key=lambda item: item[0])
        return (
            Drain(f"BMS of {battery.name}" if battery.bms is not None else battery.name, current, "own drain", span)
            if current > 0
            else None
        )
    if battery.says_none(Battery.bms) or battery.says_none(Battery.own_drain):
        return None
    if battery.bms is not None or battery.chemistry in LITHIUM:
        return Missing(f"own drain of the BMS of {battery.name}", battery.span, "bms { own drain 3 mA }")
    return None


# self-discharge ----------------------------------------------------------------------------------------------------


def self_discharge_of(bank: Bank) -> tuple[float, str, Reference] | Missing:
    """Return what a bank loses by itself [A], in words from where, and the weakest reference; the end that protects."""
    by_name = {battery.name: battery for battery in bank.batteries}
    total = 0.0
    words: list[str] = []
    reference = _DECLARED
    for string in bank.strings:
        losses: list[float] = []
        for name in string:
            battery = by_name[name]
            capacity = _capacity(battery)
            if capacity is None:
                return Missing(f"capacity of {name}", battery.span, "100 Ah")
            rate = _rate(battery)
            if isinstance(rate, Missing):
                return rate
            share, said, its = rate
            losses.append(share * capacity)
            if its is not None:
                reference = its
            words.append(f"{said} of {shown(Amount(capacity, 'charge', 'Ah'))}")
        total += max(losses)
    return total, " + ".join(words), reference


def _rate(battery: Battery) -> tuple[float, str, Reference | None] | Missing:
    if battery.self_discharge is not None:
        share = float(battery.self_discharge.high)
        return share, f"{share / _PER_MONTH:.3g} %/month (declared)", None
    if battery.chemistry is None:
        return Missing(f"self-discharge of {battery.name}", battery.span, "self-discharge 3 %/month")
    cell: Cell | None = _SELF_DISCHARGE.cell(battery.chemistry, "most_percent_per_month")
    if cell is None:
        return Missing(f"self-discharge of {battery.name}", battery.span, "self-discharge 3 %/month")
    return cell.value * _PER_MONTH, f"{cell.value:g} %/month ({battery.chemistry}, the most)", cell.reference


def summed_beyond(drains: Sequence[tuple[str, float]], total: float | None = None, most: int = 5) -> str:
    """Return drains [A] with what each takes, the largest first, those beyond `most` in sum; with a `total` also the share of each.

    >>> summed_beyond([("meter", 0.008), ("BMS", 0.004)]), summed_beyond([("meter", 0.006), ("BMS", 0.002)], 0.008)
    ('meter 8 mA, BMS 4 mA', 'meter 6 mA (75 %), BMS 2 mA (25 %)')
    """
    ordered = sorted(drains, key=lambda drain: -drain[1])
    if len(ordered) > most:
        rest = ordered[most - 1 :]
        ordered = [*ordered[: most - 1], (f"{len(rest)} more", sum(current for _, current in rest))]

    def words(name: str, current: float) -> str:
        takes = f"{name} {shown(Amount(current, 'current', 'mA'))}"
        return f"{takes} ({figures(current / total * 100, 2)} %)" if total else takes

    return ", ".join(words(name, current) for name, current in ordered)
