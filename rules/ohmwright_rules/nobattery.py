"""How a controller comes to stand on a panel with no battery: the shortest ways, by connection.

Every combination of the switches and plugs between its arrays, its output and its batteries is looked at, and every blown fuse and management system that
cuts off, alone or beside one other move, whatever states are declared. Relays and low-voltage disconnects on these ways follow the solved circuit.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import combinations, product

from ohmwright.circuit.parts import gate_of_position
from ohmwright.states.implied import resting_setup
from ohmwright.states.reaching import (
    Departure,
    Lever,
    departures_of,
    exclusive_groups,
    in_words,
    is_barred,
    levers_of,
    on_paths,
)
from ohmwright.states.setup import AS_DECLARED, FULL_SUN, Setup
from ohmwright.study import Study
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.inverter import Converter, Inverter
from ohmwright_grammar.kinds.label import Label
from ohmwright_grammar.kinds.load import AcLoad, Load
from ohmwright_grammar.kinds.part import Part
from ohmwright_grammar.kinds.procedure import Procedure
from ohmwright_grammar.kinds.switch import Relay
from ohmwright_grammar.quantities import Quantity, Volt
from ohmwright_grammar.records import record, replace

from ohmwright_rules.kept import kept
from ohmwright_rules.strings import arrangements, joined, ways
from ohmwright_rules.sunside import Side
from ohmwright_rules.wording import listed

__all__ = [
    "Exposed",
    "Way",
    "Ways",
    "order_is_posted",
    "stands_alone_when_open",
    "way_when_open",
    "ways_without_battery",
]

_MOST_TOGETHER = 3  # levers moved by hand at once that are tried one by one; beyond, all that may be open are
_MOST_POSITIONS = 32


@record
class Exposed:
    """A load that stays on a controller's output, and the voltages that it bears (None where it does not say)."""

    part: Part
    bears: Quantity[Volt] | None


@record
class Way:
    """What is moved from where everything is closed, mated and whole, what keeps the panel on meanwhile, and the loads that stay on the output."""

    departures: tuple[Departure, ...]
    keeps: tuple[str, ...]
    exposed: tuple[Exposed, ...]

    @property
    def by_hand(self) -> bool:
        """Tell whether hands alone lead there; a lever that opens by itself is a failure."""
        return all(departure.lever.by_hand for departure in self.departures)

    @property
    def words(self) -> str:
        """The shortest way into the state, in words: "isolator open while sun_plug is mated"."""
        moved = in_words(self.departures) or "everything closed"
        return f"{moved} while {listed(self.keeps)}" if self.keeps else moved


@record
class Ways:
    """The ways that were found, the short ones first; `complete` tells that nothing was left out."""

    found: tuple[Way, ...]
    complete: bool = True

    def shortest(self, by_hand: bool) -> Way | None:
        """Return the shortest way by hand alone, or the shortest that a failure is part of."""
        return next((way for way in self.found if way.by_hand is by_hand), None)


def ways_without_battery(study: Study, side: Side) -> Ways:
    """Return how the arrays of a controller stay on it while no battery is joined to its output."""
    known = kept(study, _known)
    name = side.controller.name
    if name not in known:
        known[name] = _Search(study, side).ways()
    return known[name]


def way_when_open(study: Study, side: Side, gates: frozenset[str]) -> Way | None:
    """Return the way that opening some gates, and nothing else, makes to a panel without a battery; None where it makes none."""
    return _Search(study, side).when_open(gates)


def stands_alone_when_open(study: Study, side: Side, gates: frozenset[str]) -> tuple[Exposed, ...] | None:
    """Return the loads that stay on a controller's output while its arrays stand on it without a battery, some gates open.

    None where the arrays are off, or a battery is on.
    """
    return _exposed(study, side, gates) if _stands_alone(study, side, gates, frozenset()) else None


def _stands_alone(study: Study, side: Side, gates: frozenset[str], tripped: frozenset[str]) -> bool:
    """Tell whether arrays are joined to the input and no battery to the output, by connection."""
    name = side.controller.name
    group = joined(study, gates)
    if not ways(study, "array", group, f"{name}.pv_minus", f"{name}.pv_plus"):
        return False
    return not any(
        not tripped & set(string) for string in ways(study, "battery", group, f"{name}.batt_minus", f"{name}.batt_plus")
    )


def _exposed(study: Study, side: Side, gates: frozenset[str]) -> tuple[Exposed, ...]:
    """Return the loads between the poles of the output."""
    name = side.controller.name
    group = joined(study, gates)
    minus, plus = group.get(f"{name}.batt_minus"), group.get(f"{name}.batt_plus")
    found: dict[str, Exposed] = {}
    for consumer in study.circuit.consumers:
        part = consumer.part
        if group[consumer.plus] == plus and group[consumer.minus] == minus and isinstance(part, Load | Converter | Inverter):
            found[part.name] = Exposed(part, _bears(part))
    return tuple(found[key] for key in sorted(found))


def order_is_posted(study: Study) -> bool:
    """Tell whether the connection order is posted, which lowers what hands can do to a warning (catalogue, H5)."""
    if any(label.states_connection_order for label in study.of(Label)):
        return True
    return any(procedure.order_posted for procedure in study.of(Procedure))


def _known(study: Study) -> dict[str, Ways]:
    del study
    return {}


class _Search:
    """Looks for the ways at one controller."""

    def __init__(self, study: Study, side: Side) -> None:
        self.study = study
        self.side = side
        name = side.controller.name
        self.pv = (f"{name}.pv_minus", f"{name}.pv_plus")
        self.out = (f"{name}.batt_minus", f"{name}.batt_plus")
        batteries = {
            battery for way in arrangements(study, "battery", *self.out) for string in way.strings for battery in string
        }
        self.batteries = sorted(batteries)
        parts = (name, *(array.name for array in side.arrays), *self.batteries)
        near = on_paths(study.circuit, parts)
        anatomy = study.anatomy
        self.followers = [gate for gate in (*anatomy.relays, *anatomy.disconnects) if gate in near]
        if self.followers:  # what holds their coils decides as well
            near = on_paths(study.circuit, (*parts, *self.followers))
        self.levers = [
            lever
            for lever in levers_of(study.build, study.circuit, study.anatomy)
            if (lever.name in batteries if lever.kind == "bms" else any(gate in near for gate in lever.gates))
            and not (lever.kind == "bms" and self._never_cuts(lever.name))
        ]
        self.groups = exclusive_groups(study.build, study.anatomy)
        self.never = study.anatomy.never_joined

    def _never_cuts(self, battery: str) -> bool:
        part = self.study.part(battery)
        return isinstance(part, Battery) and part.bms is not None and part.bms.cuts == "discharge"

    def ways(self) -> Ways:
        """Return the shortest ways: by hand, by a failure, and of each kind the shortest that leaves a load on the output."""
        found: list[Way] = []
        complete = True
        for base in self._bases():
            mine, all_seen = self._from(base)
            found.extend(mine)
            complete = complete and all_seen
        found.sort(key=lambda way: (len(way.departures), way.words))
        return Ways(tuple(found), complete)

    def when_open(self, gates: frozenset[str]) -> Way | None:
        """Return the way that opening some gates makes, from everything closed, in any position of the selectors."""
        levers = [
            lever for lever in levers_of(self.study.build, self.study.circuit, self.study.anatomy) if gates & set(lever.gates)
        ]
        for base in self._bases():
            if not self.stands_alone(base.open_gates, frozenset()):
                way = self._way(base, tuple(departure for lever in levers for departure in departures_of(lever, base)[:1]))
                if way is not None:
                    return way
        return None

    def _bases(self) -> Iterator[Setup]:
        """Yield everything closed, mated and whole, in every position of the selectors on the ways."""
        selectors = [lever for lever in self.levers if lever.kind == "selector"]
        others = frozenset(
            gate_of_position(name, position)
            for name, positions in self.study.anatomy.selectors.items()
            if all(lever.name != name for lever in selectors)
            for position in positions[1:]
        )
        for number, chosen in enumerate(product(*(lever.gates for lever in selectors))):
            if number >= _MOST_POSITIONS:
                return
            opened = frozenset(gate for lever in selectors for gate in lever.gates) - frozenset(chosen)
            yield Setup("", "implied", open_gates=opened | others | self.never)

    def _from(self, base: Setup) -> tuple[list[Way], bool]:
        hands = [lever for lever in self.levers if lever.kind in ("switch", "plug")]
        failures = [lever for lever in self.levers if not lever.by_hand]
        found = list(self._tried(base, (combo for size in range(_MOST_TOGETHER + 1) for combo in combinations(hands, size))))
        complete = True
        if not found and len(hands) > _MOST_TOGETHER:
            found = list(self._tried(base, iter((self._all_that_may_open(base, hands),))))
            complete = bool(found) or len(hands) <= _MOST_TOGETHER
        alone = ((failure,) for failure in failures)
        beside = ((failure, other) for failure in failures for other in (*hands, *failures) if other is not failure)
        found += self._tried(base, iter((*alone, *beside)))
        return found, complete

    def _tried(self, base: Setup, combos: Iterator[tuple[Lever, ...]]) -> Iterator[Way]:
        """Yield the combinations that leave the panel alone; what holds one that was found is no way of its own unless it exposes a load."""
        known: list[frozenset[str]] = []
        bare: list[frozenset[str]] = []
        for combo in combos:
            names = frozenset(lever.name + lever.kind for lever in combo)
            if any(other <= names for other in known):
                continue
            departures = tuple(departure for lever in combo for departure in departures_of(lever, base)[:1])
            way = self._way(base, departures)
            if way is None:
                continue
            if way.exposed:
                known.append(names)
            elif any(other <= names for other in bare):
                continue
            else:
                bare.append(names)
            yield way

    def _way(self, base: Setup, departures: tuple[Departure, ...]) -> Way | None:
        gates = base.open_gates
        for departure in departures:
            gates = gates | departure.opens
        if is_barred(gates, self.groups):
            return None
        tripped = frozenset(departure.lever.name for departure in departures if departure.lever.kind == "bms")
        if self.followers:
            gates = self._followed(base, gates, tripped)
        if not self.stands_alone(gates, tripped):
            return None
        return Way(departures, self._keeps(base, departures, gates), _exposed(self.study, self.side, gates))

    def stands_alone(self, gates: frozenset[str], tripped: frozenset[str]) -> bool:
        """Tell whether arrays are joined to the input and no battery to the output, by connection."""
        return _stands_alone(self.study, self.side, gates, tripped)

    def _followed(self, base: Setup, gates: frozenset[str], tripped: frozenset[str]) -> frozenset[str]:
        """Return the open gates with relays and disconnects where their supply puts them, coming from where all is closed.

        A coil that a battery feeds pulls in, one that nothing feeds does not; what only a panel could feed is asked of the solved circuit.
        """
        dropped: set[str] = set()
        while True:
            group = joined(self.study, gates | dropped)
            before = set(dropped)
            for name in self.followers:
                part = self.study.part(name)
                if not isinstance(part, Relay):
                    return self._as_solved(base, gates, tripped)
                poles = f"{name}.coil_minus", f"{name}.coil_plus"
                fed = any(not tripped & set(string) for string in ways(self.study, "battery", group, *poles))
                if not fed and self._other_source(group, *poles):
                    return self._as_solved(base, gates, tripped)
                if fed == (part.rest_position == "closed"):
                    dropped.add(name)
                else:
                    dropped.discard(name)
            if dropped == before:
                return gates | dropped
            if len(dropped) < len(before):
                return self._as_solved(base, gates, tripped)

    def _other_source(self, group: Mapping[str, int], minus: str, plus: str) -> bool:
        """Tell whether something other than a battery could feed what lies between two nodes."""
        return any(
            source.kind != "battery" and group[source.plus] == group.get(plus) and group[source.minus] == group.get(minus)
            for source in self.study.circuit.sources
        )

    def _as_solved(self, base: Setup, gates: frozenset[str], tripped: frozenset[str]) -> frozenset[str]:
        """Return the open gates with relays and disconnects as the solved circuit has them, in full sun, coming from where all is closed."""
        study = self.study
        resting = resting_setup(study.build, study.anatomy)
        before = replace(
            resting,
            name="panel and battery",
            open_gates=base.open_gates,
            sun=dict.fromkeys(study.anatomy.arrays, FULL_SUN),
            running=dict.fromkeys(study.anatomy.loads, AS_DECLARED),
        )
        after = replace(before, name="panel without battery", origin="reached", open_gates=gates, bms_open=tripped)
        return study.solve_setup(after, study.solve_setup(before)).open_gates

    def _all_that_may_open(self, base: Setup, hands: list[Lever]) -> tuple[Lever, ...]:
        """Return the fewest levers, of all but those that keep the panel on, that leave it alone; all of them where that is not enough."""
        opened: list[Lever] = []
        gates = base.open_gates
        for lever in hands:
            more = gates | frozenset(lever.gates)
            if ways(self.study, "array", joined(self.study, more), *self.pv):
                gates = more
                opened.append(lever)
        for lever in tuple(opened):
            rest = [other for other in opened if other is not lever]
            fewer = base.open_gates | frozenset(gate for other in rest for gate in other.gates)
            if self.stands_alone(fewer, frozenset()):
                opened = rest
        return tuple(opened)

    def _keeps(self, base: Setup, departures: tuple[Departure, ...], gates: frozenset[str]) -> tuple[str, ...]:
        """Return in words the levers whose opening would take the panel off, with the positions of selectors."""
        moved = {departure.lever for departure in departures}
        words = []
        for lever in self.levers:
            if lever in moved or lever.kind == "bms":
                continue
            if lever.kind == "selector":
                words.append(next(gate for gate in lever.gates if gate not in base.open_gates))
                continue
            more = gates | frozenset(lever.gates)
            if lever.by_hand and not ways(self.study, "array", joined(self.study, more), *self.pv):
                words.append(f"{lever.word} is {'mated' if lever.kind == 'plug' else 'closed'}")
        return tuple(words)


def _bears(part: Part) -> Quantity[Volt] | None:
    if isinstance(part, Load) and not isinstance(part, AcLoad):
        return part.bears
    if isinstance(part, Converter):
        return part.input_window
    if isinstance(part, Inverter) and part.nominal_voltage is not None and part.nominal_voltage.form == "range":
        return part.nominal_voltage
    return None
