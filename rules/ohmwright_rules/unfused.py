"""How far conductors run from a source before the first overcurrent device, held against the distances of the basis.

Several rules ask this: of all conductors, of links between sources, of chargers' leads, of packs. The worst that any source makes of a conductor counts.
The inner links of a series string are judged by the device at the string's live end.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from ohmwright.circuit.graph import Branch
from ohmwright.missing import Missing
from ohmwright.protection.reaching import Protection, Unsaid
from ohmwright.protection.walking import Stretch, Walk
from ohmwright.references import Step
from ohmwright.study import Study
from ohmwright.values import Amount
from ohmwright_grammar.kinds.conductor import Conductor
from ohmwright_grammar.records import record, replace

from ohmwright_rules.basis import Basis, Number
from ohmwright_rules.guarding import Guarding, guarding
from ohmwright_rules.kept import kept
from ohmwright_rules.series_links import SeriesLink, SeriesLinks

__all__ = ["Distance", "Kind", "Run", "Unfused", "distance_of", "length_steps", "unfused"]

Kind = Literal["near", "series", "series-link", "missing", "bare", "far", "battery-lead", "not-nearest", "unsaid"]
_SLACK = 1e-9
_MOST_NAMED = 8  # conductors of a way that a working names one by one
_RANK: dict[Kind, int] = {
    "near": 0, "series": 0, "not-nearest": 1, "battery-lead": 2, "unsaid": 3, "series-link": 4, "bare": 5, "far": 5, "missing": 6,
}  # fmt: skip
ERRORS = frozenset({"missing", "bare", "far"})


@record
class Distance:
    """A length before the first device, what the basis allows for it, and which of its ways is broken; "near" where none is.

    `missing` goes with "unsaid". Of "missing" (no device at all) the length does not matter. "series" and "series-link" are inner links of a string that
    has a device at its live end: near enough or enclosed, and not; of "missing" too, `link` tells that it is one, where the device is too large for it.
    """

    kind: Kind
    measured: Amount
    limit: Amount
    number: Number
    missing: Missing | None = None
    link: SeriesLink | None = None

    @property
    def is_error(self) -> bool:
        """Tell whether an error-level way is broken."""
        return self.kind in ERRORS


@record
class Run:
    """The worst that a source without a device makes of one conductor; `chief` is the conductor nearer to the source that already lies too far, "" where
    this one is the first."""

    stretch: Stretch
    distance: Distance
    protection: Protection
    chief: str


def distance_of(study: Study, basis: Basis, stretch: Stretch) -> Distance:
    """Hold a stretch against the distances of a basis."""
    near, enclosed, battery = basis.fuse_distance, basis.fuse_distance_enclosed, basis.fuse_distance_battery
    unit = _unit_of(stretch.wire)
    measured = Amount(stretch.length, "length", unit)

    def found(kind: Kind, number: Number, missing: Missing | None = None) -> Distance:
        return Distance(kind, measured, Amount(number.value, "length", unit), number, missing)

    beyond = stretch.beyond
    if beyond.device is None and not beyond.joins_battery:  # a link of two batteries is a matter of each pack's own fuse
        return found("missing", near)
    post = _is_straight(study, stretch) and not _over(stretch.length, battery)
    if stretch.unmeasured is not None:
        if _over(stretch.length, near) and stretch.enclosed is False:
            return found("bare", near)
        if _over(stretch.length, enclosed) and not post:
            return found("far", enclosed)
        return found("unsaid", near, Missing(f"length of {stretch.unmeasured.name}", stretch.unmeasured.span, "0.1 m long"))
    if not _over(stretch.length, near):
        return found("near", near)
    if stretch.enclosed is False:
        return found("bare", near)
    if _over(stretch.length, enclosed) and not post:
        return found("far", enclosed)
    if stretch.enclosed is None:
        assert stretch.open_at is not None
        wire = stretch.open_at
        return found("unsaid", near, Missing(f"whether {wire.name} is enclosed all the way", wire.span, "enclosed all the way"))
    if not _over(stretch.length, enclosed):
        return found("near" if _excused(stretch) else "not-nearest", enclosed)
    return found("battery-lead", enclosed)


def _distance_of_link(guard: Guarding, stretch: Stretch, link: SeriesLink, usual: Distance) -> Distance:
    """Hold an inner link of a series string against the device at the string's live end; `usual` is what else would be said of it."""
    if not link.devices:
        return usual
    number = guard.basis.fuse_distance_enclosed
    limit = Amount(number.value, "length", usual.limit.unit)

    def found(kind: Kind, missing: Missing | None = None) -> Distance:
        return Distance(kind, usual.measured, limit, number, missing, link)

    fits = [guard.small_enough(device, stretch.wire) for device in link.devices]
    if any(fit is False for fit in fits):
        return replace(usual, kind="missing", missing=None, link=link)
    unsaid = next((fit for fit in fits if isinstance(fit, Unsaid)), None)
    if unsaid is not None:
        return found("unsaid", guard.missing(unsaid))
    if stretch.enclosed:
        return found("series")
    if _over(stretch.length, number):
        if stretch.enclosed is None:
            assert stretch.open_at is not None
            wire = stretch.open_at
            return found("unsaid", Missing(f"whether {wire.name} is enclosed all the way", wire.span, "enclosed all the way"))
        return found("series-link")
    if stretch.unmeasured is not None:
        wire = stretch.unmeasured
        return found("unsaid", Missing(f"length of {wire.name}", wire.span, "0.1 m long"))
    return found("series")


def _over(length: float, number: Number) -> bool:
    return length > number.value * (1 + _SLACK)


def _unit_of(wire: Branch) -> str:
    conductor = wire.conductor
    return conductor.length.unit if conductor is not None and conductor.length is not None else ""


def _excused(stretch: Stretch) -> bool:
    """Tell whether it is said why the shortest distance is impractical."""
    wires = (stretch.wire, *(branch for branch in stretch.path() if branch.conductor is not None))
    return any(wire.conductor is not None and wire.conductor.is_documented(Conductor.why_not_nearer) for wire in wires)


def _is_straight(study: Study, stretch: Stretch) -> bool:
    """Tell whether a conductor begins at the post of a battery itself."""
    if stretch.source.kind != "battery" or stretch.from_joint or stretch.before is not None:
        return False
    return stretch.entry in study.circuit.reach(stretch.origin, lambda branch: branch.kind == "joint")


def length_steps(stretch: Stretch) -> tuple[Step, ...]:
    """Return the working of a length: the conductors on the way from where it counts."""
    wires = [stretch.wire]
    total = _length(stretch.wire)
    for branch in stretch.walk.back(stretch.wire):
        if total >= stretch.length * (1 - _SLACK):
            break
        if branch.conductor is not None:
            wires.append(branch)
            total += _length(branch)
    wires.reverse()
    if len(wires) == 1:
        expression = stretch.wire.name
    elif len(wires) <= _MOST_NAMED:
        expression = f"{' + '.join(wire.name for wire in wires)}: {' + '.join(f'{_length(wire):.4g}' for wire in wires)}"
    else:
        expression = f"{len(wires)} conductors from {wires[0].name} to {wires[-1].name}"
    return (Step("L", expression, stretch.length, "m", f"along the conductor from {stretch.origin}"),)


def _length(wire: Branch) -> float:
    conductor = wire.conductor
    return float(conductor.length.high) if conductor is not None and conductor.length is not None else 0.0


class Unfused:
    """Every conductor that a source reaches without a device, with the worst that comes of it, by name."""

    def __init__(self, study: Study, guard: Guarding) -> None:
        self.study = study
        self.guard = guard
        self.runs: dict[str, Run] = {}
        self.all: dict[str, list[Run]] = {}  # every run that breaks an error-level way, one for each source
        for protection in guard.protections:
            series = SeriesLinks(protection)
            for walk in protection.unfused:
                study.options.budget.check()
                self._take(protection, walk, series.of(walk))

    def _take(self, protection: Protection, walk: Walk, links: dict[str, SeriesLink]) -> None:
        chiefs: dict[str, str] = {}
        for stretch in protection.stretches(walk):
            wire = stretch.wire
            pushes = protection.pushes(walk.pole.source, wire)
            above = chiefs.get(stretch.before.name, "") if stretch.before is not None else ""
            if pushes is False:
                if above:
                    chiefs[wire.name] = above
                continue
            distance = distance_of(self.study, self.guard.basis, stretch)
            link = links.get(wire.name)
            if link is not None:
                distance = _distance_of_link(self.guard, stretch, link, distance)
            if pushes is None and (distance.is_error or distance.kind == "unsaid"):
                what = "rated current" if walk.pole.source.limit is None else self.guard.facts(wire).missing or "gauge"
                of = walk.pole.source.name if walk.pole.source.limit is None else wire.name
                distance = Distance(
                    "unsaid", distance.measured, distance.limit, distance.number, self.guard.missing(Unsaid(what, of))
                )
            chief = above if distance.is_error else ""
            run = Run(stretch, distance, protection, chief)
            if distance.is_error:
                chiefs[wire.name] = above or wire.name
                self.all.setdefault(wire.name, []).append(run)
            elif above:
                chiefs[wire.name] = above
            known = self.runs.get(wire.name)
            if known is None or _badness(run) > _badness(known):
                self.runs[wire.name] = run

    def of(self, wire: Branch) -> Run | None:
        """Return the worst run of a conductor, None where no source reaches it without a device."""
        return self.runs.get(wire.name)

    def behind(self, chief: str) -> Iterator[str]:
        """Yield the conductors that lie behind one that is already too far, in name order."""
        return (name for name in sorted(self.runs) if self.runs[name].chief == chief)


def _badness(run: Run) -> tuple[int, bool, float]:
    return _RANK[run.distance.kind], not run.chief, run.distance.measured.value


def unfused(study: Study) -> Unfused | None:
    """Return what sources reach without a device, worked out once; None without a basis."""
    return kept(study, _unfused)


def _unfused(study: Study) -> Unfused | None:
    guard = guarding(study)
    return Unfused(study, guard) if guard is not None else None
