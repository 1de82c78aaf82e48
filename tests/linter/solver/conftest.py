"""Random networks for the laws that every operating point keeps."""

from __future__ import annotations

import random
from collections.abc import Callable

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
    Tracker,
)


def build(seed: int) -> Network:
    """Anything at all: fuses and switches of 0 ohm, loops of them, ideal batteries, dead ends, islands, every kind of element."""
    rng = random.Random(seed)
    nodes = rng.randrange(3, 30)
    elements: list[Element] = []

    def pair() -> tuple[int, int]:
        a, b = rng.sample(range(nodes), 2)
        return a, b

    for k in range(rng.randrange(1, 2 * nodes)):
        a, b = pair()
        if rng.random() < 0.75:
            b = rng.randrange(max(0, a - 4), min(nodes, a + 5))
        elements.append(Resistor(f"w{k}", a, b, rng.choice((0.0, 0.0, 3e-7, 2e-6, 10 ** rng.uniform(-4, 3)))))
    for k in range(rng.randrange(1, 4)):
        a, b = pair()
        elements.append(Emf(f"b{k}", a, b, rng.choice((0.0, 3.2, 12.8, 13.1)), rng.choice((0.0, 10 ** rng.uniform(-3, 0)))))
    for k in range(rng.randrange(0, 6)):
        a, b = pair()
        c, d = pair()
        watt = 10 ** rng.uniform(-1, 2)
        elements.append(
            rng.choice(
                (
                    PowerLoad(f"p{k}", a, b, watt),
                    PowerLoad(f"p{k}", a, b, watt),
                    CurrentLoad(f"i{k}", a, b, watt / 12),
                    CurrentSource(f"s{k}", a, b, watt / 12),
                    Charger(f"c{k}", a, b, rng.uniform(5, 15), watt / 12),
                    Diode(f"d{k}", a, b, 1e-9, 0.03, rng.choice((0.0, 0.01))),
                    Array(f"a{k}", a, b, rng.choice((0.0, 5.0)), 2.5e-9, 1.0, 0.2, 200.0),
                    Converter(
                        f"v{k}", a, b, c, d, 5.0, rng.choice((0.0, 0.05)), 0.9, rng.choice((0.0, 0.2)), rng.choice((None, 2.0))
                    ),
                    Tracker(f"t{k}", a, b, c, d, 0.96, rng.uniform(10, 15), rng.uniform(1, 20)),
                    SeriesController(f"q{k}", a, b, c, rng.choice((b, d)), rng.uniform(10, 15), rng.uniform(1, 20)),
                )
            )
        )
    rng.shuffle(elements)
    wanted = (rng.randrange(nodes),) if rng.random() < 0.5 else ()
    return Network(nodes, tuple(elements), wanted)


@pytest.fixture(scope="session")
def any_network() -> Callable[[int], Network]:
    return build


def ends_of(element: Element) -> list[tuple[int, int, str, int]]:
    """(from, to, name of the current, direction) for every side of an element: direction 1 where the current is from first to second."""
    match element:
        case Resistor():
            return [(element.a, element.b, element.name, 1)]
        case Diode():
            return [(element.anode, element.cathode, element.name, 1)]
        case CurrentLoad() | PowerLoad():
            return [(element.plus, element.minus, element.name, 1)]
        case Converter() | Tracker() | SeriesController():
            return [
                (element.in_plus, element.in_minus, f"{element.name}.in", 1),
                (element.out_plus, element.out_minus, f"{element.name}.out", -1),
            ]
        case _:
            return [(element.plus, element.minus, element.name, -1)]


def imbalance(network: Network, answer: Operation) -> tuple[float, float]:
    """(charge that is left over at the worst node, power that is left over), relative to what flows in all."""
    left = [0.0] * network.nodes
    inside = [e.photo for e in network.elements if isinstance(e, Array)]  # flows through the array's own junction
    flow = max([abs(i) for i in answer.currents.values()] + inside, default=0.0)
    given = taken = passed = 0.0
    highest = max([abs(v) for v in answer.voltages if v is not None], default=0.0)
    highest = max([highest, *[abs(e.volt) for e in network.elements if isinstance(e, Emf)]])
    for element in network.elements:
        for a, b, name, way in ends_of(element):
            i = way * answer.currents[name]
            left[a] += i
            left[b] -= i
        power = answer.powers[element.name]
        passed += abs(power)
        if isinstance(element, Emf | CurrentSource | Charger | Array):
            given += power
        else:
            taken += power
    worst = max(abs(i) for i in left)
    passed = max(passed, highest * flow)
    return (worst / max(flow, 1e-3)), (abs(given - taken) / max(passed, 1e-3))


@pytest.fixture(scope="session")
def balance() -> Callable[[Network, Operation], tuple[float, float]]:
    return imbalance
