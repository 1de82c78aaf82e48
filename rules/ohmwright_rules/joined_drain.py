"""Packs that last long enough as they are stored, but not joined, or not each alone."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import common_practice
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.states.reaching import on_paths
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.requirement import Requirement
from ohmwright_grammar.records import replace

from ohmwright_rules.drains import Bank, banks_in
from ohmwright_rules.lasting import USUAL_TIME, Lasting, lasting, milliampere, shares
from ohmwright_rules.storing import Stored, stored
from ohmwright_rules.strings import groups_of

RULE = Rule(
    id="joined-drain",
    title="Expansion packs left out of the idle sum",
    family="storage",
    subject="battery",
    covers=("K8",),
    grades=(
        Grade(
            "joined",
            Severity.WARNING,
            "stored with all packs joined, the bank lasts for less time than required (or three months)",
        ),
        Grade(
            "apart", Severity.WARNING, "stored with its packs apart, one lasts for less time than required (or three months)"
        ),
    ),
    references=(common_practice("each pack brings its own drain: the sum is made for each alone and for all joined"),),
)
_ALONE = "no packs are joined by plugs"


def check(study: Study) -> Iterator[Outcome]:
    """Tell how long packs last in storage the other way: joined where they are stored apart, apart where they are stored joined."""
    plugs = _plugs(study)
    if not plugs:
        yield DoesNotApply(_ALONE)
        return
    state = stored(study)
    before = set(groups_of(study, "battery", state.state.open_gates))
    beyond = study.anatomy.never_joined
    told = False
    for grade, gates, words in (
        ("joined", (state.state.open_gates - plugs) | (plugs & beyond), "all packs joined"),
        ("apart", state.state.open_gates | plugs, "all packs apart"),
    ):
        new = [names for names in groups_of(study, "battery", gates) if names not in before]
        if new:
            told = True
            yield from _other_way(study, state, grade, gates, words, set(new))
    if not told:
        yield DoesNotApply(_ALONE)


def _plugs(study: Study) -> frozenset[str]:
    """Return the matings on the ways between batteries."""
    if len(study.anatomy.batteries) < 2 or not study.anatomy.matings:
        return frozenset()
    return on_paths(study.circuit, study.anatomy.batteries) & set(study.anatomy.matings)


def _other_way(
    study: Study, state: Stored, grade: str, gates: frozenset[str], words: str, new: set[tuple[str, ...]]
) -> Iterator[Outcome]:
    setup = replace(state.state.setup, name=f"{state.name}, {words}", open_gates=gates)
    other = Stored(study.solve_setup(setup), f"as in state {state.name!r}, with {words}")
    alone = {bank.names: bank for bank in banks_in(study, state.state)}
    for bank in banks_in(study, other.state):
        if bank.names in new:
            yield _judge(study, bank, alone, other, grade)


def _judge(study: Study, bank: Bank, alone: dict[tuple[str, ...], Bank], other: Stored, grade: str) -> Outcome:
    required = [item for item in study.of(Requirement) if item.shelf_time is not None]
    longest = max(required, key=lambda item: float(item.shelf_time.high) if item.shelf_time else 0.0, default=None)
    promised = longest.shelf_time if longest is not None else None
    limit = (
        Amount(float(promised.high), "time", promised.unit) if promised is not None else Amount(USUAL_TIME, "time", "months")
    )
    found = lasting(study, bank, other)
    if isinstance(found, Missing):
        return found.outcome(grade, bank.names, other.name)
    measured = Amount(found.time, "time", limit.unit)
    if is_broken(measured.value, limit.value, "at-least"):
        return _finding(bank, found, other, grade, measured, limit, longest, _longest_before(study, bank, alone, other))
    if bank.missing:
        return bank.missing[0].outcome(grade, bank.names, other.name)
    return Passed(grade, bank.names, measured, limit, "at-least", other.name)


def _longest_before(study: Study, bank: Bank, alone: dict[tuple[str, ...], Bank], other: Stored) -> float | None:
    """Return how long [s] the bank of the stored state lasts that lasts longest of those that share a battery with one."""
    best: float | None = None
    for names, before in alone.items():
        if set(names) & set(bank.names):
            found = lasting(study, before, other)
            if isinstance(found, Lasting) and (best is None or found.time > best):
                best = found.time
    return best


def _finding(
    bank: Bank,
    found: Lasting,
    other: Stored,
    grade: str,
    measured: Amount,
    limit: Amount,
    requirement: Requirement | None,
    before: float | None,
) -> Finding:
    lasts, wanted = shown_pair(measured, limit)
    promise = f"{wanted} are required" if requirement is not None else f"{wanted} are the least"
    how = "joined" if grade == "joined" else "apart from the others"
    than = f", not {shown(Amount(before, 'time', limit.unit))} as stored" if before is not None and before > found.time else ""
    allowed = found.usable / limit.value - found.self_discharge
    remedy = f"Store it {'apart' if grade == 'joined' else 'joined'} and say so in the procedure"
    if allowed > 0:
        remedy += f", or bring all drains together to {milliampere(allowed)} or less"
    return Finding(
        grade,
        bank.names,
        f"{bank.words}: stored {how} it lasts {lasts}{than}; {promise}. {shares(found)}.",
        bank.batteries[0].span,
        measured,
        limit,
        "at-least",
        state=other.name,
        working=found.steps,
        remedy=f"{remedy}.",
        related=(
            *(Related(f"{drain.name} takes {milliampere(drain.current)}", drain.span) for drain in bank.drains),
            *((Related("the requirement", requirement.span),) if requirement is not None else ()),
        ),
        reference=found.reference,
    )
