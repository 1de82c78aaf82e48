"""What an interlock loop carries at most, and which of its contacts and conductors bears least."""

from __future__ import annotations

from ohmwright.circuit.graph import Branch
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step, common_practice
from ohmwright.study import Study
from ohmwright_grammar.kinds.connector import Half, Pin
from ohmwright_grammar.kinds.switch import Relay
from ohmwright_grammar.records import record

from ohmwright_rules.conductors import gauge_of, said_of_missing
from ohmwright_rules.guarding import Guarding
from ohmwright_rules.loops import Loop
from ohmwright_rules.sunside import Side, bright_current, sides
from ohmwright_rules.terminals import nearest, pin_at

__all__ = ["Carries", "Weakest", "carries", "weakest"]

_CONTACT = common_practice("ratings of contacts, as declared")


@record
class Carries:
    """What a loop carries at most [A], in which state, and why so much."""

    current: float
    state: str
    words: str
    step: Step


@record
class Weakest:
    """The part of a loop that bears least [A]: a contact or a conductor."""

    current: float
    words: str
    branch: Branch
    steps: tuple[Step, ...]
    reference: Reference


def carries(study: Study, loop: Loop) -> Carries | Missing:
    """Return the largest current of a loop: solved over all states, an enable input's, or the full current of the lead that it lies in."""
    best = Carries(0.0, "", "flows through it in no state", Step("I", "no state", 0.0, "A", "solved circuit"))
    for branch in loop.branches:
        for case in study.currents_of(branch.name):
            if case.current > best.current:
                words = f"flows through it in state {case.state.name!r}"
                best = Carries(
                    case.current,
                    case.state.name,
                    words,
                    Step("I", f"state {case.state.name!r}", case.current, "A", "solved circuit"),
                )
    declared = loop.declared.enable_current if loop.declared is not None else None
    if declared is not None and float(declared.high) > best.current:
        current = float(declared.high)
        best = Carries(current, "", "is what its enable input takes", Step("I", "enable input", current, "A", "as declared"))
    for coil, _ in loop.depends.coils:
        if isinstance(coil.part, Relay) and coil.part.coil_power is None and declared is None:
            return Missing(f"coil power of {coil.part.name}", coil.part.span, "coil 1.5 W")
    for inverter, _ in loop.depends.enables:
        if declared is None:
            return Missing(f"current that the enable input of {inverter.name} takes", loop.span, "enable current 20 mA")
    for controller in loop.depends.battery_leads:
        if controller.rated_current is None:
            return Missing(f"rated current of {controller.name}", controller.span, "20 A")
        current = float(controller.rated_current.high)
        if current > best.current:
            step = Step("I", f"rated current of {controller.name}", current, "A", "as declared")
            best = Carries(current, "", f"flow through it: it lies in the battery lead of {controller.name}", step)
    side_of = {side.controller.name: side for side in sides(study)}
    for controller in loop.depends.panel_leads:
        bright = _bright(study, side_of.get(controller.name))
        if isinstance(bright, Missing):
            return bright
        if bright > best.current:
            step = Step("I", f"arrays of {controller.name} in bright sun", bright, "A", "short-circuit current times 1.25")
            best = Carries(bright, "", f"flow through it: it lies in the panel lead of {controller.name}", step)
    return best


def _bright(study: Study, side: Side | None) -> float | Missing:
    if side is None:
        return 0.0
    found = bright_current(study, side)
    if isinstance(found, Missing):
        return found
    if not isinstance(found, str):
        return found.bright
    total = 0.0
    for array in side.arrays:
        if array.isc is None:
            return Missing(f"short-circuit current of {array.name}", array.span, "Isc 6 A")
        total += 1.25 * float(array.isc.high) * array.most_in_parallel
    return total


def weakest(study: Study, guard: Guarding | None, loop: Loop, most: float) -> tuple[Weakest | None, Missing | None]:
    """Return the contact or conductor of a loop that bears least, and the first datum without which another could bear less than `most` [A]."""
    found: list[Weakest] = []
    harsh: list[Weakest] = []
    missing: Missing | None = None
    for branch in loop.contacts:
        for node in (branch.start, branch.end):
            said = pin_at(study, node)
            if said is None:
                continue
            half, pin = said
            rated = nearest(pin, Pin.rated_current, half, Half.rated_current)
            if rated is None:
                missing = missing or Missing(f"current of the contacts of {half.name}", half.span, "10 A")
                continue
            step = Step("I_contact", node, float(rated.low), "A", "as declared")
            found.append(Weakest(float(rated.low), f"its contact {node}", branch, (step,), _CONTACT))
    for wire in loop.conductors:
        if guard is None:
            missing = missing or Missing("basis", wire.span, said_of_missing("basis"))
            continue
        facts = guard.facts(wire)
        words = f"{wire.name}, {gauge_of(wire)},"
        for known, bears in ((found, facts.kind), (harsh, None if facts.harsh is facts.kind else facts.harsh)):
            if bears is not None:
                known.append(Weakest(bears.value, words, wire, bears.steps, bears.weakest))
        if facts.missing and facts.harsh is not facts.kind and (facts.harsh is None or facts.harsh.value < most):
            missing = (
                missing or facts.datum or Missing(f"{facts.missing} of {wire.name}", wire.span, said_of_missing(facts.missing))
            )
    return min(found or harsh, key=lambda item: item.current, default=None), missing
