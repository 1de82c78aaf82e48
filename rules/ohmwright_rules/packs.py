"""Packs side by side: which make a bank, where they can be parted and joined, and what may meet there.

A pack is a battery, or several in series whose inner points no other battery shares. What flows between them stands in rushes.py.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

from ohmwright.circuit.batteries import nominal_voltage
from ohmwright.circuit.graph import Branch
from ohmwright.study import Study
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.records import record

from ohmwright_rules.banks import batteries
from ohmwright_rules.kept import kept
from ohmwright_rules.nets import Layout, layout_of
from ohmwright_rules.stacks import layouts_of_batteries

__all__ = [
    "Bank",
    "Joint",
    "Pack",
    "Split",
    "alike_in_voltage",
    "core_of",
    "joints_of",
    "pack_banks",
    "splits_of",
    "ways_between",
]


@record
class Pack:
    """A battery, or several in series, as one side of a bank."""

    members: tuple[Battery, ...]

    @property
    def name(self) -> str:
        """The names of its batteries."""
        return " + ".join(battery.name for battery in self.members)

    @property
    def plus(self) -> str:
        """The node of its plus end."""
        return f"{self.members[-1].name}.plus"

    @property
    def minus(self) -> str:
        """The node of its minus end."""
        return f"{self.members[0].name}.minus"

    @property
    def charge(self) -> float | None:
        """Its capacity [C]: the smallest of its batteries; None where that of one is not declared."""
        charges = [float(battery.capacity.charge.nominal) if battery.capacity is not None else None for battery in self.members]
        return None if None in charges else min(charge for charge in charges if charge is not None)

    def total(self, value: Callable[[Battery], float | None]) -> float | None:
        """Return what a value of each battery adds up to, None where that of one is not known."""
        values = [value(battery) for battery in self.members]
        return None if None in values else sum(item for item in values if item is not None)


@record
class Bank:
    """Packs that lie between the same two nets while some gates are open and all others closed: the main one first, which has the greatest capacity.

    `open_gates` are those that cannot be closed at the same time as the others.
    """

    packs: tuple[Pack, ...]
    open_gates: frozenset[str] = frozenset()

    @property
    def names(self) -> tuple[str, ...]:
        """The names of all batteries, those of the main pack first."""
        return tuple(battery.name for pack in self.packs for battery in pack.members)


@record
class Joint:
    """Where a bank can be parted: the gates that each part the far packs from the near ones, among which is the main one.

    `through` is what eases the joining, "" where nothing does, and `ampere` [A] its limit, where that is declared; `kept_apart` tells that it is declared that
    packs are not joined there while chargers run.
    """

    gates: tuple[str, ...]
    near: tuple[Pack, ...]
    far: tuple[Pack, ...]
    by_hand: bool
    through: str = ""
    ampere: float | None = None
    kept_apart: bool = False


@record
class Split:
    """Packs at the moment when they are joined: those that are full and those that are low, with the gates that are still open."""

    joint: Joint
    full: tuple[Pack, ...]
    low: tuple[Pack, ...]
    open_gates: frozenset[str]


# banks -------------------------------------------------------------------------------------------------------------


def pack_banks(study: Study) -> tuple[Bank, ...]:
    """Return every bank of two packs and more, in the order of the names of their main packs."""
    return kept(study, _banks)


def _banks(study: Study) -> tuple[Bank, ...]:
    found: dict[frozenset[str], Bank] = {}
    for layout, open_gates in layouts_of_batteries(study):
        groups: dict[tuple[int, int], list[Pack]] = {}
        for pack in _packs(study, layout):
            ends = layout.net(pack.minus), layout.net(pack.plus)
            if ends[0] != ends[1]:
                groups.setdefault(ends, []).append(pack)
        for packs in groups.values():
            if len(packs) > 1:
                ordered = sorted(packs, key=lambda pack: (-(pack.charge or 0.0), pack.name))
                bank = Bank((ordered[0], *sorted(ordered[1:], key=lambda pack: pack.name)), open_gates)
                found.setdefault(frozenset(bank.names), bank)
    return tuple(sorted(found.values(), key=lambda bank: bank.names))


def _packs(study: Study, layout: Layout) -> list[Pack]:
    every = batteries(study)
    over: dict[int, list[Battery]] = {}
    under: dict[int, list[Battery]] = {}
    for battery in every:
        over.setdefault(layout.net(f"{battery.name}.minus"), []).append(battery)
        under.setdefault(layout.net(f"{battery.name}.plus"), []).append(battery)

    def private(net: int) -> bool:
        return len(over.get(net, ())) == 1 and len(under.get(net, ())) == 1

    found: list[Pack] = []
    seen: set[str] = set()
    starts = [battery for battery in every if not private(layout.net(f"{battery.name}.minus"))]
    for battery in (*starts, *every):
        if battery.name in seen:
            continue
        chain = [battery]
        seen.add(battery.name)
        while private(net := layout.net(f"{chain[-1].name}.plus")) and over[net][0].name not in seen:
            chain.append(over[net][0])
            seen.add(chain[-1].name)
        found.append(Pack(tuple(chain)))
    return found


# joints ------------------------------------------------------------------------------------------------------------


def core_of(study: Study) -> tuple[Branch, ...]:
    """Return the branches on the ways between the poles of batteries: what is left when everything that hangs there is taken away."""
    return kept(study, _core)


def _core(study: Study) -> tuple[Branch, ...]:
    ends = (f"{battery.name}.{pole}" for battery in batteries(study) for pole in ("plus", "minus"))
    return ways_between(study, ends)


def ways_between(study: Study, ends: Iterable[str]) -> tuple[Branch, ...]:
    """Return the branches on the ways between some nodes: what is left when everything that hangs there is taken away."""
    held = frozenset(ends)
    circuit = study.circuit
    degree = {node: len(found) for node, found in circuit.at_node.items()}
    gone: set[str] = set()
    loose = [node for node, count in degree.items() if count == 1 and node not in held]
    while loose:
        node = loose.pop()
        if degree[node] != 1:
            continue
        branch = next(branch for branch in circuit.at_node[node] if branch.name not in gone)
        gone.add(branch.name)
        degree[node] = 0
        other = branch.other(node)
        degree[other] -= 1
        if degree[other] == 1 and other not in held:
            loose.append(other)
    return tuple(branch for branch in circuit.branches if branch.name not in gone)


def joints_of(study: Study, bank: Bank) -> tuple[Joint, ...]:
    """Return where a bank can be parted: by hand (plugs, switches, contactors) where it can be, else by its fuses; none where it is joined for good."""
    known = kept(study, _known_joints)
    if bank.names not in known:
        known[bank.names] = _joints(study, bank)
    return known[bank.names]


def _known_joints(study: Study) -> dict[tuple[str, ...], tuple[Joint, ...]]:
    """Return where the joints of a study are kept, by the names of the bank."""
    del study
    return {}


def _joints(study: Study, bank: Bank) -> tuple[Joint, ...]:
    kinds: dict[str, set[str]] = {}
    for branch in core_of(study):
        if branch.gate:
            kinds.setdefault(branch.gate, set()).add(branch.kind)
    open_gates = bank.open_gates
    groups: dict[frozenset[str], list[str]] = {}
    for gate in sorted(kinds):
        if gate in open_gates:
            continue
        study.options.budget.check()
        keys = _keys(layout_of(study, open_gates | {gate}), bank)
        far = frozenset(pack.name for pack in bank.packs if keys[pack.name] != keys[bank.packs[0].name])
        if far:
            groups.setdefault(far, []).append(gate)
    found = [_joint(study, bank, far, gates, kinds) for far, gates in groups.items()]
    by_hand = [joint for joint in found if joint.by_hand]
    return tuple(sorted(by_hand or found, key=lambda joint: (len(joint.far), joint.gates), reverse=True))


def _keys(layout: Layout, bank: Bank) -> dict[str, tuple[int, int]]:
    return {pack.name: (layout.net(pack.minus), layout.net(pack.plus)) for pack in bank.packs}


def _joint(study: Study, bank: Bank, far: frozenset[str], gates: list[str], kinds: Mapping[str, set[str]]) -> Joint:
    by_hand = [gate for gate in gates if kinds[gate] != {"fuse"}]
    through, ampere, kept_apart = "", None, False
    matings = {mating.name: mating for mating in study.build.matings}
    rows = {row.name: row.thing for row in study.build.rows}
    for gate in by_hand:
        mating = matings.get(gate)
        names = (mating.first, mating.second) if mating is not None else (gate.partition(" at ")[0],)
        said: list[object] = [study.part(name) for name in names]
        if mating is not None and mating.row in rows:
            said.append(rows[mating.row])
        for thing in said:
            device = getattr(thing, "joins_through", None)
            if device and not through:
                through = device
                limit = getattr(thing, "joining_current", None)
                ampere = float(limit.high) if limit is not None else None
            kept_apart = kept_apart or getattr(thing, "while_charging", None) is False
    return Joint(
        tuple(by_hand or gates),
        tuple(pack for pack in bank.packs if pack.name not in far),
        tuple(pack for pack in bank.packs if pack.name in far),
        bool(by_hand),
        through,
        ampere,
        kept_apart,
    )


def splits_of(study: Study, bank: Bank, joint: Joint) -> tuple[Split, ...]:
    """Return what may meet at a joint: everything on both sides, or all of one side with the packs next to it on the other; full against low and low against full."""
    joints = joints_of(study, bank)
    far = {pack.name for pack in joint.far}
    beyond = {gate for other in joints if {pack.name for pack in other.far} < far for gate in other.gates}
    before = {gate for other in joints if other is not joint for gate in other.gates} - beyond
    found: list[Split] = []
    whole: set[str] = set()
    for parted, full_far in ((whole, False), (whole, True), (beyond, False), (before, True)):
        open_gates = bank.open_gates | parted
        keys = _keys(layout_of(study, open_gates), bank)
        shared = {keys[pack.name] for pack in joint.near} & {keys[pack.name] for pack in joint.far}
        near = tuple(pack for pack in joint.near if keys[pack.name] in shared)
        away = tuple(pack for pack in joint.far if keys[pack.name] in shared)
        if near and away:
            split = Split(joint, away if full_far else near, near if full_far else away, open_gates)
            if split not in found:
                found.append(split)
    return tuple(found)


def alike_in_voltage(bank: Bank) -> bool:
    """Tell whether all packs of a bank have the same nominal voltage within 10 %; what has not is a matter of its own."""
    volts = [pack.total(nominal_voltage) for pack in bank.packs]
    known = [volt for volt in volts if volt is not None]
    return not known or max(known) <= 1.1 * min(known) * (1 + 1e-9)
