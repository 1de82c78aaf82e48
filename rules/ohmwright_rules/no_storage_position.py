"""A build that no single action brings to rest: its drains stay on in storage."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.states.implied import resting_setup
from ohmwright.states.reaching import Lever, departures_of, levers_of
from ohmwright.study import SolvedState, Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.procedure import Procedure
from ohmwright_grammar.kinds.switch import Relay, Switching
from ohmwright_grammar.records import record, replace

from ohmwright_rules.drains import Bank, Drain, banks_in, summed_beyond
from ohmwright_rules.storing import Stored, stored

RULE = Rule(
    id="no-storage-position",
    title="No single action takes the drains off",
    family="storage",
    subject="battery",
    covers=("K5",),
    grades=(Grade("stays-on", Severity.NOTE, "no one switch or plug within reach brings what is drained down to 1 mA"),),
    references=(Reference("a sailor's lay-up report", "", "a true off for storage", "secondary"),),
)
_GRADE = "stays-on"
_LEAST = 0.001  # A: catalogue, K5; readings.md: the drain of a management system counts above it only
_NOTHING = "nothing done"
_MOST = 16  # levers that are tried


@record
class _Rest:
    """What stays on of a bank after an action [A], what of it is not known, and the action in words."""

    total: float
    drains: tuple[Drain, ...]
    missing: tuple[Missing, ...]
    words: str
    unsaid: Missing | None = None


def check(study: Study) -> Iterator[Outcome]:
    """Look for one action that brings every bank down to a milliampere."""
    if not study.anatomy.batteries:
        yield DoesNotApply("there is no battery")
        return
    resting = _resting(study)
    for bank in banks_in(study, resting):
        yield _judge(study, bank, resting)


def _resting(study: Study) -> SolvedState:
    """Return the state in which everything is closed and mated and nothing runs; inverters are switched off unless they are always on."""
    setup = resting_setup(study.build, study.anatomy)
    left_on = {name: level for name, level in setup.inverters.items() if name in study.anatomy.always_on}
    return study.solve_setup(replace(setup, inverters=left_on))


def _judge(study: Study, bank: Bank, resting: SolvedState) -> Outcome:
    limit = Amount(_LEAST, "current", "mA")
    best: _Rest | None = None
    silent: _Rest | None = None
    for rest in _after_actions(study, bank, resting):
        if not is_broken(rest.total, _LEAST, "at-most"):
            if rest.unsaid is None and not rest.missing:
                return Passed(_GRADE, bank.names, Amount(rest.total, "current", "mA"), limit)
            silent = silent or rest
        elif best is None or rest.total < best.total:
            best = rest
    if silent is not None:
        missing = silent.missing[0] if silent.missing else silent.unsaid
        assert missing is not None
        return missing.outcome(_GRADE, bank.names)
    assert best is not None
    return _finding(study, bank, best, limit)


def _after_actions(study: Study, bank: Bank, resting: SolvedState) -> Iterator[_Rest]:
    """Yield what stays on: with nothing done, as the builder says that it is stored, with each lever moved that lies on the way to the largest drain."""
    whole = _rest(study, bank, resting, _NOTHING)
    yield whole
    if not whole.missing and not is_broken(whole.total, _LEAST, "at-most"):
        return
    plan = next(study.of(Procedure), None)
    state = stored(study)
    if state.state.setup.origin == "declared" or (plan is not None and plan.storage_action):
        yield _rest(study, bank, state.state, _as_stored(state))
    for lever in _levers(study, bank, resting, whole):
        unsaid = _reach_unsaid(study, lever)
        if unsaid is False:
            continue
        for departure in departures_of(lever, resting.setup):
            gates = (resting.setup.open_gates | departure.opens) - departure.closes
            setup = replace(resting.setup, name=f"{resting.name}, {departure.words}", open_gates=gates)
            after = _rest(study, bank, study.solve_setup(setup, resting), f"with {departure.words}")
            yield replace(after, unsaid=unsaid if isinstance(unsaid, Missing) else None)


def _as_stored(state: Stored) -> str:
    implied = state.state.setup.origin == "implied"
    return "with every switch open" if implied else f"when it is stored as in state {state.name!r}"


def _rest(study: Study, bank: Bank, state: SolvedState, words: str) -> _Rest:
    """Return what stays on of a bank in a state; management systems that take no more than a milliampere are left out."""
    ours = [other for other in banks_in(study, state) if set(other.names) & set(bank.names)]
    own = _own(bank)
    drains = [
        drain
        for other in ours
        for drain in other.drains
        if drain.name not in own or is_broken(drain.current, _LEAST, "at-most")
    ]
    missing = tuple(item for other in ours for item in other.missing)
    return _Rest(sum(drain.current for drain in drains), tuple(drains), missing, words)


def _levers(study: Study, bank: Bank, resting: SolvedState, whole: _Rest) -> list[Lever]:
    """Return what hands can move: the main switch, then what lies on the way to the largest drain, or to a coil that holds that way closed."""
    circuit = study.circuit
    largest = max(whole.drains, key=lambda drain: drain.current, default=None)
    gates: set[str] = set()
    queue = [(one.plus, one.minus) for one in circuit.consumers if largest is not None and one.part.name == largest.name]
    seen = set(queue)
    for poles in queue:
        for node, pole in zip(poles, ("plus", "minus"), strict=True):
            posts = {f"{name}.{pole}" for name in bank.names}
            for branch in circuit.path(node, posts, open_gates=resting.open_gates) or ():
                gates.add(branch.gate)
                coil = (f"{branch.part}.coil_plus", f"{branch.part}.coil_minus")
                if isinstance(study.part(branch.part), Relay) and coil not in seen:
                    seen.add(coil)
                    queue.append(coil)
    found = [
        lever
        for lever in levers_of(study.build, circuit, study.anatomy)
        if lever.by_hand and (_is_main(study, lever) or not gates.isdisjoint(lever.gates))
    ]
    found.sort(key=lambda lever: (not _is_main(study, lever), lever.name))
    return found[:_MOST]


def _is_main(study: Study, lever: Lever) -> bool:
    part = study.part(lever.name)
    return isinstance(part, Switching) and part.is_main is True


def _reach_unsaid(study: Study, lever: Lever) -> Missing | bool | None:
    """Tell whether a lever is out of reach (False); what is missing where nobody says it; None where it is within reach, or a plug."""
    part = study.part(lever.name)
    if not isinstance(part, Switching) or part.within_reach:
        return None
    if part.within_reach is None:
        return Missing(f"whether {part.name} is within reach with the lid shut", part.span, "within reach")
    return False


def _finding(study: Study, bank: Bank, best: _Rest, limit: Amount) -> Finding:
    measured = Amount(best.total, "current", "mA")
    takes, allowed = shown_pair(measured, limit)
    drains = summed_beyond([(drain.name, drain.current) for drain in best.drains])
    after = (
        f"The least stays on {best.words}"
        if best.words != _NOTHING
        else "No switch or plug within reach takes off what drains it"
    )
    return Finding(
        _GRADE,
        bank.names,
        f"{bank.words}: there is no one position for storage. {after}: {takes} ({drains}); {allowed} is a true off.",
        bank.batteries[0].span,
        measured,
        limit,
        working=(
            *(Step(f"I_{number}", f"{drain.name}: {drain.what}", drain.current, "A", "as declared") for number, drain in enumerate(best.drains, start=1)),
            Step("I", best.words, best.total, "A", "sum; a BMS counts above 1 mA only"),
        ),
        remedy=_remedy(bank, best),
        related=tuple(Related(f"{drain.name} takes {shown(Amount(drain.current, 'current', 'mA'))}", drain.span) for drain in best.drains),
    )  # fmt: skip


def _own(bank: Bank) -> set[str]:
    """Return the names under which the drains of a bank's management systems are told."""
    return {f"BMS of {name}" for name in bank.names} | set(bank.names)


def _remedy(bank: Bank, best: _Rest) -> str:
    """Say what to put behind a switch; a management system is no such thing."""
    inner = [drain for drain in best.drains if drain.name in _own(bank)]
    if len(inner) == len(best.drains):
        return "No switch takes that off: use a battery whose management system takes 1 mA or less, or can be switched off, or top it up in storage."
    everything = "all of them" if not inner else "everything but its management system"
    return f"Put one switch within reach between {bank.words} and {everything}, or join them behind the one that is there."
