"""A relay or disconnect that is neither in nor out, and a state that says of a relay what its coil contradicts."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Severity, StateMeasure
from ohmwright.following import COIL_PICKS_UP
from ohmwright.references import Reference, Step, common_practice
from ohmwright.rules import Grade, Rule
from ohmwright.study import SolvedState, Study
from ohmwright.values import Amount, shown
from ohmwright_grammar.kinds.switch import Disconnect, Relay
from ohmwright_grammar.records import replace

from ohmwright_rules.verdicts import failures_in

RULE = Rule(
    id="unsettled-relay",
    title="Relay that is neither in nor out",
    family="wiring",
    subject="relay",
    covers=(),
    grades=(
        Grade("chatters", Severity.ERROR, "in a state the coil lets go when the relay is in, and pulls in when it is out"),
        Grade("hunts", Severity.WARNING, "in a state a disconnect opens under its load and closes again without it"),
        Grade("contradicts-coil", Severity.ERROR, "a state says a relay is closed or open, and its coil says the contrary"),
    ),
    references=(
        common_practice(f"a coil pulls in from {COIL_PICKS_UP * 100:g} % of its voltage"),
        Reference("thresholds of the disconnect", "", "as declared", "read"),
    ),
)


def check(study: Study) -> Iterator[Outcome]:
    """Look for relays and disconnects that do not come to rest, and for declared positions that coils contradict."""
    parts = sorted((*study.of(Relay), *study.of(Disconnect)), key=lambda part: part.name)
    if not parts:
        yield DoesNotApply("no relay and no disconnect")
        return
    restless: dict[str, list[SolvedState]] = {}
    for state in study.telling_states:
        for name in state.unsettled:
            restless.setdefault(name, []).append(state)
    latching = unsaid = 0
    for part in parts:
        if isinstance(part, Relay):
            if part.latching:
                latching += 1
                continue
            if part.name in restless:
                yield _chatters(study, part, restless[part.name])
            else:
                yield Passed("chatters", (part.name,))
            outcome = _told(study, part)
            unsaid += outcome is None
            if outcome is not None:
                yield outcome
        elif not isinstance(part, Disconnect) or part.opens_at is None:
            unsaid += 1
        elif part.name in restless:
            yield _hunts(study, part, restless[part.name])
        else:
            yield Passed("hunts", (part.name,))
    if latching:
        yield DoesNotApply("a latching relay, which keeps its position without its coil", latching)
    if unsaid:
        yield DoesNotApply("no state says its position, or nothing moves it by itself", unsaid)


def _moved(study: Study, state: SolvedState, name: str, is_open: bool) -> SolvedState:
    """Solve a state with one relay or disconnect held open or closed."""
    gates = (state.open_gates | {name}) if is_open else (state.open_gates - {name})
    every = (*study.anatomy.relays, *study.anatomy.disconnects)
    return study.solve_setup(replace(state.setup, open_gates=gates, told_relays=frozenset(every)), state)


def _worst(study: Study, states: list[SolvedState]) -> tuple[SolvedState, Severity | None]:
    """Return the state to tell, and the bound on the severity: what stands after failures alone is a note (reason "fails")."""
    usual = [state for state in states if failures_in(study, state.name) == 0]
    return (usual or states)[0], None if usual else Severity.NOTE


# relays ------------------------------------------------------------------------------------------------------------


def _coil(state: SolvedState, name: str) -> float:
    return abs(state.across(f"{name}.coil_plus", f"{name}.coil_minus") or 0.0)


def _rated(study: Study, part: Relay) -> float:
    return float(part.coil_voltage.nominal) if part.coil_voltage is not None else study.system_voltage or 12.0


def _chatters(study: Study, part: Relay, states: list[SolvedState]) -> Finding:
    state, at_most = _worst(study, states)
    name = part.name
    needed = COIL_PICKS_UP * _rated(study, part)
    closed, opened = _coil(_moved(study, state, name, False), name), _coil(_moved(study, state, name, True), name)
    low, high = Amount(closed, "voltage"), Amount(opened, "voltage")
    turns = (closed < needed) != (opened < needed)
    seen = f": its coil sees {shown(low)} while its contact is closed and {shown(high)} while it is open" if turns else ""
    measures = tuple(StateMeasure(other.name, Amount(_coil(other, name), "voltage"), None, None) for other in states)
    return Finding(
        "chatters",
        (name,),
        f"{name}: in state {state.name!r} it neither stays in nor out{seen}; it pulls in from {shown(Amount(needed, 'voltage'))}.",
        part.span,
        state=state.name,
        states=measures,
        working=(
            Step("U_closed", "across the coil, contact closed", closed, "V", "solved circuit"),
            Step("U_open", "across the coil, contact open", opened, "V", "solved circuit"),
            Step("U_in", f"{COIL_PICKS_UP:g} x {_rated(study, part):.3g} V", needed, "V", str(RULE.references[0])),
        ),
        remedy="Feed the coil from where its own contact changes nothing."
        if part.rest_position == "closed"
        else f"Feed the coil from before its own contact, by wires that leave it {shown(Amount(needed, 'voltage'))} or more with the "
        "contact closed.",
        at_most=at_most,
    )


def _told(study: Study, part: Relay) -> Outcome | None:
    """Compare what declared states say of a relay with the voltage of its coil there; None where none says anything."""
    told = [state for state in study.states if state.setup.origin == "declared" and part.name in state.setup.told_relays]
    told = [state for state in told if state.solved]
    if not told:
        return None
    name = part.name
    if not study.circuit.at_node.get(f"{name}.coil_plus") and not study.circuit.at_node.get(f"{name}.coil_minus"):
        return NotChecked("contradicts-coil", (name,), "what its coil is joined to", part.span, told[0].name)
    wrong: list[tuple[SolvedState, float]] = []
    for state in told:
        volt = _coil(state, name)
        if part.coil_voltage is None and volt > 0:
            return NotChecked("contradicts-coil", (name,), "coil voltage", part.span, state.name, "coil 12 V")
        pulled_in = volt >= COIL_PICKS_UP * _rated(study, part)
        closed = name not in state.open_gates
        if closed != (pulled_in != (part.rest_position == "closed")):
            wrong.append((state, volt))
    if not wrong:
        return Passed("contradicts-coil", (name,))
    state, volt = wrong[0]
    says = "open" if name in state.open_gates else "closed"
    rest = "closed" if part.rest_position == "closed" else "open"
    coil = f"its coil sees {shown(Amount(volt, 'voltage'))}" if volt > 0 else "nothing feeds its coil"
    does = rest if says != rest else ("open" if rest == "closed" else "closed")
    return Finding(
        "contradicts-coil",
        (name,),
        f"{name}: state {state.name!r} says it is {says}; {coil} there, so that it is {does}.",
        part.span,
        state=state.name,
        states=tuple(StateMeasure(other.name, Amount(its, "voltage"), None, None) for other, its in wrong),
        working=(Step("U_coil", f"state {state.name!r}", volt, "V", "solved circuit"),),
        remedy=f"Leave {name} out of the state, so that it follows its coil, or say what feeds the coil there.",
    )


# disconnects -------------------------------------------------------------------------------------------------------


def _line(state: SolvedState, name: str) -> float:
    return state.line_voltage(name) or 0.0


def _hunts(study: Study, part: Disconnect, states: list[SolvedState]) -> Finding:
    state, at_most = _worst(study, states)
    name = part.name
    assert part.opens_at is not None
    opens = Amount(float(part.opens_at.nominal), "voltage", part.opens_at.unit)
    closes = Amount(float((part.closes_at or part.opens_at).nominal), "voltage", opens.unit)
    loaded, free = _line(_moved(study, state, name, False), name), _line(_moved(study, state, name, True), name)
    under, back = Amount(loaded, "voltage"), Amount(free, "voltage")
    return Finding(
        "hunts",
        (name,),
        f"{name}: in state {state.name!r} its line side falls to {shown(under)} under the load, so that it opens (at {shown(opens)}), and "
        f"comes back to {shown(back)} without it, so that it closes (at {shown(closes)}), for ever.",
        part.span,
        state=state.name,
        states=tuple(StateMeasure(other.name, Amount(_line(other, name), "voltage"), None, None) for other in states),
        working=(
            Step("U_closed", "line side, closed", loaded, "V", "solved circuit"),
            Step("U_open", "line side, open", free, "V", "solved circuit"),
        ),
        remedy=f"Let it close above {shown(back)} only, or lower the drop before it by {shown(Amount(opens.value - loaded, 'voltage'))}.",
        reference=RULE.references[1],
        at_most=at_most,
    )
