"""A battery that gives more than it, or its management system, lets out: for long, or at a start."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.references import Reference, Step
from ohmwright.rules import Case, Grade, Rule, is_broken
from ohmwright.study import SolvedState, Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.battery import Battery, Bms
from ohmwright_grammar.kinds.values import CurrentFor
from ohmwright_grammar.quantities import Ampere, Quantity
from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Span

from ohmwright_rules.duty import Loading
from ohmwright_rules.surges import solved_surges
from ohmwright_rules.verdicts import verdict

RULE = Rule(
    id="overdrawn-battery",
    title="Battery gives more than it may",
    family="storage",
    subject="battery",
    covers=("C1", "C2"),
    grades=(
        Grade("continuous", Severity.ERROR, "a steady current out of it is larger than it, or its management system, lets out for long"),
        Grade("surge", Severity.WARNING, "a start takes more out of it than its peak, or takes it for longer"),
    ),
    references=(Reference("battery data sheet, as declared", "", "discharge current, and its peak", "computed"),),
)  # fmt: skip


@record
class _Limit:
    """What a battery lets out [A], who says so, and where; for how long [s] where that is said."""

    value: float
    unit: str
    words: str
    place: Span
    time: float | None = None

    @property
    def amount(self) -> Amount:
        return Amount(self.value, "current", self.unit)


@record
class _Draw:
    """A state in which a battery gives, what it gives [A], and for how long [s], None where that is not said."""

    state: SolvedState
    current: float
    lasts: float | None
    words: str


def check(study: Study) -> Iterator[Outcome]:
    """Hold what every battery gives in each state, and at each start, against what it lets out."""
    steady = [state for state in study.telling_states if (state.solved or state.asks) and not state.setup.is_surge]
    short = solved_surges(study)
    idle = 0
    for battery in sorted(study.of(Battery), key=lambda part: part.name):
        long = [_Draw(state, state.design_current(battery.name), None, "") for state in steady if _gives(state, battery)]
        starts = [
            _Draw(state, state.design_current(battery.name), lasts, words)
            for state, lasts, words in short
            if state.current(battery.name) > 0.0
        ]
        limit = _lower(_steady_limits(battery))
        if long:
            yield _continuous(study, battery, limit, long)
        if starts:
            yield from _surge(study, battery, limit, starts)
        idle += not long and not starts
    if idle:
        yield DoesNotApply("gives no current in any state", idle)


def _gives(state: SolvedState, battery: Battery) -> bool:
    """Tell whether a battery gives current in a state, or is asked for it where the state collapses."""
    return state.current(battery.name) > 0.0 or (state.asks and state.delivered([battery.name]) > 0.0)


# limits ------------------------------------------------------------------------------------------------------------


def _limit(quantity: Quantity[Ampere], words: str, place: Span, time: float | None = None) -> _Limit:
    return _Limit(float(quantity.low), quantity.unit, words, place, time)


def _steady_limits(battery: Battery) -> Iterator[_Limit]:
    if battery.discharge_current_limit is not None:
        yield _limit(battery.discharge_current_limit, "it may give", battery.place_of(Battery.discharge_current_limit))
    bms = battery.bms
    if bms is not None and bms.discharge_current_limit is not None:
        yield _limit(bms.discharge_current_limit, "its management system lets out", bms.place_of(Bms.discharge_current_limit))


def _peaks(battery: Battery) -> Iterator[_Limit]:
    def peak(said: CurrentFor, words: str, place: Span) -> _Limit:
        return _limit(said.current, words, place, float(said.time.low) if said.time is not None else None)

    if battery.discharge_peak is not None:
        yield peak(battery.discharge_peak, "its peak is", battery.place_of(Battery.discharge_peak))
    if battery.bms is not None and battery.bms.discharge_peak is not None:
        yield peak(battery.bms.discharge_peak, "the peak of its management system is", battery.bms.place_of(Bms.discharge_peak))


def _lower(limits: Iterable[_Limit]) -> _Limit | None:
    return min(limits, key=lambda limit: limit.value, default=None)


# C1 ----------------------------------------------------------------------------------------------------------------


def _continuous(study: Study, battery: Battery, limit: _Limit | None, draws: list[_Draw]) -> Outcome:
    grade = "continuous"
    if limit is None:
        worst_draw = max(draws, key=lambda draw: draw.current)
        return NotChecked(
            grade,
            (battery.name,),
            "discharge current limit",
            battery.span,
            worst_draw.state.name,
            declare="discharge at most 100 A",
        )
    cases = [Case(draw.state.name, Amount(draw.current, "current", limit.unit), limit.amount, draw) for draw in draws]
    found = verdict(study, cases, "at-most", "fails")
    worst = found.worst
    if not found.broken:
        return Passed(grade, (battery.name,), worst.measured, worst.limit, state=worst.state)
    draw = worst.note
    assert isinstance(draw, _Draw)
    loading = Loading(study, draw.state, 1.0)
    measured, allowed = shown_pair(worst.measured, worst.limit)
    effect = " It opens, and the box goes dark." if "system" in limit.words else ""
    return Finding(
        grade,
        (battery.name,),
        f"{battery.name}: {measured} flows out of it {loading.when(battery.name)}; {limit.words} {allowed}.{effect}",
        battery.span,
        worst.measured,
        worst.limit,
        state=worst.state,
        states=found.broken,
        working=(Step("I_max", limit.words, limit.value, "A", "as declared"), loading.current_step(battery.name)),
        remedy=f"Bring the current to {allowed} or less, or use batteries that give {measured} or more.",
        related=(Related("the limit", limit.place),),
        at_most=found.at_most,
    )


# C2 ----------------------------------------------------------------------------------------------------------------


def _surge(study: Study, battery: Battery, steady: _Limit | None, draws: list[_Draw]) -> Iterator[Outcome]:
    """Hold starts against the peak and its time; one that stays within the steady limit needs neither."""
    grade = "surge"
    above = [draw for draw in draws if steady is None or is_broken(draw.current, steady.value, "at-most")]
    worst = max(draws, key=lambda draw: draw.current)
    if not above and steady is not None:
        yield Passed(
            grade, (battery.name,), Amount(worst.current, "current", steady.unit), steady.amount, state=worst.state.name
        )
        return
    peaks = list(_peaks(battery))
    peak = _lower(peaks)
    if peak is None:
        yield NotChecked(grade, (battery.name,), "discharge peak", battery.span, worst.state.name, declare="peak 200 A for 3 s")
        return
    over = [draw for draw in above if is_broken(draw.current, peak.value, "at-most")]
    if over:
        yield _over_peak(study, battery, peak, above)
        return
    times = [limit for limit in peaks if limit.time is not None]
    shortest = min(times, key=lambda limit: limit.time or 0.0, default=None)
    if shortest is None or shortest.time is None:
        yield NotChecked(
            grade, (battery.name,), "how long it bears its peak", battery.span, worst.state.name, declare="peak 200 A for 3 s"
        )
        return
    long = [draw for draw in above if draw.lasts is not None and is_broken(draw.lasts, shortest.time, "at-most")]
    silent = [draw for draw in above if draw.lasts is None]
    if long:
        yield _too_long(study, battery, shortest, long)
    elif silent:
        yield NotChecked(grade, (battery.name,), f"how long it lasts {silent[0].words}", battery.span, silent[0].state.name)
    else:
        yield Passed(grade, (battery.name,), Amount(worst.current, "current", peak.unit), peak.amount, state=worst.state.name)


def _effect(battery: Battery) -> str:
    return " Its management system opens, and the whole box goes dark." if battery.bms is not None else ""


def _over_peak(study: Study, battery: Battery, peak: _Limit, draws: list[_Draw]) -> Finding:
    cases = [Case(draw.state.name, Amount(draw.current, "current", peak.unit), peak.amount, draw) for draw in draws]
    found = verdict(study, cases, "at-most", "trip")
    worst = found.worst
    draw = worst.note
    assert isinstance(draw, _Draw)
    measured, allowed = shown_pair(worst.measured, worst.limit)
    return Finding(
        "surge",
        (battery.name,),
        f"{battery.name}: {measured} flows out of it {draw.words}; {peak.words} {allowed}.{_effect(battery)}",
        battery.span,
        worst.measured,
        worst.limit,
        state=worst.state,
        states=found.broken,
        working=(
            Step("I_peak", peak.words, peak.value, "A", "as declared"),
            Loading(study, draw.state, 1.0).current_step(battery.name),
        ),
        remedy=f"Use a battery whose peak is {measured} or more, a load that starts softly, or more batteries side by side.",
        related=(Related("the peak", peak.place),),
        at_most=found.at_most,
    )


def _too_long(study: Study, battery: Battery, peak: _Limit, draws: list[_Draw]) -> Finding:
    assert peak.time is not None
    limit = Amount(peak.time, "time")
    cases = [Case(draw.state.name, Amount(draw.lasts or 0.0, "time"), limit, draw) for draw in draws]
    found = verdict(study, cases, "at-most", "trip")
    worst = found.worst
    draw = worst.note
    assert isinstance(draw, _Draw)
    measured, allowed = shown_pair(worst.measured, worst.limit)
    current = shown(Amount(draw.current, "current", peak.unit))
    return Finding(
        "surge",
        (battery.name,),
        f"{battery.name}: {current} flows out of it for {measured} {draw.words}; {peak.words} borne for {allowed}.{_effect(battery)}",
        battery.span,
        worst.measured,
        worst.limit,
        state=worst.state,
        states=found.broken,
        working=(
            Step("t_peak", peak.words, peak.time, "s", "as declared"),
            Step("t", draw.words, draw.lasts, "s", "as declared"),
        ),
        remedy=f"Use a battery that bears its peak for {measured} or more, or a load that starts within {allowed}.",
        related=(Related("the peak", peak.place),),
        at_most=found.at_most,
    )
