"""Sources that lie in series and side by side between two nodes: strings of arrays at a controller, of batteries at a charger.

By connection only, with every switch closed and every plug mated: what can be joined counts as joined. Positions of selectors are tried one by one. Where
that would join plus and minus (change-over contacts), the positions of the solved states are taken instead.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from itertools import islice, product

from ohmwright.circuit.graph import Branch
from ohmwright.circuit.parts import gate_of_position
from ohmwright.study import Study
from ohmwright_grammar.kinds.distribution import Diode
from ohmwright_grammar.records import record

from ohmwright_rules.kept import kept

__all__ = ["Arrangement", "arrangements", "groups_of", "joined", "joined_without", "strings_in", "ways"]

_MOST_POSITIONS = 32  # combinations of selector positions
_MOST_STRINGS = 64
_ACROSS = ("clamp", "coil", "bypass")  # jobs of diodes that lie across a source, a coil, a module


@record
class Arrangement:
    """The strings between two nodes in one combination of selector positions: each the names of sources from minus to plus.

    `open_gates` are those that are open in these positions.
    """

    strings: tuple[tuple[str, ...], ...]
    position: str = ""
    open_gates: frozenset[str] = frozenset()

    @property
    def names(self) -> tuple[str, ...]:
        """Every source once, in name order."""
        return tuple(sorted({name for string in self.strings for name in string}))


@record
class _Joined:
    """Which nodes are one when some gates are open: each node's group, and the words for the positions."""

    group: Mapping[str, int]
    position: str
    open_gates: frozenset[str]


def joined(study: Study, open_gates: frozenset[str]) -> dict[str, int]:
    """Return a number for every node, the same for nodes that current can pass between by wires, contacts and diodes."""
    number, fixed, gated = kept(study, _wired)
    root = fixed[:]
    for gate, start, end in gated:
        if gate not in open_gates:
            root[_find(root, start)] = _find(root, end)
    return {node: _find(root, place) for node, place in number.items()}


def joined_without(study: Study, names: Collection[str]) -> dict[str, int]:
    """Return the same with every gate closed and some branches taken away."""
    number = {node: place for place, node in enumerate(study.circuit.nodes)}
    root = list(range(len(number)))
    for branch in study.circuit.branches:
        if _joins(study, branch) and branch.name not in names:
            root[_find(root, number[branch.start])] = _find(root, number[branch.end])
    return {node: _find(root, place) for node, place in number.items()}


def _joins(study: Study, branch: Branch) -> bool:
    """Tell whether current passes a branch on its way; a resistor and a diode that lies across something (clamp, coil, bypass) join nothing."""
    if branch.kind != "diode":
        return branch.kind != "resistor"
    part = study.part(branch.part)
    return not (isinstance(part, Diode) and part.job in _ACROSS)


def _find(root: list[int], node: int) -> int:
    while root[node] != node:
        root[node] = node = root[root[node]]
    return node


def _wired(study: Study) -> tuple[dict[str, int], list[int], list[tuple[str, int, int]]]:
    """Return the number of every node, which are joined for good, and the ways with a gate."""
    circuit = study.circuit
    number = {node: place for place, node in enumerate(circuit.nodes)}
    root = list(range(len(number)))
    gated: list[tuple[str, int, int]] = []
    for branch in circuit.branches:
        start, end = number[branch.start], number[branch.end]
        if not _joins(study, branch):
            continue
        if branch.gate:
            gated.append((branch.gate, start, end))
        else:
            root[_find(root, start)] = _find(root, end)
    return number, root, gated


def _all_joined(study: Study) -> tuple[_Joined, ...]:
    selectors = study.anatomy.selectors
    found = []
    for chosen in islice(product(*selectors.values()), _MOST_POSITIONS):
        at = dict(zip(selectors, chosen, strict=True))
        opened = frozenset(
            gate_of_position(name, position)
            for name, positions in selectors.items()
            for position in positions
            if position != at[name]
        )
        words = ", ".join(gate_of_position(name, position) for name, position in at.items())
        found.append(_Joined(joined(study, opened), words, opened))
    return tuple(found)


def _as_solved(study: Study) -> tuple[_Joined, ...]:
    settings = dict.fromkeys(state.open_gates for state in study.states)
    return tuple(_Joined(joined(study, gates), "", gates) for gates in islice(settings, _MOST_POSITIONS))


def arrangements(study: Study, kind: str, minus: str, plus: str) -> tuple[Arrangement, ...]:
    """Return how the sources of a kind ("array", "battery") lie between two nodes, in every position of selectors in which any does."""
    found = tuple(_between(study, kind, minus, plus, kept(study, _all_joined)))
    return found or tuple(_between(study, kind, minus, plus, kept(study, _as_solved)))


def strings_in(study: Study, kind: str, minus: str, plus: str, open_gates: frozenset[str]) -> tuple[tuple[str, ...], ...]:
    """Return the strings of a kind between two nodes while some gates are open."""
    known = kept(study, _by_gates)
    group = known.get(open_gates)
    if group is None:
        group = known[open_gates] = joined(study, open_gates)
    return ways(study, kind, group, minus, plus)


def _by_gates(study: Study) -> dict[frozenset[str], dict[str, int]]:
    """Return where the joined nodes of a study are kept by open gates."""
    del study
    return {}


def ways(study: Study, kind: str, group: Mapping[str, int], minus: str, plus: str) -> tuple[tuple[str, ...], ...]:
    """Return the strings of a kind between two nodes, where nodes of one number are joined."""
    return next((way.strings for way in _between(study, kind, minus, plus, (_Joined(group, "", frozenset()),))), ())


def _between(study: Study, kind: str, minus: str, plus: str, settings: tuple[_Joined, ...]) -> Iterator[Arrangement]:
    told: set[tuple[tuple[str, ...], ...]] = set()
    for setting in settings:
        group = setting.group
        start, end = group.get(minus), group.get(plus)
        if start is None or end is None or start == end:
            continue
        steps: dict[int, list[tuple[int, str]]] = {}
        for source in sorted(study.circuit.sources, key=lambda source: source.name):
            if source.kind == kind:
                steps.setdefault(group[source.minus], []).append((group[source.plus], source.name))
        strings = tuple(islice(_ways(start, end, steps, (start,), ()), _MOST_STRINGS))
        if strings and strings not in told:
            told.add(strings)
            yield Arrangement(strings, setting.position, setting.open_gates)


def _ways(
    at: int, end: int, steps: Mapping[int, list[tuple[int, str]]], seen: tuple[int, ...], names: tuple[str, ...]
) -> Iterator[tuple[str, ...]]:
    for node, name in steps.get(at, ()):
        if node == end:
            yield (*names, name)
        elif node not in seen:
            yield from _ways(node, end, steps, (*seen, node), (*names, name))


def groups_of(study: Study, kind: str, open_gates: frozenset[str]) -> tuple[tuple[str, ...], ...]:
    """Return which sources of a kind make one bank while some gates are open: in series, or side by side between the same poles.

    Each bank is in name order. Two that share one pole only, a common minus for instance, are two banks.
    """
    group = joined(study, open_gates)
    banks = [
        ({source.name}, group[source.minus], group[source.plus])
        for source in sorted(study.circuit.sources, key=lambda source: source.name)
        if source.kind == kind
    ]
    merged = True
    while merged:
        merged = False
        for one in range(len(banks)):
            for two in range(one + 1, len(banks)):
                (ours, minus, plus), (theirs, other_minus, other_plus) = banks[one], banks[two]
                if (minus, plus) == (other_minus, other_plus):
                    ends = (minus, plus)
                elif plus == other_minus:
                    ends = (minus, other_plus)
                elif minus == other_plus:
                    ends = (other_minus, plus)
                else:
                    continue
                banks[one] = (ours | theirs, *ends)
                del banks[two]
                merged = True
                break
            if merged:
                break
    return tuple(sorted(tuple(sorted(names)) for names, _, _ in banks))
