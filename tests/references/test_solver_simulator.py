"""Operating points of random networks against a general circuit simulator.

Source: ngspice (Debian package `ngspice`) and, a second code, the Python package neospice; run here, on netlists written here.
With constant-power loads a network has several operating points; the start values that we give the simulator pick the branch that
goes back to zero load, and its own iteration decides what the voltages are. Differences are relative to the largest voltage and the
largest current of each network.
"""

from __future__ import annotations

import random
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from ohmwright.solver import (
    Array,
    Charger,
    Converter,
    CurrentLoad,
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

sys.path.insert(0, str(Path(__file__).parent))
from simulators import SIMULATORS, thermal_voltage, write

WANTED = 300
KELVIN = 300.15


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
