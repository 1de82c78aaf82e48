"""The rush into empty input capacitors of random boxes against a general circuit simulator, in time.

Source: ngspice (Debian package `ngspice`), run here. The netlist holds the whole loop of a random box, read from the typed model (`random_boxes.py`): full batteries behind the lower end of
their resistance, every wire and contact with copper at 20 degC, and at one part empty capacitors with a resistance of their own, in half of the boxes behind a precharge resistor. Two integrators beside
it sum up the current and its square. Compared are the peak, what flowed in all, the integral of the square of the current, and what is left of the peak after five time constants.
"""

from __future__ import annotations

import math
import random
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

from ohmwright.findings import Finding
from ohmwright.study import StudyOptions
from ohmwright.studying import make_study
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.capacitors import InputCapacitors
from ohmwright_grammar.resolve import Loader, Resolved, resolve
from ohmwright_rules.capacitor_inrush import check as capacitor_inrush
from ohmwright_rules.capacitors import Inrush, capacitors_of, inrush

sys.path.insert(0, str(Path(__file__).parent))
from random_boxes import Wiring, box_text, plain
from simulators import SIMULATORS

BOXES = 60
STEPS = 150  # of the simulator for each time constant
# What such steps leave, trapezoidal: (1 / 150)^2 / 12 and some; the last one is told with seven digits, between two steps.
TOLERANCES = {"peak": 1e-6, "peak at the switch": 1e-6, "charge": 1e-6, "heat": 5e-6, "left when settled": 5e-5}
KINDS = ("inverter", "load", "converter", "controller")
TERMINALS = {
    "inverter": ("plus", "minus"),
    "load": ("plus", "minus"),
    "converter": ("in_plus", "in_minus"),
    "controller": ("batt_plus", "batt_minus"),
}
SAYS = {"inverter": "500 W", "load": "20 W", "converter": "output 5 V", "controller": "20 A"}


def box(seed: int) -> str:
    """A random box with capacitors at the end of a cable from one of its bars, behind a switch that makes nothing."""
    dice = random.Random(1000 + seed)
    text = box_text(seed)
    kind = KINDS[seed % len(KINDS)]
    wiring = Wiring(dice, count=1000)
    farad = 10 ** dice.uniform(-1, 1.5)
    says = f"{SAYS[kind]}; input capacitance {farad:.4f} mF; input capacitors {dice.uniform(1, 40):.3f} mohm"
    if seed % 2:
        says += f"; precharge {10 ** dice.uniform(0, 2):.3f} ohm; precharge for 20 s"
    plus, minus = TERMINALS[kind]
    wiring.lines += [
        f"{kind} mill {{ {says} }}",
        f"switch close {{ makes 0.01 A; contact resistance {dice.uniform(0.1, 2):.3f} mohm }}",
    ]
    wiring.wire("bar1", "close.line", ("6 AWG", "10 mm2", "2 AWG"), 2.0)
    wiring.wire("close.load", f"mill.{plus}", ("6 AWG", "10 mm2", "2 AWG"), 2.0)
    wiring.wire(f"mill.{minus}", "post1", ("6 AWG", "10 mm2", "2 AWG"), 2.0, back=True)
    return text + "\n".join(wiring.lines) + "\n"


def netlist(build_text: str, ours: Inrush) -> tuple[str, float]:
    """The box as a netlist, and how long it is to be followed [s]."""
    resolved = resolve("box.rig", Loader(MemoryFiles({"box.rig": build_text})))
    assert isinstance(resolved, Resolved) and not resolved.problems
    circuit = plain(resolved.build)
    part = resolved.build.parts["mill"]
    assert (
        isinstance(part, InputCapacitors) and part.input_capacitance is not None and part.input_capacitor_resistance is not None
    )
    plus, minus = TERMINALS[part.KIND]
    root: dict[str, str] = {}

    def find(node: str) -> str:
        while (up := root.get(node, node)) != node:
            node = up
        return node

    for edge in circuit.edges:
        if edge.ohm == 0.0 and find(edge.one) != find(edge.two):
            root[find(edge.one)] = find(edge.two)

    number = {find(f"mill.{minus}"): 0}

    def at(node: str) -> str:
        return str(number.setdefault(find(node), len(number)))

    lines = ["* a rush into capacitors"]
    lines += [f"R{k} {at(edge.one)} {at(edge.two)} {edge.ohm:.12g}" for k, edge in enumerate(circuit.edges) if edge.ohm > 0.0]
    for k, battery in enumerate(circuit.batteries):
        volt, ohm = _full(battery)
        lines += [
            f"V{k} e{k} {at(f'{battery.name}.minus')} DC {volt:.12g}",
            f"RB{k} e{k} {at(f'{battery.name}.plus')} {ohm:.12g}",
        ]
    own = float(part.input_capacitor_resistance.nominal) + (
        float(part.precharge_resistor.nominal) if part.precharge_resistor else 0.0
    )
    farad = float(part.input_capacitance.nominal)
    constant = ours.settled / 5.0  # only how long the simulator looks, and in what steps
    lines += [
        f"RC {at(f'mill.{plus}')} c {own:.12g}",
        "VM c d DC 0",
        f"C1 d 0 {farad:.12g} IC=0",
        "BQ 0 q I = I(VM)",
        "CQ q 0 1 IC=0",
        "BH 0 h I = I(VM)*I(VM)",
        "CH h 0 1 IC=0",
        ".options reltol=1e-9 abstol=1e-12 vntol=1e-12 chgtol=1e-20 gmin=1e-20 trtol=1 numdgt=12",
    ]
    return "\n".join(lines), constant


def _full(battery: Battery) -> tuple[float, float]:
    volt = max(float(point.voltage.nominal) for point in battery.rest_voltages or ())
    if battery.internal_resistance is not None:
        return volt, float(battery.internal_resistance.low)
    assert battery.short_circuit_current is not None
    return volt, volt / float(battery.short_circuit_current.nominal)


def run(sheets: list[tuple[str, float]], folder: Path) -> list[dict[str, float]]:
    """Follow every rush for 20 time constants."""
    script = [".control", "set numdgt=12"]
    for k, (text, constant) in enumerate(sheets):
        (folder / f"{k}.cir").write_text(text + "\n.end\n")
        step = constant / STEPS
        script += [
            f"echo BOX {k}",
            f"source {k}.cir",
            f"tran {step!r} {20 * constant!r} 0 {step!r} uic",
            "let one = i(vm)[1]",
            "let two = i(vm)[2]",
            "let early = time[1]",
            "let later = time[2]",
            "let charge = v(q)[length(v(q))-1]",
            "let heat = v(h)[length(v(h))-1]",
            *(f"print {name}" for name in ("one", "two", "early", "later")),
            "print charge",
            "print heat",
            f"meas tran late find i(vm) at={5 * constant!r}",
            "destroy all",
            "remcirc",
        ]
    (folder / "all.cir").write_text("* all rushes\n" + "\n".join([*script, "quit 0", ".endc", ".end"]) + "\n")
    done = subprocess.run(["ngspice", "-b", "all.cir"], cwd=folder, capture_output=True, text=True, timeout=300, check=False)
    return [
        {name: float(value) for name, value in re.findall(r"^(\w+)\s+=\s+(\S+)", part, re.MULTILINE)}
        for part in done.stdout.split("BOX ")[1:]
    ]


def test_rush_into_capacitors(
    tmp_path: Path, reference_report: Callable[..., None], reference_skip: Callable[[str], None]
) -> None:
    """What rule capacitor-inrush works with, and what it says at the switch, which makes next to nothing in these boxes."""
    if not SIMULATORS["ngspice"][1]():
        reference_skip("ngspice")
    sheets, rushes, said = [], [], []
    for seed in range(BOXES):
        text = box(seed)
        resolved = resolve("box.rig", Loader(MemoryFiles({"box.rig": text})))
        assert isinstance(resolved, Resolved) and not resolved.problems
        part = resolved.build.parts["mill"]
        capacitors = capacitors_of(part)
        assert capacitors is not None and isinstance(part, InputCapacitors)
        study = make_study(resolved.build, StudyOptions())
        rush = inrush(study, capacitors, (), float(part.precharge_resistor.low) if part.precharge_resistor is not None else 0.0)
        assert rush is not None
        measured = [
            item.measured.value
            for item in capacitor_inrush(study)
            if isinstance(item, Finding) and item.grade == "over-making" and item.measured is not None
        ]
        sheets.append(netlist(text, rush))
        rushes.append(rush)
        said.append(measured)
    worst: dict[str, tuple[float, int]] = {}
    for seed, (rush, found, measured) in enumerate(zip(rushes, run(sheets, tmp_path), said, strict=True)):
        peak = found["one"] * (found["one"] / found["two"]) ** (
            found["early"] / (found["later"] - found["early"])
        )  # at once, before its first step
        pairs = {
            "peak": (rush.ampere, peak),
            "peak at the switch": (measured[0], peak),
            "charge": (rush.charge, found["charge"]),
            "heat": (rush.heat, found["heat"]),
            "left when settled": (rush.ampere * math.exp(-5.0), found["late"]),
        }
        assert len(measured) == 1
        for name, (ours, theirs) in pairs.items():
            off = abs(ours - theirs) / abs(theirs)
            worst[name] = max(worst.get(name, (0.0, seed)), (off, seed))
    note = ", ".join(f"{name} {off:.2g}" for name, (off, _) in worst.items())
    most, where = max(value for name, value in worst.items() if name != "left when settled")
    reference_report("ngspice: rush into input capacitors of random boxes", BOXES, most, f"worst box {where}; {note}")
    assert all(off <= TOLERANCES[name] for name, (off, _) in worst.items()), worst
