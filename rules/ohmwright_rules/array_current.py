"""An array whose current in bright sun is more than a controller that cannot limit it bears."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.array import Array

from ohmwright_rules.sunside import NO_ARRAY, BrightCurrent, Side, bright_current, sides

RULE = Rule(
    id="array-current",
    title="Array current over a controller that cannot limit it",
    family="controllers",
    subject="controller",
    covers=("A4",),
    grades=(Grade("over-limit", Severity.ERROR, "1.25 times the short-circuit current is over what the controller bears"),),
    references=(
        Reference("NFPA 70 (NEC)", "2017 and later", "690.8(A)", "secondary"),
        Reference("IEC 62548-1", "2023", "", "from-memory"),
    ),
)
_GRADE = "over-limit"
NUMBERS = ("array_current",)


def check(study: Study) -> Iterator[Outcome]:
    """Hold the bright-sun current of the arrays at every controller against its limit."""
    left: Counter[str] = Counter()
    for side in sides(study):
        if not side.arrays:
            left[NO_ARRAY] += 1
            continue
        subject = (side.controller.name, *(array.name for array in side.arrays))
        found = bright_current(study, side)
        if isinstance(found, str):
            left[found] += 1
        elif isinstance(found, Missing):
            yield found.outcome(_GRADE, subject)
        else:
            yield _judge(side, subject, found)
    for condition, count in sorted(left.items()):
        yield DoesNotApply(condition, count)


def _judge(side: Side, subject: tuple[str, ...], found: BrightCurrent) -> Outcome:
    controller = side.controller
    measured, limit = Amount(found.bright, "current", found.unit), Amount(found.limit, "current", found.unit)
    if not is_broken(measured.value, limit.value, "at-most"):
        return Passed(_GRADE, subject, measured, limit)
    bright, allowed = shown_pair(measured, limit)
    plain = shown(Amount(found.plain, "current", found.unit))
    factor = found.bright / found.plain
    how = "passes the array's current on" if controller.kind == "PWM" else "states this limit for its PV input"
    return Finding(
        _GRADE,
        subject,
        f"{controller.name}: {side.names} can push {bright} into it ({factor:g} times {plain} in bright sun); it bears {allowed} and {how}.",
        controller.span,
        measured,
        limit,
        working=found.steps,
        remedy=f"{_fewer(side, found, factor)}a controller for {bright} or more.",
        related=(
            *(Related(f"{array.name}: its modules", array.place_of(Array.isc)) for array in side.arrays),
            Related("the limit", controller.place_of(found.datum)),
        ),
        reference=found.reference,
    )


def _fewer(side: Side, found: BrightCurrent, factor: float) -> str:
    """Say how many strings side by side stay within the limit, where one array makes up all."""
    if len(side.arrays) != 1:
        return "Use "
    count = side.arrays[0].most_in_parallel
    fits = int(found.limit * (1 + 1e-9) // (factor * found.plain / count))
    return f"Put at most {fits} of {side.arrays[0].name}'s strings in parallel, or use " if 0 < fits < count else "Use "
