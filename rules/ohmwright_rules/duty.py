"""For how long currents flow: what of a state's current is continuous, what a short surge heats, what ran before it.

Continuous is what flows three hours a day or more, or what does not say. A state of under a minute is a surge; it heats a conductor only where it
comes back within ten minutes, by the root of the mean square over its cycle (readings.md, General).
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from math import sqrt

from ohmwright.references import Step
from ohmwright.states.setup import Running, Setup
from ohmwright.study import SolvedState, Study
from ohmwright.values import Amount, shown
from ohmwright_grammar.kinds.load import Load
from ohmwright_grammar.kinds.state import State
from ohmwright_grammar.records import record, replace

from ohmwright_rules.kept import kept

__all__ = ["CONTINUOUS", "Carried", "Loading", "carrying", "heating_share", "loadings", "steady_state", "totals"]

CONTINUOUS = 3.0 / 24.0  # part of a day: three hours
_REPEAT = 600.0  # s: a surge that does not say when it comes back does so once in ten minutes
_SLACK = 1e-9


@record
class Carried:
    """What a branch carries in a state [A], for its heat: all of it, and the part of it that is continuous."""

    total: float
    continuous: float

    @property
    def other(self) -> float:
        """The part that is not continuous."""
        return self.total - self.continuous


def heating_share(setup: Setup) -> float | None:
    """Return the share of its current by which a state heats: 1, that of a surge's whole cycle, None where a surge does not count.

    >>> round(heating_share(Setup("start", "declared", lasts=6.0, returns_after=600.0)), 3)
    0.1
    """
    if not setup.is_surge:
        return 1.0
    assert setup.lasts is not None
    cycle = setup.returns_after if setup.returns_after is not None else _REPEAT
    if cycle > _REPEAT * (1 + _SLACK):
        return None
    return min(1.0, sqrt(setup.lasts / cycle))


class Loading:
    """A solved state as it heats: what each branch carries in it."""

    def __init__(self, study: Study, state: SolvedState, share: float) -> None:
        self.study = study
        self.state = state
        self.share = share

    @property
    def name(self) -> str:
        """The name of the state."""
        return self.state.name

    @cached_property
    def continuous_state(self) -> SolvedState | None:
        """The same state with only those loads that run for three hours a day or more; None where none of it lasts so long."""
        return _continuous_state(self.study, self.state)

    def total(self, branch: str) -> float:
        """Return the design current of a branch [A], that of a surge as it heats."""
        return self.state.design_current(branch) * self.share

    def carried(self, branch: str) -> Carried:
        """Return the design current of a branch and its continuous part [A]."""
        total = self.total(branch)
        lasting = self.continuous_state
        if lasting is self.state or total == 0.0:
            return Carried(total, total)
        if lasting is None or not (lasting.solved or lasting.asks):
            return Carried(total, 0.0)
        return Carried(total, min(total, lasting.design_current(branch) * self.share))

    def when(self, branch: str) -> str:
        """Say in which state a branch carries its design current; what it carries before the voltage has fallen, where that is less."""
        before, now = abs(self.state.current(branch)), self.state.design_current(branch)
        words = f"in state {self.state.name!r}"
        if not self.state.solved:
            return f"{words} (which collapses: what its loads ask for at their cut-off voltage)"
        if now <= before * 1.005:
            return words
        return f"{words} once the voltage has fallen to the cut-off ({shown(Amount(before, 'current'))} before)"

    def current_step(self, branch: str) -> Step:
        """Return the line of a working that tells the design current of a branch."""
        before, now = abs(self.state.current(branch)), self.state.design_current(branch)
        words = f"state {self.state.name!r}"
        if not self.state.solved:
            return Step(
                "I", f"{words}, which collapses: what its loads ask for at their cut-off voltage", now, "A", "solved circuit"
            )
        if now > before * (1 + _SLACK):
            words += f": {before:.4g} A as solved, more with constant-power consumers at their cut-off voltage"
        return Step("I", words, now, "A", "solved circuit")

    def steps(self) -> tuple[Step, ...]:
        """Return the line of a working that says how a surge was counted, none for a steady state."""
        setup = self.state.setup
        if not setup.is_surge:
            return ()
        assert setup.lasts is not None
        cycle = setup.returns_after if setup.returns_after is not None else _REPEAT
        said = "as declared" if setup.returns_after is not None else "once in 10 min, assumed"
        words = f"sqrt({setup.lasts:.3g} s / {cycle:.4g} s) of a surge that comes back, {said}"
        return (Step("k_surge", words, self.share, "1", "root of the mean square over the cycle"),)


def loadings(study: Study) -> tuple[Loading, ...]:
    """Return every state that heats conductors, in the order of the states: solved, or collapsing, with what its loads ask for."""
    return kept(study, _loadings)


def totals(study: Study, branch: str) -> tuple[float, ...]:
    """Return the design current of a branch as it heats [A] in each of the `loadings`, worked out once."""
    known, heating = kept(study, _totals)
    found = known.get(branch)
    if found is None:
        found = known[branch] = tuple([currents.get(branch, 0.0) * share for currents, share in heating])
    return found


def _totals(study: Study) -> tuple[dict[str, tuple[float, ...]], tuple[tuple[Mapping[str, float], float], ...]]:
    """Return where the currents of the branches of a study are kept, and the design currents of each loading with its share."""
    return {}, tuple((loading.state.design_currents, loading.share) for loading in loadings(study))


def carrying(study: Study, branch: str) -> list[tuple[Loading, float]]:
    """Return the states in which a branch carries a steady current, with that current as it heats [A]."""
    return [item for item in zip(loadings(study), totals(study, branch), strict=True) if item[1] > 0.0]


def _loadings(study: Study) -> tuple[Loading, ...]:
    shares = ((state, heating_share(state.setup)) for state in study.telling_states if state.solved or state.asks)
    return tuple(Loading(study, state, share) for state, share in shares if share is not None)


def steady_state(study: Study, state: SolvedState) -> SolvedState:
    """Return the steady state that a surge starts from: everything that runs does so at its declared level; the state itself if it is no surge."""
    setup = state.setup
    if not setup.is_surge:
        return state
    steady = replace(
        setup,
        lasts=None,
        returns_after=None,
        running=dict.fromkeys(setup.running, Running()),
        inverters=dict.fromkeys(setup.inverters, Running()),
    )
    return study.solve_setup(steady)


def _continuous_state(study: Study, state: SolvedState) -> SolvedState | None:
    setup = state.setup
    said = _declared(study, setup)
    if said is not None and said.hours is not None:
        return state if float(said.hours.high) >= CONTINUOUS - _SLACK else None
    hours = _hours_said(said)
    short = {
        name
        for name in setup.running
        if (duty := hours.get(name, _hours_of(study, name))) is not None and duty < CONTINUOUS - _SLACK
    }
    if not short:
        return state
    return study.solve_setup(replace(setup, running={name: how for name, how in setup.running.items() if name not in short}))


def _declared(study: Study, setup: Setup) -> State | None:
    if setup.origin == "implied":
        return None
    name = setup.parent or setup.name
    return next((state for state in study.build.states if state.name == name), None)


def _hours_said(state: State | None) -> dict[str, float]:
    """Return the hours a day that a state gives for things that run in it, as parts of the day."""
    settings = state.settings or () if state is not None else ()
    return {name: float(setting.hours.high) for setting in settings if setting.hours is not None for name in setting.things}


def _hours_of(study: Study, name: str) -> float | None:
    part = study.part(name)
    if not isinstance(part, Load):
        return None
    if part.hours is not None:
        return float(part.hours.high)
    if part.hours_by_month is not None:
        return max(float(hours.high) for hours in part.hours_by_month.hours)
    return None
