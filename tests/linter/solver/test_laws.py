"""Laws that every operating point keeps, on random networks (properties; no source but physics and arithmetic)."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
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

SEEDS = st.integers(0, 2**32 - 1)
MANY = settings(max_examples=250, suppress_health_check=list(HealthCheck))
SOME = settings(max_examples=80, suppress_health_check=list(HealthCheck))
Balance = Callable[[Network, Operation], tuple[float, float]]


def radial(seed: int, loads: type[CurrentLoad] | type[PowerLoad] = CurrentLoad, ties: bool = True) -> Network:
    """One battery, wires out and back, loads between them that leave most of the voltage."""
    rng = random.Random(seed)
    nodes = rng.randrange(4, 40)
    elements: list[Element] = [Emf("b", 1, 0, 12.8, 0.01)]
    for k in range(2, nodes):
        near = rng.randrange(max(0, k - 6), k) if k % 2 == 0 else rng.randrange(max(1, k - 6), k)
        elements.append(Resistor(f"w{k}", near, k, 10 ** rng.uniform(-3, -2)))
    for k in range(nodes // 4 if ties else 0):
        a, b = rng.sample(range(nodes), 2)
        elements.append(Resistor(f"t{k}", a, b, 10 ** rng.uniform(1, 3)))
    for k in range(rng.randrange(1, 6)):
        a = rng.randrange(1, nodes)
        amount = rng.uniform(0.1, 3)
        elements.append(loads(f"l{k}", a, 0, amount if loads is CurrentLoad else 12 * amount))
    rng.shuffle(elements)
    return Network(nodes, tuple(elements), (0,))


@MANY
@given(seed=SEEDS)
def test_charge_and_energy_balance_whatever_the_wiring(
    seed: int, any_network: Callable[[int], Network], balance: Balance
) -> None:
    """Also: no wiring raises, and what is not solved says why."""
    network = any_network(seed)
    answer = Solver().solve(network)
    assert len(answer.voltages) == network.nodes
    if not answer.solved:
        assert answer.reason
        return
    charge, energy = balance(network, answer)
    assert charge <= 1e-9
    assert energy <= 1e-9


def resistive(seed: int) -> Network:
    """Batteries, resistors and zero-ohm parts anywhere."""
    rng = random.Random(seed)
    nodes = rng.randrange(3, 25)
    elements: list[Element] = []
    for k in range(rng.randrange(nodes, 3 * nodes)):
        a, b = rng.randrange(nodes), rng.randrange(nodes)
        elements.append(Resistor(f"w{k}", a, b, rng.choice((0.0, 10 ** rng.uniform(-5, 3)))))
    for k in range(rng.randrange(1, 4)):
        a, b = rng.sample(range(nodes), 2)
        elements.append(Emf(f"b{k}", a, b, rng.uniform(1, 14), 10 ** rng.uniform(-3, 0)))
    for k in range(rng.randrange(0, 3)):
        a, b = rng.sample(range(nodes), 2)
        elements.append(CurrentSource(f"s{k}", a, b, rng.uniform(0.1, 5)))
    return Network(nodes, tuple(elements), (0,))


def between(answer: Operation, network: Network) -> dict[str, float]:
    """The voltage across every battery and every resistor, whatever each island is measured against."""
    found = {}
    for e in network.elements:
        pair = (e.a, e.b) if isinstance(e, Resistor) else (e.plus, e.minus) if isinstance(e, Emf) else None
        if pair is not None:
            high, low = answer.voltages[pair[0]], answer.voltages[pair[1]]
            if high is not None and low is not None:
                found[e.name] = high - low
    return found


@MANY
@given(seed=SEEDS)
def test_superposition(seed: int) -> None:
    """In a linear network the currents of all sources together are the sum of the currents of each alone."""
    network = resistive(seed)
    sources = [e for e in network.elements if isinstance(e, Emf | CurrentSource)]
    whole = Solver().solve(network)
    assert whole.solved
    total = dict.fromkeys(whole.currents, 0.0)
    for chosen in sources:
        alone = tuple(
            e
            if e is chosen or isinstance(e, Resistor)
            else (replace(e, volt=0.0) if isinstance(e, Emf) else replace(e, ampere=0.0))
            for e in network.elements
            if isinstance(e, Resistor | Emf | CurrentSource)
        )
        for name, i in Solver().solve(Network(network.nodes, alone, network.references)).currents.items():
            total[name] += i
    largest = max(abs(i) for i in whole.currents.values())
    for name, i in whole.currents.items():
        assert total[name] == pytest.approx(i, abs=1e-10 * max(largest, 1e-3))


@MANY
@given(seed=SEEDS)
def test_double_length_doubles_the_drop(seed: int) -> None:
    """With constant currents and no loops, twice the resistance of every wire is twice the drop in it, and the same current."""
    network = radial(seed, ties=False)
    long = Network(
        network.nodes,
        tuple(replace(e, ohm=2 * e.ohm) if isinstance(e, Resistor) else e for e in network.elements),
        network.references,
    )
    once, twice = Solver().solve(network), Solver().solve(long)
    for e in network.elements:
        if isinstance(e, Resistor):
            assert twice.currents[e.name] == pytest.approx(once.currents[e.name], rel=1e-12, abs=1e-12)
            assert twice.powers[e.name] == pytest.approx(2 * once.powers[e.name], rel=1e-12, abs=1e-12)


def renumbered(network: Network, rng: random.Random) -> tuple[Network, list[int]]:
    """The same network with other node numbers and its elements in another order; with the new number of each node."""
    new = list(range(network.nodes))
    rng.shuffle(new)
    elements = []
    for e in network.elements:
        fields = {name for name in e.__slots__ if name in _NODES}
        elements.append(replace(e, **{name: new[getattr(e, name)] for name in fields}))
    rng.shuffle(elements)
    return Network(network.nodes, tuple(elements), tuple(new[v] for v in network.references)), new


_NODES = {"a", "b", "plus", "minus", "anode", "cathode", "in_plus", "in_minus", "out_plus", "out_minus"}


def rich(seed: int) -> Network:
    """A sound box with every kind of element, wired the way they are meant."""
    rng = random.Random(seed)
    base = radial(seed, rng.choice((CurrentLoad, PowerLoad)))
    free = base.nodes
    where = [rng.randrange(1, base.nodes) for _ in range(6)]
    elements: list[Element] = list(base.elements)
    if rng.random() < 0.5:
        elements += [
            Converter("step", where[0], 0, free, 0, 5.0, rng.choice((0.0, 0.05)), 0.9, 0.1, rng.choice((None, 1.0))),
            Resistor("lead", free, free + 1, 0.05),
            Resistor("lamp", free + 1, 0, rng.uniform(1, 20)),
        ]
        free += 2
    if rng.random() < 0.5:
        elements += [Diode("guard", where[1], free, 1e-9, 0.03, 0.005), Resistor("horn", free, 0, rng.uniform(5, 50))]
        free += 1
    if rng.random() < 0.5:
        elements.append(Charger("mains", where[2], 0, rng.uniform(12, 15), rng.uniform(1, 10)))
    if rng.random() < 0.6:
        elements += [
            Array("pv", free, 0, rng.uniform(1, 6), 2.5e-9, 1.0, 0.2, 200.0),
            Resistor("sunlead", free, free + 1, 0.1),
            rng.choice(
                (
                    Tracker("track", free + 1, 0, where[3], 0, 0.96, rng.uniform(12, 15), rng.uniform(1, 10)),
                    SeriesController("pulse", free + 1, 0, where[3], 0, rng.uniform(12, 15), rng.uniform(1, 10)),
                )
            ),
        ]
        free += 2
    return Network(free, tuple(elements), (0,))


@MANY
@given(seed=SEEDS)
def test_renumbering_and_reordering_change_nothing(seed: int) -> None:
    network = rich(seed)
    other, new = renumbered(network, random.Random(seed))
    first, second = Solver().solve(network), Solver().solve(other)
    assert first.solved == second.solved
    if not first.solved:
        return
    assert first.modes == second.modes
    assert set(first.currents) == set(second.currents)
    largest = max(1e-3, *(abs(i) for i in first.currents.values()))
    for name, i in first.currents.items():
        assert second.currents[name] == pytest.approx(i, abs=1e-11 * largest)
    for node, v in enumerate(first.voltages):
        w = second.voltages[new[node]]
        assert (v is None) == (w is None)
        if v is not None and w is not None:
            assert w == pytest.approx(v, abs=1e-12 * 20)


@SOME
@given(seed=SEEDS)
def test_answers_do_not_depend_on_what_was_solved_before(seed: int) -> None:
    """A solver that has solved other networks of the same structure gives the same answer, to the last bit."""
    solver = Solver()
    network = rich(seed)
    other = Network(
        network.nodes,
        tuple(replace(e, ohm=1.3 * e.ohm) if isinstance(e, Resistor) else e for e in network.elements),
        network.references,
    )
    solver.solve(other)
    assert solver.solve(network) == Solver().solve(network)


@MANY
@given(seed=SEEDS)
def test_a_wrong_guess_of_modes_changes_nothing(seed: int) -> None:
    network = rich(seed)
    rng = random.Random(seed)
    guess = {e.name: rng.choice(("current", "sun", "voltage", "off")) for e in network.elements}
    first, second = Solver().solve(network), Solver().solve(network, guess)
    assert (first.solved, first.collapse, first.modes) == (second.solved, second.collapse, second.modes)
    largest = max([1e-3, *(abs(i) for i in first.currents.values())])
    for name, i in first.currents.items():
        assert second.currents[name] == pytest.approx(i, abs=1e-11 * largest)


@MANY
@given(seed=SEEDS, part=st.floats(0.01, 0.99))
def test_splitting_a_resistor_in_two_changes_nothing(seed: int, part: float) -> None:
    network = rich(seed)
    rng = random.Random(seed)
    chosen = rng.choice([e for e in network.elements if isinstance(e, Resistor)])
    halves = (
        Resistor("half 1", chosen.a, network.nodes, part * chosen.ohm),
        Resistor("half 2", network.nodes, chosen.b, (1 - part) * chosen.ohm),
    )
    other = Network(network.nodes + 1, tuple(e for e in network.elements if e is not chosen) + halves, network.references)
    first, second = Solver().solve(network), Solver().solve(other)
    assert first.solved == second.solved
    if not first.solved:
        return
    assert first.modes == second.modes
    largest = max(1e-3, *(abs(i) for i in first.currents.values()))
    assert second.currents["half 1"] == pytest.approx(first.currents[chosen.name], abs=1e-11 * largest)
    for name, i in first.currents.items():
        if name != chosen.name:
            assert second.currents[name] == pytest.approx(i, abs=1e-11 * largest)


@MANY
@given(seed=SEEDS)
def test_sound_boxes_are_solved_or_collapse(seed: int, balance: Balance) -> None:
    """Wired as meant, a box has an operating point or its loads are too much; the fold says the same."""
    network = rich(seed)
    solver = Solver()
    answer = solver.solve(network)
    assert answer.solved or answer.collapse, answer.reason
    fold = solver.fold(network)
    assert not fold.failed, fold.reason
    assert fold.found is answer.collapse
    if answer.solved:
        assert max(balance(network, answer)) <= 1e-10


@SOME
@given(seed=SEEDS)
def test_more_load_is_less_voltage(seed: int) -> None:
    """One more ampere at a node lowers every voltage of a passive network with one return."""
    network = radial(seed, ties=False)
    more = Network(network.nodes, (*network.elements, CurrentLoad("more", 1, 0, 1.0)), network.references)
    before, after = Solver().solve(network), Solver().solve(more)
    for v, w in zip(before.voltages, after.voltages, strict=True):
        assert v is not None
        assert w is not None
        assert w <= v + 1e-12
