"""A relay whose coil takes a good part of the bank just to stay closed."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Step, common_practice
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.switch import Relay

from ohmwright_rules.day_energy import hours_of_coil
from ohmwright_rules.energy import usable_energy
from ohmwright_rules.strings import arrangements
from ohmwright_rules.wording import listed

RULE = Rule(
    id="hungry-coil",
    title="Coil power eats the budget",
    family="storage",
    subject="relay",
    covers=("H8",),
    grades=(Grade("over-a-fiftieth", Severity.NOTE, "its coil takes more than 2 % of the usable energy a day"),),
    references=(common_practice("2 % of the usable energy a day"),),
)
_GRADE = "over-a-fiftieth"
_SHARE = 0.02  # catalogue, H8
_DAY = 86400.0


def check(study: Study) -> Iterator[Outcome]:
    """Hold what every coil takes in a day against a fiftieth of what its bank gives."""
    latching = without = 0
    for relay in sorted(study.of(Relay), key=lambda part: part.name):
        ways = arrangements(study, "battery", f"{relay.name}.coil_minus", f"{relay.name}.coil_plus")
        if not ways:
            without += 1
        elif relay.latching:
            latching += 1
        else:
            yield _judge(study, relay, min((way.strings for way in ways), key=len))
    if latching:
        yield DoesNotApply("a latching relay, whose coil takes no power to hold", latching)
    if without:
        yield DoesNotApply("no battery can be joined to its coil", without)


def _judge(study: Study, relay: Relay, strings: tuple[tuple[str, ...], ...]) -> Outcome:
    subject = (relay.name,)
    if relay.coil_power is None:
        return Missing("coil power", relay.span, "coil 1.8 W").outcome(_GRADE, subject)
    usable = usable_energy(study, strings)
    if isinstance(usable, Missing):
        return usable.outcome(_GRADE, subject)
    power, share = float(relay.coil_power.high), hours_of_coil(study, relay.name)
    measured = Amount(power * share * _DAY, "energy", "Wh")
    limit = Amount(_SHARE * usable.energy, "energy", "Wh")
    if not is_broken(measured.value, limit.value, "at-most"):
        if usable.unsaid is not None:
            return usable.unsaid.outcome(_GRADE, subject)
        return Passed(_GRADE, subject, measured, limit)
    bank = tuple(dict.fromkeys(name for string in strings for name in string))
    takes, allowed = shown_pair(measured, limit)
    hours = shown(Amount(share * _DAY, "time", "h"))
    when = "closed all day" if share >= 1.0 else f"closed for {hours} a day, as the states say"
    most = shown(Amount(limit.value / (share * _DAY), "power", relay.coil_power.unit))
    return Finding(
        _GRADE,
        subject,
        f"{relay.name}: {when}, its coil takes {takes} a day, {measured.value / usable.energy * 100:.3g} % of what {listed(bank)} can give; {allowed} is a"
        " fiftieth.",
        relay.place_of(Relay.coil_power),
        measured,
        limit,
        working=(
            Step("E_coil", f"{power:.4g} W x {24 * share:.4g} h", measured.value / 3600.0, "Wh", when),
            *usable.steps,
            Step("E_limit", f"0.02 x {usable.energy / 3600.0:.4g}", limit.value / 3600.0, "Wh", "common practice, no source"),
        ),
        remedy=f"Use a latching relay, or one whose coil holds with {most} or less.",
        related=tuple(Related(f"{name}: its capacity", study.span(name)) for name in bank),
        reference=usable.reference,
    )
