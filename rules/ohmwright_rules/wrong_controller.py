"""A controller or charger that is not made for the battery that it charges."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.batteries import nominal_voltage
from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Step, common_practice
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright.values import Amount, shown
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.charging import Charging
from ohmwright_grammar.quantities import Quantity, Volt

from ohmwright_rules.charging import NO_BATTERY, String, charged
from ohmwright_rules.silent_battery import silent_voltage
from ohmwright_rules.wording import named

RULE = Rule(
    id="wrong-controller",
    title="Controller or charger not made for this battery",
    family="controllers",
    subject="controller or charger",
    covers=("B2",),
    grades=(
        Grade("wrong-voltage", Severity.ERROR, "it has no steps for the nominal voltage of the battery"),
        Grade("wrong-chemistry", Severity.ERROR, "it has no steps for the chemistry of the battery"),
    ),
    references=(common_practice("the maker's list of voltages and chemistries"),),
)
_ALIKE = 0.10  # nominal voltages of one class differ by up to so much: 12.8 V is a 12 V battery


def check(study: Study) -> Iterator[Outcome]:
    """Hold the voltage and chemistry of every battery against what charges it."""
    without = 0
    for item in charged(study):
        if not item.strings:
            without += 1
        for string in item.strings:
            yield _voltage(item.part, string)
            yield _chemistry(item.part, string)
    if without:
        yield DoesNotApply(NO_BATTERY, without)


def _voltage(part: Charging, string: String) -> Outcome:
    subject = (part.name, *string.names)
    said = part.battery_voltages
    if said is None:
        return Missing("battery voltages that it has steps for", part.span, "for ~12 V batteries").outcome(
            "wrong-voltage", subject
        )
    volts = [nominal_voltage(battery) for battery in string.batteries]
    known = [volt for volt in volts if volt is not None]
    if len(known) < len(volts):
        battery = string.batteries[volts.index(None)]
        return silent_voltage(battery).outcome("wrong-voltage", subject)
    bank = sum(known)
    if any(_is_for(quantity, bank) for quantity in said.voltages):
        return Passed("wrong-voltage", subject)
    listed = " or ".join(_words(quantity) for quantity in said.voltages)
    volt = shown(Amount(bank, "voltage", "V"))
    return Finding(
        "wrong-voltage",
        subject,
        f"{part.name}: it is made for {listed}; {string.words} is a battery of {volt}.",
        part.span,
        working=(
            Step(
                "V_nominal", " + ".join(f"{volt:.4g}" for volt in known), bank, "V", "as declared, or cells times that of one"
            ),
        ),
        remedy=f"Use one with steps for {volt}, or a battery of {listed}.",
        related=(
            Related("its voltages", part.place_of(Charging.battery_voltages)),
            *(Related(battery.name, battery.span) for battery in string.batteries),
        ),
    )


def _is_for(quantity: Quantity[Volt], bank: float) -> bool:
    """Tell whether a listed voltage (or range) is that of a bank, 10 % either way and at equality."""
    return quantity.low * (1.0 - _ALIKE) - 1e-9 <= bank <= quantity.high * (1.0 + _ALIKE) + 1e-9


def _words(quantity: Quantity[Volt]) -> str:
    low, high = (shown(Amount(float(end), "voltage", quantity.unit)) for end in (quantity.low, quantity.high))
    return low if low == high else f"{low} to {high}"


def _chemistry(part: Charging, string: String) -> Outcome:
    subject = (part.name, *string.names)
    if part.chemistries is None:
        return Missing("chemistries that it has steps for", part.span, "charges LFP").outcome("wrong-chemistry", subject)
    for battery in string.batteries:
        if battery.chemistry is None:
            return Missing(f"chemistry of {battery.name}", battery.span, "LFP").outcome("wrong-chemistry", subject)
    wrong = [battery for battery in string.batteries if battery.chemistry not in part.chemistries]
    if not wrong:
        return Passed("wrong-chemistry", subject)
    battery = wrong[0]
    profiles = named(part.chemistries)
    return Finding(
        "wrong-chemistry",
        subject,
        f"{part.name}: it has steps for {profiles}; {battery.name} is {battery.chemistry}. It would keep charging it by another chemistry's voltages.",
        part.span,
        remedy=f"Use one with steps for {battery.chemistry}; where its steps can be set by hand, declare: charges {battery.chemistry}",
        related=(
            Related("its chemistries", part.place_of(Charging.chemistries)),
            Related(f"the chemistry of {battery.name}", battery.place_of(Battery.chemistry)),
        ),
    )
