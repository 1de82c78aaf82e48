"""A state without an operating point: the loads ask for more than the circuit can carry."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity, StateMeasure
from ohmwright.references import Reference, Step
from ohmwright.rules import Grade, Rule
from ohmwright.solver.operation import Fold
from ohmwright.study import SolvedState, Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.load import Load

from ohmwright_rules.conductors import said_of_missing
from ohmwright_rules.returning import current_taken
from ohmwright_rules.surges import is_own_surge
from ohmwright_rules.warm_copper import warm_state
from ohmwright_rules.wording import named

_STEADY, _SURGE = "collapse", "surge-collapse"
_WHOLE = Amount(1.0, "share")  # all that the loads of a state ask for
_LIMITED = frozenset({"array", "controller", "charger"})  # sources that give a current of their own at most
_MOST_FOLLOWED = 16  # states behind one failure whose load is followed up: it takes its time

RULE = Rule(
    id="voltage-collapse",
    title="The circuit cannot carry the load",
    family="voltages",
    subject="load",
    covers=("I1",),
    grades=(
        Grade(_STEADY, Severity.ERROR, "in a state no operating point is left that goes back to zero load"),
        Grade(_SURGE, Severity.WARNING, "in a short surge of loads that are not promised no operating point is left"),
    ),
    references=(Reference("law of the largest power through a resistance", "", "U^2 / (4 R)", "computed"),),
)


def check(study: Study) -> Iterator[Outcome]:
    """Follow the load of every state that could not be solved up from zero, and tell where it collapses."""
    found: dict[tuple[str, str], list[tuple[SolvedState, Fold]]] = {}
    behind: list[SolvedState] = []
    bare: dict[str, list[tuple[SolvedState, Fold]]] = {}
    left = 0
    for state in study.telling_states:
        if not state.point.operation.collapse:
            continue
        if state.setup.is_surge and any(is_own_surge(study, state.setup, name) for name in state.setup.inverters):
            left += 1
        elif state.setup.after_failure:
            behind.append(state)
        else:
            fold = study.fold(state)
            if state.setup.origin == "reached" and _without_battery(study, state, fold):
                bare.setdefault(_thing(study, fold), []).append((state, fold))
                continue
            grade = _SURGE if state.setup.is_surge and not _promised(study, state) else _STEADY
            found.setdefault((_thing(study, fold), grade), []).append((state, fold))
    for (subject, grade), states in sorted(found.items()):
        others = bare.pop(subject, [])
        if grade == _STEADY:
            yield _finding(study, subject, grade, states, [*found.get((subject, _SURGE), []), *others])
        elif (subject, _STEADY) not in found:
            yield _finding(study, subject, grade, states, others)
    subjects = {subject for subject, _ in found} | set(bare)
    for subject, states in sorted(bare.items()):
        yield _stops(study, subject, states)
    yield from _failures(study, behind, found)
    if left:
        yield DoesNotApply("a surge of an inverter, which surge-cut-off judges", left)
    yield from _carried(study, subjects)


def _failures(
    study: Study, states: list[SolvedState], found: dict[tuple[str, str], list[tuple[SolvedState, Fold]]]
) -> Iterator[Outcome]:
    """Tell of collapses behind failures, once for each thing whose failure alone is enough, as notes.

    What collapses in such a state without any failure (`found`) is told already, and no failure is to blame.
    """
    told = {(subject, state.setup.is_surge) for (subject, _), items in found.items() for state, _ in items}
    groups: dict[str, list[SolvedState]] = {}
    for state in sorted(states, key=lambda state: state.setup.after_failure):
        failed = sorted(state.setup.blown | state.setup.bms_open | state.setup.failed | state.setup.dead_cell)
        cause = next((name for name in failed if name in groups), failed[0])
        groups.setdefault(cause, []).append(state)
    for cause, members in sorted(groups.items()):
        folds = [(state, study.fold(state)) for state in members[:_MOST_FOLLOWED]]
        folds = [(state, fold) for state, fold in folds if (_thing(study, fold), state.setup.is_surge) not in told]
        if not folds:
            continue
        first, fold = folds[0]
        carried = Amount(fold.share, "share")
        part = study.part(cause)
        yield Finding(
            _STEADY,
            (cause,),
            f"{cause}: once it has failed, the circuit carries only {_share(fold)} of what its loads ask for in state {first.name!r}; "
            f"with more the voltage at {_thing(study, fold)} falls away.",
            part.span if part is not None else study.build.rig.span,
            carried,
            _WHOLE,
            "at-least",
            state=first.name,
            states=tuple(_measure(state, its) for state, its in folds),
            working=(_followed(fold),),
            remedy="Let loads that ask for more than what is left switch themselves off, or accept that they stop in that case.",
            at_most=Severity.NOTE,
        )


def _without_battery(study: Study, state: SolvedState, fold: Fold) -> bool:
    """Tell whether what falls away hangs on sources that limit their own current, with every battery taken off it."""
    names = {name.removesuffix(" drain").removesuffix(" input") for name in fold.elements[:1]}
    consumer = next((item for item in study.circuit.consumers if item.part.name in names), None)
    if consumer is None:
        return False
    plus = study.circuit.reach(consumer.plus, open_gates=state.open_gates)
    minus = study.circuit.reach(consumer.minus, open_gates=state.open_gates)
    out = state.setup.failed | state.setup.bms_open | state.setup.off
    # Of a string of batteries its upper end is enough: its lower end is another one's.
    feeding = [
        item
        for item in study.circuit.sources
        if item.plus in plus and item.name not in out and (item.kind == "battery" or item.minus in minus)
    ]
    return bool(feeding) and all(item.kind in _LIMITED for item in feeding)


def _stops(study: Study, subject: str, states: list[tuple[SolvedState, Fold]]) -> Finding:
    """Tell of a thing that stops where a hand has taken the battery off and a limited source alone goes on feeding it."""
    state, fold = min(states, key=lambda item: item[1].share)
    part = study.part(subject)
    return Finding(
        _STEADY,
        (subject,),
        f"{subject}: in state {state.name!r} no battery feeds it any more, and what else does carries only {_share(fold)} of what is asked "
        "for there, so that it stops.",
        part.span if part is not None else study.build.rig.span,
        Amount(fold.share, "share"),
        _WHOLE,
        "at-least",
        state=state.name,
        states=tuple(_measure(item, its) for item, its in states),
        working=(_followed(fold),),
        remedy="Take the panels or the charger off together with the battery, or accept that it stops there.",
        at_most=Severity.NOTE,
    )


def _measure(state: SolvedState, fold: Fold) -> StateMeasure:
    return StateMeasure(state.name, Amount(fold.share, "share"), _WHOLE, fold.share - 1.0)


def _followed(fold: Fold) -> Step:
    return Step("share", "all constant power followed up from zero to the fold", fold.share, "1", "solved circuit")


def _share(fold: Fold) -> str:
    """Return the share of its loads that a circuit carries, never rounded up to all of it."""
    return shown_pair(Amount(fold.share, "share"), _WHOLE)[0]


def _promised(study: Study, state: SolvedState) -> bool:
    from ohmwright_rules.promised_loads import is_promised

    return any(isinstance(load := study.part(name), Load) and is_promised(study, load) for name in state.setup.running)


def _thing(study: Study, fold: Fold) -> str:
    """Return the consumer whose voltage falls away first, the rig's title where none is named."""
    for name in fold.elements:
        known = name.removesuffix(" drain").removesuffix(" input")
        if study.part(known) is not None:
            return known
    return study.build.rig.name


def _carried(study: Study, collapsed: set[str]) -> Iterator[Outcome]:
    """Tell which consumers of constant power are carried in every state in which they run."""
    states = [state for state in study.telling_states if state.solved]
    idle = 0
    for consumer in study.circuit.consumers:
        part = consumer.part
        if part.name in collapsed or not (consumer.kind == "inverter" or (isinstance(part, Load) and part.power is not None)):
            continue
        running = next((state for state in states if current_taken(state, consumer) > 0.0), None)
        if running is None:
            idle += 1
            continue
        wire = warm_state(study, running).unknown_on_way(consumer.plus, consumer.minus)
        if wire is None:
            yield Passed(_STEADY, (part.name,))
            continue
        assert wire.conductor is not None
        missing = "gauge" if wire.conductor.gauge is None else "length"
        yield NotChecked(_STEADY, (part.name,), f"{missing} of {wire.name}", part.span, running.name, said_of_missing(missing))
    if idle:
        yield DoesNotApply("runs in no solved state", idle)


def _finding(
    study: Study, subject: str, grade: str, states: list[tuple[SolvedState, Fold]], surges: list[tuple[SolvedState, Fold]]
) -> Finding:
    """Tell of the worst state of a grade; `surges` are those in which the same thing collapses for a moment as well."""
    state, fold = min(states, key=lambda item: item[1].share)
    part = study.part(subject)
    span = part.span if part is not None else study.build.rig.span
    others = [name for name in fold.elements[1:3] if study.part(name) is not None]
    volts = f" ({shown(Amount(fold.volts[0], 'voltage'))} is left at it there)" if fold.volts else ""
    return Finding(
        grade,
        (subject,),
        f"{subject}: in state {state.name!r} the circuit carries only {_share(fold)} of what its loads ask for; with more the voltage at "
        f"{named((subject, *others))} falls away{volts}.",
        span,
        Amount(fold.share, "share"),
        _WHOLE,
        "at-least",
        state=state.name,
        states=tuple(_measure(item, its) for item, its in (*states, *surges)),
        working=(
            _followed(fold),
            *(
                Step("U", f"at {name} there", volt, "V", "solved circuit")
                for name, volt in zip(fold.elements[:3], fold.volts, strict=False)
            ),
        ),
        remedy=(
            f"Keep the load of this state well below {_share(fold)} of what it is, or lower the resistance of wires, "
            "contacts and battery: half the resistance carries twice the load."
        ),
        related=tuple(
            Related("its voltage falls away too", thing.span) for name in others if (thing := study.part(name)) is not None
        ),
    )
