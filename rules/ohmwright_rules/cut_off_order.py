"""Cut-offs that come in the wrong order, so that the battery's own comes first."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Step, common_practice
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.battery import Battery, Bms

from ohmwright_rules.cut_offs import Floor, Threshold, blocks_of_twelve, floor_of, minimum_of, thresholds
from ohmwright_rules.wording import listed

RULE = Rule(
    id="cut-off-order",
    title="Cut-offs in the wrong order",
    family="controllers",
    subject="inverter, disconnect, load output, battery",
    covers=("B11",),
    grades=(
        Grade(
            "below-battery",
            Severity.WARNING,
            "it cuts off less than 0.2 V (for each 12 V) above where the battery's BMS does, or under its lowest voltage",
        ),
        Grade("loads-last", Severity.WARNING, "loads are cut off at less than the inverter"),
        Grade("bms-under-minimum", Severity.WARNING, "the BMS lets the battery go under its lowest voltage"),
    ),
    references=(common_practice("loads first, then the inverter, the BMS last"),),
)
_MARGIN = 0.2  # V for each 12 V: catalogue, B11
_NOTHING = "nothing but the battery cuts off"


def check(study: Study) -> Iterator[Outcome]:
    """Hold every cut-off of a bank against the battery's own, and that of loads against the inverter's."""
    known = tuple(thresholds(study))
    if not known:
        yield DoesNotApply(_NOTHING)
    for item in known:
        yield _above_battery(study, item)
    inverters = [item for item in known if item.kind == "inverter" and item.volts is not None]
    for loads in known:
        if loads.kind == "loads":
            for inverter in inverters:
                if loads.batteries & inverter.batteries:
                    yield _loads_first(loads, inverter)
    for battery in sorted(study.of(Battery), key=lambda part: part.name):
        yield from _bms_above_minimum(battery)


def _above_battery(study: Study, item: Threshold) -> Outcome:
    grade = "below-battery"
    subject = (item.part.name, *sorted(item.batteries))
    if item.volts is None:
        return Missing(f"cut-off voltage of {item.part.name}", item.part.span, "cut-off ~11.5 V").outcome(grade, subject)
    highest: tuple[float, Floor, float] | None = None
    for string in item.strings:
        floor = floor_of(study, string)
        if isinstance(floor, Missing):
            return floor.outcome(grade, subject)
        blocks = blocks_of_twelve(study, string)
        if isinstance(blocks, Missing):
            return blocks.outcome(grade, subject)
        floors = [(floor.volt + _MARGIN * blocks, floor, _MARGIN * blocks)]
        minimum = minimum_of(study, string) if floor.opens else None
        if minimum is not None:
            floors.append((minimum.volt, minimum, 0.0))
        highest = max((*floors, *([highest] if highest is not None else [])), key=lambda known: known[0])
    assert highest is not None
    volt, floor, margin = highest
    measured = Amount(float(item.volts.low), "voltage", item.volts.unit)
    limit = Amount(volt, "voltage", item.volts.unit)
    if not is_broken(measured.value, limit.value, "at-least"):
        return Passed(grade, subject, measured, limit, "at-least")
    opens, least = shown_pair(measured, limit)
    end = shown(Amount(floor.volt, "voltage", item.volts.unit))
    effect = (
        "The BMS comes first, or too soon after (0.2 V for each 12 V is the margin): everything goes dark at once, the charge controller too."
        if floor.opens
        else "It empties the battery as far as that bears, or further (0.2 V for each 12 V is the margin)."
        if margin
        else "It empties the battery further than that bears."
    )
    return Finding(
        grade,
        subject,
        f"{item.part.name}: {_what(item)} cuts off at {opens}; {floor.words} at {end}. {effect}",
        item.span,
        measured,
        limit,
        "at-least",
        working=(
            Step("V_battery", floor.words, floor.volt, "V", "as declared"),
            *((Step("V_least", f"{floor.volt:.4g} + {margin:.4g}", volt, "V", "0.2 V for each 12 V"),) if margin else ()),
            Step("V_cut", item.part.name, measured.value, "V", "as declared"),
        ),
        remedy=f"Set its cut-off to {least} or more.",
        related=tuple(Related(words, span) for words, span in floor.spans),
    )  # fmt: skip


def _what(item: Threshold) -> str:
    if item.kind == "inverter":
        return "it"
    return "its load output" if item.part.KIND == "controller" else "it"


def _loads_first(loads: Threshold, inverter: Threshold) -> Outcome:
    grade = "loads-last"
    subject = (loads.part.name, inverter.part.name)
    assert loads.volts is not None
    assert inverter.volts is not None
    measured = Amount(float(loads.volts.low), "voltage", loads.volts.unit)
    limit = Amount(float(inverter.volts.high), "voltage", loads.volts.unit)
    if not is_broken(measured.value, limit.value, "at-least"):
        return Passed(grade, subject, measured, limit, "at-least")
    opens, stops = shown_pair(measured, limit)
    return Finding(
        grade,
        subject,
        f"{loads.part.name}: {_what(loads)} cuts off at {opens}, after the inverter {inverter.part.name} at {stops}. What hangs on it goes on emptying"
        f" {listed(sorted(loads.batteries & inverter.batteries))} when the inverter has given up.",
        loads.span,
        measured,
        limit,
        "at-least",
        working=(
            Step("V_loads", loads.part.name, measured.value, "V", "as declared"),
            Step("V_inverter", inverter.part.name, limit.value, "V", "as declared"),
        ),
        remedy=f"Set the loads' cut-off to {stops} or more.",
        related=(Related(f"{inverter.part.name} cuts off at {stops}", inverter.span),),
    )


def _bms_above_minimum(battery: Battery) -> Iterator[Outcome]:
    grade = "bms-under-minimum"
    bms = battery.bms
    if bms is None or bms.low_cut_off is None:
        return
    if battery.lowest_voltage is None:
        yield Missing(f"lowest voltage of {battery.name}", battery.span, "lowest ~10.8 V").outcome(grade, (battery.name,))
        return
    unit = bms.low_cut_off.unit
    measured = Amount(float(bms.low_cut_off.low), "voltage", unit)
    limit = Amount(float(battery.lowest_voltage.high), "voltage", unit)
    if not is_broken(measured.value, limit.value, "at-least"):
        yield Passed(grade, (battery.name,), measured, limit, "at-least")
        return
    opens, least = shown_pair(measured, limit)
    yield Finding(
        grade,
        (battery.name,),
        f"{battery.name}: its BMS opens at {opens}; its lowest voltage is {least}. It is emptied further than it bears.",
        bms.place_of(Bms.low_cut_off),
        measured,
        limit,
        "at-least",
        working=(
            Step("V_bms", battery.name, measured.value, "V", "as declared"),
            Step("V_lowest", battery.name, limit.value, "V", "as declared"),
        ),
        remedy=f"Set its low cut-off to {least} or more.",
        related=(Related(f"lowest voltage of {battery.name}", battery.place_of(Battery.lowest_voltage)),),
    )
