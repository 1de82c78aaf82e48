"""Lamps, meters and radios that run day and night in a stored build."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.references import Step, common_practice
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair

from ohmwright_rules.drains import Bank, summed_beyond
from ohmwright_rules.storing import Stored, banks, stored
from ohmwright_rules.wording import named

RULE = Rule(
    id="parasites",
    title="Parasites that drain the stored battery",
    family="storage",
    subject="battery",
    covers=("K3",),
    grades=(Grade("over-allowance", Severity.WARNING, "what stays fed in storage takes more than 5 mA a pack"),),
    references=(common_practice("5 mA a pack; lay-up reports of banks ruined in one to two months"),),
)
_GRADE = "over-allowance"
_A_PACK = 0.005  # A: catalogue, K3; readings.md, K1: it is per pack


def check(study: Study) -> Iterator[Outcome]:
    """Add up what stays fed in the stored state, and hold it against 5 mA a pack."""
    known = banks(study)
    if not known:
        yield DoesNotApply("there is no battery")
    state = stored(study)
    for bank in known:
        yield _judge(bank, state)


def _judge(bank: Bank, state: Stored) -> Outcome:
    limit = Amount(_A_PACK * len(bank.strings), "current", "mA")
    measured = Amount(bank.total, "current", "mA")
    if not is_broken(measured.value, limit.value, "at-most"):
        if bank.missing:
            return bank.missing[0].outcome(_GRADE, bank.names, state.name)
        return Passed(_GRADE, bank.names, measured, limit, state=state.name)
    takes, allowed = shown_pair(measured, limit)
    drains = summed_beyond([(drain.name, drain.current) for drain in bank.drains])
    packs = f"{len(bank.strings)} packs" if len(bank.strings) > 1 else "one pack"
    empty = ""
    steps = [
        state.step,
        *(
            Step(f"I_{number}", f"{drain.name}: {drain.what}", drain.current, "A", "as declared")
            for number, drain in enumerate(bank.drains, start=1)
        ),
    ]
    steps.append(Step("I", " + ".join(drain.name for drain in bank.drains), bank.total, "A", f"state {state.name!r}"))
    if bank.capacity:
        months = Amount(bank.capacity / bank.total, "time")
        empty = f" They alone empty {shown(Amount(bank.capacity, 'charge', 'Ah'))} in {shown(months)}."
    return Finding(
        _GRADE,
        bank.names,
        f"{bank.words}: stored as in state {state.name!r}, {takes} stay on ({drains}); {allowed} is the usual allowance for {packs}.{empty}",
        bank.batteries[0].span,
        measured,
        limit,
        state=state.name,
        working=tuple(steps),
        remedy=_remedy(bank, limit),
        related=tuple(
            Related(f"{drain.name} takes {shown(Amount(drain.current, 'current', 'mA'))}", drain.span) for drain in bank.drains
        ),
    )


def _remedy(bank: Bank, limit: Amount) -> str:
    """Name the fewest of the largest drains whose end brings the rest under the allowance."""
    left = bank.total
    cut: list[str] = []
    for drain in bank.drains:
        if not is_broken(left, limit.value, "at-most"):
            break
        left -= drain.current
        cut.append(drain.name)
    rest = shown(Amount(max(left, 0.0), "current", "mA"))
    return f"Put {named(cut)} behind a switch that is open in storage: {rest} {'stays' if left > 0 else 'stay'} on."
