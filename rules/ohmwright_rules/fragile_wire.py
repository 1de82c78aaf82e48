"""A conductor that is too thin to be pulled, bent and shaken, whatever current it carries."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Severity
from ohmwright.references import Reference
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.cable import Cable
from ohmwright_grammar.kinds.connector import Jumper
from ohmwright_grammar.quantities import Gauge
from ohmwright_grammar.records import record

from ohmwright_rules.conductors import cable_of, is_cord, said_of_missing

RULE = Rule(
    id="fragile-wire",
    title="Wire too thin to survive handling",
    family="conductors",
    subject="conductor",
    covers=("D9",),
    grades=(
        Grade("single", Severity.WARNING, "a single wire is thinner than 16 AWG"),
        Grade("sheathed", Severity.WARNING, "a conductor in a sheath is thinner than 18 AWG"),
        Grade("long-tail", Severity.WARNING, "a conductor thinner than 16 AWG runs more than 30 in outside its sheath"),
    ),
    references=(
        Reference("33 CFR 183.425", "as on a law mirror, undated", "(d) to (g)", "read"),
        Reference("ISO 10133", "2012, as a page quotes it", "7.7", "secondary"),
    ),
)
_ELECTRONIC = 1.0  # A: 33 CFR 183.425(g) leaves out electronic circuits below it
_OUTSIDE = "length of its cores outside the sheath"


@record
class _Least:
    """The thinnest that a basis lets a conductor be, alone and in a sheath, and how far it may leave the sheath [m]."""

    single: Gauge
    sheathed: Gauge
    outside: float
    short: float  # m: a single wire up to this length may be thinner
    reference: Reference


_CFR = _Least(Gauge.from_awg(16), Gauge.from_awg(18), 0.762, 0.0, RULE.references[0])
_ISO = _Least(Gauge.from_area(1.0), Gauge.from_area(0.75), 0.8, 0.2, RULE.references[1])


def check(study: Study) -> Iterator[Outcome]:
    """Hold the size of every conductor against what handling asks for."""
    least = _ISO if study.basis_name == "iec" else _CFR
    left: dict[str, int] = {}
    wires = (*study.circuit.wires(), *(branch for branch in study.circuit.ac_branches if branch.conductor is not None))
    told: set[tuple[str, str, str]] = set()
    for wire in sorted(wires, key=lambda branch: branch.name):
        conductor = wire.conductor
        assert conductor is not None
        reason = _left_out(study, wire, least)
        if reason:
            left[reason] = left.get(reason, 0) + 1
            continue
        outcome = _judge(study, wire, least)
        key = (wire.part, outcome.grade, type(outcome).__name__)
        if key not in told or wire.part == wire.name:  # the cores of one cable are told once
            told.add(key)
            yield outcome
    for condition in sorted(left):
        yield DoesNotApply(condition, left[condition])


def _left_out(study: Study, wire: Branch, least: _Least) -> str:
    conductor = wire.conductor
    if conductor is None or conductor.inside_device:
        return "inside a bought device or part of it"
    if isinstance(conductor, Jumper):
        return "a jumper inside a connector half"
    if not _is_thin(conductor.gauge, least.single):
        return ""
    if wire.name in study.circuit.by_name and any(state.solved or state.asks for state in study.states):
        most = max((case.current for case in study.currents_of(wire.name)), default=0.0)
        if most < _ELECTRONIC:
            return "thin, in a circuit below 1 A"
    return ""


def _is_thin(gauge: object, least: Gauge) -> bool:
    return isinstance(gauge, Gauge) and is_broken(float(gauge.area), float(least.area), "at-least")


def _judge(study: Study, wire: Branch, least: _Least) -> Finding | Passed | NotChecked:
    conductor = wire.conductor
    assert conductor is not None
    gauge = conductor.gauge
    cable = cable_of(study, wire)
    in_sheath = conductor.enclosed is True or (cable is not None and cable.sheathed is not False)
    grade, size = ("sheathed", least.sheathed) if in_sheath else ("single", least.single)
    subject = (wire.name,) if cable is None else (cable.name, wire.name)
    span = wire.span if cable is None else cable.span
    if not isinstance(gauge, Gauge):
        return NotChecked(grade, subject, "gauge", span, declare=said_of_missing("gauge"))
    measured, limit = Amount(float(gauge.area), "area"), Amount(float(size.area), "area")
    if is_broken(measured.value, limit.value, "at-least"):
        if not in_sheath and conductor.length is not None and float(conductor.length.high) <= least.short:
            return Passed(grade, subject, measured, limit, "at-least")
        where = "in a sheath" if in_sheath else "by itself"
        other = "" if in_sheath else f", or a cable with a sheath from {least.sheathed.text}"
        return Finding(
            grade,
            subject,
            f"{subject[0]}: {gauge.text} {where} breaks too easily when it is pulled, bent or shaken.",
            span,
            measured,
            limit,
            "at-least",
            remedy=f"Use {size.text} or larger{other}.",
            reference=least.reference,
        )
    if cable is not None and in_sheath and _is_thin(gauge, least.single):
        return _tail(study, wire, cable, least, subject)
    return Passed(grade, subject, measured, limit, "at-least")


def _tail(study: Study, wire: Branch, cable: Cable, least: _Least, subject: tuple[str, ...]) -> Finding | Passed | NotChecked:
    """Hold the length that a thin core runs outside of its sheath against what is borne; a cord's sheath runs into its plugs."""
    conductor = wire.conductor
    assert conductor is not None
    said, length = cable.length_outside_sheath, conductor.length
    if said is None:
        short = length is not None and not is_broken(float(length.high), least.outside, "at-most")
        if short or is_cord(conductor, cable):
            return Passed("long-tail", subject)
        return NotChecked("long-tail", subject, _OUTSIDE, cable.span, declare="60 mm outside the sheath")
    measured, limit = Amount(float(said.high), "length", said.unit), Amount(least.outside, "length", said.unit)
    if not is_broken(measured.value, limit.value, "at-most"):
        return Passed("long-tail", subject, measured, limit)
    here, allowed = shown_pair(measured, limit)
    assert isinstance(conductor.gauge, Gauge)
    return Finding(
        "long-tail",
        subject,
        f"{cable.name}: its cores of {conductor.gauge.text} run {here} outside the sheath; {allowed} is borne.",
        cable.span,
        measured,
        limit,
        remedy=f"Bring the sheath to within {shown(limit)} of the terminals, or use {least.single.text} or larger.",
        reference=least.reference,
    )
