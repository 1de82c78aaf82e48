"""A mains inlet whose earth is joined to nothing, or that stands behind no breaker of its own."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step, common_practice
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.charging import MainsPort
from ohmwright_grammar.kinds.connector import Half
from ohmwright_grammar.kinds.enclosure import Enclosure
from ohmwright_grammar.kinds.fuse import Fuse
from ohmwright_grammar.quantities import Ampere, Quantity
from ohmwright_grammar.spans import Span

from ohmwright_rules.conductors import cable_of
from ohmwright_rules.mains_ports import Port, cases_around, joined_to, mains_ports, mains_reach, without_port
from ohmwright_rules.wording import named

RULE = Rule(
    id="earthless-inlet",
    title="Mains inlet without its earth or its breaker",
    family="mains",
    subject="charger or inverter",
    covers=("I14",),
    grades=(
        Grade("no-earth", Severity.ERROR, "the earth of mains is not joined to a metal case"),
        Grade(
            "no-breaker", Severity.WARNING, "no breaker or fuse protects the inlet and its cord, or it is too large for them"
        ),
    ),
    references=(
        Reference("an inverter maker's manual", "", "the case is to be earthed", "read"),
        common_practice("a breaker no larger than inlet and cord"),
    ),
)


def check(study: Study) -> Iterator[Outcome]:
    """Look at the earth and at the breaker of every part with a port for mains."""
    for port in mains_ports(study):
        yield _earth(study, port)
        yield _breaker(study, port)
    without = without_port(study)
    if without:
        yield DoesNotApply("no port for mains", without)


# earth -------------------------------------------------------------------------------------------------------------


def _earth(study: Study, port: Port) -> Outcome:
    part = port.part
    subject = (part.name,)
    cases = [case for case in cases_around(study, part.name) if case.of_metal]
    wired = joined_to(study, (port.earth, port.case))
    said = {name.rpartition(".")[0] or name for name in part.earth_pin_joined_to or ()}
    is_none = part.says_none(MainsPort.earth_pin_joined_to)
    at_pin = joined_to(study, (port.earth,))
    to_inlet = any(isinstance(study.part(study.build.nodes.get(node, "")), Half) for node in at_pin)
    at_inlet = joined_to(study, _inlet_earths(study, port))
    elsewhere = any(node.rpartition(".")[0] != part.name for node in wired)
    known = bool(said) or is_none or elsewhere
    bare = [case.name for case in cases if case.name not in {*said, *at_inlet} and not (to_inlet and case.name in wired)]
    own = part.metal_case is True and part.name not in said and not to_inlet and port.case not in at_inlet
    if not bare and not own:
        unsaid = next((case for case in cases_around(study, part.name) if case.of_metal is None), None)
        if unsaid is not None and not to_inlet:
            return Missing(f"material of {unsaid.name}", unsaid.span, "polycarbonate").outcome("no-earth", subject)
        if part.metal_case is None and not part.says_none(MainsPort.metal_case) and not to_inlet and part.name not in said:
            return Missing("whether its case is metal", part.span, "not metal case").outcome("no-earth", subject)
        return Passed("no-earth", subject)
    metal = ([f"the metal case of {part.name}"] if own else []) + bare
    if not known and not _is_wired(study, port):
        missing = f"what the earth pin of its inlet is joined to ({named(metal)} is of metal)"
        return Missing(missing, part.span, f"earth pin joined to {', '.join([part.name] * own + bare)}").outcome(
            "no-earth", subject
        )
    spans: list[tuple[str, Span]] = [(case.name, case.place_of(Enclosure.material)) for case in cases if case.name in bare]
    return Finding(
        "no-earth",
        (part.name, *bare),
        f"{part.name}: the earth of its mains inlet is not joined to {named(metal)}. A fault from a live conductor to that metal trips nothing and leaves"
        " it live.",
        part.span,
        remedy=f"Join the earth pin of the inlet to {named(metal)} with a wire no thinner than the live one.",
        related=tuple(Related(f"{name}: a case of metal", span) for name, span in spans),
    )


def _inlet_earths(study: Study, port: Port) -> list[str]:
    """Return the earth pins of the inlet that feeds a port: those of its pins that carry no mains and are not said to be another pole."""
    mains = mains_reach(study, port.live) | mains_reach(study, port.neutral)
    found = []
    for name in sorted({study.build.nodes.get(node, "") for node in mains}):
        half = study.part(name)
        if isinstance(half, Half):
            pins = [pin for pin in half.pins or () if pin.polarity in (None, "PE")]
            found += [f"{name}.{pin.name}" for pin in pins if f"{name}.{pin.name}" not in mains]
    return found


def _is_wired(study: Study, port: Port) -> bool:
    """Tell whether the build shows the way from the inlet to the port, so that an earth that is not shown is not there."""
    return len(joined_to(study, (port.live,))) > 1


# breaker -----------------------------------------------------------------------------------------------------------


def _breaker(study: Study, port: Port) -> Outcome:
    part = port.part
    subject = (part.name,)
    devices = _devices(study, port)
    limit, what, span = _weakest(study, port)
    if part.inlet_protection is not None:
        devices.append((part.inlet_protection, "its mains breaker or fuse", part.place_of(MainsPort.inlet_protection)))
    if not devices:
        if part.says_none(MainsPort.inlet_protection):
            most = f" of {shown(limit)} or less" if limit is not None else ""
            return Finding(
                "no-breaker",
                subject,
                f"{part.name}: its mains inlet has no breaker or fuse of its own; a fault in its cord draws whatever the wall gives.",
                part.place_of(MainsPort.inlet_protection),
                limit=limit,
                remedy=f"Put a breaker or fuse{most} behind the inlet.",
                reference=RULE.references[1],
            )
        return Missing("breaker or fuse of its mains inlet", part.span, "mains fuse 5 A").outcome("no-breaker", subject)
    if limit is None:
        return Missing("rating of its mains inlet", part.span, "mains inlet 10 A").outcome("no-breaker", subject)
    rating, name, place = min(devices, key=lambda item: item[0].high)
    measured = Amount(float(rating.high), "current", rating.unit)
    if not is_broken(measured.value, limit.value, "at-most"):
        return Passed("no-breaker", subject, measured, limit)
    has, allowed = shown_pair(measured, limit)
    return Finding(
        "no-breaker",
        subject,
        f"{part.name}: {name} is for {has}; {what} bears {allowed}.",
        place,
        measured,
        limit,
        working=(Step("I_limit", what, limit.value, "A", "as declared"),),
        remedy=f"Use a breaker or fuse of {allowed} or less.",
        related=(Related(what, span),),
        reference=RULE.references[1],
    )


def _devices(study: Study, port: Port) -> list[tuple[Quantity[Ampere], str, Span]]:
    """Return the breakers and fuses on the live conductor between the port and its inlet."""
    near = mains_reach(study, port.live)
    found = []
    for branch in study.circuit.ac_branches:
        device = study.part(branch.part)
        if branch.device and isinstance(device, Fuse) and device.rated_current is not None and branch.start in near:
            found.append((device.rated_current, device.name, device.span))
    return found


def _weakest(study: Study, port: Port) -> tuple[Amount | None, str, Span]:
    """Return what the weaker of inlet and cord bears, how it is called, and where it stands."""
    part = port.part
    found: list[tuple[Amount, str, Span]] = []
    if part.inlet_rating is not None:
        rating = part.inlet_rating
        found.append((Amount(float(rating.low), "current", rating.unit), "its inlet", part.place_of(MainsPort.inlet_rating)))
    near = mains_reach(study, port.live)
    for node in sorted(near):
        half = study.part(study.build.nodes.get(node, ""))
        if isinstance(half, Half) and half.rated_current is not None:
            found.append((Amount(float(half.rated_current.low), "current", half.rated_current.unit), half.name, half.span))
    for branch in study.circuit.ac_branches:
        if branch.conductor is not None and branch.start in near:
            cable = cable_of(study, branch)
            marked = cable.current_marking if cable is not None else None
            if cable is not None and marked is not None:
                found.append((Amount(float(marked.low), "current", marked.unit), cable.name, cable.span))
    if not found:
        return None, "", part.span
    return min(found, key=lambda item: item[0].value)
