"""The shorts that each conductor has to bear until the device before it opens: from the weakest to the largest, and their heat."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise

from ohmwright.circuit.graph import Branch
from ohmwright.missing import Missing
from ohmwright.protection.walking import Walk
from ohmwright.references import Reference, Step
from ohmwright.study import Study
from ohmwright_grammar.kinds.fuse import Fuse
from ohmwright_grammar.records import record, replace

from ohmwright_rules.faults import Fault, Setting, faults_of
from ohmwright_rules.guarding import device_word, rating_of
from ohmwright_rules.kept import kept
from ohmwright_rules.opening import Curve, curve_of
from ohmwright_rules.withstand import LONGEST

__all__ = ["Exposed", "Heat", "exposures_of", "heat_of"]

_MOST_DEVICES = 3  # of those whose shorts return through one conductor the largest are looked at
_SLACK = 1e-9
_HALVINGS = 40


@record
class _Way:
    """How a short comes to a conductor: the walk from a battery, as far as a cluster or, on the return side, as a device on it."""

    setting: Setting
    walk: Walk
    cluster: int
    until: str = ""

    def devices(self) -> dict[str, Branch]:
        """Return the devices on it that carry all of the short, by name."""
        ends = self.setting.ends
        found: dict[str, Branch] = {}
        for edge, _ in self.walk.way(self.cluster):
            branch = ends.ways.branches[edge]
            if not isinstance(branch, Branch) or not branch.device:
                continue
            if branch.name == self.until:
                break
            if ends.carries_all(branch):
                found[branch.name] = branch
        return found


@record
class Exposed:
    """A conductor that a short passes until a device opens: between a weakest and a largest current [A]; `unsaid` would bound the largest."""

    wire: Branch
    device: Branch
    least: float
    most: float
    fault: Fault  # the weakest one
    unsaid: Missing | None = None
    ways: tuple[_Way, ...] = ()

    @property
    def in_series(self) -> tuple[Branch, ...]:
        """The other devices that the whole of every such short passes."""
        found = [way.devices() for way in self.ways]
        first = found[0] if found else {}
        return tuple(
            branch for name, branch in first.items() if name != self.device.name and all(name in others for others in found[1:])
        )


@record
class Heat:
    """The largest heat that a device lets through over a range of currents [A2s], at which current [A] and after what time [s, None for a let-through]."""

    value: float
    ampere: float
    second: float | None
    step: Step
    reference: Reference
    by: Fuse  # the device that opens


def exposures_of(study: Study) -> tuple[Exposed, ...]:
    """Return every conductor behind a device with the shorts that pass it, worked out once; one for each device that counts."""
    return kept(study, _exposures)


def _exposures(study: Study) -> tuple[Exposed, ...]:
    found: dict[tuple[str, str], Exposed] = {}
    ways: dict[tuple[str, str], dict[_Way, None]] = {}
    for setting in faults_of(study).every:
        for item in (*_live(setting), *_returns(study, setting)):
            key = (item.wire.name, item.device.name)
            known = found.get(key)
            ways.setdefault(key, {}).update(dict.fromkeys(item.ways))
            if known is None:
                found[key] = item
            elif item.least < known.least or item.most > known.most:
                weaker = item if item.least < known.least else known
                stronger = item if item.most > known.most else known
                found[key] = Exposed(item.wire, item.device, weaker.least, stronger.most, weaker.fault, stronger.unsaid)
    return tuple(replace(found[key], ways=tuple(ways[key])) for key in sorted(found))


def _live(setting: Setting) -> Iterator[Exposed]:
    """Yield the live conductors behind a device: the weakest short beyond them before the next device, the largest at their near end."""
    ends, ways = setting.ends, setting.ends.ways
    weakest: dict[tuple[int, int], Fault] = {}
    for fault in setting.all:
        key = (id(fault.end.walk), fault.end.cluster)
        if key not in weakest or fault.total < weakest[key].total:
            weakest[key] = fault
    wanted: list[tuple[Walk, Branch, str, Branch, Fault]] = []
    for walk in ends.walks:
        beyond: dict[int, Fault] = {}
        for here in reversed(walk.tree):
            found = [fault for fault in (beyond.get(here), weakest.get((id(walk), here))) if fault is not None]
            edge, before = walk.came_by(here), walk.before(here)
            if not found or edge < 0:
                continue
            known = min(found, key=lambda fault: fault.total)
            branch = ways.branches[edge]
            if isinstance(branch, Branch) and branch.device:
                continue
            if before not in beyond or known.total < beyond[before].total:
                beyond[before] = known
            number = walk.smallest(here)
            if isinstance(branch, Branch) and branch.conductor is not None and number >= 0:
                entry = branch.start if ways.cluster[branch.start] == before else branch.end
                wanted.append((walk, branch, entry, ways.wire(number), known))
    largest = setting.largest((entry, fault.end.place.back) for _, _, entry, _, fault in wanted)
    for walk, branch, entry, device, fault in wanted:
        most = max(largest[entry, fault.end.place.back], fault.total)
        way = _Way(setting, walk, ends.ways.cluster[entry])
        yield Exposed(branch, device, fault.total, most, fault, setting.silent_battery(walk), (way,))


def _returns(study: Study, setting: Setting) -> Iterator[Exposed]:
    """Yield the conductors of the return side, for the largest devices whose shorts come back through them."""
    faults = [fault for fault in setting.all if setting.ends.carries_all(fault.device)]
    largest = setting.largest((fault.end.place.node, fault.end.place.back) for fault in faults)
    at: dict[int, dict[str, tuple[Fault, float]]] = {}
    for fault in faults:
        most = max(largest[fault.end.place.node, fault.end.place.back], fault.total)
        _keep(at.setdefault(setting.ends.ways.cluster[fault.end.place.back], {}), fault, most)
    for cluster, branch, toward in setting.ends.return_tree():
        known = at.pop(cluster, {})
        if len(known) > _MOST_DEVICES:
            ranked = sorted(known.items(), key=lambda item: (-(rating_of(study, item[1][0].device) or 0.0), item[0]))
            known = dict(ranked[:_MOST_DEVICES])
        for fault, most in known.values() if branch is not None else ():
            if branch is not None and branch.conductor is not None:
                walk = fault.end.walk
                way = _Way(setting, walk, fault.end.cluster, fault.device.name)
                yield Exposed(branch, fault.device, fault.total, most, fault, setting.silent_battery(walk), (way,))
            _keep(at.setdefault(toward, {}), fault, most)


def _keep(known: dict[str, tuple[Fault, float]], fault: Fault, most: float) -> None:
    """Keep the weakest short of a device, and its largest current."""
    old = known.get(fault.device.name)
    weaker = fault if old is None or fault.total < old[0].total else old[0]
    known[fault.device.name] = (weaker, most if old is None else max(most, old[1]))


def heat_of(
    part: Fuse, rating: float | None, least: float, most: float, others: Sequence[tuple[Fuse, float | None]] = ()
) -> Heat | str:
    """Return the largest heat that a device lets through between two currents [A], within 5 s; else why there is none.

    That is "slow" where no current opens it within 5 s, or "unknown" where neither a curve nor a let-through tells. With a let-through alone only the largest
    current is looked at. Of `others` in series with it, each with its rating, the one that lets the least through at a current counts there.
    """
    own = _device(part, rating)
    beside = [_device(other, its) for other, its in others]
    candidates: list[Heat] = []
    if own.said is not None:
        candidates.append(_at_most(own, most))
    if own.curve is not None:
        candidates.extend(_of_curve(own, own.curve, beside, least, most))
    if candidates:
        return max((_least_heat(heat, beside, most) for heat in candidates), key=lambda heat: heat.value)
    return "unknown" if own.curve is None else "slow"


@record
class _Device:
    """A device with its curve and its declared let-through [A2s], as far as they are known."""

    part: Fuse
    curve: Curve | None
    said: float | None

    @property
    def last(self) -> float:
        """The current up to which its curve tells [A]: beyond it a let-through does, or the nature of the device."""
        return self.curve.points[-1].ampere if self.curve is not None else 0.0

    def heat(self, ampere: float, most: float) -> Heat | None:
        """Return what it lets through at a current [A]; None where that is not known, or takes over 5 s."""
        beyond = ampere > self.last * (1 + _SLACK)
        if self.said is not None and (beyond if self.curve is not None else ampere >= most * (1 - _SLACK)):
            return _at_most(self, ampere)
        second = self.curve.time(ampere) if self.curve is not None else None
        if self.curve is None or second is None or second > LONGEST * (1 + 1e-6):
            return None
        word = device_word(self.part)
        expression = f"{ampere:.4g}^2 x {second:.3g} s, longest time of this {word}"
        step = Step("I2t", expression, ampere**2 * second, "A2s", str(self.curve.reference))
        return Heat(ampere**2 * second, ampere, second, step, self.curve.reference, self.part)


def _device(part: Fuse, rating: float | None) -> _Device:
    said = max((float(item.let_through.high) for item in part.let_through or ()), default=None)
    return _Device(part, curve_of(part, rating), said)


def _at_most(device: _Device, ampere: float) -> Heat:
    assert device.said is not None
    step = Step("I2t", f"let-through of {device.part.name}", device.said, "A2s", "as declared")
    reference = Reference("let-through of the device", "", "as declared", "read")
    return Heat(device.said, ampere, None, step, reference, device.part)


def _least_heat(heat: Heat, beside: Sequence[_Device], most: float) -> Heat:
    """Return the heat of the device that lets the least through at the current of a heat."""
    for other in beside:
        its = other.heat(heat.ampere, most)
        if its is not None and its.value < heat.value:
            heat = its
    return heat


def _of_curve(own: _Device, curve: Curve, beside: Sequence[_Device], least: float, most: float) -> Iterable[Heat]:
    """Yield the heat at the ends of a range and at the points of the curves between; what lies beyond the last point is left to a let-through that is told."""
    from_five = curve.current_at(LONGEST)
    if from_five is None or from_five > most * (1 + _SLACK):
        return
    end = min(most, max(own.last, least)) if own.said is not None or not curve.mechanical else most
    if beside and not curve.mechanical and own.said is None:
        end = (
            most  # beyond its last point a fuse lets the same heat through, and a device beside it may let through more or less
        )
    low, high = max(least, from_five), max(end, least, from_five)
    currents = set(curve.between(low, high))
    for other in beside:
        points = (point.ampere for point in (other.curve.points if other.curve is not None else ()))
        currents.update(ampere for point in points for ampere in (point * (1 - 1e-7), point) if low < ampere < high)
    if beside:
        currents.update(_crossings(own, beside, sorted(currents), most))
    for ampere in sorted(currents):
        heat = own.heat(ampere, most) if ampere <= end or curve.mechanical else None
        if heat is not None:
            yield heat


def _crossings(own: _Device, beside: Sequence[_Device], currents: Sequence[float], most: float) -> Iterator[float]:
    """Yield the currents at which two devices let the same heat through, between neighbouring ones: there the smaller of both is largest."""

    def apart(other: _Device, ampere: float) -> float | None:
        one, two = own.heat(ampere, most), other.heat(ampere, most)
        return None if one is None or two is None else one.value - two.value

    for other in beside:
        for low, high in pairwise(currents):
            at_low, at_high = apart(other, low), apart(other, high)
            if at_low is None or at_high is None or at_low * at_high >= 0:
                continue
            one, two = low, high
            for _ in range(_HALVINGS):
                middle = (one * two) ** 0.5
                found = apart(other, middle)
                if found is not None and found * at_low > 0:
                    one = middle
                else:
                    two = middle
            yield two
