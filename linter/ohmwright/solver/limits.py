"""What speaks against the mode of an element: the limits that it runs into, and by how much.

Each output is a falling limit: so much current below a voltage, any current down to none at it, none above; and none against a
voltage of the wrong sign. A mode gives way to its neighbour on that line, never to one beyond.
"""

from __future__ import annotations

from typing import cast

from .case import ALIVE, Case
from .elements import Charger, Converter, CurrentLoad, CurrentSource, SeriesController, Tracker
from .flows import Flows
from .reading import SMALL_OHM
from .system import System

__all__ = ["ABSURD", "TOLERANCE", "excess", "wrong_modes"]

ABSURD = 1e8
"""V; a current source that reaches this presses against a blocking diode."""
TOLERANCE = 1e-12
"""Of the scale of voltages and of the largest current: what no mode is changed for."""

_EQUAL = 1e-11
_NOW = 1e30
_NEVER = -1e30

_Moded = Charger | CurrentSource | CurrentLoad | Converter | Tracker | SeriesController

Exit = tuple[str, float]
"""The mode to go over to, and how many tolerances lie between the limit and where the element stands: above 1 it has to go."""


class _Reach:
    """The tolerances of currents [A] and voltages [V] in one settled system."""

    __slots__ = ("amp", "volt")

    def __init__(self, flows: dict[str, float], scale: float) -> None:
        self.amp = TOLERANCE * (max(map(abs, flows.values()), default=0.0) + 0.1)
        self.volt = TOLERANCE * scale

    def over(self, ampere: float, limit: float) -> float:
        """By how much a current exceeds a limit."""
        return (ampere - limit) / (self.amp + _EQUAL * limit)

    def back(self, ampere: float) -> float:
        """By how much a current flows the wrong way."""
        return -ampere / self.amp

    def above(self, high: float, low: float) -> float:
        """By how much a voltage lies above another."""
        return (high - low) / self.volt

    def below(self, u: float, volt: float) -> float:
        """By how much a voltage lies below a limit, if it is not of the wrong sign."""
        return min(volt - u, u + 2.0 * self.volt) / self.volt


def wrong_modes(case: Case) -> dict[int, str]:
    """The elements that cannot be in their mode, each with the mode to try next."""
    wrong: dict[int, str] = {}
    for index, exits in _exits(case).items():
        for mode, beyond in exits:
            if beyond > 1.0:
                wrong[index] = mode
                break
    return wrong


def excess(case: Case) -> float:
    """The largest of all excesses over a limit, in tolerances; at most 1 where all modes are right."""
    return max([beyond for exits in _exits(case).values() for _, beyond in exits], default=_NEVER)


def _exits(case: Case) -> dict[int, tuple[Exit, ...]]:
    system = case.system
    found: dict[int, tuple[Exit, ...]] = {}
    if case.loaded:
        _running(case, found)
    if not case.modes:
        return found
    flows = Flows(system).currents
    home = system.plan.home
    reach = _Reach(flows, case.scale)
    for index, mode in case.modes.items():
        element = cast("_Moded", case.network.elements[index])
        match element:
            case Charger():
                u = system.volt(element.plus, element.minus)
                if home[element.plus] == home[element.minus]:
                    found[index] = _charger(element, mode, u, flows.get(element.name, 0.0), reach)
                else:
                    found[index] = (("off", _NOW if mode != "off" else _NEVER),)
            case CurrentSource():
                u = system.volt(element.plus, element.minus)
                if mode != "open":
                    found[index] = (("open", _NOW if abs(u) > ABSURD else _NEVER),)
            case CurrentLoad():
                u = system.volt(element.plus, element.minus)
                if mode in ("starved", "reversed"):
                    found[index] = _starving(element, mode, u, flows.get(element.name, 0.0), reach)
            case _:
                u_in = system.volt(element.in_plus, element.in_minus)
                u = system.volt(element.out_plus, element.out_minus)
                i = flows.get(f"{element.name}.out", 0.0)
                if mode == "dead":
                    continue
                if home[element.out_plus] != home[element.out_minus]:
                    found[index] = (("off", _NOW if mode != "off" else _NEVER),)
                elif isinstance(element, Converter):
                    dead = u_in <= ALIVE * case.scale
                    found[index] = (("dead", _NOW if dead else _NEVER), *_converter(element, mode, u, i, reach))
                elif isinstance(element, Tracker):
                    peak = case.peaks[index].watt * element.efficiency if index in case.peaks else 0.0
                    found[index] = _tracker(element, mode, peak, u, i, reach)
                elif not (mode == "sun" and _bypassed(system, element)):
                    found[index] = _series(element, mode, u_in, u, i, reach)
    return found


def _charger(e: Charger, mode: str, u: float, i: float, reach: _Reach) -> tuple[Exit, ...]:
    if mode == "voltage":
        return ("current", reach.over(i, e.ampere)), ("off", reach.back(i))
    if mode == "current":
        return ("off", reach.above(0.0, u)), ("voltage", reach.above(u, e.volt))
    return (("voltage", reach.below(u, e.volt)),)


def _converter(e: Converter, mode: str, u: float, i: float, reach: _Reach) -> tuple[Exit, ...]:
    if mode == "voltage":
        return ("current", _NEVER if e.ampere is None else reach.over(i, e.ampere)), ("off", reach.back(i))
    if mode == "current":
        return ("off", reach.above(0.0, u)), ("voltage", reach.above(u, e.volt - e.ohm * (e.ampere or 0.0)))
    return (("voltage", reach.below(u, e.volt)),)


def _tracker(e: Tracker, mode: str, peak: float, u: float, i: float, reach: _Reach) -> tuple[Exit, ...]:
    if mode == "voltage":
        short = peak < e.ampere * e.volt
        limit = peak / e.volt if short else e.ampere
        return ("sun" if short else "current", reach.over(i, limit)), ("off", reach.back(i))
    if mode == "off":
        return (("voltage", reach.below(u, e.volt) if peak > 0 else _NEVER),)
    held = ("off", reach.above(0.0, u)), ("voltage", reach.above(u, e.volt))
    if mode == "sun":
        return *held, ("current", reach.over(i, e.ampere))
    return *held, ("sun", reach.over(e.ampere, peak / u) if u > 0 else _NEVER)


def _series(e: SeriesController, mode: str, u_in: float, u: float, i: float, reach: _Reach) -> tuple[Exit, ...]:
    if mode == "sun":
        return (
            ("off", max(reach.back(i), reach.above(0.0, u))),
            ("voltage", reach.above(u, e.volt)),
            ("current", reach.over(i, e.ampere)),
        )
    if mode == "off":
        # On again by whichever bound was crossed just now.
        next_mode = "sun" if u_in - u < e.volt - u else "voltage"
        return ((next_mode, min(reach.above(u_in, u), reach.below(u, e.volt))),)
    throttled = ("sun", reach.above(u + e.ohm * i, u_in))
    if mode == "voltage":
        return throttled, ("off", reach.back(i)), ("current", reach.over(i, e.ampere))
    return ("off", reach.above(0.0, u)), throttled, ("voltage", reach.above(u, e.volt))


def _bypassed(system: System, e: SeriesController) -> bool:
    """Whether both poles of the two sides are joined anyway, so that there is nothing to control."""
    if e.ohm >= SMALL_OHM:
        group = system.plan.group
        return group[e.in_plus] == group[e.out_plus] and group[e.in_minus] == group[e.out_minus]
    forest = system.plan.forest
    owners = system.reading.merge_owners
    return forest is not None and any(owners[k] == e.name for loop in forest.loops for k in loop)


def _starving(e: CurrentLoad, mode: str, u: float, i: float, reach: _Reach) -> tuple[Exit, ...]:
    if mode == "starved":
        return ("reversed", reach.back(i)), ("on", reach.over(i, e.ampere))
    return (("starved", reach.above(u, 0.0)),)


def _running(case: Case, found: dict[int, tuple[Exit, ...]]) -> None:
    """Current loads that run: starved once their voltage turns negative."""
    system = case.system
    draws = system.plan.draws
    volt = 1e-10 * case.scale
    for k, element in enumerate(system.reading.draw_loads):
        if element >= 0 and system.draws[k]:
            found[element] = (("starved", -system.volt(draws.node_a[k], draws.node_b[k]) / volt),)
