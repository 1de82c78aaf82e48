"""Mains ports and earths: which parts have a port for mains, and what their live, neutral and earth terminals are joined to."""

from __future__ import annotations

from collections.abc import Iterable

from ohmwright.study import Study
from ohmwright_grammar.kinds.charging import Charger, MainsPort
from ohmwright_grammar.kinds.enclosure import Enclosure
from ohmwright_grammar.kinds.inverter import Inverter, InverterCharger
from ohmwright_grammar.records import record

from ohmwright_rules.casing import case_of
from ohmwright_rules.kept import kept

__all__ = ["Port", "cases_around", "joined_to", "mains_ports", "mains_reach", "without_port"]


@record
class Port:
    """A part with a port for mains, and the terminals of that port."""

    part: MainsPort
    live: str
    neutral: str
    earth: str
    case: str


def mains_ports(study: Study) -> tuple[Port, ...]:
    """Return every part with a port for mains, in name order; a charger that does not say its kind counts as one on mains."""
    return kept(study, _ports)


def without_port(study: Study) -> int:
    """Return how many chargers and inverters have no port for mains."""
    return sum(1 for part in study.of(MainsPort)) - len(mains_ports(study))


def _ports(study: Study) -> tuple[Port, ...]:
    wired = kept(study, _wired)
    found = []
    for part in sorted(study.of(MainsPort), key=lambda part: part.name):
        name = part.name
        if isinstance(part, Inverter):
            shore = any(f"{name}.{terminal}" in wired for terminal in ("shore_L", "shore_N", "shore_PE"))
            if isinstance(part, InverterCharger) or shore:
                found.append(Port(part, f"{name}.shore_L", f"{name}.shore_N", f"{name}.shore_PE", f"{name}.case"))
        elif isinstance(part, Charger) and "L" in part.TERMINALS and part.kind_of_charger in (None, "mains"):
            if part.kind_of_charger is None and f"{name}.in_plus" in wired:
                continue
            found.append(Port(part, f"{name}.L", f"{name}.N", f"{name}.PE", f"{name}.case"))
    return tuple(found)


def _wired(study: Study) -> dict[str, tuple[str, ...]]:
    """Return every node that a wire, joint or plug ends at, with the nodes at the other ends."""
    near: dict[str, list[str]] = {}

    def join(one: str, two: str) -> None:
        near.setdefault(one, []).append(two)
        near.setdefault(two, []).append(one)

    for run in study.build.runs:
        join(run.start, run.end)
    for joint in study.build.joints:
        join(joint.first, joint.second)
    for mating in study.build.matings:
        for here, there in mating.pins:
            join(f"{mating.first}.{here}", f"{mating.second}.{there}")
    return {node: tuple(others) for node, others in near.items()}


def joined_to(study: Study, starts: Iterable[str]) -> set[str]:
    """Return the nodes that wires, joints and plugs join with some nodes, the starts included; nothing leads through a part but from its earth to its case."""
    near = kept(study, _wired)
    queue = list(starts)
    seen = set(queue)
    while queue:
        node = queue.pop()
        for other in (*near.get(node, ()), *_inside(study, node)):
            if other not in seen:
                seen.add(other)
                queue.append(other)
    return seen


def _inside(study: Study, node: str) -> tuple[str, ...]:
    """Return the earth and case terminals of the same charger or inverter, which are one inside it."""
    name, _, terminal = node.rpartition(".")
    if terminal in ("PE", "shore_PE", "case") and isinstance(study.build.parts.get(name), MainsPort):
        return tuple(f"{name}.{other}" for other in ("PE", "shore_PE", "case") if other != terminal)
    return ()


def mains_reach(study: Study, start: str) -> set[str]:
    """Return the nodes of mains that a node of mains is joined with, through breakers and fuses as well."""
    near = kept(study, _mains)
    queue = [start]
    seen = {start}
    while queue:
        for other in near.get(queue.pop(), ()):
            if other not in seen:
                seen.add(other)
                queue.append(other)
    return seen


def _mains(study: Study) -> dict[str, list[str]]:
    near: dict[str, list[str]] = {}
    for branch in study.circuit.ac_branches:
        near.setdefault(branch.start, []).append(branch.end)
        near.setdefault(branch.end, []).append(branch.start)
    return near


def cases_around(study: Study, name: str) -> tuple[Enclosure, ...]:
    """Return the case that a part lies in; every case of the build where nothing tells."""
    case = case_of(study, name)
    return (case,) if case is not None else tuple(sorted(study.of(Enclosure), key=lambda case: case.name))
