"""The heat of a surge that is above what a conductor carries for long, against what its insulation bears (readings.md, Continuous, D12).

A surge is over in under a minute, so that the ampacity says nothing of it; all of its heat counts as staying in the copper, also beyond five seconds.
"""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.findings import Finding, NotChecked, Outcome, Passed, Severity, StateMeasure
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step, weakest
from ohmwright.rules import Case, is_broken
from ohmwright.states.setup import SURGE_SECONDS
from ohmwright.study import SolvedState, Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.inverter import Inverter
from ohmwright_grammar.records import record

from ohmwright_rules.basis import Basis
from ohmwright_rules.carrying import harshest
from ohmwright_rules.conductors import (
    basis_of,
    cable_of,
    gauge_of,
    is_cord,
    rated,
    said_of_missing,
    temperature_of_air,
)
from ohmwright_rules.laying import Unknown
from ohmwright_rules.surges import solved_surges
from ohmwright_rules.verdicts import verdict
from ohmwright_rules.withstand import Withstand, awg_at_least, withstand_of

__all__ = ["surge_outcomes"]


@record
class _Surge:
    """What a surge drives through one conductor [A] and for how long [s]; `said` is False where that is only known to be under a minute."""

    state: SolvedState
    words: str
    ampere: float
    second: float
    said: bool

    @property
    def heat(self) -> float:
        return self.ampere**2 * self.second


def surge_outcomes(study: Study, grade: str, form: Reference) -> Iterator[Outcome]:
    """Hold every conductor's surges against what it bears; nothing is said of one that carries them for long."""
    basis = basis_of(study)
    short = solved_surges(study)
    if basis is None or not short:
        return
    unsaid: dict[str, NotChecked] = {}
    for wire in study.circuit.wires():
        study.options.budget.check()
        conductor = wire.conductor
        if conductor is None or conductor.inside_device:
            continue
        surges = [
            _Surge(state, words, ampere, lasts if lasts is not None else SURGE_SECONDS, lasts is not None)
            for state, lasts, words in short
            if (ampere := state.design_current(wire.name)) > 0.0
        ]
        for outcome in _judge(study, basis, wire, surges, grade, form) if surges else ():
            if isinstance(outcome, _Surge):
                asked = _how_long(study, outcome, grade, wire)
                unsaid.setdefault(asked.subject[0], asked)
            else:
                yield outcome
    for name in sorted(unsaid):
        yield unsaid[name]


def _how_long(study: Study, surge: _Surge, grade: str, wire: Branch) -> NotChecked:
    """Ask what starts, or gives its peak, how long that lasts: once, whatever it heats."""
    name = surge.state.name.removesuffix(" starts").removesuffix(" at surge")
    part = study.part(name)
    if part is None:
        return NotChecked(grade, (wire.name,), f"how long state {name!r} lasts", wire.span, surge.state.name)
    what, line = (
        ("its peak", "peak 600 W for 5 s") if isinstance(part, Inverter) else ("its start", "starts at 3 times for 1 s")
    )
    return NotChecked(grade, (name,), f"how long {what} lasts", part.span, surge.state.name, line)


def _judge(
    study: Study, basis: Basis, wire: Branch, surges: list[_Surge], grade: str, form: Reference
) -> Iterator[Outcome | _Surge]:
    """Yield what is said of one conductor; a surge of which nobody says how long it lasts stands for itself, so that it is asked for once."""
    subject = (wire.name,)
    bears = withstand_of(study, wire)
    cord = is_cord(wire.conductor, cable_of(study, wire)) if wire.conductor is not None else False
    above: list[tuple[_Surge, float]] = []
    unknown: NotChecked | None = None
    for surge in surges:
        air, _ = temperature_of_air(study, wire, surge.state)
        found = rated(study, basis, wire, air, as_cord=cord)
        known = found if not isinstance(found, Unknown) else harshest(study, basis, wire, surge.state, air, cord)
        if known is not None and not is_broken(surge.ampere, known.unwound, "at-most"):
            continue
        if not isinstance(found, Unknown):
            above.append((surge, found.unwound))
        elif isinstance(bears, Missing) or is_broken(surge.heat, bears.value, "at-most"):
            unknown = NotChecked(grade, subject, found.missing, wire.span, surge.state.name, said_of_missing(found.missing))
    if isinstance(bears, Missing):
        if unknown is not None:
            yield unknown
        elif above:
            yield bears.outcome(grade, subject, above[0][0].state.name)
        return
    told = [item for item in above if item[0].said]
    if told:
        cases = [Case(surge.state.name, _heat(surge.heat), _heat(bears.value), (surge, most)) for surge, most in told]
        found_of = verdict(study, cases, "at-most", "burn")
        if found_of.broken:
            yield _finding(wire, found_of.worst, bears, grade, form, found_of.broken, found_of.at_most)
            return
    loose = [surge for surge, _ in above if not surge.said and is_broken(surge.heat, bears.value, "at-most")]
    if unknown is not None:
        yield unknown
    elif loose:
        yield loose[0]
    elif above:
        worst = max((surge for surge, _ in above), key=lambda surge: surge.heat)
        yield Passed(grade, subject, _heat(worst.heat), _heat(bears.value), state=worst.state.name)


def _heat(value: float) -> Amount:
    return Amount(value, "let_through", "A2s")


def _finding(
    wire: Branch,
    worst: Case,
    bears: Withstand,
    grade: str,
    form: Reference,
    broken: tuple[StateMeasure, ...],
    at_most: Severity | None,
) -> Finding:
    assert isinstance(worst.note, tuple)
    surge, most = worst.note
    assert isinstance(surge, _Surge)
    heat, allowed = shown_pair(worst.measured, worst.limit)
    ampere, long = shown(Amount(surge.ampere, "current")), shown(Amount(most, "current"))
    time = shown(Amount(surge.second, "time"))
    ways: list[str] = []
    if bears.k > 0:
        needed = surge.heat**0.5 / bears.k
        size = f"{needed:.3g} mm2"
        ways.append(
            f"use a conductor of {f'{awg_at_least(needed)} ({size})' if gauge_of(wire).endswith('AWG') else size} or more"
        )
    less = max(most, (bears.value / surge.second) ** 0.5)
    ways.append(
        f"bring the surge to {shown(Amount(less, 'current'))} or less, or to {shown(Amount(bears.value / surge.ampere**2, 'time'))} or less"
    )
    words = ", or ".join(ways)
    return Finding(
        grade,
        (wire.name,),
        f"{wire.name}: {ampere} flows here for {time} {surge.words}, above the {long} that this {gauge_of(wire)} carries for long; "
        f"that heats it with {heat}, and its insulation bears {allowed}.",
        wire.span,
        worst.measured,
        worst.limit,
        state=worst.state,
        states=broken,
        working=(
            Step(
                "I2t",
                f"{surge.ampere:.4g}^2 x {surge.second:.3g} s, as if no heat left the copper",
                surge.heat,
                "A2s",
                "solved circuit",
            ),
            bears.step,
        ),
        remedy=f"{words[0].upper()}{words[1:]}.",
        reference=weakest((bears.reference, form)),
        at_most=at_most,
    )
