"""The branches of a circuit in chains between the nodes where something else begins: made once for all of its states."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence

from ohmwright_grammar.records import record

__all__ = ["Chain", "Skeleton", "bms_gate"]


def bms_gate(battery: str) -> str:
    """Return the gate that is open while the management system of a battery has cut it off."""
    return f"\0{battery}"


@record
class Chain:
    """Branches in series between two kept nodes: their places in the circuit, each with whether the chain runs from its first node to its second."""

    a: int
    b: int
    branches: tuple[tuple[int, bool], ...]
    gates: int  # bits of the gates that close it


class Skeleton:
    """The branches of a circuit in chains; `kept` are nodes of sources and consumers, which never lie inside a chain."""

    def __init__(
        self,
        ends: Sequence[tuple[int, int]],
        gates: Sequence[str],
        kept: Iterable[int],
        nodes: int,
        batteries: Iterable[str] = (),
    ) -> None:
        self.nodes = nodes
        names = dict.fromkeys((*(gate for gate in gates if gate), *(bms_gate(name) for name in batteries)))
        self.bit = {gate: 1 << place for place, gate in enumerate(names)}
        self.near: list[list[tuple[int, int]]] = [[] for _ in range(nodes)]  # node -> (other node, branch)
        for branch, (a, b) in enumerate(ends):
            self.near[a].append((b, branch))
            self.near[b].append((a, branch))
        self.gate_of = [self.bit.get(gate, 0) for gate in gates]
        keeps = [len(found) != 2 for found in self.near]
        for node in kept:
            keeps[node] = True
        self.is_kept = keeps
        self.chains = tuple(self._chains(ends, keeps))

    def _chains(self, ends: Sequence[tuple[int, int]], keeps: list[bool]) -> Iterable[Chain]:
        done = [False] * len(ends)
        for start in (node for node, keep in enumerate(keeps) if keep):
            for other, first in self.near[start]:
                if done[first]:
                    continue
                way = [(first, ends[first][0] == start)]
                done[first] = True
                at = other
                while not keeps[at]:
                    (one, k), (two, m) = self.near[at]
                    branch, beyond = (m, two) if done[k] else (k, one)
                    if done[branch]:
                        break  # a ring that comes back to itself
                    done[branch] = True
                    way.append((branch, ends[branch][0] == at))
                    at = beyond
                if at != start:  # a ring of wires on one node carries nothing
                    mask = 0
                    for branch, _ in way:
                        mask |= self.gate_of[branch]
                    yield Chain(start, at, tuple(way), mask)

    def mask(self, open_gates: Collection[str]) -> int:
        """Return the bits of some open gates."""
        bit = self.bit
        found = 0
        for gate in open_gates:
            found |= bit.get(gate, 0)
        return found
