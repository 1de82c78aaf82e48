"""A controller that can be left on a panel with no battery."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, common_practice
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.controller import Controller

from ohmwright_rules.nobattery import Exposed, Way, Ways, order_is_posted, ways_without_battery
from ohmwright_rules.sunside import NO_ARRAY, Cold, Side, cold_of, sides

RULE = Rule(
    id="panel-without-battery",
    title="Controller can be left on a panel with no battery",
    family="controllers",
    subject="controller",
    covers=("B1",),
    grades=(
        Grade("load-exposed", Severity.ERROR, "a load that bears less than the cold panel stays on the controller's output"),
        Grade("by-hand", Severity.WARNING, "switches and plugs alone lead there"),
        Grade("by-failure", Severity.NOTE, "only a blown fuse or a management system that cuts off leads there"),
    ),
    references=(
        Reference("makers' instructions", "", "battery first on, panel first off", "secondary"),
        common_practice("the output may follow the panel"),
    ),
)


def check(study: Study) -> Iterator[Outcome]:
    """Look for the shortest ways in which a panel stays on a controller whose battery is gone."""
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
    if controller.bears_no_battery:
        for grade in RULE.grades:
            yield Passed(grade.name, subject)
        return
    ways = ways_without_battery(study, side)
    if not ways.complete:
        yield Missing("reached states", controller.span).outcome("by-hand", subject)
    if not ways.found:
        if ways.complete:
            for grade in RULE.grades:
                yield Passed(grade.name, subject)
        return
    if not controller.says_none(Controller.bears_no_battery) and controller.bears_no_battery is None:
        missing = Missing("whether it bears PV with no battery", controller.span, "needs its battery")
        yield missing.outcome("by-hand", subject)
        if any(way.exposed for way in ways.found):
            yield missing.outcome("load-exposed", subject)
        return
    yield from _found(study, side, subject, ways)


def _found(study: Study, side: Side, subject: tuple[str, ...], ways: Ways) -> Iterator[Outcome]:
    cold = cold_of(study, side.arrangements, plugged=True)
    told: Way | None = None
    if isinstance(cold, Missing):
        if any(way.exposed for way in ways.found):
            yield cold.outcome("load-exposed", subject)
        else:
            yield Passed("load-exposed", subject)
    else:
        outcome, told = _exposure(study, side, subject, ways, cold)
        yield outcome
    by_hand, by_failure = ways.shortest(by_hand=True), ways.shortest(by_hand=False)
    if by_hand is not None:
        if told is None or not told.by_hand:
            yield _standing(side, subject, "by-hand", by_hand, cold)
    else:
        yield Passed("by-hand", subject)
        if by_failure is not None and told is None:
            yield _standing(side, subject, "by-failure", by_failure, cold)


def _exposure(study: Study, side: Side, subject: tuple[str, ...], ways: Ways, cold: Cold) -> tuple[Outcome, Way | None]:
    """Return what to say of loads that stay on the output, and the way that was told; by hand goes before failures."""
    silent: Exposed | None = None
    weakest: tuple[float, Exposed] | None = None
    for way in sorted(ways.found, key=lambda way: (not way.by_hand, len(way.departures), way.words)):
        for item in way.exposed:
            if item.bears is None:
                silent = silent or item
                continue
            bears = float(item.bears.high)
            if weakest is None or bears < weakest[0]:
                weakest = bears, item
            if is_broken(cold.volt, bears, "at-most"):
                worst = min(
                    (other for other in way.exposed if other.bears is not None),
                    key=lambda other: float(other.bears.high) if other.bears else 0.0,
                )
                return _exposed(study, side, subject, way, worst, cold), way
    if silent is not None:
        missing = Missing(f"highest voltage that {silent.part.name} bears", silent.part.span, "works on ~10.5 V to ~15 V")
        return missing.outcome("load-exposed", subject), None
    if weakest is not None:
        return Passed("load-exposed", subject, Amount(cold.volt, "voltage"), Amount(weakest[0], "voltage")), None
    return Passed("load-exposed", subject), None


def _exposed(study: Study, side: Side, subject: tuple[str, ...], way: Way, item: Exposed, cold: Cold) -> Finding:
    controller = side.controller
    assert item.bears is not None
    measured = Amount(cold.volt, "voltage", item.bears.unit)
    limit = Amount(float(item.bears.high), "voltage", item.bears.unit)
    reaches, bears = shown_pair(measured, limit)
    posted = way.by_hand and order_is_posted(study)
    return Finding(
        "load-exposed",
        (*subject, item.part.name),
        f"{controller.name}: with {way.words}, {side.names} feeds it without a battery, and its output may follow the panel up to {reaches}"
        f" at {cold.temperature:g} degC. {item.part.name} stays on it and bears {bears}.",
        controller.span,
        measured,
        limit,
        state=way.words,
        working=cold.steps,
        remedy=f"{_remedy(way)}, or put {item.part.name} where the battery's switch takes it off too, or use one that bears {reaches}.",
        related=(*_places(side, way), Related(f"{item.part.name} bears {bears}", item.part.span)),
        at_most=Severity.WARNING if posted else None,
    )


def _standing(side: Side, subject: tuple[str, ...], grade: str, way: Way, cold: Cold | Missing) -> Finding:
    controller = side.controller
    follows = "its output may follow the panel"
    if not isinstance(cold, Missing):
        follows += f", up to {shown(Amount(cold.volt, 'voltage'))} at {cold.temperature:g} degC"
    return Finding(
        grade,
        subject,
        f"{controller.name}: with {way.words}, {side.names} feeds it without a battery; {follows}. It takes its logic supply from the battery.",
        controller.span,
        state=way.words,
        remedy=f"{_remedy(way)}, or use a controller that bears it and declare: bears PV with no battery",
        related=_places(side, way),
    )


def _remedy(way: Way) -> str:
    if way.by_hand:
        return "Let one switch with two poles take panel and battery off together, or let the panel's own plug or switch go first (and post the order: battery first on, last off)"
    return "Put a switch or fuse that opens with it into the panel's lead"


def _places(side: Side, way: Way) -> tuple[Related, ...]:
    places = [Related(f"{array.name}: the panel", array.span) for array in side.arrays]
    return tuple(places)
