"""How cold a battery may be while something charges it: the low end of what is declared, and what keeps it from being charged below."""

from __future__ import annotations

from ohmwright.missing import Missing
from ohmwright.study import Study
from ohmwright_grammar.kinds.battery import Battery, Bms
from ohmwright_grammar.kinds.charging import Charger, Charging
from ohmwright_grammar.kinds.site import Site, Zone
from ohmwright_grammar.quantities import Celsius, Quantity
from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Span

__all__ = ["Coldest", "Cut", "coldest", "cut_by_bms", "cut_by_charger", "low_of"]


@record
class Coldest:
    """The lowest temperature of a battery while it may be charged [degC], in words from where, and where that was said."""

    temperature: float
    words: str
    span: Span


@record
class Cut:
    """The temperature [degC] below which something lets no charge pass, and what does it."""

    temperature: float
    words: str
    span: Span


def low_of(quantity: Quantity[Celsius] | None) -> float | None:
    """Return the low end of a temperature; None where only an upper one is said."""
    return float(quantity.low) if quantity is not None and quantity.form != "at most" else None


def coldest(study: Study, part: Charging, battery: Battery) -> Coldest | Missing:
    """Return how cold a battery may be while something charges it.

    The range of its zone where that declares one, else the site's; of a charger that is used only at some temperatures, not less than those.
    """
    found: Coldest | Missing = _surroundings(study, battery)
    used = low_of(part.used_at) if isinstance(part, Charger) else None
    if used is not None and (isinstance(found, Missing) or used > found.temperature):
        found = Coldest(used, f"{part.name} is used only from {used:g} degC", part.place_of(Charger.used_at))
    rise = battery.cells_above_zone
    if not isinstance(found, Missing) and rise is not None and rise.low > 0:
        warmer = float(rise.low)
        words = f"{found.words}, cells {warmer:g} K above"
        found = Coldest(found.temperature + warmer, words, found.span)
    return found


def _surroundings(study: Study, battery: Battery) -> Coldest | Missing:
    zone = study.zone_of(battery.name)
    for item in study.of(Zone):
        low = low_of(item.temperature)
        if item.name == zone and low is not None:
            return Coldest(low, f"low end of zone {zone}", item.place_of(Zone.temperature))
    site = next(study.of(Site), None)
    low = low_of(site.ambient) if site is not None else None
    if site is None or low is None:
        inside = "ambient -10 degC to 35 degC"
        span = site.span if site is not None else study.build.rig.span
        return Missing("ambient range of the site", span, inside if site is not None else f"site {{ {inside} }}")
    return Coldest(low, "low end of the site's range", site.place_of(Site.ambient))


def cut_by_bms(battery: Battery) -> Cut | Missing | None:
    """Return where a management system stops the charge in the cold; None where it never does.

    One that can open the discharge side alone cannot.
    """
    bms = battery.bms
    if battery.says_none(Battery.bms):
        return None
    if bms is None:
        return Missing(f"low-temperature charge cut of {battery.name}", battery.span, "bms { blocks charge below 0 degC }")
    if bms.cuts == "discharge" or bms.says_none(Bms.cold_charge_cut):
        return None
    if bms.cold_charge_cut is None:
        return Missing(f"low-temperature charge cut of the BMS of {battery.name}", bms.span, "blocks charge below 0 degC")
    return Cut(float(bms.cold_charge_cut.low), f"the BMS of {battery.name}", bms.place_of(Bms.cold_charge_cut))


def cut_by_charger(part: Charging, battery: Battery, alone: bool) -> Cut | Missing | None:
    """Return where something that charges stops in the cold by a sensor on the battery; None where it never does, or feels something else.

    `alone` tells that it charges no other battery, so that its battery sensor must be on this one.
    """
    cut = part.cold_charge_cut
    if part.says_none(Charging.cold_charge_cut):
        return None
    if cut is None:
        return Missing(f"low-temperature charge cut of {part.name}", part.span, "no low-temperature charge cut")
    if part.sensor_on is not None:
        if battery.name not in part.sensor_on:
            return None
    elif part.battery_temperature_sensor is False:
        return None
    elif not (alone and part.battery_temperature_sensor):
        return Missing(f"battery that the temperature sensor of {part.name} is on", part.span, f"sensor on {battery.name}")
    return Cut(float(cut.low), f"{part.name} by its sensor on {battery.name}", part.place_of(Charging.cold_charge_cut))
