"""Promises of energy that comes back: recharging by sun, by mains, and how many cycles or years a battery lasts."""

from __future__ import annotations

from ohmwright.circuit.batteries import nominal_voltage
from ohmwright.missing import Missing
from ohmwright.references import Step, common_practice
from ohmwright.study import Study
from ohmwright.values import Amount, shown
from ohmwright_grammar.kinds.array import Array
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.charging import Charger
from ohmwright_grammar.kinds.inverter import InverterCharger
from ohmwright_grammar.kinds.requirement import Requirement
from ohmwright_grammar.kinds.site import Site
from ohmwright_grammar.records import record

from ohmwright_rules.day_energy import day_energy
from ohmwright_rules.mains_ports import mains_ports
from ohmwright_rules.promised_runs import asked_by_run, every_battery
from ohmwright_rules.promises import Answer
from ohmwright_rules.silent_battery import silent_voltage
from ohmwright_rules.wording import listed

__all__ = ["MONTHS", "SHARE_LEFT", "array_power", "by_mains", "by_sun", "charge_efficiency", "lasting"]

_HOUR, _DAY = 3600.0, 86400.0
SHARE_LEFT = 0.70  # of an array: readings.md, J1 (common practice, no source)
_EFFICIENCY = {
    "LFP": 0.95,
    "other lithium": 0.95,
    "flooded": 0.85,
    "AGM": 0.85,
    "gel": 0.85,
}  # readings.md, J1: common practice, no source
_CHARGING = 13.6 / 12.8  # of the nominal voltage, while it charges: catalogue, R5
_SUN = "energy taken / (charge efficiency x array power x share left x sun hours) <= days"
_MAINS = "energy taken / (charge efficiency x charging voltage x hours) <= charge current"
_LIFE = "energy of a day / nominal energy x days <= cycles x depth"
_PRACTICE = common_practice("share left of an array 70 %, charge efficiency 95 % or 85 %")
MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)


@record
class _Need:
    """What has to come back into the bank [J], in words what that is, and what was not said."""

    energy: float
    words: str
    steps: tuple[Step, ...]
    strings: tuple[tuple[str, ...], ...]
    unsaid: Missing | None


def _need(study: Study) -> _Need | Missing:
    """Return what has to be charged: the largest promised run, else a day's energy."""
    best: _Need | None = None
    for requirement in study.of(Requirement):
        if requirement.run is None:
            continue
        asked = asked_by_run(study, requirement)
        if isinstance(asked, Missing):
            return asked
        if best is None or asked.energy > best.energy:
            step = Step("E", asked.words, asked.energy / _HOUR, "Wh", "the largest promised run")
            best = _Need(asked.energy, asked.words, (step,), asked.strings, asked.unsaid)
    if best is not None:
        return best
    day = day_energy(study)
    if isinstance(day, Missing):
        return day
    step = Step("E", "a day of all loads", day.energy / _HOUR, "Wh", "hours of the loads")
    return _Need(day.energy, "a day of its loads", (step,), day.taken.strings, day.unsaid)


def charge_efficiency(study: Study, strings: tuple[tuple[str, ...], ...]) -> tuple[float, Step] | Missing:
    """Return the smallest charge efficiency of a bank's batteries."""
    found: list[tuple[float, str]] = []
    for name in dict.fromkeys(name for string in strings for name in string):
        battery = study.part(name)
        assert isinstance(battery, Battery)
        if battery.charge_efficiency is not None:
            found.append((float(battery.charge_efficiency.low), "as declared"))
        elif battery.chemistry in _EFFICIENCY:
            found.append((_EFFICIENCY[battery.chemistry], f"usual for {battery.chemistry}, assumed"))
        else:
            return Missing(f"chemistry of {name}", battery.span, "LFP")
    share, source = min(found)
    return share, Step("eta_batt", "share of the charge that comes back", share, "1", source)


# sun ---------------------------------------------------------------------------------------------------------------


def by_sun(study: Study, requirement: Requirement) -> Answer:
    """Hold the days that the sun takes to bring a bank's energy back against what is promised (R4)."""
    promised = requirement.recharge_by_sun
    assert promised is not None
    limit = Amount(float(promised.low), "time", promised.unit)
    arrays = sorted(study.of(Array), key=lambda part: part.name)
    names = tuple(array.name for array in arrays)
    if not arrays:
        return _no_sun(every_battery(study), promised.unit, limit, ())
    need = _need(study)
    if isinstance(need, Missing):
        return Answer("cannot-do", _SUN, names, missing=need)
    subject = names
    efficiency = charge_efficiency(study, need.strings)
    if isinstance(efficiency, Missing):
        return Answer("cannot-do", _SUN, subject, missing=efficiency)
    power = 0.0
    steps = [*need.steps, efficiency[1]]
    for array in arrays:
        each = array_power(array)
        if each is None:
            return Answer("cannot-do", _SUN, subject, missing=Missing(f"power of {array.name}", array.span, "100 W"))
        count = (array.in_series or 1) * (array.in_parallel or 1)
        share = float(array.share_left.low) if array.share_left is not None else SHARE_LEFT
        source = "as declared" if array.share_left is not None else "share left assumed: common practice, no source"
        power += each * count * share
        steps.append(Step(f"P_{array.name}", f"{count} x {each:.4g} W x {share:.3g}", each * count * share, "W", source))
    sun = _sun(study)
    if isinstance(sun, Missing):
        return Answer("cannot-do", _SUN, subject, missing=sun)
    hours, words = sun
    steps.append(Step("PSH", words, hours, "h/day", "site"))
    daily = power * hours * _HOUR
    wanted = need.energy / efficiency[0]
    if daily <= 0:
        return _no_sun(subject, promised.unit, limit, tuple(steps))
    value = Amount(wanted / daily * _DAY, "time", promised.unit)
    steps.append(
        Step(
            "t",
            f"{wanted / _HOUR:.4g} Wh / ({power:.4g} W x {hours:.3g} h)",
            value.value / _DAY,
            "days",
            "charge efficiency counted",
        )
    )
    enough = shown(Amount(power / limit.value * value.value / _share(arrays), "power", "W"))
    return Answer(
        "cannot-do",
        _SUN,
        subject,
        value,
        limit,
        steps=tuple(steps),
        words=f"{need.words} takes {shown(Amount(need.energy, 'energy', 'Wh'))}; {listed(names)} {'bring' if len(names) > 1 else 'brings'} it back in {{value}}"
        " of sun, {limit} are promised",
        remedy=f"Use panels of {enough} or more in all, or take less.",
        missing=need.unsaid,
        related=tuple((f"{array.name}: its power", array.span) for array in arrays),
        reference=_PRACTICE,
    )


def _no_sun(subject: tuple[str, ...], unit: str, limit: Amount, steps: tuple[Step, ...]) -> Answer:
    """Answer a promise that nothing can keep, whatever else was not said."""
    return Answer(
        "cannot-do", _SUN, subject, Amount(1e9, "time", unit), limit, steps=steps, words="no array brings any energy back; {limit} are promised",
        remedy="Add an array.",
    )  # fmt: skip


def _share(arrays: list[Array]) -> float:
    return (
        min((float(array.share_left.low) if array.share_left is not None else SHARE_LEFT for array in arrays), default=1.0)
        or 1.0
    )


def array_power(array: Array) -> float | None:
    if array.rated_power is not None:
        return float(array.rated_power.low)
    if array.vmp is not None and array.imp is not None:
        return float(array.vmp.low) * float(array.imp.low)
    return None


def _sun(study: Study) -> tuple[float, str] | Missing:
    """Return the peak sun hours a day that count: of the month that is sized for, else of the worst month, else the mean."""
    site = study.one(Site)
    if site is None:
        return Missing("peak sun hours", study.build.rig.span, "site { sun 3 h/day }")
    by_month = [float(hours.low) * 24.0 for hours in site.sun_by_month.hours] if site.sun_by_month is not None else []
    if site.sizing_sun is not None:
        return float(site.sizing_sun.low) * 24.0, "sun that the sizing uses"
    if site.sizing_month in MONTHS and len(by_month) == len(MONTHS):
        return by_month[MONTHS.index(site.sizing_month)], f"{site.sizing_month}, as sized"
    if by_month:
        worst = min(range(len(by_month)), key=lambda month: by_month[month])
        return by_month[worst], f"the worst month, {MONTHS[worst] if worst < 12 else ''}"
    if site.sun is not None:
        return float(site.sun.low) * 24.0, "mean of the year"
    return Missing("peak sun hours", site.span, "sun 3 h/day")


# mains -------------------------------------------------------------------------------------------------------------


def by_mains(study: Study, requirement: Requirement) -> Answer:
    """Hold the current that recharging by mains needs against what the chargers give and the batteries take (R5)."""
    promised = requirement.recharge_by_mains
    assert promised is not None
    chargers = [port.part for port in mains_ports(study) if isinstance(port.part, Charger | InverterCharger)]
    names = tuple(charger.name for charger in chargers)
    subject = names or every_battery(study)
    need = _need(study)
    if isinstance(need, Missing):
        return Answer("cannot-do", _MAINS, subject, missing=need)
    efficiency = charge_efficiency(study, need.strings)
    if isinstance(efficiency, Missing):
        return Answer("cannot-do", _MAINS, subject, missing=efficiency)
    given = 0.0
    for charger in chargers:
        if charger.rated_current is None:
            missing = Missing(f"highest current out of {charger.name}", charger.span, "10 A")
            return Answer("cannot-do", _MAINS, subject, missing=missing)
        given += float(charger.rated_current.low)
    volt, taken = 0.0, 0.0
    for string in need.strings:
        batteries = [battery for name in string if isinstance(battery := study.part(name), Battery)]
        nominal = [nominal_voltage(battery) for battery in batteries]
        if None in nominal:
            silent = batteries[nominal.index(None)]
            missing = silent_voltage(silent)
            return Answer("cannot-do", _MAINS, subject, missing=missing)
        volt = max(volt, sum(each for each in nominal if each is not None))
        limits = [most for battery in batteries if (most := _charge_limit(battery)) is not None]
        taken = taken + min(limits) if limits else float("inf")
    at = volt * _CHARGING
    seconds = float(promised.low)
    value = Amount(need.energy / (efficiency[0] * at * seconds), "current")
    limit = Amount(min(given, taken), "current")
    steps = (
        *need.steps,
        efficiency[1],
        Step("U", f"{volt:.4g} V x 13.6 / 12.8", at, "V", "while it charges: common practice, no source"),
        Step("I", f"E / (eta_batt x U x {seconds / _HOUR:.4g} h)", value.value, "A", "needed"),
        Step(
            "I_most",
            f"{listed(names) or 'no charger'}: {given:.4g} A; batteries take {taken:.4g} A",
            limit.value,
            "A",
            "as declared",
        ),
    )
    longer = shown(Amount(seconds * value.value / limit.value, "time", "h")) if limit.value > 0 else ""
    return Answer(
        "cannot-do",
        _MAINS,
        subject,
        value,
        limit,
        steps=steps,
        words=f"{need.words} takes {shown(Amount(need.energy, 'energy', 'Wh'))}; to bring it back in {shown(Amount(seconds, 'time', promised.unit))} takes"
        " {value}, {limit} is what charger and battery allow",
        remedy=f"Use a larger charger within what the battery takes{f', or promise {longer}' if longer else ''}.",
        missing=need.unsaid,
        related=tuple((f"{charger.name}: its current", charger.span) for charger in chargers),
        reference=_PRACTICE,
    )


def _charge_limit(battery: Battery) -> float | None:
    own = battery.charge_current_limit
    bms = battery.bms.charge_current_limit if battery.bms is not None else None
    known = [float(item.low) for item in (own, bms) if item is not None]
    return min(known) if known else None


# life --------------------------------------------------------------------------------------------------------------


def lasting(study: Study, requirement: Requirement) -> Answer:
    """Hold the full cycles of a promised life against what the batteries last at the depth that they are used to (R17)."""
    batteries = sorted(study.of(Battery), key=lambda part: part.name)
    subject = tuple(battery.name for battery in batteries)
    battery = next((item for item in batteries if not item.cycle_life), None)
    if not batteries or battery is not None:
        span = battery.span if battery is not None else study.build.rig.span
        missing = Missing(f"cycle life of {battery.name}" if battery is not None else "a battery", span, "3000 cycles at 80 %")
        return Answer("over-limit", _LIFE, subject, missing=missing)
    lives = {
        item.name: max(
            (float(life.cycles) * float(life.depth.low), float(life.cycles), float(life.depth.low))
            for life in item.cycle_life or ()
        )
        for item in batteries
    }
    name = min(lives, key=lambda key: lives[key][0])
    full, cycles, depth = lives[name]
    if requirement.cycles is not None:
        value, limit = Amount(float(requirement.cycles), "count"), Amount(cycles, "count")
        return Answer(
            "over-limit", "cycles promised <= cycle life", (name,), value, limit,
            steps=(Step("N", f"{name} at {depth * 100:.3g} %", cycles, "1", "as declared"),),
            words=f"{{value}} cycles are promised; {name} lasts {{limit}} at a depth of {depth * 100:.3g} %",
            remedy="Use a battery that lasts more cycles, or discharge it less deeply.",
        )  # fmt: skip
    assert requirement.life is not None
    day = day_energy(study)
    if isinstance(day, Missing):
        return Answer("over-limit", _LIFE, subject, missing=day)
    nominal = 0.0
    for string in day.taken.strings:
        parts = [part for item in string if isinstance(part := study.part(item), Battery)]
        volts = [nominal_voltage(part) for part in parts]
        charges = [float(part.capacity.charge.low) if part.capacity is not None else None for part in parts]
        if None in volts or None in charges:
            missing = Missing(f"capacity and nominal voltage of {string[0]}", study.span(string[0]), "~4 cells, 100 Ah")
            return Answer("over-limit", _LIFE, subject, missing=missing)
        nominal += sum(volt for volt in volts if volt is not None) * min(charge for charge in charges if charge is not None)
    days = float(requirement.life.high) / _DAY
    cycled = Amount(day.energy / nominal * days, "count")
    limit = Amount(full, "count")
    return Answer(
        "over-limit",
        _LIFE,
        (name,),
        cycled,
        limit,
        steps=(
            *day.steps,
            Step("E_nom", "nominal voltage x capacity", nominal / _HOUR, "Wh", "as declared"),
            Step("N", f"E_day / E_nom x {days:.5g} days", cycled.value, "1", "full cycles"),
            Step("N_life", f"{cycles:.5g} cycles x {depth:.3g}", full, "1", f"{name}, as declared"),
        ),
        words=f"{shown(Amount(float(requirement.life.high), 'time', requirement.life.unit))} take {{value}} full cycles; {name} lasts {{limit}}",
        remedy="Use a larger battery, or one that lasts more cycles.",
        missing=day.unsaid,
    )
