"""A battery in parallel with others that has no fuse of its own."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.batteries import resistance_low, rest_voltage_of
from ohmwright.circuit.graph import Branch
from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.protection.poles import Pole
from ohmwright.protection.reaching import Protection
from ohmwright.protection.walking import Walk
from ohmwright.protection.ways import DEVICE, WIRE, Ways
from ohmwright.references import Reference, Step
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright.values import Amount, shown
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.records import record

from ohmwright_rules.conductors import said_of_missing
from ohmwright_rules.unfused import Unfused, distance_of, unfused
from ohmwright_rules.wording import counted_beyond, listed

RULE = Rule(
    id="unfused-pack",
    title="Parallel pack without a fuse of its own",
    family="protection",
    subject="battery",
    covers=("C7",),
    grades=(
        Grade("no-fuse", Severity.ERROR, "between a pack and what it shares with the packs beside it stands no device"),
    ),
    references=(
        Reference("33 CFR 183.455", "as on a law mirror, undated", "(a) and (b)", "read"),
        Reference("pages of installers, who differ", "", "seldom done in code work, but wise", "secondary"),
    ),
)  # fmt: skip
NUMBERS = ("fuse_distance", "fuse_distance_enclosed")
_GRADE = "no-fuse"
_FULL = 1.0


@record
class _Bare:
    """A way from a pack to one beside it on which no device is the pack's own: the conductors up to what both share, or up to the other pack."""

    other: Pole
    wires: tuple[Branch, ...]
    meets: str
    missing: Missing | None = None


def check(study: Study) -> Iterator[Outcome]:
    """Look from every battery towards those that lie in parallel with it."""
    batteries = sorted({source.name for source in study.circuit.sources if source.kind == "battery"})
    found = unfused(study)
    if found is None:
        for name in batteries if len(batteries) > 1 else ():
            yield NotChecked(_GRADE, (name,), "basis", study.span(name), declare=said_of_missing("basis"))
        return
    alone = 0
    for name in batteries:
        beside, bare = _look(study, found, name)
        if not beside:
            alone += 1
            continue
        certain = [way for way in bare if way.missing is None]
        if certain:
            yield _finding(study, found, name, beside, min(certain, key=lambda way: (len(way.wires), way.other.source.name)))
        elif bare:
            assert bare[0].missing is not None
            yield bare[0].missing.outcome(_GRADE, (name,))
        else:
            yield Passed(_GRADE, (name,))
    if alone:
        yield DoesNotApply("no battery lies in parallel with it", alone)


def _look(study: Study, found: Unfused, name: str) -> tuple[tuple[str, ...], list[_Bare]]:
    """Return the packs beside a battery, and every way to one of them on which it has no device of its own."""
    beside: set[str] = set()
    bare: list[_Bare] = []
    for protection in found.guard.protections:
        for walk in protection.whole:
            if walk.pole.source.name != name:
                continue
            for pole in protection.poles.all:
                if pole.source.kind == "battery" and pole.source.name != name and pole.cluster in walk.reached:
                    beside.add(pole.source.name)
                    way = _bare(study, found, protection, walk, pole)
                    if way is not None:
                        bare.append(way)
    return tuple(sorted(beside)), bare


def _bare(study: Study, found: Unfused, protection: Protection, walk: Walk, other: Pole) -> _Bare | None:
    """Follow the way from one pack to another: to its first device, or past what it shares with others before that.

    A device that comes after a place where the way divides belongs to something else, unless it stands near enough to serve as the pack's own.
    """
    ways = protection.ways
    feeding = frozenset(ways.cluster[consumer.plus] for consumer in ways.circuit.consumers if consumer.kind != "drain")
    alone = _unfused_walk(protection, walk)
    wires: list[Branch] = []
    shared = ""
    far = unsaid = None
    before = walk.pole.cluster
    for edge, cluster in walk.way(other.cluster):
        if ways.kinds[edge] == DEVICE:
            if far is None and unsaid is None:
                return None
            if not shared:
                return None  # its own device, only too far away: one-ended-link and far-fuse tell of that
            return _Bare(other, tuple(wires), shared, unsaid if far is None else None)
        if ways.kinds[edge] == WIRE:
            if before != walk.pole.cluster and not shared and _divides(ways, feeding, before, edge):
                shared = _name_of(ways.members[before])
            stretch = protection.stretch(alone, ways.wire(edge))
            if not shared:
                wires.append(ways.wire(edge))
            if stretch is not None:
                distance = distance_of(study, found.guard.basis, stretch)
                far = far or (distance if distance.is_error else None)
                unsaid = unsaid or distance.missing
        before = cluster
        if not shared and cluster != other.cluster and _divides(ways, feeding, cluster, edge):
            shared = _name_of(ways.members[cluster])
    return _Bare(other, tuple(wires), shared or other.node)


def _unfused_walk(protection: Protection, walk: Walk) -> Walk:
    return next(other for other in protection.unfused if other.pole == walk.pole)


def _divides(ways: Ways, feeding: frozenset[int], cluster: int, came: int) -> bool:
    """Tell whether the way divides at a cluster: something else than one way onward hangs there, or something is fed there."""
    onward = {edge for table in (ways.out, ways.back) for edge, _ in table[cluster] if edge != came}
    return len(onward) > 1 or cluster in feeding


def _name_of(nodes: list[str]) -> str:
    """Return the name of a joint: that of a busbar where one is there."""
    return min(nodes, key=lambda node: ("." in node, node))


def _finding(study: Study, found: Unfused, name: str, beside: tuple[str, ...], way: _Bare) -> Finding:
    from ohmwright_rules.device_sizes import largest_device, suits

    pack = study.part(name)
    assert isinstance(pack, Battery)
    guard = found.guard
    names = counted_beyond(beside, "other packs", 3)
    near = guard.basis.fuse_distance
    sizes = {wire: size for wire in way.wires if (size := largest_device(guard, wire)) is not None}
    fuse = f"a fuse of {suits(guard, min(sizes, key=lambda wire: sizes[wire]))}" if sizes else "a fuse that suits its lead"
    driven = _driven(study, beside)
    breaks = f", which interrupts {shown(Amount(driven, 'current'))} or more" if driven is not None else ""
    at = f" at {way.meets}" if way.meets != way.other.node else ""
    through = f" over {listed(wire.name for wire in way.wires)}" if way.wires else ""
    if driven is None:
        drives = f"a short in {name} or its lead is fed by {names if len(beside) == 1 else 'all of them'}"
    else:
        who = f"{names} drives" if len(beside) == 1 else "together they drive"
        drives = f"{who} up to {shown(Amount(driven, 'current'))} into a short in {name} or its lead"
    return Finding(
        _GRADE,
        (name, *(wire.name for wire in way.wires)),
        f"{name}: it joins {names}{at}{through} without a fuse of its own; {drives}.",
        pack.span,
        working=_steps(study, beside, driven),
        remedy=f"Put {fuse}{breaks}, within {shown(Amount(near.value, 'length', 'm'))} ({near.words}) of {name}.plus.",
        related=tuple(Related(f"its lead {wire.name}", wire.span) for wire in way.wires[:8]),
        reference=RULE.references[0],
    )


def _short(study: Study, name: str) -> float | None:
    battery = study.part(name)
    if not isinstance(battery, Battery):
        return None
    volt, ohm = rest_voltage_of(battery, _FULL), resistance_low(battery)
    return volt / ohm if volt is not None and ohm is not None else None


def _driven(study: Study, beside: tuple[str, ...]) -> float | None:
    """Return what all the others drive into a short [A], their leads counted as nothing; None where that is not known."""
    currents = [_short(study, name) for name in beside]
    return sum(current for current in currents if current is not None) if None not in currents else None


def _steps(study: Study, beside: tuple[str, ...], driven: float | None) -> tuple[Step, ...]:
    if driven is None:
        return ()
    figures = " + ".join(f"{_short(study, name) or 0.0:.4g}" for name in beside[:12])
    return (
        Step(
            "I_others",
            f"{', '.join(beside[:12])}: {figures}",
            driven,
            "A",
            "full rest voltage over the lower end of the resistance",
        ),
    )
