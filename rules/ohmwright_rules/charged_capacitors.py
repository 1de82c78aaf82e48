"""An inverter whose input capacitors are still charged when the posted wait is over."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.inverter import Inverter
from ohmwright_grammar.kinds.procedure import Procedure

from ohmwright_rules.capacitors import settling

RULE = Rule(
    id="charged-capacitors",
    title="Capacitors still charged after switch-off",
    family="switching",
    subject="inverter",
    covers=("H9",),
    grades=(Grade("short-wait", Severity.NOTE, "the wait after switch-off is shorter than its capacitors take to discharge"),),
    references=(Reference("electronics practice", "", "five time constants", "from-memory"),),
)
_GRADE = "short-wait"


def check(study: Study) -> Iterator[Outcome]:
    """Hold five time constants of every inverter's input against the wait that the procedure gives."""
    waits = [item for item in study.of(Procedure) if item.wait_after_switch_off is not None]
    plan = min(waits, key=_wait, default=None)
    for inverter in sorted(study.of(Inverter), key=lambda part: part.name):
        yield _judge(study, inverter, plan)


def _wait(plan: Procedure) -> float:
    wait = plan.wait_after_switch_off
    return float(wait.low) if wait is not None else 0.0


def _judge(study: Study, inverter: Inverter, plan: Procedure | None) -> Outcome:
    subject = (inverter.name,)
    if inverter.says_none(Inverter.input_capacitance):
        return Passed(_GRADE, subject)
    if inverter.input_capacitance is None:
        return Missing("input capacitance", inverter.span, "input capacitance 10 mF").outcome(_GRADE, subject)
    capacitance = float(inverter.input_capacitance.high)
    wait = (
        Amount(_wait(plan), "time", plan.wait_after_switch_off.unit)
        if plan is not None and plan.wait_after_switch_off is not None
        else None
    )
    if inverter.says_none(Inverter.bleed_resistor):
        return Finding(
            _GRADE,
            subject,
            f"{inverter.name}: nothing discharges its input capacitors ({capacitance * 1e3:.3g} mF) after it is switched off; they spark when it is joined"
            " again.",
            inverter.place_of(Inverter.bleed_resistor),
            remedy="Put a bleed resistor across its input, or one that is switched across it when it is off.",
        )
    if inverter.bleed_resistor is None:
        return Missing("bleed resistor", inverter.span, "bleed resistor 1 kohm").outcome(_GRADE, subject)
    if wait is None or plan is None:
        return Missing("wait after switch-off", study.build.rig.span, "procedure { wait 60 s after switch-off }").outcome(
            _GRADE, subject
        )
    bleed = float(inverter.bleed_resistor.high)
    needed = Amount(settling(bleed, capacitance), "time", wait.unit)
    if not is_broken(wait.value, needed.value, "at-least"):
        return Passed(_GRADE, subject, wait, needed, "at-least")
    waited, takes = shown_pair(wait, needed)
    least = Amount(wait.value / settling(1.0, capacitance), "resistance")
    return Finding(
        _GRADE,
        subject,
        f"{inverter.name}: {waited} after switch-off its input capacitors are still charged; they take {takes}.",
        plan.place_of(Procedure.wait_after_switch_off),
        wait,
        needed,
        "at-least",
        working=(
            Step("t", f"5 x {bleed:.4g} ohm x {capacitance * 1e3:.4g} mF", needed.value, "s", "as declared"),
            Step("t_wait", "wait after switch-off", wait.value, "s", "procedure"),
        ),
        remedy=f"Post a wait of {takes} or more, or use a bleed resistor of {shown(least)} or less.",
        related=(Related(inverter.name, inverter.span),),
    )
