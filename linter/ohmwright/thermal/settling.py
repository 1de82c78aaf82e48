"""The states of a build solved again at the air that their own losses make in closed cases, to a fixed point.

The temperature is worked out with the currents as they were solved and the copper as warm as it comes out; so one more solution is nearly always the last.
Only states in which a case gets more than a kelvin warmer than its copper was taken are solved again, the hottest first, and no more than a few: in the
others the rules scale each drop to the temperature of its copper.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ohmwright.thermal.air import Air

if TYPE_CHECKING:
    from ohmwright.study import SolvedState, Study

__all__ = ["settle"]

_ROUNDS = 4  # solutions of one state
_NEAR = 1.0  # K between the copper of a solution and the air that its losses make
_MOST = 16  # states of one build
_MOST_WIRES = 20_000  # each temperature keeps elements of its own: so many of them in all


def settle(study: Study) -> None:
    """Solve again every state whose air is warmer than its copper was taken; what finds no temperature to stay at is noted."""
    airs = study.airs
    if not airs.summed:
        return
    most = max(1, min(_MOST, _MOST_WIRES // max(1, len(study.circuit.branches))))
    chosen: set[str] | None = None
    for _ in range(_ROUNDS):
        wanted = [
            state
            for state in study.states
            if state.solved and (chosen is None or state.name in chosen) and _apart(study, state) > _NEAR
        ]
        if not wanted:
            return
        wanted.sort(key=lambda state: (-_apart(study, state), state.name))
        wanted = wanted[:most]
        if chosen is None:
            chosen = {state.name for state in wanted}
        study.climate.warmed.update({state.name: airs.in_state(state) for state in wanted})
        again = {state.name: study.solve_setup(state.setup) for state in wanted}
        study.states = tuple(again.get(state.name, state) for state in study.states)
        airs.forget()
    for state in study.states:
        if state.name in (chosen or ()) and state.solved and _apart(study, state) > _NEAR:
            airs.without_end.update((airs.case_of(zone), state.name) for zone in airs.summed)
    airs.forget()


def _apart(study: Study, state: SolvedState) -> float:
    """Return how far the air of a state is from the temperature of its copper, at the zone where it is farthest [K]."""
    found = 0.0
    for zone in study.airs.summed:
        air = study.airs.of_zone(zone, state)
        if isinstance(air, Air) and air.balance:
            exact = air.low if air.used != air.ambient else air.ambient
            found = max(found, abs(exact - state.temperatures.of(zone)))
    return found
