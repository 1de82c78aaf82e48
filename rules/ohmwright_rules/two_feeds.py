"""A conductor that several feeds can push current into, each within its own device, together more than it carries."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property
from typing import TYPE_CHECKING

from ohmwright.circuit.graph import Branch
from ohmwright.findings import Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.protection.flows import Feeding, Flows
from ohmwright.protection.reaching import Protection
from ohmwright.protection.ways import DEVICE
from ohmwright.references import Reference, Step, common_practice, weakest
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.records import record

from ohmwright_rules.ampacity import Ampacity, Demand
from ohmwright_rules.array_leads import behind_common_plus
from ohmwright_rules.carrying import cooler_or_better, nothing_left
from ohmwright_rules.conductors import gauge_of, said_of_missing
from ohmwright_rules.fusing import fuse_factor, rating_at_most
from ohmwright_rules.guarding import Guarding, guarding, rating_of
from ohmwright_rules.laying import Unknown
from ohmwright_rules.live_sides import push_of
from ohmwright_rules.standing import Left, standings
from ohmwright_rules.upstream import flows_of
from ohmwright_rules.wording import counted_beyond, named

if TYPE_CHECKING:
    from ohmwright_rules.own_devices import OwnDevices

RULE = Rule(
    id="two-feeds",
    title="Two feeds on one wire, together too much",
    family="protection",
    subject="conductor",
    covers=("F9",),
    grades=(
        Grade("over-sum", Severity.ERROR, "the largest flow into one end, by device ratings and source limits, is above what the conductor allows"),
    ),
    references=(
        Reference("NFPA 70 (NEC)", "2020", "705.12, the idea of its bus rule", "secondary"),
        common_practice("devices that feed one wire add"),
    ),
)  # fmt: skip
_GRADE = "over-sum"
_INFINITE = float("inf")
_SINGLE = "one device or one limited source bounds what can flow into it"
_NONE = "a source stands behind it without a device (far-fuse tells of that)"


class _Flow:
    """The largest flows of one setting: at least so much, and at most so much where something is not declared."""

    def __init__(self, study: Study, guard: Guarding, protection: Protection) -> None:
        self.study = study
        self.guard = guard
        self.protection = protection
        self.ways = protection.ways
        self._known: dict[tuple[float, frozenset[str]], tuple[Flows, ...]] = {}
        poles = protection.poles.all
        self.unsaid = any(push_of(pole.source) is None for pole in poles) or any(
            rating_of(study, self.ways.wire(edge)) is None for edge in self.ways.of_kind(DEVICE)
        )

    @cached_property
    def busy(self) -> frozenset[int]:
        """The clusters at which something hangs that gives or takes."""
        from ohmwright_rules.own_devices import busy_clusters

        return busy_clusters(self.guard, self.ways)

    def least(self, without: frozenset[str]) -> tuple[Flows, ...]:
        """Return the flows with everything undeclared at nothing, some sources left out."""
        return self._both(0.0, without)

    def most(self, without: frozenset[str]) -> tuple[Flows, ...]:
        """Return the flows with everything undeclared without bound, some sources left out."""
        return self._both(_INFINITE if self.unsaid else 0.0, without)

    def _both(self, unknown: float, without: frozenset[str]) -> tuple[Flows, ...]:
        found = self._known.get((unknown, without))
        if found is None:
            found = self._known[unknown, without] = flows_of(self.study, self.protection.poles, unknown, without)
        return found


@record
class _Worst:
    """The largest flow into a conductor over all settings, and where it was found."""

    feeding: Feeding
    flows: Flows
    setting: _Flow

    def enters(self, wire: Branch) -> str:
        """Return the node at which it comes in."""
        return wire.end if self.feeding.into_end.ampere > self.feeding.into_start.ampere else wire.start


def _worst(settings: list[_Flow], most: bool, wire: Branch, without: frozenset[str]) -> _Worst | None:
    found: _Worst | None = None
    for setting in settings:
        for flows in setting.most(without) if most else setting.least(without):
            if wire.name in flows.ways.edge_of:
                feeding = flows.into(wire)
                if found is None or feeding.larger.ampere > found.feeding.larger.ampere:
                    found = _Worst(feeding, flows, setting)
    return found


def check(study: Study) -> Iterator[Outcome]:
    """Find the largest flow into either end of every live conductor and hold it against what it allows."""
    guard = guarding(study)
    if guard is None:
        for wire in study.circuit.wires():
            yield NotChecked(_GRADE, (wire.name,), "basis", wire.span, declare=said_of_missing("basis"))
        return
    left = Left()
    flows = [_Flow(study, guard, protection) for protection in guard.protections]
    behind = behind_common_plus(study)
    for wire in standings(study, guard, left):
        study.options.budget.check()
        without = behind.get(wire.name, frozenset())
        low, high = _worst(flows, False, wire, without), _worst(flows, True, wire, without)
        assert low is not None and high is not None
        if low.feeding.larger.ampere == _INFINITE:
            left.add(_NONE)
        elif high.feeding.larger.pieces < 2 and low.feeding.larger.pieces < 2:
            left.add(_SINGLE)
        else:
            yield from _judge(study, guard, wire, low, high)
    yield from left.outcomes()


@record
class _Limit:
    """What a conductor allows in sum [A], and by its table value alone, with its working."""

    value: float
    by_table: float
    rated: Ampacity
    steps: tuple[Step, ...]
    reference: Reference


def _limit(guard: Guarding, wire: Branch, rated: Ampacity | None) -> _Limit | None:
    facts = guard.facts(wire)
    if rated is None or isinstance(facts.laying, Unknown):
        return None
    if rated.cord:
        number = guard.basis.cord_fuse
        value = number.value * rated.unwound
        step = Step("I_sum", f"{number.value:g} x {rated.unwound:.4g}", value, "A", number.source)
        return _Limit(
            value,
            number.value * rated.table_value,
            rated,
            (*rated.steps, step),
            weakest((number.reference, *rated.references)) or number.reference,
        )
    factor = fuse_factor(guard.basis, guard.voltage(wire, facts.laying))
    if isinstance(factor, Unknown):
        return None
    value = factor * rated.value
    step = Step("I_sum", f"{factor:g} x {rated.value:.4g}", value, "A", "the basis' factor between a device and the ampacity")
    return _Limit(value, factor * rated.table_value, rated, (*rated.steps, step), rated.weakest)


def _judge(study: Study, guard: Guarding, wire: Branch, low: _Worst, high: _Worst) -> Iterator[Outcome]:
    facts = guard.facts(wire)
    subject = (wire.name,)
    kind, harsh = _limit(guard, wire, facts.kind), _limit(guard, wire, facts.harsh)
    least, most = low.feeding.larger, high.feeding.larger
    own = _own(guard, wire, high, harsh or kind)
    if own is not None and own.passes:
        limit = harsh or kind
        assert limit is not None
        yield Passed(_GRADE, subject, Amount(own.ampere, "current", "A"), Amount(limit.value, "current", "A"))
    elif kind is not None and least.pieces > 1 and _is_over(least.ampere, kind.value):
        if own is not None and own.missing is not None:
            yield own.missing.outcome(_GRADE, subject)
        else:
            yield _finding(study, guard, wire, low, kind, own)
    elif harsh is not None and not _is_over(most.ampere, harsh.value):
        yield Passed(_GRADE, subject, Amount(most.ampere, "current", "A"), Amount(harsh.value, "current", "A"))
    elif harsh is None or (kind is not None and not _is_over(most.ampere, kind.value)):
        missing = facts.missing or "highest voltage of the wire"
        lacking = facts.datum or Missing(missing, wire.span, said_of_missing(missing))
        yield lacking.outcome(_GRADE, subject)
    else:
        yield _unsaid(study, guard, wire, high).outcome(_GRADE, subject)


@record
class _Own:
    """The devices of its own that a conductor ends in: what they let out in sum [A], and whether they stand near enough; `missing` would tell."""

    devices: OwnDevices
    ampere: float
    node: str
    passes: bool
    missing: Missing | None = None


def _own(guard: Guarding, wire: Branch, worst: _Worst, limit: _Limit | None) -> _Own | None:
    """Return what a conductor ends in where more can come in than it allows; None where it does not end in devices that let out little enough.

    That holds only where all that is too much comes in at one end.
    """
    from ohmwright_rules.own_devices import own_devices

    if limit is None or not _is_over(worst.feeding.larger.ampere, limit.value):
        return None
    if _is_over(min(flow.ampere for flow in worst.feeding), limit.value):
        return None
    node = worst.enters(wire)
    found = own_devices(guard, worst.flows.ways, wire, wire.other(node), worst.setting.busy)
    if found is None:
        return None
    ratings = [(device, rating_of(guard.study, device)) for device in found.devices]
    unknown = next((device for device, rating in ratings if rating is None), None)
    ampere = sum(rating for _, rating in ratings if rating is not None)
    if _is_over(ampere, limit.value):
        return None
    near, enclosed = guard.basis.fuse_distance.value, guard.basis.fuse_distance_enclosed.value
    too_far = _is_over(found.length, enclosed) or (found.enclosed is False and _is_over(found.length, near))
    missing: Missing | None = None
    if too_far:
        pass
    elif unknown is not None:
        missing = Missing(f"rated current of {unknown.part}", guard.study.span(unknown.part), "30 A")
    elif found.unmeasured is not None:
        missing = Missing(f"length of {found.unmeasured.name}", found.unmeasured.span, "0.1 m long")
    elif found.enclosed is None and _is_over(found.length, near):
        assert found.open_at is not None
        at = found.open_at
        missing = Missing(f"whether {at.name} is enclosed all the way", at.span, "enclosed all the way")
    return _Own(found, ampere, node, not too_far and missing is None, missing)


def _is_over(flow: float, limit: float) -> bool:
    """Tell whether a flow, which may be infinite, is over a limit; at equality it is not."""
    return flow > limit * (1 + 1e-9)


def _unsaid(study: Study, guard: Guarding, wire: Branch, high: _Worst) -> Missing:
    """Name what is not declared of that which bounds the flow from both ends."""
    names = [name for into_end in (False, True) for name, ampere in high.flows.pieces(wire, into_end) if ampere == _INFINITE]
    circuit = study.circuit
    for branch in sorted(circuit.branches, key=lambda branch: branch.name):
        if branch.device and rating_of(study, branch) is None:
            names.append(branch.part)
    for source in sorted(circuit.sources, key=lambda source: source.name):
        if push_of(source) is None:
            names.append(source.name)
    known = [name for name in names if study.part(name) is not None and _is_silent(study, guard, name)]
    of = known[0] if known else wire.name
    return Missing(f"rated current of {of}", study.span(of), "30 A")


def _is_silent(study: Study, guard: Guarding, name: str) -> bool:
    source = next((source for source in study.circuit.sources if source.name == name), None)
    branch = study.circuit.by_name.get(name)
    return (source is not None and push_of(source) is None) or (
        branch is not None and branch.device and rating_of(study, branch) is None
    )


def _finding(study: Study, guard: Guarding, wire: Branch, worst: _Worst, limit: _Limit, own: _Own | None) -> Finding:
    node = worst.enters(wire)
    into_end = node == wire.end
    flow = worst.feeding.larger
    pieces = worst.flows.pieces(wire, into_end)
    measured = Amount(flow.ampere, "current", "A")
    allowed = Amount(limit.value, "current", "A")
    shown_sum, shown_limit = shown_pair(measured, allowed)
    feeds = named(_feed(study, name, ampere) for name, ampere in pieces)
    size = gauge_of(wire)
    allows = f"this {size} allows {shown_limit}"
    if limit.value <= 0:
        allows = nothing_left(f"this {size}", limit.rated, guard.facts(wire).air)
    figures = " + ".join(f"{ampere:.4g}" for _, ampere in pieces)
    return Finding(
        _GRADE,
        (wire.name,),
        f"{wire.name}: {feeds} can come in at {node} together, {shown_sum}; {allows}.{_too_far(guard, own)}",
        wire.span,
        measured,
        allowed,
        working=(
            *limit.steps,
            Step("I_in", f"{', '.join(name for name, _ in pieces)}: {figures}", flow.ampere, "A", "largest flow into one end"),
        ),
        remedy=_remedy(guard, wire, node, flow.ampere, limit, own),
        related=(
            *(Related(f"a feed: {name}", study.span(name)) for name, _ in pieces[:8]),
            *(
                Related(f"a device that it ends in: {device.name}", device.span)
                for device in (own.devices.devices[:8] if own else ())
            ),
        ),
        reference=limit.rated.reference if flow.ampere > limit.by_table else limit.reference,
    )


def _feed(study: Study, name: str, ampere: float) -> str:
    branch = study.circuit.by_name.get(name)
    way = "through" if branch is not None and branch.device else "from"
    return f"{shown(Amount(ampere, 'current', 'A'))} {way} {name}"


def _too_far(guard: Guarding, own: _Own | None) -> str:
    """Say why the devices that a conductor ends in are not its own, "" where it ends in none."""
    if own is None:
        return ""
    lets = shown(Amount(own.ampere, "current", "A"))
    number = guard.basis.fuse_distance if own.devices.enclosed is False else guard.basis.fuse_distance_enclosed
    here, allowed = shown_pair(Amount(own.devices.length, "length", "m"), Amount(number.value, "length", "m"))
    names = counted_beyond((device.name for device in own.devices.devices), "devices")
    one = len(own.devices.devices) == 1
    return (
        f" It ends in {names}, which {'lets' if one else 'let'} out no more than {lets}, but {here} of it lie between {'it' if one else 'them'} and "
        f"{own.node} ({allowed}, {number.words}, is allowed): a fault there is fed by all."
    )


def _remedy(guard: Guarding, wire: Branch, node: str, total: float, limit: _Limit, own: _Own | None) -> str:
    from ohmwright_rules.sizing import smallest_for_current

    if limit.value <= 0:
        return cooler_or_better(guard.facts(wire).air)
    size = rating_at_most(guard.basis, limit.value)
    laying = guard.facts(wire).laying
    needed = total * (limit.rated.unwound if limit.rated.cord else limit.rated.value) / limit.value
    larger = None if isinstance(laying, Unknown) else smallest_for_current(guard.basis, laying, Demand(0.0, needed, (), ()))
    ways = []
    if own is not None:
        near = guard.basis.fuse_distance
        nearer = f"bring what it ends in within {shown(Amount(near.value, 'length', 'm'))} ({near.words}) of {node}"
        enclosed = guard.basis.fuse_distance_enclosed
        ways.append(nearer if _is_over(own.devices.length, enclosed.value) else f"{nearer}, or enclose it all the way")
    if size is not None:
        ways.append(f"give {wire.name} a fuse of its own at {node}, {size:g} A or less")
    if larger is not None:
        ways.append(f"use {larger.gauge.text} or larger")
    ways.append(f"bring the feeds to {shown(Amount(limit.value, 'current', 'A'))} or less in sum")
    text = ", or ".join(ways)
    return f"{text[0].upper()}{text[1:]}."
