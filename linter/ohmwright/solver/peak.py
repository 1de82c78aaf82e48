"""The largest power that a peak-tracking controller finds at its own input terminals."""

from __future__ import annotations

from .case import Case, Plans
from .elements import Array, CurrentSource, Element, Network, Tracker
from .newton import SETTLED
from .photovoltaic import peak
from .reading import Peak
from .supply import reach

__all__ = ["find_peak"]

_SINK = "\x00input"
_OUTPUT = "\x00output"
_STEPS = 60


def find_peak(network: Network, index: int, plans: Plans, giving: float = 0.0) -> tuple[Peak, bool]:
    """The peak at the input of the tracker `index`, and whether it depends on what the tracker gives at its output.

    Followed from open circuit towards more current: where the curve has several peaks, the one of the highest voltage. Other trackers in
    the same loop share it in equal parts. `giving` is the current [A] out of the tracker, for the case that a return is shared.
    """
    tracker = network.elements[index]
    assert isinstance(tracker, Tracker)
    around, coupled = reach(network, index)
    others = 1
    parts: list[Element] = []
    photo = 0.0
    for k in around:
        element = network.elements[k]
        if isinstance(element, Tracker):
            others += 1
            continue
        parts.append(element)
        if isinstance(element, Array):
            photo += element.photo
    if not parts:
        return Peak(0.0, 0.0), False
    if others == 1 and not coupled and len(parts) == 1:
        alone = parts[0]
        if isinstance(alone, Array) and (alone.plus, alone.minus) == (tracker.in_plus, tracker.in_minus):
            return Peak(*peak(alone)), False
    if coupled:
        parts.append(CurrentSource(_OUTPUT, tracker.out_plus, tracker.out_minus, giving))
    sink = CurrentSource(_SINK, tracker.in_minus, tracker.in_plus, 0.0)
    case = Case(Network(network.nodes, (*parts, sink), network.references), plans)
    need = 1.001 * tracker.volt * tracker.ampere / tracker.efficiency
    found = _search(case, tracker, photo, need)
    return Peak(found.volt, found.ampere / others), coupled


def _search(case: Case, tracker: Tracker, photo: float, need: float) -> Peak:
    """Find where d(U I)/dI = 0 between no current and too much, by Newton's steps kept inside the bracket."""
    volt, fall, bend = _probe(case, tracker, 0.0)
    if volt <= 0:
        return Peak(0.0, 0.0)
    least, most = 0.0, float("inf")
    ampere = 0.9 * photo if photo else (volt / (-2.0 * fall) if fall < 0 else need / volt)
    best = Peak(volt, 0.0)
    for _ in range(_STEPS):
        volt, fall, bend = _probe(case, tracker, ampere)
        rise = volt + ampere * fall  # of the power with the current
        if volt <= 0 or rise < 0:
            most = ampere
        else:
            least = ampere
        if volt > 0:
            best = Peak(volt, ampere)
            if best.watt >= need:
                break
        curve = 2.0 * fall + ampere * bend
        step = -rise / curve if curve < 0 and volt > 0 else 0.0
        if step and abs(step) <= 1e-13 * ampere:
            break
        target = ampere + step
        if not step or not least < target < most:
            target = 0.5 * (least + most) if most < float("inf") else 2.0 * ampere
            if most - least <= 1e-14 * most:
                break
        ampere = target
    return best


def _probe(case: Case, tracker: Tracker, ampere: float) -> tuple[float, float, float]:
    """Voltage at the input at a current drawn there, and its first and second derivative by that current."""
    from .modes import find_modes, first_modes

    elements = case.network.elements
    sink = CurrentSource(_SINK, tracker.in_minus, tracker.in_plus, ampere)
    case.network = Network(case.network.nodes, (*elements[:-1], sink), case.network.references)
    if not case.modes:
        first_modes(case)
    if find_modes(case, True) != SETTLED:
        return 0.0, 0.0, 0.0
    system = case.system
    plan = system.plan
    p, m = plan.group[tracker.in_plus], plan.group[tracker.in_minus]
    right = [0.0] * (plan.size + 2)
    right[p] -= 1.0
    right[m] += 1.0
    system.residual()
    if not system.factor():
        return 0.0, 0.0, 0.0
    change = system.solve(right)
    bend = 0.0
    for a, b, e, curve in zip(plan.curves.a, plan.curves.b, system.curve_emf, system.curves, strict=True):
        along = change[a] - change[b]
        bend += curve.bend(system.across(a, b, e)) * along**3
    loads = plan.loads
    for a, b, e, watt in zip(loads.a, loads.b, system.load_emf, system.loads_steady, strict=True):
        if watt:
            along = change[a] - change[b]
            bend += 2.0 * watt / system.across(a, b, e) ** 3 * along**3
    return system.volt(tracker.in_plus, tracker.in_minus), change[p] - change[m], bend
