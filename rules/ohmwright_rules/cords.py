"""Cables as the builder names them: their cores in the circuit, and what is found of the worst of them."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.study import Study
from ohmwright_grammar.kinds.cable import Cable
from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Span

from ohmwright_rules.conductors import cables_of, is_cord

__all__ = ["Cord", "cords_of"]


@record
class Cord:
    """A cable, or a single conductor of its own, with the cores that are part of the DC circuit.

    `kind_known` tells whether it is said of what kind it is; `is_cord` whether it is a flexible cord.
    """

    name: str
    span: Span
    cable: Cable | None
    cores: tuple[Branch, ...]
    is_cord: bool
    kind_known: bool

    @property
    def subject(self) -> tuple[str, ...]:
        """The cable, then its cores."""
        return (self.name, *(core.name for core in self.cores if core.name != self.name))


def cords_of(study: Study) -> Iterator[Cord]:
    """Yield every cable that has a core in the DC circuit, and every single conductor that is said to be a cord, in name order."""
    cores: dict[str, list[Branch]] = {}
    for wire in study.circuit.wires():
        cores.setdefault(wire.part if wire.part in cables_of(study) else wire.name, []).append(wire)
    for name in sorted(cores):
        found = cores[name]
        cable = cables_of(study).get(name)
        conductor = found[0].conductor
        assert conductor is not None
        cord = is_cord(conductor, cable)
        if cable is None and not cord:
            continue
        span = cable.span if cable is not None else found[0].span
        yield Cord(name, span, cable, tuple(found), cord, cord or conductor.cable_kind is not None)
