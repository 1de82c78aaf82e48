"""From the model of a build to its circuit."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator

from ohmwright_grammar.kinds.connector import Half
from ohmwright_grammar.kinds.enclosure import Enclosure
from ohmwright_grammar.kinds.site import Site, Zone
from ohmwright_grammar.model import Build, Run
from ohmwright_grammar.quantities import Gauge

from ohmwright.circuit.climate import ROOM_TEMPERATURE
from ohmwright.circuit.graph import Branch, Circuit, Consumer, Source
from ohmwright.circuit.parts import contributions_of
from ohmwright.constants.metals import resistance_per_metre, temperature_coefficient

__all__ = ["CONTACT_OHM", "conductor_ohm", "make_circuit", "mating_gate"]

CONTACT_OHM = 0.0005  # readings.md, Solver: a contact that says nothing (common practice, no source)


def mating_gate(name: str) -> str:
    """Return the gate of a mating: it is open while its halves are apart."""
    return name


def conductor_ohm(run: Run) -> tuple[float, float, bool]:
    """Return the resistance of a conductor at 20 degC [ohm], its coefficient [1/K], and whether it had to be assumed.

    A measured resistance counts as it is, at every temperature. Without gauge or length nothing can be said: 0 ohm, assumed (rule missing-length).
    """
    conductor = run.conductor
    if conductor.measured_resistance is not None:
        return float(conductor.measured_resistance.high), 0.0, False
    gauge, length = conductor.gauge, conductor.length
    if not isinstance(gauge, Gauge) or length is None:
        return 0.0, 0.0, True
    metal = "tinned" if conductor.metal == "tinned copper" else conductor.metal or "copper"
    per_metre = resistance_per_metre(gauge, metal, conductor.stranding or "")
    return per_metre * length.high, temperature_coefficient(metal), False


def make_circuit(build: Build) -> Circuit:
    """Return the circuit of a build: every conductor, joint, contact and part as branches, sources and consumers."""
    branches: list[Branch] = []
    touched: set[str] = set()
    warmth = _warmth_of_zones(build)
    for run in build.runs:
        ohm, alpha, assumed = conductor_ohm(run)
        touched.update((run.start, run.end))
        branches.append(
            Branch(
                run.name, "wire", run.start, run.end, run.cable or run.name, ohm, run.conductor.span, "", alpha, _zone_of(build, run, warmth),
                assumed, run.conductor,
            )
        )  # fmt: skip
    for number, joint in enumerate(build.joints):
        touched.update((joint.first, joint.second))
        branches.append(
            Branch(
                f"joint {number + 1}: {joint.first} on {joint.second}", "joint", joint.first, joint.second, "", 0.0, joint.span
            )
        )
    live_pins = set(touched)
    for mating in build.matings:
        first, second = build.parts[mating.first], build.parts[mating.second]
        said = [
            half.contact_resistance
            for half in (first, second)
            if isinstance(half, Half) and half.contact_resistance is not None
        ]
        ohm = max((float(quantity.high) for quantity in said), default=CONTACT_OHM)
        for here, there in mating.pins:
            one, two = f"{mating.first}.{here}", f"{mating.second}.{there}"
            if one not in live_pins and two not in live_pins:
                continue
            touched.update((one, two))
            name = f"{one} to {two}"
            branches.append(
                Branch(name, "contact", one, two, mating.name, ohm, mating.span, mating_gate(mating.name), assumed=not said)
            )
    sources: list[Source] = []
    consumers: list[Consumer] = []
    reached = frozenset(touched)
    for part in build.parts.values():
        for item in contributions_of(part, reached):
            if isinstance(item, Branch):
                branches.append(item)
                touched.update((item.start, item.end))
            elif isinstance(item, Source):
                sources.append(item)
                touched.update((item.plus, item.minus))
            else:
                consumers.append(item)
                touched.update((item.plus, item.minus))
    poles = {pole for source in sources for pole in (source.plus, source.minus)}
    poles |= {pole for consumer in consumers for pole in (consumer.plus, consumer.minus)}
    ac_nodes = _ac_nodes(build, branches, poles)
    kept = [branch for branch in branches if branch.start not in ac_nodes and branch.end not in ac_nodes]
    mains = [branch for branch in branches if branch.start in ac_nodes and branch.end in ac_nodes]
    cases = frozenset(part.name for part in build.parts.values() if isinstance(part, Enclosure))
    return Circuit.of(sorted(touched - ac_nodes), kept, sources, consumers, ac_nodes, cases, mains)


def _warmth_of_zones(build: Build) -> dict[str, float]:
    """Return how warm each zone gets [degC]; a zone that does not say is as warm as the site, outside ("") is colder than any such."""
    site = build.one(Site)
    outside = float(site.ambient.high) if site is not None and site.ambient is not None else ROOM_TEMPERATURE
    found = {zone.name: float(zone.temperature.high) if zone.temperature is not None else outside for zone in build.of(Zone)}
    return {**found, "": outside - 1e-6}


def _zone_of(build: Build, run: Run, warmth: dict[str, float]) -> str:
    """Return the zone of a conductor: its own, else the hotter one of those that the parts at its ends lie in."""
    own = build.zones.get(run.name)
    if own is not None or len(warmth) == 1:
        return own or ""
    ends = [build.zones.get(build.nodes.get(node, ""), "") for node in (run.start, run.end)]
    return max(ends, key=lambda zone: warmth.get(zone, warmth[""]))


def _ac_nodes(build: Build, branches: list[Branch], poles: set[str]) -> frozenset[str]:
    """Return every node that mains or an inverter's output can reach; protective earth, cases and whatever hangs on a DC pole left out.

    What joins such a node with one that is left out (a neutral that is bonded, or a mistake) is in neither graph.
    """
    live: set[str] = set()
    earth: set[str] = set()
    for part in build.parts.values():
        for terminal in part.AC_TERMINALS:
            (earth if terminal.endswith("PE") else live).add(f"{part.name}.{terminal}")
        if isinstance(part, Half):
            live.update(f"{part.name}.{pin.name}" for pin in part.pins or () if pin.polarity in ("L", "N"))
    if not live:
        return frozenset()
    at: dict[str, list[str]] = {}
    for branch in branches:
        at.setdefault(branch.start, []).append(branch.end)
        at.setdefault(branch.end, []).append(branch.start)
    cases = {name for name, part in build.parts.items() if isinstance(part, Enclosure)}
    for one, two in _slips(at, live, poles - live, earth | cases):
        at[one] = [node for node in at[one] if node != two]
        at[two] = [node for node in at[two] if node != one]
    direct = _reach(at, poles - live, live | cases)
    return frozenset(_reach(at, live, direct | earth | cases))


def _slips(at: dict[str, list[str]], live: set[str], poles: set[str], without: set[str]) -> Iterator[tuple[str, str]]:
    """Yield the ends of each joint that alone joins terminals of mains with DC poles, of several in a row the one next to the poles.

    A bond of the neutral to a bar of the DC side is one, so is a wire on the wrong screw.
    """
    seen: set[str] = set()
    for start in sorted(live):
        if start in seen:
            continue
        before = _ways_from(at, start, without)
        seen.update(before.keys() & live)
        goal = next((node for node in before if node in poles), None)
        while goal is not None and before[goal] is not None:
            near, far = before[goal], goal
            assert near is not None
            behind = _ways_from(at, far, without, (near, far)).keys()
            if near not in behind and live.isdisjoint(behind) and poles.isdisjoint(before.keys() - behind):
                yield near, far
                break
            goal = near


def _ways_from(
    at: dict[str, list[str]], start: str, without: set[str], but: tuple[str, str] | None = None
) -> dict[str, str | None]:
    """Return every node that is joined with a start, each with the one before it, the nearest first; without some nodes, and without one joint."""
    before: dict[str, str | None] = {start: None}
    queue = deque([start])
    while queue:
        here = queue.popleft()
        for other in at.get(here, ()):
            if other not in before and other not in without and but not in ((here, other), (other, here)):
                before[other] = here
                queue.append(other)
    return before


def _reach(at: dict[str, list[str]], starts: set[str], without: set[str]) -> set[str]:
    """Return the nodes that are joined with the starts, without going through some others."""
    queue = list(starts)
    seen = set(starts)
    while queue:
        for other in at.get(queue.pop(), ()):
            if other not in seen and other not in without:
                seen.add(other)
                queue.append(other)
    return seen
