"""What a solved state says in figures: conductors, parts and terminals, ready to be written in any format."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright_grammar.kinds.connector import Half
from ohmwright_grammar.kinds.part import Part
from ohmwright_grammar.records import record

from ohmwright.study import SolvedState, Study

__all__ = ["ConductorRow", "PartRow", "StateFigures", "figures_of"]


@record
class ConductorRow:
    """One conductor: current [A] and drop [V] from its `from` to its `to`, loss [W]; None where it was not solved."""

    name: str
    current: float | None
    drop: float | None
    loss: float | None


@record
class PartRow:
    """One part: the current [A] out of the plus of what gives, into the plus of what takes, from line to load of what passes on; the power [W]
    given, taken or lost; the voltage [V] of each terminal that is joined to something; and the mode of what has several."""

    name: str
    kind: str
    current: float | None
    power: float | None
    terminals: tuple[tuple[str, float | None], ...]
    mode: str


@record
class StateFigures:
    """One state; `temperature` [degC] is that of the surroundings, `zones` those of the zones that have one of their own."""

    name: str
    origin: str
    converged: bool
    reason: str
    temperature: float
    zones: tuple[tuple[str, float], ...]
    voltages: dict[str, float | None]
    conductors: tuple[ConductorRow, ...]
    parts: tuple[PartRow, ...]


def figures_of(study: Study, state: SolvedState) -> StateFigures:
    """Return the figures of one state of a study."""
    operation = state.operation
    solved = operation.solved
    voltages = {node: state.voltage(node) if solved else None for node in study.circuit.nodes}
    temperatures = state.temperatures
    return StateFigures(
        name=state.name,
        origin=state.setup.origin,
        converged=solved,
        reason="" if solved else operation.reason or "no operating point was found",
        temperature=temperatures.outside,
        zones=tuple(sorted(temperatures.by_zone.items())),
        voltages=voltages,
        conductors=tuple(_conductors(study, state)),
        parts=tuple(_parts(study, state, voltages)),
    )


def _conductors(study: Study, state: SolvedState) -> Iterator[ConductorRow]:
    operation = state.operation
    for run in study.build.runs:
        branch = study.circuit.by_name.get(run.name)
        if branch is None or not operation.solved:  # conductors of the AC side are in no DC circuit
            yield ConductorRow(run.name, None, None, None)
            continue
        current = operation.currents.get(run.name, 0.0)
        loss = operation.powers.get(run.name, 0.0)
        yield ConductorRow(run.name, current, loss / current if current else 0.0, loss)


def _parts(study: Study, state: SolvedState, voltages: dict[str, float | None]) -> Iterator[PartRow]:
    of_part: dict[str, list[str]] = {}
    for branch in study.circuit.branches:
        if branch.kind == "contact":
            for node in (branch.start, branch.end):
                of_part.setdefault(study.build.nodes.get(node, ""), []).append(branch.name)
        elif branch.conductor is None and branch.part:
            of_part.setdefault(branch.part, []).append(branch.name)
    nodes: dict[str, list[str]] = {}
    for node in study.circuit.nodes:
        nodes.setdefault(study.build.nodes.get(node, ""), []).append(node)
    active = {source.part.name for source in study.circuit.sources} | {item.part.name for item in study.circuit.consumers}
    for name, part in study.build.parts.items():
        if name not in nodes:
            continue  # nothing of the DC circuit is joined to it
        branches = of_part.get(name, [])
        current, power = _flow(state, part, branches, name in active)
        terminals = tuple((_terminal(node, name), voltages.get(node)) for node in _in_order(part, nodes[name]))
        yield PartRow(name, part.KIND, current, power, terminals, _mode(state, name))


def _terminal(node: str, part: str) -> str:
    return node[len(part) + 1 :] if node != part else ""


def _in_order(part: Part, nodes: list[str]) -> list[str]:
    usual = {f"{part.name}.{terminal}": place for place, terminal in enumerate(part.TERMINALS)}
    return sorted(nodes, key=lambda node: (usual.get(node, len(usual)), len(node), node))


def _flow(state: SolvedState, part: Part, branches: list[str], active: bool) -> tuple[float | None, float | None]:
    """Return current and power of one part; None where it has none that could be told in one figure."""
    operation = state.operation
    name = part.name
    if not operation.solved or not (active or branches):
        return None, None
    currents, powers = operation.currents, operation.powers
    for key in (f"{name}.out", name):
        if key in currents:
            return currents[key], powers.get(key, 0.0)
    if branches and not active:
        largest = max((currents.get(branch, 0.0) for branch in branches), key=abs)
        lost = sum(powers.get(branch, 0.0) for branch in branches)
        return largest, lost / 2 if isinstance(part, Half) else lost  # a contact belongs to both halves
    for key in (f"{name} drain", f"{name} coil"):
        if key in currents:
            return currents[key], powers.get(key, 0.0)
    return 0.0, 0.0


_MODES = {
    "sun": "all that the sun gives",
    "current": "held by its current limit",
    "voltage": "holds its voltage",
    "off": "off",
    "no battery": "nothing holds a voltage on its output",
    "dead": "nothing feeds it",
    "reversed": "voltage the wrong way round",
    "starved": "gets less than its current",
    "open": "joined to nothing",
}


def _mode(state: SolvedState, name: str) -> str:
    if name in state.setup.bms_open:
        return "cut off by its management system"
    if name in state.unsettled:
        return "neither stays in nor out"
    if name in state.open_gates:
        return "open"
    mode = state.operation.modes.get(name, "")
    return _MODES.get(mode, mode)
