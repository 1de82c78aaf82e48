"""An inverter that is left switched on with nothing plugged in."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.batteries import nominal_voltage
from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Step, common_practice
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.inverter import Inverter

from ohmwright_rules.day_energy import states_with_inverter_on
from ohmwright_rules.silent_battery import silent_voltage
from ohmwright_rules.strings import arrangements
from ohmwright_rules.wording import listed

RULE = Rule(
    id="idle-inverter",
    title="Inverter left on empties the battery",
    family="storage",
    subject="inverter",
    covers=("K2",),
    grades=(Grade("over-a-twentieth", Severity.WARNING, "its draw with no load takes more than 5 % of the bank a day"),),
    references=(common_practice("5 % of the bank a day; a measured case of 1.5 A with no load"),),
)
_GRADE = "over-a-twentieth"
_SHARE = 0.05  # catalogue, K2: of the nominal energy, a day
_DAY = 86400.0
_NO_BANK = "no battery can be joined to it"


def check(study: Study) -> Iterator[Outcome]:
    """Hold what every inverter draws with no load in a day against a twentieth of its bank."""
    without = 0
    for inverter in sorted(study.of(Inverter), key=lambda part: part.name):
        ways = arrangements(study, "battery", f"{inverter.name}.minus", f"{inverter.name}.plus")
        if not ways:
            without += 1
        elif inverter.sleeps:
            yield Passed(_GRADE, (inverter.name,))
        else:
            yield _judge(study, inverter, min((way.strings for way in ways), key=len))
    if without:
        yield DoesNotApply(_NO_BANK, without)


def _judge(study: Study, inverter: Inverter, strings: tuple[tuple[str, ...], ...]) -> Outcome:
    subject = (inverter.name,)
    idle = inverter.no_load_draw
    if idle is None:
        return Missing("draw with no load", inverter.span, "idle 8 W").outcome(_GRADE, subject)
    energy = _energy(study, strings)
    if isinstance(energy, Missing):
        return energy.outcome(_GRADE, subject)
    share, why = _share_of_day(study, inverter)
    measured = Amount(float(idle.high) * share * _DAY, "energy", "Wh")
    limit = Amount(_SHARE * energy, "energy", "Wh")
    if not is_broken(measured.value, limit.value, "at-most"):
        return Passed(_GRADE, subject, measured, limit)
    takes, allowed = shown_pair(measured, limit)
    bank = listed(dict.fromkeys(name for string in strings for name in string))
    of_bank = measured.value / energy * 100
    draw = shown(Amount(float(idle.high), "power", idle.unit))
    most = shown(Amount(limit.value / (share * _DAY), "power", idle.unit))
    hours = shown(Amount(min(24.0, 24.0 * share * limit.value / measured.value) * 3600.0, "time", "h"))
    return Finding(
        _GRADE,
        subject,
        f"{inverter.name}: left on, it draws {draw} with nothing plugged in, {takes} a day: {of_bank:.3g} % of {bank}. A twentieth is {allowed}.",
        inverter.span,
        measured,
        limit,
        working=(
            Step("E_idle", f"{float(idle.high):.4g} W x {24 * share:.4g} h", measured.value / 3600.0, "Wh", why),
            Step("E_bank", bank, energy / 3600.0, "Wh", "nominal voltage times capacity"),
            Step("E_limit", f"0.05 x {energy / 3600.0:.4g}", limit.value / 3600.0, "Wh", "common practice, no source"),
        ),
        remedy=f"Switch it on for {hours} a day at most, use one that sleeps by itself, or one that draws {most} or less.",
        related=tuple(
            Related(f"{name}: its capacity", study.span(name))
            for name in dict.fromkeys(name for string in strings for name in string)
        ),
    )


def _energy(study: Study, strings: tuple[tuple[str, ...], ...]) -> float | Missing:
    """Return the nominal energy of a bank [J]: of each string the summed voltage times the smallest capacity."""
    total = 0.0
    for string in strings:
        volt, charges = 0.0, []
        for name in string:
            battery = study.part(name)
            assert isinstance(battery, Battery)
            nominal = nominal_voltage(battery)
            if nominal is None:
                return silent_voltage(battery)
            if battery.capacity is None or battery.capacity.charge.low <= 0:
                return Missing(f"capacity of {name}", battery.span, "100 Ah")
            volt += nominal
            charges.append(float(battery.capacity.charge.low))
        total += volt * min(charges)
    return total


def _share_of_day(study: Study, inverter: Inverter) -> tuple[float, str]:
    """Return the part of the day for which it is on: the hours of the declared states that use it where all say, else all day."""
    duties = [state.setup.duty for state in states_with_inverter_on(study, inverter.name)]
    known = [duty for duty in duties if duty is not None]
    if duties and len(known) == len(duties):
        return min(1.0, sum(known)), "hours a day of the states in which it is on"
    return 1.0, "left on all day"
