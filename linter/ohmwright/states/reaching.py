"""The states that can be reached from the declared ones by switches, plugs, blown fuses and management systems that cut off.

Order of design.md section 4: every single departure from each declared state; every combination of the switches and plugs on the paths between what
feeds and what charges; every double departure; each in name order. Combinations that a declared mechanical interlock bars are left out. A state that was
met before under another name is not listed twice. A plug that fits two sockets goes from one to the other in two moves.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import combinations, product
from typing import TYPE_CHECKING, Literal

from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.switch import Switching
from ohmwright_grammar.records import record

from ohmwright.circuit.graph import Circuit
from ohmwright.circuit.parts import gate_of_position
from ohmwright.states.deriving import Anatomy
from ohmwright.states.setup import Setup
from ohmwright.states.sockets import shared_halves

if TYPE_CHECKING:
    from ohmwright_grammar.model import Build

    from ohmwright.study import SolvedState, Study

__all__ = [
    "Departure",
    "Lever",
    "barred_groups",
    "departures_of",
    "exclusive_groups",
    "in_words",
    "is_barred",
    "levers_of",
    "on_paths",
    "reached_states",
    "what_feeds",
]

LeverKind = Literal["switch", "plug", "selector", "fuse", "bms"]


@record
class Lever:
    """Something that changes a state: a switch (or several that move together), a plug, a selector, a fuse, a management system.

    `gates` are those that it moves, of a selector one for each position in the order in which they were said; `word` is how a person calls it.
    """

    name: str
    kind: LeverKind
    gates: tuple[str, ...]
    word: str

    @property
    def by_hand(self) -> bool:
        """Tell whether a person moves it; fuses and management systems open by themselves."""
        return self.kind in ("switch", "plug", "selector")


@record
class Departure:
    """One lever moved from where a state has it: gates that open and close, and how that is said."""

    lever: Lever
    opens: frozenset[str]
    closes: frozenset[str]
    words: str


def levers_of(build: Build, circuit: Circuit, anatomy: Anatomy) -> tuple[Lever, ...]:
    """Return everything that can change a state of the DC circuit, in name order. A breaker is a switch: a hand can open it."""
    known = set(circuit.gates())
    levers: list[Lever] = []
    done: set[str] = set()
    switches = frozenset(anatomy.switches)
    ganged = [part for part in build.parts.values() if isinstance(part, Switching) and part.ganged_with]
    for name in sorted((*anatomy.switches, *anatomy.breakers)):
        if name in done:
            continue
        gang = _gang(ganged, name) if name in switches else (name,)
        done.update(gang)
        gates = tuple(gate for gate in gang if gate in known)
        if gates:
            levers.append(Lever(name, "switch", gates, " and ".join(gang)))
    seconds = Counter(mating.second for mating in build.matings)
    for mating in build.matings:
        if mating.name in known:
            word = mating.second if seconds[mating.second] == 1 else mating.name
            levers.append(Lever(mating.name, "plug", (mating.name,), word))
    for name, positions in anatomy.selectors.items():
        gates = tuple(gate_of_position(name, position) for position in positions)
        if any(gate in known for gate in gates):
            levers.append(Lever(name, "selector", gates, name))
    levers.extend(Lever(name, "fuse", (name,), name) for name in anatomy.fuses if name in known)
    for name in anatomy.batteries:
        part = build.parts[name]
        if isinstance(part, Battery) and part.bms is not None:
            levers.append(Lever(name, "bms", (name,), f"the BMS of {name}"))
    return tuple(sorted(levers, key=lambda lever: (lever.name, lever.kind)))


def _gang(ganged: Sequence[Switching], name: str) -> tuple[str, ...]:
    """Return the switches that move together with one, itself included, in name order; `ganged` are those that name others."""
    found = {name}
    grown = True
    while grown:
        grown = False
        for part in ganged:
            group = {part.name, *(part.ganged_with or ())}
            if group & found and not group <= found:
                found |= group
                grown = True
    return tuple(sorted(found))


def departures_of(lever: Lever, setup: Setup) -> tuple[Departure, ...]:
    """Return the ways in which a lever can be moved from where a state has it; a blown fuse stays blown."""
    if lever.kind == "bms":
        moved = () if lever.name in setup.bms_open or lever.name in setup.failed else lever.gates
        return tuple(Departure(lever, frozenset(), frozenset(), f"{lever.word} open") for _ in moved)
    if lever.kind == "fuse":
        if lever.name in setup.open_gates:
            return ()
        return (Departure(lever, frozenset(lever.gates), frozenset(), f"{lever.word} blown"),)
    if lever.kind == "selector":
        found = []
        for gate in lever.gates:
            if gate in setup.open_gates:
                others = frozenset(lever.gates) - {gate}
                found.append(Departure(lever, others - setup.open_gates, frozenset((gate,)), gate))
        return tuple(found)
    opened, closed = ("apart", "mated") if lever.kind == "plug" else ("open", "closed")
    gates = frozenset(lever.gates)
    if lever.gates[0] in setup.open_gates:
        return (Departure(lever, frozenset(), gates & setup.open_gates, f"{lever.word} {closed}"),)
    return (Departure(lever, gates - setup.open_gates, frozenset(), f"{lever.word} {opened}"),)


def in_words(departures: Sequence[Departure]) -> str:
    """Return the way into a state in words: what is moved from where the state before has it.

    >>> lever = Lever("isolator", "switch", ("isolator",), "isolator")
    >>> in_words(departures_of(lever, Setup("noon", "declared")))
    'isolator open'
    """
    words = [departure.words for departure in departures]
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"


def barred_groups(build: Build, anatomy: Anatomy) -> tuple[frozenset[str], ...]:
    """Return the groups of which a mechanical interlock lets at most one be closed."""
    groups = {frozenset(group) for group in anatomy.barred_together}
    for part in build.parts.values():
        if isinstance(part, Switching):
            groups |= {frozenset((part.name, other)) for other in part.barred_with or ()}
    return tuple(sorted(groups, key=sorted))


def exclusive_groups(build: Build, anatomy: Anatomy) -> tuple[frozenset[str], ...]:
    """Return the groups of which at most one can be closed: those of mechanical interlocks, and the matings of one half."""
    plugs = (frozenset(matings) for _, matings in shared_halves(anatomy.matings_of))
    return tuple(dict.fromkeys((*barred_groups(build, anatomy), *plugs)))


def is_barred(open_gates: Iterable[str], groups: Iterable[frozenset[str]]) -> bool:
    """Tell whether a mechanical interlock keeps a combination from being reached."""
    gates = frozenset(open_gates)
    return any(len(group - gates) > 1 for group in groups)


def on_paths(circuit: Circuit, parts: Iterable[str]) -> frozenset[str]:
    """Return the gates on the ways between some parts: what is left when everything that ends elsewhere is taken away."""
    ends = {node for part in parts for node in circuit.nodes_of(part)}
    degree = {node: len(found) for node, found in circuit.at_node.items()}
    gone: set[str] = set()
    stack = [node for node, count in degree.items() if count == 1 and node not in ends]
    while stack:
        node = stack.pop()
        if degree[node] != 1:
            continue
        branch = next(branch for branch in circuit.at_node[node] if branch.name not in gone)
        gone.add(branch.name)
        degree[node] = 0
        other = branch.other(node)
        degree[other] -= 1
        if degree[other] == 1 and other not in ends:
            stack.append(other)
    return frozenset(branch.gate for branch in circuit.branches if branch.gate and branch.name not in gone)


def what_feeds(circuit: Circuit) -> tuple[str, ...]:
    """Return the arrays, controllers, chargers, batteries and inverters: rules that depend on states name the paths between them."""
    names = [source.part.name for source in circuit.sources if source.kind != "converter"]
    names += [consumer.part.name for consumer in circuit.consumers if consumer.kind == "inverter"]
    return tuple(dict.fromkeys(names))


# the walk ----------------------------------------------------------------------------------------------------------


class _Reaching:
    """Walks from the declared states and keeps what is new."""

    def __init__(self, study: Study, most: int) -> None:
        self.study = study
        self.most = most
        self.starts = [state for state in study.states if state.setup.origin == "declared"] or list(study.states)
        self.groups = exclusive_groups(study.build, study.anatomy)
        self.found: list[SolvedState] = []
        self.left_out = 0
        self.bases: dict[tuple[object, ...], int] = {}
        self.base_of = [self._base(state.setup) for state in self.starts]
        self.met = {_place(self.bases.get(_conditions(state.setup), -1), state.setup) for state in study.states}

    def _base(self, setup: Setup) -> int:
        return self.bases.setdefault(_conditions(setup), len(self.bases))

    def walk(self, ways: Iterable[tuple[int, tuple[Departure, ...]]], count: int) -> None:
        """Solve the states at the end of some ways (start, departures); `count` is how many ways there are."""
        for place, (start, departures) in enumerate(ways):
            if len(self.found) >= self.most:
                self.left_out += count - place
                return
            self._take(start, departures)

    def _take(self, start: int, departures: tuple[Departure, ...]) -> None:
        before = self.starts[start]
        setup = before.setup
        gates = setup.open_gates
        blown, tripped = setup.blown, setup.bms_open
        for departure in departures:
            gates = (gates | departure.opens) - departure.closes
            if departure.lever.kind == "fuse":
                blown = blown | departure.opens
            elif departure.lever.kind == "bms":
                tripped = tripped | {departure.lever.name}
        place = (self.base_of[start], gates, blown, tripped, setup.failed)
        if place in self.met or is_barred(gates, self.groups):
            return
        self.met.add(place)
        way = in_words(departures)
        reached = replace(
            setup, name=f"{setup.name}, {way}", origin="reached", open_gates=gates, blown=blown, bms_open=tripped, way=way,
            parent=setup.name,
        )  # fmt: skip
        self.found.append(self.study.solve_setup(reached, before))


def _conditions(setup: Setup) -> tuple[object, ...]:
    """Return everything of a state but its switches, plugs and failures."""

    def items(mapping: Mapping[str, object]) -> tuple[tuple[str, object], ...]:
        return tuple(sorted(mapping.items(), key=lambda item: item[0]))

    return (
        items(setup.running), items(setup.inverters), setup.chargers, setup.off, items(setup.sun), items(setup.levels), items(setup.fixed),
        setup.closed_relays, setup.told_relays, setup.short_at, setup.ambient, setup.inside, setup.lasts, setup.returns_after,
        setup.duty, setup.allowed, setup.called_dead,
    )  # fmt: skip


def _place(base: int, setup: Setup) -> tuple[object, ...]:
    return base, setup.open_gates, setup.blown, setup.bms_open, setup.failed


def reached_states(study: Study, most: int) -> tuple[tuple[SolvedState, ...], int]:
    """Return the states that can be reached from the declared ones, at most so many, and how many ways were left unwalked.

    Without declared states the implied ones are the start.
    """
    levers = levers_of(study.build, study.circuit, study.anatomy)
    near = on_paths(study.circuit, what_feeds(study.circuit))
    walk = _Reaching(study, most)
    moves = [[departures_of(lever, state.setup) for lever in levers] for state in walk.starts]
    singles = [(start, (departure,)) for start, of_state in enumerate(moves) for found in of_state for departure in found]
    walk.walk(singles, len(singles))
    paths = [k for k, lever in enumerate(levers) if lever.by_hand and any(gate in near for gate in lever.gates)]
    on_path = [[of_state[k] for k in paths if of_state[k]] for of_state in moves]
    walk.walk(_combined(on_path), sum(_ways(options, range(2, len(options) + 1)) for options in on_path))
    every = [[options for options in of_state if options] for of_state in moves]
    walk.walk(_combined(every, 2), sum(_ways(options, (2,)) for options in every))
    return tuple(walk.found), walk.left_out


def _combined(
    moves: Sequence[Sequence[tuple[Departure, ...]]], most: int | None = None
) -> Iterator[tuple[int, tuple[Departure, ...]]]:
    """Yield every combination of two levers and more (up to `most`), the short ones first, for each state in turn."""
    longest = max((len(options) for options in moves), default=0)
    for size in range(2, min(longest, most or longest) + 1):
        for start, options in enumerate(moves):
            for chosen in combinations(options, size):
                for departures in product(*chosen):
                    yield start, departures


def _ways(options: Sequence[tuple[Departure, ...]], sizes: Iterable[int]) -> int:
    """Return how many combinations there are of so many levers, with one of its departures each."""
    counts = [1]
    for found in options:
        counts = [
            (counts[k] if k < len(counts) else 0) + (counts[k - 1] * len(found) if k else 0) for k in range(len(counts) + 1)
        ]
    return sum(counts[size] for size in sizes if size < len(counts))
