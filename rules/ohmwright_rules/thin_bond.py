"""A bonding conductor that is thinner than the lead whose fault current it has to carry."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.references import Reference, Step
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount
from ohmwright_grammar.quantities import Gauge
from ohmwright_grammar.records import record

from ohmwright_rules.conductors import said_of_missing
from ohmwright_rules.kept import kept
from ohmwright_rules.live_sides import live_sides

RULE = Rule(
    id="thin-bond",
    title="Bonding wire too small",
    family="conductors",
    subject="conductor",
    covers=("D16",),
    grades=(
        Grade("too-thin", Severity.WARNING, "a bond is thinner than 8 AWG, or than the lead that can fall on what it bonds"),
    ),
    references=(Reference("NFPA 70 (NEC)", "2008, as a page quotes it", "552.10(C)", "secondary"),),
)
_GRADE = "too-thin"
_LEAST = Gauge.from_awg(8)
_BONDED = ("case", "frame")  # terminals of parts that only a bond is joined to
_LEADS = ("joint", "fuse", "breaker")  # what a battery's lead may begin behind


@record
class _Against:
    """What a bond is held against: a conductor and its size, or 8 AWG alone (`lead` is None); `silent` is one whose size nobody said."""

    area: float
    words: str
    lead: Branch | None = None
    silent: Branch | None = None


def check(study: Study) -> Iterator[Outcome]:
    """Hold the size of every bond against 8 AWG and against the lead whose fault it carries."""
    bonds = [wire for wire in sorted(study.circuit.wires(), key=lambda wire: wire.name) if _is_bond(study, wire)]
    if not bonds:
        yield DoesNotApply("no bonding conductor")
    for wire in bonds:
        yield _judge(study, wire)


def _is_bond(study: Study, wire: Branch) -> bool:
    """Tell whether a conductor is a bond: as it says, or because it joins a case or frame and is no protective earth of mains."""
    conductor = wire.conductor
    if conductor is None or conductor.inside_device:
        return False
    if conductor.job is not None:
        return conductor.job == "bond"
    ends = (wire.start, wire.end)
    if any(node.rpartition(".")[2].endswith("PE") for node in ends):
        return False
    return any(_is_metal_case(study, node) for node in ends)


def _is_metal_case(study: Study, node: str) -> bool:
    return node in study.circuit.case_nodes or node.rpartition(".")[2] in _BONDED


def _judge(study: Study, wire: Branch) -> Outcome:
    from ohmwright_rules.sizing import gauges

    conductor = wire.conductor
    assert conductor is not None
    subject = (wire.name,)
    gauge = conductor.gauge
    if not isinstance(gauge, Gauge):
        return NotChecked(_GRADE, subject, "gauge", wire.span, declare=said_of_missing("gauge"))
    against = _against(study, wire)
    measured, limit = Amount(float(gauge.area), "area"), Amount(against.area, "area")
    if not is_broken(measured.value, limit.value, "at-least"):
        if against.silent is not None:
            missing = f"gauge of {against.silent.name}"
            return NotChecked(_GRADE, subject, missing, against.silent.span, declare=said_of_missing("gauge"))
        return Passed(_GRADE, subject, measured, limit, "at-least")
    larger = next((size for size in gauges(gauge.metric) if not is_broken(float(size.area), against.area, "at-least")), None)
    size = f"{larger.text} or larger" if larger is not None else "at least as much metal as that lead"
    lead = against.lead
    return Finding(
        _GRADE,
        subject,
        f"{wire.name}: this bond is {gauge.text}, {against.words}; a fault to the case burns the bond before the fuse opens.",
        wire.span,
        measured,
        limit,
        "at-least",
        working=(Step("S", against.words, against.area * 1e6, "mm2", str(RULE.references[0])),),
        remedy=f"Use {size} for the bond.",
        related=(Related(f"{lead.name}, which it is held against", lead.span),) if lead is not None else (),
    )


def _against(study: Study, wire: Branch) -> _Against:
    """Return what a bond is held against: the leads of the battery where it joins a pole or two cases, else those of the part that it bonds."""
    parts = sorted({study.build.nodes.get(node, "") for node in (wire.start, wire.end) if node not in study.circuit.case_nodes})
    if parts and not _joins_pole(study, wire):
        leads: Iterable[Branch] = (branch for part in parts for branch in _leads_of(study, part))
    else:
        leads = kept(study, _battery_leads)
    largest: Branch | None = None
    silent: Branch | None = None
    area = float(_LEAST.area)
    for lead in sorted(leads, key=lambda lead: lead.name):
        gauge = lead.conductor.gauge if lead.conductor is not None else None
        if not isinstance(gauge, Gauge):
            silent = silent or lead
        elif float(gauge.area) > area:
            largest, area = lead, float(gauge.area)
    if largest is None:
        return _Against(area, f"below {_LEAST.text}", None, silent)
    gauge = largest.conductor.gauge if largest.conductor is not None else None
    assert isinstance(gauge, Gauge)
    return _Against(area, f"thinner than {largest.name} with {gauge.text}", largest, silent)


def _joins_pole(study: Study, wire: Branch) -> bool:
    """Tell whether a bond joins a pole of a source to a case, directly and not by way of another case."""
    cases = study.circuit.case_nodes
    poles = {pole for source in study.circuit.sources for pole in (source.plus, source.minus)}

    def passes(branch: Branch) -> bool:
        return branch.name != wire.name and branch.start not in cases and branch.end not in cases

    return any(not poles.isdisjoint(study.circuit.reach(node, passes)) for node in (wire.start, wire.end) if node not in cases)


def _battery_leads(study: Study) -> tuple[Branch, ...]:
    """Return the conductors that begin at the live post of a battery, behind its own fuse where one sits on it: the leads that are not bonded."""
    found: dict[str, Branch] = {}
    for poles in live_sides(study):
        for pole in poles.all:
            if pole.source.kind == "battery":
                near = study.circuit.reach(pole.node, lambda branch: branch.kind in _LEADS)
                for node in near:
                    for branch in study.circuit.at_node.get(node, ()):
                        if branch.conductor is not None and branch.conductor.job in (None, "power"):
                            found[branch.name] = branch
    return tuple(found.values())


def _leads_of(study: Study, part: str) -> Iterator[Branch]:
    """Yield the conductors of the circuit that end at a part, its bonds left out."""
    for node in study.circuit.nodes_of(part):
        if node.rpartition(".")[2] in _BONDED or node.endswith("PE"):
            continue
        for branch in study.circuit.at_node.get(node, ()):
            if branch.conductor is not None and branch.conductor.job in (None, "power"):
                yield branch
