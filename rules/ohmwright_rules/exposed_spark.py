"""Parts that spark and are not ignition-protected, in a build that is used near petrol."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.references import Reference
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright_grammar.kinds.site import Site

from ohmwright_rules.sparking import motors, sparking_parts
from ohmwright_rules.wording import listed

RULE = Rule(
    id="exposed-spark",
    title="Sparking part near petrol",
    family="enclosure",
    subject="part",
    covers=("L16",),
    grades=(
        Grade("near-petrol", Severity.ERROR, "a part that sparks is not ignition-protected, and the build is used near petrol"),
    ),
    references=(Reference("33 CFR 183.410", "as on a law mirror, undated", "(a)", "read"),),
)
_GRADE = "near-petrol"


def check(study: Study) -> Iterator[Outcome]:
    """Ask every part that sparks whether it is ignition-protected."""
    site = study.one(Site)
    parts = tuple(sorted((*sparking_parts(study), *motors(study)), key=lambda part: part.name))
    if not parts:
        yield DoesNotApply("nothing in the build sparks")
        return
    near = site.near_petrol if site is not None else None
    if not near:
        if near is None and site is not None and site.use in ("boat", "vehicle"):
            subject = tuple(part.name for part in parts)
            missing = f"whether it is used near petrol (it belongs to a {site.use})"
            yield NotChecked(_GRADE, subject, missing, site.span, declare="not near petrol")
        else:
            yield DoesNotApply("not said to be used near petrol", len(parts))
        return
    assert site is not None
    silent = [part for part in parts if part.ignition_protected is None]
    for part in parts:
        if part.ignition_protected:
            yield Passed(_GRADE, (part.name,))
        elif part.ignition_protected is False:
            yield Finding(
                _GRADE,
                (part.name,),
                f"{part.name}: this {part.KIND} sparks and is not ignition-protected, and the build is used near petrol, whose vapour a spark lights.",
                part.span,
                remedy="Use one that is ignition-protected, or put it where no vapour can gather.",
                related=(Related("used near petrol", site.place_of(Site.near_petrol)),),
            )
    if silent:
        names = [part.name for part in silent]
        missing = f"whether {listed(names)} {'is' if len(names) == 1 else 'are'} ignition-protected"
        yield NotChecked(_GRADE, tuple(names), missing, silent[0].span, declare="ignition-protected")
