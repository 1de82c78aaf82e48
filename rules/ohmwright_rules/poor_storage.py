"""A storage plan that the battery does not bear: too cold, too warm, at the wrong charge level, without a top-up."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Sense, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step, common_practice
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown_pair
from ohmwright_grammar.kinds.battery import LITHIUM, Battery
from ohmwright_grammar.kinds.procedure import Procedure
from ohmwright_grammar.kinds.requirement import Requirement
from ohmwright_grammar.quantities import Quantity
from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Span

from ohmwright_rules.storing import Stored, stored

RULE = Rule(
    id="poor-storage",
    title="Storage that the battery does not bear",
    family="storage",
    subject="battery",
    covers=("K7",),
    grades=(
        Grade("too-cold", Severity.WARNING, "it is stored colder than its maker allows"),
        Grade("too-warm", Severity.WARNING, "it is stored warmer than its maker allows"),
        Grade("wrong-level", Severity.WARNING, "it is stored at another charge level than its maker wants; lead-acid not full"),
        Grade("no-top-up", Severity.WARNING, "it is left for longer than it bears without a charge; lead-acid 6 months"),
    ),
    references=(
        Reference("battery data sheet, as declared", "", "storage", "computed"),
        Reference("a trade page", "", "lead-acid: top-up every 6 months", "secondary"),
        common_practice("lead-acid is stored full"),
    ),
)
_MONTH = 730.0 * 3600.0  # s
_LEAD_TOP_UP = 6 * _MONTH  # s: catalogue, K7
_ABOUT = 0.10  # a level that the maker gives as one figure is one within 10 points of it
_EMPTY, _FULL = 0.0, 1.0


@record
class _Plan:
    """What is planned: months [s], charge levels, temperature range, the interval between charges [s]; with where each was said. None: not said."""

    time: tuple[Quantity[Any], Span] | None
    level: tuple[float, float, str, Span] | None
    temperature: tuple[float, float, str, Span] | None
    top_up: tuple[Quantity[Any], Span] | None

    @property
    def is_empty(self) -> bool:
        """Tell whether nothing at all was said."""
        return self.time is None and self.level is None and self.temperature is None and self.top_up is None


def check(study: Study) -> Iterator[Outcome]:
    """Hold how every battery is to be stored against what its maker wants."""
    batteries = sorted(study.of(Battery), key=lambda battery: battery.name)
    if not batteries:
        yield DoesNotApply("there is no battery")
        return
    state = stored(study)
    for battery in batteries:
        plan = _plan(study, battery, state)
        if plan.is_empty:
            missing = _of_plan(
                study, "storage plan (for how long, at which temperature and charge level)", "store for 6 months"
            )
            yield missing.outcome("no-top-up", (battery.name,))
            continue
        yield from _temperatures(study, battery, plan)
        yield _level(study, battery, plan)
        yield _top_up(study, battery, plan)


def _of_plan(study: Study, what: str, words: str) -> Missing:
    procedure = next(study.of(Procedure), None)
    if procedure is not None:
        return Missing(what, procedure.span, words)
    return Missing(what, study.build.rig.span, f"procedure {{ {words} }}")


def _plan(study: Study, battery: Battery, state: Stored) -> _Plan:
    """Return the storage plan: the procedure, else the declared state of storage, else what is required on the shelf."""
    procedure = next(study.of(Procedure), None)
    setup = state.state.setup
    declared = setup.origin == "declared"
    place = setup.span or study.build.rig.span
    temperature = level = time = top_up = None
    if procedure is not None:
        said, start = procedure.storage_temperature, procedure.storage_start_level
        if said is not None:
            words = "storage temperature of the procedure"
            temperature = _low(said), _high(said), words, procedure.place_of(Procedure.storage_temperature)
        if start is not None:
            words = "charge level of the procedure"
            level = float(start.low), float(start.high), words, procedure.place_of(Procedure.storage_start_level)
        if procedure.storage_time is not None:
            time = procedure.storage_time, procedure.place_of(Procedure.storage_time)
        if procedure.top_up_interval is not None:
            top_up = procedure.top_up_interval, procedure.place_of(Procedure.top_up_interval)
    if declared and temperature is None:
        warm = setup.inside if setup.inside is not None else setup.ambient
        if warm is not None:
            temperature = float(warm), float(warm), f"temperature of state {state.name!r}", place
    told = setup.levels.get(battery.name)
    if declared and level is None and told is not None and not told.is_voltage:
        level = told.value, told.value, f"charge level in state {state.name!r}", place
    if time is None:
        required = [item for item in study.of(Requirement) if item.shelf_time is not None]
        longest = max(required, key=lambda item: float(item.shelf_time.high) if item.shelf_time else 0.0, default=None)
        if longest is not None and longest.shelf_time is not None:
            time = longest.shelf_time, longest.span
    return _Plan(time, level, temperature, top_up)


def _low(quantity: Quantity[Any]) -> float:
    return float(quantity.nominal if quantity.form == "at most" else quantity.low)


def _high(quantity: Quantity[Any]) -> float:
    return float(quantity.nominal if quantity.form == "at least" else quantity.high)


# temperature -------------------------------------------------------------------------------------------------------


def _temperatures(study: Study, battery: Battery, plan: _Plan) -> Iterator[Outcome]:
    allowed = battery.storage_temperatures
    if allowed is None or (allowed.exact and allowed.form == "plain"):  # one figure is no range
        missing = Missing(f"range of storage temperatures of {battery.name}", battery.span, "store at -10 degC to 40 degC")
        yield missing.outcome("too-warm", (battery.name,))
    elif plan.temperature is None:
        yield _of_plan(study, "temperature in storage", "store at 5 degC to 25 degC").outcome("too-warm", (battery.name,))
    else:
        yield _temperature(battery, allowed, plan.temperature, "too-cold", "at-least")
        yield _temperature(battery, allowed, plan.temperature, "too-warm", "at-most")


def _temperature(
    battery: Battery, allowed: Quantity[Any], planned: tuple[float, float, str, Span], grade: str, sense: Sense
) -> Outcome:
    cold = sense == "at-least"
    low, high, words, span = planned
    if allowed.form == ("at most" if cold else "at least"):
        return Passed(grade, (battery.name,))  # its maker gives no limit at this end
    measured = Amount(low if cold else high, "temperature")
    limit = Amount(float(allowed.low if cold else allowed.high), "temperature")
    if not is_broken(measured.value, limit.value, sense):
        return Passed(grade, (battery.name,), measured, limit, sense)
    here, bears = shown_pair(measured, limit)
    effect = "Cold beyond that may spoil it." if cold else "Warmth beyond that ages it early."
    return Finding(
        grade,
        (battery.name,),
        f"{battery.name}: it is stored at {here}; its maker allows {bears} and {'above' if cold else 'below'}. {effect}",
        battery.span,
        measured,
        limit,
        sense,
        working=(
            Step("T", words, measured.value, "degC", "as declared"),
            Step("T_allowed", f"storage temperatures of {battery.name}", limit.value, "degC", "as declared"),
        ),
        remedy=f"Store it where it stays {'above' if cold else 'below'} {bears}.",
        related=(
            Related(words, span),
            Related(f"storage temperatures of {battery.name}", battery.place_of(Battery.storage_temperatures)),
        ),
    )


# charge level ------------------------------------------------------------------------------------------------------


def _wanted(battery: Battery) -> tuple[float, float, str, Reference] | Missing:
    """Return the charge levels between which a battery is to be stored, and in words who says so."""
    own = battery.storage_level
    if own is not None:
        words = f"its maker wants {_range_words(own)}"
        if own.form == "at most":
            return _EMPTY, float(own.high), words, RULE.references[0]
        if own.form == "at least":
            return float(own.low), _FULL, words, RULE.references[0]
        if own.exact:
            return float(own.low) - _ABOUT, float(own.high) + _ABOUT, words, RULE.references[0]
        return float(own.low), float(own.high), words, RULE.references[0]
    if battery.chemistry is None:
        return Missing(f"chemistry of {battery.name}", battery.span, "LFP")
    if battery.chemistry in LITHIUM:
        return Missing(f"charge level for storage of {battery.name}", battery.span, "store at 40 % to 60 %")
    return _FULL, _FULL, "lead-acid is stored full", RULE.references[2]


def _range_words(level: Quantity[Any]) -> str:
    low, high = f"{float(level.low) * 100:.3g}", f"{float(level.high) * 100:.3g}"
    if level.form in ("at most", "at least"):
        return f"{level.form} {high if level.form == 'at most' else low} %"
    return f"about {low} %" if level.exact else f"{low} % to {high} %"


def _level(study: Study, battery: Battery, plan: _Plan) -> Outcome:
    grade, subject = "wrong-level", (battery.name,)
    wanted = _wanted(battery)
    if isinstance(wanted, Missing):
        return wanted.outcome(grade, subject)
    if plan.level is None:
        return _of_plan(study, "charge level at which storage begins", "store from 60 %").outcome(grade, subject)
    least, most, why, reference = wanted
    low, high, words, span = plan.level
    under = is_broken(low, least, "at-least")
    nearer = most < _FULL and most - high < low - least  # what holds is told of the end that is nearer
    upper = not under and (nearer or is_broken(high, most, "at-most"))
    sense: Sense = "at-most" if upper else "at-least"
    measured = Amount(low if sense == "at-least" else high, "share", "%")
    limit = Amount(least if sense == "at-least" else most, "share", "%")
    if not is_broken(measured.value, limit.value, sense):
        return Passed(grade, subject, measured, limit, sense)
    lead = battery.chemistry is not None and battery.chemistry not in LITHIUM
    here, bound = shown_pair(measured, limit)
    effect = "Its plates sulphate." if lead and under else "It ages early, or is empty too soon."
    return Finding(
        grade,
        subject,
        f"{battery.name}: its storage begins at {here}; {why}. {effect}",
        battery.span,
        measured,
        limit,
        sense,
        working=(
            Step("level", words, measured.value, "1", "as declared"),
            Step("limit", why, limit.value, "1", str(reference)),
        ),
        remedy=f"Charge it {'full' if least >= _FULL else f'to {bound} or ' + ('more' if under else 'less')} before it is put away.",
        related=(Related(words, span), Related(f"{battery.name}: {why}", battery.place_of(Battery.storage_level))),
        reference=reference,
    )


# top-up ------------------------------------------------------------------------------------------------------------


def _longest(battery: Battery) -> tuple[Amount, str, Reference] | Missing:
    """Return the longest time for which a battery may be left without a charge, and in words who says so."""
    own = battery.top_up_interval
    if own is not None:
        return Amount(float(own.low), "time", own.unit), "its maker", RULE.references[0]
    if battery.chemistry is None:
        return Missing(f"chemistry of {battery.name}", battery.span, "LFP")
    if battery.chemistry in LITHIUM:
        return Missing(f"longest interval between top-up charges of {battery.name}", battery.span, "top up every 6 months")
    return Amount(_LEAD_TOP_UP, "time", "months"), "usual for lead-acid", RULE.references[1]


def _top_up(study: Study, battery: Battery, plan: _Plan) -> Outcome:
    grade, subject = "no-top-up", (battery.name,)
    longest = _longest(battery)
    if isinstance(longest, Missing):
        return longest.outcome(grade, subject)
    limit, who, reference = longest
    planned = plan.top_up if plan.top_up is not None else plan.time
    if planned is None:
        return _of_plan(study, "time in storage, or the interval between charges", "store for 6 months").outcome(grade, subject)
    quantity, span = planned
    value = float(quantity.high)
    if plan.top_up is not None and plan.time is not None:
        value = min(value, float(plan.time[0].high))
    measured = Amount(value, "time", limit.unit)
    if not is_broken(measured.value, limit.value, "at-most"):
        return Passed(grade, subject, measured, limit)
    left, most = shown_pair(measured, limit)
    return Finding(
        grade,
        subject,
        f"{battery.name}: it is left for {left} without a charge{'' if plan.top_up is not None else '; no top-up is planned'}. {most} are the longest"
        f" ({who}).",
        battery.span,
        measured,
        limit,
        working=(
            Step("t", "interval between charges" if plan.top_up is not None else "time in storage", value / _MONTH, "months", "as declared"),
            Step("t_most", who, limit.value / _MONTH, "months", str(reference)),
        ),
        remedy=f"Plan a charge at least every {most}, and declare in the procedure: top up every {most}",
        related=(
            Related("what is planned", span),
            *(
                (Related("the longest interval", battery.place_of(Battery.top_up_interval)),)
                if battery.top_up_interval is not None
                else ()
            ),
        ),
        reference=reference,
    )  # fmt: skip
