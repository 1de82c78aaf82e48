"""A short at a far end that is too weak to open the fuse before it."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step, common_practice
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.tables import Cell
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.fuse import Fuse
from ohmwright_grammar.records import record

from ohmwright_rules.conductors import gauge_of, said_of_missing
from ohmwright_rules.faults import Fault, faults_of
from ohmwright_rules.fusing import rating_at_most
from ohmwright_rules.guarding import Guarding, device_word, guarding, rating_of
from ohmwright_rules.opening import must_open

RULE = Rule(
    id="weak-fault",
    title="Far-end short too weak to open the fuse",
    family="protection",
    subject="device",
    covers=("F16",),
    grades=(
        Grade("never-opens", Severity.ERROR, "a short at a far end draws less than the rating of the device, and more than a conductor on its way carries"),
        Grade("below-must-open", Severity.WARNING, "a short at a far end draws less than the current at which the device must open"),
        Grade("slow", Severity.WARNING, "a short at a far end draws less than 3 times the rating of the device"),
    ),
    references=(
        common_practice("a short draws 3 times the rating of its fuse or more"),
        Reference("IEC 60269-1; UL 248-14; ISO 8820-3", "", "currents at which a fuse must open", "from-memory"),
    ),
)  # fmt: skip
_FAST = 3.0  # times the rating
_ANOTHER = "no battery feeds a short behind it, or a smaller device before it has to open"


def check(study: Study) -> Iterator[Outcome]:
    """Find the weakest short behind every device and hold it against what opens the device."""
    by_part: dict[str, list[Fault]] = {}
    for fault in faults_of(study).all:
        by_part.setdefault(fault.device.part, []).append(fault)
    guard = guarding(study)
    least = _least_ampacity(study, guard)
    without = 0
    for name in sorted({branch.part for branch in study.circuit.branches if branch.device}):
        study.options.budget.check()
        part = study.part(name)
        assert isinstance(part, Fuse)
        if name in by_part:
            yield from _judge(study, guard, part, _weakest_first(by_part[name]), least)
        else:
            without += 1
    if without:
        yield DoesNotApply(_ANOTHER, without)


def _least_ampacity(study: Study, guard: Guarding | None) -> float:
    """Return what the thinnest conductor of the build surely carries [A]: a short below that burns none, which saves most of the looking."""
    if guard is None:
        return 0.0
    found = [guard.facts(wire).harsh for wire in study.circuit.wires()]
    return min((rated.value if rated is not None else 0.0 for rated in found), default=0.0)


def _weakest_first(faults: list[Fault]) -> list[Fault]:
    return sorted(faults, key=lambda fault: (fault.total, fault.end.place.name, fault.end.place.node))


@record
class _Burning:
    """A conductor that a short overloads while the device stays shut, with what it carries [A]; `missing` where that is not known."""

    wire: Branch
    carries: float
    missing: Missing | None = None


def _judge(study: Study, guard: Guarding | None, part: Fuse, faults: list[Fault], least: float) -> Iterator[Outcome]:
    subject = (part.name,)
    rating = rating_of(study, faults[0].device)
    if rating is None or part.rated_current is None:
        yield Missing("rated current", part.span, "30 A").outcome("never-opens", subject)
        return
    limit = Amount(rating, "current", part.rated_current.unit)
    weakest = faults[0]
    unsaid: Missing | None = None
    for fault in faults:
        if not is_broken(fault.ampere, rating, "at-least"):
            break
        burning = _burning(guard, fault) if fault.total > least else None
        if burning is None:
            continue
        if burning.missing is None:
            yield _never(study, guard, part, fault, burning, limit)
            return
        unsaid = unsaid or burning.missing
    said, multiple = must_open(part, rating)
    if multiple is not None and is_broken(weakest.ampere, multiple * rating, "at-least"):
        yield _late(study, guard, part, weakest, "below-must-open", multiple, rating, said)
    elif is_broken(weakest.ampere, _FAST * rating, "at-least"):
        yield _late(study, guard, part, weakest, "slow", _FAST, rating, None)
    else:
        missing = weakest.missing()
        if missing is not None:
            yield missing.outcome("never-opens", subject)
        else:
            fast = Amount(_FAST * rating, "current", limit.unit)
            yield Passed("slow", subject, Amount(weakest.ampere, "current", limit.unit), fast, "at-least")
            yield Passed("never-opens", subject, Amount(weakest.ampere, "current", limit.unit), limit, "at-least")
        return
    if unsaid is not None:
        yield unsaid.outcome("never-opens", subject)
    elif is_broken(weakest.ampere, rating, "at-least"):
        yield Passed("never-opens", subject)  # the conductors carry what flows
    else:
        missing = weakest.missing()
        if missing is not None:
            yield missing.outcome("never-opens", subject)
        else:
            yield Passed("never-opens", subject, Amount(weakest.ampere, "current", limit.unit), limit, "at-least")


def _burning(guard: Guarding | None, fault: Fault) -> _Burning | None:
    """Return the conductor that a short overloads most, None where all carry it; a wound cord counts as wound."""
    found: list[tuple[float, Branch]] = []
    missing: Missing | None = None
    for wire in fault.thin:
        if wire.conductor is not None and wire.conductor.inside_device:
            continue
        if guard is None:
            return _Burning(wire, 0.0, Missing("basis", wire.span, said_of_missing("basis")))
        facts = guard.facts(wire)
        if facts.kind is not None and is_broken(fault.total, facts.kind.value, "at-most"):
            found.append((facts.kind.value, wire))
        elif facts.kind is None or (facts.harsh is not facts.kind and (facts.harsh is None or fault.total > facts.harsh.value)):
            what = facts.missing or "ampacity"
            missing = missing or facts.datum or Missing(f"{what} of {wire.name}", wire.span, said_of_missing(what))
    if found:
        carries, wire = min(found, key=lambda item: item[0])
        return _Burning(wire, carries)
    return _Burning(fault.thin[0], 0.0, missing) if missing is not None else None


def _at(fault: Fault) -> str:
    place = fault.end.place
    where = place.node if place.name in place.node else f"{place.node} ({place.name})"
    return f"{where} with {fault.setting.words}" if fault.setting.words else where


def _never(study: Study, guard: Guarding | None, part: Fuse, fault: Fault, burning: _Burning, limit: Amount) -> Finding:
    measured = Amount(fault.ampere, "current", limit.unit)
    drawn, rated = shown_pair(measured, limit)
    word = device_word(part)
    size = gauge_of(burning.wire)
    carries = shown(Amount(burning.carries, "current", limit.unit))
    total = shown(Amount(fault.total, "current", limit.unit))
    draws = total if total == drawn else f"{total}, {drawn} of it through {part.name}"
    return Finding(
        "never-opens",
        (part.name, fault.end.place.node),
        f"{part.name}: a short at {_at(fault)} draws {draws}; this {rated} {word} never opens at that, and the {size} of {burning.wire.name} carries {carries}.",
        part.span,
        measured,
        limit,
        "at-least",
        working=fault.steps(),
        remedy=_remedy(guard, part, fault, limit.value),
        related=_related(study, fault, burning.wire),
        reference=Reference("rating of the device", "", "as declared: it carries that for ever", "read"),
    )


def _late(
    study: Study,
    guard: Guarding | None,
    part: Fuse,
    fault: Fault,
    grade: str,
    multiple: float,
    rating: float,
    said: Cell | None,
) -> Finding:
    unit = part.rated_current.unit if part.rated_current is not None else ""
    limit = Amount(multiple * rating, "current", unit)
    measured = Amount(fault.ampere, "current", unit)
    drawn, needed = shown_pair(measured, limit)
    word = device_word(part)
    rated = shown(Amount(rating, "current", unit))
    if grade == "slow":
        text = f"this {rated} {word} opens quickly only from some {needed} on ({multiple:g} times its rating)"
        source = str(RULE.references[0])
        reference = RULE.references[0]
    else:
        text = f"this {rated} {word} must open only from {needed} on ({multiple:g} times its rating)"
        source = said.place if said is not None else "as declared"
        reference = said.reference if said is not None else Reference("multiple of its rating", "", "as declared", "read")
    step = Step("I_needed", f"{multiple:g} x {rating:.4g}", limit.value, "A", source)
    return Finding(
        grade,
        (part.name, fault.end.place.node),
        f"{part.name}: a short at {_at(fault)} draws {drawn}; {text}.",
        part.span,
        measured,
        limit,
        "at-least",
        working=(*fault.steps(), step),
        remedy=_remedy(guard, part, fault, rating),
        related=_related(study, fault, None),
        reference=reference,
    )


def _remedy(guard: Guarding | None, part: Fuse, fault: Fault, rating: float) -> str:
    ways: list[str] = []
    size = rating_at_most(guard.basis, fault.ampere / _FAST) if guard is not None else None
    if size is not None:
        ways.append(f"make {part.name} {size:g} A or less")
    most = fault.ohm * fault.ampere / (_FAST * rating)
    now, then = (shown(Amount(ohm, "resistance")) for ohm in (fault.ohm, most))
    ways.append(f"bring the loop from {now} to {then} or less with thicker or shorter conductors")
    wires = [branch for branch in fault.setting.ends.live(fault.end) if branch.conductor is not None]
    if wires and not fault.end.place.node.startswith(f"{part.name}."):
        ways.append(f"give the last stretch a smaller {device_word(part)} of its own")
    text = ", or ".join(ways)
    return f"{text[0].upper()}{text[1:]}."


def _related(study: Study, fault: Fault, wire: Branch | None) -> tuple[Related, ...]:
    place = fault.end.place
    found = [Related(f"the far end, {place.node}", study.span(study.build.nodes.get(place.node, place.node)))]
    thin = [wire] if wire is not None else sorted(fault.thin, key=lambda item: (-fault.setting.faults.ohm(item), item.name))[:2]
    found.extend(Related(f"on the way there and back: {item.name}", item.span) for item in thin)
    return tuple(found)
