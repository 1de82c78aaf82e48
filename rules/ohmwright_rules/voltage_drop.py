"""Too much voltage is lost between the bank and what it supplies."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.references import Reference, Step
from ohmwright.rules import Case, Grade, Rule
from ohmwright.study import Study
from ohmwright.values import Amount, shown
from ohmwright_grammar.kinds.array import Array
from ohmwright_grammar.kinds.conductor import Conductor
from ohmwright_grammar.kinds.inverter import Converter

from ohmwright_rules.basis import Basis
from ohmwright_rules.conductors import air_steps, basis_of, said_of_missing
from ohmwright_rules.drops import Run, Supplied, run_of, supplied_things
from ohmwright_rules.verdicts import Verdict, verdict
from ohmwright_rules.warm_copper import warm_state

RULE = Rule(
    id="voltage-drop",
    title="Too much voltage lost on the way",
    family="voltages",
    subject="load",
    covers=("D6",),
    grades=(
        Grade("over-class", Severity.WARNING, "the drop is larger than the share that the basis allows for the use"),
        Grade("below-minimum", Severity.ERROR, "the drop is larger than that, and the load falls below its minimum voltage"),
    ),
    references=(
        Reference("ABYC E-11", "as a page quotes it", "3 % vital, 10 % other", "secondary"),
        Reference("NFPA 70 (NEC)", "2023", "210.19 and 215.2, notes", "secondary"),
        Reference("IEC 60364-5-52", "2009", "Table G.52.1", "secondary"),
    ),
)
_SYSTEM = "nominal system voltage"
_WINDOW = "voltage window"
_STEPS = 8  # so many conductors are written out in a working


def check(study: Study) -> Iterator[Outcome]:
    """Hold the drop between the posts of the bank and every load, inverter, converter and charger against the share allowed."""
    basis = basis_of(study)
    idle = 0
    if basis is None:
        for consumer in study.circuit.consumers:
            if consumer.kind in ("load", "inverter"):
                name = consumer.part.name
                yield NotChecked("over-class", (name,), "basis", consumer.part.span, declare=said_of_missing("basis"))
        return
    states = [(state, warm_state(study, state)) for state in study.telling_states if state.solved and not state.setup.is_surge]
    for thing in supplied_things(study, basis):
        runs = [run for state, warm in states if (run := run_of(study, thing, state, warm)) is not None]
        if runs:
            yield from _judge(study, basis, thing, runs)
        else:
            idle += 1
    mains = sum(1 for load in study.anatomy.loads if "L" in study.build.parts[load].TERMINALS)
    if mains:
        yield DoesNotApply("on mains or an inverter's output", mains)
    if idle:
        yield DoesNotApply("no current passes its leads in any steady state, or it sits on the posts themselves", idle)


def _judge(study: Study, basis: Basis, thing: Supplied, runs: list[Run]) -> Iterator[Outcome]:
    part = thing.part
    subject = (part.name,)
    cases: list[Case] = []
    allowed = Amount(thing.share.value, "share")
    for run in runs:
        nominal = _nominal(study, thing, run)
        if nominal is None:
            missing = "voltage at maximum power" if isinstance(part, Array) else _SYSTEM
            yield NotChecked("over-class", subject, missing, part.span, run.state.name, said_of_missing(missing))
            return
        share = Amount(max(0.0, run.lost) / nominal, "share")
        cases.append(Case(run.state.name, share, allowed, (run, nominal)))
    found = verdict(study, cases, "at-most", "fails")
    worst = found.worst
    if not found.broken:
        unknown = next(
            ((run, wire) for run in runs if (wire := run.warm.unknown_on_way(run.plus, run.minus)) is not None), None
        )
        if unknown is not None:
            run, wire = unknown
            assert wire.conductor is not None
            missing = "gauge" if wire.conductor.gauge is None else "length"
            named = f"{missing} of {wire.name}"
            yield NotChecked("over-class", subject, named, wire.span, run.state.name, said_of_missing(missing))
            return
        yield Passed("over-class", subject, worst.measured, worst.limit, state=worst.state)
        return
    yield from _starved(study, thing, subject, found)
    if not _is_starved(thing, found):
        run, nominal = _told(worst)
        yield _finding(study, basis, thing, found, "over-class", _words(thing, run, nominal, worst))


def _told(case: Case) -> tuple[Run, float]:
    told = case.note
    assert isinstance(told, tuple)
    run, nominal = told
    assert isinstance(run, Run) and isinstance(nominal, float)
    return run, nominal


def _nominal(study: Study, thing: Supplied, run: Run) -> float | None:
    """Return the voltage [V] that the drop is a share of: an array's Vmp, a converter's output, else the system's nominal voltage."""
    if isinstance(thing.part, Array):
        return thing.nominal
    supply = study.part(run.supply)
    if isinstance(supply, Converter) and supply.output_voltage is not None:
        return float(supply.output_voltage.nominal)
    return study.system_voltage


def _is_starved(thing: Supplied, found: Verdict) -> bool:
    run, _ = _told(found.worst)
    return thing.least is not None and not thing.sends and run.volt < thing.least * (1 - 1e-9)


def _starved(study: Study, thing: Supplied, subject: tuple[str, ...], found: Verdict) -> Iterator[Outcome]:
    """Tell of the error: only where the drop is too large already does it matter whether the load still works."""
    if thing.sends:
        return
    worst = found.worst
    if thing.least is None:
        declare = said_of_missing(_WINDOW)
        yield NotChecked("below-minimum", subject, _WINDOW, thing.part.span, worst.state, declare)
        return
    run, nominal = _told(worst)
    measured, limit = Amount(run.volt, "voltage"), Amount(thing.least, "voltage")
    if not _is_starved(thing, found):
        yield Passed("below-minimum", subject, measured, limit, "at-least", worst.state)
        return
    basis = basis_of(study)
    assert basis is not None
    words = f"{_words(thing, run, nominal, worst)} That leaves {shown(measured)}; it needs {shown(limit)}."
    yield _finding(study, basis, thing, found, "below-minimum", words)


def _words(thing: Supplied, run: Run, nominal: float, worst: Case) -> str:
    name = thing.part.name
    between = f"{name} and {run.supply}" if thing.sends else f"{run.supply} and {name}"
    lost = shown(Amount(run.lost, "voltage"))
    allowed = shown(Amount(thing.share.value * nominal, "voltage"))
    return (
        f"{name}: {lost}, {shown(worst.measured)} of {shown(Amount(nominal, 'voltage'))}, is lost between {between} in state "
        f"{worst.state!r}; {shown(worst.limit)}, {allowed}, is allowed."
    )


def _finding(study: Study, basis: Basis, thing: Supplied, found: Verdict, grade: str, words: str) -> Finding:
    from ohmwright_rules.drop_remedies import thicker_or_shorter

    worst = found.worst
    run, nominal = _told(worst)
    parts = run.warm.parts(run.plus, run.minus, but=(run.from_plus, run.from_minus))
    zones = dict.fromkeys(part.branch.zone for part in parts[:_STEPS] if part.branch.alpha)
    steps = [step for zone in zones for step in air_steps(study, zone, run.state)]
    steps.extend(part.step() for part in parts[:_STEPS])
    if len(parts) > _STEPS:
        rest = sum(part.volt for part in parts[_STEPS:])
        steps.append(Step("U_rest", f"{len(parts) - _STEPS} more on the way", rest, "V", "solved circuit"))
    steps.append(Step("U", "sum on the way out and back", run.lost, "V", "solved circuit"))
    steps.append(Step("u", f"{run.lost:.4g} V / {nominal:.4g} V", run.lost / nominal, "1", "drop over the nominal voltage"))
    related = tuple(
        Related(f"{shown(Amount(part.volt, 'voltage'))} of it is lost here", part.branch.span)
        for part in parts[:3]
        if isinstance(part.branch.conductor, Conductor)
    )
    return Finding(
        grade,
        (thing.part.name,),
        words,
        thing.part.span,
        worst.measured,
        worst.limit,
        state=worst.state,
        states=found.broken,
        working=tuple(steps),
        remedy=thicker_or_shorter(basis, parts, run.lost, thing.share.value * nominal),
        related=related,
        reference=thing.share.reference,
        at_most=found.at_most,
    )
