"""A breaker that closes again by itself, or can be held closed onto a fault."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright_grammar.kinds.fuse import Breaker

RULE = Rule(
    id="self-resetting",
    title="Self-resetting breaker as protection",
    family="protection",
    subject="breaker",
    covers=("F11",),
    grades=(
        Grade("resets", Severity.WARNING, "a breaker that is no part of a motor closes again by itself"),
        Grade("not-trip-free", Severity.WARNING, "a breaker that is no part of a motor can be held closed onto a fault"),
    ),
    references=(Reference("33 CFR 183.455", "as on a law mirror, undated", "(a): manually reset, trip-free", "read"),),
)


def check(study: Study) -> Iterator[Outcome]:
    """Ask every breaker how it is reset and whether it trips while it is held."""
    motors = 0
    for breaker in sorted(study.of(Breaker), key=lambda part: part.name):
        subject = (breaker.name,)
        if breaker.part_of_motor:
            motors += 1
            continue
        if breaker.reset is None:
            yield Missing(f"how {breaker.name} is reset", breaker.span, "manual reset").outcome("resets", subject)
        elif breaker.reset == "self":
            yield Finding(
                "resets",
                subject,
                f"{breaker.name}: this breaker resets itself: onto a fault it closes again and again until its contacts weld.",
                breaker.place_of(Breaker.reset),
                remedy="Use one that is reset by hand and is trip-free; a self-resetting one belongs inside a motor only.",
            )
        else:
            yield Passed("resets", subject)
        if breaker.trip_free is None:
            yield Missing(f"whether {breaker.name} is trip-free", breaker.span, "trip-free").outcome("not-trip-free", subject)
        elif breaker.trip_free:
            yield Passed("not-trip-free", subject)
        else:
            yield Finding(
                "not-trip-free",
                subject,
                f"{breaker.name}: this breaker is not trip-free: whoever holds its lever holds it closed onto a fault.",
                breaker.place_of(Breaker.trip_free),
                remedy="Use one that is trip-free.",
            )
    if motors:
        yield DoesNotApply("it is part of a motor", motors)
