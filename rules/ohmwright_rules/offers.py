"""Which other sizes may mend a finding: a larger conductor, a smaller fuse, a shorter wire. Each is tried on the whole build before it is told.

Only choices are offered, never facts: no rating, temperature, laying or ambient. A fuse that opens too early (F4, F5) is never answered with a larger fuse.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from ohmwright.results import Judged
from ohmwright.sizing.offers import Choice, Offer
from ohmwright.study import Study
from ohmwright.values import Amount, shown
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.conductor import Conductor
from ohmwright_grammar.kinds.fuse import Fuse
from ohmwright_grammar.quantities import Gauge

from ohmwright_rules.conductors import basis_of
from ohmwright_rules.fusing import standard_ratings
from ohmwright_rules.warm_copper import warm_state

__all__ = ["offers"]

_SHARE = 0.25  # a conductor that takes less of the drop than this share of the largest one is left as it is
_MOST_SIZES = 10


def offers(study: Study, finding: Judged) -> Iterator[Offer]:
    """Yield what may mend a finding, the smallest change first; nothing where no size does."""
    for make in _BY_RULE.get(finding.rule.id, ()):
        yield from make(study, finding)


def _larger_wire(study: Study, finding: Judged) -> Iterator[Offer]:
    """Offer the next larger sizes of the conductors that a finding is about."""
    wires = [wire for name in finding.finding.subject if (wire := _conductor(study, name)) is not None]
    yield from _larger(wires)


def _larger_leads(study: Study, finding: Judged) -> Iterator[Offer]:
    """Offer larger sizes of the conductors that take most of the drop on the way to what a finding is about, all a step up, then two, and so on."""
    found = finding.finding
    state = next((state for state in study.all_states if state.name == found.state), None)
    consumer = next((item for item in study.circuit.consumers if item.part.name == found.subject[0]), None)
    if state is None or consumer is None or not state.solved:
        return
    parts = [
        part for part in warm_state(study, state).parts(consumer.plus, consumer.minus) if part.branch.conductor is not None
    ]
    if not parts:
        return
    least = max(part.volt for part in parts) * _SHARE
    wires = [wire for part in parts if part.volt >= least and (wire := _conductor(study, part.branch.name)) is not None]
    yield from _larger(wires)


def _larger(wires: Sequence[Conductor]) -> Iterator[Offer]:
    ladders = [(wire, _larger_sizes(wire)) for wire in wires]
    if not ladders or not all(sizes for _, sizes in ladders):
        return
    for step in range(min(_MOST_SIZES, max(len(sizes) for _, sizes in ladders))):
        chosen = [(wire, sizes[min(step, len(sizes) - 1)]) for wire, sizes in ladders]
        choices = tuple(Choice(wire, Conductor.gauge, gauge.text) for wire, gauge in chosen)
        yield Offer(choices, ", ".join(f"{wire.name} {gauge.text}" for wire, gauge in chosen))


def _larger_sizes(wire: Conductor) -> list[Gauge]:
    from ohmwright_rules.sizing import gauges

    gauge = wire.gauge
    if not isinstance(gauge, Gauge):
        return []
    return [size for size in gauges(gauge.text.endswith("mm2")) if size.area > gauge.area * (1 + 1e-9)]


def _smaller_fuse(study: Study, finding: Judged) -> Iterator[Offer]:
    """Offer the largest standard ratings that the limit of a finding leaves, for the devices that it names."""
    basis = basis_of(study)
    limit = finding.finding.limit
    if basis is None or limit is None or limit.dimension != "current" or finding.finding.sense != "at-most":
        return
    ratings = [size for size in reversed(standard_ratings(basis)) if size <= limit.value * (1 + 1e-9)][:3]
    for fuse in _fuses(study, finding):
        if fuse.rated_current is None or len(_fuses(study, finding)) > 1:
            continue
        for rating in ratings:
            if rating < float(fuse.rated_current.low):
                words = shown(Amount(rating, "current", "A"))
                yield Offer((Choice(fuse, Fuse.rated_current, words),), f"{fuse.name} {words}")


def _larger_string_fuse(study: Study, finding: Judged) -> Iterator[Offer]:
    """Offer the smallest standard ratings that a string asks for of its fuse; what the modules allow is seen when they are tried."""
    basis, found = basis_of(study), finding.finding
    if basis is None or found.limit is None or found.sense != "at-least":
        return
    ratings = [size for size in standard_ratings(basis) if size >= found.limit.value * (1 - 1e-9)][:3]
    for fuse in [fuse for fuse in study.of(Fuse) if fuse.name == found.subject[0]]:
        for rating in ratings:
            words = shown(Amount(rating, "current", "A"))
            yield Offer((Choice(fuse, Fuse.rated_current, words),), f"{fuse.name} {words}")


def _weaker_fuse(study: Study, finding: Judged) -> Iterator[Offer]:
    """Offer the standard ratings below that of the one device that a finding is about, the largest first; whether one mends it shows when it is tried."""
    basis = basis_of(study)
    fuses = [fuse for fuse in study.of(Fuse) if fuse.name == finding.finding.subject[0]]
    if basis is None or not fuses or fuses[0].rated_current is None:
        return
    fuse, rated = fuses[0], float(fuses[0].rated_current.low)
    for rating in [size for size in reversed(standard_ratings(basis)) if size < rated * (1 - 1e-9)][:_MOST_SIZES]:
        words = shown(Amount(rating, "current", "A"))
        yield Offer((Choice(fuse, Fuse.rated_current, words),), f"{fuse.name} {words}")


def _larger_on_the_way(study: Study, finding: Judged) -> Iterator[Offer]:
    """Offer larger sizes of the conductors to which a finding points beside its subject, all a step up, then two, and so on."""
    spans = {related.span for related in finding.finding.related}
    yield from _larger([wire.conductor for wire in study.circuit.wires() if wire.conductor is not None and wire.span in spans])


def _larger_cord(study: Study, finding: Judged) -> Iterator[Offer]:
    """Offer the next larger sizes of all cores of the cable that a finding is about, or of the conductor where it lies alone."""
    names = frozenset(finding.finding.subject)
    cores = [run.conductor for run in study.build.runs if run.cable in names]
    yield from _larger(cores) if cores else _larger_wire(study, finding)


def _larger_leads_of_others(study: Study, finding: Judged) -> Iterator[Offer]:
    """Offer larger sizes of the leads of the packs that a finding says give less than its subject, all a step up, then two, and so on."""
    spans = {related.span for related in finding.finding.related}
    packs = {battery.name for battery in study.of(Battery) if battery.span in spans}
    nodes = study.build.nodes
    wires = [wire for wire in study.circuit.wires() if not packs.isdisjoint((nodes.get(wire.start), nodes.get(wire.end)))]
    yield from _larger([wire.conductor for wire in wires if wire.conductor is not None])


def _shorter_wire(study: Study, finding: Judged) -> Iterator[Offer]:
    """Offer the length that the limit of a finding leaves, where it is about one conductor alone."""
    limit = finding.finding.limit
    wire = _conductor(study, finding.finding.subject[0])
    if limit is None or limit.dimension != "length" or wire is None or wire.length is None or limit.value <= 0.0:
        return
    if float(wire.length.high) - limit.value < 1e-9:
        return
    words = shown(Amount(limit.value, "length", wire.length.unit))
    yield Offer((Choice(wire, Conductor.length, words),), f"{wire.name} {words} long")


def _conductor(study: Study, name: str) -> Conductor | None:
    circuit = study.circuit
    branch = circuit.by_name.get(name) or next((branch for branch in circuit.ac_branches if branch.name == name), None)
    return branch.conductor if branch is not None else None


def _fuses(study: Study, finding: Judged) -> list[Fuse]:
    """Return the devices that a finding names, as its subject or at another place that belongs to it."""
    spans = {related.span for related in finding.finding.related}
    names = frozenset(finding.finding.subject)
    return [
        fuse
        for fuse in study.of(Fuse)
        if fuse.name in names or fuse.span in spans or fuse.place_of(Fuse.rated_current) in spans
    ]


_BY_RULE: dict[str, tuple[Callable[[Study, Judged], Iterator[Offer]], ...]] = {
    "undersized-wire": (_larger_wire,),
    "hot-terminal": (_larger_wire,),
    "overloaded-cord": (_larger_wire,),
    "shared-return": (_larger_wire,),
    "thin-array-lead": (_larger_wire,),
    "coiled-cord": (_larger_wire,),
    "thin-bond": (_larger_wire,),
    "thin-fault-return": (_larger_wire,),
    "short-circuit-heat": (_larger_wire,),
    "weak-outlet-cord": (_larger_cord,),
    "chain-link": (_larger_wire,),
    "uneven-sharing": (_larger_leads_of_others,),
    "charge-lead-drop": (_larger_on_the_way,),
    "weak-fault": (_weaker_fuse, _larger_on_the_way),
    "weak-part": (_smaller_fuse,),
    "string-fuse": (_smaller_fuse, _larger_string_fuse),
    "wire-range": (_larger_wire,),
    "fragile-wire": (_larger_wire,),
    "two-feeds": (_larger_wire,),
    "oversized-fuse": (_smaller_fuse, _larger_wire),
    "far-fuse": (_shorter_wire,),
    "voltage-drop": (_larger_leads,),
    "load-voltage": (_larger_leads,),
    "surge-cut-off": (_larger_leads,),
}
