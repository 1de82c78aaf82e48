"""A stored build that is empty sooner than promised, and which consumer empties it."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, common_practice
from ohmwright.results import Promise, Verdict
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.requirement import Requirement

from ohmwright_rules.drains import Bank
from ohmwright_rules.lasting import ENDLESS, USUAL_TIME, Lasting, lasting, milliampere, shares
from ohmwright_rules.storing import Stored, banks, stored

RULE = Rule(
    id="shelf-life",
    title="Stored build empty sooner than promised",
    family="storage",
    subject="battery",
    covers=("K1",),
    grades=(
        Grade("under-promise", Severity.ERROR, "a bank lasts for less time on the shelf than is required"),
        Grade("under-three-months", Severity.WARNING, "nothing is required, and a bank lasts for less than three months"),
    ),
    references=(
        common_practice("charge that may be used over all drains and self-discharge"),
        Reference("comparison charts and trade pages", "", "usable depth, self-discharge", "secondary"),
    ),
)
_FORMULA = "months = (level at the start - level at the end) x C / (sum of drains x 730 h + self-discharge x C)"


def check(study: Study) -> Iterator[Outcome | Promise]:
    """Tell how long every stored bank lasts, and hold it against what is promised."""
    kept_together = banks(study)
    required = [item for item in study.of(Requirement) if item.shelf_time is not None]
    if not kept_together:
        yield DoesNotApply("there is no battery")
    state = stored(study)
    known = [(bank, lasting(study, bank, state)) for bank in kept_together]
    for bank, found in known:
        for requirement in required:
            yield _judge(study, bank, found, state, requirement)
        if not required:
            yield _judge(study, bank, found, state, None)
    for requirement in required:
        yield _promise(requirement, known)


def _judge(study: Study, bank: Bank, found: Lasting | Missing, state: Stored, requirement: Requirement | None) -> Outcome:
    grade = "under-promise" if requirement is not None else "under-three-months"
    if isinstance(found, Missing):
        return found.outcome(grade, bank.names, state.name)
    promised = requirement.shelf_time if requirement is not None else None
    limit = (
        Amount(float(promised.high), "time", promised.unit) if promised is not None else Amount(USUAL_TIME, "time", "months")
    )
    measured = Amount(found.time, "time", limit.unit)
    if is_broken(measured.value, limit.value, "at-least"):
        return _finding(study, bank, found, state, grade, measured, limit, requirement)
    if bank.missing:
        return bank.missing[0].outcome(grade, bank.names, state.name)
    return Passed(grade, bank.names, measured, limit, "at-least", state.name)


def _finding(
    study: Study,
    bank: Bank,
    found: Lasting,
    state: Stored,
    grade: str,
    measured: Amount,
    limit: Amount,
    requirement: Requirement | None,
) -> Finding:
    lasts, wanted = shown_pair(measured, limit)
    promise = f"{wanted} are required" if requirement is not None else f"under {wanted} a forgotten box is found empty"
    more = f" {len(bank.missing)} more may drain it: {', '.join(item.what for item in bank.missing)}." if bank.missing else ""
    return Finding(
        grade,
        bank.names,
        f"{bank.words}: stored as in state {state.name!r} it lasts {lasts}; {promise}. {shares(found)}.{more}",
        bank.batteries[0].span,
        measured,
        limit,
        "at-least",
        state=state.name,
        working=found.steps,
        remedy=_remedy(found, limit),
        related=(
            *(
                Related(f"{drain.name} takes {shown(Amount(drain.current, 'current', 'mA'))}", drain.span)
                for drain in bank.drains
            ),
            *((Related("the requirement", requirement.span),) if requirement is not None else ()),
        ),
        reference=found.reference,
    )


def _remedy(found: Lasting, limit: Amount) -> str:
    if found.usable <= 0.0:
        return "Nothing is left in it at the level from which it is stored: store it fuller."
    allowed = found.usable / limit.value - found.self_discharge
    largest = found.bank.drains[0] if found.bank.drains else None
    if allowed <= 0 or largest is None:
        alone = shown(Amount(found.usable / found.self_discharge, "time", limit.unit))
        often = shown(Amount(found.time, "time", limit.unit))
        return f"Self-discharge alone empties it in {alone}: top it up every {often}, or store it fuller."
    rest = found.lost - largest.current
    longer = min(found.usable / rest, ENDLESS) if rest > 0 else ENDLESS
    ends = "long enough" if longer >= limit.value else "still too short"
    without = f"; without {largest.name} it lasts {shown(Amount(longer, 'time', limit.unit))}, {ends}"
    return f"Bring all drains together to {milliampere(allowed)} or less{without}."


def _promise(requirement: Requirement, known: list[tuple[Bank, Lasting | Missing]]) -> Promise:
    """Return the row of a requirement: the bank that lasts shortest decides."""
    promised = requirement.shelf_time
    assert promised is not None
    limit = Amount(float(promised.high), "time", promised.unit)
    told = [found for _, found in known if isinstance(found, Lasting)]
    worst = min(told, key=lambda found: found.time, default=None)
    if worst is None:
        return Promise(requirement.name, _FORMULA, None, limit, "not-checked", requirement.span)
    value = Amount(worst.time, "time", promised.unit)
    if is_broken(value.value, limit.value, "at-least"):
        verdict: Verdict = "broken"
    else:
        complete = len(told) == len(known) and not any(bank.missing for bank, _ in known)
        verdict = "met" if complete else "not-checked"
    return Promise(requirement.name, _FORMULA, value, limit, verdict, requirement.span, worst.steps)
