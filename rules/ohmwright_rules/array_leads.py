"""The leads of arrays: every conductor, contact, switch and device between arrays and what they push into, with the current of bright sun that passes it.

In a net of conductors the current of a string takes the bridges between its pole and that of the controller (or battery). What lies in a loop, two
conductors side by side for instance, shares its current in a way that only resistances tell: such a way is no lead here.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import pairwise

from ohmwright.circuit.graph import Branch
from ohmwright.missing import Missing
from ohmwright.protection.bridges import bridges, parts
from ohmwright.references import Step
from ohmwright.study import Study
from ohmwright_grammar.kinds.array import Array
from ohmwright_grammar.records import record

from ohmwright_rules.direct_arrays import Target, targets
from ohmwright_rules.kept import kept
from ohmwright_rules.strings import Arrangement
from ohmwright_rules.wording import listed

__all__ = ["Lead", "String", "array_leads", "behind_common_plus", "strings_of"]

String = tuple[str, ...]


@record
class Lead:
    """A branch in the leads of arrays: the strings whose current passes it (each from minus to plus), and the sum of their short-circuit currents [A].

    `missing` is a short-circuit current that nobody declared; `current` then leaves it out.
    """

    branch: Branch
    strings: tuple[String, ...]
    current: float
    step: Step
    missing: Missing | None = None

    @property
    def arrays(self) -> tuple[str, ...]:
        """The arrays in name order."""
        return tuple(sorted({name for string in self.strings for name in string}))

    @property
    def arrangement(self) -> Arrangement:
        """The strings as an arrangement of their own."""
        return Arrangement(self.strings)

    @property
    def words(self) -> str:
        """The arrays in words."""
        return listed(self.arrays)


def strings_of(study: Study) -> tuple[tuple[Target, String], ...]:
    """Return every string of arrays with what it pushes into."""
    return tuple((target, string) for target in targets(study) for string in target.arrangement.strings)


def array_leads(study: Study) -> dict[str, Lead]:
    """Return the leads of a build by the names of their branches, each at the position of selectors in which most passes it."""
    return kept(study, _array_leads)


def behind_common_plus(study: Study) -> dict[str, frozenset[str]]:
    """Return, by the names of the leads, the controllers with a common plus whose arrays push through them.

    The battery reaches such a lead through the controller. What the controller itself gives comes out of the same leads, and adds nothing there.
    """
    return kept(study, _behind_common_plus)


def _behind_common_plus(study: Study) -> dict[str, frozenset[str]]:
    by_string: dict[String, set[str]] = {}
    for target, string in strings_of(study):
        if target.controller is not None and target.controller.common_pole == "positive":
            by_string.setdefault(string, set()).add(target.controller.name)
    if not by_string:
        return {}
    found: dict[str, frozenset[str]] = {}
    for name, lead in array_leads(study).items():
        controllers = frozenset(name for string in lead.strings for name in by_string.get(string, ()))
        if controllers:
            found[name] = controllers
    return found


def _array_leads(study: Study) -> dict[str, Lead]:
    found: dict[str, Lead] = {}
    by_gates: dict[frozenset[str], list[Target]] = {}
    for target in targets(study):
        by_gates.setdefault(target.arrangement.open_gates, []).append(target)
    for gates, group in by_gates.items():
        net = _Net(study, gates, (node for target in group for node in _nodes(target)))
        passing: dict[tuple[str, bool], dict[String, None]] = {}
        for target in group:
            for string in target.arrangement.strings:
                for start, end in _stretches(target, string):
                    for way in net.way(start, end):
                        passing.setdefault(way, {})[string] = None
        for (branch, _), strings in passing.items():
            lead = _lead(study, study.circuit.by_name[branch], tuple(strings))
            known = found.get(branch)
            if known is None or lead.current > known.current or (lead.missing is not None and known.missing is None):
                found[branch] = lead
    return found


def _nodes(target: Target) -> Iterator[str]:
    yield from (target.minus, target.plus)
    for name in target.arrangement.names:
        yield from (f"{name}.minus", f"{name}.plus")


def _stretches(target: Target, string: String) -> Iterator[tuple[str, str]]:
    """Yield the ends of each stretch of conductor in the loop of a string, in the direction of its current."""
    yield target.minus, f"{string[0]}.minus"
    for one, two in pairwise(string):
        yield f"{one}.plus", f"{two}.minus"
    yield f"{string[-1]}.plus", target.plus


def _lead(study: Study, branch: Branch, strings: tuple[String, ...]) -> Lead:
    """Add up what strings bring; those that part only after a common array bring no more than that array's end of the string."""
    sums = []
    for end in (-1, 0):
        ends: dict[str, float] = {}
        for string in strings:
            largest = max(_short_circuit(study, name) or 0.0 for name in string)
            ends[string[end]] = max(ends.get(string[end], 0.0), largest)
        sums.append((sum(ends.values()), tuple(ends.values())))
    current, parted = min(sums)
    names = sorted({name for string in strings for name in string})
    words = f"{listed(names)}: {' + '.join(f'{value:.4g}' for value in parted)}"
    plugged = any(
        isinstance(part, Array) and part.most_in_parallel > (part.in_parallel or 1) for part in map(study.part, names)
    )
    how = "strings side by side, as the owner may plug them" if plugged else "strings side by side, as declared"
    step = Step("Isc", words, current, "A", how)
    unsaid = next((name for name in names if _short_circuit(study, name) is None), None)
    missing = None
    if unsaid is not None:
        missing = Missing(f"short-circuit current of {unsaid}", study.span(unsaid), "Isc 6 A")
    return Lead(branch, strings, current, step, missing)


def _short_circuit(study: Study, name: str) -> float | None:
    array = study.part(name)
    assert isinstance(array, Array)
    return float(array.isc.high) * array.most_in_parallel if array.isc is not None else None


class _Net:
    """The conductors that are joined with some nodes while gates are open, as a forest of bridges between parts that loops hold together."""

    def __init__(self, study: Study, open_gates: frozenset[str], starts: Iterable[str]) -> None:
        circuit = study.circuit
        known = [node for node in dict.fromkeys(starts) if node in circuit.at_node]
        nodes = circuit.reach(known, lambda branch: branch.kind != "resistor", open_gates)
        number = {node: place for place, node in enumerate(circuit.nodes) if node in nodes}
        place = {node: index for index, node in enumerate(number)}
        self._branches = circuit.branches
        edges = [
            (index, place[branch.start], place[branch.end])
            for index, branch in enumerate(circuit.branches)
            if branch.start in place
            and branch.end in place
            and branch.kind != "resistor"
            and not (branch.gate and branch.gate in open_gates)
        ]
        cut = bridges(len(place), edges)
        part = parts(len(place), ((one, two) for index, one, two in edges if index not in cut))
        self._part = {node: part[index] for node, index in place.items()}
        near: dict[int, list[tuple[int, int, bool]]] = {}
        for index, one, two in edges:
            if index in cut:
                near.setdefault(part[one], []).append((index, part[two], True))
                near.setdefault(part[two], []).append((index, part[one], False))
        self._up: dict[int, tuple[int, int, bool]] = {}  # bridge, part and direction towards the root
        self._depth: dict[int, int] = {}
        for node in known:
            self._grow(self._part[node], near)

    def _grow(self, root: int, near: dict[int, list[tuple[int, int, bool]]]) -> None:
        if root in self._depth:
            return
        self._depth[root] = 0
        queue = [root]
        for here in queue:
            for index, far, forward in near.get(here, ()):
                if far not in self._depth:
                    self._depth[far] = self._depth[here] + 1
                    self._up[far] = (index, here, not forward)
                    queue.append(far)

    def way(self, start: str, end: str) -> Iterator[tuple[str, bool]]:
        """Yield the bridges between two nodes, each with whether it is gone through from its start to its end; none where they are apart."""
        one, two = self._part.get(start), self._part.get(end)
        if one is None or two is None:
            return
        found: list[tuple[str, bool]] = []
        while one != two:
            if self._depth[one] >= self._depth[two]:
                if one not in self._up:
                    return
                index, one, forward = self._up[one]
                found.append((self._branches[index].name, forward))
            else:
                index, two, forward = self._up[two]
                found.append((self._branches[index].name, not forward))
        yield from found
