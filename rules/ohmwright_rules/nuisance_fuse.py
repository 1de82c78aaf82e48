"""A fuse or breaker that will open although nothing is wrong: a lasting current over 80 % of its rating."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity, StateMeasure
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step
from ohmwright.rules import Case, Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.fuse import Breaker, Fuse
from ohmwright_grammar.records import record, replace

from ohmwright_rules.ampacity import Ampacity
from ohmwright_rules.basis import Basis
from ohmwright_rules.conductors import (
    AMBIENT,
    air_steps,
    basis_of,
    gauge_of,
    laying_of,
    named_basis,
    rated,
    said_of_missing,
    temperature_of_air,
    temperature_of_zone,
    unsaid_air,
)
from ohmwright_rules.duty import Carried, Loading, loadings
from ohmwright_rules.fusing import largest_rating, rating_at_least
from ohmwright_rules.kept import kept
from ohmwright_rules.laying import Laying, Unknown
from ohmwright_rules.temperature_curve import share_at
from ohmwright_rules.verdicts import failures_in, verdict

RULE = Rule(
    id="nuisance-fuse",
    title="Fuse that opens without a fault",
    family="protection",
    subject="fuse",
    covers=("F4", "F5", "I2"),
    grades=(Grade("over-loading", Severity.WARNING, "a lasting current is over 80 % of the rating in the heat of its zone"),),
    references=(
        Reference("NFPA 70 (NEC)", "2023", "210.20(A) and 215.3", "secondary"),
        Reference("guides of fuse makers", "", "75 % at 25 degC; 0.5 % for each kelvin", "secondary"),
    ),
)
_GRADE = "over-loading"
_PER_KELVIN = 0.005  # catalogue, F5: 0.5 % of the rating for each kelvin above 25 degC, secondary
_RATED_AT = 25.0
_UNMOVED = frozenset({"magnetic", "hydraulic-magnetic"})  # what opens by its magnet does not feel the air
_SLACK = 1e-9


@record
class _Told:
    """What a case keeps: the state, what is carried, the factor of the air, its temperature [degC]."""

    loading: Loading
    carried: Carried
    share: float
    air: float


def check(study: Study) -> Iterator[Outcome]:
    """Hold the lasting current of every overcurrent device against the share of its rating that it bears."""
    idle = 0
    for group in kept(study, _groups):
        outcome = _judge(study, group)
        idle += outcome is None
        if outcome is not None:
            yield outcome
    if idle:
        yield DoesNotApply("carries no steady current in any state", idle)


def _groups(study: Study) -> tuple[tuple[Branch, ...], ...]:
    """Return the ways through devices, those together that lie side by side between the same two parts of the circuit."""
    side = kept(study, _sides)
    groups: dict[tuple[object, ...], list[Branch]] = {}
    for branch in study.circuit.branches:
        if branch.device:
            ends = tuple(sorted((side[branch.start], side[branch.end])))
            key: tuple[object, ...] = ends if ends[0] != ends[1] else (branch.name,)
            groups.setdefault(key, []).append(branch)
    return tuple(tuple(group) for group in sorted(groups.values(), key=lambda group: group[0].name))


def _sides(study: Study) -> dict[str, int]:
    """Return a number for each node, the same for nodes that are joined without passing an overcurrent device."""
    circuit = study.circuit
    found: dict[str, int] = {}
    for number, node in enumerate(circuit.nodes):
        if node not in found:
            for other in circuit.reach(node, lambda branch: not branch.device):
                found[other] = number
    return found


def _wires_by_side(study: Study) -> dict[int, list[Branch]]:
    """Return the conductors of each part of the circuit that no overcurrent device divides."""
    side = kept(study, _sides)
    found: dict[int, list[Branch]] = {}
    for wire in study.circuit.wires():
        found.setdefault(side[wire.start], []).append(wire)
    return found


def _judge(study: Study, group: tuple[Branch, ...]) -> Outcome | None:
    parts = [study.part(branch.part) for branch in group]
    devices = [part for part in parts if isinstance(part, Fuse)]
    names = tuple(dict.fromkeys(device.name for device in devices))
    first = devices[0]
    found = [(loading, _carried(loading, group)) for loading in loadings(study) if not failures_in(study, loading.name)]
    carrying = [(loading, carried) for loading, carried in found if carried.total > 0.0]
    if not carrying:
        return None
    silent = next((device for device in devices if device.rated_current is None), None)
    if silent is not None:
        return NotChecked(_GRADE, names, f"rated current of {silent.name}", silent.span, declare="30 A")
    rating = sum(float(device.rated_current.low) for device in devices if device.rated_current is not None)
    unit = first.rated_current.unit if first.rated_current is not None else ""
    basis = basis_of(study) or named_basis("us-small-craft")
    loading_share = basis.fuse_loading.value
    cases: list[Case] = []
    unknown = ""
    unsaid: tuple[Missing, str] | None = None
    zone = study.zone_of(first.name)
    for loading, carried in carrying:
        air, known = temperature_of_zone(study, zone, loading.state)
        share = min(_share(device, air) for device in devices) if known else 1.0
        if not known and not all(_is_unmoved(device) for device in devices):
            unknown = unknown or loading.name
        counted = carried.continuous + loading_share * carried.other
        limit = Amount(loading_share * share * rating, "current", unit)
        cases.append(Case(loading.name, Amount(counted, "current"), limit, _Told(loading, carried, share, air)))
        hot = unsaid_air(study, zone, loading.state)
        if hot is not None:
            least = min(_share(device, hot[0]) for device in devices)
            if is_broken(counted, loading_share * least * rating, "at-most"):
                unsaid = unsaid or (hot[1], loading.name)
    verdicts = verdict(study, cases, "at-most", "trip")
    worst = verdicts.worst
    if not verdicts.broken:
        if unknown:
            return NotChecked(_GRADE, names, AMBIENT, first.span, unknown, said_of_missing(AMBIENT))
        if unsaid is not None:
            return unsaid[0].outcome(_GRADE, names, unsaid[1])
        return Passed(_GRADE, names, worst.measured, worst.limit, state=worst.state)
    return _finding(study, basis, group, devices, names, rating, worst, verdicts.broken)


def _carried(loading: Loading, group: tuple[Branch, ...]) -> Carried:
    if len(group) == 1:
        return loading.carried(group[0].name)
    both = [loading.carried(branch.name) for branch in group]
    return Carried(sum(item.total for item in both), sum(item.continuous for item in both))


def _is_unmoved(device: Fuse) -> bool:
    return device.family in _UNMOVED and not device.current_by_temperature


def _share(device: Fuse, air: float) -> float:
    """Return the share of its rating that a device carries in air of a temperature [degC]: its curve, else 0.5 % less for each kelvin."""
    if device.current_by_temperature:
        return share_at(device.current_by_temperature, air)
    if _is_unmoved(device):
        return 1.0
    return max(0.0, min(1.0, 1.0 - _PER_KELVIN * (air - _RATED_AT)))


def _finding(
    study: Study,
    basis: Basis,
    group: tuple[Branch, ...],
    devices: list[Fuse],
    names: tuple[str, ...],
    rating: float,
    worst: Case,
    broken: tuple[StateMeasure, ...],
) -> Finding:
    told = worst.note
    assert isinstance(told, _Told)
    unit = worst.limit.unit
    measured, allowed = shown_pair(worst.measured, worst.limit)
    percent = f"{basis.fuse_loading.value * 100:g} %"
    kind = "breaker" if isinstance(devices[0], Breaker) else "fuse"
    many = f"{len(devices)} {kind}s of {shown(Amount(rating, 'current', unit))} together"
    what = f"this {kind} of {shown(Amount(rating, 'current', unit))}" if len(devices) == 1 else many
    warm = ""
    if told.share < 1.0:
        warm = f" in air of {shown(Amount(told.air, 'temperature'))} ({told.share:.3g})"
    part = ""
    if told.carried.other > _SLACK * told.carried.total:
        lasting = (
            f"{shown(Amount(told.carried.continuous, 'current', unit))} of it is"
            if told.carried.continuous
            else "none of it is"
        )
        part = f" ({lasting} continuous, the rest counts {percent}: {measured})"
        measured = shown(Amount(told.carried.total, "current", unit))
    wires = _wires(study, basis, group, devices[0])
    curve = bool(devices[0].current_by_temperature)
    return Finding(
        _GRADE,
        names,
        f"{names[0]}: {measured} flows {told.loading.when(group[0].name)}{part} through {what}; {percent} of that{warm}, {allowed}, may flow for long.",
        devices[0].span,
        worst.measured,
        worst.limit,
        state=worst.state,
        states=broken,
        working=(
            Step("I_n", "rating" if len(devices) == 1 else "ratings side by side", rating, "A", "as declared"),
            Step("k_load", "share that a lasting current may use", basis.fuse_loading.value, "1", basis.fuse_loading.source),
            *air_steps(study, study.zone_of(names[0]), told.loading.state),
            Step(
                "k_T", _air_words(told, curve), told.share, "1", "as declared" if curve else "guides of fuse makers, secondary"
            ),
            *(told.loading.current_step(branch.name) for branch in group),
            *told.loading.steps(),
            *_counted(told, basis),
        ),
        remedy=_remedy(basis, devices[0], worst, told, wires),
        related=tuple(Related(f"{item.words}, the first of its wires to limit it", item.wire.span) for item in wires[:1]),
        reference=basis.fuse_loading.reference,
    )


def _counted(told: _Told, basis: Basis) -> tuple[Step, ...]:
    """Return the line that counts what is not continuous, none where all of it is."""
    carried = told.carried
    if carried.other <= _SLACK * carried.total:
        return ()
    share = basis.fuse_loading.value
    value = carried.continuous + share * carried.other
    return (
        Step("I_counted", f"{carried.continuous:.4g} + {share:g} x {carried.other:.4g}", value, "A", basis.fuse_loading.source),
    )


def _air_words(told: _Told, curve: bool) -> str:
    if told.share == 1.0 or curve:
        return f"air at {told.air:.4g} degC"
    return f"1 - {_PER_KELVIN:g} x ({told.air:.4g} - {_RATED_AT:g})"


@record
class _Behind:
    """A wire behind a device, and the largest standard rating that may protect it [A]."""

    wire: Branch
    most: float
    laying: Laying

    @property
    def words(self) -> str:
        """The wire and its size."""
        return f"{self.wire.name} ({gauge_of(self.wire)})"


def _wires(study: Study, basis: Basis, group: tuple[Branch, ...], device: Fuse) -> list[_Behind]:
    """Return the wires behind a device, the first to limit it in front; none where what one of them allows cannot be told."""
    side = kept(study, _sides)
    poles = {side[source.plus] for source in study.circuit.sources if source.kind == "battery"}
    beside = {side[branch.end] for branch in group} | {side[branch.start] for branch in group}
    behind = beside - poles or beside
    found: list[_Behind] = []
    at_side = kept(study, _wires_by_side)
    for wire in (wire for place in sorted(behind) for wire in at_side.get(place, ())):
        laying = laying_of(study, wire)
        value = rated(study, basis, wire, temperature_of_air(study, wire)[0])
        if isinstance(laying, Unknown) or not isinstance(value, Ampacity):
            return []
        most = largest_rating(basis, value, laying.voltage, family=device.family or "", must_open=_must_open(device))
        if most is None:
            return []
        found.append(_Behind(wire, most, laying))
    return sorted(found, key=lambda item: (item.most, item.wire.name))


def _must_open(device: Fuse) -> float | None:
    return float(device.must_open.nominal) if device.must_open is not None else None


def _remedy(basis: Basis, device: Fuse, worst: Case, told: _Told, wires: list[_Behind]) -> str:
    """Never a larger device alone: it is held against the wires that it protects."""
    from ohmwright_rules.sizing import smallest_for_fuse

    unit = worst.limit.unit
    factor = told.carried.total / worst.measured.value
    less = f"Bring the current to {shown(Amount(worst.limit.value * factor, 'current', unit))} or less"
    share = basis.fuse_loading.value * told.share
    needed = rating_at_least(basis, worst.measured.value / share) if share > 0 else None
    if needed is None:
        return f"{less}, move it to cooler air, or split the load: no listed rating is enough."
    size = shown(Amount(needed, "current", unit))
    if not wires:
        return f"{less}, or fit {size} with wires that it still protects."
    first = wires[0]
    most = shown(Amount(first.most, "current", unit))
    if needed <= first.most * (1 + _SLACK):
        return f"{less}, or fit {size}: its wires allow that, {first.words} up to {most}."
    thin = [item for item in wires if item.most < needed]
    larger = smallest_for_fuse(
        basis, replace(first.laying, coiled=False), needed, family=device.family or "", must_open=_must_open(device)
    )
    names = " and ".join(item.wire.name for item in thin) if len(thin) <= 3 else f"{len(thin)} wires behind it"
    way = f", or fit {size} with {larger.gauge.text} or larger for {names}" if larger is not None else ""
    return f"{less}{way}: with {first.words} as it is, {most} is the most that may stand here."
