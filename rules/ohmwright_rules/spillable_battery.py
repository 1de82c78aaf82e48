"""A battery with liquid acid in something that is carried, and so gets tipped."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.references import Reference, common_practice
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.site import Site

RULE = Rule(
    id="spillable-battery",
    title="Battery that spills in a box that is carried",
    family="enclosure",
    subject="battery",
    covers=("L11",),
    grades=(Grade("portable", Severity.ERROR, "a flooded battery lies in a build that is portable"),),
    references=(
        common_practice("what is carried gets tipped"),
        Reference("49 CFR 173.159", "as on a law mirror", "(a): no spill", "secondary"),
    ),
)
_GRADE = "portable"


def check(study: Study) -> Iterator[Outcome]:
    """Hold the build of every battery against how the box is used."""
    site = study.one(Site)
    use = site.use if site is not None else None
    idle = 0
    for battery in sorted(study.of(Battery), key=lambda part: part.name):
        subject = (battery.name,)
        if use is None and battery.chemistry == "flooded":
            where = site.span if site is not None else study.build.rig.span
            missing = "how the box is used (portable, vehicle, boat or fixed)"
            yield NotChecked(_GRADE, subject, missing, where, declare="fixed" if site is not None else "site { fixed }")
        elif use != "portable":
            idle += 1
        elif battery.chemistry is None:
            yield NotChecked(_GRADE, subject, "chemistry", battery.span, declare="AGM")
        elif battery.chemistry != "flooded":
            yield Passed(_GRADE, subject)
        else:
            assert site is not None
            yield Finding(
                _GRADE,
                subject,
                f"{battery.name}: it is flooded, and the box is portable; tipped, it spills acid over what is beside it and whoever carries it.",
                battery.span,
                remedy="Use one that does not spill: AGM, gel or lithium iron phosphate.",
                related=(Related("it is portable", site.place_of(Site.use)),),
            )
    if idle:
        yield DoesNotApply("not carried, or a battery that does not spill", idle)
