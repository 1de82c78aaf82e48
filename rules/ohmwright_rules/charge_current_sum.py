"""Several chargers that together push more into a battery than it may take."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.batteries import lowest_voltage
from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step
from ohmwright.rules import Case, Grade, Rule
from ohmwright.study import SolvedState, Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.battery import Battery, Bms
from ohmwright_grammar.kinds.charging import Charging
from ohmwright_grammar.kinds.controller import Controller
from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Span

from ohmwright_rules.charging import Charged, charged
from ohmwright_rules.strings import strings_in
from ohmwright_rules.sunside import Side, array_power, short_circuit_of, sides
from ohmwright_rules.verdicts import Verdict, verdict

RULE = Rule(
    id="charge-current-sum",
    title="Chargers together over the battery's charge limit",
    family="controllers",
    subject="battery",
    covers=("B6",),
    grades=(
        Grade("over-limit", Severity.ERROR, "the chargers of a state add up to more than the battery or its BMS lets in"),
        Grade("over-advice", Severity.WARNING, "the chargers of a state add up to more than the maker advises"),
    ),
    references=(Reference("battery data sheet, as declared", "", "charge current", "computed"),),
)
_BRIGHT = 1.25  # NEC 690.8(A): an array gives up to 1.25 times its label
_IDLE = "nothing charges it in any state"


@record
class _Flow:
    """What one charger gives at most in a state [A], and why so much."""

    part: Charging
    current: float
    why: str


def check(study: Study) -> Iterator[Outcome]:
    """Add up what runs in each state, and hold every battery's share against its limits."""
    everything = charged(study)
    side_of = {side.controller.name: side for side in sides(study)}
    idle = 0
    for battery in sorted(study.of(Battery), key=lambda part: part.name):
        near = [item for item in everything if any(battery in string.batteries for string in item.strings)]
        found = list(_judge(study, battery, near, side_of))
        idle += not found
        yield from found
    if idle:
        yield DoesNotApply(_IDLE, idle)


def _judge(study: Study, battery: Battery, near: list[Charged], side_of: dict[str, Side]) -> Iterator[Outcome]:
    cases: list[tuple[SolvedState, list[_Flow], float]] = []
    for state in study.telling_states:
        running = [item for item in near if _runs(state, item, side_of)] if state.solved else []
        if not running:
            continue
        flows: list[_Flow] = []
        shares: list[float] = []
        for item in running:
            strings = strings_in(study, "battery", item.minus, item.plus, state.open_gates)
            ours = [string for string in strings if battery.name in string]
            if not ours or battery.name in state.setup.bms_open | state.setup.failed:
                continue
            flow = _most(study, item, side_of, battery)
            if isinstance(flow, Missing):
                yield flow.outcome("over-limit", (battery.name, item.part.name), state.name)
                return
            flows.append(flow)
            shares.append(_share(state, strings, ours[0]))
        if flows:
            cases.append((state, flows, max(shares)))
    if not cases:
        return
    yield from _limit(study, battery, cases)
    advised = battery.charge_current_advised
    if advised is not None:
        amount = Amount(float(advised.low), "current", advised.unit)
        yield _outcome(
            study, battery, "over-advice", amount, "its maker advises", battery.place_of(Battery.charge_current_advised), cases
        )


def _limit(study: Study, battery: Battery, cases: list[tuple[SolvedState, list[_Flow], float]]) -> Iterator[Outcome]:
    limits: list[tuple[Amount, str, Span]] = []
    own, bms = battery.charge_current_limit, battery.bms
    if own is not None:
        limits.append(
            (Amount(float(own.low), "current", own.unit), "it may take", battery.place_of(Battery.charge_current_limit))
        )
    if bms is not None and bms.charge_current_limit is not None:
        quantity = bms.charge_current_limit
        limits.append(
            (Amount(float(quantity.low), "current", quantity.unit), "its BMS lets in", bms.place_of(Bms.charge_current_limit))
        )
    if not limits:
        missing = Missing("charge current limit", battery.span, "charge at most 50 A")
        yield missing.outcome("over-limit", (battery.name,), cases[0][0].name)
        return
    yield _outcome(study, battery, "over-limit", *min(limits, key=lambda item: item[0].value), cases)


def _runs(state: SolvedState, item: Charged, side_of: dict[str, Side]) -> bool:
    if isinstance(item.part, Controller):
        side = side_of.get(item.part.name)
        return side is not None and any(state.setup.sun.get(array.name, 0.0) > 0 for array in side.arrays)
    return item.part.name in state.setup.chargers


def _most(study: Study, item: Charged, side_of: dict[str, Side], battery: Battery) -> _Flow | Missing:
    """Return what a charger gives at most: its rated current, or less where its arrays cannot give so much."""
    part = item.part
    rated = float(part.rated_current.high) if part.rated_current is not None else None
    sunny = _by_sun(study, part, side_of.get(part.name), battery) if isinstance(part, Controller) else None
    if sunny is not None and (rated is None or sunny < rated):
        return _Flow(part, sunny, "as much as its array gives in bright sun")
    if rated is None:
        return Missing(f"highest current out of {part.name}", part.span, "20 A")
    return _Flow(part, rated, "rated current, as declared")


def _by_sun(study: Study, part: Controller, side: Side | None, battery: Battery) -> float | None:
    """Return what arrays push through a controller at most [A], None where that is not known."""
    if side is None or part.kind is None:
        return None
    if part.kind == "PWM":
        found = short_circuit_of(study, side.arrangements, plugged=True)
        return None if isinstance(found, Missing) else _BRIGHT * found[0]
    powers = [array_power(array) for array in side.arrays]
    volt = lowest_voltage(battery)
    known = [power for power in powers if power is not None]
    if volt is None or volt <= 0 or len(known) < len(powers):
        return None
    return _BRIGHT * sum(known) / volt


def _share(state: SolvedState, strings: tuple[tuple[str, ...], ...], ours: tuple[str, ...]) -> float:
    """Return the part of the charge current that a string takes in a state: as solved where it charges, else equal parts."""
    taken = {string: max(0.0, -state.current(string[0])) for string in strings}
    total = sum(taken.values())
    return taken[ours] / total if total > 0 and taken[ours] > 0 else 1.0 / len(strings)


def _outcome(
    study: Study,
    battery: Battery,
    grade: str,
    limit: Amount,
    words: str,
    place: Span,
    cases: list[tuple[SolvedState, list[_Flow], float]],
) -> Outcome:
    held = [
        Case(state.name, Amount(sum(flow.current for flow in flows) * share, "current", limit.unit), limit, (flows, share))
        for state, flows, share in cases
    ]
    found = verdict(study, held, "at-most", "kill")
    worst = found.worst
    assert isinstance(worst.note, tuple)
    flows, share = worst.note
    subject = (battery.name, *(flow.part.name for flow in flows))
    if not found.broken:
        return Passed(grade, subject, worst.measured, limit, state=worst.state)
    return _finding(battery, grade, subject, limit, words, place, found, flows, share)


def _finding(
    battery: Battery,
    grade: str,
    subject: tuple[str, ...],
    limit: Amount,
    words: str,
    place: Span,
    found: Verdict,
    flows: list[_Flow],
    share: float,
) -> Finding:
    worst = found.worst
    total = sum(flow.current for flow in flows)
    measured, allowed = shown_pair(worst.measured, limit)
    listed = " + ".join(f"{flow.part.name} {shown(Amount(flow.current, 'current', limit.unit))}" for flow in flows)
    split = "" if share > 1.0 - 1e-9 else f", {share * 100:.3g} % of {shown(Amount(total, 'current', limit.unit))},"
    effect = " The BMS opens, and what charges is left without a battery." if "BMS" in words else ""
    steps = [Step("I_charge", f"{flow.part.name}: {flow.why}", flow.current, "A", "as declared") for flow in flows]
    if share <= 1.0 - 1e-9:
        steps.append(Step("share", f"of {battery.name} in state {worst.state!r}", share, "1", "solved circuit"))
    steps.append(Step("I", f"{total:.4g} x {share:.4g}", worst.measured.value, "A", "sum of what runs"))
    most = shown(Amount(limit.value / share, "current", limit.unit))
    return Finding(
        grade,
        subject,
        f"{battery.name}: in state {worst.state!r} {measured}{split} can flow into it ({listed}); {words} {allowed}.{effect}",
        battery.span,
        worst.measured,
        limit,
        state=worst.state,
        states=found.broken,
        working=tuple(steps),
        remedy=f"Bring the chargers that run together to {most} or less, or never run them together.",
        related=(
            Related("the limit", place),
            *(Related(f"{flow.part.name} gives {shown(Amount(flow.current, 'current'))}", flow.part.span) for flow in flows),
        ),
        at_most=found.at_most,
    )
