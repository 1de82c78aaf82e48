"""An interlock loop through spare pins: its current, its fuse, its loose ends, the side it breaks, and what opening it leaves behind."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step, common_practice
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.tables import load
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.controller import Controller
from ohmwright_grammar.quantities import Gauge

from ohmwright_rules.basis import TABLES
from ohmwright_rules.conductors import gauge_of, said_of_missing
from ohmwright_rules.fusing import FuseLimit, rating_at_most
from ohmwright_rules.guarding import Guarding, guarding, rating_of
from ohmwright_rules.laying import Unknown
from ohmwright_rules.loop_current import carries, weakest
from ohmwright_rules.loops import End, Loop, loops
from ohmwright_rules.nobattery import Way, way_when_open
from ohmwright_rules.sunside import Side, cold_of, sides
from ohmwright_rules.verdicts import times_allowed
from ohmwright_rules.wording import named

RULE = Rule(
    id="interlock-loop",
    title="Interlock loop through spare pins is not safe",
    family="connectors",
    subject="interlock loop",
    covers=("G6",),
    grades=(
        Grade("over-current", Severity.ERROR, "it carries more than its contacts or its conductors may"),
        Grade("oversized-fuse", Severity.ERROR, "the fuse that feeds it is too large for its conductor"),
        Grade("unfused-end", Severity.ERROR, "an end that stays live with the plug out has no fuse"),
        Grade("return-side", Severity.WARNING, "it breaks the return of a coil or enable input, not its supply"),
        Grade("panel-alone", Severity.ERROR, "opening it leaves a panel on a controller without a battery"),
    ),
    references=(
        Reference("NFPA 70 (NEC)", "not stated", "725.43, control wiring", "secondary"),
        Reference("46 CFR 120.380", "as on a law mirror, undated", "(c), interlock conductors", "read"),
        Reference("student electric vehicle rules", "", "the interlock opens the supply side of the coil", "secondary"),
        Reference("makers' instructions", "", "battery first on, panel first off", "secondary"),
        common_practice("ratings of contacts, as declared"),
    ),
)
NUMBERS = ("cord_fuse",)
_CONTROL = load(TABLES, "nec_725_43")
_NO_COIL = "it feeds neither a coil nor an enable input"
_NO_PANEL = "no controller has a panel"
_BATTERYLESS = "no end of it is live from a battery"


def check(study: Study) -> Iterator[Outcome]:
    """Look at all five sides of every interlock loop."""
    left: Counter[str] = Counter()
    guard = guarding(study)
    found = loops(study)
    if not found:
        yield DoesNotApply("there is no interlock loop, and no jumper between two spare pins")
    for loop in found:
        yield from _current(study, guard, loop)
        yield from _fuse(study, guard, loop, left)
        yield from _ends(study, loop)
        yield from _side(loop, left)
        yield from _panel(study, loop, left)
    for condition, count in sorted(left.items()):
        yield DoesNotApply(condition, count)


# (a) current -------------------------------------------------------------------------------------------------------


def _current(study: Study, guard: Guarding | None, loop: Loop) -> Iterator[Outcome]:
    most = carries(study, loop)
    if isinstance(most, Missing):
        yield most.outcome("over-current", loop.subject)
        return
    least, missing = weakest(study, guard, loop, most.current)
    measured = Amount(most.current, "current")
    if least is not None and is_broken(most.current, least.current, "at-most"):
        flows, bears = shown_pair(measured, Amount(least.current, "current"))
        yield Finding(
            "over-current",
            loop.subject,
            f"{loop.words}: {flows} {most.words}; {least.words} bears {bears}.",
            loop.span,
            measured,
            Amount(least.current, "current"),
            state=most.state,
            working=(*least.steps, most.step),
            remedy=_other_way(loop, flows),
            related=(Related(least.words, least.branch.span),),
            reference=least.reference,
        )
    elif missing is not None:
        yield missing.outcome("over-current", loop.subject)
    elif least is not None:
        yield Passed("over-current", loop.subject, measured, Amount(least.current, "current"), state=most.state)


def _other_way(loop: Loop, flows: str) -> str:
    if loop.depends.is_power:
        return f"Let the loop carry the coil of a relay that switches the lead, or build contacts and wires of it for {flows}."
    return f"Use contacts and wires for {flows} or more, or a coil that takes less."


# (b) fuse ----------------------------------------------------------------------------------------------------------


def _fuse(study: Study, guard: Guarding | None, loop: Loop, left: Counter[str]) -> Iterator[Outcome]:
    devices = _devices(study, loop)
    if not devices:
        left[_BATTERYLESS] += 1
        return
    if guard is None:
        yield Missing("basis", loop.span, said_of_missing("basis")).outcome("oversized-fuse", loop.subject)
        return
    worst: tuple[float, Branch, float, FuseLimit | None, float, Branch] | None = None
    missing: Missing | None = None
    for device in devices:
        rating = rating_of(study, device)
        if rating is None:
            missing = missing or Missing(f"rated current of {device.part}", device.span, "1 A")
            continue
        for wire in loop.conductors:
            limit = _limit(guard, wire, device, loop.depends.is_power)
            if isinstance(limit, Missing):
                missing = missing or limit
                continue
            value, found = limit
            share = times_allowed(rating, value)
            if worst is None or share > worst[0]:
                worst = share, device, rating, found, value, wire
    if worst is not None and is_broken(worst[2], worst[4], "at-most"):
        yield _too_large(guard, loop, worst[1], worst[2], worst[3], worst[4], worst[5])
    elif missing is not None:
        yield missing.outcome("oversized-fuse", loop.subject)
    elif worst is not None:
        yield Passed("oversized-fuse", loop.subject, Amount(worst[2], "current"), Amount(worst[4], "current"))


def _devices(study: Study, loop: Loop) -> tuple[Branch, ...]:
    """Return the nearest device between each end of a loop and each battery that keeps it live, the plugs of the loop out."""
    gates = frozenset(loop.matings)
    found: dict[str, Branch] = {}
    for end in loop.ends:
        for source in end.sources:
            if source.kind == "battery":
                way = study.circuit.path(end.node, (source.plus,), open_gates=gates) or ()
                device = next((branch for branch in way if branch.device), None)
                if device is not None:
                    found[device.name] = device
    return tuple(found[name] for name in sorted(found))


def _limit(guard: Guarding, wire: Branch, device: Branch, is_power: bool) -> tuple[float, FuseLimit | None] | Missing:
    """Return the largest fuse for a conductor of a loop [A]: the basis' limit, and that of control wiring where the loop carries no power."""
    facts = guard.facts(wire)
    control = None if is_power else _control_limit(wire)
    missing = facts.datum or Missing(f"{facts.missing} of {wire.name}", wire.span, said_of_missing(facts.missing))
    if isinstance(facts.laying, Unknown):
        return missing if control is None else (control, None)
    volt = guard.voltage(wire, facts.laying)
    rating = rating_of(guard.study, device) or 0.0
    kind, harsh = (guard.limit(rated, volt, device) if rated is not None else None for rated in (facts.kind, facts.harsh))
    if isinstance(kind, Unknown):
        return Missing(f"{kind.missing} of {wire.name}", wire.span, said_of_missing(kind.missing))
    firm = kind
    if facts.harsh is not facts.kind and (kind is None or rating <= kind.value):
        if isinstance(harsh, FuseLimit) and rating <= harsh.value:
            firm = harsh  # it holds even with what nobody said at its harshest
        elif control is None or rating <= control:
            return missing
    if control is not None and (firm is None or control < firm.value):
        return control, None
    return (firm.value, firm) if firm is not None else missing


def _control_limit(wire: Branch) -> float | None:
    """Return the largest device of control wiring for a size [A] (NEC 725.43): up to 18 AWG 7 A, up to 16 AWG 10 A; None for thicker ones."""
    gauge = wire.conductor.gauge if wire.conductor is not None else None
    if not isinstance(gauge, Gauge):
        return None
    for key in ("18", "16"):
        cell = _CONTROL.cell(key, "most_A")
        if cell is not None and gauge.area <= Gauge.from_awg(int(key)).area * 1.02:
            return cell.value
    return None


def _too_large(
    guard: Guarding, loop: Loop, device: Branch, rating: float, found: FuseLimit | None, value: float, wire: Branch
) -> Finding:
    has, allowed = shown_pair(Amount(rating, "current"), Amount(value, "current"))
    steps = (
        found.steps
        if found is not None
        else (Step("I_fuse", f"control wiring, {gauge_of(wire)}", value, "A", str(_CONTROL.reference)),)
    )
    fits = rating_at_most(guard.basis, value)
    size = f" of {shown(Amount(fits, 'current'))} or less" if fits is not None else ""
    return Finding(
        "oversized-fuse",
        loop.subject,
        f"{loop.words}: {device.part} of {has} feeds it; {wire.name}, {gauge_of(wire)}, may lie behind {allowed} at most.",
        loop.span,
        Amount(rating, "current"),
        Amount(value, "current"),
        working=steps,
        remedy=f"Give the loop a fuse of its own{size} where it leaves the feeder.",
        related=(
            Related(f"{device.part}, the fuse that feeds it", device.span),
            Related(f"{wire.name}, its thinnest conductor", wire.span),
        ),
        reference=found.weakest if found is not None else RULE.references[0],
    )


# (c) ends ----------------------------------------------------------------------------------------------------------


def _ends(study: Study, loop: Loop) -> Iterator[Outcome]:
    gates = frozenset(loop.matings)
    bare: list[tuple[End, str]] = []
    for end in loop.ends:
        near = study.circuit.reach(end.node, lambda branch: not branch.device, gates)
        source = next((source for source in end.sources if source.kind == "battery" and source.plus in near), None)
        if source is not None:
            bare.append((end, source.name))
    if not bare:
        yield Passed("unfused-end", loop.subject)
        return
    where = named(f"{end.node} (from {name})" for end, name in bare)
    yield Finding(
        "unfused-end",
        loop.subject,
        f"{loop.words}: with its plug out, {where} stays live without any fuse between. A pinched loop wire then carries all that the battery gives.",
        loop.span,
        remedy=f"Put a fuse of 1 A to 5 A where {named(end.node for end, _ in bare)} leaves the battery's lead.",
        related=tuple(Related(f"{name} keeps it live", study.span(name)) for _, name in bare),
        reference=RULE.references[1],
    )


# (d) side ----------------------------------------------------------------------------------------------------------


def _side(loop: Loop, left: Counter[str]) -> Iterator[Outcome]:
    coils, enables = loop.depends.coils, loop.depends.enables
    if not coils and not enables:
        left[_NO_COIL] += 1
        return
    wrong = [coil.part.name for coil, is_return in coils if is_return]
    wrong += [inverter.name for inverter, is_return in enables if is_return]
    if not wrong:
        yield Passed("return-side", loop.subject)
        return
    yield Finding(
        "return-side",
        loop.subject,
        f"{loop.words}: it breaks the return of {named(wrong)}. A loop wire that is pinched to the case or to minus looks like a plug that is in.",
        loop.span,
        remedy="Put the loop between the supply and the coil's plus, and join the coil's minus straight to the return.",
        related=tuple(Related(f"{coil.part.name}: its coil", coil.part.span) for coil, is_return in coils if is_return),
        reference=RULE.references[2],
    )


# (e) panel without battery -----------------------------------------------------------------------------------------


def _panel(study: Study, loop: Loop, left: Counter[str]) -> Iterator[Outcome]:
    with_panel = [side for side in sides(study) if side.arrays]
    if not with_panel:
        left[_NO_PANEL] += 1
        return
    ways = [
        (side, way)
        for side in with_panel
        if not side.controller.bears_no_battery
        for mating in loop.matings
        if (way := way_when_open(study, side, frozenset((mating,)))) is not None
    ]
    if not ways:
        yield Passed("panel-alone", loop.subject)
        return
    side, way = ways[0]
    controller = side.controller
    if controller.bears_no_battery is None and not controller.says_none(Controller.bears_no_battery):
        missing = Missing(f"whether {controller.name} bears PV with no battery", controller.span, "needs its battery")
        yield missing.outcome("panel-alone", loop.subject)
        return
    exposed = _exposed(study, side, way)
    load_words = f" {exposed} stays on its output." if exposed else ""
    yield Finding(
        "panel-alone",
        (*loop.subject, controller.name),
        f"{loop.words}: pulling its plug ({way.words}) leaves {side.names} on {controller.name} without a battery; its output may follow the"
        f" panel.{load_words}",
        loop.span,
        state=way.words,
        remedy="Let the loop open the panel's lead as well, or before the battery's.",
        related=(Related(controller.name, controller.span),),
        reference=RULE.references[3],
        at_most=None if exposed else Severity.WARNING,
    )


def _exposed(study: Study, side: Side, way: Way) -> str:
    """Return a load that stays on the output and bears less than the cold panel, "" where none is known to."""
    cold = cold_of(study, side.arrangements, plugged=True)
    if isinstance(cold, Missing):
        return ""
    for item in way.exposed:
        if item.bears is not None and is_broken(cold.volt, float(item.bears.high), "at-most"):
            return item.part.name
    return ""
