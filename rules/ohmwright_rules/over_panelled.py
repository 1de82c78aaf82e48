"""A tracking controller with more array than it can pass on: only energy is lost."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from ohmwright.circuit.batteries import lowest_voltage
from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Step, common_practice
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.array import Array
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.controller import Controller
from ohmwright_grammar.kinds.switch import Disconnect

from ohmwright_rules.cut_offs import thresholds
from ohmwright_rules.strings import arrangements
from ohmwright_rules.sunside import NO_ARRAY, Side, array_power, bright_current, cold_of, power_limits, sides

RULE = Rule(
    id="over-panelled",
    title="More array than the controller passes on",
    family="controllers",
    subject="controller",
    covers=("A5",),
    grades=(
        Grade("clips", Severity.NOTE, "the array's power at the lowest battery voltage is more current than the rated one"),
    ),
    references=(common_practice("watts over the limit clip, volts over the limit destroy"),),
)
_GRADE = "clips"
_NOT_TRACKING = "not a tracking controller"
_DAMAGES = "a limit whose breach damages it is broken: see cold-array-voltage, array-current or its power ceiling"


def check(study: Study) -> Iterator[Outcome]:
    """Hold the peak power of the arrays at every tracking controller against its rated current."""
    left: Counter[str] = Counter()
    for side in sides(study):
        subject = (side.controller.name, *(array.name for array in side.arrays))
        if not side.arrays:
            left[NO_ARRAY] += 1
        elif side.controller.kind == "PWM":
            left[_NOT_TRACKING] += 1
        else:
            outcome = _judge(study, side, subject)
            if outcome is None:
                left[_DAMAGES] += 1
            else:
                yield outcome
    for condition, count in sorted(left.items()):
        yield DoesNotApply(condition, count)


def _judge(study: Study, side: Side, subject: tuple[str, ...]) -> Outcome | None:
    controller = side.controller
    if controller.kind is None:
        return Missing("kind of controller (PWM or MPPT)", controller.span, "MPPT").outcome(_GRADE, subject)
    bears = _bears(study, side)
    if isinstance(bears, Missing):
        return bears.outcome(_GRADE, subject)
    if not bears:
        return None
    rated = controller.rated_current
    if rated is None:
        return Missing("rated current", controller.span, "20 A").outcome(_GRADE, subject)
    lowest = _lowest(study, controller)
    if isinstance(lowest, Missing):
        return lowest.outcome(_GRADE, subject)
    volt, volt_step = lowest
    watt = _power(side)
    assert not isinstance(watt, Missing)
    measured, limit = Amount(watt / volt, "current", rated.unit), Amount(float(rated.low), "current", rated.unit)
    if not is_broken(measured.value, limit.value, "at-most"):
        return Passed(_GRADE, subject, measured, limit)
    could, passes = shown_pair(measured, limit)
    over = shown(Amount(measured.value - limit.value, "current", rated.unit))
    return Finding(
        _GRADE,
        subject,
        f"{controller.name}: {side.names} could give {could} at {volt:.4g} V; it passes {passes} and clips about {over} at the peak."
        " Only energy is lost.",
        controller.span,
        measured,
        limit,
        working=(
            *(Step("P", array.name, array_power(array), "W", "at test conditions, as declared") for array in side.arrays),
            volt_step,
            Step("I", f"{watt:.4g} / {volt:.4g}", measured.value, "A", "power over the lowest battery voltage"),
        ),
        remedy=f"Nothing breaks. To use all of it: a controller for {could} or more, or at most {shown(Amount(limit.value * volt, 'power'))} of array.",
        related=(
            *(Related(f"{array.name}: its modules", array.place_of(Array.vmp)) for array in side.arrays),
            Related("the rated current", controller.place_of(Controller.rated_current)),
        ),
    )


def _bears(study: Study, side: Side) -> bool | Missing:
    """Tell whether cold voltage, bright current and power ceiling hold: only then more array merely clips."""
    controller = side.controller
    if controller.pv_voltage_limit is None:
        return Missing("highest voltage of its PV input", controller.span, "PV at most 100 V")
    cold = cold_of(study, side.arrangements, plugged=True)
    if isinstance(cold, Missing):
        return cold
    if is_broken(cold.volt, float(controller.pv_voltage_limit.low), "at-most"):
        return False
    bright = bright_current(study, side)
    if isinstance(bright, Missing):
        return bright
    if not isinstance(bright, str) and is_broken(bright.bright, bright.limit, "at-most"):
        return False
    watt = _power(side)
    if isinstance(watt, Missing):
        return watt
    return not any(is_broken(watt, limit, "at-most") for limit, _ in power_limits(controller))


def _power(side: Side) -> float | Missing:
    total = 0.0
    for array in side.arrays:
        watt = array_power(array)
        if watt is None:
            return Missing(f"power of {array.name} (Vmp and Imp)", array.span, "Vmp 18.6 V; Imp 5.5 A")
        total += watt
    return total


def _lowest(study: Study, controller: Controller) -> tuple[float, Step] | Missing:
    """Return the lowest voltage at which the battery is used [V]: where a low-voltage disconnect of its bank opens, else the battery's own lowest."""
    ways = arrangements(study, "battery", f"{controller.name}.batt_minus", f"{controller.name}.batt_plus")
    charged = {name for way in ways for name in way.names}
    opening = sorted(
        (float(item.volts.low), item.part.name)
        for item in thresholds(study)
        if isinstance(item.part, Disconnect) and item.volts is not None and item.batteries & charged
    )
    if opening:
        volt, name = opening[0]
        return volt, Step("V_low", f"{name} opens", volt, "V", "as declared")
    lowest: tuple[float, Step] | None = None
    for string in (string for way in ways for string in way.strings):
        volt = 0.0
        for name in string:
            battery = study.part(name)
            assert isinstance(battery, Battery)
            low = lowest_voltage(battery)
            if low is None:
                return Missing(f"lowest voltage of {name}", battery.span, "lowest ~11 V")
            volt += low
        if lowest is None or volt < lowest[0]:
            lowest = volt, Step("V_low", " + ".join(string), volt, "V", "lowest voltage, cut-off of its BMS, or empty cells")
    return lowest or Missing("a battery at its output", controller.span)
