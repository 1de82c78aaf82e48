"""Wires in parallel that share one current: unlike ones, and ones of which the other would have to carry everything."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity, StateMeasure, margin_of
from ohmwright.references import Reference, Step
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.conductor import Conductor
from ohmwright_grammar.quantities import Gauge
from ohmwright_grammar.records import record

from ohmwright_rules.conductors import gauge_of, said_of_missing
from ohmwright_rules.duty import loadings
from ohmwright_rules.guarding import guarding
from ohmwright_rules.parallel_chains import Chain, parallel_chains
from ohmwright_rules.wording import named

RULE = Rule(
    id="parallel-wires",
    title="Parallel wires used as one",
    family="conductors",
    subject="conductor",
    covers=("D13",),
    grades=(
        Grade("unlike", Severity.WARNING, "wires in parallel differ in size, metal or length"),
        Grade(
            "alone",
            Severity.WARNING,
            "wires in parallel below 1/0 AWG without a fuse each, and one alone does not carry it all",
        ),
    ),
    references=(Reference("NFPA 70 (NEC)", "", "310.10(G)", "from-memory"),),
)
_LARGE = Gauge.from_awg(0)
_NEAR = 1e-9


@record
class _Most:
    """The largest steady current of all together [A], with the part of each, and its state."""

    total: float
    parts: tuple[float, ...]
    state: str


def check(study: Study) -> Iterator[Outcome]:
    """Look at every group of conductors in parallel."""
    groups = parallel_chains(study)
    if not groups:
        yield DoesNotApply("no conductors in parallel")
    for chains in groups:
        yield from _judge(study, chains)


def _judge(study: Study, chains: tuple[Chain, ...]) -> Iterator[Outcome]:
    wires = [wire for chain in chains for wire in chain.wires]
    subject = tuple(wire.name for wire in wires)
    for wire in wires:
        conductor = wire.conductor
        assert conductor is not None
        for missing, said in (("gauge", isinstance(conductor.gauge, Gauge)), ("length", conductor.length is not None)):
            if not said:
                yield NotChecked("unlike", subject, f"{missing} of {wire.name}", wire.span, declare=said_of_missing(missing))
                return
    most = _most(study, chains)
    if len({_make(chain) for chain in chains}) > 1:
        yield _unlike(chains, subject, most)
    else:
        yield Passed("unlike", subject)
    yield from _alone(study, chains, subject, most)


def _make(chain: Chain) -> tuple[object, ...]:
    """What must be alike: the sizes and metals along a row, and its length."""
    length = sum(
        float(wire.conductor.length.high)
        for wire in chain.wires
        if wire.conductor is not None and wire.conductor.length is not None
    )
    kinds = sorted({(gauge_of(wire), _metal(wire.conductor)) for wire in chain.wires})
    return tuple(kinds), round(length, 6)


def _metal(conductor: Conductor | None) -> str:
    metal = conductor.metal if conductor is not None else None
    return "copper" if metal in (None, "copper", "tinned copper") else metal


def _most(study: Study, chains: tuple[Chain, ...]) -> _Most:
    found = _Most(0.0, tuple(0.0 for _ in chains), "")
    for loading in loadings(study):
        parts = tuple(loading.total(chain.wires[0].name) for chain in chains)
        if sum(parts) > found.total:
            found = _Most(sum(parts), parts, loading.name)
    return found


def _words(chain: Chain) -> str:
    length = sum(
        float(wire.conductor.length.high)
        for wire in chain.wires
        if wire.conductor is not None and wire.conductor.length is not None
    )
    sizes = " and ".join(dict.fromkeys(gauge_of(wire) for wire in chain.wires))
    return f"{named([wire.name for wire in chain.wires])} ({sizes}, {shown(Amount(length, 'length'))})"


def _unlike(chains: tuple[Chain, ...], subject: tuple[str, ...], most: _Most) -> Finding:
    share = ""
    if most.total > _NEAR:
        amperes = named([shown(Amount(part, "current")) for part in most.parts])
        share = f"; of {shown(Amount(most.total, 'current'))} in state {most.state!r} they take {amperes}"
    first = chains[0].wires[0]
    return Finding(
        "unlike",
        subject,
        f"{named([_words(chain) for chain in chains])} lie in parallel and are not alike{share}.",
        first.span,
        state=most.state,
        working=_share_steps(chains, most),
        remedy="Use conductors of one size, metal and length, or one conductor that carries it all.",
        related=tuple(Related(f"{chain.wires[0].name} lies beside it", chain.wires[0].span) for chain in chains[1:8]),
    )


def _share_steps(chains: tuple[Chain, ...], most: _Most) -> tuple[Step, ...]:
    """The working of the shares, by conductance."""
    ohms = [chain.ohm for chain in chains]
    if min(ohms) <= 0.0:
        return ()
    conductance = sum(1.0 / ohm for ohm in ohms)
    return tuple(
        Step(
            f"I_{chain.wires[0].name}",
            f"{most.total:.4g} A x (1 / {ohm * 1000:.4g} mohm) / {conductance:.4g} S",
            most.total / ohm / conductance,
            "A",
            "share by conductance at 20 degC",
        )
        for chain, ohm in zip(chains, ohms, strict=True)
    )


def _alone(study: Study, chains: tuple[Chain, ...], subject: tuple[str, ...], most: _Most) -> Iterator[Outcome]:
    """Ask what happens when one opens: each has a fuse of its own, is 1/0 AWG or larger, or carries everything by itself."""
    if all(chain.has_device for chain in chains) or all(_is_large(chain) for chain in chains):
        yield Passed("alone", subject)
        return
    guard = guarding(study)
    if guard is None:
        yield NotChecked("alone", subject, "basis", chains[0].wires[0].span, declare=said_of_missing("basis"))
        return
    rated: list[tuple[float, Branch]] = []
    for wire in (wire for chain in chains for wire in chain.wires):
        value = guard.ampacity(wire)
        if value is None:
            missing = guard.facts(wire).missing
            yield NotChecked("alone", subject, f"{missing} of {wire.name}", wire.span, declare=said_of_missing(missing))
            return
        rated.append((value, wire))
    weakest, wire = min(rated, key=lambda item: (item[0], item[1].name))
    measured, limit = Amount(most.total, "current"), Amount(weakest, "current")
    if not is_broken(most.total, weakest, "at-most"):
        yield Passed("alone", subject, measured, limit, state=most.state)
        return
    here, allowed = shown_pair(measured, limit)
    facts = guard.facts(wire)
    yield Finding(
        "alone",
        subject,
        f"{named([chain.wires[0].name for chain in chains])} share {here} in state {most.state!r}; when one opens or works loose, {wire.name} "
        f"({gauge_of(wire)}) has to carry it alone and is rated for {allowed}.",
        chains[0].wires[0].span,
        measured,
        limit,
        state=most.state,
        states=(StateMeasure(most.state, measured, limit, margin_of(measured, limit, "at-most")),),
        working=(*(facts.kind.steps if facts.kind is not None else ()), *_share_steps(chains, most)),
        remedy=f"Use one conductor that carries {here}, or give each of them a fuse of its own of {allowed} or less.",
        related=tuple(Related(f"{chain.wires[0].name} lies beside it", chain.wires[0].span) for chain in chains[1:8]),
    )


def _is_large(chain: Chain) -> bool:
    sizes = [wire.conductor.gauge for wire in chain.wires if wire.conductor is not None]
    return all(isinstance(size, Gauge) and not is_broken(float(size.area), float(_LARGE.area), "at-least") for size in sizes)
