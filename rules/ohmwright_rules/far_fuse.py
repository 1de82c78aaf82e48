"""A conductor that runs too far from its source before the first fuse or breaker, or has none at all."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.findings import Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.protection.walking import Stretch
from ohmwright.references import Reference, Step
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair

from ohmwright_rules.conductors import gauge_of, said_of_missing
from ohmwright_rules.guarding import Guarding, device_word
from ohmwright_rules.live_sides import push_of
from ohmwright_rules.series_links import SeriesLink
from ohmwright_rules.standing import Left, standings
from ohmwright_rules.unfused import Distance, Run, Unfused, length_steps, unfused
from ohmwright_rules.wording import named

RULE = Rule(
    id="far-fuse",
    title="Fuse missing or too far from the source",
    family="protection",
    subject="conductor",
    covers=("F1",),
    grades=(
        Grade("missing", Severity.ERROR, "no fuse or breaker stands between a source and the far end of a conductor, nor beyond it"),
        Grade("bare", Severity.ERROR, "the first device is more than 7 in along the conductor from the source, which is not enclosed all the way"),
        Grade("far", Severity.ERROR, "the first device is more than 40 in along the conductor from the source, enclosed or not"),
        Grade("behind", Severity.ERROR, "a conductor is fed through another one that has no device, or has it too far away"),
        Grade(
            "series-link", Severity.WARNING,
            "a link within a series string is longer than 40 in and not enclosed all the way, and has only the device at the string's end",
        ),
        Grade("battery-lead", Severity.NOTE, "40 to 72 in, straight from a battery post and enclosed all the way"),
        Grade("not-nearest", Severity.NOTE, "7 to 40 in, enclosed all the way, and it is not said why 7 in is impractical"),
    ),
    references=(
        Reference("33 CFR 183.455", "as on a law mirror, undated", "(b)", "read"),
        Reference("ABYC E-11", "as two pages quote it", "72 in from the battery", "secondary"),
    ),
)  # fmt: skip

NUMBERS = ("fuse_distance", "fuse_distance_enclosed", "fuse_distance_battery")


def check(study: Study) -> Iterator[Outcome]:
    """Measure every live conductor from the sources that reach it without a device."""
    found = unfused(study)
    if found is None:
        for wire in study.circuit.wires():
            yield NotChecked("missing", (wire.name,), "basis", wire.span, declare=said_of_missing("basis"))
        return
    left = Left()
    for wire in standings(study, found.guard, left):
        run = found.of(wire)
        if run is None:
            yield Passed("missing", (wire.name,))
        else:
            yield from _judge(study, found, run)
    yield from left.outcomes()


def _judge(study: Study, found: Unfused, run: Run) -> Iterator[Outcome]:
    wire, distance = run.stretch.wire, run.distance
    subject = (wire.name,)
    if distance.missing is not None:
        yield distance.missing.outcome(_grade_asked(distance), subject)
    elif distance.is_error:
        yield _finding(study, found, run)
    elif distance.link is not None:
        yield Passed("missing", subject)
        if distance.kind == "series-link":
            yield _series_finding(study, found.guard, run, distance.link)
        else:
            limit = None if run.stretch.enclosed else distance.limit
            yield Passed("series-link", subject, distance.measured if limit is not None else None, limit)
    else:
        yield Passed("missing", subject)
        yield Passed("far" if run.stretch.enclosed else "bare", subject, distance.measured, distance.limit)
        if distance.kind != "near":
            yield _note(found.guard, run)


def _grade_asked(distance: Distance) -> str:
    """Return the grade that a missing datum leaves open."""
    assert distance.missing is not None
    what = distance.missing.what
    if distance.link is not None:
        return "series-link" if "enclosed" in what or what.startswith("length") else "missing"
    return "bare" if "enclosed" in what else "far"


def _series_finding(study: Study, guard: Guarding, run: Run, link: SeriesLink) -> Finding:
    stretch, distance = run.stretch, run.distance
    wire = stretch.wire
    measured, allowed = shown_pair(distance.measured, distance.limit)
    devices = named([device.name for device in link.devices])
    near = guard.basis.fuse_distance
    within = f"within {shown(Amount(near.value, 'length', distance.limit.unit))} ({near.words}) of {stretch.origin}"
    return Finding(
        "series-link",
        (wire.name,),
        f"{wire.name}: as a link between {link.below} and {link.above} it ends {measured} from {stretch.origin} and is not enclosed all the way; the string has "
        f"its device at the end ({devices}), but a short from the link to the return is fed by {link.below} alone and does not pass it. Up to {allowed} "
        f"({distance.number.words}) is borne.",
        wire.span,
        distance.measured,
        distance.limit,
        working=(*length_steps(stretch), *_steps(guard, stretch, distance)),
        remedy=f"Enclose it all the way, shorten it to {allowed} or less, or put a fuse {within}: {_at_most(guard, wire)}.",
        related=(
            Related(f"the battery below it, {link.below}", study.span(link.below)),
            *(Related(f"the device at the end of the string, {device.name}", device.span) for device in link.devices[:8]),
        ),
        reference=distance.number.reference,
    )


def _finding(study: Study, found: Unfused, run: Run) -> Finding:
    stretch, distance = run.stretch, run.distance
    wire = stretch.wire
    guard = found.guard
    missing = distance.kind == "missing"
    measured = None if missing else distance.measured
    message = f"{wire.name}: {_words(guard, stretch, distance)}"
    chief = study.circuit.by_name.get(run.chief)
    if chief is not None:
        message += f" It is fed through {chief.name}, which has the same fault."
    return Finding(
        "behind" if chief is not None else distance.kind,
        (wire.name, chief.name) if chief is not None else (wire.name,),
        message,
        wire.span,
        measured,
        None if missing else distance.limit,
        working=(*length_steps(stretch), *_steps(guard, stretch, distance)),
        remedy=_remedy(study, found, run),
        related=(*_related(study, stretch, chief), *_too_large(guard, run)),
        reference=distance.number.reference,
    )


def _words(guard: Guarding, stretch: Stretch, distance: Distance) -> str:
    """Say what is wrong with a stretch, without the name of the conductor."""
    size = gauge_of(stretch.wire)
    what = f"this {size}" if size else "it"
    ampacity = guard.ampacity(stretch.wire)
    carries = f" the {shown(Amount(ampacity, 'current'))} that {what} carries" if ampacity is not None else f" {what} can carry"
    push = push_of(stretch.source)
    gives = "" if push is None or push == float("inf") else f" ({shown(Amount(push, 'current'))})"
    source = f"{stretch.source.name} can push more{gives} than{carries}"
    if distance.link is not None:
        devices = [device.name for device in distance.link.devices if guard.small_enough(device, stretch.wire) is False]
        return (
            f"as a link between {distance.link.below} and {distance.link.above} it is left to the device at the end of their string, and "
            f"{named(devices)} {'is' if len(devices) == 1 else 'are'} too large for it; {source}."
        )
    if distance.kind == "missing":
        return f"no fuse or breaker stands between {stretch.origin} and its far end, nor beyond it; {source}."
    measured, allowed = shown_pair(distance.measured, distance.limit)
    cover = " and is not enclosed all the way" if distance.kind == "bare" else ""
    first = stretch.beyond.device
    after = f" The first device on this way is {first.name}." if first is not None else " No device stands on this way."
    words = f" ({distance.number.words})" if distance.number.words else ""
    return f"it ends {measured} from {stretch.origin} without a fuse or breaker{cover}; {allowed}{words} is allowed, as {source}.{after}"


def _remedy(study: Study, found: Unfused, run: Run) -> str:
    stretch, distance = run.stretch, run.distance
    guard = found.guard
    near = guard.basis.fuse_distance
    within = f"within {shown(Amount(near.value, 'length', distance.limit.unit))} ({near.words}) of {stretch.origin}"
    if distance.link is not None:
        return f"Put a device at the end of the string that is small enough for it ({_at_most(guard, stretch.wire)}), or use a thicker link."
    if run.chief:
        return f"A device in {run.chief} mends this too, if it is small enough: {_at_most(guard, stretch.wire)}."
    first = stretch.beyond.device
    if first is not None and guard.small_enough(first, stretch.wire) is True:
        text = f"Move {first.name}, or put a second {device_word(study.part(first.part))}, {within}"
    else:
        text = f"Put a fuse {within}: {_at_most(guard, stretch.wire)}"
    enclosed = guard.basis.fuse_distance_enclosed
    if distance.kind == "bare" and distance.measured.value <= enclosed.value:
        text += f"; or enclose it all the way: then {shown(Amount(enclosed.value, 'length', distance.limit.unit))} ({enclosed.words}) is allowed"
    return f"{text}."


def _at_most(guard: Guarding, wire: Branch) -> str:
    from ohmwright_rules.device_sizes import suits

    return suits(guard, wire) or "no larger than the conductor allows"


def _steps(guard: Guarding, stretch: Stretch, distance: Distance) -> tuple[Step, ...]:
    facts = guard.facts(stretch.wire)
    number = distance.number
    rated = facts.kind.steps if facts.kind is not None else ()
    return (Step("L_max", number.words or "allowed", number.value, "m", number.source), *rated)


def _related(study: Study, stretch: Stretch, chief: Branch | None) -> tuple[Related, ...]:
    found = [Related(f"the source {stretch.source.name}", study.span(stretch.source.part.name))]
    first = stretch.beyond.device
    if first is not None:
        found.append(Related(f"the first device on the way, {first.name}", first.span))
    if chief is not None:
        found.append(Related(f"{chief.name}, through which it is fed", chief.span))
    return tuple(found)


def _too_large(guard: Guarding, run: Run) -> tuple[Related, ...]:
    """Return the devices at the end of a string that are too large for a link in it."""
    link = run.distance.link
    devices = link.devices if link is not None else ()
    return tuple(
        Related(f"the device at the end of the string, {device.name}", device.span)
        for device in devices
        if guard.small_enough(device, run.stretch.wire) is False
    )


def _note(guard: Guarding, run: Run) -> Finding:
    stretch, distance = run.stretch, run.distance
    wire = stretch.wire
    measured, allowed = shown_pair(distance.measured, distance.limit)
    if distance.kind == "battery-lead":
        message = (
            f"{wire.name}: it ends {measured} from {stretch.origin}, more than {allowed} ({distance.number.words}); straight from a battery post and "
            "enclosed all the way, up to 72 in is borne by practice."
        )
        remedy = f"Better: a fuse within {allowed} of {stretch.origin}."
        limit = distance.limit
    else:
        message = f"{wire.name}: it ends {measured} from {stretch.origin}, enclosed all the way; 7 in is preferred unless it is impractical."
        remedy = 'Bring the first device nearer, or say why not: nearer fuse impractical because "…"'
        limit = Amount(guard.basis.fuse_distance.value, "length", distance.limit.unit)
    reference = RULE.references[1] if distance.kind == "battery-lead" else RULE.references[0]
    return Finding(
        distance.kind, (wire.name,), message, wire.span, distance.measured, limit, working=length_steps(stretch), remedy=remedy, reference=reference
    )  # fmt: skip
