"""A recharge by mains that is promised faster than lead-acid takes its last part."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown_pair
from ohmwright_grammar.kinds.battery import LEAD_ACID, Battery
from ohmwright_grammar.kinds.charging import Charging
from ohmwright_grammar.kinds.requirement import Requirement

from ohmwright_rules.charging import String, charged
from ohmwright_rules.mains_ports import mains_ports
from ohmwright_rules.wording import listed

RULE = Rule(
    id="slow-charge",
    title="Last part of the charge forgotten",
    family="energy",
    subject="charger",
    covers=("J10",),
    grades=(
        Grade(
            "taper", Severity.NOTE, "lead-acid takes longer for its bulk and its absorption than the promised recharge by mains"
        ),
    ),
    references=(Reference("a battery school's text", "", "12 to 16 h for lead-acid", "secondary"),),
)
_GRADE = "taper"
_BULK = 0.8  # of the capacity comes at full current: catalogue, J10
_ABSORPTION = 4.0 * 3600.0  # s, where the charger does not say: catalogue, J10, Ex


def check(study: Study) -> Iterator[Outcome]:
    """Add up bulk and absorption for every lead-acid bank on mains, and hold it against the promise."""
    promises = [item for item in study.of(Requirement) if item.recharge_by_mains is not None]
    if not promises:
        yield DoesNotApply("no recharge by mains is promised")
        return
    promise = min(promises, key=lambda item: float(item.recharge_by_mains.low) if item.recharge_by_mains is not None else 0.0)
    ports = {port.part.name for port in mains_ports(study)}
    chargers = [item for item in charged(study) if item.part.name in ports]
    batteries = {
        battery.name: battery
        for item in chargers
        for string in item.strings
        for battery in string.batteries
        if battery.chemistry in LEAD_ACID
    }
    if not batteries:
        yield DoesNotApply("no lead-acid battery is charged by mains")
        return
    yield _judge(promise, [item.part for item in chargers], chargers[0].strings, list(batteries.values()))


def _judge(promise: Requirement, chargers: list[Charging], strings: tuple[String, ...], batteries: list[Battery]) -> Outcome:
    assert promise.recharge_by_mains is not None
    names = tuple(dict.fromkeys((*(charger.name for charger in chargers), *(battery.name for battery in batteries))))
    silent = next((charger for charger in chargers if charger.rated_current is None), None)
    if silent is not None:
        return Missing(f"highest current out of {silent.name}", silent.span, "10 A").outcome(_GRADE, names)
    empty = next((battery for battery in batteries if battery.capacity is None), None)
    if empty is not None:
        return Missing(f"capacity of {empty.name}", empty.span, "100 Ah").outcome(_GRADE, names)
    charge = sum(
        min(float(battery.capacity.charge.high) for battery in string.batteries if battery.capacity is not None)
        for string in strings
    )
    current = sum(float(charger.rated_current.low) for charger in chargers if charger.rated_current is not None)
    said = [float(charger.absorption_time.high) for charger in chargers if charger.absorption_time is not None]
    absorption = max(said) if said else _ABSORPTION
    seconds = _BULK * charge / current + absorption
    measured = Amount(seconds, "time", "h")
    limit = Amount(float(promise.recharge_by_mains.low), "time", "h")
    if not is_broken(seconds, limit.value, "at-most"):
        return Passed(_GRADE, names, measured, limit)
    takes, promised = shown_pair(measured, limit)
    return Finding(
        _GRADE,
        names,
        f"{listed(names)}: 80 % come back at {current:.3g} A, and the last part is slow whatever the charger: {takes} in all; {promised} are promised.",
        promise.span,
        measured,
        limit,
        working=(
            Step(
                "t_bulk",
                f"0.8 x {charge / 3600.0:.4g} Ah / {current:.4g} A",
                _BULK * charge / current / 3600.0,
                "h",
                "catalogue of faults, J10",
            ),
            Step("t_absorb", "absorption", absorption / 3600.0, "h", "as declared" if said else "assumed, usual"),
        ),
        remedy=f"Promise {takes}, or count on 80 % only.",
        related=tuple(Related(f"{battery.name}: lead-acid", battery.span) for battery in batteries[:4]),
    )
