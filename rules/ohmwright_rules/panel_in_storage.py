"""A panel that stays on its controller while the box is stored with its battery taken off."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step, common_practice
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.controller import Controller
from ohmwright_grammar.kinds.procedure import Procedure

from ohmwright_rules.nobattery import Exposed, order_is_posted, stands_alone_when_open
from ohmwright_rules.storing import Stored, stored
from ohmwright_rules.sunside import NO_ARRAY, Cold, Side, cold_of, sides

RULE = Rule(
    id="panel-in-storage",
    title="Panel stays on the controller of a stored box",
    family="storage",
    subject="controller",
    covers=("K6",),
    grades=(
        Grade(
            "load-exposed",
            Severity.ERROR,
            "as stored, a load that bears less than the cold panel stays on the controller's output",
        ),
        Grade("panel-alone", Severity.WARNING, "as stored, the panel is on the controller and the battery is off"),
    ),
    references=(
        Reference("makers' instructions", "", "battery first on, panel first off", "secondary"),
        common_practice("the output may follow the panel"),
    ),
)
_LOAD, _ALONE = "load-exposed", "panel-alone"


def check(study: Study) -> Iterator[Outcome]:
    """Look at every controller as the box is stored: a panel may be on it only with a battery."""
    plan = next(study.of(Procedure), None)
    unplugged = plan is not None and plan.pv_unplugged_in_storage is True
    without = 0
    state: Stored | None = None
    for side in sides(study):
        if not side.arrays:
            without += 1
            continue
        state = state or stored(study)
        exposed = None if unplugged else stands_alone_when_open(study, side, state.state.open_gates)
        subject = (side.controller.name, *(array.name for array in side.arrays))
        if exposed is None or side.controller.bears_no_battery:
            yield Passed(_LOAD, subject, state=state.name)
            yield Passed(_ALONE, subject, state=state.name)
        else:
            yield from _judge(study, side, subject, state, exposed)
    if without:
        yield DoesNotApply(NO_ARRAY, without)


def _judge(
    study: Study, side: Side, subject: tuple[str, ...], state: Stored, exposed: tuple[Exposed, ...]
) -> Iterator[Outcome]:
    controller = side.controller
    if controller.bears_no_battery is None:
        missing = Missing("whether it bears PV with no battery", controller.span, "not bears PV with no battery")
        yield missing.outcome(_ALONE, subject, state.name)
        if exposed:
            yield missing.outcome(_LOAD, subject, state.name)
        return
    if not exposed:
        yield Passed(_LOAD, subject, state=state.name)
        yield _finding(side, subject, state, None)
        return
    cold = cold_of(study, side.arrangements, plugged=True)
    if isinstance(cold, Missing):
        yield cold.outcome(_LOAD, subject, state.name)
        yield _finding(side, subject, state, None)
        return
    known = [item for item in exposed if item.bears is not None]
    weakest = min(known, key=lambda item: float(item.bears.high) if item.bears else 0.0, default=None)
    if weakest is not None and weakest.bears is not None and is_broken(cold.volt, float(weakest.bears.high), "at-most"):
        yield _exposing(study, side, subject, state, weakest, cold)
        return
    silent = next((item for item in exposed if item.bears is None), None)
    if silent is not None:
        missing = Missing(f"highest voltage that {silent.part.name} bears", silent.part.span, "works on ~10.5 V to ~15 V")
        yield missing.outcome(_LOAD, subject, state.name)
    else:
        yield Passed(_LOAD, subject, state=state.name)
    yield _finding(side, subject, state, cold)


def _exposing(study: Study, side: Side, subject: tuple[str, ...], state: Stored, item: Exposed, cold: Cold) -> Finding:
    assert item.bears is not None
    measured = Amount(cold.volt, "voltage", item.bears.unit)
    limit = Amount(float(item.bears.high), "voltage", item.bears.unit)
    reaches, bears = shown_pair(measured, limit)
    return Finding(
        _LOAD,
        (*subject, item.part.name),
        f"{side.controller.name}: stored as in state {state.name!r}, {side.names} stays on it and the battery is off; by any window its output may follow"
        f" the panel up to {reaches} at {cold.temperature:g} degC. {item.part.name} stays on it and bears {bears}.",
        side.controller.span,
        measured,
        limit,
        working=(state.step, *cold.steps),
        remedy=_remedy(side),
        related=(*_places(side), Related(f"{item.part.name} bears {bears}", item.part.span)),
        at_most=Severity.WARNING if order_is_posted(study) else None,
    )


def _finding(side: Side, subject: tuple[str, ...], state: Stored, cold: Cold | None) -> Finding:
    up_to = f", up to {shown(Amount(cold.volt, 'voltage'))} at {cold.temperature:g} degC" if cold is not None else ""
    steps: tuple[Step, ...] = (state.step, *cold.steps) if cold is not None else (state.step,)
    return Finding(
        _ALONE,
        subject,
        f"{side.controller.name}: stored as in state {state.name!r}, {side.names} stays on it and the battery is off; by any window its output may follow"
        f" the panel{up_to}. It takes its logic supply from the battery.",
        side.controller.span,
        working=steps,
        remedy=_remedy(side),
        related=_places(side),
    )


def _remedy(side: Side) -> str:
    return (
        f"Let the storage switch take {side.names} off too, or unplug it for storage and say so in the procedure: PV unplugged in storage;"
        " or use a controller that bears it and declare: bears PV with no battery"
    )


def _places(side: Side) -> tuple[Related, ...]:
    return (
        *(Related(f"{array.name}: the panel", array.span) for array in side.arrays),
        *(
            (Related("what it bears", side.controller.place_of(Controller.bears_no_battery)),)
            if side.controller.bears_no_battery is False
            else ()
        ),
    )
