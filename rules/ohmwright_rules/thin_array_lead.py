"""A lead of an array that is too thin for the current of bright sun, which flows for hours."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, is_remembered, weakest
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.array import Array
from ohmwright_grammar.records import record, replace
from ohmwright_grammar.spans import Span

from ohmwright_rules.ampacity import Ampacity, Demand, ampacity, demand
from ohmwright_rules.array_leads import Lead, array_leads
from ohmwright_rules.basis import Basis
from ohmwright_rules.conductors import AMBIENT, basis_of, cables_of, gauge_of, is_cord, laying_of, said_of_missing, unsaid_of
from ohmwright_rules.guarding import Guarding, guarding
from ohmwright_rules.laying import Laying, Unknown
from ohmwright_rules.verdicts import times_allowed

RULE = Rule(
    id="thin-array-lead",
    title="Array lead too thin for bright sun",
    family="conductors",
    subject="conductor",
    covers=("A9",),
    grades=(
        Grade(
            "over-ampacity",
            Severity.ERROR,
            "1.25 times the short-circuit current, or 1.5625 times before corrections, is over the ampacity",
        ),
    ),
    references=(
        Reference("NFPA 70 (NEC)", "2020", "690.8(A) and (B)", "secondary"),
        Reference("33 CFR 183.425", "as on a law mirror, undated", "(b) and Table 5", "read"),
        Reference("IEC 60364-5-52", "2009", "Tables B.52.2 to B.52.17", "secondary"),
    ),
)
_GRADE = "over-ampacity"

# What nobody said, at its harshest: the coolest class of insulation, a full conduit.
_COOLEST_CLASS = 60.0
_FULL = {"in_conduit": True, "in_free_air": False, "together": 40, "bundled_length": 10.0, "method": ""}


@record
class _Test:
    """One of the two tests of an ampacity: what bright sun asks for, what the conductor has [A], and how that is said."""

    measured: float
    limit: float
    factor: float
    after_corrections: bool
    reference: Reference

    @property
    def share(self) -> float:
        return times_allowed(self.measured, self.limit)

    @property
    def broken(self) -> bool:
        return is_broken(self.measured, self.limit, "at-most")


@record
class _Judged:
    """A lead with its ampacity and the harder of its tests."""

    lead: Lead
    laying: Laying
    rated: Ampacity
    asked: Demand
    test: _Test
    air: float


def check(study: Study) -> Iterator[Outcome]:
    """Hold every conductor between arrays and what they push into against the current of bright sun."""
    basis = basis_of(study)
    guard = guarding(study)
    leads = array_leads(study)
    groups: dict[str, list[Lead]] = {}
    devices = 0
    for name in sorted(leads):
        branch = leads[name].branch
        if branch.conductor is None:
            continue
        if branch.conductor.inside_device:
            devices += 1
        else:
            groups.setdefault(branch.part if branch.part in cables_of(study) else name, []).append(leads[name])
    for name, group in sorted(groups.items()):
        subject = (name, *(lead.branch.name for lead in group if lead.branch.name != name))
        if basis is None or guard is None:
            yield Missing("basis", study.span(name), said_of_missing("basis")).outcome(_GRADE, subject)
        else:
            yield _outcome(study, basis, guard, subject, group)
    if devices:
        yield DoesNotApply("inside a bought device or part of it", devices)


def _outcome(study: Study, basis: Basis, guard: Guarding, subject: tuple[str, ...], group: list[Lead]) -> Outcome:
    judged: list[_Judged] = []
    missing: Missing | None = None
    for lead in group:
        found = _judge(study, basis, guard, lead)
        if isinstance(found, Missing):
            missing = missing or found
        else:
            judged.append(found)
    worst = max(judged, key=lambda item: item.test.share, default=None)
    if worst is not None and worst.test.broken:
        return _finding(study, basis, subject, worst)
    if missing is not None or worst is None:
        assert missing is not None
        return missing.outcome(_GRADE, subject)
    return Passed(_GRADE, subject, Amount(worst.test.measured, "current"), Amount(worst.test.limit, "current"))


def _judge(study: Study, basis: Basis, guard: Guarding, lead: Lead) -> _Judged | Missing:
    """Try what nobody said at its kindest to find fault, at its harshest to find none; between them the datum is missing."""
    wire = lead.branch
    air, known = guard.air(wire)
    found = laying_of(study, wire, ambient=air)
    if isinstance(found, Unknown):
        return Missing(found.missing, wire.span, said_of_missing(found.missing))
    laying = replace(found, use="array", voltage=guard.voltage(wire, found))
    asked = demand(basis, lead.current, use="array")
    rated = ampacity(basis, laying)
    if isinstance(rated, Ampacity):
        test = _harder(basis, lead, rated, asked)
        if test.broken:
            return _Judged(lead, laying, rated, asked, test, air)
    if lead.missing is not None:
        return lead.missing
    state = next(iter(study.states), None)
    unsaid = unsaid_of(study, wire, state) if known else AMBIENT
    if isinstance(rated, Ampacity) and not unsaid:
        return _Judged(lead, laying, rated, asked, test, air)
    what = rated.missing if isinstance(rated, Unknown) else unsaid
    missing = Missing(what, wire.span, said_of_missing(what))
    if not known:
        return missing
    harsh = laying if laying.insulation is not None else replace(laying, insulation=_COOLEST_CLASS)
    if unsaid:
        harsh = replace(harsh, **_FULL)  # type: ignore[arg-type]
    tried = ampacity(basis, harsh)
    if isinstance(tried, Unknown):
        return missing
    test = _harder(basis, lead, tried, asked)
    return missing if test.broken else _Judged(lead, harsh, tried, asked, test, air)


def _harder(basis: Basis, lead: Lead, rated: Ampacity, asked: Demand) -> _Test:
    """Return the harder of the two tests; of broken ones first what needs no remembered figure."""
    tests = (
        _test(
            lead,
            asked.table,
            rated.table_value,
            basis.array_conductor.value,
            False,
            (rated.reference, basis.array_conductor.reference),
        ),
        _test(
            lead,
            asked.corrected,
            rated.unwound,
            basis.array_current.value,
            True,
            (rated.weakest, basis.array_current.reference),
        ),
    )
    return max(tests, key=lambda test: (test.broken and not is_remembered(test.reference), test.share))


def _test(
    lead: Lead, measured: float, limit: float, factor: float, after: bool, references: tuple[Reference, Reference]
) -> _Test:
    plain = is_broken(lead.current, limit, "at-most")  # then no factor is needed for the verdict
    reference = references[0] if plain else weakest(references)
    assert reference is not None
    return _Test(measured, limit, factor, after, reference)


def _finding(study: Study, basis: Basis, subject: tuple[str, ...], worst: _Judged) -> Finding:
    from ohmwright_rules.sizing import smallest_for_current

    lead, test = worst.lead, worst.test
    wire = lead.branch
    conductor = wire.conductor
    assert conductor is not None
    measured, limit = Amount(test.measured, "current"), Amount(test.limit, "current")
    bright, allowed = shown_pair(measured, limit)
    plain = shown(Amount(lead.current, "current"))
    cable = cables_of(study).get(wire.part)
    what = f"{gauge_of(wire)} cord" if is_cord(conductor, cable) else gauge_of(wire)
    name = subject[0]
    if test.after_corrections:
        text = f"{name}: bright sun on {lead.words} drives up to {bright} through it ({test.factor:g} times {plain}); this {what} is rated for {allowed} here."
    else:
        text = (
            f"{name}: {lead.words} bring {plain}, which for hours of bright sun count {test.factor:.5g} times: {bright}; "
            f"the table gives this {what} {allowed}."
        ).replace("bring", "brings" if len(lead.arrays) == 1 else "bring", 1)
    larger = smallest_for_current(basis, replace(worst.laying, coiled=False), worst.asked)
    remedy = (
        f"Use {larger.gauge.text} or larger." if larger is not None else "No listed size carries it: lead the strings apart."
    )
    return Finding(
        _GRADE,
        subject,
        text,
        wire.span if cable is None else cable.span,
        measured,
        limit,
        working=(*worst.rated.steps, lead.step, *worst.asked.steps),
        remedy=remedy,
        related=tuple(Related(f"{array}: its modules", _place(study, array)) for array in lead.arrays[:8]),
        reference=test.reference,
    )


def _place(study: Study, name: str) -> Span:
    array = study.part(name)
    assert isinstance(array, Array)
    return array.place_of(Array.isc)
