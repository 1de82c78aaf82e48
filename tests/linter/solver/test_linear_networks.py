"""Linear networks against a dense nodal solution by numpy (computed here), and against hand arithmetic."""

from __future__ import annotations

import random

import numpy as np
import pytest
from ohmwright.solver import CurrentLoad, Emf, Network, Resistor, Solver


def dense(network: Network) -> list[float]:
    """Node voltages against node 0 by modified nodal analysis: every source as an extra row."""
    sources = [e for e in network.elements if isinstance(e, Emf)]
    size = network.nodes + len(sources)
    matrix = np.zeros((size, size))
    right = np.zeros(size)
    for e in network.elements:
        if isinstance(e, Resistor):
            for x, y in ((e.a, e.b), (e.b, e.a)):
                matrix[x, x] += 1 / e.ohm
                matrix[x, y] -= 1 / e.ohm
        elif isinstance(e, CurrentLoad):
            right[e.plus] -= e.ampere
            right[e.minus] += e.ampere
    for k, e in enumerate(sources):
        row = network.nodes + k
        for node, sign in ((e.plus, 1.0), (e.minus, -1.0)):
            matrix[row, node] += sign
            matrix[node, row] -= sign
        matrix[row, row] += e.ohm
        right[row] = e.volt
    keep = list(range(1, size))
    x = np.linalg.solve(matrix[np.ix_(keep, keep)], right[keep])
    return [0.0, *x[: network.nodes - 1]]


def meshed(seed: int) -> Network:
    """A connected random network with loops, batteries in several places and current loads."""
    rng = random.Random(seed)
    nodes = rng.randrange(4, 60)
    elements = [Emf("first", 1, 0, 12.8, 0.01)]
    for k in range(2, nodes):
        elements.append(Resistor(f"w{k}", rng.randrange(k), k, 10 ** rng.uniform(-3, 0)))
    for k in range(nodes // 3):
        a, b = rng.sample(range(nodes), 2)
        elements.append(Resistor(f"t{k}", a, b, 10 ** rng.uniform(-3, 2)))
    for k in range(rng.randrange(3)):
        a, b = rng.sample(range(nodes), 2)
        elements.append(Emf(f"e{k}", a, b, rng.uniform(2, 13), 10 ** rng.uniform(-2, 0)))
    rng.shuffle(elements)
    return Network(nodes, tuple(elements), (0,))


@pytest.mark.parametrize("seed", range(60))
def test_agrees_with_a_dense_solution(seed: int) -> None:
    network = meshed(seed)
    answer = Solver().solve(network)
    wanted = dense(network)
    assert answer.solved
    assert answer.voltages == pytest.approx(wanted, rel=1e-10, abs=1e-10)


def test_divider_by_hand() -> None:
    # 12 V behind 1 ohm, 2 ohm in line, 3 ohm to the return: 2 A, by arithmetic.
    network = Network(3, (Emf("b", 1, 0, 12.0, 1.0), Resistor("line", 1, 2, 2.0), Resistor("lamp", 2, 0, 3.0)), (0,))
    answer = Solver().solve(network)
    assert answer.currents == pytest.approx({"b": 2.0, "line": 2.0, "lamp": 2.0}, rel=1e-15)
    assert answer.voltages == pytest.approx((0.0, 10.0, 6.0), rel=1e-15)
    assert answer.powers == pytest.approx({"b": 20.0, "line": 8.0, "lamp": 12.0}, rel=1e-15)
