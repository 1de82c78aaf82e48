"""A connector that may be pulled while it carries more than it may be parted at, with nothing opened first."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Severity
from ohmwright.references import Reference, Step
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.connector import Half, LoadBreak
from ohmwright_grammar.kinds.procedure import Procedure
from ohmwright_grammar.kinds.switch import Switching
from ohmwright_grammar.records import record

from ohmwright_rules.basis import get
from ohmwright_rules.conductors import basis_of
from ohmwright_rules.duty import loadings
from ohmwright_rules.halves import Connector, closed_gates, connectors, highest_on, poles_of
from ohmwright_rules.kept import kept
from ohmwright_rules.loops import loops
from ohmwright_rules.strings import joined
from ohmwright_rules.wording import named

RULE = Rule(
    id="parted-under-load",
    title="Connector can be parted under load",
    family="connectors",
    subject="connector",
    covers=("G9",),
    grades=(
        Grade("over-touch-voltage", Severity.ERROR, "a connector above 60 V may be pulled at more than it may be parted at"),
        Grade("under-load", Severity.WARNING, "a connector of up to 60 V may be pulled at more than it may be parted at"),
    ),
    references=(
        Reference("NFPA 70 (NEC)", "older text, as adopted by a city", "690.33(E), interruption of circuit", "secondary"),
        Reference("current and voltage under which it may be parted", "", "as declared", "read"),
    ),
)
_MISSING = "current and voltage under which it may be parted"
_DECLARE = "load-break 10 A at ^32 V"
_IDLE = "carries no steady current in any state"
_FIRST = "a switch or an interlock opens its circuit first"


@record
class _Load:
    """What a connector carries at most [A], in which contact and state."""

    current: float
    contact: Branch
    state: str
    step: Step


def check(study: Study) -> Iterator[Outcome]:
    """Hold what every mated connector carries against what it may be parted at, unless something is opened first."""
    left: Counter[str] = Counter()
    contacts: dict[str, list[Branch]] = {}
    for branch in study.circuit.branches:
        if branch.kind == "contact":
            contacts.setdefault(branch.part, []).append(branch)
    for connector in connectors(study):
        own = contacts.get(connector.mating.name, []) if connector.mating is not None else []
        if not own:
            continue
        load = _load(study, own)
        if load is None:
            left[_IDLE] += 1
            continue
        yield from _judge(study, connector, own, load)
    for condition, count in sorted(left.items()):
        yield DoesNotApply(condition, count)


def _load(study: Study, contacts: list[Branch]) -> _Load | None:
    best: _Load | None = None
    for loading in loadings(study):
        for contact in contacts:
            current = loading.total(contact.name)
            if current > (best.current if best is not None else 0.0):
                best = _Load(current, contact, loading.name, loading.current_step(contact.name))
    return best


def _judge(study: Study, connector: Connector, contacts: list[Branch], load: _Load) -> Iterator[Outcome]:
    touch = (basis_of(study) or get("us-premises")).touch_voltage.value
    nodes = tuple(contact.start for contact in contacts)
    line, gap = highest_on(study, nodes)
    subject = connector.names
    grade = "over-touch-voltage" if line is not None and is_broken(line.value, touch, "at-most") else "under-load"
    opened = _opened_first(study, connector, contacts)
    if opened:
        yield Passed(grade, subject, state=load.state)
        return
    if line is None:
        if gap is not None:
            yield NotChecked("over-touch-voltage", subject, gap.missing, gap.span, declare=gap.declare)
        return
    never, breaks = _said(connector)
    measured = Amount(load.current, "current")
    volts = Amount(line.value, "voltage")
    if not never and breaks is None:
        yield NotChecked(grade, subject, _MISSING, connector.span, load.state, _DECLARE)
        return
    if never or breaks is None:
        limit = Amount(0.0, "current")
        what = f"it is not made to be parted under load, and up to {shown(measured)} at {shown(volts)} flow through it in state {load.state!r}"
    else:
        limit = Amount(float(breaks.current.low), "current")
        at = breaks.at
        if is_broken(load.current, limit.value, "at-most"):
            flows, bears = shown_pair(measured, limit)
            what = f"it may be parted at {bears} or less, and {flows} flow through it in state {load.state!r}"
        elif at is None:
            yield NotChecked(grade, subject, "voltage under which it may be parted", connector.span, load.state, _DECLARE)
            return
        elif is_broken(line.value, float(at.low), "at-most"):
            high, bears = shown_pair(volts, Amount(float(at.low), "voltage"))
            what = f"it may be parted under load at {bears} or less, and {high} can stand on it ({line.words})"
            measured, limit = volts, Amount(float(at.low), "voltage")
        else:
            yield Passed(grade, subject, measured, limit, state=load.state)
            return
    yield Finding(
        grade,
        subject,
        f"{connector.name}: {what}; nothing is opened before it is pulled.",
        connector.span,
        measured,
        limit,
        state=load.state,
        working=(load.step, *line.steps),
        remedy=f"Put a switch before it and say that it is opened first (switch off … before unplugging), or use a connector that may be parted at "
        f"{shown(Amount(load.current, 'current'))} and {shown(volts)}.",
        reference=RULE.references[0] if never or breaks is None else RULE.references[1],
    )


def _said(connector: Connector) -> tuple[bool, LoadBreak | None]:
    """Return whether a half is never to be parted under load, and the lower of the figures that the halves give."""
    never = any(half.parted_under_load is False or half.says_none(Half.load_break) for half in connector.halves)
    figures = [half.load_break for half in connector.halves if half.load_break is not None]
    return never, min(figures, key=lambda item: float(item.current.low)) if figures else None


# what is opened first ----------------------------------------------------------------------------------------------


def _opened_first(study: Study, connector: Connector, contacts: list[Branch]) -> str:
    """Return what stops the current of a connector before it is pulled, "" where nothing does."""
    for names in (_by_order(study, connector), _by_loop(study, contacts)):
        if names and _is_cut(study, connector, contacts, names):
            return named(sorted(names))
    return ""


def _by_order(study: Study, connector: Connector) -> frozenset[str]:
    """Return what the procedure opens before a connector is pulled."""
    found: set[str] = set()
    for procedure in study.of(Procedure):
        found.update(procedure.off_before_unplugging or ())
        order = procedure.disconnect_order or ()
        place = next((number for number, name in enumerate(order) if name in connector.names), 0)
        found.update(order[:place])
    return frozenset(found)


def _by_loop(study: Study, contacts: list[Branch]) -> frozenset[str]:
    """Return the relays and inverters that an interlock loop through the same plug stops before the power pins part."""
    from ohmwright_rules.pin_lengths import length_of, shorter

    names = {contact.name for contact in contacts}
    found: set[str] = set()
    for loop in loops(study):
        own = [contact for contact in loop.contacts if contact.name in names]
        power = [
            length_of(study, (c.start, c.end)) for c in contacts if c.name not in {contact.name for contact in loop.contacts}
        ]
        if any(shorter(length_of(study, (contact.start, contact.end)), power) for contact in own):
            found.update(coil.part.name for coil, _ in loop.depends.coils)
            found.update(inverter.name for inverter, _ in loop.depends.enables)
    return frozenset(found)


def _is_cut(study: Study, connector: Connector, contacts: list[Branch], names: frozenset[str]) -> bool:
    """Tell whether no current can flow through the plus contacts of a connector once some things are opened or switched off."""
    opened = set(names)
    for name in names:
        part = study.part(name)
        if isinstance(part, Switching):
            opened.update(part.ganged_with or ())
    gates = {branch.gate for branch in study.circuit.branches if branch.gate and branch.part in opened}
    gates |= closed_gates(study)
    if connector.mating is not None:
        gates.add(connector.mating.name)
    group = joined(study, frozenset(gates))
    active = {group[node] for name, nodes in kept(study, _active).items() if name not in names for node in nodes}
    poles = poles_of(study)
    carrying = [contact for contact in contacts if poles.of(contact.start) == "plus"] or contacts
    return all(group[contact.start] not in active or group[contact.end] not in active for contact in carrying)


def _active(study: Study) -> dict[str, tuple[str, ...]]:
    """Return the terminals of everything that feeds or takes, by its name."""
    found: dict[str, set[str]] = {}
    for source in study.circuit.sources:
        found.setdefault(source.part.name, set()).update((source.plus, source.minus))
    for consumer in study.circuit.consumers:
        if consumer.kind != "coil":
            found.setdefault(consumer.part.name, set()).update((consumer.plus, consumer.minus))
    for name, nodes in found.items():
        nodes.update(
            node for node in study.circuit.nodes_of(name) if node.endswith((".pv_plus", ".pv_minus", ".in_plus", ".in_minus"))
        )
    return {name: tuple(sorted(nodes)) for name, nodes in found.items()}
