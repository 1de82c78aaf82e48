"""Batteries with management systems in a longer series string than they bear."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.batteries import highest_charge_voltage
from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.references import Reference, Step
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.battery import Battery, Bms

from ohmwright_rules.stacks import Stack, strings_of
from ohmwright_rules.wording import listed

RULE = Rule(
    id="long-string",
    title="More batteries in series than their management systems bear",
    family="wiring",
    subject="battery",
    covers=("C10",),
    grades=(
        Grade("too-many", Severity.ERROR, "more batteries lie in series than the maker allows"),
        Grade("blocking", Severity.ERROR, "the string is charged to more than the transistors of a management system block"),
    ),
    references=(
        Reference("battery data sheet, as declared", "", "most in series, blocking voltage", "computed"),
        Reference("data sheets of cells", "", "highest charge voltage of a cell, where none is declared", "from-memory"),
    ),
)


def check(study: Study) -> Iterator[Outcome]:
    """Hold the longest string through every battery that has a management system against what it bears."""
    strings = strings_of(study)
    alone = without = 0
    for battery in sorted(study.of(Battery), key=lambda part: part.name):
        stack = strings.get(battery.name)
        if stack is None:
            alone += 1
        elif battery.bms is None and battery.most_in_series is None:
            without += 1
        else:
            yield from _judge(battery, stack)
    if alone:
        yield DoesNotApply("it lies in series with no other", alone)
    if without:
        yield DoesNotApply("it has no management system that blocks", without)


def _judge(battery: Battery, stack: Stack) -> Iterator[Outcome]:
    most = battery.most_in_series
    blocks = battery.bms.blocking_voltage if battery.bms is not None else None
    if most is None and blocks is None:
        yield NotChecked("too-many", (battery.name,), "most packs in series", battery.span, declare="at most 4 in series")
        return
    if most is not None:
        yield _count(battery, stack, most)
    if battery.bms is not None and blocks is not None:
        yield _voltage(battery, battery.bms, stack, Amount(float(blocks.low), "voltage", blocks.unit))


def _others(battery: Battery, stack: Stack) -> tuple[str, ...]:
    return tuple(name for name in stack.names if name != battery.name)


def _count(battery: Battery, stack: Stack, most: int) -> Outcome:
    measured, limit = Amount(float(len(stack.members)), "count"), Amount(float(most), "count")
    if not is_broken(measured.value, limit.value, "at-most"):
        return Passed("too-many", (battery.name,), measured, limit)
    return Finding(
        "too-many",
        (battery.name, *_others(battery, stack)),
        f"{battery.name}: it lies in a string of {len(stack.members)} in series ({listed(stack.names)}); its maker allows {most}. When its management "
        "system opens, its transistors see the whole string.",
        battery.span,
        measured,
        limit,
        working=(Step("n", listed(stack.names, 12), measured.value, "1", "the circuit as declared"),),
        remedy=f"Put at most {most} in series, or use batteries made for {len(stack.members)}.",
        related=(Related("the maker's limit", battery.place_of(Battery.most_in_series)),),
    )


def _voltage(battery: Battery, bms: Bms, stack: Stack, limit: Amount) -> Outcome:
    total = stack.total(highest_charge_voltage)
    if total is None:
        silent = next(item for item in stack.members if highest_charge_voltage(item) is None)
        return NotChecked(
            "blocking",
            (battery.name,),
            f"highest charge voltage of {silent.name}",
            silent.span,
            declare="charge voltage at most ~14.6 V",
        )
    measured = Amount(total, "voltage")
    if not is_broken(measured.value, limit.value, "at-most"):
        return Passed("blocking", (battery.name,), measured, limit)
    volts, allowed = shown_pair(measured, limit)
    declared = all(item.highest_charge_voltage is not None for item in stack.members)
    steps = tuple(
        Step(
            f"U({item.name})", "highest charge voltage", highest_charge_voltage(item), "V",
            "as declared" if item.highest_charge_voltage is not None else str(RULE.references[1]),
        )
        for item in stack.members[:12]
    )  # fmt: skip
    each = total / len(stack.members)
    fits = int(limit.value / each * (1 + 1e-9))
    shorter = f"Put at most {fits} in series" if fits > 1 else "Put none of them in series"
    return Finding(
        "blocking",
        (battery.name, *_others(battery, stack)),
        f"{battery.name}: its string of {len(stack.members)} is charged to {volts}; the transistors of its management system block {allowed}.",
        battery.span,
        measured,
        limit,
        working=(*steps, Step("U", "sum over the string", total, "V", "the circuit as declared")),
        remedy=f"{shorter}, or use a management system that blocks {shown(measured)} or more.",
        related=(Related("what it blocks", bms.place_of(Bms.blocking_voltage)),),
        reference=RULE.references[0 if declared else 1],
    )
