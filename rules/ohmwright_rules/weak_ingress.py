"""A case or a part on its panel that keeps out less water or dust than is asked for."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.references import Reference
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright_grammar.kinds.connector import Half
from ohmwright_grammar.kinds.distribution import Meter
from ohmwright_grammar.kinds.enclosure import Enclosure
from ohmwright_grammar.kinds.part import Part
from ohmwright_grammar.kinds.requirement import Requirement
from ohmwright_grammar.kinds.site import Site
from ohmwright_grammar.kinds.switch import Switching
from ohmwright_grammar.spans import Span

from ohmwright_rules.ingress import is_enough

RULE = Rule(
    id="weak-ingress",
    title="Weakest part lets water in",
    family="enclosure",
    subject="case or panel part",
    covers=("L8",),
    grades=(
        Grade(
            "below-use",
            Severity.WARNING,
            "a case, or a part on its panel, mated or apart, has a lower ingress rating than is asked for",
        ),
    ),
    references=(Reference("IEC 60529", "", "codes of ingress protection", "from-memory"),),
)
_GRADE = "below-use"


def check(study: Study) -> Iterator[Outcome]:
    """Hold the ingress rating of every case and of everything on its panel against what the use asks for."""
    site = study.one(Site)
    wanted, span = _asked(study, site)
    cases = sorted(study.of(Enclosure), key=lambda case: case.name)
    if not cases:
        yield DoesNotApply("no case is declared")
        return
    if wanted is None:
        if site is not None and site.outdoors and not site.says_none(Site.water_protection):
            names = tuple(case.name for case in cases)
            yield NotChecked(
                _GRADE, names, "water protection asked for (it is used outdoors)", site.span, declare="water protection IPX4"
            )
        else:
            yield DoesNotApply("no water protection is asked for", len(cases))
        return
    for part in (*cases, *_on_panels(study)):
        yield _judge(study, part, wanted, span)


def _asked(study: Study, site: Site | None) -> tuple[str | None, Span]:
    """Return the ingress code that is asked for, by the site, else by a promise, and where."""
    if site is not None and site.water_protection is not None:
        return site.water_protection, site.place_of(Site.water_protection)
    for requirement in study.of(Requirement):
        if requirement.water_protection is not None:
            return requirement.water_protection, requirement.span
    return None, study.build.rig.span


def _on_panels(study: Study) -> Iterator[Part]:
    """Yield what sits in the wall of a case: connectors on the panel, switches within reach with the lid shut, meters that say their rating."""
    for name in sorted(study.build.parts):
        part = study.build.parts[name]
        if (
            (isinstance(part, Half) and part.on_panel)
            or (isinstance(part, Switching) and part.within_reach)
            or (isinstance(part, Meter) and part.ingress is not None)
        ):
            yield part


def _judge(study: Study, part: Part, wanted: str, span: Span) -> Outcome:
    subject = (part.name,)
    ratings: list[tuple[str | None, str, str]] = [(part.ingress, "", wanted)]
    if isinstance(part, Half):
        mated = part.ingress_mated or part.ingress
        apart = part.ingress_apart or (part.ingress if part.ingress_mated is None else None)
        ratings = [(mated, " mated", f"{wanted} mated"), (apart, " apart", f"{wanted} apart")]
    for code, how, _ in ratings:
        if code is not None and not is_enough(code, wanted):
            what = "this case" if isinstance(part, Enclosure) else f"this {part.KIND}"
            return Finding(
                _GRADE,
                subject,
                f"{part.name}: {what} is {code}{how}, and {wanted} is asked for; water finds the weakest part of the wall.",
                part.span,
                remedy=f"Use one that is {wanted} or better{how}, or put it behind a cover that is.",
                related=(Related(f"{wanted} is asked for", span),),
            )
    silent = next((item for item in ratings if item[0] is None), None)
    if silent is not None:
        return NotChecked(_GRADE, subject, f"ingress rating{silent[1]}", part.span, declare=silent[2])
    return Passed(_GRADE, subject)
