"""The steady temperature of the air inside closed cases: all that is lost in one leaves through its walls.

T = T_ambient + P(T) / (h x A). P is what the solved state loses inside; what wires lose grows with T, so that T is where both sides are equal. Where the
copper's losses grow faster than what the walls let out, there is no such temperature. A state that gives the temperature inside, and a zone with a range of
its own, hold the rise already.

A state of under half an hour does not warm a case through: it begins in the air that the hottest of the states which last leaves behind.
"""

from __future__ import annotations

from functools import cached_property
from math import ceil
from typing import TYPE_CHECKING

from ohmwright_grammar.records import record

from ohmwright.missing import Missing
from ohmwright.references import Step
from ohmwright.states.setup import Setup
from ohmwright.thermal.contents import Contents
from ohmwright.thermal.losses import Loss, loss_steps, losses_in
from ohmwright.thermal.walls import free_area, unsure_of, wall_heat

if TYPE_CHECKING:
    from ohmwright.study import SolvedState, Study

__all__ = ["LONG_ENOUGH", "NO_END", "Air", "Airs", "lasts_long", "whole_degree"]

LONG_ENOUGH = 1800.0  # s: readings.md, L5 (a shorter state does not warm a case through)
NO_END = 1000.0  # degC, what is told where no temperature is hot enough
_DAY = 86400.0  # s
_LEAST_RISE = 0.5  # K: less than the figure of the walls can tell
_SLACK = 1e-6  # K


def lasts_long(setup: Setup) -> bool:
    """Tell whether a state lasts long enough to warm a case through: 30 min, or as long as nobody says."""
    if setup.lasts is not None:
        return setup.lasts >= LONG_ENOUGH
    return setup.duty is None or setup.duty * _DAY >= LONG_ENOUGH


def whole_degree(degrees: float, ambient: float) -> float:
    """Return the temperature [degC] at which copper and ratings are taken: the next whole degree, the ambient where it is not half a kelvin warmer.

    Factors are printed for whole degrees, and the figure of the walls is no finer.

    >>> whole_degree(51.876, 38.0), whole_degree(38.4, 38.0)
    (52.0, 38.0)
    """
    return ambient if degrees - ambient < _LEAST_RISE else max(ambient, float(ceil(degrees - _SLACK)))


@record
class Air:
    """How warm it is inside a case or zone in one state [degC].

    `low` takes what was not declared at its kindest, `high` at its harshest; `lacking` is the first such datum. `power` [W] is what is lost inside, `balance`
    whether that leaves through the walls at `low` at all; 0 and True where a range or state gives the temperature itself (`told`). `state` is the state that
    warms it: of a short one, the one before.
    """

    low: float
    high: float
    ambient: float
    power: float
    told: bool
    losses: tuple[Loss, ...] = ()
    steps: tuple[Step, ...] = ()
    lacking: Missing | None = None
    balance: bool = True
    state: str = ""

    @property
    def rise(self) -> float:
        """How much warmer it is inside than outside by the losses [K]."""
        return 0.0 if self.told else self.low - self.ambient

    @property
    def used(self) -> float | None:
        """The temperature [degC] at which copper and ratings are taken; None where none is high enough: then the case itself is what is wrong."""
        return whole_degree(self.low, self.ambient) if self.balance else None

    @property
    def harshest(self) -> float | None:
        """The same with everything that was not declared at its harshest; None where that has no end."""
        return whole_degree(self.high, self.ambient) if self.high < NO_END else None


class Airs:
    """The temperatures inside every case of a build, worked out state by state when they are asked for."""

    def __init__(self, study: Study) -> None:
        self.study = study
        self.contents = {found.case.name: found for found in study.contents}
        self._case_of = {zone: name for name, found in self.contents.items() for zone in found.zones}
        self._areas = {name: free_area(found.case) for name, found in self.contents.items()}
        self._known: dict[tuple[str, str], tuple[SolvedState, Air | Missing]] = {}
        self._before: dict[str, tuple[SolvedState, tuple[Loss, ...]] | None] = {}
        self._ranged = {name for name, zone in study.climate.zones.items() if zone.temperature is not None}
        self.without_end: set[tuple[str, str]] = set()  # case and state in which the circuit found no temperature to stay at

    @cached_property
    def summed(self) -> frozenset[str]:
        """The zones that something lies in and whose temperature is summed: in a closed case with a size, without a range of their own."""
        used = {*self.study.build.zones.values(), *(branch.zone for branch in self.study.circuit.branches)} - self._ranged
        return frozenset(zone for zone in used if (case := self._case_of.get(zone)) is not None and self._counts(case))

    def _counts(self, name: str) -> bool:
        case = self.contents[name].case
        return case.closed is not False and self._areas[name] is not None and unsure_of(case) is None

    def case_of(self, zone: str) -> str:
        """Return the case that a zone lies in, "" for none."""
        return self._case_of.get(zone, "")

    def forget(self) -> None:
        """Work everything out anew: some states were solved again."""
        self._known.clear()
        self._before.clear()

    def of_zone(self, zone: str, state: SolvedState) -> Air | Missing:
        """Return how warm a zone is in a state: told, or by the losses in its case; outside of every case as warm as the air there."""
        inside = state.setup.inside
        if inside is not None and zone in self._case_of:
            return Air(inside, inside, inside, 0.0, True)
        if zone in self._ranged or (inside is not None and zone in state.temperatures.by_zone):
            degrees = state.temperatures.of(zone)
            return Air(degrees, degrees, degrees, 0.0, True)
        case = self._case_of.get(zone)
        if case is not None:
            return self.inside(case, state)
        if not self._is_known(state):
            return self._ambient()
        degrees = state.temperatures.outside
        return Air(degrees, degrees, degrees, 0.0, True)

    def inside(self, case: str, state: SolvedState) -> Air | Missing:
        """Return how warm it gets inside a case in a state by its losses, or the datum that is missing to tell."""
        key = (case, state.name)
        known = self._known.get(key)
        if known is None or known[0] is not state:
            known = self._known[key] = (state, self._work_out(self.contents[case], state))
        return known[1]

    def in_state(self, state: SolvedState) -> dict[str, float]:
        """Return the temperature [degC] at which copper and ratings are taken, for every zone in which it is summed."""
        found: dict[str, float] = {}
        for zone in self.summed:
            air = self.of_zone(zone, state)
            if isinstance(air, Air) and air.used is not None:
                found[zone] = air.used
        return found

    def _work_out(self, contents: Contents, state: SolvedState) -> Air | Missing:
        setup = state.setup
        if setup.inside is not None:
            return Air(setup.inside, setup.inside, setup.inside, 0.0, True)
        if not self._is_known(state):
            return self._ambient()
        if lasts_long(setup):
            return self.air_with(contents, state, state, losses_in(self.study, contents, state))
        before = self._before_short(contents)
        if before is None:
            degrees = state.temperatures.outside
            return Air(degrees, degrees, degrees, 0.0, False)
        return self.air_with(contents, state, *before)

    def air_with(
        self,
        contents: Contents,
        state: SolvedState,
        warmed_in: SolvedState,
        losses: tuple[Loss, ...],
        walls: tuple[float, str] | None = None,
    ) -> Air | Missing:
        """Return how warm losses make a case in the surroundings of a state; `walls` [W/m2K] with its source in place of what its walls pass."""
        if not self._is_known(state):
            return self._ambient()
        case, ambient = contents.case, state.temperatures.outside
        area = self._areas[case.name]
        if not losses:
            return Air(ambient, ambient, ambient, 0.0, False, state=state.name)
        if area is None:
            return Missing(f"size of {case.name}", case.span, "size 400 x 300 x 250 mm")
        heat, where = walls if walls is not None else wall_heat(case)
        endless = (case.name, warmed_in.name) in self.without_end
        low = None if endless else _settled(losses, ambient, heat * area, most=False)
        high = None if endless else _settled(losses, ambient, heat * area, most=True)
        warm = low if low is not None else NO_END
        power = sum(loss.at(warm if low is not None else ambient) for loss in losses)
        short = f"state {warmed_in.name!r}, solved" + (
            "" if warmed_in is state else f"; {state.name!r} follows it and is too short to count"
        )
        steps = [
            Step("A", f"walls of {case.name} without the faces that are blocked", area, "m2", "as declared"),
            *loss_steps(losses, warm if low is not None else ambient),
            Step("P", "sum of the losses inside", power, "W", short),
            Step("h", "heat through the walls", heat, "W/m2K", where),
        ]
        if low is not None:
            steps.append(Step("dT", f"{power:.4g} W / ({heat:.4g} W/m2K x {area:.4g} m2)", low - ambient, "K", "steady heat"))
            steps.append(Step("T", f"{ambient:.4g} degC + {low - ambient:.4g} K", low, "degC", "steady heat"))
        else:
            steps.append(
                Step("T", "what is lost grows faster with the temperature than what leaves", None, "degC", "steady heat")
            )
        lacking = next((loss.lacking for loss in losses if loss.lacking is not None and loss.high > loss.low), None)
        return Air(
            warm, high if high is not None else NO_END, ambient, power, False, losses, tuple(steps), lacking, low is not None,
            warmed_in.name,
        )  # fmt: skip

    def _before_short(self, contents: Contents) -> tuple[SolvedState, tuple[Loss, ...]] | None:
        """Return the state that lasts and loses most in a case, with its losses: the warmest that a short one can begin in."""
        name = contents.case.name
        if name not in self._before:
            lasting = [state for state in self.study.states if state.solved and lasts_long(state.setup)]
            seen = [(state, losses_in(self.study, contents, state)) for state in lasting if state.setup.inside is None]
            self._before[name] = max(
                seen, key=lambda item: sum(loss.at(item[0].temperatures.outside) for loss in item[1]), default=None
            )
        return self._before[name]

    def _is_known(self, state: SolvedState) -> bool:
        site = self.study.climate.site
        return state.setup.ambient is not None or (site is not None and site.ambient is not None)

    def _ambient(self) -> Missing:
        site = self.study.climate.site
        span = site.span if site is not None else self.study.build.rig.span
        return Missing("temperature of the air", span, "site { ambient 0 degC to 40 degC }")


def _settled(losses: tuple[Loss, ...], ambient: float, conductance: float, most: bool) -> float | None:
    """Return the temperature [degC] at which as much heat leaves as is lost; None where there is none below 1000 degC.

    What is lost is a straight line over the temperature, P(T) = P(T_ambient) + P' (T - T_ambient), so that the fixed point has a formula.
    """
    power = sum(loss.at(ambient, most) for loss in losses)
    growth = sum((loss.high if most else loss.low) * loss.alpha for loss in losses if loss.alpha)
    if conductance - growth <= 0.0 or power == float("inf"):
        return None
    degrees = ambient + power / (conductance - growth)
    return degrees if degrees < NO_END else None
