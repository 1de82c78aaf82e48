"""Operating points of random networks against a general circuit simulator.

Source: ngspice (Debian package `ngspice`) and, a second code, the Python package neospice; run here, on netlists written here.
With constant-power loads a network has several operating points; the start values that we give the simulator pick the branch that
goes back to zero load, and its own iteration decides what the voltages are. Differences are relative to the largest voltage and the
largest current of each network.
"""

from __future__ import annotations

import importlib.util
import math
import random
import re
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest
from ohmwright.solver import (
    Array,
    Charger,
    Converter,
    CurrentLoad,
    CurrentSource,
    Diode,
    Element,
    Emf,
    Network,
    Operation,
    PowerLoad,
    Resistor,
    SeriesController,
    Solver,
    Tracker,
)

WANTED = 300
OPTIONS = ".options reltol=1e-12 abstol=1e-14 vntol=1e-14 gmin=1e-20 numdgt=12 itl1=1000"
KELVIN = 300.15
_VALUE = re.compile(r"^\s*(\S+) = (\S+)\s*$", re.MULTILINE)


def wires(rng: random.Random, plus: int, minus: int) -> list[Element]:
    """Two trees of wires with loops: the plus side on the nodes from 1, the return side on node 0 and those after the plus side."""
    made: list[Element] = []
    for k in range(2, plus + 1):
        made.append(Resistor(f"w{k}", rng.randrange(max(1, k - 6), k), k, 10 ** rng.uniform(-3.3, -1.5)))
    side = [0, *range(plus + 1, plus + minus)]
    for k in range(1, minus):
        made.append(Resistor(f"r{k}", side[rng.randrange(max(0, k - 5), k)], side[k], 10 ** rng.uniform(-3.3, -1.5)))
    for k in range((plus + minus) // 5):
        a, b = rng.sample(range(1, plus + 1), 2)
        made.append(Resistor(f"t{k}", a, b, 10 ** rng.uniform(-3, 0)))
    return made


def box(seed: int) -> Network:
    """A random box: batteries, wires both ways with loops, loads of every kind, diodes, sometimes arrays and two-sided elements."""
    rng = random.Random(seed)
    plus, minus = rng.randrange(4, 25), rng.randrange(2, 8)
    nodes = plus + minus
    elements = wires(rng, plus, minus)
    returns = [0, *range(plus + 1, nodes)]
    volt = rng.choice((12.8, 25.6, 51.2))
    for k in range(rng.randrange(1, 5)):
        ohm = 10 ** rng.uniform(-2.5, -1)
        elements.append(Emf(f"b{k}", 1 if k == 0 else rng.randrange(1, plus + 1), 0, volt * rng.uniform(0.99, 1.01), ohm))
    power = volt * volt * 10 ** rng.uniform(-1, 0.8)
    for k in range(rng.randrange(1, 9)):
        where = rng.randrange(1, plus + 1), rng.choice(returns)
        kind = rng.random()
        size = rng.uniform(0.02, 0.4)
        if kind < 0.6:
            elements.append(PowerLoad(f"p{k}", *where, power * size))
        elif kind < 0.8:
            elements.append(CurrentLoad(f"i{k}", *where, power * size / volt))
        else:
            elements.append(Resistor(f"l{k}", *where, volt * volt / (power * size)))
    free = nodes
    for k in range(rng.randrange(0, 4)):
        # A diode that feeds a branch of its own, or one that stands the other way round and blocks.
        made = (rng.randrange(1, plus + 1), free) if rng.random() < 0.75 else (free, rng.randrange(1, plus + 1))
        saturation, slope = 10 ** rng.uniform(-12, -7), rng.uniform(0.026, 0.05)
        elements.append(Diode(f"d{k}", *made, saturation, slope, rng.choice((0.0, 0.005, 0.02))))
        elements.append(Resistor(f"s{k}", free, rng.choice(returns), volt / rng.uniform(0.3, 8)))
        free += 1
    if rng.random() < 0.35:
        slope = volt * rng.uniform(0.06, 0.09)
        photo = rng.uniform(1, 10)
        saturation = photo / 2.718281828 ** (rng.uniform(1.55, 1.8) * volt / slope)
        elements.append(Array("pv", free, 0, photo, saturation, slope, 0.1, 300.0))
        kind = rng.random()
        if kind < 0.4:
            elements.append(Diode("back", free, rng.randrange(1, plus + 1), 1e-9, 0.03, 0.01))
        elif kind < 0.7:
            limit, stop = rng.uniform(0.2, 3.0) * photo, volt * rng.uniform(0.985, 1.1)
            elements.append(Tracker("track", free, 0, rng.randrange(1, plus + 1), 0, 0.96, stop, limit))
        else:
            limit, stop = rng.uniform(0.2, 2.0) * photo, volt * rng.uniform(0.985, 1.1)
            elements.append(SeriesController("pulse", free, 0, rng.randrange(1, plus + 1), 0, stop, limit))
        free += 1
    if rng.random() < 0.35:
        ohm = rng.choice((0.0, 0.02))
        limit = rng.choice((None, rng.uniform(1, 6)))
        back = rng.choice(returns)
        elements.append(Converter("step", rng.randrange(1, plus + 1), back, free, back, 5.0, ohm, 0.9, 0.3, limit))
        elements.append(Resistor("feed", free, free + 1, 0.02))
        elements.append(PowerLoad("usb", free + 1, rng.choice(returns), rng.uniform(1, 9)))
        elements.append(Resistor("led", free, rng.choice(returns), rng.uniform(2, 20)))
        free += 2
    if rng.random() < 0.25:
        elements.append(Charger("mains", rng.randrange(1, plus + 1), 0, volt * rng.uniform(0.985, 1.05), rng.uniform(1, 20)))
    rng.shuffle(elements)
    return Network(free, tuple(elements), (0,))


class Sheet:
    """A netlist under way."""

    def __init__(self, answer: Operation, thermal: float) -> None:
        self.answer = answer
        self.thermal = thermal
        self.lines: list[str] = []
        self.extra: dict[str, float] = {}  # start values of nodes inside elements
        self.count = 0

    def add(self, *lines: str) -> None:
        self.lines += lines

    def inner(self, start: float) -> str:
        self.count += 1
        name = f"x{self.count}"
        self.extra[name] = start
        return name

    def volt(self, node: int) -> float:
        return self.answer.voltages[node] or 0.0


def write(network: Network, answer: Operation, thermal: float) -> str:
    """The network as a netlist, its two-sided elements in the modes that the solver found."""
    sheet = Sheet(answer, thermal)
    for number, element in enumerate(network.elements):
        _write(sheet, element, f"{number}")
    starts = [f"v(n{k})={v!r}" for k, v in enumerate(answer.voltages) if v is not None and k]
    starts += [f"v({name})={v!r}" for name, v in sheet.extra.items()]
    text = "\n".join(["* a random box", *sheet.lines, OPTIONS, *[f".nodeset {s}" for s in starts]])
    return re.sub(r"\bn0\b", "0", text)


def _write(sheet: Sheet, e: Element, tag: str) -> None:
    answer = sheet.answer
    mode = answer.modes.get(e.name, "")
    match e:
        case Resistor():
            sheet.add(f"R{tag} n{e.a} n{e.b} {e.ohm!r}")
        case Emf():
            start = sheet.volt(e.minus) + e.volt
            name = sheet.inner(start)
            sheet.add(f"V{tag} {name} n{e.minus} DC {e.volt!r}", f"R{tag} {name} n{e.plus} {e.ohm!r}")
        case CurrentLoad() if not mode:
            sheet.add(f"I{tag} n{e.plus} n{e.minus} DC {e.ampere!r}")
        case PowerLoad() if not mode:
            sheet.add(f"B{tag} n{e.plus} n{e.minus} I = {e.watt!r}/V(n{e.plus},n{e.minus})")
        case CurrentSource():
            sheet.add(f"I{tag} n{e.minus} n{e.plus} DC {e.ampere!r}")
        case Diode():
            model = f"D(IS={e.saturation!r} N={e.slope / sheet.thermal!r} RS={e.ohm!r})"
            sheet.add(f"D{tag} n{e.anode} n{e.cathode} M{tag}", f".model M{tag} {model}")
        case Array():
            given = answer.currents[e.name]
            name = sheet.inner(sheet.volt(e.plus) + given * e.series)
            sheet.add(
                f"I{tag} n{e.minus} {name} DC {e.photo!r}",
                f"B{tag} {name} n{e.minus} I = {e.saturation!r}*(exp(V({name},n{e.minus})/{e.slope!r})-1)",
                f"Rp{tag} {name} n{e.minus} {e.shunt!r}",
                f"Rs{tag} {name} n{e.plus} {e.series!r}",
            )
        case Charger():
            if mode == "current":
                sheet.add(f"I{tag} n{e.minus} n{e.plus} DC {e.ampere!r}")
            elif mode == "voltage":
                sheet.add(f"V{tag} n{e.plus} n{e.minus} DC {e.volt!r}")
        case Converter():
            u_in = f"V(n{e.in_plus},n{e.in_minus})"
            if mode == "voltage":
                name = sheet.inner(sheet.volt(e.out_minus) + e.volt)
                sheet.add(
                    f"V{tag} {name} n{e.out_minus} DC {e.volt!r}",
                    f"R{tag} {name} n{e.out_plus} {e.ohm!r}" if e.ohm else f"VZ{tag} {name} n{e.out_plus} DC 0",
                    f"B{tag} n{e.in_plus} n{e.in_minus} I = (-I(V{tag})*{e.volt!r}/{e.efficiency!r}+{e.idle!r})/{u_in}",
                )
            elif mode == "current":
                given = f"{e.ampere!r}*(V(n{e.out_plus},n{e.out_minus})+{e.ohm * (e.ampere or 0.0)!r})"
                sheet.add(
                    f"I{tag} n{e.out_minus} n{e.out_plus} DC {e.ampere!r}",
                    f"B{tag} n{e.in_plus} n{e.in_minus} I = ({given}/{e.efficiency!r}+{e.idle!r})/{u_in}",
                )
            elif sheet.volt(e.in_plus) > sheet.volt(e.in_minus):
                sheet.add(f"B{tag} n{e.in_plus} n{e.in_minus} I = {e.idle!r}/{u_in}")
        case Tracker():
            u_in, u_out = f"V(n{e.in_plus},n{e.in_minus})", f"V(n{e.out_plus},n{e.out_minus})"
            if mode == "voltage":
                sheet.add(
                    f"V{tag} n{e.out_plus} n{e.out_minus} DC {e.volt!r}",
                    f"B{tag} n{e.in_plus} n{e.in_minus} I = -I(V{tag})*{e.volt!r}/{e.efficiency!r}/{u_in}",
                )
            elif mode == "current":
                sheet.add(
                    f"I{tag} n{e.out_minus} n{e.out_plus} DC {e.ampere!r}",
                    f"B{tag} n{e.in_plus} n{e.in_minus} I = {e.ampere!r}*{u_out}/{e.efficiency!r}/{u_in}",
                )
            elif mode == "sun":
                drawn = answer.currents[f"{e.name}.in"]
                sheet.add(
                    f"I{tag} n{e.in_plus} n{e.in_minus} DC {drawn!r}",
                    f"B{tag} n{e.out_minus} n{e.out_plus} I = {drawn * e.efficiency!r}*{u_in}/{u_out}",
                )
        case SeriesController():
            if mode == "sun":
                sheet.add(f"V{tag} n{e.in_plus} n{e.out_plus} DC 0")
            elif mode == "current":
                sheet.add(
                    f"I{tag} n{e.in_plus} n{e.in_minus} DC {e.ampere!r}",
                    f"IO{tag} n{e.out_minus} n{e.out_plus} DC {e.ampere!r}",
                )
            elif mode == "voltage":
                sheet.add(
                    f"V{tag} n{e.out_plus} n{e.out_minus} DC {e.volt!r}",
                    f"B{tag} n{e.in_plus} n{e.in_minus} I = -I(V{tag})",
                )


Answers = list[dict[str, float] | None]


def run_ngspice(netlists: list[str], folder: Path) -> Answers:
    """Solve every netlist in one batch run; None where the simulator found no operating point."""
    script = [".control", "set numdgt=12"]
    for k, netlist in enumerate(netlists):
        (folder / f"{k}.cir").write_text(netlist + "\n.end\n")
        script += [f"echo BOX {k}", f"source {k}.cir", "op", "print all", "destroy all", "remcirc"]
    (folder / "all.cir").write_text("* all boxes\n" + "\n".join([*script, "quit 0", ".endc", ".end"]) + "\n")
    done = subprocess.run(["ngspice", "-b", "all.cir"], cwd=folder, capture_output=True, text=True, timeout=300, check=False)
    found: dict[int, dict[str, float]] = {}
    for part in done.stdout.split("BOX ")[1:]:
        found[int(part.split()[0])] = {name: float(value) for name, value in _VALUE.findall(part)}
    return [found.get(k) or None for k in range(len(netlists))]


def run_neospice(netlists: list[str], folder: Path) -> Answers:
    """As `run_ngspice`; currents of batteries are not compared."""
    from neospice import Simulator

    answers: Answers = []
    for netlist in netlists:
        try:
            simulator = Simulator()
            result = simulator.run_dc(simulator.parse(netlist + "\n.op\n.end\n"))
        except RuntimeError:
            answers.append(None)
            continue
        if not result.status.converged:
            answers.append(None)
            continue
        names = sorted(set(re.findall(r"\bn\d+\b", netlist)))
        answers.append({name: result.voltage(name) for name in names})
    return answers


SIMULATORS = {
    "ngspice": (run_ngspice, lambda: shutil.which("ngspice") is not None),
    "neospice": (run_neospice, lambda: importlib.util.find_spec("neospice") is not None),
}


def thermal_voltage(run: Callable[[list[str], Path], Answers], folder: Path) -> float:
    """k T / q as the simulator takes it, measured on one diode: its constants are an edition older than ours."""
    saturation, ampere = 1e-12, 1.0
    lines = ["* one diode", f"I1 0 n1 DC {ampere}", "D1 n1 0 M", f".model M D(IS={saturation} N=1)"]
    lines += ["V2 n2 0 DC 1", "R2 n2 0 1", OPTIONS, ".nodeset v(n1)=0.7"]
    (values,) = run(["\n".join(lines)], folder)
    assert values is not None
    return values["n1"] / math.log1p(ampere / saturation)


@pytest.mark.parametrize("name", SIMULATORS)
def test_random_boxes(
    name: str, tmp_path: Path, reference_report: Callable[..., None], reference_skip: Callable[[str], None]
) -> None:
    run, present = SIMULATORS[name]
    if not present():
        reference_skip(name)
    thermal = thermal_voltage(run, tmp_path)
    solver = Solver()
    boxes: list[tuple[int, Network, Operation]] = []
    seed = 0
    while len(boxes) < WANTED:
        network = box(seed)
        answer = solver.solve(network)
        if answer.solved:
            boxes.append((seed, network, answer))
        else:
            assert answer.collapse, (seed, answer.reason)
        seed += 1
    results = run([write(network, answer, thermal) for _, network, answer in boxes], tmp_path)
    worst, worst_seed, compared = 0.0, -1, 0
    modes: set[str] = set()
    for (number, network, answer), values in zip(boxes, results, strict=True):
        if values is None:
            continue  # the simulator gave up: it stops at about one box in a hundred, mostly at a blocking diode
        compared += 1
        modes.update(f"{k} {v}" for k, v in answer.modes.items())
        off = differences(network, answer, values)
        if off > worst:
            worst, worst_seed = off, number
    reference_report(
        f"{name}: operating points of random boxes",
        compared,
        worst,
        f"worst box {worst_seed}; {WANTED - compared} without its answer",
    )
    assert compared >= 200
    assert worst <= 1e-9
    assert {
        "step voltage",
        "mains current",
        "mains voltage",
        "track current",
        "track sun",
        "pulse current",
        "pulse sun",
    } <= modes


def differences(network: Network, answer: Operation, values: dict[str, float]) -> float:
    """The largest difference of a voltage or of a battery's current, relative to the largest of its kind in the network."""
    largest = max(abs(v) for v in answer.voltages if v is not None)
    off = max(
        abs(values[f"n{node}"] - v) / largest
        for node, v in enumerate(answer.voltages)
        if v is not None and f"n{node}" in values
    )
    most = max(abs(i) for i in answer.currents.values())
    for number, element in enumerate(network.elements):
        if isinstance(element, Emf) and f"v{number}#branch" in values:
            off = max(off, abs(-values[f"v{number}#branch"] - answer.currents[element.name]) / most)
    return off
