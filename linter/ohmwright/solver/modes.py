"""The search for modes of chargers, controllers and converters that agree with each other: a guess, and a way on that ends.

A network of outputs with falling limits has one consistent set of modes. The search changes all that are wrong at once, then one at
a time in a fixed order, which ends; a bound on the rounds stands behind it.
"""

from __future__ import annotations

from .case import ALIVE, Case
from .elements import Charger, Converter, CurrentLoad, CurrentSource, SeriesController, Tracker
from .limits import ABSURD, wrong_modes
from .newton import COLLAPSED, LOST, SETTLED, scale_of
from .supply import Feeding

__all__ = ["CIRCLE", "CONFLICT", "find_modes", "first_modes"]

CONFLICT = "conflict"
CIRCLE = "circle"
_PATIENCE = 8
_REPEATS = 3


def first_modes(case: Case, fed: Feeding) -> None:
    """Guess the modes by what is fed; needs the peaks of trackers with a live input for a good guess."""
    elements = case.network.elements
    live, beside, closed = fed
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
    `case.unsettled` do not come to rest. CONFLICT: `case.conflicts` says between which.
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
    rounds = 0
    seen: dict[tuple[str, ...], int] = {}
    held = resumed = roused = False
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
        if outcome in (COLLAPSED, LOST) and loaded and not roused:
            # What had nothing to give without load may be needed with it.
            roused = True
            if _rouse(case):
                outcome = _restart(case, loaded)
                continue
        if outcome != SETTLED:
            return outcome
        wrong = wrong_modes(case)
        if not wrong:
            # A voltage that a fixed current reached against a blocking diode hides whatever is left over beside it.
            pressed = "open" in case.modes.values() and scale_of(case.system) > ABSURD * case.scale
            return LOST if pressed else SETTLED
        rounds += 1
        now = tuple(case.modes.values())
        seen[now] = seen.get(now, 0) + 1
        if rounds > 20 + 10 * len(case.modes) or seen[now] > _REPEATS:
            case.unsettled = tuple([case.network.elements[index].name for index in sorted(wrong)])
            return CIRCLE
        if len(wrong) < best:
            best = len(wrong)
            patience = _PATIENCE
        starving = {index: mode for index, mode in wrong.items() if isinstance(case.network.elements[index], CurrentLoad)}
        if patience and seen[now] == 1:
            case.modes.update(starving or wrong)  # a load that takes too much pulls the voltage of outputs to the wrong side
        else:
            first = min(wrong, key=lambda index: case.network.elements[index].name)
            case.modes[first] = wrong[first]
        patience = max(patience - 1, 0)
        if loaded:
            old = case.system
            case.build()
            resumed = not case.conflicts and case.resume(old) == SETTLED
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


def _rouse(case: Case) -> bool:
    """Let all outputs give what they can that were driven off or throttled without load, and all loads run; False where all do."""
    changed = False
    for index, mode in case.modes.items():
        element = case.network.elements[index]
        wanted = mode
        if isinstance(element, SeriesController) and mode in ("off", "voltage"):
            wanted = "sun"
        elif isinstance(element, Tracker) and mode in ("off", "voltage"):
            watt = case.peaks[index].watt * element.efficiency if index in case.peaks else 0.0
            wanted = "off" if watt <= 0 else "sun" if watt < element.ampere * element.volt else "current"
        elif isinstance(element, Charger | Converter) and mode == "off":
            wanted = "voltage"
        elif isinstance(element, CurrentLoad):
            wanted = "on"
        case.modes[index] = wanted
        changed = changed or wanted != mode
    return changed
