"""A controller or charger that takes the drop of its own leads for the battery's voltage."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from functools import partial

from ohmwright.circuit.graph import Branch
from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Step, common_practice
from ohmwright.rules import Case, Grade, Rule
from ohmwright.study import SolvedState, Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.charging import Charging
from ohmwright_grammar.kinds.controller import Controller
from ohmwright_grammar.kinds.inverter import Inverter
from ohmwright_grammar.records import record, replace

from ohmwright_rules.charging import NO_BATTERY, Charged, charged
from ohmwright_rules.conductors import basis_of, named_basis
from ohmwright_rules.cut_offs import blocks_of_twelve
from ohmwright_rules.verdicts import Verdict, verdict
from ohmwright_rules.warm_copper import Part, WarmState, warm_state

RULE = Rule(
    id="charge-lead-drop",
    title="Controller sees the drop of its own leads",
    family="controllers",
    subject="controller or charger",
    covers=("B12",),
    grades=(
        Grade(
            "undercharges",
            Severity.WARNING,
            "its leads lose more than 0.15 V (for each 12 V) and nothing senses at the battery",
        ),
    ),
    references=(common_practice("0.15 V for each 12 V between a controller and its battery, or sense wires"),),
)
_GRADE = "undercharges"
_ALLOWED = 0.15  # V for each 12 V: catalogue, B12
_STEPS = 6
_IDLE = "it charges in no solved state"
_SIZES = "us-small-craft"  # whose list of sizes a remedy takes where no basis is declared


@record
class _Charging:
    """How something charges in a state: its output current [A], the posts that it charges, and what its leads lose [V]."""

    warm: WarmState
    current: float
    plus: str
    minus: str
    volt: float
    lost: float


def check(study: Study) -> Iterator[Outcome]:
    """Hold what is lost between everything that charges and its battery's posts against what its voltages bear."""
    left: Counter[str] = Counter()
    for item in charged(study):
        if not item.strings:
            left[NO_BATTERY] += 1
            continue
        runs = [run for state in study.telling_states if (run := _run(study, item, state)) is not None]
        if runs:
            yield _judge(study, item, runs)
        else:
            left[_IDLE] += 1
    for condition, count in sorted(left.items()):
        yield DoesNotApply(condition, count)


def _run(study: Study, item: Charged, state: SolvedState) -> _Charging | None:
    """Return how something charges in a state; None where it gives no current there."""
    if not state.solved or state.setup.is_surge:
        return None
    name = item.part.name
    takes = isinstance(item.part, Inverter) and name not in state.setup.on_mains  # what its own name carries then
    own = 0.0 if takes else state.current(name)
    current = max(own, state.current(f"{name}.out"))
    if current <= 0.0:
        return None
    warm = warm_state(study, state)
    plus, minus = warm.root.get(item.plus), warm.root.get(item.minus)
    batteries = study.anatomy.batteries
    if plus is None or minus is None or any(study.build.nodes.get(node) not in batteries for node in (plus, minus)):
        return None
    volt, posts = state.across(item.plus, item.minus), state.across(plus, minus)
    return (
        _Charging(warm, current, plus, minus, volt, max(0.0, volt - posts)) if volt is not None and posts is not None else None
    )


def _judge(study: Study, item: Charged, runs: list[_Charging]) -> Outcome:
    part = item.part
    subject = (part.name,)
    if _senses(study, item):
        return Passed(_GRADE, subject)
    blocks = blocks_of_twelve(study, item.strings[0].names)
    if isinstance(blocks, Missing):
        return blocks.outcome(_GRADE, subject)
    limit = Amount(_ALLOWED * blocks, "voltage")
    found = verdict(
        study, [Case(run.warm.state.name, Amount(run.lost, "voltage"), limit, run) for run in runs], "at-most", "fails"
    )
    worst = found.worst
    if found.broken:
        return _finding(study, item, found, blocks)
    unknown = next((wire for run in runs if (wire := run.warm.unknown_on_way(item.plus, item.minus)) is not None), None)
    if unknown is not None and unknown.conductor is not None:
        what, words = ("gauge", "12 AWG") if unknown.conductor.gauge is None else ("length", "1 m")
        return Missing(f"{what} of {unknown.name}", unknown.span, words).outcome(_GRADE, subject)
    return Passed(_GRADE, subject, worst.measured, limit, state=worst.state)


def _senses(study: Study, item: Charged) -> bool:
    """Tell whether sense leads of a controller reach the battery by ways of their own."""
    name = item.part.name
    if not isinstance(item.part, Controller):
        return False
    for pole, out in (("plus", item.plus), ("minus", item.minus)):
        sense = f"{name}.sense_{pole}"
        if sense not in study.circuit.nodes_of(name):
            return False
        near = study.circuit.reach(sense, partial(_is_apart, out))
        if not any(f"{battery}.{pole}" in near for battery in study.anatomy.batteries):
            return False
    return True


def _is_apart(node: str, branch: Branch) -> bool:
    return node not in (branch.start, branch.end)


def _finding(study: Study, item: Charged, found: Verdict, blocks: int) -> Finding:
    from ohmwright_rules.drop_remedies import thicker_or_shorter

    part, worst = item.part, found.worst
    run = worst.note
    assert isinstance(run, _Charging)
    assert worst.limit is not None
    lost, allowed = shown_pair(worst.measured, worst.limit)
    current = shown(Amount(run.current, "current"))
    parts = _parts(run, item)
    steps = [line.step() for line in parts[:_STEPS]]
    if len(parts) > _STEPS:
        steps.append(
            Step(
                "U_rest",
                f"{len(parts) - _STEPS} more on the way",
                sum(line.volt for line in parts[_STEPS:]),
                "V",
                "solved circuit",
            )
        )
    steps.append(Step("U", "sum on the way out and back", run.lost, "V", "solved circuit"))
    steps.append(Step("U_allowed", f"{_ALLOWED:g} x {blocks}", worst.limit.value, "V", "common practice, no source"))
    basis = basis_of(study) or named_basis(_SIZES)
    mend = thicker_or_shorter(basis, parts, run.lost, worst.limit.value)
    sense = " Or wire its sense terminals to the battery's posts." if isinstance(part, Controller) else ""
    return Finding(
        _GRADE,
        (part.name,),
        f"{part.name}: at {current} its leads lose {lost} on the way to the battery, {allowed} is allowed; it takes that for the battery's voltage."
        f"{_arrives(part, run)}",
        part.span,
        worst.measured,
        worst.limit,
        state=worst.state,
        states=found.broken,
        working=tuple(steps),
        remedy=f"{mend}{sense}",
        related=tuple(Related(f"{shown(Amount(line.volt, 'voltage'))} of it is lost here", line.branch.span) for line in parts[:3]),
        at_most=found.at_most,
    )  # fmt: skip


def _parts(run: _Charging, item: Charged) -> list[Part]:
    """Return what lies on the way, the largest loss first, with copper at the temperature of its zone."""
    found = [
        replace(line, ohm=line.branch.ohm * (1.0 + line.branch.alpha * (line.air - 20.0)), loaded=line.air)
        if line.branch.conductor is not None
        else line
        for line in run.warm.parts(item.plus, item.minus)
    ]
    return sorted(found, key=lambda line: (-line.volt, line.branch.name))


def _arrives(part: Charging, run: _Charging) -> str:
    if part.absorption_voltage is None:
        return ""
    volt = float(part.absorption_voltage.nominal)
    unit = part.absorption_voltage.unit
    return f" Set to {shown(Amount(volt, 'voltage', unit))}, it leaves absorption at {_digits(volt - run.lost)} {unit} of the battery."


def _digits(volt: float) -> str:
    return f"{volt:.4g}"
