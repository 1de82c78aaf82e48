"""A selector with a position that joins a full battery with an empty one through its own contacts."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.batteries import resistance_high, resistance_low, rest_voltage_of
from ohmwright.circuit.graph import Branch
from ohmwright.circuit.parts import gate_of_position
from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Step, common_practice
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.procedure import Procedure
from ohmwright_grammar.kinds.switch import Selector, Switching
from ohmwright_grammar.records import record

from ohmwright_rules.bank_strings import bank_strings
from ohmwright_rules.packs import Pack
from ohmwright_rules.rushes import low_voltage, what_flows
from ohmwright_rules.silent_battery import silent_voltage
from ohmwright_rules.strings import groups_of

RULE = Rule(
    id="joining-selector",
    title="Selector joins batteries through its contacts",
    family="switching",
    subject="selector",
    covers=("H6",),
    grades=(
        Grade("over-rating", Severity.ERROR, "more flows from a full battery into an empty one than its contacts carry"),
        Grade("by-rule", Severity.WARNING, "only a posted joining rule keeps the rush within what its contacts carry"),
    ),
    references=(common_practice("difference of the rest voltages over the resistance of the loop"),),
)
_NONE = "no position joins two batteries side by side"


@record
class _Joined:
    """Two strings of batteries that a position of a selector joins, and what flows through it when one is full and the other empty."""

    position: str
    full: Pack
    low: Pack
    current: float
    volts: tuple[float, float]


def check(study: Study) -> Iterator[Outcome]:
    """Try every position of every selector that joins batteries, each full against the other empty."""
    idle = 0
    for part in sorted(study.of(Selector), key=lambda part: part.name):
        branches = [branch for branch in study.circuit.branches if branch.part == part.name]
        found = _pairs(study, part, branches)
        if not found:
            idle += 1
        elif part.joins_through:
            yield Passed("over-rating", (part.name,))
        else:
            yield from _judge(study, part, branches, found)
    if idle:
        yield DoesNotApply(_NONE, idle)


def _pairs(study: Study, part: Selector, branches: list[Branch]) -> list[tuple[str, frozenset[str], Pack, Pack]]:
    """Return, for each position, the strings that it joins and that are apart in no position: with the gates that are open in it."""
    if len(branches) < 2:
        return []
    gates = {position.position: gate_of_position(part.name, position.position) for position in part.positions or ()}
    others = frozenset(
        gate_of_position(name, position)
        for name, positions in study.anatomy.selectors.items()
        if name != part.name
        for position in positions[1:]
    )
    apart = _sides(study, others | frozenset(gates.values()))
    found = []
    for position, gate in gates.items():
        opened = others | (frozenset(gates.values()) - {gate})
        together = _sides(study, opened)
        for one, near in apart.items():
            for two, there in apart.items():
                if one < two and near != there and together[one] == together[two]:
                    found.append((position, opened, _pack(study, one), _pack(study, two)))
    return found


def _sides(study: Study, open_gates: frozenset[str]) -> dict[tuple[str, ...], int]:
    """Return, by string of batteries, the number of the bank that it is part of while some gates are open."""
    return {
        string: count
        for count, names in enumerate(groups_of(study, "battery", open_gates))
        for string in bank_strings(study, names, open_gates)
    }


def _pack(study: Study, names: tuple[str, ...]) -> Pack:
    parts = [study.part(name) for name in names]
    return Pack(tuple(part for part in parts if isinstance(part, Battery)))


def _judge(
    study: Study, part: Selector, branches: list[Branch], pairs: list[tuple[str, frozenset[str], Pack, Pack]]
) -> Iterator[Outcome]:
    subject = (part.name,)
    joined: list[_Joined] = []
    for position, opened, one, two in pairs:
        missing = _unknown((*one.members, *two.members))
        if missing is not None:
            yield missing.outcome("over-rating", subject)
            return
        for full, low in ((one, two), (two, one)):
            found = _rush(study, branches, position, opened, full, low)
            if found is not None:
                joined.append(found)
    if not joined:
        yield DoesNotApply("the way between the batteries it joins has no resistance that is known")
        return
    worst = max(joined, key=lambda item: item.current)
    if part.rated_current is None:
        yield Missing("current that it carries for long", part.span, "carries 100 A").outcome("over-rating", subject)
        return
    limit = Amount(float(part.rated_current.low), "current", part.rated_current.unit)
    measured = Amount(worst.current, "current")
    if not is_broken(measured.value, limit.value, "at-most"):
        yield Passed("over-rating", subject, measured, limit, state=gate_of_position(part.name, worst.position))
        return
    yield _finding(study, part, worst, measured, limit)


def _unknown(batteries: tuple[Battery, ...]) -> Missing | None:
    """Return the first datum without which no rush can be told: a voltage by charge level, or the lower end of a resistance."""
    for battery in batteries:
        if rest_voltage_of(battery, 1.0) is None:
            return silent_voltage(battery)
        if low_voltage(battery) is None:
            return Missing(f"rest voltages of {battery.name}", battery.span, "LFP, ~4 cells")
        if resistance_low(battery) is None:
            what = "measured internal resistance" if resistance_high(battery) is not None else "internal resistance"
            return Missing(f"{what} of {battery.name}", battery.span, "internal resistance 10 mohm")
    return None


def _rush(study: Study, branches: list[Branch], position: str, opened: frozenset[str], full: Pack, low: Pack) -> _Joined | None:
    high = full.total(lambda battery: rest_voltage_of(battery, 1.0))
    empty = low.total(low_voltage)
    if high is None or empty is None or high <= empty:
        return None
    volts = {battery.name: rest_voltage_of(battery, 1.0) or 0.0 for battery in full.members}
    volts.update({battery.name: low_voltage(battery) or 0.0 for battery in low.members})
    currents = what_flows(study, volts, opened)
    current = max((abs(currents.get(branch.name, 0.0)) for branch in branches), default=0.0)
    return _Joined(position, full, low, current, (high, empty)) if current > 0 else None


def _finding(study: Study, part: Selector, worst: _Joined, measured: Amount, limit: Amount) -> Finding:
    rule = next((item for item in study.of(Procedure) if item.joining_difference is not None), None)
    volt = worst.volts[0] - worst.volts[1]
    grade, said = "over-rating", ""
    if rule is not None and rule.joining_difference is not None:
        by_rule = worst.current * min(1.0, float(rule.joining_difference.high) / volt)
        if not is_broken(by_rule, limit.value, "at-most"):
            grade = "by-rule"
        difference = shown(Amount(float(rule.joining_difference.high), "voltage", rule.joining_difference.unit))
        said = (
            f" With the posted rule of {difference} it is {shown(Amount(by_rule, 'current'))}; nothing but paper keeps to it."
        )
    flows, carries = shown_pair(measured, limit)
    at = gate_of_position(part.name, worst.position)
    most = shown(Amount(volt * limit.value / measured.value, "voltage"))
    full, empty = (shown(Amount(value, "voltage")) for value in worst.volts)
    return Finding(
        grade,
        (part.name, *(battery.name for pack in (worst.full, worst.low) for battery in pack.members)),
        f"{at}: {worst.full.name} full ({full}), joined with {worst.low.name} empty ({empty}): {flows} flows through its contacts, which carry"
        f" {carries}.{said}",
        part.place_of(Switching.rated_current),
        measured,
        limit,
        state=at,
        working=(
            Step("U_full", f"{worst.full.name} at 100 %", worst.volts[0], "V", "rest voltage"),
            Step("U_low", f"{worst.low.name} at its low cut-off, else at 0 %", worst.volts[1], "V", "rest voltage"),
            Step(
                "R",
                "batteries at the lower end, and the way between, copper at 20 degC",
                volt / measured.value,
                "ohm",
                "the circuit",
            ),
            Step("I", f"{volt:.4g} V / {volt / measured.value:.4g} ohm", measured.value, "A", "the loop"),
        ),
        remedy=f"Use a selector that carries {flows} or more, leave that position out, or join them through a current limit; joined directly they may differ by"
        f" {most} at most.",
        related=tuple(
            Related(f"{battery.name}: {words}", battery.span)
            for pack, words in ((worst.full, "full"), (worst.low, "empty"))
            for battery in pack.members
        ),
    )
