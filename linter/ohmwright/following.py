"""Solving one state: relays follow their coils and low-voltage disconnects their voltage, until all of them stay."""

from __future__ import annotations

from collections.abc import Sequence, Set
from typing import TYPE_CHECKING

from ohmwright_grammar.kinds.part import Part
from ohmwright_grammar.kinds.switch import Disconnect, Relay
from ohmwright_grammar.records import replace

from ohmwright.circuit.climate import Temperatures
from ohmwright.circuit.condensing import Frame
from ohmwright.solved_state import SolvedState, gates_of_cut_off
from ohmwright.states.setup import Setup

if TYPE_CHECKING:
    from ohmwright.study import Study

__all__ = ["COIL_PICKS_UP", "solve"]

COIL_PICKS_UP = 0.75  # share of its rated voltage at which a relay pulls in: common practice, no source


def solve(study: Study, setup: Setup, beside: SolvedState | None = None, within: Frame | None = None) -> SolvedState:
    """Solve a state; relays follow their coils and low-voltage disconnects their voltage unless the state says otherwise.

    They begin at rest, or as they stand in the state `beside` from which this one is reached: a relay that holds itself stays in.
    Raises OutOfBudgetError where the budget of the study has run out.
    """
    study.options.budget.check()
    if beside is None:
        temperatures = study.climate.in_state(setup)
        frame = study.frame(setup, temperatures)
    elif within is None:
        temperatures, frame = beside.temperatures, beside.frame
    else:
        temperatures, frame = study.climate.in_state(setup), within
    gates = set(setup.open_gates)
    followers = [name for name in (*study.anatomy.relays, *study.anatomy.disconnects) if name not in setup.told_relays]
    for name in followers:
        part = study.build.parts[name]
        if beside is not None:
            (gates.add if name in beside.open_gates else gates.discard)(name)
        elif isinstance(part, Relay) and part.rest_position != "closed":
            gates.add(name)
    state = _followed(study, setup, gates, temperatures, frame, followers)
    if state.point.operation.collapse and followers:
        # Coils are fed before anything is switched on behind them: a relay around its precharge resistor is in by then.
        idle = replace(setup, running={}, inverters={})
        at_rest = _followed(study, idle, gates, temperatures, study.frame(idle, temperatures), followers).open_gates
        point = frame.point(at_rest | gates_of_cut_off(setup))
        if point.operation.collapse:
            return SolvedState(setup, at_rest, point, temperatures, study, frame)
        return _followed(study, setup, at_rest, temperatures, frame, followers)
    return state


def _followed(
    study: Study, setup: Setup, gates: Set[str], temperatures: Temperatures, frame: Frame, followers: Sequence[str]
) -> SolvedState:
    """Return the state once the followers have gone where it sends them; `unsettled` names those that go to and fro."""
    apart = gates_of_cut_off(setup)
    gates = frozenset(gates)
    point = frame.point(gates | apart)
    unsettled: tuple[str, ...] = ()
    for _ in range(2 * len(followers) + 2 if followers else 0):
        state = SolvedState(setup, gates, point, temperatures, study, frame)
        wanted = {name for name in followers if _wants_open(study.build.parts[name], state, name in gates)}
        now = gates.difference(followers) | wanted
        if now == gates:
            return state
        unsettled = tuple(sorted((now ^ gates).intersection(followers)))
        gates = now
        point = frame.point(gates | apart)
    return SolvedState(setup, gates, point, temperatures, study, frame, unsettled)


def _wants_open(part: Part, state: SolvedState, is_open: bool) -> bool:
    if isinstance(part, Relay):
        volts = state.across(f"{part.name}.coil_plus", f"{part.name}.coil_minus")
        rated = part.coil_voltage.nominal if part.coil_voltage is not None else state.study.system_voltage or 12.0
        pulled_in = volts is not None and abs(volts) >= COIL_PICKS_UP * rated
        return pulled_in if part.rest_position == "closed" else not pulled_in
    if isinstance(part, Disconnect):
        volts = state.line_voltage(part.name)
        if volts is None or part.opens_at is None:
            return is_open
        closes = float(part.closes_at.nominal) if part.closes_at is not None else float(part.opens_at.nominal)
        return volts < (closes if is_open else float(part.opens_at.nominal))
    return is_open
