"""A cord or wire after an inverter that bears less than the inverter gives."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.references import Reference, Step
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown_pair
from ohmwright_grammar.kinds.cable import Cable
from ohmwright_grammar.kinds.fuse import Fuse
from ohmwright_grammar.kinds.inverter import Inverter
from ohmwright_grammar.records import record

from ohmwright_rules.ampacity import Ampacity
from ohmwright_rules.basis import Basis
from ohmwright_rules.conductors import (
    CABLE_KIND,
    basis_of,
    cable_of,
    gauge_of,
    is_cord,
    rated,
    said_of_missing,
    temperature_of_air,
)
from ohmwright_rules.laying import Unknown
from ohmwright_rules.mains_outlets import ac_near

RULE = Rule(
    id="weak-outlet-cord",
    title="Cord after an inverter that bears less than it gives",
    family="mains",
    subject="conductor",
    covers=("I9",),
    grades=(
        Grade(
            "over-ampacity",
            Severity.ERROR,
            "the inverter, or the breaker on its output, gives more than a cord or wire behind it bears",
        ),
    ),
    references=(
        Reference("NFPA 70 (NEC)", "2023", "Table 400.5(A)(1)", "secondary"),
        Reference("BS 7671", "", "Table 4F1A", "secondary"),
    ),
)
_GRADE = "over-ampacity"


@record
class _Fed:
    """A conductor behind an inverter, the most that it is given [A], and what limits that."""

    wire: Branch
    current: float
    inverter: Inverter
    breaker: Fuse | None


def check(study: Study) -> Iterator[Outcome]:
    """Hold the most that every inverter gives against every conductor of its output."""
    inside = 0
    any_at_all = False
    told: set[str] = set()
    for part in sorted(study.of(Inverter), key=lambda part: part.name):
        wires = _behind(study, part)
        if not wires:
            continue
        any_at_all = True
        if part.rated_power is None or part.ac_voltage is None or part.ac_voltage.low <= 0:
            missing, declare = ("rated power", "300 W") if part.rated_power is None else ("AC voltage", "120 V AC")
            yield NotChecked(_GRADE, (part.name,), missing, part.span, declare=declare)
            continue
        for fed in wires:
            assert fed.wire.conductor is not None
            if fed.wire.conductor.inside_device:
                inside += 1
            elif fed.wire.name not in told:
                told.add(fed.wire.name)
                yield _judge(study, fed)
    if inside:
        yield DoesNotApply("inside a bought device or part of it", inside)
    if not any_at_all:
        yield DoesNotApply("no conductor is joined to the output of an inverter")


def _behind(study: Study, part: Inverter) -> list[_Fed]:
    """Return the live conductors behind an inverter, the least limited way to each, in name order."""
    near = ac_near(study)
    start = f"{part.name}.L"
    gives = float("inf")
    if part.rated_power is not None and part.ac_voltage is not None and part.ac_voltage.low > 0:
        gives = float(part.rated_power.high) / float(part.ac_voltage.low)
    best: dict[str, tuple[float, Fuse | None]] = {start: (gives, None)}
    found: dict[str, _Fed] = {}
    queue = [start]
    for node in queue:
        current, breaker = best[node]
        for branch in near.get(node, ()):
            beyond, device = current, breaker
            thing = study.part(branch.part)
            if branch.device and isinstance(thing, Fuse) and thing.rated_current is not None:
                rating = float(thing.rated_current.high)
                if rating < beyond:
                    beyond, device = rating, thing
            if branch.conductor is not None:
                known = found.get(branch.name)
                if known is None or known.current < current:
                    found[branch.name] = _Fed(branch, current, part, breaker)
            other = branch.other(node)
            if other not in best or best[other][0] < beyond:
                best[other] = (beyond, device)
                queue.append(other)
    return [found[name] for name in sorted(found)]


def _judge(study: Study, fed: _Fed) -> Outcome:
    wire = fed.wire
    cable = cable_of(study, wire)
    chief = cable.name if cable is not None else wire.name
    subject = tuple(dict.fromkeys((chief, wire.name, fed.inverter.name)))
    basis = basis_of(study)
    if basis is None:
        return NotChecked(_GRADE, subject, "basis", wire.span, declare=said_of_missing("basis"))
    found = _bears(study, basis, wire, cable, fed.current)
    if isinstance(found, NotChecked):
        return NotChecked(_GRADE, subject, found.missing, found.span, declare=found.declare)
    bears = found.unwound if found.cord else found.value
    measured, limit = Amount(fed.current, "current"), Amount(bears, "current")
    if not is_broken(fed.current, bears, "at-most"):
        return Passed(_GRADE, subject, measured, limit)
    gives, allowed = shown_pair(measured, limit)
    assert fed.inverter.rated_power is not None and fed.inverter.ac_voltage is not None
    power, volt = float(fed.inverter.rated_power.high), float(fed.inverter.ac_voltage.low)
    size = gauge_of(wire)
    what = f"this {size}" if size else "it"
    if fed.breaker is None:
        source = f"{fed.inverter.name} gives up to {gives} before it limits itself"
        steps = (Step("I", f"{power:.4g} W / {volt:.4g} V", fed.current, "A", "rated power over AC voltage"),)
    else:
        source = f"{fed.breaker.name} lets {gives} through"
        steps = (Step("I", fed.breaker.name, fed.current, "A", "its rating, as declared"),)
    return Finding(
        _GRADE,
        subject,
        f"{chief}: {source}, and {what} bears {allowed}.",
        cable.span if cable is not None else wire.span,
        measured,
        limit,
        working=(*steps, *found.steps),
        remedy=f"Put an AC breaker of {allowed} or less before it, or use one that bears {gives} or more.",
        related=(Related(f"the inverter {fed.inverter.name}", fed.inverter.span),),
        reference=found.reference,
    )


def _bears(study: Study, basis: Basis, wire: Branch, cable: Cable | None, current: float) -> Ampacity | NotChecked:
    """Return what a conductor bears, or what is missing for that."""
    air = temperature_of_air(study, wire)[0]
    assert wire.conductor is not None
    found = rated(study, basis, wire, air)
    if isinstance(found, Unknown):
        return NotChecked(_GRADE, (wire.name,), found.missing, wire.span, declare=said_of_missing(found.missing))
    if cable is not None and not is_cord(wire.conductor, cable) and wire.conductor.cable_kind is None:
        as_cord = rated(study, basis, wire, air, as_cord=True)
        if isinstance(as_cord, Unknown) or (as_cord.unwound < current <= found.value):
            return NotChecked(_GRADE, (wire.name,), CABLE_KIND, cable.span, declare=said_of_missing(CABLE_KIND))
    return found
