"""The fuse of a charger's or controller's lead, at the end where the current is limited anyway."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.protection.poles import Pole
from ohmwright.protection.reaching import Protection
from ohmwright.protection.ways import DEVICE
from ohmwright.references import Reference, Step
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.records import record

from ohmwright_rules.conductors import said_of_missing
from ohmwright_rules.guarding import device_word
from ohmwright_rules.live_sides import push_of
from ohmwright_rules.unfused import Run, Unfused, length_steps, unfused

RULE = Rule(
    id="charger-lead-fuse",
    title="Fuse at the charger's end of its lead",
    family="protection",
    subject="conductor",
    covers=("F10",),
    grades=(
        Grade("wrong-end", Severity.ERROR, "the only device of a charger's or controller's lead stands at its end, the battery's end has none"),
    ),
    references=(
        Reference("NFPA 70 (NEC)", "2020", "690.9(A)", "secondary"),
        Reference("33 CFR 183.455", "as on a law mirror, undated", "(b)", "read"),
    ),
)  # fmt: skip
NUMBERS = ("fuse_distance", "fuse_distance_enclosed")
_GRADE = "wrong-end"
_LIMITED = ("charger", "controller", "converter")


@record
class _Lead:
    """A run from a battery that ends at the device of a limited source and serves nothing else."""

    run: Run
    device: Branch
    source: Pole


def check(study: Study) -> Iterator[Outcome]:
    """Look at every run from a battery that serves a limited source alone."""
    limited = sorted({source.name for source in study.circuit.sources if source.kind in _LIMITED})
    if not limited:
        yield DoesNotApply("no charger or controller")
        return
    found = unfused(study)
    if found is None:
        for name in limited:
            yield NotChecked(_GRADE, (name,), "basis", study.span(name), declare=said_of_missing("basis"))
        return
    told: set[str] = set()
    for wire in study.circuit.wires():
        leads = [lead for run in _runs(found, wire) if (lead := _lead(run)) is not None]
        if not leads:
            continue
        lead = max(leads, key=lambda lead: lead.run.distance.measured.value)
        told.add(lead.source.source.name)
        if lead.run.distance.missing is not None:
            yield lead.run.distance.missing.outcome(_GRADE, (wire.name, lead.source.source.name))
        else:
            yield _finding(study, found, lead)
    beside = _beside_battery(found)
    alone = sum(1 for name in limited if name not in beside)
    for name in limited:
        if name in beside and name not in told:
            yield Passed(_GRADE, (name,))
    if alone:
        yield DoesNotApply("no battery can be joined to its output", alone)


def _runs(found: Unfused, wire: Branch) -> Iterator[Run]:
    """Yield the runs of a conductor from batteries that lie too far, or may."""
    for run in found.all.get(wire.name, ()):
        if not run.chief and run.stretch.source.kind == "battery":
            yield run
    worst = found.of(wire)
    if worst is not None and worst.distance.missing is not None and worst.stretch.source.kind == "battery":
        yield worst


def _lead(run: Run) -> _Lead | None:
    """Return the lead that a run belongs to, None where it serves anything but one limited source behind its device."""
    stretch, protection = run.stretch, run.protection
    device = stretch.beyond.device
    if device is None or stretch.beyond.joins_source:
        return None
    ways, poles = protection.ways, protection.poles
    taking = _taking(protection)
    inside: set[int] = set()
    edges: set[int] = set()
    for here in stretch.walk.beyond(stretch.wire):
        inside.add(here)
        edges.update(edge for edge, _ in ways.out[here] if ways.kinds[edge] == DEVICE)
        if here in taking or len({ways.wire(edge).part for edge in edges}) > 1:
            return None
    if not edges:
        return None
    edge = min(edges)
    far = ways.b[edge] if ways.a[edge] in inside else ways.a[edge]
    seen = ways.reach([far], lambda way: way == edge)
    behind = [pole for pole in poles.all if seen[pole.cluster]]
    if len(behind) != 1 or behind[0].source.kind not in _LIMITED or any(seen[cluster] for cluster in taking):
        return None
    return _Lead(run, ways.wire(edge), behind[0])


def _taking(protection: Protection) -> frozenset[int]:
    """Return the clusters at which something is fed; what a source takes for itself does not count."""
    ways = protection.ways
    return frozenset(ways.cluster[consumer.plus] for consumer in ways.circuit.consumers if consumer.kind != "drain")


def _beside_battery(found: Unfused) -> frozenset[str]:
    """Return the limited sources that a battery can come to, devices passed."""
    names: set[str] = set()
    for protection in found.guard.protections:
        poles, ways = protection.poles, protection.ways
        for backwards in (False, True):
            starts = [pole.cluster for pole in poles.all if pole.source.kind == "battery" and pole.backwards == backwards]
            seen = ways.reach(starts, backwards=backwards)
            names.update(pole.source.name for pole in poles.all if pole.source.kind in _LIMITED and seen[pole.cluster])
    return frozenset(names)


def _finding(study: Study, found: Unfused, lead: _Lead) -> Finding:
    stretch, distance = lead.run.stretch, lead.run.distance
    wire, source = stretch.wire, lead.source.source
    measured, allowed = shown_pair(distance.measured, distance.limit)
    near = found.guard.basis.fuse_distance
    word = device_word(study.part(lead.device.part))
    push = push_of(source)
    gives = f" gives {shown(Amount(push, 'current'))} at most" if push is not None else " limits its current itself"
    within = shown(Amount(near.value, "length", distance.limit.unit))
    return Finding(
        _GRADE,
        (wire.name, source.name),
        f"{wire.name}: {lead.device.name} stands at the end of {source.name}, {measured} from {stretch.origin}; {source.name}{gives}, "
        f"{stretch.source.name} does not, and {allowed} without a device is allowed.",
        wire.span,
        distance.measured,
        distance.limit,
        working=(
            *length_steps(stretch),
            Step("L_max", distance.number.words, distance.number.value, "m", distance.number.source),
        ),
        remedy=f"Move the {word} {lead.device.name} to the battery's end, within {within} ({near.words}) of {stretch.origin}.",
        related=(
            Related(f"the {word} {lead.device.name}", lead.device.span),
            Related(f"the battery {stretch.source.name}", study.span(stretch.source.part.name)),
        ),
        reference=distance.number.reference,
    )
