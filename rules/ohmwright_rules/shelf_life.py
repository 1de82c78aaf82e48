"""A stored build that is empty sooner than promised, and which consumer empties it."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.references import Reference, Step, common_practice, weakest
from ohmwright.results import Promise, Verdict
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import SolvedState, Study
from ohmwright.tables import load
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.procedure import Procedure
from ohmwright_grammar.kinds.requirement import Requirement
from ohmwright_grammar.records import record

from ohmwright_rules.basis import TABLES
from ohmwright_rules.drains import Bank, self_discharge_of, summed_beyond
from ohmwright_rules.missing import Missing
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
_DEPTH = load(TABLES, "battery_depth")
_USUAL = 3 * 730.0 * 3600.0  # s: three months of 730 h (catalogue, K1: warning by default under 3)
_FORMULA = "months = (level at the start - level at the end) x C / (sum of drains x 730 h + self-discharge x C)"
_ENDLESS = 100 * 12 * 730.0 * 3600.0  # s: what loses nothing is said to last a hundred years


@record
class _Lasting:
    """How long a bank lasts [s], what may be used of it [C], what is lost [A], and the working."""

    bank: Bank
    time: float
    usable: float
    self_discharge: float
    steps: tuple[Step, ...]
    reference: Reference

    @property
    def lost(self) -> float:
        """Everything that empties the bank [A]."""
        return self.bank.total + self.self_discharge


def check(study: Study) -> Iterator[Outcome | Promise]:
    """Tell how long every stored bank lasts, and hold it against what is promised."""
    kept_together = banks(study)
    required = [item for item in study.of(Requirement) if item.shelf_time is not None]
    if not kept_together:
        yield DoesNotApply("there is no battery")
    state = stored(study)
    known = [(bank, _lasting(study, bank, state)) for bank in kept_together]
    for bank, found in known:
        for requirement in required:
            yield _judge(study, bank, found, state, requirement)
        if not required:
            yield _judge(study, bank, found, state, None)
    for requirement in required:
        yield _promise(requirement, known)


def _judge(study: Study, bank: Bank, found: _Lasting | Missing, state: Stored, requirement: Requirement | None) -> Outcome:
    grade = "under-promise" if requirement is not None else "under-three-months"
    if isinstance(found, Missing):
        return found.outcome(grade, bank.names, state.name)
    promised = requirement.shelf_time if requirement is not None else None
    limit = Amount(float(promised.high), "time", promised.unit) if promised is not None else Amount(_USUAL, "time", "months")
    measured = Amount(found.time, "time", limit.unit)
    if is_broken(measured.value, limit.value, "at-least"):
        return _finding(study, bank, found, state, grade, measured, limit, requirement)
    if bank.missing:
        return bank.missing[0].outcome(grade, bank.names, state.name)
    return Passed(grade, bank.names, measured, limit, "at-least", state.name)


def _lasting(study: Study, bank: Bank, state: Stored) -> _Lasting | Missing:
    if bank.capacity is None:
        battery = next(battery for battery in bank.batteries if battery.capacity is None)
        return Missing(f"capacity of {battery.name}", battery.span, "100 Ah")
    levels = _levels(study, bank, state.state)
    if isinstance(levels, Missing):
        return levels
    start, end, words, reference = levels
    lost = self_discharge_of(bank)
    if isinstance(lost, Missing):
        return lost
    self_discharge, said, its = lost
    usable = max(0.0, start - end) * bank.capacity
    current = bank.total + self_discharge
    time = min(usable / current, _ENDLESS) if current > 0 else _ENDLESS
    capacity = bank.capacity / 3600.0
    steps = [
        state.step,
        Step("C_usable", f"({start * 100:g} % - {end * 100:g} %) x {capacity:.4g} Ah", usable / 3600.0, "Ah", words),
        *(
            Step(f"I_{number}", f"{drain.name}: {drain.what}", drain.current, "A", f"as declared, in state {state.name!r}")
            for number, drain in enumerate(bank.drains, start=1)
        ),
        Step("I_self", said, self_discharge, "A", str(its)),
        Step("I_lost", f"drains {bank.total:.4g} + self-discharge {self_discharge:.4g}", current, "A", "all that empties it"),
        Step("t", f"{usable / 3600.0:.4g} Ah / {current:.4g} A / 730 h", time / (730.0 * 3600.0), "months", "months of 730 h"),
    ]
    firm = weakest([item for item in (reference, its, RULE.references[0]) if item is not None])
    assert firm is not None
    return _Lasting(bank, time, usable, self_discharge, tuple(steps), firm)


def _levels(study: Study, bank: Bank, state: SolvedState) -> tuple[float, float, str, Reference | None] | Missing:
    """Return the charge levels at the start and the end of storage, in words from where, and what a usual depth rests on."""
    plan = next(study.of(Procedure), None)
    start = float(plan.storage_start_level.low) if plan is not None and plan.storage_start_level is not None else None
    end = float(plan.storage_least_level.high) if plan is not None and plan.storage_least_level is not None else None
    words = "storage plan" if start is not None or end is not None else ""
    if start is None:
        own = [float(battery.storage_level.low) for battery in bank.batteries if battery.storage_level is not None]
        said = [
            level.value
            for battery in bank.batteries
            if (level := state.setup.levels.get(battery.name)) is not None and not level.is_voltage
        ]
        if own:
            start, words = min(own), "storage level of the battery"
        elif said and state.setup.origin == "declared":
            start, words = min(said), f"level in state {state.name!r}"
    reference: Reference | None = None
    if end is None:
        depth = _depth(bank)
        if isinstance(depth, Missing):
            return depth
        end, usual, reference = 1.0 - depth[0], depth[1], depth[2]
        words = f"{words}, {usual}" if words else f"from full, {usual}"
    return start if start is not None else 1.0, end, words, reference


def _depth(bank: Bank) -> tuple[float, str, Reference | None] | Missing:
    """Return the smallest usable depth of a bank's batteries: declared, else usual for the chemistry."""
    found: list[tuple[float, str, Reference | None]] = []
    for battery in bank.batteries:
        if battery.usable_depth is not None:
            found.append((float(battery.usable_depth.low), "usable depth as declared", None))
            continue
        row = {"LFP": "LFP, usual in practice"}.get(battery.chemistry or "", battery.chemistry or "")
        cell = _DEPTH.cell(row, "usable_percent")
        if cell is None:
            return Missing(f"usable depth of {battery.name}", battery.span, "usable 80 %")
        found.append((cell.value / 100.0, f"usual depth of {battery.chemistry}, {cell.value:g} %", cell.reference))
    return min(found, key=lambda item: item[0])


def _finding(
    study: Study,
    bank: Bank,
    found: _Lasting,
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
        f"{bank.words}: stored as in state {state.name!r} it lasts {lasts}; {promise}. {_shares(found)}.{more}",
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


def _shares(found: _Lasting) -> str:
    """List every drain by name, with what it takes and its share of the loss, the largest first."""
    entries = [(drain.name, drain.current) for drain in found.bank.drains]
    if found.self_discharge > 0:
        entries.append(("self-discharge", found.self_discharge))
    return f"{_milliampere(found.lost)} empty it: {summed_beyond(entries, found.lost)}"


def _milliampere(current: float) -> str:
    return shown(Amount(current, "current", "mA"))


def _remedy(found: _Lasting, limit: Amount) -> str:
    if found.usable <= 0.0:
        return "Nothing is left in it at the level from which it is stored: store it fuller."
    allowed = found.usable / limit.value - found.self_discharge
    largest = found.bank.drains[0] if found.bank.drains else None
    if allowed <= 0 or largest is None:
        alone = shown(Amount(found.usable / found.self_discharge, "time", limit.unit))
        often = shown(Amount(found.time, "time", limit.unit))
        return f"Self-discharge alone empties it in {alone}: top it up every {often}, or store it fuller."
    rest = found.lost - largest.current
    longer = min(found.usable / rest, _ENDLESS) if rest > 0 else _ENDLESS
    ends = "long enough" if longer >= limit.value else "still too short"
    without = f"; without {largest.name} it lasts {shown(Amount(longer, 'time', limit.unit))}, {ends}"
    return f"Bring all drains together to {_milliampere(allowed)} or less{without}."


def _promise(requirement: Requirement, known: list[tuple[Bank, _Lasting | Missing]]) -> Promise:
    """Return the row of a requirement: the bank that lasts shortest decides."""
    promised = requirement.shelf_time
    assert promised is not None
    limit = Amount(float(promised.high), "time", promised.unit)
    lasting = [found for _, found in known if isinstance(found, _Lasting)]
    worst = min(lasting, key=lambda found: found.time, default=None)
    if worst is None:
        return Promise(requirement.name, _FORMULA, None, limit, "not-checked", requirement.span)
    value = Amount(worst.time, "time", promised.unit)
    if is_broken(value.value, limit.value, "at-least"):
        verdict: Verdict = "broken"
    else:
        complete = len(lasting) == len(known) and not any(bank.missing for bank, _ in known)
        verdict = "met" if complete else "not-checked"
    return Promise(requirement.name, _FORMULA, value, limit, verdict, requirement.span, worst.steps)
