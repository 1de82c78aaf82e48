"""A conductor between two sources that has its fuse at one end only."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.findings import Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.protection.reaching import Protection
from ohmwright.protection.walking import Stretch, Walk
from ohmwright.references import Reference, Step
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair

from ohmwright_rules.conductors import said_of_missing
from ohmwright_rules.standing import Left, standings
from ohmwright_rules.unfused import Run, Unfused, length_steps, unfused

RULE = Rule(
    id="one-ended-link",
    title="Link between two sources fused at one end only",
    family="protection",
    subject="conductor",
    covers=("C8",),
    grades=(
        Grade(
            "one-end", Severity.ERROR, "one of two sources reaches the conductor without a device near it; towards the other it has one"
        ),
    ),
    references=(
        Reference("33 CFR 183.455", "as on a law mirror, undated", "(b)", "read"),
        Reference("NFPA 70 (NEC)", "2020", "690.9(A)", "secondary"),
    ),
)  # fmt: skip
NUMBERS = ("fuse_distance", "fuse_distance_enclosed")
_GRADE = "one-end"
_SINGLE = "not between two sources that can each push more than it carries"
_BEHIND = "fed through a link that is told already"


class _Ends:
    """From which ends of a conductor sources come that can push more than it carries: walks, by the node at which they enter."""

    def __init__(self) -> None:
        self.walks: dict[str, list[tuple[Protection, Walk]]] = {}

    @property
    def is_link(self) -> bool:
        """Tell whether something comes in at both ends."""
        return len(self.walks) > 1

    def against(self, run: Run) -> Stretch | None:
        """Return a way from another source that comes in at the other end, where all that comes in there passes a device."""
        stretch = run.stretch
        for entry, walks in sorted(self.walks.items()):
            if entry == stretch.entry:
                continue
            ways = [way for protection, walk in walks if (way := protection.stretch(walk, stretch.wire)) is not None]
            others = [way for way in ways if way.source.name != stretch.source.name]
            if others and all(way.device is not None for way in others):
                return others[0]
        return None


def check(study: Study) -> Iterator[Outcome]:
    """Look at every live conductor from both its ends."""
    found = unfused(study)
    if found is None:
        for wire in study.circuit.wires():
            yield NotChecked(_GRADE, (wire.name,), "basis", wire.span, declare=said_of_missing("basis"))
        return
    left = Left()
    ends = _ends(found)
    for wire in standings(study, found.guard, left):
        its = ends.get(wire.name)
        if its is None or not its.is_link:
            left.add(_SINGLE)
            continue
        yield from _judge(study, found, wire, its, left)
    yield from left.outcomes()


def _ends(found: Unfused) -> dict[str, _Ends]:
    ends: dict[str, _Ends] = {}
    for protection in found.guard.protections:
        if len(protection.whole) < 2:
            continue
        for walk in protection.whole:
            for edge in walk.edges():
                wire = protection.ways.wire(edge)
                entry = walk.entry(edge)
                if entry is not None and protection.pushes(walk.pole.source, wire):
                    ends.setdefault(wire.name, _Ends()).walks.setdefault(entry, []).append((protection, walk))
    return ends


def _judge(study: Study, found: Unfused, wire: Branch, ends: _Ends, left: Left) -> Iterator[Outcome]:
    runs = [(run, other) for run in found.all.get(wire.name, ()) if (other := ends.against(run)) is not None]
    chiefs = [(run, other) for run, other in runs if not run.chief]
    if chiefs:
        yield _finding(study, found, *max(chiefs, key=lambda pair: pair[0].distance.measured.value))
    elif runs:
        left.add(_BEHIND)
    else:
        run = found.of(wire)
        if run is not None and run.distance.missing is not None:
            yield run.distance.missing.outcome(_GRADE, (wire.name,))
        else:
            yield Passed(_GRADE, (wire.name,))


def _finding(study: Study, found: Unfused, run: Run, other: Stretch) -> Finding:
    from ohmwright_rules.device_sizes import suits

    stretch, distance = run.stretch, run.distance
    wire = stretch.wire
    guard = found.guard
    measured, allowed = shown_pair(distance.measured, distance.limit)
    device = other.device
    assert device is not None
    behind = len(tuple(found.behind(wire.name)))
    more = f" {behind} more {'wire lies' if behind == 1 else 'wires lie'} behind it." if behind else ""
    ampacity = guard.ampacity(wire)
    carries = f" than the {shown(Amount(ampacity, 'current'))} it carries" if ampacity is not None else " than it carries"
    near = guard.basis.fuse_distance
    size = suits(guard, wire)
    fuse = f"a fuse of {size}" if size else "a fuse that suits it"
    within = shown(Amount(near.value, "length", distance.limit.unit))
    return Finding(
        _GRADE,
        (wire.name,),
        f"{wire.name}: {device.name} protects it from {other.source.name} only; {stretch.source.name} reaches it at {stretch.entry} without a device, over "
        f"{measured} where {allowed} is allowed, and can push more{carries}.{more}",
        wire.span,
        distance.measured,
        distance.limit,
        working=(*length_steps(stretch), Step("L_max", distance.number.words, distance.number.value, "m", distance.number.source)),
        remedy=f"Put {fuse} within {within} ({near.words}) of {stretch.origin} too: one at each end.",
        related=(
            Related(f"the device at the other end, {device.name}", device.span),
            Related(f"the source {stretch.source.name}", study.span(stretch.source.part.name)),
            Related(f"the source {other.source.name}", study.span(other.source.part.name)),
        ),
        reference=distance.number.reference,
    )  # fmt: skip
