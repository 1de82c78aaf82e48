"""Islands, loads on nothing, conflicting sources, parts without resistance, open circuits and short circuits."""

from __future__ import annotations

import random

import numpy as np
import pytest
from ohmwright.solver import (
    Charger,
    Conflict,
    Converter,
    CurrentLoad,
    Diode,
    Element,
    Emf,
    Network,
    PowerLoad,
    Resistor,
    Solver,
    Tracker,
)

BATTERY = Emf("b", 1, 0, 12.8, 0.01)


def test_reference_and_floating_island() -> None:
    """The first of the wanted references, else the minus of the first source; what nothing feeds has no voltage."""
    network = Network(
        7,
        (BATTERY, Emf("c", 3, 2, 6.0, 0.1), Resistor("r", 3, 2, 5.9), Resistor("dead", 4, 5, 1.0)),
        (5, 1),
    )
    answer = Solver().solve(network)
    assert answer.voltages == pytest.approx((-12.8, 0.0, 0.0, 5.9, None, None, None))
    assert [(i.nodes, i.reference, i.has_source) for i in answer.islands] == [
        ((0, 1), 1, True),
        ((2, 3), 2, True),
        ((4, 5), None, False),
        ((6,), None, False),
    ]


def test_two_loads_behind_one_blown_fuse() -> None:
    """They form a loop without a source; a lamp across it keeps its wires in one piece, at no current."""
    network = Network(
        4,
        (
            BATTERY,
            PowerLoad("pump", 2, 0, 50.0),
            CurrentLoad("light", 3, 0, 2.0),
            Resistor("wire", 2, 3, 0.01),
            Resistor("lamp", 3, 0, 10.0),
        ),
        (0,),
    )
    answer = Solver().solve(network)
    assert answer.solved
    assert answer.dead == ("pump", "light")
    assert answer.currents == pytest.approx({"b": 0, "pump": 0, "light": 0, "wire": 0, "lamp": 0}, abs=1e-15)
    bare = Solver().solve(Network(4, tuple(e for e in network.elements if e.name != "lamp"), (0,)))
    assert bare.solved
    assert bare.dead == ("pump", "light")
    assert bare.voltages[2:] == (None, None)


def test_load_with_one_pole_open() -> None:
    answer = Solver().solve(Network(4, (BATTERY, PowerLoad("l", 1, 2, 5.0), CurrentLoad("m", 3, 0, 1.0)), (0,)))
    assert answer.solved
    assert answer.dead == ("l", "m")


def test_reversed_load_takes_nothing() -> None:
    answer = Solver().solve(Network(2, (BATTERY, PowerLoad("l", 0, 1, 5.0), CurrentLoad("m", 0, 1, 1.0)), (0,)))
    assert answer.solved
    assert answer.modes == {"l": "reversed", "m": "reversed"}
    assert answer.currents["b"] == 0.0
    assert answer.dead == ()


def test_two_unequal_sources_in_parallel() -> None:
    network = Network(3, (Emf("b", 1, 0, 12.8, 0.0), Emf("c", 2, 0, 12.0, 0.0), Resistor("link", 1, 2, 0.0)), (0,))
    answer = Solver().solve(network)
    assert not answer.solved
    assert answer.reason
    assert [set(c.elements) for c in answer.conflicts] == [{"b", "c", "link"}]
    assert answer.conflicts[0].volt == pytest.approx(0.8)
    assert answer.voltages == (None, None, None)


def test_short_circuit_without_resistance() -> None:
    answer = Solver().solve(Network(2, (Emf("b", 1, 0, 12.8, 0.0), Resistor("short", 1, 0, 0.0)), (0,)))
    assert not answer.solved
    assert answer.conflicts == (Conflict(("b", "short"), 12.8),)


def test_a_conflict_leaves_other_islands_solved() -> None:
    elements: tuple[Element, ...] = (
        Emf("b", 1, 0, 12.8, 0.0),
        Resistor("short", 1, 0, 0.0),
        Emf("c", 3, 2, 6.0, 1.0),
        Resistor("r", 3, 2, 2.0),
    )
    answer = Solver().solve(Network(4, elements, ()))
    assert not answer.solved
    assert answer.voltages[:2] == (None, None)
    assert answer.currents["r"] == pytest.approx(2.0)
    assert "short" not in answer.currents


def test_two_conflicts_are_told_once_each() -> None:
    elements = (
        Emf("b", 1, 0, 12.8, 0.0),
        Resistor("short", 1, 0, 0.0),
        Emf("c", 3, 2, 6.0, 0.0),
        Resistor("bridge", 3, 2, 0.0),
        Emf("d", 5, 4, 6.0, 1.0),
        Resistor("r", 5, 4, 2.0),
    )
    answer = Solver().solve(Network(6, elements, ()))
    assert answer.conflicts == (Conflict(("b", "short"), 12.8), Conflict(("c", "bridge"), 6.0))
    assert answer.reason.count("joined without any resistance") == 1
    assert answer.reason.endswith(": b, short; c, bridge.")
    assert answer.currents == pytest.approx({"d": 2.0, "r": 2.0})


def test_equal_sources_in_parallel_share() -> None:
    network = Network(2, (Emf("b", 1, 0, 12.8, 0.0), Emf("c", 1, 0, 12.8, 0.0), Resistor("r", 1, 0, 6.4)), (0,))
    answer = Solver().solve(network)
    assert answer.solved
    assert answer.currents == pytest.approx({"b": 1.0, "c": 1.0, "r": 2.0})
    assert answer.shared == (("b", "c"),)


def test_short_circuit_through_a_resistance_is_solved() -> None:
    answer = Solver().solve(Network(2, (Emf("b", 1, 0, 12.8, 0.004), Resistor("short", 1, 0, 0.0)), (0,)))
    assert answer.solved
    assert answer.currents["short"] == pytest.approx(3200.0, rel=1e-12)


def test_parts_without_resistance_in_series() -> None:
    """A fuse, a switch and a busbar of 0 ohm: one node, and each carries what its neighbours leave."""
    network = Network(
        6,
        (
            BATTERY,
            Resistor("fuse", 1, 2, 0.0),
            Resistor("switch", 2, 3, 0.0),
            Resistor("bar", 3, 4, 0.0),
            Resistor("a", 3, 0, 6.0),
            Resistor("b2", 4, 5, 1.0),
            Resistor("c", 5, 0, 5.0),
        ),
        (0,),
    )
    answer = Solver().solve(network)
    volt = answer.voltages[1]
    assert volt is not None
    assert answer.voltages[2:5] == (volt, volt, volt)
    assert answer.currents["fuse"] == pytest.approx(volt / 6 * 2, rel=1e-12)
    assert answer.currents["bar"] == pytest.approx(volt / 6, rel=1e-12)
    assert answer.powers["fuse"] == 0.0
    assert answer.shared == ()


def test_loop_without_resistance_shares_by_least_squares() -> None:
    """A ring of three: two parts one way, one the other; the shares are 1 : 2, as for three equal small resistances."""
    network = Network(
        4,
        (
            BATTERY,
            Resistor("x", 1, 2, 0.0),
            Resistor("y", 2, 3, 0.0),
            Resistor("z", 1, 3, 0.0),
            CurrentLoad("l", 3, 0, 9.0),
        ),
        (0,),
    )
    answer = Solver().solve(network)
    assert answer.currents == pytest.approx({"b": 9.0, "x": 3.0, "y": 3.0, "z": 6.0, "l": 9.0}, rel=1e-12)
    assert answer.shared == (("x", "y", "z"),)


@pytest.mark.parametrize("seed", range(30))
def test_shares_are_those_of_equal_small_resistances(seed: int) -> None:
    """Against the same network with 1 micro-ohm in place of 0, where the currents follow from the voltages."""
    rng = random.Random(seed)
    nodes = 12
    elements: list[Element] = [Emf("b", 1, 0, 12.8, 0.05), Resistor("l", nodes - 1, 0, 2.0)]
    for k in range(2, nodes):
        elements.append(Resistor(f"w{k}", rng.randrange(1, k), k, rng.choice((0.0, 0.02))))
    for k in range(5):
        a, b = rng.sample(range(1, nodes), 2)
        elements.append(Resistor(f"t{k}", a, b, rng.choice((0.0, 0.0, 0.02))))
    small = [Resistor(e.name, e.a, e.b, 1e-6) if isinstance(e, Resistor) and e.ohm == 0 else e for e in elements]
    ideal = Solver().solve(Network(nodes, tuple(elements), (0,)))
    real = Solver().solve(Network(nodes, tuple(small), (0,)))
    for name, i in real.currents.items():
        assert ideal.currents[name] == pytest.approx(i, abs=3e-3)


def test_below_a_micro_ohm_counts_as_none() -> None:
    network = Network(3, (BATTERY, Resistor("bar", 1, 2, 9e-7), Resistor("r", 2, 0, 1.0)), (0,))
    answer = Solver().solve(network)
    assert answer.voltages[1] == answer.voltages[2]
    assert answer.currents["bar"] == answer.currents["r"]


def test_micro_ohms_keep_their_digits() -> None:
    """A 5 mA drain through 2 micro-ohms: the current has all its digits, though the drop is 1e-8 V in 12.8 V."""
    network = Network(
        4,
        (
            BATTERY,
            Resistor("bar", 1, 2, 2e-6),
            CurrentLoad("drain", 2, 0, 0.005),
            Resistor("dead end", 2, 3, 2e-6),
        ),
        (0,),
    )
    answer = Solver().solve(network)
    assert answer.currents["bar"] == pytest.approx(0.005, rel=1e-12)
    assert abs(answer.currents["dead end"]) <= 1e-14


def test_a_floating_part_behind_a_blocking_diode() -> None:
    answer = Solver().solve(
        Network(3, (BATTERY, Diode("d", 2, 1, 1e-9, 0.03), Resistor("leak", 2, 0, 1e6), PowerLoad("l", 2, 0, 5.0)), (0,))
    )
    assert answer.solved
    assert answer.dead == ("l",)
    assert abs(answer.currents["d"]) <= 2e-9


def test_one_collapse_leaves_the_other_circuit_solved() -> None:
    network = Network(
        4,
        (
            BATTERY,
            Resistor("lamp", 1, 0, 10.0),
            Emf("c", 3, 2, 6.0, 1.0),
            PowerLoad("motor", 3, 2, 20.0),
        ),
        (0,),
    )
    answer = Solver().solve(network)
    assert not answer.solved
    assert answer.collapse
    assert answer.currents["lamp"] == pytest.approx(12.8 / 10.01)
    assert answer.voltages[2:] == (None, None)


@pytest.mark.parametrize(
    "element",
    [
        Resistor("bad", 0, 1, -1.0),
        Resistor("bad", 0, 1, float("nan")),
        Resistor("bad", 0, 1, float("inf")),
        Emf("bad", 1, 0, float("nan"), 1.0),
        Emf("bad", 1, 0, 12.0, -1.0),
        PowerLoad("bad", 1, 0, float("inf")),
        CurrentLoad("bad", 1, 0, float("nan")),
        Diode("bad", 1, 0, -1.0, 0.03),
        Converter("bad", 1, 0, 1, 0, 5.0, 0.0, 0.0, 0.0),
        Tracker("bad", 1, 0, 1, 0, 0.0, 14.4, 10.0),
    ],
)
def test_senseless_values_are_named(element: Element) -> None:
    with pytest.raises(ValueError, match="bad"):
        Solver().solve(Network(2, (BATTERY, element), (0,)))


def test_nothing_at_all() -> None:
    answer = Solver().solve(Network(0, ()))
    assert answer.solved
    assert answer.voltages == ()
    answer = Solver().solve(Network(3, ()))
    assert answer.voltages == (None, None, None)


def test_a_shorted_element() -> None:
    """Both ends at one node: it carries nothing, or what its own voltage drives."""
    answer = Solver().solve(
        Network(2, (BATTERY, Resistor("r", 1, 1, 0.0), Resistor("s", 1, 1, 2.0), Emf("c", 0, 0, 6.0, 2.0)), (0,))
    )
    assert answer.currents == pytest.approx({"b": 0.0, "r": 0.0, "s": 0.0, "c": 3.0})
    load = Solver().solve(Network(2, (BATTERY, PowerLoad("l", 1, 1, 5.0)), (0,)))
    assert load.dead == ("l",)


def impedance(network: Network, a: int, b: int) -> tuple[float, float]:
    """Open voltage and resistance by numpy, with a pseudo-inverse of the dense nodal matrix."""
    matrix = np.zeros((network.nodes, network.nodes))
    injected = np.zeros(network.nodes)
    for e in network.elements:
        if isinstance(e, Resistor | Emf):
            x, y = (e.a, e.b) if isinstance(e, Resistor) else (e.plus, e.minus)
            matrix[x, x] += 1 / e.ohm
            matrix[y, y] += 1 / e.ohm
            matrix[x, y] -= 1 / e.ohm
            matrix[y, x] -= 1 / e.ohm
            if isinstance(e, Emf):
                injected[x] += e.volt / e.ohm
                injected[y] -= e.volt / e.ohm
    inverse = np.linalg.pinv(matrix)
    one = np.zeros(network.nodes)
    one[a] += 1
    one[b] -= 1
    return float(one @ inverse @ injected), float(one @ inverse @ one)


@pytest.mark.parametrize("seed", range(20))
def test_two_poles(seed: int) -> None:
    rng = random.Random(seed)
    nodes = rng.randrange(3, 30)
    elements: list[Element] = [Emf("b", 1, 0, 12.8, 0.01)]
    for k in range(2, nodes):
        elements.append(Resistor(f"w{k}", rng.randrange(k), k, 10 ** rng.uniform(-2, 0)))
    for k in range(nodes // 2):
        a, b = rng.sample(range(nodes), 2)
        elements.append(Resistor(f"t{k}", a, b, 10 ** rng.uniform(-2, 1)))
    elements.append(Emf("c", rng.randrange(1, nodes), 0, 12.0, 0.1))
    elements.append(PowerLoad("l", 1, 0, 500.0))  # is left out
    network = Network(nodes, tuple(elements), (0,))
    pairs = [tuple(rng.sample(range(nodes), 2)) for _ in range(20)]
    for (a, b), port in zip(pairs, Solver().thevenin(network, pairs), strict=True):
        volt, ohm = impedance(network, a, b)
        assert port.open_volt == pytest.approx(volt, abs=1e-9)
        assert port.ohm == pytest.approx(ohm, rel=1e-9)


def test_poles_that_no_path_joins() -> None:
    network = Network(5, (BATTERY, Resistor("loop", 2, 3, 0.7), Resistor("zero", 1, 4, 0.0)), (0,))
    ports = Solver().thevenin(network, [(1, 2), (2, 3), (1, 4), (1, 1), (1, 0)])
    assert ports[0] == (0.0, float("inf"))
    assert ports[1] == pytest.approx((0.0, 0.7))
    assert ports[2] == (0.0, 0.0)
    assert ports[3] == (0.0, 0.0)
    assert ports[4] == pytest.approx((12.8, 0.01))


def test_prospective_current_is_that_of_a_bolted_short() -> None:
    network = Network(3, (BATTERY, Resistor("line", 1, 2, 0.02), Emf("c", 1, 0, 12.6, 0.02)), (0,))
    (port,) = Solver().thevenin(network, [(2, 0)])
    shorted = Solver().solve(Network(3, (*network.elements, Resistor("short", 2, 0, 0.0)), (0,)))
    assert port.open_volt / port.ohm == pytest.approx(shorted.currents["short"], rel=1e-12)


def test_poles_behind_a_battery_without_resistance() -> None:
    """12.8 V held, 0.5 ohm in the lead; its own poles show no resistance at all."""
    network = Network(3, (Emf("b", 1, 0, 12.8, 0.0), Resistor("lead", 1, 2, 0.5), Emf("c", 2, 0, 12.0, 0.5)), (0,))
    ports = Solver().thevenin(network, [(2, 0), (1, 0)])
    assert ports[0] == pytest.approx((12.4, 0.25))
    assert ports[1] == pytest.approx((12.8, 0.0))


def test_converter_with_an_input_that_hangs_nowhere_is_off() -> None:
    elements = (BATTERY, Converter("k", 1, 0, 2, 0, 5.0, 0.0, 0.9, 0.1), Converter("loose", 3, 4, 5, 0, 5.0, 0.0, 0.9, 0.1))
    network = Network(6, (*elements, PowerLoad("l", 2, 0, 9.0)), (0,))
    answer = Solver().solve(network)
    assert answer.modes == {"k": "voltage", "loose": "off"}
    assert answer.currents["k.in"] * 12.8 == pytest.approx(10.1, rel=1e-2)
    found = Solver().fold(network, limit=1e4)
    # E^2 / 4R = 4096 W at the converter's input of 10.1 W
    assert found.share == pytest.approx(4096 / 10.1, rel=1e-9)


LED = (BATTERY, Resistor("w", 1, 2, 0.1))


def test_variant_with_fixed_currents_is_answered_beside_its_network() -> None:
    """12.8 V behind 0.11 ohm in all: 20 W at full, and 5 A instead, which leave 12.25 V."""
    elements = (*LED, PowerLoad("l", 2, 0, 20.0))
    variant = Network(3, (*LED, CurrentLoad("l", 2, 0, 5.0)), (0,))
    whole, other = Solver().solve_with_variant(Network(3, elements, (0,)), variant)
    assert whole == Solver().solve(Network(3, elements, (0,)))
    assert other is not None
    assert other.voltages[2] == pytest.approx(12.8 - 5.0 * 0.11, rel=1e-12)
    assert other.currents["l"] == 5.0


@pytest.mark.parametrize(
    "elements",
    [
        (*LED, PowerLoad("l", 2, 0, 500.0)),  # E^2 / 4R = 372 W: nothing to start from
        (
            Charger("m", 1, 0, 12.8, 3.0),
            Resistor("w", 1, 2, 0.1),
            PowerLoad("l", 2, 0, 20.0),
        ),  # 5 A are beyond the charger's limit
        (*LED, Emf("c", 0, 1, 1.0, 0.0), Resistor("s", 0, 1, 0.0), PowerLoad("l", 2, 0, 20.0)),  # a conflict
    ],
)
def test_variant_that_does_not_follow_from_its_network_is_left_to_the_caller(elements: tuple[Element, ...]) -> None:
    variant = tuple(CurrentLoad(e.name, e.plus, e.minus, 5.0) if isinstance(e, PowerLoad) else e for e in elements)
    whole, other = Solver().solve_with_variant(Network(3, elements, (0,)), Network(3, variant, (0,)))
    assert whole == Solver().solve(Network(3, elements, (0,)))
    assert other is None
