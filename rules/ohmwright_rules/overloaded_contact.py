"""A connector contact that carries more than it may."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Severity
from ohmwright.references import Reference, Step
from ohmwright.rules import Case, Grade, Rule
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.records import record

from ohmwright_rules.contacts import ACCESSORY_SOCKET, Contact, Mated, matings_of
from ohmwright_rules.duty import Loading, loadings
from ohmwright_rules.verdicts import verdict
from ohmwright_rules.wording import named

RULE = Rule(
    id="overloaded-contact",
    title="Contact carries more than its rating",
    family="contacts",
    subject="connector",
    covers=("G5",),
    grades=(
        Grade("over-rating", Severity.ERROR, "a steady current is larger than one contact carries"),
        Grade(
            "neighbours-loaded",
            Severity.WARNING,
            "a steady current is larger than 0.8 of what one contact carries, while more than half of the contacts are loaded",
        ),
        Grade("ganged", Severity.WARNING, "the current of ganged contacts is larger than 0.8 of what they carry in all"),
    ),
    references=(Reference("rating of the contact", "", "as declared", "read"),),
)
_NEIGHBOURS = 0.8
_NEIGHBOURS_REFERENCE = Reference(
    "makers' curves of loaded connectors", "", "0.75 to 0.80 at half of the contacts", "from-memory"
)
_GANG = 0.8
_GANG_REFERENCE = Reference("note on parallel contacts of a defence standardisation office", "", "factor 0.8", "from-memory")
_LOADED = 0.5  # a contact is loaded above this share of its rating, and neighbours count when more than half are
_SLACK = 1e-9


@record
class _Told:
    """What a case keeps: the state, the contact, and the factor on its rating."""

    loading: Loading
    factor: float


def check(study: Study) -> Iterator[Outcome]:
    """Hold the worst steady current of every mated contact, and of contacts ganged together, against what they carry."""
    idle = accessory = 0
    for mated in matings_of(study):
        for contact in mated.contacts:
            currents = _currents(study, contact)
            if not currents:
                idle += 1
            elif contact.reference is ACCESSORY_SOCKET:
                accessory += 1
            elif contact.rated is None:
                yield _missing(mated, contact)
            else:
                yield from _single(study, mated, contact, contact.rated, currents)
        for gang in mated.gangs(study):
            yield from _gang(study, mated, gang)
    if idle:
        yield DoesNotApply("carries no steady current in any state", idle)
    if accessory:
        yield DoesNotApply("an accessory socket that says nothing, which is a matter of its own", accessory)


def _currents(study: Study, contact: Contact) -> list[tuple[Loading, float]]:
    name = contact.branch.name
    return [(loading, total) for loading in loadings(study) if (total := loading.total(name)) > 0.0]


def _missing(mated: Mated, contact: Contact) -> NotChecked:
    missing = f"current of a contact of {named(dict.fromkeys(contact.undeclared))}"
    return NotChecked("over-rating", mated.subject(contact), missing, mated.span, declare="15 A per contact")


def _neighbours(mated: Mated, loading: Loading) -> bool:
    """Tell whether more than half of the contacts carry more than half of their rating in a state."""
    loaded = sum(
        1
        for contact in mated.contacts
        if contact.rated is not None and loading.total(contact.branch.name) > _LOADED * contact.rated * (1 + _SLACK)
    )
    return loaded > mated.count / 2


def _single(
    study: Study, mated: Mated, contact: Contact, rated: float, currents: list[tuple[Loading, float]]
) -> Iterator[Outcome]:
    firm: list[Case] = []
    remembered: list[Case] = []
    for loading, total in currents:
        crowded = _neighbours(mated, loading)
        factor = mated.factor if crowded and mated.factor is not None else 1.0
        current = Amount(total, "current")
        firm.append(Case(loading.name, current, Amount(rated * factor, "current"), _Told(loading, factor)))
        if crowded and mated.factor is None:
            limit = Amount(rated * _NEIGHBOURS, "current")
            remembered.append(Case(loading.name, current, limit, _Told(loading, _NEIGHBOURS)))
    yield from _told(study, mated, contact, rated, firm, remembered)


def _told(
    study: Study, mated: Mated, contact: Contact, rated: float, firm: list[Case], remembered: list[Case]
) -> Iterator[Outcome]:
    found = verdict(study, firm, "at-most", "burn")
    grade = "over-rating"
    reference = contact.reference
    if not found.broken:
        if contact.undeclared:
            yield _missing(mated, contact)
            return
        yield Passed(grade, mated.subject(contact), found.worst.measured, found.worst.limit, state=found.worst.state)
        crowded = verdict(study, remembered, "at-most", "burn") if remembered else None
        if crowded is None or not crowded.broken:
            return
        found, grade, reference = crowded, "neighbours-loaded", _NEIGHBOURS_REFERENCE
    worst = found.worst
    told = worst.note
    assert isinstance(told, _Told)
    measured, allowed = shown_pair(worst.measured, worst.limit)
    pins = f"{contact.branch.start} and {contact.branch.end}"
    crowd = ""
    if told.factor < 1.0:
        crowd = f", {shown(Amount(rated, 'current'))} times {told.factor:g} because its neighbours are loaded"
    needed = shown(Amount(worst.measured.value / told.factor, "current"))
    yield Finding(
        grade,
        mated.subject(contact),
        f"{mated.first.name}: {measured} flows through the contact of {pins} {told.loading.when(contact.branch.name)}; "
        f"it carries {allowed}{crowd}.",
        mated.span,
        worst.measured,
        worst.limit,
        state=worst.state,
        states=found.broken,
        working=(
            Step("I_contact", "one contact, the weaker side", rated, "A", _source(contact)),
            Step("k_neighbours", "loaded neighbours", told.factor, "1", _factor_source(mated, told.factor)),
            told.loading.current_step(contact.branch.name),
            *told.loading.steps(),
        ),
        remedy=f"Use contacts for {needed} or more, or bring the current to {allowed} or less.",
        reference=reference,
        at_most=found.at_most,
    )


def _source(contact: Contact) -> str:
    return str(contact.reference) if contact.reference is not None else "as declared"


def _factor_source(mated: Mated, factor: float) -> str:
    if factor == 1.0:
        return "not more than half of the contacts are loaded" if mated.factor is None else "as declared"
    return "as declared" if mated.factor is not None else str(_NEIGHBOURS_REFERENCE)


def _gang(study: Study, mated: Mated, gang: tuple[Contact, ...]) -> Iterator[Outcome]:
    cases: list[Case] = []
    known = [contact.rated for contact in gang if contact.rated is not None]
    for loading in loadings(study):
        total = sum(loading.total(contact.branch.name) for contact in gang)
        if total > 0.0 and known:
            limit = Amount(_GANG * len(gang) * min(known), "current")
            cases.append(Case(loading.name, Amount(total, "current"), limit, loading))
    if not cases:
        return
    found = verdict(study, cases, "at-most", "burn")
    subject = mated.subject(*gang)
    worst = found.worst
    if not found.broken:
        if not any(contact.undeclared for contact in gang):
            yield Passed("ganged", subject, worst.measured, worst.limit, state=worst.state)
        return
    told = worst.note
    assert isinstance(told, Loading)
    measured, allowed = shown_pair(worst.measured, worst.limit)
    pins = ", ".join(contact.branch.start for contact in gang)
    each = shown(Amount(worst.measured.value / (_GANG * len(gang)), "current"))
    yield Finding(
        "ganged",
        subject,
        f"{mated.first.name}: {measured} flows through {len(gang)} ganged contacts ({pins}) in state {worst.state!r}; together they "
        f"carry {allowed}, because contacts in parallel share unevenly.",
        mated.span,
        worst.measured,
        worst.limit,
        state=worst.state,
        states=found.broken,
        working=(
            Step("I_contact", "one contact, the weaker side", min(known), "A", _source(gang[0])),
            Step("I_gang", f"{_GANG:g} x {len(gang)} x {min(known):.4g}", worst.limit.value, "A", str(_GANG_REFERENCE)),
            Step("I", f"state {worst.state!r}, all of them together", worst.measured.value, "A", "solved circuit"),
            *told.steps(),
        ),
        remedy=f"Use one contact for {measured}, or contacts for {each} or more each, or bring the current to {allowed} or less.",
        reference=_GANG_REFERENCE,
        at_most=found.at_most,
    )
