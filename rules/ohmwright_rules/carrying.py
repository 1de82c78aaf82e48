"""A conductor's worst steady current held against what it may carry: for wires, cords and returns alike.

The sum is one; the rules differ in which conductors they ask about and in what they say. A cord that is used coiled is held to its unwound value here:
the coil is a matter of its own.
"""

from __future__ import annotations

from ohmwright.circuit.graph import Branch
from ohmwright.findings import Severity, StateMeasure
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step
from ohmwright.rules import Case, is_broken
from ohmwright.study import SolvedState, Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.records import record, replace
from ohmwright_grammar.spans import Span

from ohmwright_rules.ampacity import Ampacity, Demand, ampacity, demand
from ohmwright_rules.basis import Basis
from ohmwright_rules.conductors import (
    air_steps,
    airs_around,
    laying_of,
    rated,
    said_of_missing,
    temperature_of_air,
    unsaid_air,
    unsaid_of,
)
from ohmwright_rules.duty import Carried, Loading, loadings, totals
from ohmwright_rules.kept import kept
from ohmwright_rules.laying import Laying, Unknown
from ohmwright_rules.verdicts import verdict

__all__ = ["Held", "Overload", "Unjudged", "cooler_or_better", "harshest", "judge_current", "nothing_left"]

# What nobody said is taken at its harshest before it makes a wire unchecked: the coolest class of insulation, a full conduit.
_COOLEST_CLASS = 60.0
_FULL = {"in_conduit": True, "in_free_air": False, "together": 40, "bundled_length": 10.0, "method": ""}


@record
class Unjudged:
    """A datum without which the conductor cannot be judged, and the state in which it is missing."""

    missing: str
    state: str
    datum: Missing | None = None  # where it is not the conductor's own

    @property
    def declare(self) -> str:
        """A line that would declare it."""
        return self.datum.declare if self.datum is not None else said_of_missing(self.missing)

    def place(self, wire: Branch) -> Span:
        """Return where it would be declared."""
        return self.datum.span if self.datum is not None else wire.span


@record
class Held:
    """A conductor that carries its worst steady current."""

    measured: Amount
    limit: Amount
    state: str


@record
class Overload:
    """A conductor that carries more than it may: its worst state, with the working."""

    study: Study
    basis: Basis
    wire: Branch
    worst: Case
    broken: tuple[StateMeasure, ...]
    at_most: Severity | None
    loading: Loading
    rated: Ampacity
    carried: Carried
    asked: Demand

    @property
    def steps(self) -> tuple[Step, ...]:
        """The working: the table value, its factors, how a surge was counted, what the current asks for."""
        plain = self.basis.continuous.value == self.basis.corrected.value == 1.0
        current = (self.loading.current_step(self.wire.name), *self.loading.steps())
        air = air_steps(self.study, self.wire.zone, self.loading.state) if self.rated.ambient_factor != 1.0 else ()
        return (*air, *self.rated.steps, *current, *(() if plain else self.asked.steps))

    @property
    def reference(self) -> Reference:
        """What the verdict rests on: the table alone where its value is passed already, else the weakest of its figures."""
        return self.rated.reference if self.worst.measured.value > self.rated.table_value else self.rated.weakest

    @property
    def words(self) -> str:
        """What is wrong, in one or two sentences without the name of the conductor."""
        measured, allowed = shown_pair(self.worst.measured, self.worst.limit)
        conductor = self.wire.conductor
        assert conductor is not None and conductor.gauge is not None
        what = f"{conductor.gauge.text} cord" if self.rated.cord else conductor.gauge.text
        current = shown(Amount(self.carried.total, "current", self.worst.measured.unit))
        state = self.loading.when(self.wire.name)
        if self.rated.ambient_factor <= 0.0:
            return f"{current} flows here {state}; {nothing_left(f'this {what}', self.rated, self._air)}."
        if self.worst.measured.value > self.carried.total * (1 + 1e-9):
            part = shown(Amount(self.carried.continuous, "current"))
            lasting = (
                "continuous current" if self.carried.other <= 1e-9 * self.carried.total else f"the continuous {part} of it"
            )
            times = f"{self.basis.continuous.value:g} times"
            text = f"{current} flows here {state}; {lasting} counts {times}: {measured}; this {what} is rated for {allowed}."
        else:
            text = f"{measured} flows here {state}; this {what} is rated for {allowed}."
        return f"{text}{self._reason(shown(Amount(self.rated.table_value, 'current')))}"

    @property
    def _air(self) -> float:
        return temperature_of_air(self.study, self.wire, self.loading.state)[0]

    def _reason(self, by_itself: str) -> str:
        """Say what took the rest, where the table value alone would have been enough."""
        if self.rated.table_value < self.worst.measured.value or self.worst.limit.value >= self.rated.table_value:
            return ""
        found = []
        if self.rated.ambient_factor < 1.0:
            found.append(f"air of {shown(Amount(self._air, 'temperature'))} ({self.rated.ambient_factor:.2f})")
        if self.rated.bundling_factor < 1.0:
            found.append(f"the wires it lies with ({self.rated.bundling_factor:.2f})")
        return f" Its table gives {by_itself}; {' and '.join(found)} take the rest." if found else ""

    def remedy(self, more: str = "") -> str:
        """Return what mends it, with numbers; `more` is a further way."""
        from ohmwright_rules.sizing import smallest_for_current

        if self.rated.ambient_factor <= 0.0:
            return cooler_or_better(self._air)
        laying = laying_of(self.study, self.wire, self.loading.state)
        assert not isinstance(laying, Unknown)
        larger = smallest_for_current(self.basis, replace(laying, coiled=False), self.asked)
        size = f"Use {larger.gauge.text} or larger" if larger is not None else "No listed size carries it: split the load"
        factor = self.worst.measured.value / self.carried.total
        most = shown(Amount(self.worst.limit.value / factor, "current", self.worst.limit.unit))
        return f"{size}{more}, or bring the current to {most} or less."


def nothing_left(what: str, rated: Ampacity, air: float) -> str:
    """Return the words that a conductor may carry nothing, because the air is as hot as its insulation bears, or nearly."""
    hot, bears = (shown(Amount(value, "temperature")) for value in (air, rated.insulation))
    return f"in air of {hot} {what} with insulation of {bears} may carry nothing"


def cooler_or_better(air: float) -> str:
    """Return what mends that: no size does."""
    hot = shown(Amount(air, "temperature"))
    return f"Use insulation that bears well over {hot}, or lay it where the air is cooler; no larger size helps."


_Known = dict[tuple[str, str, bool], "Held | Overload | Unjudged | None"]


def _judged(study: Study) -> _Known:
    """Return where the verdicts on conductors of a study are kept."""
    del study
    return {}


def judge_current(study: Study, basis: Basis, wire: Branch, *, as_cord: bool = False) -> Held | Overload | Unjudged | None:
    """Hold the worst steady current of a conductor over all states against what it may carry; None where it carries none.

    With `as_cord` it is taken as a core of a flexible cord, whatever is said of it. Where a datum is missing that could decide, the harshest that it can be is tried first, and only then the wire is unjudged.
    """
    known = kept(study, _judged)
    key = (wire.name, basis.name, as_cord)
    if key not in known:
        known[key] = _judge(study, basis, wire, as_cord)
    return known[key]


def _telling(study: Study, wire: Branch, every: bool) -> list[tuple[Loading, float, float]]:
    """Return the states in which a conductor carries something, with the current [A] and the air [degC].

    Of reached ones that say the same it is the first, unless `every` one is asked for.
    """
    found: list[tuple[Loading, float, float]] = []
    told: set[tuple[float, float]] = set()
    of_states = zip(loadings(study), totals(study, wire.name), airs_around(study, wire), strict=True)
    for loading, total, (air, _) in of_states:
        if total <= 0.0:
            continue
        if loading.state.setup.origin == "reached" and not every:
            if (total, air) in told:
                continue
            told.add((total, air))
        found.append((loading, total, air))
    return found


def _hardest(telling: list[tuple[Loading, float, float]]) -> list[tuple[Loading, float, float]]:
    """Leave out every state in which less flows, in air no warmer, than in another: what holds in the others holds in it."""
    front: list[tuple[float, float]] = []
    most = 0.0
    for total, air in sorted({(total, air) for _, total, air in telling}, key=lambda item: (-item[1], -item[0])):
        if total > most:
            most = total
            front.append((total, air))
    return [item for item in telling if (item[1], item[2]) in front]


def _judge(study: Study, basis: Basis, wire: Branch, as_cord: bool) -> Held | Overload | Unjudged | None:
    multiplies = basis.continuous.value != 1.0 or basis.corrected.value != 1.0
    telling = _telling(study, wire, multiplies)
    if not multiplies and wire.zone not in study.summed_zones:  # there, what is not declared may make another state the hardest
        found = _judge_in(study, basis, wire, as_cord, _hardest(telling))
        if not isinstance(found, Overload):
            return found
    return _judge_in(study, basis, wire, as_cord, telling)  # with every state in which it is overloaded


def _judge_in(
    study: Study, basis: Basis, wire: Branch, as_cord: bool, telling: list[tuple[Loading, float, float]]
) -> Held | Overload | Unjudged | None:
    multiplies = basis.continuous.value != 1.0 or basis.corrected.value != 1.0
    seen: list[tuple[Loading, Carried, Ampacity]] = []
    for loading, total, air in telling:
        value = rated(study, basis, wire, air, as_cord=as_cord)
        carried = loading.carried(wire.name) if multiplies else Carried(total, total)
        if isinstance(value, Unknown):
            harsh = harshest(study, basis, wire, loading.state, air, as_cord)
            if harsh is None or _asks(basis, carried, harsh)[0] > 1.0:
                return Unjudged(value.missing, loading.name)
            value = harsh
        seen.append((loading, carried, value))
    if not seen:
        return None
    loading, carried, value = max(seen, key=lambda item: _asks(basis, item[1], item[2])[0])
    _, measured, limit = _asks(basis, carried, value)
    if not is_broken(measured, limit, "at-most"):
        return _held(study, basis, wire, seen, as_cord) or Held(
            Amount(measured, "current"), Amount(limit, "current"), loading.name
        )
    cases = [_case(basis, *item) for item in seen]
    found = verdict(study, cases, "at-most", "burn")
    note = found.worst.note
    assert isinstance(note, tuple)
    loading, carried, value = note
    asked = demand(basis, carried.continuous, carried.other)
    return Overload(study, basis, wire, found.worst, found.broken, found.at_most, loading, value, carried, asked)


def _held(
    study: Study, basis: Basis, wire: Branch, seen: list[tuple[Loading, Carried, Ampacity]], as_cord: bool
) -> Held | Unjudged | None:
    """Return what to say of a wire that passes on data that were taken at their kindest; None where all was said."""
    site = study.climate.site
    told = site is not None and site.ambient is not None
    worst: Held | None = None
    if wire.zone in study.summed_zones and wire.conductor is not None and wire.conductor.own_temperature is None:
        for loading, its, _ in seen:
            hot = unsaid_air(study, wire.zone, loading.state)
            if hot is None:
                continue
            value = rated(study, basis, wire, hot[0], as_cord=as_cord)
            if isinstance(value, Unknown) or _asks(basis, its, value)[0] > 1.0:
                return Unjudged(hot[1].what, loading.name, hot[1])
    for loading, _, _ in seen[:1] if told else seen:
        missing = unsaid_of(study, wire, loading.state, as_cord=as_cord)
        if not missing:
            continue
        air, known = temperature_of_air(study, wire, loading.state)
        harsh = harshest(study, basis, wire, loading.state, air, as_cord) if known else None
        if harsh is None:
            return Unjudged(missing, loading.name)
        for other, its, _ in seen:
            share, measured, limit = _asks(basis, its, harsh)
            if share > 1.0:
                return Unjudged(missing, other.name)
            if worst is None or measured / limit > worst.measured.value / worst.limit.value:
                worst = Held(Amount(measured, "current"), Amount(limit, "current"), other.name)
    return worst


def harshest(study: Study, basis: Basis, wire: Branch, state: SolvedState, air: float, as_cord: bool) -> Ampacity | None:
    """Return the ampacity with everything that is not said at its harshest, None where even that is not known."""
    laying = laying_of(study, wire, state, air)
    if isinstance(laying, Unknown) or not temperature_of_air(study, wire, state)[1]:
        return None
    harsh: Laying = laying
    if as_cord:
        harsh = replace(harsh, cord=True)
    if unsaid_of(study, wire, state, as_cord=as_cord):
        harsh = replace(harsh, **_FULL)  # type: ignore[arg-type]
    if harsh.insulation is None:
        harsh = replace(harsh, insulation=_COOLEST_CLASS)
    found = ampacity(basis, harsh)
    return found if isinstance(found, Ampacity) else None


def _asks(basis: Basis, carried: Carried, value: Ampacity) -> tuple[float, float, float]:
    """Return the share that a current takes, and the measured and allowed current of the harder of the basis' two tests [A]."""
    table = basis.continuous.value * carried.continuous + carried.other
    corrected = basis.corrected.value * carried.continuous + carried.other
    if value.unwound <= 0.0:
        return float("inf"), corrected, value.unwound
    by_table, by_corrected = table / value.table_value, corrected / value.unwound
    if by_table > by_corrected and table > corrected:
        return by_table, table, value.table_value
    return by_corrected, corrected, value.unwound


def _case(basis: Basis, loading: Loading, carried: Carried, value: Ampacity) -> Case:
    _, measured, limit = _asks(basis, carried, value)
    return Case(loading.name, Amount(measured, "current"), Amount(limit, "current"), (loading, carried, value))
