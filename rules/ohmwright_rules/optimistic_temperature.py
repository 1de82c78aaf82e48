"""A declared temperature that is lower than what the place, or the heat of the build itself, makes."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference
from ohmwright.rules import Case, Grade, Rule, is_broken
from ohmwright.study import SolvedState, Study
from ohmwright.thermal.air import Air, lasts_long
from ohmwright.thermal.walls import unsure_of
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.enclosure import Enclosure
from ohmwright_grammar.kinds.site import Site, Zone
from ohmwright_grammar.quantities import Celsius, Quantity

from ohmwright_rules.conductors import AMBIENT, said_of_missing
from ohmwright_rules.verdicts import verdict

RULE = Rule(
    id="optimistic-temperature",
    title="Declared temperature too kind",
    family="enclosure",
    subject="zone",
    covers=("L6",),
    grades=(
        Grade("sun-heated", Severity.NOTE, "in a vehicle or in direct sun, and no temperature of 60 degC or more is declared"),
        Grade("below-own-heat", Severity.NOTE, "a zone in a closed case declares less than the losses in that case make"),
    ),
    references=(
        Reference("inside of a parked vehicle or of a dark box in the sun", "", "60 degC", "from-memory"),
        Reference("balance of heat of the case", "", "T = T_ambient + P / (h A)", "computed"),
    ),
)
_HEATED_TO = 60.0  # degC: catalogue, L6 (from memory)


def check(study: Study) -> Iterator[Outcome]:
    """Hold the declared air against what the sun makes, and the declared range of each zone against what its losses make."""
    site = study.climate.site
    if next(study.of(Enclosure), None) is None and next(study.of(Zone), None) is None:
        yield DoesNotApply("no case and no zone")
    elif site is not None:
        yield from _in_the_sun(study, site)
    for zone in sorted(study.of(Zone), key=lambda zone: zone.name):
        yield from _by_its_losses(study, zone)


def _in_the_sun(study: Study, site: Site) -> Iterator[Outcome]:
    if site.use != "vehicle" and not site.direct_sun:
        yield DoesNotApply("nothing says that it stands in direct sun or in a vehicle")
        return
    subject = ("site",)
    if site.ambient is None:
        yield Missing(AMBIENT, site.span, said_of_missing(AMBIENT)).outcome("sun-heated", subject)
        return
    told = [float(site.ambient.high)]
    told.extend(state.setup.ambient for state in study.states if state.setup.ambient is not None)
    hottest = max(told)
    measured, limit = Amount(hottest, "temperature", site.ambient.unit), Amount(_HEATED_TO, "temperature", site.ambient.unit)
    if not is_broken(hottest, _HEATED_TO, "at-least"):
        yield Passed("sun-heated", subject, measured, limit, "at-least")
        return
    found, needed = shown_pair(measured, limit)
    place = "in a vehicle" if site.use == "vehicle" else "in direct sun"
    yield Finding(
        "sun-heated",
        subject,
        f"It is used {place}, and the hottest air that is declared is {found}; a parked vehicle or a dark box in the sun gets {needed} hot inside.",
        site.place_of(Site.ambient),
        measured,
        limit,
        sense="at-least",
        remedy=f"Declare an ambient up to {needed}, or a state of its own with that temperature; or waive this where it always stands in the shade.",
        reference=RULE.references[0],
    )


def _by_its_losses(study: Study, zone: Zone) -> Iterator[Outcome]:
    declared = zone.temperature
    if declared is None:
        yield DoesNotApply("a zone that declares no range")
        return
    case = next((found.case for found in study.contents if zone.name in found.zones), None)
    if case is None or (case.size is None and case.inside_size is None):
        yield DoesNotApply("a zone in no case of declared size")
        return
    if case.closed is False:
        yield DoesNotApply("a zone in a case that is not closed")
        return
    high = float(declared.high)
    airs = [
        (state, air)
        for state in study.telling_states
        if state.solved and lasts_long(state.setup) and state.setup.inside is None
        if isinstance(air := study.airs.inside(case.name, state), Air)
    ]
    broken = [item for item in airs if is_broken(item[1].low, high, "at-most")]
    subject = (zone.name,)
    unsure = unsure_of(case)
    if unsure is not None and any(is_broken(air.high, high, "at-most") for _, air in airs):
        yield unsure.outcome("below-own-heat", subject)
        return
    if broken:
        yield _finding(study, zone, case.name, declared, broken)
        return
    open_to = next((item for item in airs if item[1].lacking is not None and is_broken(item[1].high, high, "at-most")), None)
    if open_to is not None and open_to[1].lacking is not None:
        lacking = open_to[1].lacking
        yield lacking.outcome("below-own-heat", subject, open_to[0].name)
    elif airs:
        state, air = max(airs, key=lambda item: item[1].high)
        yield Passed("below-own-heat", subject, Amount(air.high, "temperature"), Amount(high, "temperature"), state=state.name)
    else:
        yield DoesNotApply("no state that lasts")


def _finding(
    study: Study, zone: Zone, case: str, declared: Quantity[Celsius], broken: list[tuple[SolvedState, Air]]
) -> Finding:
    high = float(declared.high)
    cases = [
        Case(state.name, Amount(air.low, "temperature", declared.unit), Amount(high, "temperature", declared.unit), air)
        for state, air in broken
    ]
    found = verdict(study, cases, "at-most", "life")
    air = next(air for state, air in broken if state.name == found.worst.state)
    measured, allowed = shown_pair(found.worst.measured, found.worst.limit)
    power, rise = shown(Amount(air.power, "power")), shown(Amount(air.rise, "difference"))
    return Finding(
        "below-own-heat",
        (zone.name, case),
        f"{zone.name}: it declares {allowed} at most; in state {found.worst.state!r} {power} are lost in {case}, {rise} above the air outside: {measured}. "
        f"What is judged by the declared range is judged too kindly.",
        zone.place_of(Zone.temperature),
        found.worst.measured,
        found.worst.limit,
        state=found.worst.state,
        states=found.broken,
        working=air.steps,
        remedy=f"Declare up to {measured}, leave the range out so that it is summed, or waive this where {allowed} was measured in that state.",
        related=(Related(f"the walls of {case}", study.span(case)),),
        reference=RULE.references[1],
        at_most=found.at_most,
    )
