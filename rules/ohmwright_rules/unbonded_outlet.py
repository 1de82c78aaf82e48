"""The earth of an outlet, or the case of an inverter, that is joined to nothing."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright_grammar.kinds.connector import Half
from ohmwright_grammar.kinds.inverter import Inverter

from ohmwright_rules.mains_outlets import earth_pin, feeding_inverters, outlet_halves
from ohmwright_rules.mains_ports import cases_around, joined_to
from ohmwright_rules.wording import listed

RULE = Rule(
    id="unbonded-outlet",
    title="Earth of an outlet or inverter not bonded through",
    family="mains",
    subject="outlet or inverter",
    covers=("I10",),
    grades=(
        Grade("earth-pin", Severity.WARNING, "the earth pin of an outlet is not joined to the case of its inverter", "circuit"),
        Grade("case", Severity.WARNING, "the case of an inverter is not joined to the metal case around it", "circuit"),
    ),
    references=(Reference("an inverter maker's manual", "", "the case is to be earthed", "read"),),
)


def check(study: Study) -> Iterator[Outcome]:
    """Follow the earth from every outlet to its inverter, and from there to the case around it."""
    without = 0
    inverters = feeding_inverters(study)
    for part in inverters:
        for half in outlet_halves(study, part):
            pin = earth_pin(half)
            if pin is None:
                without += 1
            else:
                yield _pin(study, part, half, f"{half.name}.{pin.name}")
        yield _case(study, part)
    if not inverters:
        yield DoesNotApply("nothing is joined to the output of an inverter")
    if without:
        yield DoesNotApply("an outlet without an earth pin", without)


def _ends(part: Inverter) -> tuple[str, ...]:
    return tuple(f"{part.name}.{terminal}" for terminal in ("PE", "case"))


def _pin(study: Study, part: Inverter, half: Half, node: str) -> Outcome:
    near = joined_to(study, (node,))
    subject = (half.name, part.name)
    cases = {case.name for case in cases_around(study, part.name) if case.of_metal}
    if not near.isdisjoint(_ends(part)) or (cases & near and cases & joined_to(study, _ends(part))):
        return Passed("earth-pin", subject)
    if cases & near and not part.metal_case:
        return Passed("earth-pin", subject)  # the metal around it is what can become live
    return Finding(
        "earth-pin",
        subject,
        f"{half.name}: its earth pin {node.rpartition('.')[2]} is not joined to the earth or case of {part.name}; the metal case of a tool that is plugged in "
        "there stays live after a fault.",
        half.span,
        remedy=f"Join the earth pin to {part.name}.PE (or its case) with a wire no thinner than the live one.",
        related=(Related(f"the inverter {part.name}", part.span),),
    )


def _case(study: Study, part: Inverter) -> Outcome:
    subject = (part.name,)
    around = cases_around(study, part.name)
    metal = [case for case in around if case.of_metal]
    if not metal:
        silent = next((case for case in around if case.of_metal is None), None)
        if silent is not None:
            return Missing(f"material of {silent.name}", silent.span, "polycarbonate").outcome("case", subject)
        return Passed("case", subject)
    near = joined_to(study, _ends(part))
    bare = [case for case in metal if case.name not in near]
    if not bare:
        return Passed("case", subject)
    if part.metal_case is None:
        return Missing("whether its case is metal", part.span, "not metal case").outcome("case", subject)
    earthed = any(earth_pin(half) is not None for half in outlet_halves(study, part))
    if part.metal_case is False and not earthed:
        return Passed("case", subject)  # two insulated wires: nothing of it can be bonded
    names = listed([case.name for case in bare])
    own = "its metal case" if part.metal_case else "the earth of its outlet"
    return Finding(
        "case",
        (part.name, *(case.name for case in bare)),
        f"{part.name}: {own} is not joined to the metal case {names}; after a fault the two stand at different voltages, and a hand joins them.",
        part.span,
        remedy=f"Join {part.name}.case (or its earth) to {names} with a wire no thinner than the live one.",
        related=tuple(Related(f"{case.name}: a case of metal", case.span) for case in bare),
    )
