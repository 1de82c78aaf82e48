"""A fuse in a holder that carries less than it, or in an in-line blade holder at high current."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, amount, shown, shown_pair
from ohmwright_grammar.kinds.fuse import Fuse

from ohmwright_rules.duty import Loading, loadings
from ohmwright_rules.holders import Held, fuses_of, held_of, unheld

RULE = Rule(
    id="weak-holder",
    title="Fuse holder weaker than its fuse",
    family="protection",
    subject="fuse",
    covers=("F15",),
    grades=(
        Grade("over-rating", Severity.WARNING, "a holder carries less than the fuse in it"),
        Grade("in-line", Severity.WARNING, "an in-line holder of a blade fuse carries more than 15 A for long"),
    ),
    references=(
        Reference("makers' and caravan writers' pages", "", "melted in-line holders above 10 to 15 A", "secondary"),
        Reference("rating of the holder", "", "as declared", "read"),
    ),
)
_IN_LINE = 15.0  # A, for long


def check(study: Study) -> Iterator[Outcome]:
    """Hold every fuse against its holder, and what an in-line holder carries against 15 A."""
    others = 0
    for fuse in fuses_of(study):
        held = held_of(study, fuse)
        if held is None:
            yield unheld(fuse).outcome("over-rating", (fuse.name,))
            continue
        yield _rating(fuse, held)
        if held.kind == "blade in-line":
            yield _in_line(study, fuse, held)
        else:
            others += 1
    if others:
        yield DoesNotApply("it is no in-line holder of a blade fuse", others)


def _rating(fuse: Fuse, held: Held) -> Outcome:
    subject = (fuse.name,)
    if fuse.rated_current is None:
        return Missing(f"rated current of {fuse.name}", fuse.span, "30 A").outcome("over-rating", subject)
    if held.carries is None:
        return Missing(f"rated current of {held.name}", held.span, "30 A").outcome("over-rating", subject)
    rating = amount(fuse.rated_current, "current", "high")
    if not is_broken(rating.value, held.carries.value, "at-most"):
        return Passed("over-rating", subject, rating, held.carries)
    large, small = shown_pair(rating, held.carries)
    return Finding(
        "over-rating",
        subject,
        f"{fuse.name}: a fuse of {large} sits in {held.name}, which carries {small}: the holder melts before the fuse opens.",
        fuse.span,
        rating,
        held.carries,
        remedy=f"Use a holder for {large} or more, or a fuse of {small} or less.",
        related=(Related(f"what holds it: {held.name}", held.span),),
        reference=RULE.references[1],
    )


def _in_line(study: Study, fuse: Fuse, held: Held) -> Outcome:
    worst: tuple[float, Loading] | None = None
    for loading in loadings(study):
        current = loading.carried(fuse.name).continuous
        if current > 0 and (worst is None or current > worst[0]):
            worst = (current, loading)
    limit = Amount(_IN_LINE, "current", "A")
    if worst is None:
        return Passed("in-line", (fuse.name,), Amount(0.0, "current", "A"), limit)
    measured = Amount(worst[0], "current", "A")
    if not is_broken(measured.value, limit.value, "at-most"):
        return Passed("in-line", (fuse.name,), measured, limit, state=worst[1].name)
    flows, allowed = shown_pair(measured, limit)
    return Finding(
        "in-line",
        (fuse.name,),
        f"{fuse.name}: {flows} flows for long through its in-line holder {worst[1].when(fuse.name)}; spring contacts of blade fuses in line bear {allowed}.",
        fuse.span,
        measured,
        limit,
        state=worst[1].name,
        working=(worst[1].current_step(fuse.name), Step("I_max", "in-line holder of a blade fuse, for long", _IN_LINE, "A", str(RULE.references[0]))),
        remedy=f"Use a bolt-down fuse, or split the load so that {shown(limit)} or less flow.",
        related=(Related(f"what holds it: {held.name}", held.span),),
    )  # fmt: skip
