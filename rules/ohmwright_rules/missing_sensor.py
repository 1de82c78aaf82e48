"""A charger that cannot feel how warm its lead-acid battery is."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import TypeGuard

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.battery import LITHIUM, Battery
from ohmwright_grammar.kinds.charging import Charger, Charging
from ohmwright_grammar.kinds.site import Site, Zone
from ohmwright_grammar.quantities import Celsius, Quantity
from ohmwright_grammar.spans import Span

from ohmwright_rules.charging import NO_BATTERY, String, charged
from ohmwright_rules.wording import listed

RULE = Rule(
    id="missing-sensor",
    title="Charger without a sensor on its lead-acid battery",
    family="controllers",
    subject="controller or charger, with each bank",
    covers=("B13",),
    grades=(
        Grade("wide-range", Severity.NOTE, "the battery's temperature moves by more than 10 K either way, and nothing feels it", absence="itself"),
    ),
    references=(Reference("makers' charging instructions", "", "temperature compensation", "from-memory"),),
)  # fmt: skip
_GRADE = "wide-range"
_EITHER_WAY = 10.0  # K: catalogue, B13
_NOT_LEAD = "no lead-acid battery"


def check(study: Study) -> Iterator[Outcome]:
    """Hold the range of temperature of every lead-acid bank against what its charger can feel."""
    left: Counter[str] = Counter()
    for item in charged(study):
        if not item.strings:
            left[NO_BATTERY] += 1
        for string in item.strings:
            if any(battery.chemistry in LITHIUM for battery in string.batteries):
                left[_NOT_LEAD] += 1
            else:
                yield _judge(study, item.part, string)
    for condition, count in sorted(left.items()):
        yield DoesNotApply(condition, count)


def _judge(study: Study, part: Charging, string: String) -> Outcome:
    subject = (part.name, *string.names)
    if _feels(study, part, string):
        return Passed(_GRADE, subject)
    limit = Amount(_EITHER_WAY, "difference")
    widest: tuple[float, Quantity[Celsius], str, Span] | None = None
    for battery in string.batteries:
        found = _range(study, part, battery)
        if isinstance(found, Missing):
            return found.outcome(_GRADE, subject)
        quantity, words, span = found
        either = (float(quantity.high) - float(quantity.low)) / 2
        if widest is None or either > widest[0]:
            widest = either, quantity, words, span
    assert widest is not None
    either, quantity, words, span = widest
    measured = Amount(either, "difference")
    if not is_broken(either, _EITHER_WAY, "at-most"):
        return Passed(_GRADE, subject, measured, limit)
    unknown = next((battery for battery in string.batteries if battery.chemistry is None), None)
    if unknown is not None:
        return Missing(f"chemistry of {unknown.name}", unknown.span, "AGM").outcome(_GRADE, subject)
    moves, allowed = shown_pair(measured, limit)
    low, high = float(quantity.low), float(quantity.high)
    ends = f"{shown(Amount(low, 'temperature'))} to {shown(Amount(high, 'temperature'))}"
    return Finding(
        _GRADE,
        subject,
        f"{part.name}: {string.words} lies at {ends}, {moves} either way, and {_felt(part)}; beyond {allowed} the right voltage of lead-acid moves"
        " too far. It is overcharged when warm and never full when cold.",
        part.span,
        measured,
        limit,
        working=(Step("dT", f"({high:g} - ({low:g})) / 2", either, "K", words),),
        remedy=f"Fit a battery temperature sensor and declare: sensor on {string.names[0]}",
        related=(Related(words, span),),
    )  # fmt: skip


def _felt(part: Charging) -> str:
    return f"its sensor is on {listed(part.sensor_on)}" if part.sensor_on else "no sensor tells it"


def _feels(study: Study, part: Charging, string: String) -> bool:
    """Tell whether a sensor is on a battery of a bank, or on one that lies in the same place; one that is on nothing named counts."""
    if not part.sensor_on:
        return bool(part.battery_temperature_sensor)
    places = {study.zone_of(name) for name in string.names}
    return any(name in string.names or study.zone_of(name) in places for name in part.sensor_on)


def _range(study: Study, part: Charging, battery: Battery) -> tuple[Quantity[Celsius], str, Span] | Missing:
    """Return the range of temperature of a battery while it is charged: that at which the charger is used, of the zone, of the site."""
    if isinstance(part, Charger) and _is_range(part.used_at):
        return part.used_at, f"range at which {part.name} is used", part.place_of(Charger.used_at)
    at = study.zone_of(battery.name)
    zone = next((zone for zone in study.of(Zone) if zone.name == at), None)
    if zone is not None and _is_range(zone.temperature):
        return zone.temperature, f"range of zone {zone.name}", zone.place_of(Zone.temperature)
    site = next(study.of(Site), None)
    if site is not None and _is_range(site.ambient):
        return site.ambient, "range of the site", site.place_of(Site.ambient)
    inside = "ambient -5 degC to 35 degC"
    span = site.span if site is not None else study.build.rig.span
    return Missing("ambient range of the site", span, inside if site is not None else f"site {{ {inside} }}")


def _is_range(quantity: Quantity[Celsius] | None) -> TypeGuard[Quantity[Celsius]]:
    """Tell whether both ends of a range are said."""
    return quantity is not None and quantity.form not in ("at most", "at least")
