"""A series-switch controller under modules whose voltage it throws away."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from ohmwright.circuit.batteries import cells_of, nominal_voltage
from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Step, common_practice
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown
from ohmwright_grammar.kinds.array import Array
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.records import record

from ohmwright_rules.strings import arrangements
from ohmwright_rules.sunside import NO_ARRAY, Side, sides

RULE = Rule(
    id="wasted-array-voltage",
    title="Series-switch controller under modules of a high voltage",
    family="controllers",
    subject="controller",
    covers=("A3",),
    grades=(
        Grade(
            "pulled-down",
            Severity.WARNING,
            "the battery's mean charge voltage is below 70 % of the array's voltage at maximum power",
        ),
    ),
    references=(common_practice("a series-switch controller pulls the array down to the battery's voltage"),),
)
_GRADE = "pulled-down"
_LEAST = 0.70
_PER_CELL = {
    "LFP": 13.3 / 4,
    "flooded": 13.6 / 6,
    "AGM": 13.6 / 6,
    "gel": 13.6 / 6,
}  # V: 13.3 V and 13.6 V for 12 V (catalogue, A3)
_NO_BATTERY = "no battery can be joined to its output"


@record
class _Charging:
    """The mean voltage at which a bank is charged [V], and its working."""

    volt: float
    steps: tuple[Step, ...]


@record
class _Working:
    """The voltage of a string of arrays at maximum power [V], and its working."""

    volt: float
    string: tuple[str, ...]
    steps: tuple[Step, ...]


def check(study: Study) -> Iterator[Outcome]:
    """Hold the voltage at which each bank is charged against that of the arrays at maximum power, at every series-switch controller."""
    left: Counter[str] = Counter()
    for side in sides(study):
        if not side.arrays:
            left[NO_ARRAY] += 1
        elif side.controller.kind == "MPPT":
            left["a tracking controller, which converts the voltage"] += 1
        else:
            outcome = _judge(study, side)
            if isinstance(outcome, str):
                left[outcome] += 1
            else:
                yield outcome
    for condition, count in sorted(left.items()):
        yield DoesNotApply(condition, count)


def _judge(study: Study, side: Side) -> Outcome | str:
    controller = side.controller
    subject = (controller.name, *(array.name for array in side.arrays))
    charging, working = _mean_charge(study, side), _at_maximum(study, side)
    if charging is None:
        return _NO_BATTERY
    if controller.kind is None and not _holds(charging, working):
        return Missing("kind of controller (PWM or MPPT)", controller.span, "MPPT").outcome(_GRADE, subject)
    if isinstance(working, Missing):
        return working.outcome(_GRADE, subject)
    if isinstance(charging, Missing):
        return charging.outcome(_GRADE, subject)
    measured, limit = Amount(charging.volt / working.volt, "share"), Amount(_LEAST, "share")
    if not is_broken(measured.value, limit.value, "at-least"):
        return Passed(_GRADE, subject, measured, limit, "at-least")
    bank, array = (shown(Amount(volt, "voltage", "V")) for volt in (charging.volt, working.volt))
    share, lost = shown(measured), shown(Amount(1.0 - measured.value, "share"))
    most = shown(Amount(charging.volt / _LEAST, "voltage", "V"))
    what = " + ".join(working.string)
    return Finding(
        _GRADE,
        subject,
        f"{controller.name}: it pulls {what} from {array} at maximum power down to the battery's {bank}: {share} of the power is used, {lost} is lost.",
        controller.span,
        measured,
        limit,
        "at-least",
        working=(
            *working.steps,
            *charging.steps,
            Step("share", f"{charging.volt:.4g} / {working.volt:.4g}", measured.value, "1", "the current stays the same"),
        ),
        remedy=f"Use a tracking (MPPT) controller, or modules in strings of at most {most} at maximum power.",
        related=tuple(Related(f"{array.name}: its modules", array.place_of(Array.vmp)) for array in side.arrays),
    )


def _holds(charging: _Charging | Missing, working: _Working | Missing) -> bool:
    """Tell whether the share holds for a controller of either kind, so that nobody need say which it is."""
    if isinstance(charging, Missing) or isinstance(working, Missing):
        return False
    return not is_broken(charging.volt / working.volt, _LEAST, "at-least")


def _at_maximum(study: Study, side: Side) -> _Working | Missing:
    """Return the highest voltage at maximum power of any string, at test conditions."""
    best: _Working | None = None
    for string in (string for way in side.arrangements for string in way.strings):
        volt = 0.0
        steps = []
        for name in string:
            array = study.part(name)
            assert isinstance(array, Array)
            if array.vmp is None:
                return Missing(f"voltage of {name} at maximum power", array.span, "Vmp 18.6 V")
            count = array.most_in_series
            own = float(array.vmp.high) * count
            words = f"{name}: {count} x {float(array.vmp.high):.4g}" if count > 1 else name
            steps.append(Step("Vmp", words, own, "V", "at test conditions, as declared"))
            volt += own
        if best is None or volt > best.volt:
            best = _Working(volt, string, tuple(steps))
    assert best is not None
    return best


def _mean_charge(study: Study, side: Side) -> _Charging | Missing | None:
    """Return the lowest mean charge voltage of any bank at the output; None where there is none."""
    name = side.controller.name
    best: _Charging | None = None
    for way in arrangements(study, "battery", f"{name}.batt_minus", f"{name}.batt_plus"):
        for string in way.strings:
            volt = 0.0
            steps: list[Step] = []
            for part in string:
                battery = study.part(part)
                assert isinstance(battery, Battery)
                own = _of(battery)
                if isinstance(own, Missing):
                    return own
                volt += own.volt
                steps.extend(own.steps)
            if best is None or volt < best.volt:
                best = _Charging(volt, tuple(steps))
    return best


def _of(battery: Battery) -> _Charging | Missing:
    if battery.chemistry is None:
        return Missing(f"chemistry of {battery.name}", battery.span, "LFP")
    each = _PER_CELL.get(battery.chemistry)
    if each is None:
        volt = nominal_voltage(battery)
        if volt is None:
            return Missing(f"nominal voltage of {battery.name}", battery.span, "~12 V")
        return _Charging(volt, (Step("V_charge", f"{battery.name}, nominal", volt, "V", "taken for its mean charge voltage"),))
    cells = cells_of(battery)
    if cells is None:
        return Missing(f"number of cells of {battery.name}", battery.span, "~4 cells")
    volt = each * cells
    return _Charging(
        volt,
        (Step("V_charge", f"{battery.name}: {cells:g} cells x {each:.4g}", volt, "V", "mean charge voltage, common practice"),),
    )
