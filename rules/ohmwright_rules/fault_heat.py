"""The shorts that each conductor has to bear until the device before it opens: from the weakest to the largest, and their heat."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.protection.walking import Walk
from ohmwright.references import Reference, Step
from ohmwright.study import Study
from ohmwright_grammar.kinds.fuse import Fuse
from ohmwright_grammar.records import record

from ohmwright_rules.faults import Fault, Setting, faults_of
from ohmwright_rules.guarding import device_word, rating_of
from ohmwright_rules.kept import kept
from ohmwright_rules.missing import Missing
from ohmwright_rules.opening import Curve, curve_of
from ohmwright_rules.withstand import LONGEST

__all__ = ["Exposed", "Heat", "exposures_of", "heat_of"]

_MOST_DEVICES = 3  # of those whose shorts return through one conductor the largest are looked at
_SLACK = 1e-9


@record
class Exposed:
    """A conductor that a short passes until a device opens: between a weakest and a largest current [A]; `unsaid` would bound the largest."""

    wire: Branch
    device: Branch
    least: float
    most: float
    fault: Fault  # the weakest one
    unsaid: Missing | None = None


@record
class Heat:
    """The largest heat that a device lets through over a range of currents [A2s], at which current [A] and after what time [s, None for a let-through]."""

    value: float
    ampere: float
    second: float | None
    step: Step
    reference: Reference


def exposures_of(study: Study) -> tuple[Exposed, ...]:
    """Return every conductor behind a device with the shorts that pass it, worked out once; one for each device that counts."""
    return kept(study, _exposures)


def _exposures(study: Study) -> tuple[Exposed, ...]:
    found: dict[tuple[str, str], Exposed] = {}
    for setting in faults_of(study).settings:
        for item in (*_live(setting), *_returns(study, setting)):
            key = (item.wire.name, item.device.name)
            known = found.get(key)
            if known is None:
                found[key] = item
            elif item.least < known.least or item.most > known.most:
                weaker = item if item.least < known.least else known
                stronger = item if item.most > known.most else known
                found[key] = Exposed(item.wire, item.device, weaker.least, stronger.most, weaker.fault, stronger.unsaid)
    return tuple(found[key] for key in sorted(found))


def _foot(walk: Walk) -> str:
    return walk.pole.source.plus if walk.pole.backwards else walk.pole.source.minus


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
    largest = setting.largest((entry, _foot(walk)) for walk, _, entry, _, _ in wanted)
    for walk, branch, entry, device, fault in wanted:
        most = max(largest[entry, _foot(walk)], fault.total)
        yield Exposed(branch, device, fault.total, most, fault, setting.silent_battery(walk))


def _returns(study: Study, setting: Setting) -> Iterator[Exposed]:
    """Yield the conductors of the return side, for the largest devices whose shorts come back through them."""
    faults = [fault for fault in setting.all if setting.ends.carries_all(fault.device)]
    largest = setting.largest((fault.end.place.node, _foot(fault.end.walk)) for fault in faults)
    at: dict[int, dict[str, tuple[Fault, float]]] = {}
    for fault in faults:
        most = max(largest[fault.end.place.node, _foot(fault.end.walk)], fault.total)
        _keep(at.setdefault(setting.ends.ways.cluster[fault.end.place.back], {}), fault, most)
    for cluster, branch, toward in setting.ends.return_tree():
        known = at.pop(cluster, {})
        if len(known) > _MOST_DEVICES:
            ranked = sorted(known.items(), key=lambda item: (-(rating_of(study, item[1][0].device) or 0.0), item[0]))
            known = dict(ranked[:_MOST_DEVICES])
        for fault, most in known.values() if branch is not None else ():
            if branch is not None and branch.conductor is not None:
                yield Exposed(branch, fault.device, fault.total, most, fault, setting.silent_battery(fault.end.walk))
            _keep(at.setdefault(toward, {}), fault, most)


def _keep(known: dict[str, tuple[Fault, float]], fault: Fault, most: float) -> None:
    """Keep the weakest short of a device, and its largest current."""
    old = known.get(fault.device.name)
    weaker = fault if old is None or fault.total < old[0].total else old[0]
    known[fault.device.name] = (weaker, most if old is None else max(most, old[1]))


def heat_of(part: Fuse, rating: float | None, least: float, most: float) -> Heat | str:
    """Return the largest heat that a device lets through between two currents [A], within 5 s; else why there is none.

    That is "slow" where no current opens it within 5 s, or "unknown" where neither a curve nor a let-through tells. With a let-through alone only the largest
    current is looked at.
    """
    curve = curve_of(part, rating)
    said = max((float(item.let_through.high) for item in part.let_through or ()), default=None)
    candidates: list[Heat] = []
    if said is not None:
        step = Step("I2t", f"let-through of {part.name}", said, "A2s", "as declared")
        candidates.append(Heat(said, most, None, step, Reference("let-through of the device", "", "as declared", "read")))
    if curve is not None:
        candidates.extend(_of_curve(part, curve, least, most, said is not None))
    if candidates:
        return max(candidates, key=lambda heat: heat.value)
    return "unknown" if curve is None else "slow"


def _of_curve(part: Fuse, curve: Curve, least: float, most: float, told: bool) -> Iterable[Heat]:
    """Yield the heat at the ends of a range and at the points of a curve between; what lies beyond the last point is left to a let-through that is told."""
    from_five = curve.current_at(LONGEST)
    if from_five is None or from_five > most * (1 + _SLACK):
        return
    last = curve.points[-1].ampere
    end = min(most, max(last, least)) if told or not curve.mechanical else most
    for ampere in curve.between(max(least, from_five), max(end, least, from_five)):
        second = curve.time(ampere)
        if second is None or second > LONGEST * (1 + 1e-6):
            continue
        word = device_word(part)
        step = Step(
            "I2t",
            f"{ampere:.4g}^2 x {second:.3g} s, longest time of this {word}",
            ampere**2 * second,
            "A2s",
            str(curve.reference),
        )
        yield Heat(ampere**2 * second, ampere, second, step, curve.reference)
