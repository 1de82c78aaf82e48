"""Newton's method from zero load: the operating point that is continuous with it, or the verdict that there is none."""

from __future__ import annotations

from .system import System

__all__ = ["COLLAPSED", "LOST", "SETTLED", "balanced", "scale_of", "settle"]

SETTLED, COLLAPSED, LOST = "settled", "collapsed", "lost"

_STEPS = 80
_ROUGH = 1e-6  # share of the scale below which a step is refined with the factor at hand
_FINE = 1e-15
_GOOD = 1e-9
_EXACT = 1e-12
_LEAST_FALL = 0.4  # of a load's voltage, the least that one step leaves of it


def scale_of(system: System) -> float:
    """The largest voltage [V] in play, against which steps are judged."""
    largest = max(map(abs, system.high))
    if system.emf:
        largest = max(largest, max(map(abs, system.emf)))
    if system.offset:
        largest = max(largest, max(map(abs, system.offset)))
    return largest or 1.0


def settle(system: System, rough: bool = False) -> str:
    """Bring the potentials to the operating point at the system's share of the load, from where they are.

    `rough` is content with an error of about 1e-12, as a start for more.

    SETTLED: found, and on the branch that goes back to zero load. COLLAPSED: a pivot turned negative on the way, so that no operating
    point on that branch is likely. LOST: no convergence.
    """
    try:
        return _settle(system, rough)
    except (ZeroDivisionError, OverflowError):
        return LOST


def _settle(system: System, rough: bool) -> str:
    fresh = True
    straight = system.is_linear()
    last = float("inf")
    tries = 0
    largest = scale = 1.0
    for _ in range(_STEPS):
        right = system.residual()
        if fresh and not system.factor():
            return COLLAPSED
        change = system.solve(right)
        part = _bounded(system, change)
        system.move(change, part)
        largest = max(map(abs, change))
        scale = scale_of(system)
        if not largest < float("inf"):
            return LOST
        if rough and straight:
            return SETTLED
        if part < 1.0 or not all(curve.settled for curve in system.curves):
            fresh = True
            last = float("inf")
            continue
        if largest <= _FINE * scale or (rough and fresh and largest <= _ROUGH * scale):
            return SETTLED
        if largest <= _ROUGH * scale:
            tries += 1
            if (not fresh and largest > 0.3 * last) or tries > 8:
                good = largest <= _GOOD * scale
                return SETTLED if balanced(system, _GOOD if good else _EXACT) else LOST
            fresh = False
        else:
            fresh = not straight
        last = largest
    return SETTLED if largest < 1e-3 * scale and balanced(system, _EXACT) else LOST


def balanced(system: System, share: float = _GOOD) -> bool:
    """Whether the currents at every unknown cancel, to a share of the largest that flow.

    In a net of micro-ohms a small step is no proof; behind a blocking diode, where rounding moves a voltage, a large one is none.
    """
    left = system.residual()[: system.plan.size]
    linear = system.plan.linear
    flows = [g * (system.high[a] - system.high[b]) for a, b, g in zip(linear.a, linear.b, system.siemens, strict=True)]
    flows += system.inject
    curves = system.plan.curves
    for a, b, e, curve in zip(curves.a, curves.b, system.curve_emf, system.curves, strict=True):
        # At open circuit an array's own current flows round inside it.
        flows += (curve.linearise(system.across(a, b, e))[0], curve.photo)
    most = max(map(abs, flows), default=0.0)
    return not left or max(map(abs, left)) <= share * max(most, 1e-6)


def _bounded(system: System, change: list[float]) -> float:
    """The part of a step that leaves every load a fair share of its voltage."""
    part = 1.0
    plan = system.plan
    loads = plan.loads
    for a, b, e, steady, followed in zip(
        loads.a, loads.b, system.load_emf, system.loads_steady, system.loads_followed, strict=True
    ):
        if steady + system.share * followed:
            fall = change[b] - change[a]
            if fall > 0:
                u = system.across(a, b, e)
                if fall > (1.0 - _LEAST_FALL) * u:
                    part = min(part, (1.0 - _LEAST_FALL) * u / fall)
    if system.pairs_on:
        for k, (pair, (in_plus, in_minus, _, _)) in enumerate(zip(system.reading.pairs, plan.pairs, strict=True)):
            if not pair.power or not system.pair_scale(k):
                continue
            a, b = plan.group[in_plus], plan.group[in_minus]
            fall = change[b] - change[a]
            if fall > 0:
                u = system.volt(in_plus, in_minus)
                if 0 < (1.0 - _LEAST_FALL) * u < fall:
                    part = min(part, (1.0 - _LEAST_FALL) * u / fall)
    return part
