"""What returns through the minus side of a circuit: which conductors are returns, and whose current comes together in one."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.graph import Branch, Consumer
from ohmwright.study import SolvedState, Study
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.controller import Controller

__all__ = ["ReturnFlow", "current_taken", "return_nodes"]

_LEAST = 1e-9  # A: less is rounding


def current_taken(state: SolvedState, consumer: Consumer) -> float:
    """Return the current [A] that a consumer takes in a state."""
    if consumer.kind == "converter":
        return state.current(f"{consumer.part.name}.in")
    suffix = {"drain": " drain", "coil": " coil"}.get(consumer.kind, "")
    return state.current(f"{consumer.name}{suffix}")


def return_nodes(study: Study) -> frozenset[str]:
    """Return the nodes of every net that holds the minus of a source or consumer and no plus of anything.

    All switches and plugs count as closed.
    """
    circuit = study.circuit
    pluses = {source.plus for source in circuit.sources} | {consumer.plus for consumer in circuit.consumers}
    found: set[str] = set()
    seen: set[str] = set()
    minuses = {source.minus for source in circuit.sources} | {consumer.minus for consumer in circuit.consumers}
    for node in sorted(minuses):
        if node in seen:
            continue
        net = circuit.reach(node)
        seen |= net
        if pluses.isdisjoint(net):
            found |= net
    return frozenset(found)


class ReturnFlow:
    """The returning currents of one state, followed upstream from a conductor to whoever sends them."""

    def __init__(self, study: Study, state: SolvedState, nodes: frozenset[str]) -> None:
        self.study = study
        self.state = state
        self.nodes = nodes
        self.sent: dict[str, list[tuple[str, float]]] = {}
        for name, node, current in self._senders():
            if current > _LEAST and node in nodes:
                self.sent.setdefault(node, []).append((name, current))
        self._few: dict[str, frozenset[str]] = {}

    def _senders(self) -> Iterator[tuple[str, str, float]]:
        """Yield whatever sends current into the return side: consumers, batteries that are charged, inputs of controllers."""
        for consumer in self.study.circuit.consumers:
            yield consumer.part.name, consumer.minus, current_taken(self.state, consumer)
        for source in self.study.circuit.sources:
            if isinstance(source.part, Battery):
                yield source.name, source.minus, -self.state.current(source.name)
            elif isinstance(source.part, Controller):
                yield source.name, f"{source.name}.pv_minus", self.state.current(f"{source.name}.in")

    def _upstream(self, node: str) -> Iterator[str]:
        """Yield the nodes from which current comes to a node."""
        for branch in self.study.circuit.at_node.get(node, ()):
            current = self.state.current(branch.name)
            into = current if branch.end == node else -current
            if into > _LEAST:
                yield branch.other(node)

    def comes_from(self, branch: Branch) -> str:
        """Return the end of a branch at which its current enters."""
        return branch.start if self.state.current(branch.name) >= 0 else branch.end

    def senders(self, branch: Branch) -> list[tuple[str, float]]:
        """Return everything whose current comes through a branch, with what each sends [A], the largest first."""
        queue = [self.comes_from(branch)]
        seen = set(queue)
        found: dict[str, float] = {}
        while queue:
            node = queue.pop()
            for name, current in self.sent.get(node, ()):
                found[name] = found.get(name, 0.0) + current
            for other in self._upstream(node):
                if other not in seen:
                    seen.add(other)
                    queue.append(other)
        return sorted(found.items(), key=lambda item: (-item[1], item[0]))

    def several(self, branch: Branch) -> bool:
        """Tell whether the current of more than one sender comes through a branch."""
        return len(self._two(self.comes_from(branch))) > 1

    def _two(self, start: str) -> frozenset[str]:
        """Return up to two senders upstream of a node; each node is worked out once."""
        few = self._few
        stack: list[tuple[str, Iterator[str]]] = []
        on_way: set[str] = set()

        def enter(node: str) -> None:
            on_way.add(node)
            few[node] = frozenset(sorted({name for name, _ in self.sent.get(node, ())})[:2])
            stack.append((node, self._upstream(node)))

        if start not in few:
            enter(start)
        while stack:
            node, rest = stack[-1]
            other = next(rest, None) if len(few[node]) < 2 else None
            if other is None:
                stack.pop()
                on_way.discard(node)
                if stack:
                    below = stack[-1][0]
                    few[below] = frozenset(sorted(few[below] | few[node])[:2])
            elif other in few:
                few[node] = frozenset(sorted(few[node] | few[other])[:2])
            else:
                enter(other)
        return few[start]
