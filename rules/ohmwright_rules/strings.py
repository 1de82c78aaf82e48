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
from ohmwright.unions import root_of
from ohmwright_grammar.kinds.distribution import Diode
from ohmwright_grammar.records import record

from ohmwright_rules.kept import kept

__all__ = ["Arrangement", "arrangements", "groups_of", "joined", "joined_without", "strings_in", "ways"]

_MOST_POSITIONS = 32  # combinations of selector positions
_MOST_STRINGS = 64
_MOST_KEPT = 100  # sets of open gates of which it is remembered what they join
_Steps = dict[int, list[tuple[int, str]]]  # from a node: where each source that stands on it leads, and its name
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
    """Return a number for every node, the same for nodes that current can pass between by wires, contacts and diodes.

    The same sets of gates are asked for again and again, so that what is returned may be shared: it is not to be changed.
    """
    known = kept(study, _joinings)
    found = known.get(open_gates)
    if found is None:
        number, fixed, gated = kept(study, _wired)
        root = fixed[:]
        for gate, start, end in gated:
            if gate not in open_gates:
                root[root_of(root, start)] = root_of(root, end)
        at = {place: root_of(root, place) for place in set(fixed)}
        found = {node: at[fixed[place]] for node, place in number.items()}
        if len(known) < _MOST_KEPT:
            known[open_gates] = found
    return found


def _joinings(study: Study) -> dict[frozenset[str], dict[str, int]]:
    """Return where the joined nodes of a study are kept by open gates."""
    del study
    return {}


def joined_without(study: Study, names: Collection[str]) -> dict[str, int]:
    """Return the same with every gate closed and some branches taken away."""
    number = {node: place for place, node in enumerate(study.circuit.nodes)}
    root = list(range(len(number)))
    for branch in study.circuit.branches:
        if _joins(study, branch) and branch.name not in names:
            root[root_of(root, number[branch.start])] = root_of(root, number[branch.end])
    return {node: root_of(root, place) for node, place in number.items()}


def _joins(study: Study, branch: Branch) -> bool:
    """Tell whether current passes a branch on its way; a resistor and a diode that lies across something (clamp, coil, bypass) join nothing."""
    if branch.kind != "diode":
        return branch.kind != "resistor"
    part = study.part(branch.part)
    return not (isinstance(part, Diode) and part.job in _ACROSS)


def _wired(study: Study) -> tuple[dict[str, int], list[int], list[tuple[str, int, int]]]:
    """Return the number of every node, the number that stands for all that are joined with each for good, and the ways with a gate."""
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
            root[root_of(root, start)] = root_of(root, end)
    return number, [root_of(root, place) for place in range(len(root))], gated


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
    found = known.get((kind, open_gates))
    if found is None:
        group = joined(study, open_gates)
        found = known[kind, open_gates] = group, _steps(study, kind, group)
    group, steps = found
    start, end = group.get(minus), group.get(plus)
    return () if start is None or end is None or start == end else _strings(start, end, steps)


def _by_gates(study: Study) -> dict[tuple[str, frozenset[str]], tuple[dict[str, int], _Steps]]:
    """Return where the joined nodes of a study, and the sources between them, are kept by kind and open gates."""
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
        strings = _strings(start, end, _steps(study, kind, group))
        if strings and strings not in told:
            told.add(strings)
            yield Arrangement(strings, setting.position, setting.open_gates)


def _steps(study: Study, kind: str, group: Mapping[str, int]) -> _Steps:
    steps: _Steps = {}
    for source in sorted(study.circuit.sources, key=lambda source: source.name):
        if source.kind == kind:
            steps.setdefault(group[source.minus], []).append((group[source.plus], source.name))
    return steps


def _strings(start: int, end: int, steps: _Steps) -> tuple[tuple[str, ...], ...]:
    return tuple(islice(_ways(start, end, steps, (start,), ()), _MOST_STRINGS))


def _ways(at: int, end: int, steps: _Steps, seen: tuple[int, ...], names: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
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
    sources = sorted((source for source in study.circuit.sources if source.kind == kind), key=lambda source: source.name)
    return _Banks([(source.name, group[source.minus], group[source.plus]) for source in sources]).merged()


class _Banks:
    """Sources with their poles, merged into banks one by one: each is found by its poles, so that many cost no more than few."""

    def __init__(self, sources: list[tuple[str, int, int]]) -> None:
        self.names: list[list[str]] = []
        self.poles: list[tuple[int, int] | None] = []  # minus and plus; None for one that went into another
        self.between: dict[tuple[int, int], list[int]] = {}
        self.from_minus: dict[int, list[int]] = {}
        self.from_plus: dict[int, list[int]] = {}
        for name, minus, plus in sources:
            self.names.append([name])
            self.poles.append((minus, plus))
            self._enter(len(self.names) - 1, minus, plus)

    def _enter(self, bank: int, minus: int, plus: int) -> None:
        self.between.setdefault((minus, plus), []).append(bank)
        self.from_minus.setdefault(minus, []).append(bank)
        self.from_plus.setdefault(plus, []).append(bank)

    def merged(self) -> tuple[tuple[str, ...], ...]:
        """Merge whatever lies side by side or in series, and return the names of each bank."""
        for bank in range(len(self.names)):
            while (poles := self.poles[bank]) is not None:
                minus, plus = poles
                if (other := self._live(self.between[poles], bank, poles, 2)) is not None:
                    ends = poles
                elif (other := self._live(self.from_minus.get(plus, []), bank, (plus, plus), 0)) is not None:
                    ends = (minus, self._plus(other))
                elif (other := self._live(self.from_plus.get(minus, []), bank, (minus, minus), 1)) is not None:
                    ends = (self._minus(other), plus)
                else:
                    break
                self.names[bank] += self.names[other]
                self.poles[other] = None
                if ends != poles:
                    self.poles[bank] = ends
                    self._enter(bank, *ends)
        return tuple(
            sorted(tuple(sorted(names)) for names, poles in zip(self.names, self.poles, strict=True) if poles is not None)
        )

    def _minus(self, bank: int) -> int:
        poles = self.poles[bank]
        assert poles is not None
        return poles[0]

    def _plus(self, bank: int) -> int:
        poles = self.poles[bank]
        assert poles is not None
        return poles[1]

    def _live(self, among: list[int], bank: int, poles: tuple[int, int], pole: int) -> int | None:
        """Return another bank of a list that is still where the list says (`pole` 0 minus, 1 plus, 2 both); what is not is dropped from the list."""
        own = False
        while among:
            other = among[-1]
            now = self.poles[other]
            if now is None or (now != poles if pole == 2 else now[pole] != poles[pole]):
                among.pop()
            elif other == bank:
                own = True
                among.pop()
            else:
                if own:
                    among.insert(0, bank)
                return other
        if own:
            among.append(bank)
        return None
