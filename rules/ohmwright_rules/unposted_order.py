"""A controller that hands can leave on its panel without a battery, and no order that warns of it."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright_grammar.kinds.controller import Controller

from ohmwright_rules.nobattery import order_is_posted, ways_without_battery
from ohmwright_rules.sunside import NO_ARRAY, Side, sides

RULE = Rule(
    id="unposted-order",
    title="Connection order not posted",
    family="labels",
    subject="controller",
    covers=("M5",),
    grades=(
        Grade(
            "not-posted",
            Severity.WARNING,
            "hands can leave a panel on a controller without a battery, and no order is posted",
            "circuit",
        ),
    ),
    references=(Reference("makers' instructions", "", "battery first on, panel first off", "secondary"),),
)
_GRADE = "not-posted"


def check(study: Study) -> Iterator[Outcome]:
    """Ask for a posted order at every controller that switches and plugs can leave on its panel alone."""
    posted = order_is_posted(study)
    without = 0
    for side in sides(study):
        if not side.arrays:
            without += 1
        elif posted or side.controller.bears_no_battery:
            yield Passed(_GRADE, (side.controller.name,))
        else:
            yield _judge(study, side)
    if without:
        yield DoesNotApply(NO_ARRAY, without)


def _judge(study: Study, side: Side) -> Outcome:
    controller = side.controller
    subject = (controller.name,)
    ways = ways_without_battery(study, side)
    way = ways.shortest(by_hand=True)
    if way is None:
        return Passed(_GRADE, subject) if ways.complete else Missing("reached states", controller.span).outcome(_GRADE, subject)
    if controller.bears_no_battery is None and not controller.says_none(Controller.bears_no_battery):
        return Missing("whether it bears PV with no battery", controller.span, "needs its battery").outcome(_GRADE, subject)
    return Finding(
        _GRADE,
        subject,
        f"{controller.name}: with {way.words}, {side.names} feeds it without a battery, and no order is posted that keeps people from it.",
        controller.span,
        state=way.words,
        remedy="Post it: battery first on, last off; and declare: label order { states connection order }",
    )
