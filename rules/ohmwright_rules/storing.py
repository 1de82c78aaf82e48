"""In which state a build is stored, and what stands together in it.

A declared state is how the builder stores it where the procedure's storage action names it or its own name says so; else the state decides in which the least
is drained, of those in which no load runs and no charger works, the implied one (every switch open) among them.
"""

from __future__ import annotations

import re

from ohmwright.references import Step
from ohmwright.states.implied import stored_setup
from ohmwright.study import SolvedState, Study
from ohmwright_grammar.kinds.procedure import Procedure
from ohmwright_grammar.records import record

from ohmwright_rules.drains import Bank, banks_in
from ohmwright_rules.kept import kept

__all__ = ["Stored", "banks", "stored"]

_SAYS_STORED = re.compile(r"\b(stored|storage)\b", re.IGNORECASE)
_RESTS = re.compile(r"\b(shelf|parked|parking|winter|laid[ -]up|lay[ -]?up|mothballed|hibernat\w+)\b", re.IGNORECASE)
_TRACE = 1e-6  # A: less than that is no current that a source gives
_ALIKE = 0.02  # drains that differ by less are one: a constant power takes more or less with the charge


@record
class Stored:
    """The state in which a build is stored, and in words why that one."""

    state: SolvedState
    why: str

    @property
    def name(self) -> str:
        """The name of the state."""
        return self.state.name

    @property
    def step(self) -> Step:
        """The line of a working that says which state was taken, and why."""
        return Step("stored", f"as in state {self.name!r}", None, "", self.why)


def stored(study: Study) -> Stored:
    """Return the state in which a build is stored, and why it was taken."""
    return kept(study, _stored)


def banks(study: Study) -> tuple[Bank, ...]:
    """Return every bank of the stored state, in name order, with what empties it."""
    return kept(study, _banks)


def _banks(study: Study) -> tuple[Bank, ...]:
    return banks_in(study, stored(study).state)


def _stored(study: Study) -> Stored:
    declared = [state for state in study.states if state.setup.origin == "declared"]
    named = _named_by_the_procedure(study, declared)
    if named is not None:
        return Stored(named, "the procedure's storage action names it")
    exact = next((state for state in declared if state.name.casefold() == "stored"), None)
    if exact is not None:
        return Stored(exact, "its name says so")
    quiet = [state for state in declared if _is_quiet(study, state)]
    saying = [state for state in declared if _SAYS_STORED.search(state.name)]
    resting = [state for state in quiet if _RESTS.search(state.name)]
    for found in (saying, resting):
        if found:
            return Stored(max(found, key=lambda state: _drained(study, state)), "its name says so")
    implied = next((state for state in study.states if state.setup.origin == "implied" and state.name == "stored"), None)
    if implied is None:
        implied = study.solve_setup(stored_setup(study.build, study.anatomy))
    least = _drained(study, implied) * (1 + _ALIKE) + _TRACE
    best: SolvedState | None = None
    for state in quiet:
        drained = _drained(study, state)
        if drained <= least:
            best, least = state, drained * (1 - _ALIKE) - _TRACE
    if best is None:
        return Stored(implied, "implied: every switch open, nothing running; no declared state is one of storage")
    return Stored(best, "of the states in which no load runs and no charger works the least is drained in it")


def _named_by_the_procedure(study: Study, states: list[SolvedState]) -> SolvedState | None:
    """Return the state whose name the storage action holds, the longest where it holds several."""
    plan = next(study.of(Procedure), None)
    action = plan.storage_action if plan is not None else None
    if not action:
        return None
    held = [state for state in states if re.search(rf"\b{re.escape(state.name)}(?!\w)", action, re.IGNORECASE)]
    return max(held, key=lambda state: len(state.name), default=None)


def _is_quiet(study: Study, state: SolvedState) -> bool:
    """Tell whether nothing has failed, no load takes current but those that are always on, and no charger, controller or array gives any."""
    setup = state.setup
    if (
        not state.solved
        or setup.is_surge
        or not setup.allowed
        or setup.blown
        or setup.bms_open
        or setup.failed
        or setup.short_at
    ):
        return False
    for source in study.circuit.sources:
        if source.kind in ("charger", "controller", "array") and abs(state.current(source.name)) > _TRACE:
            return False
    running = [name for name in setup.running if name not in study.anatomy.always_on]
    for name, level in setup.inverters.items():
        told = level.power or level.share or level.current or level.peak
        if told or not set(running).isdisjoint(study.ac_side.loads_of(name)):
            running.append(name)
    return not any(abs(state.current(name)) > _TRACE for name in running)


def _drained(study: Study, state: SolvedState) -> float:
    """Return the sum of what empties all banks in a state [A]."""
    return sum(bank.total for bank in banks_in(study, state))
