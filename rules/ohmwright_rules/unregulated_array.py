"""An array that can be joined to a battery with nothing between that ends the charge."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step, common_practice
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.array import Array
from ohmwright_grammar.kinds.battery import LITHIUM, Battery

from ohmwright_rules.direct_arrays import ENDLESS_SHARE, Target, capacity_of, straight_on
from ohmwright_rules.sunside import short_circuit_of
from ohmwright_rules.verdicts import times_allowed
from ohmwright_rules.wording import listed

RULE = Rule(
    id="unregulated-array",
    title="Array straight on a battery, with nothing that ends the charge",
    family="controllers",
    subject="battery",
    covers=("A12",),
    grades=(
        Grade("lithium", Severity.ERROR, "an array without a controller is on a lithium battery"),
        Grade("lead-acid", Severity.WARNING, "an array without a controller gives more than 1.5 % of the capacity an hour"),
    ),
    references=(
        common_practice("a lithium battery is never charged without control"),
        Reference("common practice", "", "1.5 % of the capacity in an hour, from memory", "from-memory"),
    ),
)
_LITHIUM, _LEAD = "lithium", "lead-acid"
_HOUR = 3600.0


def check(study: Study) -> Iterator[Outcome]:
    """Look for arrays between the poles of batteries, with no controller between."""
    behind = 0
    straight = straight_on(study)
    direct = {name for target in straight for name in target.arrangement.names}
    for array in study.of(Array):
        behind += array.name not in direct
    groups: dict[tuple[str, ...], list[Target]] = {}
    for target in straight:
        groups.setdefault(target.names, []).append(target)
    for names, group in sorted(groups.items()):
        yield _judge(study, names, group)
    if behind:
        yield DoesNotApply("no battery can be joined to it without a controller between", behind)


def _judge(study: Study, names: tuple[str, ...], group: list[Target]) -> Outcome:
    arrays = tuple(sorted({name for target in group for name in target.arrangement.names}))
    subject = (*names, *arrays)
    batteries = [part for name in names if isinstance(part := study.part(name), Battery)]
    lithium = next((battery for battery in batteries if battery.chemistry in LITHIUM), None)
    if lithium is not None:
        verb = "push" if len(arrays) > 1 else "pushes"
        return Finding(
            _LITHIUM,
            subject,
            f"{listed(arrays)} {verb} straight into {listed(names)} ({lithium.chemistry}): nothing ends the charge, and the voltage climbs until "
            "the management system cuts off or the cells vent.",
            study.span(arrays[0]),
            working=_path(group),
            remedy=f"Put a charge controller with steps for {lithium.chemistry} between {listed(arrays)} and {listed(names)}.",
            related=(Related(f"the battery {lithium.name}", lithium.place_of(Battery.chemistry)),),
        )
    silent = next((battery for battery in batteries if battery.chemistry is None), None)
    if silent is not None:
        return Missing(f"chemistry of {silent.name}", silent.span, "AGM").outcome(_LITHIUM, subject)
    return _lead_acid(study, subject, arrays, group)


def _path(group: list[Target]) -> tuple[Step, ...]:
    words = " and ".join(" + ".join(string) for target in group[:1] for string in target.arrangement.strings)
    return (Step("path", f"{words} between {listed(group[0].names)}'s poles, everything closed", None, "", "by connection"),)


def _lead_acid(study: Study, subject: tuple[str, ...], arrays: tuple[str, ...], group: list[Target]) -> Outcome:
    worst: tuple[float, Amount, Amount, tuple[Step, ...]] | None = None
    for target in group:
        capacity = capacity_of(study, target)
        if isinstance(capacity, Missing):
            return capacity.outcome(_LEAD, subject)
        found = short_circuit_of(study, (target.arrangement,), plugged=True)
        if isinstance(found, Missing):
            return found.outcome(_LEAD, subject)
        current, steps = found
        total, words = capacity
        most = ENDLESS_SHARE * total / _HOUR
        steps = (
            *steps,
            Step("C", words, total / _HOUR, "Ah", "as declared"),
            Step("I_most", f"{ENDLESS_SHARE:g} x {total / _HOUR:.4g} Ah / 1 h", most, "A", str(RULE.references[1])),
        )
        times = times_allowed(current, most)
        if worst is None or times > worst[0]:
            worst = times, Amount(current, "current"), Amount(most, "current"), steps
    assert worst is not None
    times, measured, limit, steps = worst
    if not is_broken(measured.value, limit.value, "at-most"):
        return Passed(_LEAD, subject, measured, limit)
    gives, holds = shown_pair(measured, limit)
    names = group[0].names
    share = shown(Amount(ENDLESS_SHARE * times, "share"))
    verb = "give" if len(arrays) > 1 else "gives"
    return Finding(
        _LEAD,
        subject,
        f"{listed(arrays)} {verb} {gives} straight into {listed(names)}, {share} of its capacity an hour; it bears about {holds} for ever, and nothing ends the charge.",
        study.span(arrays[0]),
        measured,
        limit,
        working=steps,
        remedy=f"Put a charge controller between {listed(arrays)} and {listed(names)}, or use an array of {holds} or less.",
        related=tuple(Related(f"the battery {name}", study.span(name)) for name in names[:8]),
        reference=RULE.references[1],
    )
