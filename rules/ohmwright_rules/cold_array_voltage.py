"""An array whose open-circuit voltage in frost is more than the controller's input bears."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, figures, shown, shown_pair
from ohmwright_grammar.kinds.array import Array
from ohmwright_grammar.kinds.controller import Controller

from ohmwright_rules.sunside import NO_ARRAY, Cold, Side, cold_of, sides

RULE = Rule(
    id="cold-array-voltage",
    title="Array in frost over the controller's input limit",
    family="controllers",
    subject="controller",
    covers=("A1",),
    grades=(
        Grade("over-limit", Severity.ERROR, "the open-circuit voltage at the record low is over the limit of the PV input"),
        Grade("thin-margin", Severity.WARNING, "less than 5 % of the limit is left"),
    ),
    references=(
        Reference("NFPA 70 (NEC)", "2017 and later", "690.7(A)", "secondary"),
        Reference("common practice, no source", "", "a margin of 5 %", "common-practice"),
    ),
)
_MARGIN = 0.05  # catalogue, A1: warn under 5 %


def check(study: Study) -> Iterator[Outcome]:
    """Hold the coldest open-circuit voltage at every controller against its limit."""
    without = 0
    for side in sides(study):
        if side.arrays:
            yield from _judge(study, side)
        else:
            without += 1
    if without:
        yield DoesNotApply(NO_ARRAY, without)


def _judge(study: Study, side: Side) -> Iterator[Outcome]:
    controller = side.controller
    subject = (controller.name, *(array.name for array in side.arrays))
    cold = cold_of(study, side.arrangements, plugged=True)
    if not isinstance(cold, Missing) and controller.pv_voltage_limit is None:
        cold = Missing("highest voltage of its PV input", controller.span, "PV at most 100 V")
    if isinstance(cold, Missing):
        yield cold.outcome("over-limit", subject)
        return
    bears = controller.pv_voltage_limit
    assert bears is not None
    limit = Amount(float(bears.low), "voltage", bears.unit)
    measured = Amount(cold.volt, "voltage", bears.unit)
    careful = Amount(limit.value * (1.0 - _MARGIN), "voltage", bears.unit)
    if is_broken(measured.value, limit.value, "at-most"):
        yield _finding(study, side, subject, cold, "over-limit", measured, limit)
        return
    yield Passed("over-limit", subject, measured, limit)
    if is_broken(measured.value, careful.value, "at-most"):
        yield _finding(study, side, subject, cold, "thin-margin", measured, careful)
    else:
        yield Passed("thin-margin", subject, measured, careful)


def _finding(
    study: Study, side: Side, subject: tuple[str, ...], cold: Cold, grade: str, measured: Amount, limit: Amount
) -> Finding:
    controller = side.controller
    bears = controller.pv_voltage_limit
    assert bears is not None
    reached, allowed = shown_pair(measured, Amount(float(bears.low), "voltage", bears.unit))
    what = " + ".join(_as_plugged(study, name) for name in cold.string)
    message = f"{controller.name}: with nothing drawn, {what} reaches {reached} at {cold.temperature:g} degC; the PV input bears {allowed}."
    steps = cold.steps
    if grade == "thin-margin":
        share = (float(bears.low) - measured.value) / float(bears.low)
        message += f" Only {figures(share * 100, 2)} % are left."
        steps = (
            *steps,
            Step("V_careful", f"0.95 x {float(bears.low):.4g}", limit.value, "V", "margin of 5 %, common practice"),
        )
    needed = shown(Amount(cold.volt / (1.0 - _MARGIN), "voltage", bears.unit))
    return Finding(
        grade,
        subject,
        message,
        controller.span,
        measured,
        limit,
        working=steps,
        remedy=f"{_fewer(study, cold, limit.value)}a controller whose PV input bears {needed} or more.",
        related=(
            *(Related(f"{array.name}: its modules", array.place_of(Array.voc)) for array in side.arrays),
            Related("the limit", controller.place_of(Controller.pv_voltage_limit)),
        ),
        reference=cold.reference if grade == "over-limit" else RULE.references[1],
    )


def _as_plugged(study: Study, name: str) -> str:
    """Return an array in words, with how its owner may plug it where that reaches more than what is drawn."""
    array = study.part(name)
    assert isinstance(array, Array)
    most = array.most_in_series
    return f"{name}, plugged as {most} in series," if most > (array.in_series or 1) else name


def _fewer(study: Study, cold: Cold, limit: float) -> str:
    """Say how many modules in series stay within a limit, where one array makes up the string."""
    array = study.part(cold.string[0])
    assert isinstance(array, Array)
    count = array.most_in_series
    fits = int(limit * (1 + 1e-9) // (cold.volt / count))
    if len(cold.string) > 1 or not 0 < fits < count:
        return "Use "
    return f"Put at most {fits} of {array.name}'s modules in series, or use "
