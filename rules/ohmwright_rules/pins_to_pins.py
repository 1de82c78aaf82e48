"""A cord with pins on both ends: whichever end is plugged in first makes the other one live."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright_grammar.kinds.connector import Half

from ohmwright_rules.halves import cords_of, has_mains
from ohmwright_rules.liveness import LiveHalf, live_half

RULE = Rule(
    id="pins-to-pins",
    title="Cord with pins on both ends",
    family="connectors",
    subject="cable",
    covers=("G20",),
    grades=(Grade("live", Severity.ERROR, "both ends of a cord have bare pins, and one of them can be live while it is free"),),
    references=(Reference("warning of a consumer regulator", "", "mains cords with pins on both ends", "secondary"),),
)
_NO_CORD = "no cable and no wire runs from one connector half to another"


def check(study: Study) -> Iterator[Outcome]:
    """Look at every cable, and every loose wire, that runs from one connector half to another."""
    cords = cords_of(study)
    if not cords:
        yield DoesNotApply(_NO_CORD)
    for name, (one, two, span) in sorted(cords.items()):
        subject = (name, one.name, two.name)
        forms = (one.form, two.form)
        if any(form not in (None, "pins") for form in forms):
            yield Passed("live", subject)
            continue
        source = _live(study, one) or _live(study, two)
        if source is None:
            yield Passed("live", subject)
        elif None in forms:
            unsaid = one if one.form is None else two
            yield Missing("form of its contacts", unsaid.span, "female sockets").outcome("live", (unsaid.name, name))
        elif isinstance(source, Missing):
            yield source.outcome("live", subject)
        else:
            free, by = source
            plugged = two if free is one else one
            yield Finding(
                "live",
                (name, free.name, plugged.name),
                f"{name}: {free.name} and {plugged.name} both have bare pins; with {plugged.name} plugged in, the pins of {free.name} are live from {by}.",
                span,
                remedy=f"Put a half with sockets on one end, at {free.name}, and pins on what it goes into.",
                related=tuple(Related(f"{half.name}, bare pins", half.span) for half in (free, plugged)),
            )


def _live(study: Study, half: Half) -> tuple[Half, str] | Missing | None:
    """Return a half and what keeps it live while it is free."""
    if has_mains(study, half):
        return half, "the mains or the inverter at the other end"
    found = live_half(study, half)
    if isinstance(found, LiveHalf):
        return half, found.pins[0].source
    return found
