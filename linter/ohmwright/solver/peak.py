"""The largest power that a peak-tracking controller finds at its own input terminals."""

from __future__ import annotations

from ohmwright_grammar.records import replace

from .case import Case, Plans
from .elements import Array, CurrentSource, Element, Network, Resistor, Tracker
from .modes import find_modes, first_modes
from .newton import SETTLED, settle
from .photovoltaic import peak
from .reading import Peak, check_tracker
from .supply import Loops, feeding, reach

__all__ = ["Peaks"]

_SINK = "\x00input"
_OUTPUT = "\x00output"
_STEPS = 60
_KEPT = 512


class Peaks:
    """Finds peaks, and keeps those of the array sides that it met; the oldest go when there are too many."""

    __slots__ = ("_found", "_plans")

    def __init__(self, plans: Plans) -> None:
        self._plans = plans
        self._found: dict[object, Peak] = {}

    def find(self, network: Network, index: int, loops: Loops, giving: float = 0.0) -> tuple[Peak, bool]:
        """The peak at the input of the tracker `index`, and whether it depends on what the tracker gives at its output.

        Followed from open circuit towards more current: where the curve has several peaks, the one of the highest voltage. Other
        trackers in the same loop share it in equal parts. `giving` is the current [A] out of the tracker, for the case that a
        return is shared.
        """
        tracker = network.elements[index]
        assert isinstance(tracker, Tracker)
        check_tracker(tracker)
        around, coupled = reach(loops, index)
        parts = [network.elements[k] for k in around]
        sharing = 1 + sum(isinstance(e, Tracker) for e in parts)
        parts = [e for e in parts if not isinstance(e, Tracker)]
        if coupled:
            parts.append(CurrentSource(_OUTPUT, tracker.out_plus, tracker.out_minus, giving))
        key = (tuple(parts), tracker.in_plus, tracker.in_minus, tracker.volt, tracker.ampere, tracker.efficiency)
        found = self._found.get(key)
        if found is None:
            found = _alone(parts, tracker) or self._search(network, parts, tracker)
            while len(self._found) >= _KEPT:
                del self._found[next(iter(self._found))]
            self._found[key] = found
        return Peak(found.volt, found.ampere / sharing), coupled

    def _search(self, network: Network, parts: list[Element], tracker: Tracker) -> Peak:
        """Find where d(U I)/dI = 0 between no current and too much, by Newton's steps kept inside the bracket."""
        if not parts:
            return Peak(0.0, 0.0)
        probe = _Probe(Network(network.nodes, tuple(parts), network.references), tracker, self._plans)
        need = 1.001 * tracker.volt * tracker.ampere / tracker.efficiency
        volt, fall, bend = probe.at(0.0)
        if volt <= 0:
            return Peak(0.0, 0.0)
        least, most = 0.0, float("inf")
        photo = sum([e.photo for e in parts if isinstance(e, Array)])
        ampere = 0.9 * photo if photo else (volt / (-2.0 * fall) if fall < 0 else need / volt)
        best = Peak(volt, 0.0)
        for _ in range(_STEPS):
            volt, fall, bend = probe.at(ampere)
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


def _alone(parts: list[Element], tracker: Tracker) -> Peak | None:
    """The peak of one array behind plain leads, which adds to its own series resistance; None for anything else."""
    arrays = [e for e in parts if isinstance(e, Array)]
    leads = [e for e in parts if isinstance(e, Resistor)]
    if len(arrays) != 1 or len(leads) + 1 != len(parts):
        return None
    array = arrays[0]
    ends = [array.plus, array.minus, tracker.in_plus, tracker.in_minus]
    for lead in leads:
        ends += (lead.a, lead.b)
    if any(ends.count(v) != 2 for v in ends):
        return None  # not one loop
    at = array.plus
    for _ in leads:
        if at in (tracker.in_plus, tracker.in_minus):
            break
        lead = next(e for e in leads if at in (e.a, e.b))
        leads = [e for e in leads if e is not lead]
        at = lead.b if at == lead.a else lead.a
    if at != tracker.in_plus:
        return Peak(0.0, 0.0) if at == tracker.in_minus else None
    ohm = sum([e.ohm for e in parts if isinstance(e, Resistor)])
    volt, ampere = peak(replace(array, series=array.series + ohm))
    return Peak(volt, ampere)


class _Probe:
    """An array side with a current drawn at the tracker's input."""

    __slots__ = ("_case", "_tracker")

    def __init__(self, network: Network, tracker: Tracker, plans: Plans) -> None:
        sink = CurrentSource(_SINK, tracker.in_minus, tracker.in_plus, 0.0)
        self._tracker = tracker
        self._case = Case(Network(network.nodes, (*network.elements, sink), network.references), plans)
        first_modes(self._case, feeding(self._case.network))

    def at(self, ampere: float) -> tuple[float, float, float]:
        """Voltage at the input at a current drawn there [A], and its first and second derivative by that current; 0 where it breaks down."""
        try:
            return self._bent() if self._settle(ampere) and self._factored() else (0.0, 0.0, 0.0)
        except OverflowError:
            return 0.0, 0.0, 0.0  # a bend beyond all numbers

    def _bent(self) -> tuple[float, float, float]:
        case = self._case
        tracker = self._tracker
        system = case.system
        plan = system.plan
        p, m = plan.group[tracker.in_plus], plan.group[tracker.in_minus]
        right = [0.0] * (plan.size + 2)
        right[p] -= 1.0
        right[m] += 1.0
        change = system.solve(right)
        bend = 0.0
        for a, b, e, curve in zip(plan.curves.a, plan.curves.b, system.curve_emf, system.curves, strict=True):
            bend += curve.bend(system.across(a, b, e)) * (change[a] - change[b]) ** 3
        loads = plan.loads
        for a, b, e, watt in zip(loads.a, loads.b, system.load_emf, system.loads_steady, strict=True):
            if watt:
                bend += 2.0 * watt / system.across(a, b, e) ** 3 * (change[a] - change[b]) ** 3
        return system.volt(tracker.in_plus, tracker.in_minus), change[p] - change[m], bend

    def _factored(self) -> bool:
        self._case.system.residual()
        return self._case.system.factor()

    def _settle(self, ampere: float) -> bool:
        case = self._case
        elements = case.network.elements
        sink = CurrentSource(_SINK, self._tracker.in_minus, self._tracker.in_plus, ampere)
        case.network = Network(case.network.nodes, (*elements[:-1], sink), case.network.references)
        plain = all(mode in ("on", "open") for mode in case.modes.values())
        if plain and case.loaded and _SINK in case.system.reading.feed_names:
            # Nothing but the current changes: go on from where the voltages are.
            case.system.feeds[case.system.reading.feed_names.index(_SINK)] = ampere
            case.system.fix_injections()
            if settle(case.system) == SETTLED and case.upright():
                return True
        return find_modes(case, True) == SETTLED
