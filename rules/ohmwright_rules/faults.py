"""The weakest short at every far end: what the empty bank still drives through everything in the loop.

Batteries stand at the lowest voltage of their rest table behind the upper end of their resistance, packs that may be missing are missing, and copper is at 70 degC,
or as warm as its own load makes it if that is more (readings.md, F and Solver). All of the loop counts: conductors both ways, contacts, devices.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cached_property

from ohmwright.circuit.batteries import resistance_high, resistance_low, rest_voltage_of
from ohmwright.circuit.graph import Branch
from ohmwright.missing import Missing
from ohmwright.protection.far_ends import End, FarEnds, Place
from ohmwright.protection.poles import Poles
from ohmwright.protection.walking import Walk
from ohmwright.references import Step
from ohmwright.solver.elements import Element, Emf, Network, Resistor
from ohmwright.solver.operation import Port
from ohmwright.states.setup import Setup
from ohmwright.study import Study
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.connector import Half
from ohmwright_grammar.records import record

from ohmwright_rules.guarding import rating_of
from ohmwright_rules.kept import kept
from ohmwright_rules.live_sides import live_sides_without
from ohmwright_rules.silent_battery import silent_voltage
from ohmwright_rules.warm_copper import rise_of

__all__ = ["HOT", "Fault", "Faults", "Setting", "faults_of"]

HOT = 70.0  # degC: what copper of a fault loop is taken at, at least (readings.md, Solver)
_MOST_FEWER = 64  # settings with packs taken off
_NEARLY_NOTHING = 1e-6  # ohm: in place of a resistance that is not declared, so that no two sources fight


@record
class Fault:
    """A short at a far end [A]: in all, and through the device before it; the network seen from there [V, ohm]."""

    end: End
    setting: Setting
    total: float
    volt: float
    ohm: float

    @property
    def device(self) -> Branch:
        """The device that has to open."""
        assert self.end.device is not None
        return self.end.device

    @property
    def ampere(self) -> float:
        """What flows through the device [A]."""
        return self.setting.through(self)

    @property
    def loop(self) -> tuple[Branch, ...]:
        """The conductors and devices on the way there and back."""
        ends = self.setting.ends
        return (*ends.live(self.end), *ends.returns(self.end))

    @property
    def thin(self) -> tuple[Branch, ...]:
        """The conductors that carry the current and lie behind the device, or on the way back."""
        ends = self.setting.ends
        return (*ends.behind(self.end), *(branch for branch in ends.returns(self.end) if branch.conductor is not None))

    def missing(self) -> Missing | None:
        """Return a datum that is not declared and makes the current look larger than it is, None where all is known."""
        return self.setting.missing(self)

    def steps(self) -> tuple[Step, ...]:
        """The working of the current."""
        return self.setting.steps(self)


class Setting:
    """The weakest shorts under one setting of what cannot be closed at the same time."""

    def __init__(self, study: Study, faults: Faults, poles: Poles, apart: frozenset[str], words: str = "") -> None:
        self.study = study
        self.faults = faults
        self.apart = apart  # gates that are open because packs may be missing
        self.words = words  # which packs these are, where hands take them off
        names = {battery.name for battery in study.of(Battery)}
        self.ends = FarEnds(poles, names, lambda device: rating_of(study, device))
        self._shares: dict[tuple[str, str, str], float] = {}
        self._missing: dict[tuple[int, int, Place], Missing | None] = {}
        self._silent: dict[int, Missing | None] = {}

    @cached_property
    def network(self) -> Network:
        """The batteries and everything that is closed, without any load."""
        study, opened = self.study, self.ends.ways.open_gates
        number = study.networker.number
        items: list[Element] = [
            Resistor(branch.name, number[branch.start], number[branch.end], self.faults.ohm(branch))
            for branch in study.circuit.branches
            if (not branch.gate or branch.gate not in opened) and not self.blocks(branch)
        ]
        for source in study.circuit.sources:
            if isinstance(source.part, Battery):
                volt, ohm = self.faults.battery(source.part)
                items.append(Emf(source.name, number[source.plus], number[source.minus], volt, ohm))
        return Network(len(number), tuple(items), study.networker.references)

    def blocks(self, branch: Branch) -> bool:
        """Tell whether a diode leads from a return to a live conductor: no battery pushes anything through it, as across a coil."""
        if branch.kind != "diode":
            return False
        cluster, live = self.ends.ways.cluster, self.ends.poles.live
        return not live[cluster[branch.start]] and bool(live[cluster[branch.end]])

    @cached_property
    def all(self) -> tuple[Fault, ...]:
        """Every short behind a device."""
        study = self.study
        found = [end for end in self.ends.ends(self.places()) if end.device is not None]
        number = study.networker.number
        pairs = [(number[end.place.node], number[end.place.back]) for end in found]
        distinct = list(dict.fromkeys(pairs))
        ports: dict[tuple[int, int], Port] = dict(zip(distinct, study.solver.thevenin(self.network, distinct), strict=True))
        faults: list[Fault] = []
        for end, pair in zip(found, pairs, strict=True):
            port = ports[pair]
            if port.ohm < float("inf") and port.open_volt != 0.0:
                volt = abs(port.open_volt)
                faults.append(Fault(end, self, volt / max(port.ohm, _NEARLY_NOTHING), volt, port.ohm))
        return tuple(faults)

    @cached_property
    def largest_network(self) -> Network:
        """The full batteries behind the lower end of their resistance, all packs joined, and the live conductors at 20 degC; all else as nothing."""
        study, ways = self.study, self.ends.ways
        number, live = study.networker.number, self.ends.poles.live
        barred = ways.open_gates - self.apart
        items: list[Element] = []
        for branch in study.circuit.branches:
            if (not branch.gate or branch.gate not in barred) and not self.blocks(branch):
                ends = [ways.cluster[node] for node in (branch.start, branch.end) if node in ways.cluster]
                ohm = _shortest_ohm(branch) if branch.conductor is not None and all(live[end] for end in ends) else 0.0
                items.append(Resistor(branch.name, number[branch.start], number[branch.end], ohm))
        for source in study.circuit.sources:
            if isinstance(source.part, Battery):
                volt, low = rest_voltage_of(source.part, 1.0), resistance_low(source.part)
                volt = volt if volt is not None else study.system_voltage or 12.0
                items.append(
                    Emf(source.name, number[source.plus], number[source.minus], volt, max(low or 0.0, _NEARLY_NOTHING))
                )
        return Network(len(number), tuple(items), study.networker.references)

    def largest(self, pairs: Iterable[tuple[str, str]]) -> dict[tuple[str, str], float]:
        """Return the largest current of a short between two nodes [A], by the pair; huge where a battery does not say its resistance."""
        number = self.study.networker.number
        wanted = list(dict.fromkeys(pairs))
        ports = self.study.solver.thevenin(self.largest_network, [(number[one], number[two]) for one, two in wanted])
        return {pair: abs(port.open_volt) / max(port.ohm, _NEARLY_NOTHING) for pair, port in zip(wanted, ports, strict=True)}

    def silent_battery(self, walk: Walk) -> Missing | None:
        """Return what a battery does not say that bounds the largest current: its resistance measured, not only at most."""
        if id(walk) not in self._silent:
            silent = [
                part
                for pole in self.ends.batteries
                if isinstance(part := pole.source.part, Battery)
                and resistance_low(part) is None
                and pole.cluster in walk.reached
            ]
            what = f"measured internal resistance, or short-circuit current, of {silent[0].name}" if silent else ""
            self._silent[id(walk)] = Missing(what, silent[0].span, "internal resistance 3 mohm") if silent else None
        return self._silent[id(walk)]

    def places(self) -> Iterator[Place]:
        """Yield where a short may lie: at loads, chargers and whatever else joins both poles, and between the pins of connector halves."""
        circuit, poles = self.study.circuit, self.ends.poles
        cluster, live = self.ends.ways.cluster, poles.live
        told: set[tuple[str, str]] = set()
        ends = [(item.part.name, item.plus, item.minus) for item in circuit.consumers]
        ends += [(item.name, item.plus, item.minus) for item in circuit.sources if item.kind in ("charger", "controller")]
        for name, plus, minus in ends:
            node, back = (plus, minus) if live[cluster[plus]] else (minus, plus)
            if (node, back) not in told and live[cluster[node]] and not live[cluster[back]]:
                told.add((node, back))
                yield Place(name, node, back)
        for half in self.study.of(Half):
            nodes = [node for node in circuit.nodes_of(half.name) if node in cluster]
            back = next((node for node in nodes if poles.returns[cluster[node]]), "")
            for node in nodes if back else ():
                if live[cluster[node]]:
                    yield Place(half.name, node, back)

    def through(self, fault: Fault) -> float:
        """Return what flows through the device of a short [A]: all of it, or its share beside other batteries."""
        device, place = fault.device, fault.end.place
        if self.ends.carries_all(device):
            return fault.total
        key = (device.name, place.node, place.back)
        if key not in self._shares:
            number = self.study.networker.number
            short = Resistor("\0short", number[place.node], number[place.back], 0.0)
            network = Network(self.network.nodes, (*self.network.elements, short), self.network.references)
            solved = self.study.solver.solve(network)
            self._shares[key] = abs(solved.currents.get(device.name, 0.0)) if solved.solved else fault.total
        return self._shares[key]

    def missing(self, fault: Fault) -> Missing | None:
        """Return what is not declared of the batteries and conductors of a short."""
        key = (id(fault.end.walk), fault.end.cluster, fault.end.place)
        if key not in self._missing:
            self._missing[key] = self._find_missing(fault)
        return self._missing[key]

    def _find_missing(self, fault: Fault) -> Missing | None:
        reached = fault.end.walk.reached
        for pole in self.ends.batteries:
            if pole.cluster in reached and isinstance(pole.source.part, Battery):
                found = self.faults.unknown(pole.source.part)
                if found is not None:
                    return found
        for branch in fault.loop:
            if branch.conductor is not None and branch.assumed:
                return Missing(f"gauge or length of {branch.name}", branch.span, "10 AWG, 1 m long")
        return None

    def steps(self, fault: Fault) -> tuple[Step, ...]:
        """The working: the batteries, the loop, the current."""
        steps: list[Step] = []
        reached = fault.end.walk.reached
        for pole in self.ends.batteries:
            if pole.cluster in reached and isinstance(pole.source.part, Battery) and len(steps) < 8:
                volt, ohm = self.faults.battery(pole.source.part)
                steps.append(Step("U_empty", f"{pole.source.name}, lowest of its rest voltages", volt, "V", "rest voltages"))
                steps.append(Step("R_high", f"{pole.source.name}, upper end", ohm, "ohm", "as declared"))
        wires = [branch for branch in fault.loop if branch.conductor is not None]
        hottest = max((self.faults.temperature(wire) for wire in wires), default=HOT)
        names = " + ".join(wire.name for wire in wires) if len(wires) <= 8 else f"{len(wires)} conductors"
        place = fault.end.place
        steps.append(
            Step("R_loop", f"{place.node} to {place.back}: {names}, copper at {hottest:.3g} degC, contacts and devices counted", fault.ohm, "ohm", "solved circuit")
        )  # fmt: skip
        steps.append(Step("I_far", f"{fault.volt:.4g} / {fault.ohm:.4g}", fault.total, "A", "Ohm's law"))
        if not self.ends.carries_all(fault.device):
            steps.append(Step("I_device", f"share of {fault.device.name}", self.through(fault), "A", "solved circuit"))
        return tuple(steps)


def _shortest_ohm(wire: Branch) -> float:
    """Return the resistance of a conductor at the lower end of its length, or of what was measured [ohm]."""
    conductor = wire.conductor
    if wire.assumed or conductor is None:
        return 0.0
    if conductor.measured_resistance is not None:
        return float(conductor.measured_resistance.low)
    length = conductor.length
    return wire.ohm * (length.low / length.high) if length is not None and length.high > 0 else wire.ohm


class Faults:
    """The weakest shorts of one build."""

    def __init__(self, study: Study) -> None:
        self.study = study
        self.apart = frozenset(gate for row in study.build.rows for link in row.links[row.least :] for gate in link)
        self.settings = tuple(Setting(study, self, poles, self.apart) for poles in live_sides_without(study, self.apart))
        self._temperatures: dict[str, float] = {}
        self._steady: dict[str, float] | None = None
        self._hot_end = study.climate.in_state(Setup("", "implied"))

    @cached_property
    def every(self) -> tuple[Setting, ...]:
        """The settings, and where reached states are asked for those in which hands have left as few packs joined as can be."""
        if not self.study.options.reached or len(self.study.anatomy.batteries) < 2:
            return self.settings
        from ohmwright.states.packs import packs_of  # few builds have packs that hands can part

        study = self.study
        fewer = [
            Setting(study, self, poles, self.apart | gates, words)
            for gates, words in packs_of(study.build, study.circuit, study.anatomy).fewest()
            if not gates <= self.apart
            for poles in live_sides_without(study, self.apart | gates)
        ]
        return (*self.settings, *fewer[:_MOST_FEWER])

    @property
    def all(self) -> Iterator[Fault]:
        """Every short behind a device, over every setting."""
        return (fault for setting in self.every for fault in setting.all)

    def unknown(self, battery: Battery) -> Missing | None:
        """Return what is not declared of a battery."""
        if rest_voltage_of(battery, 0.0) is None:
            return silent_voltage(battery)
        if resistance_high(battery) is None:
            return Missing(f"internal resistance of {battery.name}", battery.span, "internal resistance at most 5 mohm")
        return None

    def battery(self, battery: Battery) -> tuple[float, float]:
        """Return the lowest voltage at rest [V] and the upper end of the resistance [ohm] of a battery."""
        volt, ohm = rest_voltage_of(battery, 0.0), resistance_high(battery)
        return volt if volt is not None else self.study.system_voltage or 12.0, max(ohm or 0.0, _NEARLY_NOTHING)

    def ohm(self, branch: Branch) -> float:
        """Return the resistance of a branch in a loop of a short [ohm]."""
        if branch.alpha == 0.0:
            return branch.ohm
        return branch.ohm * (1.0 + branch.alpha * (self.temperature(branch) - 20.0))

    def temperature(self, branch: Branch) -> float:
        """Return how warm the copper of a conductor is when the short begins [degC]."""
        found = self._temperatures.get(branch.name)
        if found is None:
            own = branch.conductor.own_temperature if branch.conductor is not None else None
            air = float(own.high) if own is not None else self._hot_end.of(branch.zone)
            loaded = air + self._currents.get(branch.name, 0.0) ** 2 * rise_of(self.study, branch)
            found = self._temperatures[branch.name] = max(HOT, loaded)
        return found

    @property
    def _currents(self) -> dict[str, float]:
        """The largest steady current of every branch over all states [A]."""
        if self._steady is None:
            self._steady = {}
            told: set[int] = set()
            for state in self.study.states:
                if state.setup.is_surge or state.setup.short_at or id(state.point) in told:
                    continue
                told.add(id(state.point))
                for name, current in state.point.currents.items():
                    if abs(current) > self._steady.get(name, 0.0):
                        self._steady[name] = abs(current)
        return self._steady


def faults_of(study: Study) -> Faults:
    """Return the weakest shorts of a build, worked out once."""
    return kept(study, Faults)
