"""A battery or array that nothing within reach takes off: no main switch, or one behind a lid."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.graph import Source
from ohmwright.circuit.parts import gate_of_position
from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright.values import Amount, shown
from ohmwright_grammar.kinds.controller import Controller
from ohmwright_grammar.kinds.fuse import Breaker, Fuse
from ohmwright_grammar.kinds.load import Load
from ohmwright_grammar.kinds.switch import Relay, Selector, Switch, Switching
from ohmwright_grammar.records import record

from ohmwright_rules.bank_strings import heads_of
from ohmwright_rules.kept import kept
from ohmwright_rules.strings import groups_of, joined
from ohmwright_rules.wording import listed, named

RULE = Rule(
    id="no-disconnect",
    title="Source that nothing within reach takes off",
    family="switching",
    subject="battery or array",
    covers=("H2",),
    grades=(
        Grade("none-over-50-a", Severity.ERROR, "no switch takes off a source that gives more than 50 A", "circuit"),
        Grade("none", Severity.WARNING, "no switch takes off a source", "circuit"),
        Grade("out-of-reach-over-50-a", Severity.ERROR, "the switch of a source that gives more than 50 A is not within reach"),
        Grade("out-of-reach", Severity.WARNING, "the switch of a source is not within reach with the lid shut"),
    ),
    references=(
        Reference("a national scheme for inland boats", "", "a master switch as near the battery as possible", "secondary"),
    ),
)
_MUCH = 50.0  # A: catalogue, H2
_MOST = 3  # devices, one on each way, that still count as taking a source off


@record
class _Bank:
    """Sources that no hand parts: their names, what they are joined to, and the most that they give [A]."""

    names: tuple[str, ...]
    sources: tuple[Source, ...]
    current: float
    state: str
    is_array: bool


@record
class _Hands:
    """What a hand can open: gates, each with the name of its part or plug and whether it is within reach (None where that is not said)."""

    parts: dict[str, tuple[str, bool | None]]

    @property
    def gates(self) -> frozenset[str]:
        return frozenset(self.parts)


def check(study: Study) -> Iterator[Outcome]:
    """Look for the devices that take each battery and array off everything it feeds, and whether a hand reaches them."""
    hands = kept(study, _hands)
    idle = 0
    for bank in _banks(study, hands):
        outcome = _judge(study, hands, bank)
        idle += outcome is None
        if outcome is not None:
            yield outcome
    if idle:
        yield DoesNotApply("a battery or array that feeds nothing but what is always on", idle)


def _hands(study: Study) -> _Hands:
    found: dict[str, tuple[str, bool | None]] = {}
    for part in study.build.parts.values():
        if isinstance(part, Selector):
            for position in part.positions or ():
                found[gate_of_position(part.name, position.position)] = (part.name, part.within_reach)
        elif isinstance(part, Switch) or (isinstance(part, Relay) and part.within_reach is not None):
            found[part.name] = (part.name, part.within_reach)
        elif isinstance(part, Breaker):
            found[part.name] = (part.name, True)
    for mating in study.build.matings:
        found[mating.name] = (mating.name, True)
    return _Hands(found)


def _banks(study: Study, hands: _Hands) -> Iterator[_Bank]:
    by_name = {source.name: source for source in study.circuit.sources}
    for kind in ("battery", "array"):
        for names in groups_of(study, kind, hands.gates):
            sources = tuple(by_name[name] for name in names)
            current, state = _most(study, kind, sources, hands)
            yield _Bank(names, sources, current, state, kind == "array")


def _most(study: Study, kind: str, sources: tuple[Source, ...], hands: _Hands) -> tuple[float, str]:
    """Return the most that sources give side by side [A], and in which state; what charges them is not given."""
    heads = heads_of(study, sources, hands.gates)
    if kind == "array":
        return sum(source.limit or 0.0 for source in heads), "bright sun"
    best = (0.0, "")
    for state in study.telling_states:
        if state.solved or state.asks:
            current = state.delivered([source.name for source in heads])
            if current > best[0]:
                best = current, state.name
    return best


# walks -------------------------------------------------------------------------------------------------------------


def _targets(study: Study, bank: _Bank) -> list[tuple[str, str, str]]:
    """Return what a source must be taken off: name, plus and minus node. What is always on, own drains and coils are left out."""
    if bank.is_array:
        known = study.circuit.at_node
        found = [(part.name, f"{part.name}.pv_plus", f"{part.name}.pv_minus") for part in study.of(Controller)]
        return [item for item in found if item[1] in known or item[2] in known]
    return [
        (consumer.part.name, consumer.plus, consumer.minus)
        for consumer in study.circuit.consumers
        if consumer.kind in ("load", "inverter", "converter")
        and not (isinstance(consumer.part, Load) and consumer.part.always_on)
    ]


def _judge(study: Study, hands: _Hands, bank: _Bank) -> Outcome | None:
    circuit = study.circuit
    pluses, minuses = [source.plus for source in bank.sources], [source.minus for source in bank.sources]
    targets = _targets(study, bank)
    everywhere = circuit.reach(pluses), circuit.reach(minuses)
    fed = [item for item in targets if item[1] in everywhere[0] and item[2] in everywhere[1]]
    if not fed:
        return None
    near = circuit.reach(pluses, open_gates=hands.gates), circuit.reach(minuses, open_gates=hands.gates)
    bare = sorted({name for name, plus, minus in fed if plus in near[0] and minus in near[1]})
    if bare:
        return _none(study, bank, bare, pluses)
    side = 0 if not any(plus in near[0] for _, plus, _ in fed) else 1
    first = _first_on_ways(study, hands, near[side], {item[1 + side] for item in fed})
    if len(first) > _MOST:
        return _many(study, bank, first)
    return _reach(study, hands, bank, first)


def _first_on_ways(study: Study, hands: _Hands, near: set[str], ends: set[str]) -> tuple[str, ...]:
    """Return the names of the devices that stand first on the ways from a source to what it feeds, in name order."""
    border = {
        branch.gate
        for node in near
        for branch in study.circuit.at_node.get(node, ())
        if branch.gate in hands.parts and branch.other(node) not in near
    }
    beyond = joined(study, frozenset(border))
    wanted = {beyond[node] for node in ends}
    found = {
        hands.parts[branch.gate][0]
        for node in near
        for branch in study.circuit.at_node.get(node, ())
        if branch.gate in border and beyond[branch.other(node)] in wanted
    }
    return tuple(sorted(found))


# verdicts ----------------------------------------------------------------------------------------------------------


def _grade(bank: _Bank, grade: str) -> str:
    return f"{grade}-over-50-a" if bank.current > _MUCH * (1 + 1e-9) else grade


def _current_words(bank: _Bank) -> str:
    return f"It gives up to {shown(Amount(bank.current, 'current'))} ({bank.state})." if bank.current > 0 else ""


def _steps(bank: _Bank) -> tuple[Step, ...]:
    return (Step("I_most", bank.state, bank.current, "A", "solved circuit"),) if bank.current > 0 else ()


def _none(study: Study, bank: _Bank, bare: list[str], pluses: list[str]) -> Finding:
    fuses = _fuses_on_the_way(study, bare, pluses)
    only = f" Only pulling {named(fuses)} would." if fuses else ""
    what = "its leads stay live in the sun" if bank.is_array else "a hot or shorted box cannot be made dead quickly"
    return Finding(
        _grade(bank, "none"),
        bank.names,
        f"{listed(bank.names)}: no switch, breaker or plug takes {'them' if len(bank.names) > 1 else 'it'} off {listed(bare)}; {what}.{only}"
        f" {_current_words(bank)}".rstrip(),
        study.span(bank.names[0]),
        working=_steps(bank),
        remedy=f"Put a main switch that carries {shown(Amount(bank.current, 'current'))} or more next to it, within reach with the lid shut."
        if bank.current > 0
        else "Put a main switch next to it, within reach with the lid shut.",
        related=tuple(Related(f"{name}: what stays on it", study.span(name)) for name in bare[:4]),
    )


def _fuses_on_the_way(study: Study, bare: list[str], pluses: list[str]) -> list[str]:
    ends = {node for name in bare for node in study.circuit.nodes_of(name)}
    way = next((way for plus in pluses if (way := study.circuit.path(plus, ends)) is not None), ())
    return [branch.part for branch in way if branch.device and isinstance(study.part(branch.part), Fuse)][:1]


def _many(study: Study, bank: _Bank, first: tuple[str, ...]) -> Finding:
    return Finding(
        _grade(bank, "none"),
        bank.names,
        f"{listed(bank.names)}: no one device takes {'them' if len(bank.names) > 1 else 'it'} off; {len(first)} have to be opened one by one"
        f" ({listed(first)}). {_current_words(bank)}".rstrip(),
        study.span(bank.names[0]),
        working=_steps(bank),
        remedy="Put one main switch before them.",
        related=tuple(Related(name, study.span(name)) for name in first[:4]),
    )


def _reach(study: Study, hands: _Hands, bank: _Bank, first: tuple[str, ...]) -> Outcome:
    reach = dict(hands.parts.values())
    grade = _grade(bank, "out-of-reach")
    subject = (*bank.names, *first)
    far = [name for name in first if reach[name] is False]
    if far:
        part = study.part(far[0])
        place = part.place_of(Switching.within_reach) if isinstance(part, Switching) else study.span(far[0])
        return Finding(
            grade,
            subject,
            f"{named(far)}: this takes {listed(bank.names)} off, and is not within reach with the lid shut. {_current_words(bank)}".rstrip(),
            place,
            working=_steps(bank),
            remedy="Move it where a hand reaches it with the lid shut, without tools and without moving anything.",
            related=tuple(Related(f"{name}: what it takes off", study.span(name)) for name in bank.names[:2]),
        )
    silent = next((name for name in first if reach[name] is None), None)
    if silent is not None:
        missing = Missing(f"whether {silent} is within reach with the lid shut", study.span(silent), "within reach")
        return missing.outcome(grade, subject)
    return Passed(grade, subject, Amount(bank.current, "current") if bank.current > 0 else None)
