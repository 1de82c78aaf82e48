"""Insulation that is rated for less than the voltage on its conductor, or for less than the temperature that it gets."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.references import Step, common_practice
from ohmwright.rules import Case, Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair

from ohmwright_rules.ampacity import ampacity, conductor_temperature
from ohmwright_rules.basis import Basis
from ohmwright_rules.conductors import (
    AMBIENT,
    airs_around,
    basis_of,
    cable_of,
    laying_of,
    named_basis,
    said_of_missing,
    temperature_of_air,
)
from ohmwright_rules.duty import Loading, loadings, totals
from ohmwright_rules.laying import Unknown
from ohmwright_rules.net_voltages import Highest, could_lift, net_voltages
from ohmwright_rules.verdicts import verdict

RULE = Rule(
    id="weak-insulation",
    title="Insulation rated below its voltage or temperature",
    family="conductors",
    subject="conductor",
    covers=("D10",),
    grades=(
        Grade("voltage", Severity.ERROR, "the highest voltage of the conductor is above the rating of its insulation"),
        Grade("too-hot", Severity.ERROR, "the conductor gets hotter than its insulation bears"),
    ),
    references=(common_practice("insulation is used within its rating"),),
)
_VOLTS = "insulation voltage"
_DEGREES = "insulation temperature"
_EARTH_CORE = "core of a mains cord, or for earth"
_LOWEST_SOLD = 30.0  # V: no conductor is sold for less (common practice, no source; the lamp flex of the catalogue's example)
_COOLEST_CLASS = 60.0  # degC: nor for less than this
_HEATING_BASIS = "us-small-craft"  # whose table tells how a wire heats, where no basis is declared


def check(study: Study) -> Iterator[Outcome]:
    """Hold the insulation of every conductor against its highest voltage and temperature."""
    left: dict[str, int] = {}
    basis = basis_of(study) or named_basis(_HEATING_BASIS)
    mains_cables = {branch.part for branch in study.circuit.ac_branches if branch.part != branch.name}
    for wire in study.circuit.wires():
        conductor = wire.conductor
        assert conductor is not None
        if conductor.inside_device:
            reason = "inside a bought device or part of it"
            left[reason] = left.get(reason, 0) + 1
            continue
        if cable_of(study, wire) is not None and (wire.part in mains_cables or conductor.job in ("earth", "bond")):
            left[_EARTH_CORE] = left.get(_EARTH_CORE, 0) + 1
            continue
        for outcome in (_voltage(study, wire), _temperature(study, basis, wire)):
            if isinstance(outcome, str):
                left[outcome] = left.get(outcome, 0) + 1
            else:
                yield outcome
    mains = sum(1 for branch in study.circuit.ac_branches if branch.conductor is not None)
    if mains:
        left["carries mains or an inverter's output"] = mains
    for condition in sorted(left):
        yield DoesNotApply(condition, left[condition])


# voltage -----------------------------------------------------------------------------------------------------------


def _voltage(study: Study, wire: Branch) -> Outcome | str:
    conductor = wire.conductor
    assert conductor is not None
    highest = max(
        (net_voltages(study).of(node) for node in (wire.start, wire.end)),
        key=lambda found: (found.line.value if found.line is not None else -1.0, len(found.gaps)),
    )
    if highest.line is None and not highest.gaps:
        return "no source holds a voltage on it"
    rating = conductor.insulation_voltage
    limit = float(rating.low) if rating is not None else _LOWEST_SOLD
    line = highest.line
    if line is not None and is_broken(line.value, limit, "at-most"):
        if rating is None:
            return NotChecked("voltage", (wire.name,), _VOLTS, wire.span, declare="300 V insulation")
        return _over_voltage(study, wire, highest, Amount(limit, "voltage", rating.unit))
    gap = could_lift(study, highest, limit)
    if gap is not None:
        if rating is None:
            return NotChecked("voltage", (wire.name,), _VOLTS, wire.span, declare="300 V insulation")
        return NotChecked("voltage", (wire.name,), gap.missing, gap.span, declare=gap.declare)
    if rating is None:
        return f"not above {_LOWEST_SOLD:g} V, for which every insulation is good"
    value = line.value if line is not None else 0.0
    return Passed("voltage", (wire.name,), Amount(value, "voltage", rating.unit), Amount(limit, "voltage", rating.unit))


def _over_voltage(study: Study, wire: Branch, highest: Highest, limit: Amount) -> Finding:
    line = highest.line
    assert line is not None
    measured = Amount(line.value, "voltage", limit.unit)
    here, allowed = shown_pair(measured, limit)
    return Finding(
        "voltage",
        (wire.name,),
        f"{wire.name}: {here} can stand on it ({line.words}); its insulation is rated for {allowed}.",
        wire.span,
        measured,
        limit,
        working=line.steps,
        remedy=f"Use a conductor whose insulation is rated for {here} or more.",
        related=(Related(f"what holds the voltage: {line.holder}", study.span(line.holder)),),
    )


# temperature -------------------------------------------------------------------------------------------------------


_Heat = tuple[Loading, float, float]  # a state in which a conductor is warm: the current [A] and the air [degC] that make it so


def _temperature(study: Study, basis: Basis, wire: Branch) -> Outcome | str:
    conductor = wire.conductor
    assert conductor is not None
    subject = (wire.name,)
    rating = conductor.insulation_temperature
    laying = laying_of(study, wire)
    if isinstance(laying, Unknown):
        return NotChecked("too-hot", subject, laying.missing, wire.span, declare=said_of_missing(laying.missing))
    insulation = float(rating.low) if rating is not None else _COOLEST_CLASS
    table = ampacity(basis, laying.by_itself(basis.reference_ambient.value, insulation))
    heats = list(_heats(study, wire))
    if not heats:
        return "no state is solved in which it could be warm"
    if isinstance(table, Unknown):
        return NotChecked("too-hot", subject, table.missing, wire.span, declare=said_of_missing(table.missing))
    limit = Amount(float(rating.low) if rating is not None else _COOLEST_CLASS, "temperature", rating.unit if rating else "")
    reference = basis.reference_ambient.value
    degrees = [conductor_temperature(table, current, air, reference) for _, current, air in heats]
    hottest = max(degrees)
    if not is_broken(hottest, limit.value, "at-most"):
        if not any(temperature_of_air(study, wire, loading.state)[1] for loading, _, _ in heats):
            return NotChecked("too-hot", subject, AMBIENT, wire.span, declare=said_of_missing(AMBIENT))
        state = heats[degrees.index(hottest)][0].name
        return Passed("too-hot", subject, Amount(hottest, "temperature", limit.unit), limit, state=state)
    cases = [
        Case(heat[0].name, Amount(hot, "temperature", limit.unit), limit, heat)
        for heat, hot in zip(heats, degrees, strict=True)
    ]
    found = verdict(study, cases, "at-most", "burn")
    worst = found.worst
    if rating is None:
        return NotChecked("too-hot", subject, _DEGREES, wire.span, worst.state, said_of_missing(_DEGREES))
    note = worst.note
    assert isinstance(note, tuple)
    _, current, air = note
    measured, allowed = shown_pair(worst.measured, limit)
    if current > 0.0:
        why = f"{shown(Amount(current, 'current'))} in air of {shown(Amount(air, 'temperature'))}"
    else:
        why = "as hot as the air around it"
    rise = f"{air:.4g} degC + ({current:.4g} A / {table.table_value:.4g} A)^2 x ({table.insulation:.4g} - {reference:g}) K"
    return Finding(
        "too-hot",
        subject,
        f"{wire.name}: it gets {measured} hot in state {worst.state!r} ({why}); its insulation bears {allowed}.",
        wire.span,
        worst.measured,
        limit,
        state=worst.state,
        states=found.broken,
        working=(*table.steps[:1], Step("T", rise, worst.measured.value, "degC", "law of the temperature rise, from memory")),
        remedy=f"Use insulation that bears {measured} or more, a larger size, or lay it where the air is cooler.",
        at_most=found.at_most,
    )


def _heats(study: Study, wire: Branch) -> Iterator[_Heat]:
    """Yield what heats a conductor in each steady state; of states that say the same the first."""
    told: set[tuple[float, float]] = set()
    of_states = zip(loadings(study), totals(study, wire.name), airs_around(study, wire), strict=True)
    for loading, current, (air, _) in of_states:
        if (current, air) not in told:
            told.add((current, air))
            yield loading, current, air
