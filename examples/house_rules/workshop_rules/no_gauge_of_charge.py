"""A lent box on which nobody sees how full it is."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Severity
from ohmwright.references import common_practice
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.distribution import Meter, Shunt

RULE = Rule(
    id="no-gauge-of-charge",
    title="Box without a meter",
    family="house",
    subject="rig",
    covers=(),
    grades=(Grade("not-shown", Severity.WARNING, "a box with a battery has no meter and no shunt"),),
    references=(common_practice("house rules of the workshop"),),
)
_GRADE = "not-shown"


def check(study: Study) -> Iterator[Outcome]:
    """Ask a box with a battery for a meter or a shunt."""
    batteries = sorted(study.of(Battery), key=lambda battery: battery.name)
    if not batteries:
        yield DoesNotApply("no battery")
    elif next(study.of(Meter), None) is None and next(study.of(Shunt), None) is None:
        first = batteries[0]
        message = f"{first.name}: nothing on this box shows how full it is."
        yield Finding(_GRADE, (first.name,), message, first.span, remedy="Add a meter across it, or a shunt in its minus.")
    else:
        yield Passed(_GRADE, (batteries[0].name,))
