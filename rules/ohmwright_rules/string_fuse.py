"""A fuse or breaker in the lead of one string: larger than its modules allow, or so small that a bright day opens it."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.array import Array
from ohmwright_grammar.kinds.fuse import Fuse
from ohmwright_grammar.quantities import Ampere, Quantity

from ohmwright_rules.array_leads import Lead, array_leads
from ohmwright_rules.basis import Basis, Number, get
from ohmwright_rules.conductors import basis_of
from ohmwright_rules.guarding import device_word
from ohmwright_rules.string_leads import is_own_lead

RULE = Rule(
    id="string-fuse",
    title="String fuse outside its window",
    family="protection",
    subject="device",
    covers=("A8",),
    grades=(
        Grade("too-large", Severity.ERROR, "the rating is above the largest series fuse of the modules"),
        Grade("too-small", Severity.WARNING, "the rating is below what hours of bright sun ask for"),
        Grade("over-window", Severity.WARNING, "on iec: the rating is above 2.4 times the short-circuit current"),
    ),
    references=(
        Reference("label of the module", "", "largest series fuse, as declared", "read"),
        Reference("NFPA 70 (NEC)", "2020", "690.8(A) and 690.9(B)", "secondary"),
        Reference("IEC 62548", "2016", "1.5 to 2.4 times the short-circuit current", "secondary"),
    ),
)


def check(study: Study) -> Iterator[Outcome]:
    """Hold the rating of every fuse and breaker in the lead of a single string against the modules' own limit and the sun."""
    basis = basis_of(study) or get("us-premises")
    through: dict[str, list[Lead]] = {}
    for lead in array_leads(study).values():
        if isinstance(study.part(lead.branch.part), Fuse):
            through.setdefault(lead.branch.part, []).append(lead)
    shared = 0
    for name in sorted(through):
        own = [lead for lead in through[name] if is_own_lead(study, lead)]
        part = study.part(name)
        assert isinstance(part, Fuse)
        if own:
            yield from _judge(study, basis, part, own)
        else:
            shared += 1
    if shared:
        yield DoesNotApply("carries the current of several strings or of loads (weak-array-device holds it to the sum)", shared)


def _judge(study: Study, basis: Basis, part: Fuse, leads: list[Lead]) -> Iterator[Outcome]:
    subject = (part.name,)
    rated = part.rated_current
    if rated is None:
        yield Missing("rated current", part.span, "15 A").outcome("too-large", subject)
        return
    too_large = _too_large(study, part, rated, leads)
    yield too_large
    missing = next((lead.missing for lead in leads if lead.missing is not None), None)
    if missing is not None:
        yield missing.outcome("too-small", subject)
        return
    brightest = max(leads, key=lambda lead: lead.current)
    yield _too_small(study, part, rated, brightest, basis.string_fuse_least)
    if basis.string_fuse_most is not None and not isinstance(too_large, Finding):
        yield _over_window(study, part, rated, min(leads, key=lambda lead: lead.current), basis.string_fuse_most)


def _modules(study: Study, leads: list[Lead]) -> list[Array]:
    return [array for lead in leads for name in lead.arrays if isinstance(array := study.part(name), Array)]


def _too_large(study: Study, part: Fuse, rated: Quantity[Ampere], leads: list[Lead]) -> Outcome:
    subject = (part.name,)
    allowed: tuple[Amount, Array] | None = None
    for array in _modules(study, leads):
        most = array.largest_series_fuse
        if most is None:
            return Missing(f"largest series fuse of {array.name}", array.span, "largest series fuse 15 A").outcome(
                "too-large", subject
            )
        if allowed is None or most.low < allowed[0].value:
            allowed = Amount(float(most.low), "current", most.unit), array
    assert allowed is not None
    limit, array = allowed
    measured = Amount(float(rated.high), "current", rated.unit)
    if not is_broken(measured.value, limit.value, "at-most"):
        return Passed("too-large", subject, measured, limit)
    word = device_word(part)
    amperes, most_words = shown_pair(measured, limit)
    return Finding(
        "too-large",
        subject,
        f"{part.name}: this {word} of {amperes} is in the lead of {array.name}, whose modules allow a series fuse of {most_words} at most; "
        "current pushed back into a faulty module would not open it in time.",
        part.place_of(Fuse.rated_current),
        measured,
        limit,
        working=(
            Step("I_series", f"largest series fuse of {array.name}", limit.value, "A", "label of the module, as declared"),
        ),
        remedy=f"Use a {word} of {most_words} or less.",
        related=(Related(f"{array.name}: its largest series fuse", array.place_of(Array.largest_series_fuse)),),
    )


def _too_small(study: Study, part: Fuse, rated: Quantity[Ampere], lead: Lead, number: Number) -> Outcome:
    measured, limit = (
        Amount(float(rated.low), "current", rated.unit),
        Amount(number.value * lead.current, "current", rated.unit),
    )
    if not is_broken(measured.value, limit.value, "at-least"):
        return Passed("too-small", (part.name,), measured, limit, "at-least")
    word = device_word(part)
    amperes, needed = shown_pair(measured, limit)
    plain = shown(Amount(lead.current, "current", rated.unit))
    return Finding(
        "too-small",
        (part.name,),
        f"{part.name}: bright sun on {lead.words} asks for {needed} ({number.value:.5g} times {plain}); this {word} of {amperes} can open on a bright day.",
        part.place_of(Fuse.rated_current),
        measured,
        limit,
        "at-least",
        working=(lead.step, Step("I_least", f"{number.value:.5g} x {lead.current:.4g}", limit.value, "A", number.source)),
        remedy=f"Use a {word} of {needed} or more{_within(study, [lead])}.",
        related=_related(study, lead),
        reference=number.reference,
    )


def _within(study: Study, leads: list[Lead]) -> str:
    limits = [array.largest_series_fuse for array in _modules(study, leads)]
    known = [limit for limit in limits if limit is not None]
    if not known:
        return ""
    least = min(known, key=lambda limit: limit.low)
    return f", up to the {shown(Amount(float(least.low), 'current', least.unit))} that the modules allow"


def _over_window(study: Study, part: Fuse, rated: Quantity[Ampere], lead: Lead, number: Number) -> Outcome:
    measured, limit = (
        Amount(float(rated.high), "current", rated.unit),
        Amount(number.value * lead.current, "current", rated.unit),
    )
    if not is_broken(measured.value, limit.value, "at-most"):
        return Passed("over-window", (part.name,), measured, limit)
    word = device_word(part)
    amperes, most = shown_pair(measured, limit)
    plain = shown(Amount(lead.current, "current", rated.unit))
    return Finding(
        "over-window",
        (part.name,),
        f"{part.name}: this {word} of {amperes} is above {most}, {number.value:g} times the {plain} of {lead.words}.",
        part.place_of(Fuse.rated_current),
        measured,
        limit,
        working=(lead.step, Step("I_most", f"{number.value:.5g} x {lead.current:.4g}", limit.value, "A", number.source)),
        remedy=f"Use a {word} of {most} or less.",
        related=_related(study, lead),
        reference=number.reference,
    )


def _related(study: Study, lead: Lead) -> tuple[Related, ...]:
    return tuple(Related(f"{array.name}: its modules", array.place_of(Array.isc)) for array in _modules(study, [lead])[:8])
