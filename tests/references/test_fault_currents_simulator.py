"""Short-circuit currents of random boxes against a general circuit simulator.

Source: ngspice (Debian package `ngspice`), run here. Each short is a bolted one, a source of 0 V between two nodes of a netlist that was written from the typed model of the
build (`random_boxes.py`), not from our own circuit or matrix. What counts in which short is what readings.md says: beside a device the full batteries behind the lower end of their
resistance and the live conductors at 20 degC, all else as nothing; at a far end the empty batteries behind the upper end and everything in the loop, copper at 70 degC.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from ohmwright.findings import Finding
from ohmwright.study import Study, StudyOptions
from ohmwright.studying import make_study
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.resolve import Loader, Resolved, resolve
from ohmwright_rules.fault_heat import exposures_of
from ohmwright_rules.faults import faults_of
from ohmwright_rules.weak_breaking import check as weak_breaking

sys.path.insert(0, str(Path(__file__).parent))
from random_boxes import Edge, Plain, box_text, ohm_at, plain
from simulators import OPTIONS, SIMULATORS, run_ngspice

BOXES = 60
HOT = 70.0
TOLERANCE = 1e-9
BETWEEN = ("bar", "battery", "post_fuse")  # between these current comes from either end


@dataclass
class Sheet:
    """Many shorts of one box as one netlist, each in a copy of the circuit of its own; `wanted` are the sources whose currents are asked for."""

    lines: list[str] = field(default_factory=lambda: ["* shorts of a box"])
    wanted: list[str] = field(default_factory=list)
    copies: int = 0

    def add(
        self,
        edges: Iterable[tuple[Edge, float]],
        batteries: Iterable[tuple[Battery, float, float]],
        ends: tuple[str, str],
        meter: str = "",
    ) -> None:
        """Put in a copy of a circuit with a short between two nodes; `meter` names the device whose current is asked for, else that of the short."""
        self.copies += 1
        tag = self.copies
        root: dict[str, str] = {}

        def find(node: str) -> str:
            while (up := root.get(node, node)) != node:
                node = up
            return node

        number: dict[str, int] = {}
        kept = []
        for edge, ohm in edges:
            if ohm == 0.0:
                root[find(edge.one)] = find(edge.two)
            else:
                kept.append((edge, ohm))
        ground = find(ends[1])

        def at(node: str) -> str:
            here = find(node)
            return "0" if here == ground else f"c{tag}_{number.setdefault(here, len(number))}"

        lines: list[tuple[str, str, str]] = []  # both ends, and the line with room for them
        for k, (edge, ohm) in enumerate(kept):
            one, two = at(edge.one), at(edge.two)
            if edge.name == meter:
                lines += [(f"m{tag}", two, f"R{tag}_{k} {{}} {{}} {ohm:.12g}"), (one, f"m{tag}", f"Vm{tag} {{}} {{}} DC 0")]
            elif one != two:
                lines.append((one, two, f"R{tag}_{k} {{}} {{}} {ohm:.12g}"))
        for k, (battery, volt, ohm) in enumerate(batteries):
            inner = f"e{tag}_{k}"
            lines.append((inner, at(f"{battery.name}.minus"), f"V{tag}_{k} {{}} {{}} DC {volt:.12g}"))
            lines.append((inner, at(f"{battery.name}.plus"), f"R{tag}b{k} {{}} {{}} {ohm:.12g}"))
        lines.append((at(ends[0]), "0", f"Vs{tag} {{}} {{}} DC 0"))
        self.lines += [line.format(one, two) for one, two, line in _grounded(lines)]
        self.wanted.append(f"v{'m' if meter else 's'}{tag}#branch")


def _grounded(lines: list[tuple[str, str, str]]) -> list[tuple[str, str, str]]:
    """Leave out what hangs on nothing."""
    near: dict[str, list[str]] = {}
    for one, two, _ in lines:
        near.setdefault(one, []).append(two)
        near.setdefault(two, []).append(one)
    seen, queue = {"0"}, ["0"]
    while queue:
        for far in near.get(queue.pop(), ()):
            if far not in seen:
                seen.add(far)
                queue.append(far)
    return [line for line in lines if line[0] in seen]


def full(battery: Battery) -> tuple[float, float]:
    """The rest voltage of a full battery [V] and the lower end of its resistance [ohm]."""
    return _rest(battery, max), _ohm(battery, "low")


def empty(battery: Battery) -> tuple[float, float]:
    """The rest voltage of an empty battery [V] and the upper end of its resistance [ohm]."""
    return _rest(battery, min), _ohm(battery, "high")


def _rest(battery: Battery, which: Callable[[Iterable[float]], float]) -> float:
    return which([float(point.voltage.nominal) for point in battery.rest_voltages or ()])


def _ohm(battery: Battery, end: str) -> float:
    if battery.internal_resistance is not None:
        return float(getattr(battery.internal_resistance, end))
    assert battery.short_circuit_current is not None
    return _rest(battery, max) / float(battery.short_circuit_current.nominal)


def beside(circuit: Plain, without: str = "") -> list[tuple[Edge, float]]:
    """The circuit of a largest short: live wires at 20 degC, all else as nothing."""
    return [
        (edge, edge.ohm if edge.kind == "wire" and not edge.is_return else 0.0)
        for edge in circuit.edges
        if edge.name != without
    ]


def study_of(seed: int) -> tuple[Study, Plain]:
    resolved = resolve("box.rig", Loader(MemoryFiles({"box.rig": box_text(seed)})))
    assert isinstance(resolved, Resolved) and not resolved.problems
    return make_study(resolved.build, StudyOptions()), plain(resolved.build)


@dataclass
class Compared:
    """How many currents were compared, and the largest relative difference with its place."""

    count: int = 0
    worst: float = 0.0
    where: str = ""

    def add(self, ours: float, theirs: float, where: str) -> None:
        self.count += 1
        off = abs(ours - theirs) / max(abs(theirs), 1e-3)
        if off > self.worst:
            self.worst, self.where = off, f"{where}: {ours:.9g} A, simulator {theirs:.9g} A"


class Box:
    """A box with the shorts that are asked of the simulator; `told` gives each what is to be done with its current."""

    def __init__(self, seed: int) -> None:
        self.seed = seed
        self.study, self.circuit = study_of(seed)
        self.sheet = Sheet()
        self.asked: dict[tuple[object, ...], int] = {}

    def ask(self, key: tuple[object, ...], **what: object) -> tuple[object, ...]:
        """Ask for the current of a short once; `what` is what `Sheet.add` takes."""
        if key not in self.asked:
            self.sheet.add(**what)  # type: ignore[arg-type]
            self.asked[key] = len(self.sheet.wanted) - 1
        return key

    @property
    def foot(self) -> str:
        """The minus of a battery that stands on the return, not on another one."""
        return next(f"{part.name}.minus" for part in self.circuit.batteries if not part.name.endswith("a"))

    def largest(self, node: str, without: str = "") -> tuple[object, ...]:
        """Ask for the largest short between a node and the return, a device taken away."""
        batteries = [(part, *full(part)) for part in self.circuit.batteries]
        return self.ask((node, without), edges=beside(self.circuit, without), batteries=batteries, ends=(node, self.foot))

    def weakest(self, node: str, back: str, meter: str) -> tuple[object, ...]:
        """Ask for the weakest short between two nodes, through a device or in all."""
        batteries = [(part, *empty(part)) for part in self.circuit.batteries]
        edges = [(edge, ohm_at(edge, HOT)) for edge in self.circuit.edges]
        return self.ask((node, back, meter, "weak"), edges=edges, batteries=batteries, ends=(node, back), meter=meter)


@pytest.fixture(scope="module")
def boxes(tmp_path_factory: pytest.TempPathFactory) -> list[tuple[Box, dict[tuple[object, ...], float]]]:
    """Every box with the currents that the simulator found for it; none where there is no simulator."""
    if not SIMULATORS["ngspice"][1]():
        return []
    made = [Box(seed) for seed in range(BOXES)]
    for box in made:
        for edge in box.circuit.edges:
            if edge.kind == "device":
                box.largest(edge.one, edge.name)
                box.largest(edge.two, edge.name)
            elif edge.kind == "wire" and not edge.is_return:
                box.largest(edge.one)
                box.largest(edge.two)
        for fault in faults_of(box.study).all:
            box.weakest(fault.end.place.node, fault.end.place.back, "")
            box.weakest(fault.end.place.node, fault.end.place.back, fault.device.name)
    answers = run_ngspice([netlist(box) for box in made], tmp_path_factory.mktemp("shorts"))
    found = []
    for box, values in zip(made, answers, strict=True):
        assert values is not None, box.seed
        found.append((box, {key: abs(values.get(box.sheet.wanted[k], 0.0)) for key, k in box.asked.items()}))
    return found


def netlist(box: Box) -> str:
    return "\n".join([*box.sheet.lines, "Vn1 n1 0 DC 0", "Rn1 n1 0 1", OPTIONS])


@pytest.fixture(autouse=True)
def simulator(reference_skip: Callable[[str], None]) -> None:
    """Without ngspice there is nothing to compare with."""
    if not SIMULATORS["ngspice"][1]():
        reference_skip("ngspice")


Boxes = list[tuple[Box, dict[tuple[object, ...], float]]]


def test_short_beside_every_device(boxes: Boxes, reference_report: Callable[..., None]) -> None:
    """What rule weak-breaking measures at every fuse: the larger of the shorts on its two sides, with the fuse taken away."""
    seen = Compared()
    for box, currents in boxes:
        found = {item.subject[0]: item for item in weak_breaking(box.study) if isinstance(item, Finding)}
        for edge in box.circuit.edges:
            if edge.kind == "device":
                item = found[edge.name].measured
                assert item is not None
                theirs = max(currents[node, edge.name] for node in (edge.one, edge.two))
                seen.add(item.value, theirs, f"box {box.seed}, {edge.name}")
    reference_report("ngspice: short beside every fuse of random boxes", seen.count, seen.worst, f"{BOXES} boxes; {seen.where}")
    assert seen.worst <= TOLERANCE


def test_largest_short_at_every_conductor(boxes: Boxes, reference_report: Callable[..., None]) -> None:
    """What rule short-circuit-heat takes as the largest short of every live conductor behind a device: at the nearer end of a feeder, at one of the ends between batteries."""
    seen = Compared()
    for box, currents in boxes:
        edges = {edge.name: edge for edge in box.circuit.edges}
        for item in exposures_of(box.study):
            edge = edges[item.wire.name]
            if not edge.is_return:
                ends = [currents[node, ""] for node in (edge.one, edge.two)]
                between = all(node.startswith(BETWEEN) for node in (edge.one, edge.two))
                theirs = min(ends, key=lambda ampere: abs(ampere - item.most)) if between else max(ends)
                seen.add(item.most, theirs, f"box {box.seed}, {edge.name} behind {item.device.name}")
    reference_report(
        "ngspice: largest short at every live conductor of random boxes", seen.count, seen.worst, f"{BOXES} boxes; {seen.where}"
    )
    assert seen.worst <= TOLERANCE


def test_weakest_short_at_every_far_end(boxes: Boxes, reference_report: Callable[..., None]) -> None:
    """What rule weak-fault holds against the rating of the device: the short at every far end, in all and through the device."""
    seen = Compared()
    for box, currents in boxes:
        for fault in faults_of(box.study).all:
            place = fault.end.place
            where = f"box {box.seed}, {place.node} behind {fault.device.name}"
            seen.add(fault.total, currents[place.node, place.back, "", "weak"], where)
            seen.add(fault.ampere, currents[place.node, place.back, fault.device.name, "weak"], f"{where}, through it")
    reference_report(
        "ngspice: weakest short at every far end of random boxes", seen.count, seen.worst, f"{BOXES} boxes; {seen.where}"
    )
    assert seen.worst <= TOLERANCE
