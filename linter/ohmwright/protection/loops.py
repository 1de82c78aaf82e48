"""Which consumers and sources lie in a closed loop: without one no current can flow through them in any setting."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from ohmwright.circuit.graph import Circuit, Consumer, Source
from ohmwright.solver.blocks import blocks

__all__ = ["Loops", "Port"]


@dataclass(frozen=True, slots=True)
class Port:
    """A further pair of nodes of a part between which it takes current, for instance the array's side of a controller."""

    name: str
    plus: str
    minus: str


class Loops:
    """The loops of a circuit with everything closed.

    A consumer works only in a loop that a source of another part lies in; a source gives current only in a loop with something else than its own part.
    """

    def __init__(self, circuit: Circuit, ports: Iterable[Port] = ()) -> None:
        number = {node: index for index, node in enumerate(circuit.nodes)}

        def ends(one: str, two: str) -> tuple[int, int]:
            return number.setdefault(one, len(number)), number.setdefault(two, len(number))

        takers: list[Consumer | Port] = [*circuit.consumers, *ports]
        edges = [ends(branch.start, branch.end) for branch in circuit.branches]
        edges += [ends(source.plus, source.minus) for source in circuit.sources]
        edges += [ends(taker.plus, taker.minus) for taker in takers]
        owners = ["" for _ in circuit.branches]
        owners += [source.part.name for source in circuit.sources]
        owners += [taker.part.name if isinstance(taker, Consumer) else taker.name for taker in takers]
        of = blocks(len(number), edges)
        first = len(circuit.branches)
        second = first + len(circuit.sources)
        self._all: dict[int, set[str]] = {}
        self._feeding: dict[int, set[str]] = {}
        for place, (block, owner) in enumerate(zip(of, owners, strict=True)):
            self._all.setdefault(block, set()).add(owner)
            if first <= place < second:
                self._feeding.setdefault(block, set()).add(owner)
        self._block: dict[Source | Consumer, int] = dict(zip((*circuit.sources, *circuit.consumers), of[first:], strict=False))

    def works(self, consumer: Consumer) -> bool:
        """Tell whether a consumer lies in a loop with a source of another part."""
        return bool(self._feeding.get(self._block[consumer], set()) - {consumer.part.name})

    def gives(self, source: Source) -> bool:
        """Tell whether a source lies in a loop with anything but its own part."""
        return bool(self._all[self._block[source]] - {source.part.name})
