"""A management system that eats what its own cut-off has left."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.battery import LITHIUM, Battery, Bms
from ohmwright_grammar.quantities import Ampere, Quantity
from ohmwright_grammar.spans import Span

RULE = Rule(
    id="reserve-drained",
    title="BMS drains the reserve after its cut-off",
    family="storage",
    subject="battery",
    covers=("K4",),
    grades=(Grade("under-a-month", Severity.WARNING, "what is left at the low cut-off lasts its BMS less than 30 days"),),
    references=(Reference("a sailor's lay-up report", "", "cells lost to the drain of electronics", "secondary"),),
)
_GRADE = "under-a-month"
_DAY = 86400.0
_LEAST = 30 * _DAY  # s: catalogue, K4
_ENDLESS = 36500 * _DAY  # s: what drains nothing lasts a hundred years
_NO_BMS = "it has no management system that cuts off the discharge"


def check(study: Study) -> Iterator[Outcome]:
    """Tell of every battery how long its management system lives on what its own cut-off leaves."""
    left: Counter[str] = Counter()
    for battery in sorted(study.of(Battery), key=lambda part: part.name):
        bms = battery.bms
        lead = battery.chemistry is not None and battery.chemistry not in LITHIUM
        if battery.says_none(Battery.bms) or (bms is None and lead) or (bms is not None and bms.cuts == "charge"):
            left[_NO_BMS] += 1
        elif bms is None:
            yield Missing(f"management system of {battery.name}", battery.span, "bms { low cut-off ~11.0 V }").outcome(
                _GRADE, (battery.name,)
            )
        else:
            yield _judge(battery, bms)
    for condition, count in sorted(left.items()):
        yield DoesNotApply(condition, count)


def _drain(battery: Battery, bms: Bms) -> tuple[Quantity[Ampere], str, Span] | None:
    """Return what a management system takes after its cut-off: as declared for then, else as before."""
    if bms.drain_after_cut_off is not None:
        return bms.drain_after_cut_off, "drain after the cut-off", bms.place_of(Bms.drain_after_cut_off)
    if bms.own_drain is not None:
        return bms.own_drain, "own drain, as before the cut-off", bms.place_of(Bms.own_drain)
    if battery.own_drain is not None:
        return battery.own_drain, "own drain, as before the cut-off", battery.place_of(Battery.own_drain)
    return None


def _judge(battery: Battery, bms: Bms) -> Outcome:
    subject = (battery.name,)
    limit = Amount(_LEAST, "time", "days")
    if bms.says_none(Bms.drain_after_cut_off):
        return Passed(_GRADE, subject, Amount(_ENDLESS, "time", "days"), limit, "at-least")
    found = _drain(battery, bms)
    if found is None:
        return Missing(f"drain of the BMS of {battery.name} after its cut-off", bms.span, "drain after cut-off 0.1 mA").outcome(
            _GRADE, subject
        )
    drain, words, place = found
    reserve = bms.charge_left_after_cut_off
    current = float(drain.high)
    if current <= 0.0:
        return Passed(_GRADE, subject, Amount(_ENDLESS, "time", "days"), limit, "at-least")
    if reserve is None:
        return Missing(f"charge left in {battery.name} after its cut-off", bms.span, "charge left after cut-off 3 Ah").outcome(
            _GRADE, subject
        )
    charge = float(reserve.low)
    measured = Amount(charge / current, "time", "days")
    if not is_broken(measured.value, limit.value, "at-least"):
        return Passed(_GRADE, subject, measured, limit, "at-least")
    lasts, least = shown_pair(measured, limit)
    takes = shown(Amount(current, "current", drain.unit))
    kept = shown(Amount(charge, "charge", reserve.unit))
    most = shown(Amount(charge / _LEAST, "current", drain.unit))
    needed = shown(Amount(current * _LEAST, "charge", reserve.unit))
    return Finding(
        _GRADE,
        subject,
        f"{battery.name}: after its low cut-off {kept} are left, and its BMS goes on taking {takes}: they last {lasts}, {least} are the least."
        " After that its cells go under the voltage from which they do not come back.",
        bms.place_of(Bms.charge_left_after_cut_off),
        measured,
        limit,
        "at-least",
        working=(
            Step("C", "charge left after the cut-off", charge / 3600.0, "Ah", "as declared"),
            Step("I", words, current, "A", "as declared"),
            Step("t", f"{charge / 3600.0:.4g} Ah / {current:.4g} A / 24 h", measured.value / _DAY, "days", "charge over current"),
        ),
        remedy=f"Use one that takes {most} or less after its cut-off, let it cut off with {needed} or more left, or charge it within {lasts}.",
        related=(Related(words, place),),
    )  # fmt: skip
