"""Two AC sources that can be joined: an inverter and another, or an inverter and the mains."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright_grammar.kinds.inverter import Inverter
from ohmwright_grammar.kinds.switch import Selector

from ohmwright_rules.mains_outlets import ac_reach, ac_settings
from ohmwright_rules.mains_ports import mains_ports
from ohmwright_rules.wording import listed

RULE = Rule(
    id="meeting-sources",
    title="Two AC sources can meet",
    family="mains",
    subject="inverter",
    covers=("I7",),
    grades=(
        Grade("joined", Severity.ERROR, "a way joins the output of an inverter with another source of AC"),
        Grade("transfer", Severity.ERROR, "a transfer switch makes the second source before it breaks the first"),
    ),
    references=(
        Reference("a consumer regulator's warning of cords with two plugs", "", "live pins, two sources", "secondary"),
    ),
)


def check(study: Study) -> Iterator[Outcome]:
    """Look in every setting of the switches for a way from the output of an inverter to another source."""
    inverters = sorted(study.of(Inverter), key=lambda part: part.name)
    inlets = _inlets(study)
    for part in inverters:
        yield _joined(study, part, [other for other in inverters if other.name != part.name], inlets)
    ports = {port.part.name for port in mains_ports(study)}
    passing = 0
    for part in inverters:
        if part.name in ports:
            passing += 1
            yield _inside(part)
    for selector in sorted(study.of(Selector), key=lambda part: part.name):
        yield from _selector(study, selector, inverters, inlets)
    if not inverters:
        yield DoesNotApply("there is no inverter")
    elif not passing:
        yield DoesNotApply("no inverter has a port for another source", len(inverters))


def _inlets(study: Study) -> dict[str, str]:
    """Return the live pins of halves by which mains comes in: inlets without a mate, and plugs that fit a wall."""
    found: dict[str, str] = {}
    for half in sorted(study.build.halves(), key=lambda half: half.name):
        if half.name in study.anatomy.matings_of or half.direction not in ("inlet", "both"):
            continue
        for pin in half.pins or ():
            if pin.polarity in ("N", "PE"):
                continue
            node = f"{half.name}.{pin.name}"
            if node in study.circuit.ac_nodes:
                found[node] = half.name
    return found


def _joined(study: Study, part: Inverter, others: list[Inverter], inlets: dict[str, str]) -> Outcome:
    start = f"{part.name}.L"
    goals = {f"{other.name}.L": other.name for other in others} | inlets
    for opened in ac_settings(study):
        came = ac_reach(study, start, opened)
        for node, name in sorted(goals.items()):
            if node not in came:
                continue
            way: list[str] = []
            here = node
            while (branch := came[here]) is not None:
                if (branch.part or branch.name) not in way:
                    way.append(branch.part or branch.name)
                here = branch.other(here)
            what = "the output of " + name if isinstance(study.part(name), Inverter) else f"mains at {name}"
            if isinstance(study.part(name), Inverter) and name < part.name:
                continue  # told at the first of the two
            return Finding(
                "joined",
                (part.name, name),
                f"{part.name}: its output is joined with {what}, through {listed(reversed(way))}. Two sources of AC fight, or the pins of a lifted plug are live.",
                part.span,
                remedy="Take the way out, or put a transfer switch there that breaks one source before it makes the other.",
                related=(Related(f"the other source, {name}", study.span(name)),),
            )
    return Passed("joined", (part.name,))


def _inside(part: Inverter) -> Outcome:
    subject = (part.name,)
    if part.transfer_breaks_first:
        return Passed("transfer", subject)
    if part.transfer_breaks_first is None:
        missing = Missing("whether its transfer breaks before it makes", part.span, "transfer breaks before it makes")
        return missing.outcome("transfer", subject)
    return Finding(
        "transfer",
        subject,
        f"{part.name}: its transfer does not break before it makes; for a moment its own output and the mains are joined.",
        part.place_of(Inverter.transfer_breaks_first),
        remedy="Use one whose transfer breaks one source before it makes the other.",
    )


def _selector(study: Study, selector: Selector, inverters: list[Inverter], inlets: dict[str, str]) -> Iterator[Outcome]:
    """Judge a selector that chooses between sources of AC."""
    gates = {branch.gate for branch in study.circuit.ac_branches if branch.part == selector.name}
    if not gates:
        return
    goals = {f"{part.name}.L": part.name for part in inverters} | inlets
    met = {
        name
        for terminal in selector.terminals_named()
        for node, name in goals.items()
        if node in ac_reach(study, f"{selector.name}.{terminal}", frozenset(gates))
    }
    if len(met) < 2:
        return
    if not selector.makes_first:
        yield Passed("transfer", (selector.name,))
        return
    yield Finding(
        "transfer",
        (selector.name, *sorted(met)),
        f"{selector.name}: it makes the next position before it breaks the last, and {listed(sorted(met))} are joined meanwhile.",
        selector.place_of(Selector.makes_first),
        remedy="Use a selector that breaks before it makes, with an off position between.",
    )
