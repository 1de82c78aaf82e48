"""Lead-acid batteries in a closed case without a way out for the gas that they give off, or with one that lets water in."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ohmwright.circuit.batteries import cells_of
from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step, common_practice
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.tables import load
from ohmwright.thermal.contents import Contents
from ohmwright.thermal.walls import is_closed
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.battery import LEAD_ACID, Battery
from ohmwright_grammar.kinds.charging import Charging
from ohmwright_grammar.kinds.enclosure import Enclosure, Vent
from ohmwright_grammar.kinds.site import Site
from ohmwright_grammar.quantities import Quantity
from ohmwright_grammar.records import record

from ohmwright_rules.basis import TABLES
from ohmwright_rules.charging import charged
from ohmwright_rules.silent_battery import silent_voltage
from ohmwright_rules.voltage_lines import set_points
from ohmwright_rules.wording import named

RULE = Rule(
    id="unvented-battery",
    title="Lead-acid battery in a case without vents",
    family="enclosure",
    subject="case",
    covers=("L3", "L7"),
    grades=(
        Grade("too-small", Severity.ERROR, "a closed case with lead-acid has no vents low and high, or too small ones"),
        Grade("not-outside", Severity.ERROR, "the upper vent of a case with lead-acid does not lead outside"),
        Grade("lets-water-in", Severity.WARNING, "a vent of a case that keeps water out has neither a membrane nor a duct"),
    ),
    references=(
        Reference("EN 50272-3", "as a battery maker gives it", "ventilation", "secondary"),
        Reference("EN 50272-2", "as reproduced on public pages", "ventilation", "secondary"),
        Reference("33 CFR 183.420", "as on a law mirror, undated", "(e)", "read"),
        common_practice("a vent in a case that keeps water out has a membrane or a duct"),
    ),
)
_GAS = load(TABLES, "gas_evolution")
_VENTILATION = load(TABLES, "ventilation")
_AH = 3600.0  # C
_LIMITED = 2.4  # V per cell, up to which a charger counts as limited (readings.md, L3)
_SLACK = 1e-9
_WATER = "456789"  # second digit of an ingress code: IPx4 and up


@record
class _Gas:
    """The current that makes gas in one battery [A]: at least, at most where something was not said, and the words and working of the lower."""

    battery: Battery
    cells: float
    low: float
    high: float
    words: str
    reference: Reference
    missing: Missing | None = None


def check(study: Study) -> Iterator[Outcome]:
    """Hold the vents of every case against the air that the batteries inside ask for."""
    placed: set[str] = set()
    lithium = 0
    for contents in study.contents:
        batteries = [part for part in contents.parts if isinstance(part, Battery)]
        placed.update(battery.name for battery in batteries)
        lead = [battery for battery in batteries if battery.chemistry in LEAD_ACID]
        lithium += sum(1 for battery in batteries if battery.chemistry is not None and battery.chemistry not in LEAD_ACID)
        for battery in batteries:
            if battery.chemistry is None:
                yield NotChecked(
                    "too-small", (contents.case.name, battery.name), f"chemistry of {battery.name}", battery.span, declare="AGM"
                )
        if lead and contents.case.closed is False:
            yield DoesNotApply("a case that is not closed")
        elif lead:
            yield from _judge(study, contents, lead)
    yield from _outside(study, placed)
    if lithium:
        yield DoesNotApply("lithium gives off no gas in normal use", lithium)


def _outside(study: Study, placed: set[str]) -> Iterator[Outcome]:
    """Say of lead-acid that lies in no case that it does not, or that nobody said where it lies."""
    free = 0
    for battery in sorted(study.of(Battery), key=lambda battery: battery.name):
        if battery.name in placed or battery.chemistry not in LEAD_ACID:
            continue
        if not study.zone_of(battery.name) and study.contents:
            zone = next((name for contents in study.contents for name in sorted(contents.zones)), "")
            yield NotChecked(
                "too-small", (battery.name,), "the case or zone that it lies in", battery.span, declare=f"in {zone}"
            )
        else:
            free += 1
    if free:
        yield DoesNotApply("lead-acid that lies in no case", free)


def _judge(study: Study, contents: Contents, lead: list[Battery]) -> Iterator[Outcome]:
    case = contents.case
    subject = (case.name, *(battery.name for battery in lead))
    found = [_gas(study, battery) for battery in lead]
    gases = [gas for gas in found if isinstance(gas, _Gas)]
    for lacking in found:
        if isinstance(lacking, Missing):
            yield lacking.outcome("too-small", subject)
            return
    per_ampere, per_air = _value("coefficient of air flow"), _value("opening per air flow")
    air = sum(per_ampere * gas.cells * gas.low for gas in gases)
    most = sum(per_ampere * gas.cells * gas.high for gas in gases)
    steps = (
        *(Step(f"I_{gas.battery.name}", gas.words, gas.low, "A", str(gas.reference)) for gas in gases),
        Step(
            "Q",
            " + ".join(f"{per_ampere:g} x {gas.cells:g} x {gas.low:.4g} A" for gas in gases),
            air,
            "m3/h",
            str(gases[0].reference),
        ),
        Step("A", f"{per_air:g} x {air:.4g} m3/h, low and high each", per_air * air, "cm2", str(gases[0].reference)),
    )
    yield from _areas(case, subject, gases, per_air * air * 1e-4, per_air * most * 1e-4, steps, air)
    yield from _way_out(case, subject)
    yield from _water(case, subject)


def _value(row: str) -> float:
    cell = _VENTILATION.cell(row, "value")
    assert cell is not None
    return cell.value


# how much gas ------------------------------------------------------------------------------------------------------


def _gas(study: Study, battery: Battery) -> _Gas | Missing:
    cells = cells_of(battery)
    if cells is None:
        return silent_voltage(battery)
    if battery.capacity is None:
        return Missing(f"capacity of {battery.name}", battery.span, "100 Ah")
    hours = float(battery.capacity.charge.high) / _AH
    own = battery.gassing
    if own is not None and float(own.per.low) > 0.0:
        amperes = float(own.current.high) * hours * _AH / float(own.per.low)
        words = f"{shown(Amount(float(own.current.high), 'current'))} for {shown(Amount(float(own.per.low), 'charge'))}, {hours:g} Ah"
        return _Gas(battery, cells, amperes, amperes, words, common_practice("as the battery says"))
    build = LEAD_ACID[battery.chemistry or ""]
    site = study.one(Site)
    fixed = site is not None and site.use == "fixed"
    usual = (f"{build}, boost", 1000.0) if fixed else (f"motive {build}, 2.4 V/cell charger", 100.0)
    reference = RULE.references[1 if fixed else 0]
    low = _table(usual[0]) / usual[1] * hours
    raised = _table(f"motive {build}, IUI charger") / 100.0 * hours
    taper = _table("motive, taper charger") / 100.0 * hours
    words = f"{_table(usual[0]):g} {'mA/Ah' if fixed else 'A per 100 Ah'} of {hours:g} Ah, charged up to {_LIMITED:g} V a cell"
    high, missing = low, None
    for part, volts in _chargers(study, battery):
        points = [(name, volt / volts) for name, volt in set_points(part)]
        name, highest = max(points, key=lambda point: point[1], default=("", 0.0))
        full = float(part.rated_current.high) if part.rated_current is not None else float("inf")
        unregulated = part.says_none(Charging.absorption_voltage)
        if unregulated and min(taper, full) > low:
            low, words, reference = (
                min(taper, full),
                f"{part.name} is not regulated: {min(taper, full):.4g} A",
                RULE.references[0],
            )
        elif highest > _LIMITED * (1 + _SLACK) and min(raised, full) > low:
            low, reference = min(raised, full), RULE.references[0]
            words = (
                f"{part.name} goes to {highest:.3g} V a cell ({name}): {low * 100.0 / hours:.3g} A per 100 Ah of {hours:g} Ah"
            )
        elif not points and not unregulated and min(taper, full) > high:
            high, missing = min(taper, full), Missing(f"absorption voltage of {part.name}", part.span, "absorption ~14.1 V")
        elif part.fact(Charging.equalise_voltage) is None and min(raised, full) > high:
            high, missing = min(raised, full), Missing(f"equalising voltage of {part.name}", part.span, "no equalise")
    return _Gas(battery, cells, low, max(low, high), words, reference, missing if high > low else None)


def _table(row: str) -> float:
    cell = _GAS.cell(row, "current")
    assert cell is not None
    return cell.value


def _chargers(study: Study, battery: Battery) -> Iterator[tuple[Charging, float]]:
    """Yield everything that can charge a battery, with the number of cells that its voltage is over."""
    for item in charged(study):
        for string in item.strings:
            if battery.name in string.names:
                counts = [cells_of(other) for other in string.batteries]
                cells = sum(count for count in counts if count is not None)
                if cells > 0:
                    yield item.part, cells
                break


# what air can pass -------------------------------------------------------------------------------------------------


def _vents(case: Enclosure, where: str) -> list[Vent]:
    return [vent for vent in case.vents or () if where in vent.name.rpartition(".")[2].lower()]


def _areas(
    case: Enclosure,
    subject: tuple[str, ...],
    gases: list[_Gas],
    needed: float,
    most: float,
    steps: tuple[Step, ...],
    air: float,
) -> Iterator[Outcome]:
    if not case.vents and is_closed(case) is None:
        yield NotChecked("too-small", subject, "whether it is closed", case.span, declare="closed")
        return
    areas: list[tuple[float, str]] = []
    for where in ("low", "high"):
        vents = _vents(case, where)
        silent = next((vent for vent in vents if vent.free_area is None), None)
        if silent is not None:
            yield NotChecked(
                "too-small", subject, f"free area of its vent {silent.name}", silent.span, declare="free area 20 cm2"
            )
            return
        areas.append((sum(_low(vent.free_area) for vent in vents), where))
    area, where = min(areas)
    measured, limit = Amount(area, "area", "cm2"), Amount(needed, "area", "cm2")
    if is_broken(area, needed, "at-least"):
        names = named([gas.battery.name for gas in gases])
        here, allowed = shown_pair(measured, limit)
        has = f"its vents {where} have {here}" if area > 0.0 else f"it has no vent {where}" if case.vents else "it has no vents"
        yield Finding(
            "too-small",
            subject,
            f"{case.name}: {names} {'gives' if len(gases) == 1 else 'give'} off hydrogen when charged, which {air:.3g} m3/h of air have to carry off; {has}, "
            f"{allowed} low and high each are needed.",
            case.span,
            measured,
            limit,
            "at-least",
            working=steps,
            remedy=f"Give it a vent low and one high, of {allowed} or more each, the upper one to the outside; or use lithium iron phosphate.",
            related=tuple(Related(f"{gas.battery.name} lies in it", gas.battery.span) for gas in gases[:8]),
            reference=gases[0].reference if gases[0].reference.status != "common-practice" else None,
        )
    elif is_broken(area, most, "at-least"):
        missing = next(gas.missing for gas in gases if gas.missing is not None)
        yield missing.outcome("too-small", subject)
    else:
        yield Passed("too-small", subject, measured, Amount(most, "area", "cm2"), "at-least")


def _low(area: Quantity[Any] | None) -> float:
    return float(area.low) if area is not None else 0.0


def _way_out(case: Enclosure, subject: tuple[str, ...]) -> Iterator[Outcome]:
    """Ask whether a vent high up leads outside; where there is none, that is what too-small says."""
    vents = _vents(case, "high")
    if not vents:
        return
    if any(vent.leads_outside for vent in vents):
        yield Passed("not-outside", subject)
        return
    silent = next((vent for vent in vents if vent.leads_outside is None), None)
    if silent is not None:
        yield NotChecked("not-outside", subject, f"where its vent {silent.name} leads", silent.span, declare="leads outside")
        return
    yield Finding(
        "not-outside",
        subject,
        f"{case.name}: its upper vent does not lead outside, so that the hydrogen of {named(subject[1:])} gathers where the case stands.",
        vents[0].span,
        remedy="Lead the upper vent outside, by a duct that rises all the way.",
        reference=RULE.references[2],
    )


def _water(case: Enclosure, subject: tuple[str, ...]) -> Iterator[Outcome]:
    """Ask for a membrane or duct at every vent of a case that keeps water out."""
    code = case.ingress or ""
    if not case.vents or len(code) < 4 or code[3] not in _WATER:
        return
    silent: Vent | None = None
    for vent in case.vents:
        if vent.membrane or vent.duct:
            continue
        if vent.membrane is None and vent.duct is None:
            silent = silent or vent
            continue
        yield Finding(
            "lets-water-in",
            subject,
            f"{case.name}: it is rated {code}, and its vent {vent.name} has neither a membrane nor a duct; water comes in where the gas goes out.",
            vent.span,
            remedy="Put a membrane over the vent, or a duct that ends downwards; count only the area that it leaves free.",
            reference=RULE.references[3],
        )
        return
    if silent is not None:
        missing = f"whether its vent {silent.name} has a membrane or a duct"
        yield NotChecked("lets-water-in", subject, missing, silent.span, declare="membrane")
    else:
        yield Passed("lets-water-in", subject)
