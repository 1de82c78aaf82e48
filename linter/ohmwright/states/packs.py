"""Packs that lie side by side: which hands can part and join, which are joined in a state, and how far apart in charge they may be then.

A pack is a battery, or several in series whose inner points no other battery shares. Packs that nothing parts are one unit: they are always equally full.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.procedure import Procedure
from ohmwright_grammar.kinds.switch import Relay
from ohmwright_grammar.records import record, replace

from ohmwright.circuit.batteries import capacity_of, rest_voltage_of
from ohmwright.circuit.graph import Circuit
from ohmwright.states.reaching import Lever, levers_of, on_paths
from ohmwright.states.setup import DEFAULT_CHARGE, Level, Setup
from ohmwright.wording import named

if TYPE_CHECKING:
    from ohmwright_grammar.model import Build

    from ohmwright.states.anatomy import Anatomy

__all__ = ["Joint", "Pack", "Packs", "Unit", "natural", "packs_of"]

_FULL, _EMPTY = 1.0, 0.0


@record
class Pack:
    """A battery, or several in series from minus to plus, and how a person calls it."""

    members: tuple[str, ...]
    word: str


@record
class Unit:
    """Packs that nothing parts from each other."""

    packs: tuple[Pack, ...]

    @property
    def word(self) -> str:
        """How a person calls it."""
        return named([pack.word for pack in self.packs])

    @property
    def members(self) -> tuple[str, ...]:
        """The batteries in it."""
        return tuple(name for pack in self.packs for name in pack.members)


@record
class Joint:
    """A place where units can be parted: the levers that each do it alone, the units that are off then, and whether something eases their joining."""

    levers: tuple[Lever, ...]
    far: frozenset[Unit]
    eased: bool


def natural(name: str) -> tuple[tuple[str, int], ...]:
    """Return a key that sorts names as people count.

    >>> sorted(["pack[10]", "pack[9]"], key=natural)
    ['pack[9]', 'pack[10]']
    """
    parts: list[tuple[str, int]] = []
    word, digits = "", ""
    for sign in name:
        if sign.isdecimal():
            digits += sign
            continue
        if digits:
            parts.append((word, int(digits)))
            word, digits = "", ""
        word += sign
    return (*parts, (word, int(digits or 0)))


def packs_of(build: Build, circuit: Circuit, anatomy: Anatomy) -> Packs:
    """Return the packs of a build."""
    batteries = anatomy.batteries
    if len(batteries) < 2:
        return Packs(build, circuit, (), ())
    levers = (lever for lever in levers_of(build, circuit, anatomy) if lever.by_hand)
    return Packs(build, circuit, levers, on_paths(circuit, batteries))


class Packs:
    """The packs of one build: `levers` are those of its hands, `between` the gates on the ways from battery to battery."""

    def __init__(self, build: Build, circuit: Circuit, levers: Iterable[Lever], between: Collection[str]) -> None:
        self.build = build
        self.circuit = circuit
        self.between = frozenset(between)  # only they tell what is joined
        self.words = _words(sorted(name for name, part in build.parts.items() if isinstance(part, Battery)))
        self._nets: dict[frozenset[str], dict[str, int]] = {}
        self._joined: dict[frozenset[str], tuple[tuple[Pack, ...], ...]] = {}
        self.levers = tuple(lever for lever in levers if self.between.intersection(lever.gates))
        self.rule = _joining_rule(build)
        self.units, self.joints = self._divided() if len(self.words) > 1 else ((), ())
        self.always, self.never = self._held()
        self.plain = tuple(
            joint for joint in self.joints if joint.levers and all(lever.kind != "selector" for lever in joint.levers)
        )
        self.of_pack: dict[tuple[str, ...], Unit] = {pack.members: unit for unit in self.units for pack in unit.packs}
        by_hand = [unit for joint in self.plain for unit in joint.far]
        depth = {unit: by_hand.count(unit) for unit in by_hand}
        self.removable = tuple(sorted(depth, key=lambda unit: (depth[unit], natural(unit.word))))

    # what is joined ----------------------------------------------------------------------------------------------

    def _net(self, open_gates: Collection[str]) -> dict[str, int]:
        """Return the net of every pole of a battery while some gates are open: what wires, fuses, switches and contacts join."""
        key = self.between.intersection(open_gates)
        found = self._nets.get(key)
        if found is None:
            found = self._nets[key] = {}
            for name in self.words:
                for pole in (f"{name}.minus", f"{name}.plus"):
                    if pole not in found:
                        near = self.circuit.reach(pole, lambda branch: branch.kind not in ("diode", "resistor"), key)
                        number = len(found)
                        poles = (f"{other}.{end}" for other in self.words for end in ("minus", "plus"))
                        found.update((other, number) for other in poles if other in near)
        return found

    def _packs(self, net: dict[str, int]) -> list[Pack]:
        """Return the batteries with those joined to one pack that are in series, where nothing else of a battery hangs between them."""
        over: dict[int, list[str]] = {}
        under: dict[int, list[str]] = {}
        for name in self.words:
            over.setdefault(net[f"{name}.minus"], []).append(name)
            under.setdefault(net[f"{name}.plus"], []).append(name)

        def private(number: int) -> bool:
            return len(over.get(number, ())) == 1 and len(under.get(number, ())) == 1

        found: list[Pack] = []
        seen: set[str] = set()
        starts = [name for name in self.words if not private(net[f"{name}.minus"])]
        for name in (*starts, *self.words):
            if name in seen:
                continue
            chain = [name]
            seen.add(name)
            while private(number := net[f"{chain[-1]}.plus"]) and over[number][0] not in seen:
                chain.append(over[number][0])
                seen.add(chain[-1])
            found.append(Pack(tuple(chain), named([self.words[member] for member in chain])))
        return found

    def joined(self, open_gates: Collection[str]) -> tuple[tuple[Pack, ...], ...]:
        """Return the groups of two packs and more that lie side by side while some gates are open."""
        key = self.between.intersection(open_gates)
        known = self._joined.get(key)
        if known is None:
            net = self._net(key)
            groups: dict[tuple[int, int], list[Pack]] = {}
            for pack in self._packs(net):
                ends = net[f"{pack.members[0]}.minus"], net[f"{pack.members[-1]}.plus"]
                if ends[0] != ends[1]:
                    groups.setdefault(ends, []).append(pack)
            known = self._joined[key] = tuple(tuple(found) for found in groups.values() if len(found) > 1)
        return known

    # what parts them ---------------------------------------------------------------------------------------------

    def _divided(self) -> tuple[tuple[Unit, ...], tuple[Joint, ...]]:
        """Return the units, and the joints between them."""
        banks = self.joined(())
        parting: list[tuple[tuple[str, ...], Lever | None]] = [(lever.gates, lever) for lever in self.levers]
        parting += [((gate,), None) for gate in _relays(self.build) if gate in self.between]
        marks: dict[Pack, tuple[object, ...]] = {pack: (number,) for number, bank in enumerate(banks) for pack in bank}
        sides: list[dict[Pack, tuple[int, int]]] = []
        for gates, _ in parting:
            net = self._net(gates)
            side = {pack: (net[f"{pack.members[0]}.minus"], net[f"{pack.members[-1]}.plus"]) for pack in marks}
            sides.append(side)
            marks = {pack: (*mark, side[pack]) for pack, mark in marks.items()}
        alike: dict[tuple[object, ...], list[Pack]] = {}
        for pack, mark in marks.items():
            alike.setdefault(mark, []).append(pack)
        all_units = tuple(sorted((Unit(tuple(found)) for found in alike.values()), key=lambda unit: natural(unit.word)))
        groups: dict[frozenset[Unit], list[tuple[tuple[str, ...], Lever | None]]] = {}
        for (gates, lever), side in zip(parting, sides, strict=True):
            for bank in banks:
                units = [unit for unit in all_units if unit.packs[0] in bank]
                far = self._far(units, side, gates)
                if far:
                    groups.setdefault(far, []).append((gates, lever))
        return all_units, tuple(
            Joint(
                tuple(lever for _, lever in found if lever is not None),
                far,
                any(self._eases(gate) for gates, _ in found for gate in gates),
            )
            for far, found in groups.items()
        )

    def _far(self, units: Sequence[Unit], side: dict[Pack, tuple[int, int]], gates: Collection[str]) -> frozenset[Unit]:
        """Return the units that are off while some gates are open: all but those that stay where most of what takes and gives hangs."""
        places: dict[tuple[int, int], list[Unit]] = {}
        for unit in units:
            places.setdefault(side[unit.packs[0]], []).append(unit)
        if len(places) < 2:
            return frozenset()
        hanging = {place: self._hanging(found[0], gates) for place, found in places.items()}
        near = max(places, key=lambda place: (hanging[place], max(self._capacity(unit) for unit in places[place])))
        return frozenset(unit for place, found in places.items() if place != near for unit in found)

    def _hanging(self, unit: Unit, gates: Collection[str]) -> int:
        pack = unit.packs[0]
        plus = self.circuit.reach(f"{pack.members[-1]}.plus", open_gates=gates)
        minus = self.circuit.reach(f"{pack.members[0]}.minus", open_gates=gates)
        poles = [(item.plus, item.minus) for item in self.circuit.consumers]
        poles += [(item.plus, item.minus) for item in self.circuit.sources if item.kind != "battery"]
        return sum(one in plus and two in minus for one, two in poles)

    def _capacity(self, unit: Unit) -> float:
        return sum(capacity_of(self.build.parts[name]) for name in unit.members)

    def _eases(self, gate: str) -> bool:
        """Tell whether a plug, switch or contactor joins packs through something that evens them out first."""
        mating = next((mating for mating in self.build.matings if mating.name == gate), None)
        names = (mating.first, mating.second) if mating is not None else (gate,)
        things: list[object] = [self.build.parts.get(name) for name in names]
        things += [row.thing for row in self.build.rows if mating is not None and row.name == mating.row]
        return any(getattr(thing, "joins_through", None) for thing in things)

    # states ------------------------------------------------------------------------------------------------------

    def counts(self, setup: Setup) -> Iterator[tuple[Setup, str]]:
        """Yield a state with 0, 1 and so on up to all units joined, the nearest ones first, and what that changes in words.

        Units that a row must have, or may not have, stay as the state has them. One that comes is as full as what it joins.
        """
        order = [unit for unit in self.removable if unit not in self.always and unit not in self.never]
        for count in range(len(order) + 1):
            absent = frozenset(order[count:])
            gates = self._with_absent(setup.open_gates, absent, order)
            before = {unit for unit in order if self._is_absent(unit, setup.open_gates)}
            now = {unit for unit in order if self._is_absent(unit, gates)}
            gone = [unit.word for unit in order if unit in now - before]
            come = [unit.word for unit in order if unit in before - now]
            words = [f"{named(told)} {how}" for told, how in ((come, "joined"), (gone, "absent")) if told]
            if words:
                yield replace(setup, open_gates=gates, levels=self._evened(setup, gates, before - now)), named(words)

    def _evened(self, setup: Setup, open_gates: frozenset[str], come: Collection[Unit]) -> Mapping[str, Level]:
        """Return the charge levels with units that come as full as the first pack that they join."""
        new = {name for unit in come for name in unit.members}
        levels = dict(setup.levels)
        for group in self.joined(open_gates):
            there = next((pack.members[0] for pack in group if not new & set(pack.members)), None)
            if there is not None and there in setup.levels:
                levels.update((name, setup.levels[there]) for pack in group for name in pack.members if name in new)
        return levels if levels != setup.levels else setup.levels

    def _held(self) -> tuple[frozenset[Unit], frozenset[Unit]]:
        """Return the units that rows say they always have, and those that they never have."""
        always: set[Unit] = set()
        never: set[Unit] = set()
        for row in self.build.rows:
            for number, instance in enumerate(row.instances, start=1):
                if row.least < number <= row.most:
                    continue
                found = (unit for unit in self.units if any(name.startswith(f"{instance}.") for name in unit.members))
                (always if number <= row.least else never).update(found)
        return frozenset(always), frozenset(never)

    def _is_absent(self, unit: Unit, open_gates: Collection[str]) -> bool:
        return any(
            gate in open_gates for joint in self.plain if unit in joint.far for lever in joint.levers for gate in lever.gates
        )

    def _with_absent(self, open_gates: frozenset[str], absent: frozenset[Unit], order: Sequence[Unit]) -> frozenset[str]:
        """Return the gates that are open with some units off: as few joints parted as will do, those of the others closed."""
        gates = set(open_gates)
        for joint in self.plain:
            if joint.far & (set(order) - absent):
                gates.difference_update(gate for lever in joint.levers for gate in lever.gates)
        left = {unit for unit in absent if not self._is_absent(unit, gates)}
        for joint in sorted(self.plain, key=lambda joint: -len(joint.far)):
            if joint.far - self.never <= absent and joint.far & left:
                gates.update(_lever(joint).gates)
                left -= joint.far
        return frozenset(gates)

    def fewest(self) -> Iterator[tuple[frozenset[str], str]]:
        """Yield the gates that are open, all others closed, where as few units are joined as can be, once for each that can be left alone; in words.

        Units that a row always has stay.
        """
        found: dict[frozenset[str], str] = {}
        for kept in self.units:
            parted = [joint for joint in self.plain if kept not in joint.far and not joint.far & self.always]
            gates = frozenset(gate for joint in parted for gate in _lever(joint).gates)
            gone = sorted({unit.word for joint in parted for unit in joint.far}, key=natural)
            if gates:
                found.setdefault(gates, f"{named(gone)} absent")
        for gates, words in found.items():
            if not any(gates < other for other in found):
                yield gates, words

    def may_differ(self, unit: Unit, group: Sequence[Pack]) -> bool:
        """Tell whether hands can join a unit with others of a group without anything that evens them out."""
        others = {self.of_pack.get(pack.members) for pack in group} - {unit, None}
        return any(not joint.eased and (unit in joint.far) != (other in joint.far) for joint in self.joints for other in others)

    def low(self, unit: Unit, group: Sequence[Pack], setup: Setup) -> dict[str, Level] | None:
        """Return the charge levels with a unit low and the other packs of a group fuller, by name; None where a voltage is not known.

        By a posted joining rule it lies as much below as that allows, with the others as the state has them; without one it is empty and they are full.
        """
        levels = dict(setup.levels)
        for pack in group:
            is_low = pack in unit.packs
            for name in pack.members:
                battery = self.build.parts[name]
                assert isinstance(battery, Battery)
                if not battery.rest_voltages and battery.chemistry is None:
                    return None
                if self.rule is None:
                    empty = _empty_voltage(battery)
                    if is_low and empty is None:
                        return None
                    levels[name] = Level(empty or 0.0, is_voltage=True) if is_low else Level(_FULL)
                elif is_low:
                    rest = _rest(battery, setup.levels.get(name))
                    if rest is None or rest <= self.rule / len(pack.members):
                        return None
                    levels[name] = Level(rest - self.rule / len(pack.members), is_voltage=True)
        return levels

    def with_dead_cell(self, name: str, setup: Setup) -> Level | None:
        """Return the level of a battery of which one cell gives nothing; None for one that has a management system, or does not tell its cells."""
        battery = self.build.parts[name]
        assert isinstance(battery, Battery)
        if battery.bms is not None or battery.cells is None or battery.cells < 2:
            return None
        rest = _rest(battery, setup.levels.get(name))
        return Level(rest * (battery.cells - 1) / battery.cells, is_voltage=True) if rest is not None else None


def _lever(joint: Joint) -> Lever:
    """Return the lever by which a hand parts a joint: a plug rather than a switch, the first by name."""
    return min(joint.levers, key=lambda lever: (lever.kind != "plug", natural(lever.name)))


def _rest(battery: Battery, level: Level | None) -> float | None:
    if level is not None and level.is_voltage:
        return level.value
    return rest_voltage_of(battery, level.value if level is not None else DEFAULT_CHARGE)


def _empty_voltage(battery: Battery) -> float | None:
    """Return the voltage at which an empty battery rests [V]: the low cut-off of its management system, else that of 0 % (readings.md, C6)."""
    if battery.bms is not None and battery.bms.low_cut_off is not None:
        return float(battery.bms.low_cut_off.low)
    return rest_voltage_of(battery, _EMPTY)


def _joining_rule(build: Build) -> float | None:
    """Return how far apart packs may be when they are joined [V], as posted; None without a posted rule."""
    said = [thing.joining_difference for thing in build.of(Procedure) if thing.joining_difference is not None]
    return float(said[0].high) if said else None


def _relays(build: Build) -> tuple[str, ...]:
    return tuple(sorted(name for name, part in build.parts.items() if isinstance(part, Relay)))


def _words(names: Sequence[str]) -> dict[str, str]:
    """Return how a person calls each battery: the assembly that it is the only battery of, else its own name."""
    owners = [name.rpartition(".")[0] for name in names]
    words = {}
    for name, owner in zip(names, owners, strict=True):
        alone = bool(owner) and sum(other.startswith(f"{owner}.") for other in names) == 1
        words[name] = owner if alone else name
    return words
