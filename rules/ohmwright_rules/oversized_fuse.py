"""A fuse or breaker that is too large for a conductor behind it, and a thinner wire that begins where no fuse is."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.findings import Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.protection.reaching import Exposure, Unsaid
from ohmwright.protection.walking import Stretch
from ohmwright.references import Reference, Step, weakest
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.controller import Controller
from ohmwright_grammar.kinds.fuse import Fuse
from ohmwright_grammar.records import record

from ohmwright_rules.ampacity import Ampacity
from ohmwright_rules.carrying import cooler_or_better, nothing_left
from ohmwright_rules.conductors import gauge_of, said_of_missing
from ohmwright_rules.fusing import FuseLimit
from ohmwright_rules.guarding import Guarding, device_word, guarding, rating_of, silent_controllers
from ohmwright_rules.laying import Unknown
from ohmwright_rules.standing import Left, standings
from ohmwright_rules.unfused import Distance, distance_of, length_steps
from ohmwright_rules.verdicts import times_allowed

RULE = Rule(
    id="oversized-fuse",
    title="Fuse too large for the wire",
    family="protection",
    subject="conductor",
    covers=("F2", "F3"),
    grades=(
        Grade("too-large", Severity.ERROR, "the smallest device on the way to a conductor is rated above what the basis allows for it"),
        Grade("step-down", Severity.ERROR, "a thinner conductor begins at a joint without a device, and the one before suits only the thicker"),
    ),
    references=(
        Reference("33 CFR 183.455", "as on a law mirror, undated", "(b) and (c)", "read"),
        Reference("NFPA 70 (NEC)", "2023", "240.4(B) and (D)", "secondary"),
        Reference("IEC 60364-4-43", "2008", "433.1", "secondary"),
    ),
)  # fmt: skip
NUMBERS = ("fuse_distance", "cord_fuse")
_SLACK = 1e-9
_CAUGHT = "no device stands before it (far-fuse tells of that)"
_WEAK = "no source can push more than it carries"


def check(study: Study) -> Iterator[Outcome]:
    """Hold the devices before every live conductor against what the basis allows for it."""
    guard = guarding(study)
    if guard is None:
        for wire in study.circuit.wires():
            yield NotChecked("too-large", (wire.name,), "basis", wire.span, declare=said_of_missing("basis"))
        return
    left = Left()
    exposures: dict[str, list[Exposure]] = {}
    for protection in guard.protections:
        for exposure in protection.overreaches():
            exposures.setdefault(exposure.stretch.wire.name, []).append(exposure)
    before = _devices_before(guard)
    silent = _behind_silent(study)
    for wire in standings(study, guard, left):
        found = exposures.get(wire.name)
        if found is not None:
            yield from _judge(study, guard, wire, found)
        elif wire.name in silent:
            controller = silent[wire.name]
            what = f"whether {controller.name} lets current back into the array"
            yield Missing(what, controller.span, "no current back into the array").outcome("too-large", (wire.name,))
        elif wire.name in before:
            device, limit = before[wire.name]
            rating = rating_of(study, device)
            assert rating is not None
            yield Passed(
                "too-large", (wire.name,), Amount(rating, "current", _unit(study, device)), Amount(limit, "current", "A")
            )
        else:
            left.add(_CAUGHT if _is_reached(guard, wire) else _WEAK)
    yield from left.outcomes()


def _devices_before(guard: Guarding) -> dict[str, tuple[Branch, float]]:
    """Return, for every conductor that a device protects, the largest of the smallest devices on the ways from each source, and its limit."""
    found: dict[str, tuple[Branch, float]] = {}
    for protection in guard.protections:
        for walk in protection.whole:
            for edge in walk.edges():
                device, wire = walk.device_before(edge), protection.ways.wire(edge)
                if device is None or protection.pushes(walk.pole.source, wire) is False:
                    continue
                limit = _limit(guard, wire, device)
                rating = rating_of(guard.study, device)
                if limit is None or rating is None or rating > limit.value * (1 + _SLACK):
                    continue
                known = found.get(wire.name)
                if known is None or times_allowed(rating, limit.value) > times_allowed(
                    rating_of(guard.study, known[0]) or 0.0, known[1]
                ):
                    found[wire.name] = (device, limit.value)
    return found


def _is_reached(guard: Guarding, wire: Branch) -> bool:
    """Tell whether a source that can push more than a conductor carries reaches it without a device."""
    return any(
        protection.pushes(walk.pole.source, wire) is not False and protection.stretch(walk, wire) is not None
        for protection in guard.protections
        for walk in protection.unfused
    )


def _behind_silent(study: Study) -> dict[str, Controller]:
    """Return the conductors on the array's side of controllers that do not say whether they let current back, where that matters."""
    found: dict[str, Controller] = {}
    for controller in silent_controllers(study):
        near = study.circuit.reach(f"{controller.name}.pv_plus")
        for wire in study.circuit.wires():
            if wire.start in near:
                found.setdefault(wire.name, controller)
    return found


def _limit(guard: Guarding, wire: Branch, device: Branch) -> FuseLimit | None:
    facts = guard.facts(wire)
    rated = facts.kind or facts.harsh
    if rated is None or isinstance(facts.laying, Unknown):
        return None
    found = guard.limit(rated, guard.voltage(wire, facts.laying), device)
    return found if isinstance(found, FuseLimit) else None


@record
class _Case:
    """One way on which a device is too large, with how far the conductor ends from where its length counts."""

    stretch: Stretch
    distance: Distance
    device: Branch
    rating: float
    limit: FuseLimit

    @property
    def share(self) -> float:
        """How many times the limit the rating is."""
        return times_allowed(self.rating, self.limit.value)

    @property
    def is_step_down(self) -> bool:
        """Tell whether it begins at a joint with no device there; one that stands there is itself too large."""
        return self.stretch.from_joint and self.stretch.own is None


def _judge(study: Study, guard: Guarding, wire: Branch, exposures: Iterable[Exposure]) -> Iterator[Outcome]:
    subject = (wire.name,)
    broken: list[_Case] = []
    short: list[Distance] = []
    missing: list[Missing] = []
    for exposure in exposures:
        stretch = exposure.stretch
        distance = distance_of(study, guard.basis, stretch)
        if not distance.is_error and distance.missing is None and stretch.beyond.device is not None:
            short.append(distance)
        elif exposure.unsaid is not None:
            missing.append(guard.missing(exposure.unsaid))
        elif distance.missing is not None:
            missing.append(distance.missing)
        else:
            case = _case(study, guard, stretch, distance)
            if isinstance(case, _Case):
                broken.append(case)
            else:
                missing.append(guard.missing(case))
    for grade in ("too-large", "step-down"):
        cases = [case for case in broken if case.is_step_down == (grade == "step-down")]
        if cases:
            yield _finding(study, guard, grade, max(cases, key=lambda case: case.share))
    if missing and not broken:
        yield min(missing, key=lambda item: item.what).outcome("too-large", subject)
    elif not broken:
        longest = max(short, key=lambda distance: distance.measured.value / distance.limit.value)
        yield Passed("step-down", subject, longest.measured, longest.limit)


def _case(study: Study, guard: Guarding, stretch: Stretch, distance: Distance) -> _Case | Unsaid:
    device = stretch.own or stretch.device
    assert device is not None
    rating, limit = rating_of(study, device), _limit(guard, stretch.wire, device)
    if rating is None:
        return Unsaid("rated current", device.part)
    if limit is None:
        return Unsaid(guard.facts(stretch.wire).missing, stretch.wire.name)
    return _Case(stretch, distance, device, rating, limit)


def _unit(study: Study, device: Branch) -> str:
    part = study.part(device.part)
    return part.rated_current.unit if isinstance(part, Fuse) and part.rated_current is not None else ""


def _finding(study: Study, guard: Guarding, grade: str, case: _Case) -> Finding:
    wire, device = case.stretch.wire, case.device
    measured = Amount(case.rating, "current", _unit(study, device))
    limit = Amount(case.limit.value, "current", measured.unit)
    shown_rating, allowed = shown_pair(measured, limit)
    word = device_word(study.part(device.part))
    size = gauge_of(wire)
    facts = guard.facts(wire)
    cord = facts.kind is not None and facts.kind.cord
    what = f"this {size} cord" if cord else f"this {size}"
    basis = guard.basis.name
    rated = facts.kind or facts.harsh
    if rated is not None and case.limit.value <= 0:
        message = f"{wire.name}: {device.name} is a {shown_rating} {word}; {nothing_left(what, rated, facts.air)}, so that no {word} is small enough for it."
    elif grade == "step-down":
        start = _begins(case.stretch)
        message = (
            f"{wire.name}: it begins at {start} without a fuse of its own; {device.name} before it is a {shown_rating} {word}, and on {basis} {what} may "
            f"lie behind {allowed} at most."
        )
    else:
        message = f"{wire.name}: {device.name} is a {shown_rating} {word}; on {basis} {what} may lie behind {allowed} at most."
    return Finding(
        grade,
        (wire.name,),
        message,
        wire.span,
        measured,
        limit,
        working=(
            *guard.air_steps(wire),
            *_rating_steps(facts.kind),
            *case.limit.steps,
            *(length_steps(case.stretch) if grade == "step-down" else ()),
        ),
        remedy=_remedy(study, guard, grade, case),
        related=_related(study, case),
        reference=_reference(case, facts.kind or facts.harsh),
    )


def _rating_steps(rated: Ampacity | None) -> tuple[Step, ...]:
    return rated.steps if rated is not None else ()


def _reference(case: _Case, rated: Ampacity | None) -> Reference:
    """Return what the verdict rests on: only the figures without which the device would not be too large."""
    limit = case.limit
    assert rated is not None
    rule = limit.references[0]
    corrected = rated.unwound if rated.cord else rated.value
    factor = max(1.0, limit.value / corrected) if corrected > 0 else 1.0
    if case.rating > factor * rated.table_value * (1 + _SLACK):
        return weakest((rule, rated.reference)) or rule
    if case.rating > factor * corrected * (1 + _SLACK):
        return weakest((rule, *rated.references)) or rule
    return limit.weakest


def _begins(stretch: Stretch) -> str:
    return stretch.entry if stretch.before is None or stretch.origin != stretch.entry else stretch.origin


def _remedy(study: Study, guard: Guarding, grade: str, case: _Case) -> str:
    from ohmwright_rules.device_sizes import smallest_wire, suits

    wire, device = case.stretch.wire, case.device
    if case.limit.value <= 0:
        return cooler_or_better(guard.facts(wire).air)
    smaller = suits(guard, wire, device)
    larger = smallest_wire(guard, wire, device)
    ways: list[str] = []
    if grade == "step-down":
        near = guard.basis.fuse_distance
        within = (
            f"within {shown(Amount(near.value, 'length', case.distance.limit.unit))} ({near.words}) of {case.stretch.origin}"
        )
        if smaller:
            ways.append(f"put a fuse of {smaller} {within}")
    elif smaller:
        ways.append(f"make {device.name} {smaller}")
    if larger is not None:
        ways.append(f"use {larger} or larger for {wire.name}")
    if not ways:
        return "No listed size or rating fits: split the circuit."
    text = ", or ".join(ways)
    return f"{text[0].upper()}{text[1:]}."


def _related(study: Study, case: _Case) -> tuple[Related, ...]:
    device = case.device
    part = study.part(device.part)
    place = part.place_of(Fuse.rated_current) if isinstance(part, Fuse) else device.span
    found = [Related(f"the rating of {device.name}", place)]
    before = case.stretch.before
    if case.is_step_down and before is not None:
        found.append(Related(f"{before.name}, which {device.name} does protect", before.span))
    return tuple(found)
