"""The modes of chargers, controllers and converters: a guess, what speaks against it, and the search that ends.

Each output is a falling limit: so much current below a voltage, any current down to none at it, none above; and none against a
voltage of the wrong sign. A mode gives way to its neighbour on that line, never to one beyond. A network of such outputs has one consistent set of modes, and the search changes all that are wrong at once, then one at a time in a fixed order,
which ends; a bound on the rounds stands behind it.
"""

from __future__ import annotations

from .case import ALIVE, Case
from .elements import Charger, Converter, CurrentLoad, CurrentSource, SeriesController, Tracker
from .flows import Flows
from .newton import LOST, SETTLED
from .reading import SMALL_OHM
from .supply import feeding
from .system import System

__all__ = ["CIRCLE", "CONFLICT", "find_modes", "first_modes", "wrong_modes"]

CONFLICT = "conflict"
CIRCLE = "circle"
_EQUAL = 1e-11
_PATIENCE = 8
_ABSURD = 1e8  # V; a current source that reaches this presses against a blocking diode


def first_modes(case: Case) -> None:
    """Guess the modes by connection; needs the peaks of trackers with a live input for a good guess."""
    elements = case.network.elements
    live, beside, closed = feeding(case.network)
    for index, element in enumerate(elements):
        match element:
            case Charger():
                case.modes[index] = "current" if index in beside else "voltage"
            case Converter():
                case.modes[index] = "voltage" if index in live else "dead"
            case Tracker():
                peak = case.peaks.get(index)
                if index not in live or peak is None or peak.watt <= 0:
                    case.modes[index] = "off"
                else:
                    case.modes[index] = "current" if index in beside else "voltage"
            case SeriesController():
                case.modes[index] = "sun" if index in live else "dead"
            case CurrentSource():
                case.modes[index] = "on" if index in closed else "open"


def find_modes(case: Case, loaded: bool) -> str:
    """Settle the case in consistent modes, with its loads or without; returns the outcome of the last attempt.

    The modes are sought at zero load first, where it also shows which loads can run. CIRCLE: the modes of the elements named in
    `case.unsettled` do not come to rest; the case stands settled in the last ones. CONFLICT: `case.conflicts` says between which.
    """
    case.unsettled = ()
    case.build()
    if case.conflicts:
        return CONFLICT
    outcome = case.start(True)
    if case.modes:
        outcome = _search(case, False, outcome)
    if loaded and outcome in (SETTLED, CIRCLE):
        case.unsettled = ()
        outcome = _search(case, True, SETTLED)
    return outcome


def _search(case: Case, loaded: bool, outcome: str) -> str:
    """Change modes until none is wrong, beginning with a case that was started with `outcome`."""
    best = len(case.modes) + 1
    patience = _PATIENCE
    rounds = 20 + 10 * len(case.modes)
    seen: set[tuple[str, ...]] = set()
    held = resumed = False
    while True:
        if outcome == SETTLED and not resumed:
            if not loaded and _unfed(case):
                outcome = _restart(case, loaded)
                continue
            outcome = case.finish(loaded)
        resumed = False
        if outcome == LOST and not held:
            # A current pressed against a blocking diode: start again with all outputs held by their voltage, which always has an answer.
            held = True
            if _hold_all(case):
                outcome = _restart(case, loaded)
                continue
        if outcome != SETTLED:
            return outcome
        wrong = wrong_modes(case)
        if not wrong:
            return SETTLED
        rounds -= 1
        now = tuple(case.modes.values())
        if rounds <= 0:
            case.unsettled = tuple([case.network.elements[index].name for index in sorted(wrong)])
            return CIRCLE
        if len(wrong) < best:
            best = len(wrong)
            patience = _PATIENCE
        if patience and now not in seen:
            case.modes.update(wrong)
        else:
            first = min(wrong, key=lambda index: case.network.elements[index].name)
            case.modes[first] = wrong[first]
        patience = max(patience - 1, 0)
        seen.add(now)
        if loaded:
            old = case.system
            case.build()
            if case.conflicts:
                return CONFLICT
            resumed = case.resume(old) == SETTLED
        outcome = SETTLED if resumed else _restart(case, loaded)


def _restart(case: Case, loaded: bool) -> str:
    """Go back to zero load in new modes."""
    case.build()
    return CONFLICT if case.conflicts else case.start(not loaded)


def _unfed(case: Case) -> bool:
    """Put converters whose input has no voltage at zero load out of action; True where there were any."""
    found = False
    for index, mode in case.modes.items():
        element = case.network.elements[index]
        if not isinstance(element, Converter) or mode == "dead":
            continue
        if case.system.volt(element.in_plus, element.in_minus) <= ALIVE * case.scale:
            case.modes[index] = "dead"
            found = True
    return found


def _hold_all(case: Case) -> bool:
    """Put outputs that give a fixed current or power into the mode of their voltage; False where there are none."""
    changed = False
    for index, mode in case.modes.items():
        element = case.network.elements[index]
        if mode in ("current", "sun") and not isinstance(element, SeriesController):
            case.modes[index] = "voltage"
            changed = True
    return changed


def wrong_modes(case: Case) -> dict[int, str]:
    """The elements that cannot be in their mode, each with the mode to try next."""
    if not case.modes:
        return _starved(case)
    wrong: dict[int, str] = {}
    system = case.system
    flows = Flows(system).currents
    home = system.plan.home
    amp = 1e-12 * (max(map(abs, flows.values()), default=0.0) + 0.1)
    volt = 1e-12 * case.scale
    for index, mode in case.modes.items():
        element = case.network.elements[index]
        match element:
            case Charger():
                if home[element.plus] != home[element.minus]:
                    new = "off"
                else:
                    u = system.volt(element.plus, element.minus)
                    new = _charger(element, mode, u, flows.get(element.name, 0.0), volt, amp)
            case CurrentSource():
                pressed = mode != "open" and abs(system.volt(element.plus, element.minus)) > _ABSURD
                new = "open" if pressed else mode
            case CurrentLoad():
                u = system.volt(element.plus, element.minus)
                new = _starving(element, mode, u, flows.get(element.name, 0.0), volt, amp)
            case Converter() | Tracker() | SeriesController():
                u_in = system.volt(element.in_plus, element.in_minus)
                u = system.volt(element.out_plus, element.out_minus)
                i = flows.get(f"{element.name}.out", 0.0)
                if home[element.out_plus] != home[element.out_minus]:
                    new = mode if mode == "dead" else "off"
                elif isinstance(element, Converter):
                    new = _converter(element, mode, u_in > ALIVE * case.scale, u, i, volt, amp)
                elif isinstance(element, Tracker):
                    peak = case.peaks[index].watt * element.efficiency if index in case.peaks else 0.0
                    new = _tracker(element, mode, peak, u, i, volt, amp)
                elif mode == "sun" and _bypassed(system, element):
                    new = mode
                else:
                    new = _series(element, mode, u_in, u, i, volt, amp)
            case _:
                new = mode
        if new != mode:
            wrong[index] = new
    wrong.update(_starved(case))
    return wrong


def _charger(e: Charger, mode: str, u: float, i: float, volt: float, amp: float) -> str:
    if mode == "voltage":
        if i > e.ampere * (1 + _EQUAL) + amp:
            return "current"
        return "off" if i < -amp else mode
    if mode == "current":
        if u < -volt:
            return "off"
        return "voltage" if u > e.volt + volt else mode
    return "voltage" if -volt <= u < e.volt - volt else mode


def _converter(e: Converter, mode: str, live: bool, u: float, i: float, volt: float, amp: float) -> str:
    if mode == "dead":
        return mode
    if not live:
        return "dead"
    if mode == "voltage":
        if e.ampere is not None and i > e.ampere * (1 + _EQUAL) + amp:
            return "current"
        return "off" if i < -amp else mode
    if mode == "current":
        if u < -volt:
            return "off"
        return "voltage" if u > e.volt - e.ohm * (e.ampere or 0.0) + volt else mode
    return "voltage" if -volt <= u < e.volt - volt else mode


def _tracker(e: Tracker, mode: str, peak: float, u: float, i: float, volt: float, amp: float) -> str:
    if mode == "voltage":
        sun = peak < e.ampere * e.volt
        limit = min(e.ampere, peak / e.volt)
        if i > limit * (1 + _EQUAL) + amp:
            return "sun" if sun else "current"
        return "off" if i < -amp else mode
    if mode == "off":
        if peak <= 0 or not -volt <= u < e.volt - volt:
            return mode
        return "voltage"
    if u < -volt:
        return "off"
    if u > e.volt + volt:
        return "voltage"
    if mode == "sun":
        return "current" if i > e.ampere * (1 + _EQUAL) + amp else mode
    return "sun" if peak < u * e.ampere * (1 - _EQUAL) else mode


def _series(e: SeriesController, mode: str, u_in: float, u: float, i: float, volt: float, amp: float) -> str:
    if mode == "dead":
        return mode
    if mode == "sun":
        if i < -amp or u < -volt:
            return "off"
        if u > e.volt + volt:
            return "voltage"
        return "current" if i > e.ampere * (1 + _EQUAL) + amp else mode
    if mode == "off":
        if not (u_in > u + volt and -volt <= u < e.volt - volt):
            return mode
        return "sun" if u_in - u < e.volt - u else "voltage"  # whichever bound was crossed just now
    if mode == "current" and u < -volt:
        return "off"
    if u_in < u + e.ohm * i - volt:
        return "sun"
    if mode == "voltage":
        if i < -amp:
            return "off"
        return "current" if i > e.ampere * (1 + _EQUAL) + amp else mode
    return "voltage" if u > e.volt + volt else mode


def _bypassed(system: System, e: SeriesController) -> bool:
    """Whether both poles of the two sides are joined anyway, so that there is nothing to control."""
    if e.ohm >= SMALL_OHM:
        group = system.plan.group
        return group[e.in_plus] == group[e.out_plus] and group[e.in_minus] == group[e.out_minus]
    forest = system.plan.forest
    owners = system.reading.merge_owners
    return forest is not None and any(owners[k] == e.name for loop in forest.loops for k in loop)


def _starving(e: CurrentLoad, mode: str, u: float, i: float, volt: float, amp: float) -> str:
    if mode == "starved":
        if i < -amp:
            return "reversed"
        return "on" if i > e.ampere * (1 + _EQUAL) + amp else mode
    return "starved" if mode == "reversed" and u > volt else mode


def _starved(case: Case) -> dict[int, str]:
    """Current loads that run although their voltage has turned negative."""
    if not case.loaded:
        return {}
    system = case.system
    draws = system.plan.draws
    least = -1e-10 * case.scale
    found: dict[int, str] = {}
    for k, element in enumerate(system.reading.draw_loads):
        if element >= 0 and system.draws[k] and system.volt(draws.node_a[k], draws.node_b[k]) < least:
            found[element] = "starved"
    return found
