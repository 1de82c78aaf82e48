"""A fuse that a borrower cannot buy on the way."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Severity
from ohmwright.references import common_practice
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright_grammar.kinds.fuse import Breaker, Fuse

RULE = Rule(
    id="rare-fuse",
    title="Fuse that a borrower cannot replace",
    family="house",
    subject="fuse",
    covers=(),
    grades=(Grade("not-sold-nearby", Severity.NOTE, "the family of the fuse is not blade or bolt-down"),),
    references=(common_practice("house rules of the workshop"),),
)
_GRADE = "not-sold-nearby"
_SOLD = ("blade", "bolt-down")


def check(study: Study) -> Iterator[Outcome]:
    """Look at the family of every fuse; a breaker needs no replacement."""
    breakers = 0
    for fuse in sorted(study.of(Fuse), key=lambda fuse: fuse.name):
        if isinstance(fuse, Breaker):
            breakers += 1
        elif fuse.family is None:
            yield NotChecked(_GRADE, (fuse.name,), f"family of {fuse.name}", fuse.span, declare="blade")
        elif fuse.family in _SOLD:
            yield Passed(_GRADE, (fuse.name,))
        else:
            message = f"{fuse.name}: a {fuse.family} fuse is not sold where borrowers go."
            yield Finding(
                _GRADE,
                (fuse.name,),
                message,
                fuse.span,
                remedy="Use a blade or a bolt-down fuse, or put a spare one into the box.",
            )
    if breakers:
        yield DoesNotApply("a breaker is reset, not replaced", breakers)
