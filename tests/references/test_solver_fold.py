"""The share of a load at which the operating point ends, against closed forms and against an independent bisection.

Sources: the largest power that a voltage E behind R gives, E^2 / 4R (arithmetic); a dense Newton solution by numpy, bisected in
the share of the load (computed here).
"""

from __future__ import annotations

import random
from collections.abc import Callable

import numpy as np
import pytest
from ohmwright.solver import (
    Array,
    Charger,
    Converter,
    CurrentLoad,
    Element,
    Emf,
    Network,
    PowerLoad,
    Resistor,
    SeriesController,
    Solver,
    Tracker,
)
from ohmwright.solver.photovoltaic import peak


def meshed(seed: int) -> Network:
    """Batteries, wires out and back with loops, and loads that ask for too much."""
    rng = random.Random(seed)
    plus, minus = rng.randrange(3, 14), rng.randrange(2, 8)
    elements: list[Element] = [Emf("b", 1, 0, 12.8, rng.uniform(0.005, 0.05))]
    for k in range(2, plus + 1):
        elements.append(Resistor(f"w{k}", rng.randrange(max(1, k - 4), k), k, 10 ** rng.uniform(-2.5, -1)))
    side = [0, *range(plus + 1, plus + minus)]
    for k in range(1, minus):
        elements.append(Resistor(f"r{k}", side[rng.randrange(k)], side[k], 10 ** rng.uniform(-2.5, -1)))
    for k in range(3):
        a, b = rng.sample(range(1, plus + 1), 2)
        elements.append(Resistor(f"t{k}", a, b, 10 ** rng.uniform(-2, 0)))
    if rng.random() < 0.5:
        elements.append(Emf("b2", rng.randrange(1, plus + 1), 0, 12.6, rng.uniform(0.02, 0.1)))
    elements.append(CurrentLoad("lamp", rng.randrange(1, plus + 1), 0, rng.uniform(0, 5)))
    elements.append(Resistor("heater", rng.randrange(1, plus + 1), 0, rng.uniform(2, 50)))
    for k in range(rng.randrange(1, 6)):
        elements.append(PowerLoad(f"p{k}", rng.randrange(1, plus + 1), rng.choice(side), rng.uniform(200, 3000)))
    return Network(plus + minus, tuple(elements), (0,))


def carries(network: Network, share: float) -> bool:
    """Whether Newton's method from zero load reaches a point of positive definite Jacobian at this share (dense, numpy)."""
    size = network.nodes
    linear = np.zeros((size, size))
    injected = np.zeros(size)
    loads = []
    for e in network.elements:
        if isinstance(e, Resistor | Emf):
            a, b = (e.a, e.b) if isinstance(e, Resistor) else (e.plus, e.minus)
            g = 1 / e.ohm
            linear[a, a] += g
            linear[b, b] += g
            linear[a, b] -= g
            linear[b, a] -= g
            if isinstance(e, Emf):
                injected[a] += g * e.volt
                injected[b] -= g * e.volt
        elif isinstance(e, CurrentLoad):
            injected[e.plus] -= e.ampere
            injected[e.minus] += e.ampere
        elif isinstance(e, PowerLoad):
            loads.append(e)
    linear, injected = linear[1:, 1:], injected[1:]
    volts = np.linalg.solve(linear, injected)
    for _ in range(400):
        matrix, residual = linear.copy(), linear @ volts - injected
        for load in loads:
            i, j = load.plus - 1, load.minus - 1
            u = volts[i] - (volts[j] if j >= 0 else 0.0)
            if u <= 0:
                return False
            current, slope = share * load.watt / u, -share * load.watt / u**2
            for row, sign in ((i, 1.0), (j, -1.0)):
                if row < 0:
                    continue
                residual[row] += sign * current
                for column, other in ((i, 1.0), (j, -1.0)):
                    if column >= 0:
                        matrix[row, column] += sign * other * slope
        if np.linalg.eigvalsh(matrix)[0] <= 0:
            return False
        step = np.linalg.solve(matrix, -residual)
        volts = volts + step
        if np.max(np.abs(step)) < 1e-11:
            return True
    return True


def test_random_networks_against_bisection(reference_report: Callable[..., None]) -> None:
    solver = Solver()
    worst = 0.0
    checked = 0
    for seed in range(60):
        network = meshed(seed)
        fold = solver.fold(network)
        assert not fold.failed, (seed, fold.reason)
        assert solver.solve(network).collapse is fold.found
        if not fold.found:
            assert carries(network, 1.0)
            continue
        low, high = 0.0, 1.0
        while high - low > 1e-8:
            middle = 0.5 * (low + high)
            low, high = (middle, high) if carries(network, middle) else (low, middle)
        worst = max(worst, abs(fold.share - low) / fold.share)
        checked += 1
    reference_report("numpy, bisected: share of the load at the fold", checked, worst)
    assert checked >= 40
    assert worst <= 1e-6


def test_one_load(reference_report: Callable[..., None]) -> None:
    worst = 0.0
    for k in range(40):
        rng = random.Random(k)
        volt, inner, line = rng.uniform(5, 60), 10 ** rng.uniform(-3, 0), 10 ** rng.uniform(-3, 0)
        watt = volt * volt / (4 * (inner + line)) * rng.uniform(1.0001, 50)
        network = Network(3, (Emf("b", 1, 0, volt, inner), Resistor("w", 1, 2, line), PowerLoad("l", 2, 0, watt)), (0,))
        fold = Solver().fold(network)
        assert fold.found
        assert fold.elements == ("l",)
        assert fold.volts[0] == pytest.approx(volt / 2, rel=1e-6)
        worst = max(worst, abs(fold.share * watt / (volt * volt / (4 * (inner + line))) - 1))
    reference_report("E^2 / 4R: share of a single load at the fold", 40, worst)
    assert worst <= 1e-9


def test_load_beside_a_resistor_and_a_lamp() -> None:
    """By Thevenin: a heater and a current load change E and R, the largest power is E^2 / 4R of what is left."""
    heater, lamp = 3.0, 2.0
    network = Network(
        2,
        (
            Emf("b", 1, 0, 12.0, 0.5),
            Resistor("heater", 1, 0, heater),
            CurrentLoad("lamp", 1, 0, lamp),
            PowerLoad("pump", 1, 0, 500.0),
        ),
        (0,),
    )
    ohm = 1 / (1 / 0.5 + 1 / heater)
    volt = (12.0 / 0.5 - lamp) * ohm
    assert Solver().fold(network).share * 500.0 == pytest.approx(volt**2 / (4 * ohm), rel=1e-12)


def test_named_load_with_the_others_at_full() -> None:
    """Two equal loads at one point: with 20 W taken, E^2 / 4R - 20 W is left for the other."""
    network = Network(2, (Emf("b", 1, 0, 12.0, 0.5), PowerLoad("fan", 1, 0, 20.0), PowerLoad("pump", 1, 0, 200.0)), (0,))
    fold = Solver().fold(network, "pump")
    assert fold.found
    assert fold.share * 200.0 == pytest.approx(144 / 2 - 20.0, rel=1e-12)
    more = Solver().fold(network, "fan", limit=10.0)
    assert (more.found, more.share, more.elements) == (True, 0.0, ("pump",))  # the pump alone is too much
    assert more.reason
    small = Network(2, (Emf("b", 1, 0, 12.0, 0.5), PowerLoad("fan", 1, 0, 20.0)), (0,))
    assert not Solver().fold(small).found
    assert Solver().fold(small, "fan", limit=10.0).share * 20.0 == pytest.approx(72.0, rel=1e-12)


@pytest.mark.parametrize("ohm", [0.0, 0.05])
def test_converter_input(ohm: float) -> None:
    """A converter draws its output's power through its efficiency, and its idle power, from E behind R."""
    network = Network(
        3,
        (Emf("b", 1, 0, 12.8, 1.0), Converter("step", 1, 0, 2, 0, 5.0, ohm, 0.9, 0.1), PowerLoad("tablet", 2, 0, 50.0)),
        (0,),
    )
    given = 50.0 if not ohm else 5.0 * (5.0 - np.sqrt(25.0 - 4 * 50.0 * ohm)) / (2 * ohm)
    most = 12.8**2 / 4
    answer = Solver().solve(network)
    assert answer.collapse
    fold = Solver().fold(network)
    assert fold.elements == ("step",)
    assert fold.share == pytest.approx(most / (given / 0.9 + 0.1), rel=1e-12)


def test_load_behind_a_converter_collapses_there() -> None:
    """The wire behind the converter, not the battery, is too thin: E^2 / 4R with the converter's own voltage."""
    network = Network(
        4,
        (
            Emf("b", 1, 0, 12.8, 0.001),
            Converter("step", 1, 0, 2, 0, 5.0, 0.0, 0.9, 0.1),
            Resistor("lead", 2, 3, 0.2),
            PowerLoad("tablet", 3, 0, 50.0),
        ),
        (0,),
    )
    fold = Solver().fold(network)
    assert fold.elements == ("tablet",)
    assert fold.share == pytest.approx(25.0 / 0.8 / 50.0, rel=1e-12)


@pytest.mark.parametrize("ohm", [0.0, 0.03])
def test_charger_without_battery_ends_at_its_limit(ohm: float) -> None:
    """A supply held by its current cannot hold a constant power: the end is where its limit is reached."""
    network = Network(3, (Charger("c", 1, 0, 14.4, 5.0), Resistor("w", 1, 2, ohm), PowerLoad("l", 2, 0, 100.0)), (0,))
    fold = Solver().fold(network)
    assert fold.found
    assert fold.share == pytest.approx((14.4 - 5.0 * ohm) * 5.0 / 100.0, rel=1e-9)


ARRAY = Array("pv", 1, 0, 6.0, 2.5e-9, 1.0, 0.2, 200.0)


def test_array_alone_ends_at_its_peak() -> None:
    volt, ampere = peak(ARRAY)
    fold = Solver().fold(Network(2, (ARRAY, PowerLoad("l", 1, 0, 300.0)), (0,)))
    assert fold.share * 300.0 == pytest.approx(volt * ampere, rel=1e-12)
    assert fold.volts == pytest.approx((volt,), rel=1e-6)


def test_tracker_without_battery_ends_near_the_array_peak() -> None:
    """All that the array's peak gives through the efficiency, less what the lead takes at the regulation voltage."""
    volt, ampere = peak(ARRAY)
    network = Network(
        4,
        (ARRAY, Tracker("t", 1, 0, 2, 0, 0.97, 14.4, 50.0), Resistor("w", 2, 3, 0.02), PowerLoad("l", 3, 0, 300.0)),
        (0,),
    )
    given = 0.97 * volt * ampere
    current = given / 14.4
    assert Solver().fold(network).share * 300.0 == pytest.approx(given - current**2 * 0.02, rel=1e-8)


def test_series_controller_without_battery_ends_where_the_array_gives_no_more() -> None:
    network = Network(3, (ARRAY, SeriesController("s", 1, 0, 2, 0, 14.4, 50.0), PowerLoad("l", 2, 0, 300.0)), (0,))
    from ohmwright.solver.photovoltaic import current_at

    assert Solver().fold(network).share * 300.0 == pytest.approx(14.4 * current_at(ARRAY, 14.4), rel=1e-8)


def test_unknown_load() -> None:
    with pytest.raises(KeyError):
        Solver().fold(Network(2, (ARRAY,), ()), "nothing")
