"""Interlock loops: the wires, contacts and jumpers of each, where its ends lie, and what goes off when it is opened.

A loop is declared (`interlock`), or taken from a jumper between two pins of a half that nothing else is joined to. It runs on from there through pins and
wires as long as nothing else branches off, and ends at the first terminal of another part.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from ohmwright.circuit.graph import Branch, Consumer, Source
from ohmwright.study import Study
from ohmwright_grammar.kinds.connector import Half, Jumper
from ohmwright_grammar.kinds.controller import Controller
from ohmwright_grammar.kinds.interlock import Interlock
from ohmwright_grammar.kinds.inverter import Inverter
from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Span

from ohmwright_rules.kept import kept
from ohmwright_rules.strings import joined, joined_without, ways

__all__ = ["Depends", "End", "Loop", "loops"]

_CORD = ("wire", "contact", "joint")


@record
class End:
    """One end of a loop, and the sources that keep it live while the plugs of the loop are out."""

    node: str
    sources: tuple[Source, ...]


@record
class Depends:
    """What goes off when a loop is opened, by connection: coils (with whether the return is cut), other consumers, controllers by their two leads."""

    coils: tuple[tuple[Consumer, bool], ...]
    enables: tuple[tuple[Inverter, bool], ...]
    consumers: tuple[Consumer, ...]
    battery_leads: tuple[Controller, ...]
    panel_leads: tuple[Controller, ...]

    @property
    def is_power(self) -> bool:
        """Tell whether the loop lies in series with more than coils and enable inputs."""
        return bool(self.consumers or self.battery_leads or self.panel_leads)


@record
class Loop:
    """One interlock loop; `declared` is None for one that was taken from a jumper."""

    name: str
    span: Span
    declared: Interlock | None
    branches: tuple[Branch, ...]
    ends: tuple[End, ...]
    depends: Depends

    @property
    def conductors(self) -> tuple[Branch, ...]:
        """Its wires, cores and jumpers."""
        return tuple(branch for branch in self.branches if branch.conductor is not None)

    @property
    def contacts(self) -> tuple[Branch, ...]:
        """Its contacts."""
        return tuple(branch for branch in self.branches if branch.kind == "contact")

    @property
    def matings(self) -> tuple[str, ...]:
        """The plugs that open it."""
        return tuple(sorted({branch.gate for branch in self.contacts if branch.gate}))

    @property
    def subject(self) -> tuple[str, ...]:
        """Its name, its conductors and its pins."""
        pins = [node for branch in self.contacts for node in (branch.start, branch.end)]
        return tuple(dict.fromkeys((self.name, *(branch.name for branch in self.conductors), *pins)))

    @property
    def words(self) -> str:
        """How it is called in a message."""
        return self.name if self.declared is not None else f"{self.name} (jumpered pins, taken for an interlock loop)"


def loops(study: Study) -> tuple[Loop, ...]:
    """Return every interlock loop: declared ones in the order of their statements, then those taken from jumpers, in name order."""
    return kept(study, _loops)


def _loops(study: Study) -> tuple[Loop, ...]:
    found: list[Loop] = []
    met: set[str] = set()
    for interlock in study.of(Interlock):
        branches, ends = _runs(study, _seeds(study, interlock.members or ()))
        met.update(branch.name for branch in branches)
        found.append(_loop(study, interlock.name, interlock.span, interlock, branches, ends))
    jumpers = sorted(
        (branch for branch in study.circuit.branches if isinstance(branch.conductor, Jumper)), key=lambda branch: branch.name
    )
    for jumper in jumpers:
        if jumper.name not in met and _is_spare(study, jumper):
            branches, ends = _runs(study, (jumper,))
            met.update(branch.name for branch in branches)
            found.append(_loop(study, jumper.name, jumper.span, None, branches, ends))
    return tuple(found)


def _seeds(study: Study, members: tuple[str, ...]) -> tuple[Branch, ...]:
    """Return the branches that the members of a loop name: conductors, switches, and what meets at a pin."""
    seeds: dict[str, Branch] = {}
    for member in members:
        branch = study.circuit.by_name.get(member)
        if branch is not None:
            seeds[branch.name] = branch
            continue
        for near in study.circuit.at_node.get(member, ()):
            if near.kind == "contact" or isinstance(near.conductor, Jumper):
                seeds[near.name] = near
    return tuple(seeds.values())


def _is_spare(study: Study, jumper: Branch) -> bool:
    """Tell whether nothing but the jumper is joined to its two pins from inside the half, and both have a mate."""
    for node in (jumper.start, jumper.end):
        others = [branch for branch in study.circuit.at_node[node] if branch is not jumper]
        if len(others) != 1 or others[0].kind != "contact":
            return False
    return True


def _runs(study: Study, seeds: tuple[Branch, ...]) -> tuple[tuple[Branch, ...], tuple[str, ...]]:
    """Return the branches of a loop, seeds and what lies in one row with them, and the nodes where it ends."""
    circuit = study.circuit
    members = {branch.name: branch for branch in seeds}
    stack = [node for branch in seeds for node in (branch.start, branch.end)]
    while stack:
        node = stack.pop()
        near = circuit.at_node[node]
        if len(near) != 2 or not _is_pin(study, node):
            continue
        for branch in near:
            if branch.name not in members and branch.kind in _CORD:
                members[branch.name] = branch
                stack.append(branch.other(node))
    count: dict[str, int] = {}
    for branch in members.values():
        for node in (branch.start, branch.end):
            count[node] = count.get(node, 0) + 1
    ends = tuple(sorted(node for node, times in count.items() if times == 1))
    return tuple(branch for branch in circuit.branches if branch.name in members), ends


def _is_pin(study: Study, node: str) -> bool:
    return isinstance(study.build.parts.get(study.build.nodes.get(node, "")), Half)


def _loop(
    study: Study, name: str, span: Span, declared: Interlock | None, branches: tuple[Branch, ...], ends: tuple[str, ...]
) -> Loop:
    opened = frozenset(branch.gate for branch in branches if branch.kind == "contact" and branch.gate)
    group = joined(study, opened)
    live = tuple(End(node, _keeping_live(study, group, node)) for node in ends)
    cut = joined_without(study, {branch.name for branch in branches})
    return Loop(name, span, declared, branches, live, _depends(study, joined(study, frozenset()), cut))


def _keeping_live(study: Study, group: Mapping[str, int], node: str) -> tuple[Source, ...]:
    """Return the batteries, arrays and chargers whose plus a node is joined to."""
    return tuple(
        source
        for source in sorted(study.circuit.sources, key=lambda source: source.name)
        if source.kind in ("battery", "array", "charger")
        and group[source.plus] == group[node]
        and group[source.minus] != group[node]
    )


def _depends(study: Study, closed: Mapping[str, int], opened: Mapping[str, int]) -> Depends:
    coils: list[tuple[Consumer, bool]] = []
    others: list[Consumer] = []
    for consumer in study.circuit.consumers:
        if consumer.kind == "drain" or not _is_fed(study, closed, consumer) or _is_fed(study, opened, consumer):
            continue
        if consumer.kind == "coil":
            coils.append((consumer, bool(_keeping_live(study, opened, consumer.plus))))
        else:
            others.append(consumer)
    enables: list[tuple[Inverter, bool]] = []
    for inverter in study.of(Inverter):
        for terminal, is_return in (("enable", False), ("enable_return", True)):
            node = f"{inverter.name}.{terminal}"
            if node in closed and _pole(study, closed, node) != _pole(study, opened, node):
                enables.append((inverter, is_return))
    battery_leads = tuple(_cut(study, closed, opened, "battery", "batt"))
    return Depends(
        tuple(coils), tuple(enables), tuple(others), battery_leads, tuple(_cut(study, closed, opened, "array", "pv"))
    )


def _is_fed(study: Study, group: Mapping[str, int], consumer: Consumer) -> bool:
    if ways(study, "battery", group, consumer.minus, consumer.plus):
        return True
    plus, minus = group[consumer.plus], group[consumer.minus]
    return any(group[source.plus] == plus and group[source.minus] == minus for source in study.circuit.sources)


def _pole(study: Study, group: Mapping[str, int], node: str) -> str:
    """Tell whether a node is joined to the plus or to the minus of a source, "" for neither."""
    if _keeping_live(study, group, node):
        return "plus"
    return "minus" if any(group[source.minus] == group[node] for source in study.circuit.sources) else ""


def _cut(study: Study, closed: Mapping[str, int], opened: Mapping[str, int], kind: str, side: str) -> Iterator[Controller]:
    for controller in study.of(Controller):
        minus, plus = f"{controller.name}.{side}_minus", f"{controller.name}.{side}_plus"
        if ways(study, kind, closed, minus, plus) and not ways(study, kind, opened, minus, plus):
            yield controller
