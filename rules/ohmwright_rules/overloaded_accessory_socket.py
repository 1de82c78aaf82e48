"""An accessory (lighter) socket that carries more for hours than its small spring contact bears, or than its fuse."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.references import Reference, Step
from ohmwright.rules import Case, Grade, Rule
from ohmwright.study import Study
from ohmwright.values import Amount, shown_pair
from ohmwright_grammar.records import record

from ohmwright_rules.contacts import ACCESSORY_SOCKET, Contact, Mated, is_accessory_socket, matings_of
from ohmwright_rules.duty import Loading, loadings
from ohmwright_rules.guarding import rating_of
from ohmwright_rules.halves import closed_gates, poles_of
from ohmwright_rules.verdicts import verdict

RULE = Rule(
    id="overloaded-accessory-socket",
    title="Accessory socket carries too much for hours",
    family="connectors",
    subject="connector",
    covers=("G17",),
    grades=(
        Grade(
            "overloaded",
            Severity.WARNING,
            "a steady current through an accessory socket is larger than 10 A, than its rating or than its fuse",
        ),
    ),
    references=(ACCESSORY_SOCKET, Reference("rating of the socket, or of its fuse", "", "as declared", "read")),
)
_DEFAULT = 10.0  # A
_NONE = "there is no accessory socket that is mated"
_IDLE = "carries no steady current in any state"


@record
class _Limit:
    """The largest steady current of a socket [A], and where it comes from."""

    current: float
    words: str
    step: Step
    device: Branch | None = None
    declared: bool = False


def check(study: Study) -> Iterator[Outcome]:
    """Hold the steady current of every accessory socket against its rating, else 10 A, and its fuse."""
    found = [mated for mated in matings_of(study) if is_accessory_socket(mated.first) or is_accessory_socket(mated.second)]
    if not found:
        yield DoesNotApply(_NONE)
    idle = 0
    for mated in found:
        contact = _plus(study, mated)
        name = contact.branch.name
        limit = _limit(study, mated, contact)
        allowed = Amount(limit.current, "current")
        cases = [
            Case(loading.name, Amount(total, "current"), allowed, loading)
            for loading in loadings(study)
            if (total := loading.total(name)) > 0.0
        ]
        if not cases:
            idle += 1
            continue
        result = verdict(study, cases, "at-most", "burn")
        worst = result.worst
        if not result.broken:
            yield Passed("overloaded", mated.subject(contact), worst.measured, worst.limit, state=worst.state)
            continue
        loading = worst.note
        assert isinstance(loading, Loading)
        flows, bears = shown_pair(worst.measured, allowed)
        yield Finding(
            "overloaded",
            mated.subject(contact),
            f"{mated.first.name}: {flows} flow through this accessory socket {loading.when(name)}; {limit.words} {bears}.",
            mated.span,
            worst.measured,
            allowed,
            state=worst.state,
            states=result.broken,
            working=(limit.step, loading.current_step(name), *loading.steps()),
            remedy=f"Bring the current to {bears} or less, or give the load a connector that carries {flows} for long.",
            related=(Related(f"{limit.device.part}, its fuse", limit.device.span),) if limit.device is not None else (),
            reference=RULE.references[1] if limit.declared else RULE.references[0],
            at_most=result.at_most,
        )
    if idle:
        yield DoesNotApply(_IDLE, idle)


def _plus(study: Study, mated: Mated) -> Contact:
    poles = poles_of(study)
    return next((contact for contact in mated.contacts if poles.of(contact.branch.start) == "plus"), mated.contacts[0])


def _limit(study: Study, mated: Mated, contact: Contact) -> _Limit:
    if contact.rated is not None and contact.reference is None:
        step = Step("I_socket", "one contact, the weaker side", contact.rated, "A", "as declared")
        limit = _Limit(contact.rated, "its contact carries", step, declared=True)
    else:
        step = Step("I_socket", "accessory socket that says nothing", _DEFAULT, "A", str(ACCESSORY_SOCKET))
        limit = _Limit(_DEFAULT, "for hours its spring contact carries", step)
    device = _device(study, contact)
    if device is not None and device[1] < limit.current:
        step = Step("I_fuse", f"rating of {device[0].part}", device[1], "A", "as declared")
        limit = _Limit(device[1], f"{device[0].part} before it is for", step, device[0], declared=True)
    return limit


def _device(study: Study, contact: Contact) -> tuple[Branch, float] | None:
    """Return the smallest device between a contact and the nearest battery, with its rating [A]; None without one."""
    ends = {source.plus for source in study.circuit.sources if source.kind == "battery"}
    way = study.circuit.path(contact.branch.start, ends, open_gates=closed_gates(study)) or ()
    rated = [
        (rating, branch.name, branch) for branch in way if branch.device and (rating := rating_of(study, branch)) is not None
    ]
    if not rated:
        return None
    rating, _, branch = min(rated)
    return branch, rating
