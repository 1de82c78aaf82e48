"""Following a load up from zero to the fold, where the operating point ends.

The voltage of the load that falls fastest is given step by step, and the share of the load that belongs to it is solved for
together with all voltages. At the fold the share stops rising while that voltage falls on; there it is flat, so that it comes
out with nearly all its digits. Where an output runs into a limit on the way, the point of the change is found first.
"""

from __future__ import annotations

from .case import ALIVE, Case
from .limits import excess, wrong_modes
from .modes import find_modes
from .newton import SETTLED, scale_of, settle
from .system import System

__all__ = ["Trail", "follow"]

_FALLS = (0.16, 0.25, 0.08, 0.03, 0.01, 0.002)
_LONGEST = 200
_NARROW = 1e-8
_JUST_OVER = 20.0  # tolerances; a change of mode is located between 1 and twice this beyond its limit
_FLAT = 1e-4  # of a voltage, over the whole way to the limit

Port = tuple[int, int, float, int]  # ranks from and to, what is added, element
Lead = Port | None  # what is given at a step: the voltage of a port, or the share itself where no voltage falls


class Trail:
    """How a search ended: at the fold (`found`), at its limit, or nowhere (`failed`); `case` stands at the last point."""

    __slots__ = ("case", "elements", "failed", "found", "reason", "share", "volts")

    def __init__(self, case: Case) -> None:
        self.case = case
        self.found = False
        self.failed = False
        self.share = 0.0
        self.reason = ""
        self.elements: tuple[int, ...] = ()
        self.volts: tuple[float, ...] = ()


class _Point:
    """A solved point: potentials and share, with the system that they belong to."""

    __slots__ = ("high", "low", "share", "system", "volts")

    def __init__(self, system: System) -> None:
        self.system = system
        self.high = system.high
        self.low = system.low
        self.share = system.share
        self.volts = [curve.volt for curve in system.curves]

    def restore(self, case: Case) -> None:
        system = case.system = self.system
        system.high = self.high
        system.low = self.low
        case.follow_to(self.share)
        for curve, volt in zip(system.curves, self.volts, strict=True):
            curve.place(volt)


def follow(case: Case, limit: float = 1.0, ready: bool = False) -> Trail:
    """Follow `case.followed` from nothing up to `limit` shares, or to the fold; `ready` says that the case is settled at nothing."""
    trail = Trail(case)
    case.share = 0.0
    if not ready and find_modes(case, True) != SETTLED:
        return _lost(trail, "no operating point was found with the followed load switched off")
    if _starved(trail, case):
        return trail
    here = _Point(case.system)
    for _ in range(_LONGEST):
        if _finish(case, here, limit):
            trail.share = limit
            return trail
        trail.share = here.share
        lead, slope = _lead(case.system, limit)
        taken = None
        start = _given(case, lead)
        for fall in _FALLS:
            if lead is None:
                target = start + (limit - start) * fall / _FALLS[0]
            else:
                # No further than the limit, by the tangent.
                target = start * (1.0 - min(fall, 1.02 * (limit - here.share) * -slope / start))
            taken = _step(case, here, lead, target, slope)
            if taken is not None:
                break
        if taken is None:
            return _lost(trail, "the operating point was lost between two loads without a fold in sight")
        there, beyond_fold = taken
        if beyond_fold and not wrong_modes(case):
            top = _top(case, here, there, lead)
            if top is None:
                return _lost(trail, "the fold was seen but could not be closed in on")
            there = top
        if wrong_modes(case):
            there = _at_limit(case, here, there, lead)
            if there.share < limit:
                changed, ended = _change(case, there)
                if ended:
                    return _fold(trail, case)
                if changed is None:
                    return _lost(trail, "an output found no consistent mode on the way")
                here = changed
                continue
        elif beyond_fold and there.share < limit:
            return _fold(trail, case)
        if there.share >= limit:
            if _settle_between(case, here, there, lead, limit):
                trail.share = limit
                return trail
            return _lost(trail, "the full load lies before the fold, but no operating point was found there")
        here = there
    return _lost(trail, "the load could not be followed to its end in a bounded number of steps")


def _starved(trail: Trail, case: Case) -> bool:
    """Tell whether nothing is left for the load before any of it is drawn, and name the consumers that stand there: a fold at a share of nothing.

    Current loads may ask for more than a limited source gives: their voltage is gone, and so is that of the power beside them.
    """
    ports = [(element, case.system.across(a, b, emf)) for a, b, emf, element in _ports(case.system)]
    gone = sorted((element, u) for element, u in ports if element in case.followed and u <= ALIVE * case.scale)
    trail.found = bool(gone)
    trail.elements = tuple([element for element, _ in gone])
    trail.volts = tuple([u for _, u in gone])
    return trail.found


def _lost(trail: Trail, reason: str) -> Trail:
    trail.failed = True
    trail.reason = reason
    return trail


def _ports(system: System) -> list[Port]:
    """Wherever constant power is drawn."""
    loads = system.plan.loads
    found = [
        (loads.a[k], loads.b[k], system.load_emf[k], system.reading.load_elements[k])
        for k, (steady, followed) in enumerate(zip(system.loads_steady, system.loads_followed, strict=True))
        if (steady or followed) and loads.a[k] != loads.b[k]
    ]
    for k, pair in enumerate(system.reading.pairs):
        plus, minus = system.plan.pairs[k][:2]
        emf = system.offset[plus] - system.offset[minus] if system.offset is not None else 0.0
        a, b = system.plan.group[plus], system.plan.group[minus]
        if pair.scaled and a != b:
            found.append((a, b, emf, pair.element))
    return found


def _given(case: Case, lead: Lead) -> float:
    """The present value of what a step is led by."""
    return case.share if lead is None else case.system.across(*lead[:3])


def _tangent(system: System) -> tuple[bool, list[float]]:
    """Whether the point is on the branch that goes back to zero load, and the change of all unknowns with the share."""
    system.residual()
    good = system.factor()
    try:
        return good, system.solve(system.share_slope())
    except ZeroDivisionError:
        return False, []


def _lead(system: System, limit: float) -> tuple[Lead, float]:
    """The port whose voltage falls fastest with the share, in proportion, and how fast [V per share]."""
    _, tangent = _tangent(system)
    best: Lead = None
    steepest = -_FLAT / max(limit - system.share, 1e-3 * limit)
    slope = 1.0
    for port in _ports(system) if tangent else ():
        rate = tangent[port[0]] - tangent[port[1]]
        u = system.across(*port[:3])
        if u > 0 and rate / u < steepest:
            best, steepest, slope = port, rate / u, rate
    return best, slope


def _correct(case: Case, lead: Lead, target: float) -> bool:
    """Solve for all voltages and the share with the port's voltage given, or for the voltages with the share given."""
    system = case.system
    if lead is None:
        case.follow_to(target)
        return settle(system) == SETTLED and case.upright()
    a, b, emf, _ = lead
    scale = scale_of(system)
    last = float("inf")
    try:
        for tries in range(40):
            right = system.residual()
            system.factor()
            change = system.solve(right)
            along = system.solve(system.share_slope())
            more = (target - system.across(a, b, emf) - (change[a] - change[b])) / (along[a] - along[b])
            change = [x + more * y for x, y in zip(change, along, strict=True)]
            largest = max(map(abs, change))
            if not largest < 1e3 * scale or not abs(more) < 1e9:
                return False
            system.move(change)
            case.follow_to(system.share + more)
            if not case.upright():
                return False
            settled = all(curve.settled for curve in system.curves)
            if settled and largest <= 1e-9 * scale and (largest <= 1e-15 * scale or largest > 0.3 * last or tries > 30):
                return True
            last = largest
    except (ZeroDivisionError, OverflowError):
        return False
    return False


def _step(case: Case, here: _Point, lead: Lead, target: float, slope: float) -> tuple[_Point, bool] | None:
    """One step along the branch: the new point, and whether it lies beyond the fold; None where the step did not succeed."""
    here.restore(case)
    if lead is not None:
        system = case.system
        _, tangent = _tangent(system)
        more = (target - _given(case, lead)) / slope
        system.move([more * t for t in tangent])
        case.follow_to(here.share + more)
    if not (case.upright() and _correct(case, lead, target)):
        return None
    good, tangent = _tangent(case.system)
    rising = lead is None or not tangent or tangent[lead[0]] - tangent[lead[1]] < 0
    if rising and not good:
        return None  # another branch, or two folds at once: a shorter step will tell
    return _Point(case.system), not rising


def _try(case: Case, here: _Point, there: _Point | None, lead: Lead, target: float) -> float | None:
    """Go to a given target near `here`, or between it and `there`; returns d(share)/dU there, None where it cannot be reached."""
    if there is None or not _correct_between(case, here, there, lead, target):
        here.restore(case)
        if not _correct(case, lead, target):
            return None
    if lead is None:
        return 0.0
    _, tangent = _tangent(case.system)
    rate = tangent[lead[0]] - tangent[lead[1]] if tangent else 0.0
    return 1.0 / rate if rate else 0.0


def _correct_between(case: Case, here: _Point, there: _Point, lead: Lead, target: float) -> bool:
    """Start from a straight line between two points of one system."""
    there.restore(case)
    end = _given(case, lead)
    here.restore(case)
    start = _given(case, lead)
    if start == end:
        return False
    part = (target - start) / (end - start)
    case.system.high = [x + part * (y - x) for x, y in zip(here.high, there.high, strict=True)]
    case.system.low = [0.0] * len(here.low)
    case.follow_to(here.share + part * (there.share - here.share))
    return case.upright() and _correct(case, lead, target)


def _top(case: Case, here: _Point, there: _Point, lead: Lead) -> _Point | None:
    """The point where the share stops rising, between two points of the branch; the case is left there."""
    there.restore(case)
    beyond = _given(case, lead)
    right = _try(case, there, None, lead, beyond)
    here.restore(case)
    before = _given(case, lead)
    left = _try(case, here, None, lead, before)
    if left is None or right is None:
        return None
    best: _Point | None = None
    side = 0
    for _ in range(80):
        target = (before * right - beyond * left) / (right - left) if right > left else beyond
        target = target if beyond < target < before else 0.5 * (before + beyond)
        value = _try(case, here, there, lead, target)
        if value is None:
            break
        point = _Point(case.system)
        if best is None or point.share >= best.share:
            best = point
        if value < 0:
            before, left, here = target, value, point
            right *= 0.5 if side < 0 else 1.0
            side = -1
        else:
            beyond, right, there = target, value, point
            left *= 0.5 if side > 0 else 1.0
            side = 1
        if before - beyond <= _NARROW * before or abs(value) * before <= _NARROW * point.share:
            break
    if best is not None:
        best.restore(case)
    return best


def _at_limit(case: Case, here: _Point, there: _Point, lead: Lead) -> _Point:
    """The point between two points at which an output has just run into a limit."""
    there.restore(case)
    beyond, over = _given(case, lead), excess(case) - _JUST_OVER
    here.restore(case)
    before, under = _given(case, lead), excess(case) - _JUST_OVER
    side = same = 0
    far = over  # the excess itself: `over` is weighted down while only the near end moves
    for _ in range(120):
        if far <= _JUST_OVER or abs(before - beyond) <= 1e-15 * abs(before):
            break
        target = before + (beyond - before) * (under / (under - over) if under < over else 0.5)
        if same >= 2 or not min(before, beyond) < target < max(before, beyond):
            target = 0.5 * (before + beyond)  # also where the excess is flat on one side, as at a limit that is not this one's
        if _try(case, here, there, lead, target) is None:
            break
        value = excess(case)
        moved = 1 if value > 1.0 else -1
        same = same + 1 if moved == side else 0
        if moved > 0:
            beyond, over, there = target, value - _JUST_OVER, _Point(case.system)
            far = over
            under *= 0.5 if side > 0 else 1.0
        else:
            before, under, here = target, value - _JUST_OVER, _Point(case.system)
            over *= 0.5 if side < 0 else 1.0
        side = moved
    return there


def _change(case: Case, there: _Point) -> tuple[_Point | None, bool]:
    """Go over to new modes at a point at which an output has run into a limit.

    Returns the point in the new modes, if there is one, and whether the operating point ends there.
    """
    there.restore(case)
    wrong = wrong_modes(case)
    old = case.system
    share = case.share
    for _ in range(8 + 4 * len(case.modes)):
        case.modes.update(wrong)
        case.build()
        case.load()
        case.carry(old)
        case.follow_to(share)
        case.system.pairs_on = bool(case.system.plan.pairs)
        if settle(case.system) != SETTLED or not case.upright():
            there.restore(case)
            return there, True
        wrong = wrong_modes(case)
        if not wrong:
            return _Point(case.system), False
    return None, False


def _finish(case: Case, here: _Point, limit: float) -> bool:
    """Try to go straight to the limit."""
    here.restore(case)
    case.follow_to(limit)
    if settle(case.system) == SETTLED and case.upright() and not wrong_modes(case):
        return True
    here.restore(case)
    return False


def _settle_between(case: Case, here: _Point, there: _Point, lead: Lead, limit: float) -> bool:
    """Find the point of exactly the limit's share between two points of the branch."""
    there.restore(case)
    beyond = _given(case, lead)
    here.restore(case)
    before = _given(case, lead)
    for _ in range(60):
        here.restore(case)
        case.follow_to(limit)
        if settle(case.system) == SETTLED and case.upright():
            return not wrong_modes(case)
        share = (limit - here.share) / (there.share - here.share) if there.share > here.share else 0.5
        target = before + (beyond - before) * min(max(share, 0.1), 0.9)
        if _try(case, here, there, lead, target) is None:
            return False
        if case.share <= limit:
            here, before = _Point(case.system), target
        else:
            there, beyond = _Point(case.system), target
    return False


def _fold(trail: Trail, case: Case) -> Trail:
    """Name the consumers whose voltage falls away where the case stands."""
    trail.found = True
    trail.share = case.share
    system = case.system
    _, tangent = _tangent(system)
    falls: list[tuple[float, int, float]] = []
    for a, b, emf, element in _ports(system):
        u = system.across(a, b, emf)
        falls.append((abs(tangent[a] - tangent[b]) / u if tangent else 1.0, element, u))
    if falls:
        worst = max(falls)[0]
        falls = sorted([f for f in falls if f[0] >= 0.5 * worst], key=lambda f: (-f[0], f[1]))
        trail.elements = tuple([f[1] for f in falls])
        trail.volts = tuple([f[2] for f in falls])
    return trail
