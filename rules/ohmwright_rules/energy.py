"""What a bank can give: its nominal energy, of which depth, cold, age and a fast discharge leave a part.

Of tolerances the end that protects counts: the smallest capacity, depth and share, the coldest air.
"""

from __future__ import annotations

from itertools import pairwise

from ohmwright.circuit.batteries import nominal_voltage
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step, common_practice, weakest
from ohmwright.study import Study
from ohmwright.tables import load
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.site import Site, Zone
from ohmwright_grammar.records import record

from ohmwright_rules.basis import TABLES
from ohmwright_rules.silent_battery import silent_voltage

__all__ = ["MILD", "Usable", "cold_of_battery", "usable_energy"]

MILD = 10.0  # degC: from there up cold takes nothing (readings.md, J1: common practice, no source)
_AGE = 0.95  # share left with age where nothing is said (readings.md, J1: common practice, no source)
_RATE = 20.0 * 3600.0  # s: the time over which lead-acid is rated unless said
_DEPTH = load(TABLES, "battery_depth")
_DECLARED = Reference("battery data sheet, as declared", "", "", "computed")


@record
class Usable:
    """The energy that a bank gives [J], its working, and the weakest thing it rests on.

    `nominal` is voltage times capacity alone [J]. `unsaid` is what could make it smaller and was not said: `energy` is then the most that it can be.
    """

    energy: float
    nominal: float
    steps: tuple[Step, ...]
    reference: Reference
    unsaid: Missing | None = None


def usable_energy(
    study: Study, strings: tuple[tuple[str, ...], ...], power: float | None = None, coldest: float | None = None
) -> Usable | Missing:
    """Return what strings of batteries give side by side; `power` [W] is what is drawn, for the loss at a fast discharge.

    `coldest` [degC] is taken in place of the coldest air of each battery's zone. A datum comes back where it decides everything.
    """
    total = nominal_energy = 0.0
    steps: list[Step] = []
    references: list[Reference] = [_DECLARED]
    unsaid: Missing | None = None
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
            found = _share(study, battery, coldest)
            if isinstance(found, Missing):
                return found
            share, words, reference, missing = found
            references.extend(reference)
            unsaid = unsaid or missing
            charges.append((float(battery.capacity.charge.low), share, words, battery))
        charge, share, words, battery = min(charges, key=lambda item: item[0] * item[1])
        rate, said = _at_rate(battery, charge, power / len(strings) / volt if power is not None and volt > 0 else None)
        energy = volt * charge * share * rate
        total += energy
        nominal_energy += volt * min(item[0] for item in charges)
        name = " + ".join(string)
        expression = f"{volt:.4g} V x {charge / 3600.0:.4g} Ah x {words}{said}"
        steps.append(Step(f"E_{name}", expression, energy / 3600.0, "Wh", "nominal energy and what is left of it"))
    firm = weakest(references)
    assert firm is not None
    if len(strings) > 1:
        steps.append(Step("E_usable", "sum over the strings", total / 3600.0, "Wh", "side by side"))
    return Usable(total, nominal_energy, tuple(steps), firm, unsaid)


def _share(
    study: Study, battery: Battery, coldest: float | None
) -> tuple[float, str, list[Reference], Missing | None] | Missing:
    """Return the share of its energy that a battery gives, in words, what it rests on, and what was not said."""
    references: list[Reference] = []
    if battery.usable_depth is not None:
        depth = float(battery.usable_depth.low)
        words = f"{depth:.3g} (depth)"
    else:
        row = {"LFP": "LFP, usual in practice"}.get(battery.chemistry or "", battery.chemistry or "")
        cell = _DEPTH.cell(row, "usable_percent")
        if cell is None:
            return Missing(f"usable depth of {battery.name}", battery.span, "usable 80 %")
        depth = cell.value / 100.0
        references.append(cell.reference)
        words = f"{depth:.3g} (usual depth of {battery.chemistry})"
    if battery.ageing_factor is not None:
        age = float(battery.ageing_factor.low)
        words += f" x {age:.3g} (age)"
    else:
        age = _AGE
        references.append(common_practice("age leaves 95 %"))
        words += f" x {age:.3g} (age, assumed)"
    air = coldest if coldest is not None else cold_of_battery(study, battery)
    cold, unsaid = 1.0, None
    if air is None:
        unsaid = Missing(f"coldest air at {battery.name}", battery.span, "site { ambient 0 degC to 40 degC }")
    elif air < MILD - 1e-9:
        if battery.capacity_by_temperature:
            cold = _in_the_cold(battery, air)
            words += f" x {cold:.3g} (at {air:.3g} degC)"
        else:
            unsaid = Missing(f"capacity of {battery.name} at {air:.3g} degC", battery.span, f"capacity 80 % at {air:.3g} degC")
    return depth * age * cold, words, references, unsaid


def cold_of_battery(study: Study, battery: Battery) -> float | None:
    """Return the coldest air at a battery [degC]: that of its zone, else of the site; warmer by as much as its cells are said to be."""
    name = study.zone_of(battery.name)
    zone = next((zone for zone in study.of(Zone) if zone.name == name), None)
    site = study.one(Site)
    if zone is not None and zone.temperature is not None:
        air = float(zone.temperature.low)
    elif site is not None and site.ambient is not None:
        air = float(site.ambient.low)
    else:
        return None
    return air + (float(battery.cells_above_zone.low) if battery.cells_above_zone is not None else 0.0)


def _in_the_cold(battery: Battery, air: float) -> float:
    """Return the share of its capacity at a temperature: straight lines between what is declared, 1 from 10 degC up; below the coldest point the last line goes on."""
    curve = sorted((float(point.temperature.low), float(point.share.low)) for point in battery.capacity_by_temperature or ())
    if curve[-1][0] < MILD:
        curve.append((MILD, 1.0))
    if len(curve) == 1 or air >= curve[-1][0]:
        return min(1.0, curve[-1][1])
    (cool, low), (warm, high) = next(((one, two) for one, two in pairwise(curve) if air <= two[0]), curve[-2:])
    return max(0.0, min(1.0, low + (high - low) * (air - cool) / (warm - cool)))


def _at_rate(battery: Battery, charge: float, current: float | None) -> tuple[float, str]:
    """Return the share of its charge that a fast discharge leaves, and that in words; 1 where no exponent is declared."""
    exponent = battery.peukert_exponent
    if exponent is None or current is None:
        return 1.0, ""
    assert battery.capacity is not None
    over = float(battery.capacity.over.nominal) if battery.capacity.over is not None else _RATE
    rated = charge / over
    if current <= rated or exponent.high <= 1.0:
        return 1.0, ""
    share = float((rated / current) ** (float(exponent.high) - 1.0))
    return share, f" x {share:.3g} (at {current:.3g} A for {rated:.3g} A, exponent {float(exponent.high):.3g})"
