"""A switch, breaker or fuse in the leads of an array that is not made for its direct current: rated for AC only, for too little voltage or current."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step, common_practice
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.array import Array
from ohmwright_grammar.kinds.fuse import Fuse
from ohmwright_grammar.kinds.switch import Switching
from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Span

from ohmwright_rules.array_leads import Lead, array_leads
from ohmwright_rules.basis import Basis, Number, get
from ohmwright_rules.conductors import basis_of
from ohmwright_rules.string_leads import is_own_lead
from ohmwright_rules.sunside import Cold, cold_of

RULE = Rule(
    id="weak-array-device",
    title="Device in array leads not made for their direct current",
    family="protection",
    subject="device",
    covers=("A10",),
    grades=(
        Grade("ac-only", Severity.ERROR, "a device that is rated for AC only stands in the leads of an array"),
        Grade("under-voltage", Severity.ERROR, "the open-circuit voltage at the record low is above its DC rating"),
        Grade("under-current", Severity.ERROR, "the current of bright sun is above its rating"),
    ),
    references=(
        Reference("NFPA 70 (NEC)", "2020", "690.9, with 690.7 and 690.8", "secondary"),
        common_practice("a device breaks only what it is rated for"),
    ),
)


@record
class _Need:
    """What the leads through one part ask of it: the lead with the most current, and the highest cold voltage of any."""

    lead: Lead
    cold: Cold | Missing
    is_string_fuse: bool


def check(study: Study) -> Iterator[Outcome]:
    """Hold every switch, breaker and fuse in the leads of arrays against their cold voltage and the current of bright sun."""
    basis = basis_of(study) or get("us-premises")
    through: dict[str, list[Lead]] = {}
    for lead in array_leads(study).values():
        if isinstance(study.part(lead.branch.part), Fuse | Switching):
            through.setdefault(lead.branch.part, []).append(lead)
    string_fuses = 0
    for name in sorted(through):
        part = study.part(name)
        assert isinstance(part, Fuse | Switching)
        need = _need(study, part, through[name])
        string_fuses += need.is_string_fuse
        yield from _judge(study, basis, part, need)
    if string_fuses:
        yield DoesNotApply("the current of one string through its own fuse, which string-fuse judges", string_fuses)


def _need(study: Study, part: Fuse | Switching, leads: list[Lead]) -> _Need:
    most = max(leads, key=lambda lead: (lead.missing is None, lead.current))
    colds = [cold_of(study, (lead.arrangement,), plugged=True) for lead in leads]
    missing = next((cold for cold in colds if isinstance(cold, Missing)), None)
    known = [cold for cold in colds if isinstance(cold, Cold)]
    own = isinstance(part, Fuse) and all(is_own_lead(study, lead) for lead in leads)
    return _Need(most, missing or max(known, key=lambda cold: cold.volt), own)


def _judge(study: Study, basis: Basis, part: Fuse | Switching, need: _Need) -> Iterator[Outcome]:
    subject = (part.name,)
    datum = Fuse.voltage_ac_only if isinstance(part, Fuse) else Switching.ac_only
    if (part.voltage_ac_only if isinstance(part, Fuse) else part.ac_only) is True:
        yield Finding(
            "ac-only",
            subject,
            f"{part.name}: this {_word(part)} is rated for AC only and stands in the leads of {need.lead.words}; "
            "a DC arc has no zero crossing that puts it out.",
            part.place_of(datum),
            remedy=f"Use a {_word(part)} with a DC rating for {_asked(need)}.",
            related=_related(study, need.lead),
            reference=RULE.references[1],
        )
        return
    yield Passed("ac-only", subject)
    yield _voltage(study, part, need)
    if not need.is_string_fuse:
        yield _current(study, basis, part, need)


def _asked(need: _Need) -> str:
    volt = shown(Amount(need.cold.volt, "voltage")) if isinstance(need.cold, Cold) else "the array's voltage in frost"
    return f"{volt} or more"


def _word(part: Fuse | Switching) -> str:
    return part.KIND


def _voltage(study: Study, part: Fuse | Switching, need: _Need) -> Outcome:
    subject = (part.name,)
    found = _rated_voltage(part)
    if found is None:
        return _unrated(part).outcome("under-voltage", subject)
    if isinstance(need.cold, Missing):
        return need.cold.outcome("under-voltage", subject)
    measured, limit = Amount(need.cold.volt, "voltage", found.unit), found
    if not is_broken(measured.value, limit.value, "at-most"):
        return Passed("under-voltage", subject, measured, limit)
    reached, allowed = shown_pair(measured, limit)
    string = " + ".join(need.cold.string)
    return Finding(
        "under-voltage",
        subject,
        f"{part.name}: with nothing drawn, {string} reaches {reached} at {need.cold.temperature:g} degC; "
        f"this {_word(part)} is rated for {allowed} DC, and above that its arc may not go out.",
        part.place_of(Fuse.voltage_dc if isinstance(part, Fuse) else Switching.breaks),
        measured,
        limit,
        working=need.cold.steps,
        remedy=f"Use a {_word(part)} rated for {reached} DC or more.",
        related=_related(study, need.lead),
    )


def _rated_voltage(part: Fuse | Switching) -> Amount | None:
    """Return the DC voltage that a device is rated for; of a switch the highest at which it breaks anything."""
    if isinstance(part, Fuse):
        return Amount(float(part.voltage_dc.low), "voltage", part.voltage_dc.unit) if part.voltage_dc is not None else None
    best = max(part.breaks or (), key=lambda rating: float(rating.at.low), default=None)
    return Amount(float(best.at.low), "voltage", best.at.unit) if best is not None else None


def _unrated(part: Fuse | Switching) -> Missing:
    if isinstance(part, Fuse):
        return Missing("voltage rating for DC", part.span, "^58 V dc")
    return Missing("DC current that it breaks, and at which voltage", part.span, "breaks 20 A at ^58 V dc")


def _current(study: Study, basis: Basis, part: Fuse | Switching, need: _Need) -> Outcome:
    """Hold the current of bright sun against what a device carries, and what a switch breaks at the array's voltage."""
    subject = (part.name,)
    lead = need.lead
    if part.rated_current is None:
        what = "rated current" if isinstance(part, Fuse) else "current that it carries for long"
        return Missing(what, part.span, "20 A" if isinstance(part, Fuse) else "carries 20 A").outcome("under-current", subject)
    number = basis.array_device if isinstance(part, Fuse) else basis.array_current
    unit = part.rated_current.unit
    limit = Amount(float(part.rated_current.low), "current", unit)
    place, how = part.place_of(Fuse.rated_current if isinstance(part, Fuse) else Switching.rated_current), "is rated for"
    broken_at = None
    if isinstance(part, Switching) and isinstance(need.cold, Cold):
        volt = need.cold.volt
        holding = [rating for rating in part.breaks or () if not is_broken(volt, float(rating.at.low), "at-most")]
        broken_at = max(holding, key=lambda rating: float(rating.current.low), default=None)
        if broken_at is not None and float(broken_at.current.low) < limit.value:
            limit = Amount(float(broken_at.current.low), "current", broken_at.current.unit)
            place, how = part.place_of(Switching.breaks), f"breaks at {shown(Amount(volt, 'voltage'))}"
    measured = Amount(number.value * lead.current, "current", limit.unit)
    if is_broken(measured.value, limit.value, "at-most"):
        return _over_current(study, part, lead, number, measured, limit, how, place)
    if lead.missing is not None:
        return lead.missing.outcome("under-current", subject)
    if isinstance(part, Switching) and broken_at is None:
        found = need.cold if isinstance(need.cold, Missing) else _unrated(part) if not part.breaks else None
        if found is not None:
            return found.outcome("under-current", subject)
    return Passed("under-current", subject, measured, limit)


def _over_current(
    study: Study, part: Fuse | Switching, lead: Lead, number: Number, measured: Amount, limit: Amount, how: str, place: Span
) -> Finding:
    bright, allowed = shown_pair(measured, limit)
    plain = shown(Amount(lead.current, "current", limit.unit))
    over_as_it_is = is_broken(lead.current, limit.value, "at-most")
    says = f"this {_word(part)} {how} {allowed}" if how == "is rated for" else f"this {_word(part)} {how} only {allowed}"
    return Finding(
        "under-current",
        (part.name,),
        f"{part.name}: {lead.words} can push {bright} through it ({number.value:.5g} times {plain} in bright sun); {says}.",
        place,
        measured,
        limit,
        working=(lead.step, Step("I_bright", f"{number.value:.5g} x {lead.current:.4g}", measured.value, "A", number.source)),
        remedy=f"Use a {_word(part)} for {bright} or more.",
        related=_related(study, lead),
        reference=RULE.references[1] if over_as_it_is else number.reference,
    )


def _related(study: Study, lead: Lead) -> tuple[Related, ...]:
    found = []
    for name in lead.arrays[:8]:
        array = study.part(name)
        assert isinstance(array, Array)
        found.append(Related(f"{name}: its modules", array.place_of(Array.voc)))
    return tuple(found)
