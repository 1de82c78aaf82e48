"""Something that stays fed with every switch off, and that nobody says is always on."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.graph import Consumer
from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Step, common_practice
from ohmwright.rules import Grade, Rule
from ohmwright.states.implied import stored_setup
from ohmwright.study import SolvedState, Study
from ohmwright.values import Amount, shown
from ohmwright_grammar.kinds.charging import Charging
from ohmwright_grammar.kinds.controller import Controller
from ohmwright_grammar.kinds.inverter import Inverter
from ohmwright_grammar.kinds.load import Load
from ohmwright_grammar.kinds.part import Part

from ohmwright_rules.main_switches import switches_of
from ohmwright_rules.strings import joined, ways

RULE = Rule(
    id="fed-when-off",
    title="Off is not off",
    family="switching",
    subject="load, meter or inverter",
    covers=("H3",),
    grades=(Grade("stays-fed", Severity.WARNING, "it stays fed with every switch off, and is not said to be always on"),),
    references=(common_practice("what is tapped before the switch empties the battery"),),
)
_GRADE = "stays-fed"


def check(study: Study) -> Iterator[Outcome]:
    """Look for consumers that a battery feeds with every switch open."""
    if not switches_of(study):
        yield DoesNotApply("no switch, so that nothing is ever off")
        return
    state = _off(study)
    group = joined(study, state.open_gates)
    parts: dict[str, list[Consumer]] = {}
    for consumer in study.circuit.consumers:
        parts.setdefault(consumer.part.name, []).append(consumer)
    charging = by_output = 0
    for name in sorted(parts):
        fed = [item for item in parts[name] if ways(study, "battery", group, item.minus, item.plus)]
        part = parts[name][0].part
        if not fed:
            yield Passed(_GRADE, (name,))
        elif isinstance(part, Charging) and not isinstance(part, Inverter):
            charging += 1
        elif _on_load_output(study, state, fed):
            by_output += 1
        else:
            yield _judge(study, part, fed, state)
    if charging:
        yield DoesNotApply("a charger or controller, which stays on the battery to charge it", charging)
    if by_output:
        yield DoesNotApply("on the load output of a controller, which switches it", by_output)


def _off(study: Study) -> SolvedState:
    """Return the state in which every switch is open and everything else as it stands."""
    implied = next((state for state in study.states if state.setup.origin == "implied" and state.name == "stored"), None)
    return implied if implied is not None else study.solve_setup(stored_setup(study.build, study.anatomy))


def _on_load_output(study: Study, state: SolvedState, fed: list[Consumer]) -> bool:
    """Tell whether the battery reaches consumers only through the load output of a controller."""
    outputs = {f"{part.name} load output" for part in study.of(Controller)}
    outputs &= set(study.circuit.by_name)
    if not outputs:
        return False
    pluses = [source.plus for source in study.circuit.sources if source.kind == "battery"]
    near = study.circuit.reach(pluses, lambda branch: branch.name not in outputs, state.open_gates)
    return not any(item.plus in near for item in fed)


def _judge(study: Study, part: Part, fed: list[Consumer], state: SolvedState) -> Outcome:
    subject = (part.name,)
    current, words = _current(part, fed, state)
    if part.always_on:
        if current is None:
            return Missing("own drain, or what it takes, while everything is off", part.span, "own drain 5 mA").outcome(
                _GRADE, subject
            )
        return Passed(_GRADE, subject, Amount(current, "current"))
    measured = Amount(current, "current") if current is not None else None
    takes = f" and takes {shown(measured)} ({words})" if measured is not None else ""
    source = next(
        (item.name for item in study.circuit.sources if item.kind == "battery" and item.plus in _near(study, fed[0], state)), ""
    )
    return Finding(
        _GRADE,
        subject,
        f"{part.name}: with every switch off it stays fed{f' by {source}' if source else ''}{takes}; nothing says that it is always on.",
        part.span,
        measured,
        state=state.name,
        working=(Step("I", words, current, "A", "as declared"),) if current is not None else (),
        remedy="Feed it from behind the switch, or say that it is meant so: always on",
        related=(Related(f"{source}: what feeds it", study.span(source)),) if source else (),
    )


def _near(study: Study, consumer: Consumer, state: SolvedState) -> set[str]:
    return study.circuit.reach(consumer.plus, open_gates=state.open_gates)


def _current(part: Part, fed: list[Consumer], state: SolvedState) -> tuple[float | None, str]:
    """Return what a part takes while everything is off [A], and what that is; None where it is not said."""
    total = sum(abs(state.current(f"{item.name} {item.kind}")) for item in fed if item.kind in ("drain", "coil"))
    if total > 0:
        return total, "own drain"
    if part.own_drain is not None:
        return float(part.own_drain.high), "own drain"
    volt = max((abs(state.across(item.plus, item.minus) or 0.0) for item in fed), default=0.0)
    if part.own_drain_power is not None and volt > 0:
        return float(part.own_drain_power.high) / volt, "own drain"
    if isinstance(part, Load):
        if part.current is not None:
            return float(part.current.high), "while it runs"
        if part.power is not None and volt > 0:
            return float(part.power.high) / volt, "while it runs"
    if isinstance(part, Inverter) and part.no_load_draw is not None and volt > 0:
        return float(part.no_load_draw.high) / volt, "with no load, while it is on"
    solved = max((abs(state.current(f"{part.name}.in")) for item in fed if item.kind == "converter"), default=0.0)
    return (solved, "with no load") if solved > 0 else (None, "")
