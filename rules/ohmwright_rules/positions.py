"""Every position of switches and plugs that a check by connectivity looks at, without double work.

These are those of all states, and each position of each selector, also where no state puts it there. Positions in which the same gates are open and the same batteries
are left out count once.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import field

from ohmwright.circuit.parts import gate_of_position
from ohmwright.states.setup import Setup
from ohmwright.study import SolvedState, Study
from ohmwright_grammar.records import record, replace

from ohmwright_rules.kept import kept

__all__ = ["Position", "positions"]


@record
class Position:
    """Gates that are open together, batteries that are left out, and the states in which that is so."""

    open_gates: frozenset[str]
    without: frozenset[str]
    states: tuple[SolvedState, ...] = field(compare=False)

    @property
    def name(self) -> str:
        """The name of the first of its states."""
        return self.states[0].name


def positions(study: Study) -> tuple[Position, ...]:
    """Return every position, in the order of the states; those of a declared dead short are left out."""
    return kept(study, _positions)


def _positions(study: Study) -> tuple[Position, ...]:
    groups: dict[tuple[frozenset[str], frozenset[str]], list[SolvedState]] = {}
    for state in (*study.all_states, *_selected(study)):
        if not state.setup.short_at:
            groups.setdefault((state.open_gates, state.setup.bms_open | state.setup.failed), []).append(state)
    return tuple(Position(gates, without, tuple(states)) for (gates, without), states in groups.items())


def _selected(study: Study) -> Iterator[SolvedState]:
    """Yield a state for each position of a selector in which no state has it: everything else as at rest."""
    selectors = study.anatomy.selectors
    if not selectors:
        return
    used = set(study.circuit.gates())
    shut = [state.open_gates for state in study.all_states]
    base = _at_rest(study)
    for name, known in selectors.items():
        gates = {position: gate_of_position(name, position) for position in known}
        for position, gate in gates.items():
            if gate not in used or any(gate not in open_gates for open_gates in shut):
                continue
            open_gates = (base.open_gates - {gate}) | {other for other in gates.values() if other != gate}
            yield study.solve_setup(replace(base, name=f"{base.name}, {name} at {position}", open_gates=open_gates))


def _at_rest(study: Study) -> Setup:
    setups = [state.setup for state in study.states]
    resting = next((setup for setup in setups if setup.origin == "implied" and setup.name == "resting"), None)
    if resting is not None:
        return resting
    return setups[0] if setups else Setup("at rest", "implied")
