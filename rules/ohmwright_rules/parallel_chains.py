"""Conductors that lie in parallel and carry one current together: rows of wires, contacts and fuses between the same two points."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.states.reaching import exclusive_groups
from ohmwright.study import Study
from ohmwright_grammar.budget import Budget
from ohmwright_grammar.records import record

__all__ = ["Chain", "parallel_chains"]

_LINKS = ("wire", "contact", "fuse", "breaker")


@record
class Chain:
    """Wires, contacts and devices in a row between two points, with nothing branching off between them."""

    branches: tuple[Branch, ...]

    @property
    def wires(self) -> tuple[Branch, ...]:
        """The conductors of the row."""
        return tuple(branch for branch in self.branches if branch.conductor is not None)

    @property
    def ohm(self) -> float:
        """Its resistance at 20 degC [ohm]."""
        return sum(branch.ohm for branch in self.branches)

    @property
    def has_device(self) -> bool:
        """Tell whether a fuse or breaker of its own lies in it."""
        return any(branch.device for branch in self.branches)


class _Points:
    """The nodes of a circuit, those that joints put on each other taken as one, with what meets at each."""

    def __init__(self, study: Study) -> None:
        circuit = study.circuit
        self._above: dict[str, str] = {}
        for branch in circuit.branches:
            if branch.kind == "joint":
                one, two = self.of(branch.start), self.of(branch.end)
                if one != two:
                    self._above[max(one, two)] = min(one, two)
        self.links: dict[str, list[Branch]] = {}
        self.stops: set[str] = set()
        for branch in circuit.branches:
            ends = (self.of(branch.start), self.of(branch.end))
            if branch.kind == "joint":
                continue
            if _carries(branch) and ends[0] != ends[1]:
                for end in ends:
                    self.links.setdefault(end, []).append(branch)
            elif branch.conductor is None:
                self.stops.update(ends)
        for source in circuit.sources:
            self.stops.update((self.of(source.plus), self.of(source.minus)))
        for consumer in circuit.consumers:
            self.stops.update((self.of(consumer.plus), self.of(consumer.minus)))
        self.stops.update(end for end, links in self.links.items() if len(links) != 2)

    def of(self, node: str) -> str:
        """Return the point that a node belongs to."""
        while node in self._above:
            node = self._above[node]
        return node

    def chains(self) -> Iterator[tuple[tuple[str, str], Chain]]:
        """Yield every row between two points at which something else meets, once, with these."""
        for start in sorted(self.stops & self.links.keys()):
            for first in sorted(self.links[start], key=lambda branch: branch.name):
                here, row = start, [first]
                while True:
                    here = self.of(row[-1].end) if self.of(row[-1].start) == here else self.of(row[-1].start)
                    if here in self.stops:
                        break
                    one, two = self.links[here]
                    row.append(two if one is row[-1] else one)
                if (here, row[-1].name) > (start, first.name) and here != start:
                    yield (start, here), Chain(tuple(row))


def _carries(branch: Branch) -> bool:
    conductor = branch.conductor
    if conductor is not None:
        return conductor.job in (None, "power") and not conductor.inside_device
    return branch.kind in _LINKS


def parallel_chains(study: Study) -> tuple[tuple[Chain, ...], ...]:
    """Return the groups of rows that lie in parallel, each row with a conductor in it, in the order of their names.

    Rows that are never closed at once (two sockets of one plug, breakers barred against each other) do not lie in parallel with each other.
    """
    groups: dict[tuple[str, str], list[Chain]] = {}
    for ends, chain in _Points(study).chains():
        if chain.wires:
            groups.setdefault(ends, []).append(chain)
    barred = exclusive_groups(study.build, study.anatomy)
    budget = study.options.budget
    return tuple(found for _, chains in sorted(groups.items()) for found in _at_once(chains, barred, budget) if len(found) > 1)


def _at_once(chains: list[Chain], barred: tuple[frozenset[str], ...], budget: Budget) -> tuple[tuple[Chain, ...], ...]:
    """Return the largest groups of rows that can be closed at once: with each row those of the others that go with all before them."""
    bars = frozenset().union(*barred)
    gates = [frozenset(branch.gate for branch in chain.branches if branch.gate in bars) for chain in chains]
    found: dict[tuple[int, ...], None] = {}
    free = next((number for number, own in enumerate(gates) if not own), -1)
    for first in range(len(chains)):
        if not gates[first] and first != free:
            continue  # what nothing bars goes with the same others as the first such row
        budget.check()
        taken, closed = [first], gates[first]
        for other in range(len(chains)):
            if other != first and all(len(group & (closed | gates[other])) < 2 for group in barred):
                taken.append(other)
                closed |= gates[other]
        found[tuple(sorted(taken))] = None
    return tuple(tuple(chains[number] for number in numbers) for numbers in found)
