"""Lithium cells that nothing supervises, and packs whose management system is the only thing that limits a fault."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.references import Reference
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright.values import Amount, shown
from ohmwright_grammar.kinds.battery import LITHIUM, Battery

from ohmwright_rules.banks import Feeding, feeding
from ohmwright_rules.nets import layout_of
from ohmwright_rules.wording import listed

RULE = Rule(
    id="unguarded-lithium",
    title="Lithium cells without a management system, or with it as the only protection",
    family="protection",
    subject="battery",
    covers=("C12",),
    grades=(
        Grade("no-bms", Severity.ERROR, "a lithium battery has no management system"),
        Grade("bms-alone", Severity.ERROR, "between a pack with a management system and what it feeds stands no fuse or breaker", "circuit"),
    ),
    references=(
        Reference("practitioner on standards", "", "a management system's limit is not counted as a limit of the fault current", "secondary"),
    ),
)  # fmt: skip
_NO_DRAIN = ("drain", "coil")


def check(study: Study) -> Iterator[Outcome]:
    """Look at every battery, and at what its own loop holds when every fuse and breaker is taken away."""
    batteries = sorted(study.of(Battery), key=lambda part: part.name)
    others = 0
    bare = _without_device(study)
    fed = {battery.name for item in feeding(study, layout_of(study)) for battery in item.batteries}
    for battery in batteries:
        lithium = battery.chemistry in LITHIUM
        has_bms = battery.bms is not None
        if lithium or battery.chemistry is None:
            yield _supervised(battery, lithium, has_bms)
        if has_bms and battery.name in fed:
            loop = bare.get(battery.name)
            yield _finding(battery, loop) if loop is not None else Passed("bms-alone", (battery.name,))
        elif not has_bms and not lithium and battery.chemistry is not None:
            others += 1
    if others:
        yield DoesNotApply("neither lithium nor with a management system", others)


def _supervised(battery: Battery, lithium: bool, has_bms: bool) -> Outcome:
    if has_bms:
        return Passed("no-bms", (battery.name,))
    if not lithium:
        return NotChecked("no-bms", (battery.name,), "chemistry", battery.span, declare="LFP")
    if not battery.says_none(Battery.bms):
        return NotChecked("no-bms", (battery.name,), "management system", battery.span, declare="bms { cuts both }")
    return Finding(
        "no-bms",
        (battery.name,),
        f"{battery.name}: its cells are {battery.chemistry}, and it says that it has no management system; nothing keeps a cell from being over-charged.",
        battery.span,
        remedy="Use a battery with a management system, or fit one, and declare it.",
    )


def _without_device(study: Study) -> dict[str, Feeding]:
    """Return, of each battery that feeds something past no fuse or breaker at all, the loop that it does so in."""
    devices = frozenset(branch.gate for branch in study.circuit.branches if branch.device)
    found: dict[str, Feeding] = {}
    for loop in feeding(study, layout_of(study, devices)):
        taken = tuple(consumer for consumer in loop.consumers if consumer.kind not in _NO_DRAIN)
        if taken:
            for battery in loop.batteries:
                found.setdefault(battery.name, Feeding(loop.batteries, taken))
    return found


def _finding(battery: Battery, loop: Feeding) -> Finding:
    fed = sorted({consumer.part.name for consumer in loop.consumers})
    bms = battery.bms
    assert bms is not None
    limit = bms.discharge_current_limit
    what = (
        f"its management system ({shown(Amount(float(limit.nominal), 'current', limit.unit))})"
        if limit is not None
        else "its management system"
    )
    parts = {consumer.part.name: consumer.part.span for consumer in loop.consumers}
    return Finding(
        "bms-alone",
        (battery.name,),
        f"{battery.name}: {what} is all that limits a fault on the way to {listed(fed)}; its transistors can fail shut, and then nothing opens.",
        battery.span,
        remedy=f"Put a fuse or breaker that interrupts its short-circuit current at {battery.name}.plus.",
        related=tuple(Related(f"{name} is fed past no fuse", parts[name]) for name in fed[:4]),
    )
