"""Every state of every example build as a netlist: nodes that no resistance parts are one, each fed island hangs on ground, dead ones are left out."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from ohmwright.solver import Converter, CurrentLoad, Element, Network, Operation, PowerLoad, Resistor, SeriesController, Tracker
from ohmwright.study import SolvedState, Study, StudyOptions
from ohmwright.studying import make_study
from ohmwright_grammar.files import FolderFiles
from ohmwright_grammar.resolve import Loader, Resolved, resolve
from simulators import write

__all__ = ["DARK", "Sheet", "builds", "sheet_of"]

ROOT = Path(__file__).resolve().parents[2]
DARK = "nothing is fed"
_ENDS = ("a", "b", "plus", "minus", "anode", "cathode", "in_plus", "in_minus", "out_plus", "out_minus")
_SAME = 1e-9  # relative: a voltage that is held, as against one that happens to be near


@dataclass(frozen=True)
class Sheet:
    """A state as a netlist, and the node of the netlist that each node of the circuit became; None for dead ones."""

    text: str
    place: tuple[int | None, ...]


def builds(reached: bool) -> Iterator[tuple[str, Study]]:
    """Yield every example build by its path, solved."""
    loader = Loader(FolderFiles(ROOT))
    for path in sorted((ROOT / "examples").rglob("*.rig")):
        found = resolve(path.relative_to(ROOT).as_posix(), loader)
        if isinstance(found, Resolved) and not found.build.is_library:
            yield path.relative_to(ROOT / "examples").as_posix(), make_study(found.build, StudyOptions(reached=reached))


def sheet_of(state: SolvedState, thermal: float) -> Sheet | str:
    """Return a state as a netlist, else why it cannot be one."""
    operation = state.operation
    if operation.collapse:
        return "the loads ask for more than the circuit carries"
    if not operation.solved:
        return "no operating point was found"
    if operation.conflicts:
        return "sources without resistance side by side"
    if all(volt is None for volt in operation.voltages):
        return DARK
    study = state.study
    network = study.networker.network(state.setup, state.open_gates, state.temperatures)
    place, count = _places(network, operation)
    voltages: list[float] = [0.0] * count
    for node, here in enumerate(place):
        if here is not None:
            voltages[here] = operation.voltages[node] or 0.0
    alive = (_at_rest(element, operation) for element in network.elements)
    elements = tuple(moved for element in alive if (moved := _moved(element, place)) is not None)
    modes = dict(operation.modes)
    modes.update({e.name: _regulating(e, operation) for e in elements if operation.modes.get(e.name) == "no battery"})
    answer = replace(operation, voltages=tuple(voltages), modes=modes)
    return Sheet(write(Network(count, elements, (0,)), answer, thermal), place)


def _places(network: Network, operation: Operation) -> tuple[tuple[int | None, ...], int]:
    """Return the node of the netlist for every node of a network, and how many there are; 0 is ground, where the references of all islands lie."""
    root = list(range(network.nodes))

    def find(node: int) -> int:
        while root[node] != node:
            root[node] = node = root[root[node]]
        return node

    for element in network.elements:
        if isinstance(element, Resistor) and element.ohm == 0.0:
            root[find(element.a)] = find(element.b)
    ground = {find(island.reference if island.reference is not None else island.nodes[0]) for island in operation.islands}
    number = dict.fromkeys(ground, 0)
    place: list[int | None] = []
    count = 1
    for node in range(network.nodes):
        here = find(node)
        if operation.voltages[node] is None:
            place.append(None)
            continue
        if here not in number:
            number[here] = count
            count += 1
        place.append(number[here])
    return tuple(place), count


def _at_rest(element: Element, operation: Operation) -> Element:
    """Return a load that nothing feeds as a resistance, so that its nodes hang together; any other element as it is."""
    if isinstance(element, CurrentLoad | PowerLoad) and operation.modes.get(element.name) == "dead":
        return Resistor(element.name, element.plus, element.minus, 1.0)
    return element


def _moved(element: Element, place: tuple[int | None, ...]) -> Element | None:
    """Return an element between the nodes of the netlist; None where it lies between nodes that are one, or dead."""
    ends = {name: place[getattr(element, name)] for name in _ENDS if hasattr(element, name)}
    if isinstance(element, Converter | SeriesController | Tracker):
        for plus, minus in (("in_plus", "in_minus"), ("out_plus", "out_minus")):
            if ends[plus] is None or ends[minus] is None:  # one side may be dead
                ends[plus] = ends[minus] = 0
    if None in ends.values():
        return None
    if isinstance(element, Resistor) and ends["a"] == ends["b"]:
        return None
    return replace(element, **ends)


def _regulating(element: Element, operation: Operation) -> str:
    """Return the mode in which a controller works that has no battery at its output: by what it holds."""
    assert isinstance(element, SeriesController | Tracker | Converter)
    given = operation.currents[f"{element.name}.out"]
    if element.ampere is not None and abs(given - element.ampere) <= _SAME * element.ampere:
        return "current"
    if isinstance(element, SeriesController) and given > 0.0:
        into, out = operation.powers[f"{element.name}.in"], operation.powers[f"{element.name}.out"]
        return "sun" if abs(into - out) <= _SAME * into else "voltage"
    return "voltage"
