"""What changes a state: switches, plugs and selectors that a hand moves, fuses that blow, management systems that cut off.

A plug that fits two sockets goes from one to the other in two moves. The states at the end of such moves are made in walk.py.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Literal

from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.switch import Switching
from ohmwright_grammar.records import record

from ohmwright.circuit.graph import Circuit
from ohmwright.circuit.parts import gate_of_position
from ohmwright.states.anatomy import Anatomy
from ohmwright.states.setup import Setup
from ohmwright.states.sockets import shared_halves
from ohmwright.wording import named

if TYPE_CHECKING:
    from ohmwright_grammar.model import Build

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
    return named([departure.words for departure in departures])


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
