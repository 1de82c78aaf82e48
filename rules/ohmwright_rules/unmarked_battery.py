"""Batteries without a label that says what is inside."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.batteries import nominal_voltage
from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Severity
from ohmwright.references import Reference
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright.values import Amount, shown
from ohmwright_grammar.kinds.battery import Battery

from ohmwright_rules.labelling import stated_at
from ohmwright_rules.wording import listed

RULE = Rule(
    id="unmarked-battery",
    title="Battery without chemistry and energy on its label",
    family="labels",
    subject="battery",
    covers=("M11",),
    grades=(Grade("no-label", Severity.NOTE, "no label at a battery states its chemistry and its energy", "circuit"),),
    references=(Reference("marks for carriage, fire service and recycling", "", "", "from-memory"),),
)
_GRADE = "no-label"


def check(study: Study) -> Iterator[Outcome]:
    """Read the labels at every battery, and at the case of a pack that it is alone in."""
    bare: list[Battery] = []
    batteries = sorted(study.of(Battery), key=lambda part: part.name)
    for battery in batteries:
        if {"chemistry", "energy"} <= stated_at(study, (battery.name, battery.name.rpartition(".")[0])):
            yield Passed(_GRADE, (battery.name,))
        else:
            bare.append(battery)
    if not batteries:
        yield DoesNotApply("there is no battery")
    if bare:
        names = [battery.name for battery in bare]
        yield Finding(
            _GRADE,
            tuple(names),
            f"{listed(names)}: no label states chemistry and energy; a carrier, the fire service and whoever recycles it cannot tell what is inside.",
            bare[0].span,
            Amount(float(len(bare)), "count"),
            Amount(0.0, "count"),
            remedy=f"Put a label there: {_text(bare[0])!r}, with the date made and the mark for carriage; or: site {{ labels as generated }}",
        )


def _text(battery: Battery) -> str:
    volt = nominal_voltage(battery)
    words = [battery.chemistry or "chemistry"]
    if volt is not None and battery.capacity is not None:
        words.append(shown(Amount(volt * float(battery.capacity.charge.nominal), "energy", "Wh")))
    else:
        words.append("energy in Wh")
    return ", ".join(words)
