"""A conductor whose insulation burns before the device in front of it opens a short."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, weakest
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.fuse import Fuse
from ohmwright_grammar.records import record

from ohmwright_rules.conductors import gauge_of
from ohmwright_rules.fault_heat import Exposed, Heat, exposures_of, heat_of
from ohmwright_rules.guarding import device_word, rating_of
from ohmwright_rules.opening import curve_missing
from ohmwright_rules.surge_heat import surge_outcomes
from ohmwright_rules.withstand import LONGEST, Withstand, awg_at_least, withstand_of

RULE = Rule(
    id="short-circuit-heat",
    title="Conductor burns before the fuse opens",
    family="protection",
    subject="conductor",
    covers=("D12",),
    grades=(
        Grade("over-limit", Severity.WARNING, "a device lets more heat through than the insulation of a conductor bears for a few seconds"),
        Grade("surge", Severity.WARNING, "a surge above what a conductor carries for long heats it more than its insulation bears"),
    ),
    references=(
        Reference("IEC 60364-4-43", "form of the equation as a secondary source prints it", "434.5.2", "secondary"),
        Reference("ISO 8820-3; ISO 8820-5", "as remembered", "longest opening times", "from-memory"),
    ),
)  # fmt: skip
_GRADE, _SURGE = "over-limit", "surge"
_SLOW = "no short opens its device within 5 s (weak-fault and the ampacity tell of that)"
_BEFORE = "no short behind a device passes it (what lies before the first device is far-fuse's)"


@record
class _Case:
    """What one device lets through to a conductor, against what it bears."""

    exposed: Exposed
    heat: Heat
    bears: Withstand


def check(study: Study) -> Iterator[Outcome]:
    """Hold the heat that the device before every conductor lets through against what the conductor bears."""
    by_wire: dict[str, list[Exposed]] = {}
    for exposed in exposures_of(study):
        by_wire.setdefault(exposed.wire.name, []).append(exposed)
    slow = before = inside = 0
    unsaid: dict[str, Missing] = {}
    for wire in study.circuit.wires():
        study.options.budget.check()
        conductor = wire.conductor
        assert conductor is not None
        if conductor.inside_device:
            inside += 1
        elif wire.name not in by_wire:
            before += 1
        else:
            found = list(_judge(study, by_wire[wire.name]))
            slow += not found
            for outcome in found:
                if isinstance(outcome, Fuse):
                    unsaid.setdefault(outcome.name, curve_missing(outcome))
                else:
                    yield outcome
    for name in sorted(unsaid):
        yield unsaid[name].outcome(_GRADE, (name,))
    yield from surge_outcomes(study, _SURGE, RULE.references[0])
    for words, count in ((_BEFORE, before), (_SLOW, slow), ("part of a bought device", inside)):
        if count:
            yield DoesNotApply(words, count)


def _judge(study: Study, exposures: list[Exposed]) -> Iterator[Outcome | Fuse]:
    """Yield what is said of one conductor; a device whose curve would tell it stands for itself, so that it is asked for once."""
    wire = exposures[0].wire
    subject = (wire.name,)
    bears = withstand_of(study, wire)
    if isinstance(bears, Missing):
        yield bears.outcome(_GRADE, subject)
        return
    cases: list[_Case] = []
    missing: list[Missing | Fuse] = []
    for exposed in exposures:
        part = study.part(exposed.device.part)
        assert isinstance(part, Fuse)
        found = heat_of(part, rating_of(study, exposed.device), exposed.least, exposed.most)
        five = exposed.most**2 * LONGEST  # more heat no short brings that is over within 5 s
        told_alone = isinstance(found, Heat) and found.second is None
        others: list[tuple[Fuse, float | None]] = []
        if isinstance(found, Heat) and is_broken(found.value, bears.value, "at-most"):
            others = [
                (its, rating_of(study, branch))
                for branch in exposed.in_series
                if isinstance(its := study.part(branch.part), Fuse)
            ]
        if others:
            found = heat_of(part, rating_of(study, exposed.device), exposed.least, exposed.most, others)
        if isinstance(found, Heat) and exposed.unsaid is not None and is_broken(found.value, bears.value, "at-most"):
            missing.append(exposed.unsaid)  # what the weakest short does is known all the same
            found = heat_of(part, rating_of(study, exposed.device), exposed.least, exposed.least, others)
        if isinstance(found, Heat):
            cases.append(_Case(exposed, found, bears))
        if not is_broken(five, bears.value, "at-most"):
            continue
        if found == "unknown" or (told_alone and not part.curve):
            missing.append(part)
        elif (loose := exposed.fault.missing()) is not None:
            missing.append(loose)
    worst = max(cases, key=lambda case: case.heat.value, default=None)
    if worst is not None and is_broken(worst.heat.value, bears.value, "at-most"):
        yield _finding(study, worst)
    elif missing:
        first = missing[0]
        yield first if isinstance(first, Fuse) else first.outcome(_GRADE, subject)
    elif worst is not None:
        yield Passed(_GRADE, subject, _heat(worst.heat.value), _heat(bears.value))
    elif any(not is_broken(exposed.most**2 * LONGEST, bears.value, "at-most") for exposed in exposures):
        strongest = max(exposed.most for exposed in exposures)
        yield Passed(_GRADE, subject, _heat(strongest**2 * LONGEST), _heat(bears.value))


def _heat(value: float) -> Amount:
    return Amount(value, "let_through", "A2s")


def _finding(study: Study, case: _Case) -> Finding:
    exposed, heat, bears = case.exposed, case.heat, case.bears
    wire, part = exposed.wire, heat.by
    measured, limit = _heat(heat.value), _heat(bears.value)
    passed, allowed = shown_pair(measured, limit)
    word = device_word(part)
    ampere = shown(Amount(heat.ampere, "current"))
    time = f"in up to {shown(Amount(heat.second, 'time'))} at {ampere}" if heat.second is not None else "as declared"
    ways = [f"insulation that bears more heat, or a {word} that lets through {allowed} or less"]
    if bears.k > 0:
        needed = heat.value**0.5 / bears.k
        size = f"{needed:.3g} mm2"
        if gauge_of(wire).endswith("AWG"):
            size = f"{awg_at_least(needed)} ({size})"
        ways.insert(0, f"a conductor of {size} or more")
    return Finding(
        _GRADE,
        (wire.name, exposed.device.name if part.name == exposed.device.part else part.name),
        f"{wire.name}: in a short {part.name} lets {passed} through before it opens ({time}); the insulation of this {gauge_of(wire)} bears {allowed}.",
        wire.span,
        measured,
        limit,
        working=(heat.step, bears.step),
        remedy=f"Use {', or '.join(ways)}.",
        related=(Related(f"the {word} {part.name}", part.span),),
        reference=weakest((heat.reference, bears.reference, RULE.references[0])),
    )
