"""A controller with more array power than its maker allows, or than it survives with the array's leads swapped."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Any

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.array import Array
from ohmwright_grammar.kinds.controller import Controller
from ohmwright_grammar.things import Datum

from ohmwright_rules.sunside import NO_ARRAY, Side, array_power, power_limits, sides
from ohmwright_rules.wording import listed

RULE = Rule(
    id="array-ceiling",
    title="Array over the controller's power ceiling",
    family="controllers",
    subject="controller",
    covers=("A6",),
    grades=(
        Grade("over-ceiling", Severity.ERROR, "the array's power is above the ceiling that the maker gives"),
        Grade("swapped-leads", Severity.NOTE, "the array's power is above what the controller survives with its leads swapped"),
    ),
    references=(Reference("rating of the part", "", "as declared", "read"),),
)
_CEILING, _SWAPPED = "over-ceiling", "swapped-leads"
_NONE = "its maker gives no ceiling of array power"


def check(study: Study) -> Iterator[Outcome]:
    """Hold the power of the arrays at every controller against the ceilings that its maker gives."""
    left: Counter[str] = Counter()
    for side in sides(study):
        if not side.arrays:
            left[NO_ARRAY] += 1
        elif not _says_any(side.controller):
            left[_NONE] += 1
        else:
            yield from _judge(study, side)
    for condition, count in sorted(left.items()):
        yield DoesNotApply(condition, count)


def _says_any(controller: Controller) -> bool:
    return any((controller.pv_power_limit, controller.array_power_factor, controller.array_power_factor_swapped))


def _judge(study: Study, side: Side) -> Iterator[Outcome]:
    controller = side.controller
    subject = (controller.name, *(array.name for array in side.arrays))
    power = _power(study, side)
    limits = power_limits(controller)
    rated = controller.rated_power
    unrated = Missing("rated power", controller.span, "rated ~130 W")
    if controller.pv_power_limit is not None or controller.array_power_factor is not None:
        if isinstance(power, Missing):
            yield power.outcome(_CEILING, subject)
        else:
            watt, words = min(limits, default=(None, ""))
            if watt is not None and is_broken(power[0].value, watt, "at-most"):
                yield _finding(side, subject, _CEILING, power, watt, words)
            elif controller.array_power_factor is not None and rated is None:
                yield unrated.outcome(_CEILING, subject)
            elif watt is not None:
                yield Passed(_CEILING, subject, power[0], Amount(watt, "power"))
    swapped = controller.array_power_factor_swapped
    if swapped is None:
        return
    if isinstance(power, Missing):
        yield power.outcome(_SWAPPED, subject)
    elif rated is None:
        yield unrated.outcome(_SWAPPED, subject)
    else:
        times = float(swapped.low)
        watt = times * float(rated.low)
        if is_broken(power[0].value, watt, "at-most"):
            yield _finding(side, subject, _SWAPPED, power, watt, f"{times:g} times its rated power")
        else:
            yield Passed(_SWAPPED, subject, power[0], Amount(watt, "power"))


def _power(study: Study, side: Side) -> tuple[Amount, tuple[Step, ...]] | Missing:
    """Return the largest power of the arrays that can be on the input at once, with its working."""
    best: tuple[Amount, tuple[Step, ...]] | None = None
    for way in side.arrangements:
        steps: list[Step] = []
        total = 0.0
        for name in way.names:
            array = study.part(name)
            assert isinstance(array, Array)
            watt = array_power(array)
            if watt is None:
                return Missing(f"power of {name} (Vmp and Imp)", array.span, "Vmp 18.6 V; Imp 5.5 A")
            total += watt
            steps.append(Step("P", name, watt, "W", "at test conditions, as declared"))
        if len(steps) > 1:
            steps.append(Step("P_array", listed(way.names), total, "W", "sum"))
        if best is None or total > best[0].value:
            best = Amount(total, "power"), tuple(steps)
    assert best is not None
    return best


def _finding(
    side: Side, subject: tuple[str, ...], grade: str, power: tuple[Amount, tuple[Step, ...]], watt: float, words: str
) -> Finding:
    controller = side.controller
    measured, limit = power[0], Amount(watt, "power")
    has, most = shown_pair(measured, limit)
    swapped = grade == _SWAPPED
    datum: Datum[Any]
    if swapped:
        text = f"{controller.name}: {side.names} has {has}; with its leads swapped the controller survives {most} ({words}): a swap would destroy it."
        remedy = f"Use plugs that fit one way only on the array's leads, or at most {most} of array."
        datum = Controller.array_power_factor_swapped
    else:
        text = f"{controller.name}: {side.names} has {has}; its maker allows {most} ({words}), and more damages it."
        remedy = f"Use at most {most} of array, or a controller that allows {shown(measured)}."
        by_factor = controller.pv_power_limit is None or float(controller.pv_power_limit.low) > watt
        datum = Controller.array_power_factor if by_factor else Controller.pv_power_limit
    if len(side.arrays) > 1:
        text = text.replace(f"{side.names} has", f"{side.names} have", 1)
    return Finding(
        grade,
        subject,
        text,
        controller.span,
        measured,
        limit,
        working=(*power[1], Step("P_most", words, watt, "W", "as declared")),
        remedy=remedy,
        related=(
            *(Related(f"{array.name}: its modules", array.place_of(Array.vmp)) for array in side.arrays),
            Related("the ceiling", controller.place_of(datum)),
        ),
    )
