"""What the solver keeps between calls, and what it says where a bound cuts a search short: never a wrong number, never a search without end."""

from __future__ import annotations

import pytest
from ohmwright.solver import (
    Array,
    Converter,
    Diode,
    Element,
    Emf,
    Network,
    Resistor,
    SeriesController,
    Solver,
    Tracker,
)
from ohmwright.solver import case as case_of
from ohmwright.solver import peak as peak_of
from ohmwright.solver import solver as solver_of
from ohmwright.solver.photovoltaic import peak

ARRAY = Array("pv", 4, 0, 6.0, 2.5e-9, 1.0, 0.2, 200.0)
BATTERY = Emf("b", 1, 0, 12.8, 0.01)


def sunny(ohm: float, *more: Element) -> Network:
    """An array behind a lead, a controller and a battery."""
    tracker = Tracker("t", 3, 0, 2, 0, 0.97, 14.4, 20.0)
    return Network(5, (ARRAY, Resistor("lead", 4, 3, ohm), tracker, Resistor("w", 2, 1, 0.02), BATTERY, *more), (0,))


def test_answers_stay_the_same_while_structures_are_forgotten(monkeypatch: pytest.MonkeyPatch) -> None:
    """Room for next to nothing: each new structure drives the others out, and comes back with the same answer to the last bit."""
    networks = [
        Network(n, (Emf("b", 1, 0, 12.8, 0.01), *[Resistor(f"r{k}", k, k - 1, 1.0) for k in range(2, n)]), (0,))
        for n in range(3, 9)
    ]
    wanted = [Solver().solve(network) for network in networks]
    monkeypatch.setattr(case_of, "_KEEP", 8)
    solver = Solver()
    for _ in range(2):
        assert [solver.solve(network) for network in networks] == wanted
    assert len(solver._plans._plans) < len(networks)
    assert solver._plans._held == sum(len(key[0]) for key in solver._plans._plans)


def test_answers_stay_the_same_while_peaks_are_forgotten(monkeypatch: pytest.MonkeyPatch) -> None:
    networks = [sunny(ohm) for ohm in (0.1, 0.2, 0.3)]
    wanted = [Solver().solve(network) for network in networks]
    monkeypatch.setattr(peak_of, "_KEPT", 2)
    solver = Solver()
    for _ in range(2):
        assert [solver.solve(network) for network in networks] == wanted
    assert solver._peaks is not None
    assert len(solver._peaks._found) == 2


def test_a_search_for_the_peak_that_is_cut_short_finds_less_never_more(monkeypatch: pytest.MonkeyPatch) -> None:
    """A bleeder across the lead makes the side of the array more than a plain loop, so that the peak is searched for step by step."""
    network = sunny(0.1, Resistor("bleeder", 3, 0, 500.0))
    whole = Solver().solve(network).powers["t.in"]
    found = []
    for steps in (1, 2, 3, 60):
        monkeypatch.setattr(peak_of, "_STEPS", steps)
        found.append(Solver().solve(network).powers["t.in"])
    assert found == sorted(found)
    assert 0 < found[0] < whole
    assert found[-1] == whole
    volt, ampere = peak(Array("pv", 4, 0, 6.0, 2.5e-9, 1.0, 0.3, 200.0))
    assert whole == pytest.approx(volt * ampere - volt**2 / 500, rel=1e-3)


def test_a_controller_across_one_node_finds_nothing() -> None:
    tracker = Tracker("t", 1, 1, 2, 0, 0.97, 14.4, 20.0)
    answer = Solver().solve(Network(3, (BATTERY, tracker, Resistor("r", 2, 0, 5.0)), (0,)))
    assert answer.solved
    assert answer.currents["t.out"] == 0.0
    assert answer.currents["b"] == 0.0


def test_a_peak_that_does_not_come_to_rest_with_its_controller_is_no_answer(monkeypatch: pytest.MonkeyPatch) -> None:
    """The array's return is shared with the output, so that the peak depends on what the controller gives: one round is not enough."""
    array = Array("pv", 5, 4, 6.0, 2.5e-9, 1.0, 0.2, 200.0)
    tracker = Tracker("t", 5, 0, 2, 4, 0.97, 14.4, 20.0)
    network = Network(6, (array, Resistor("back", 4, 0, 0.05), tracker, Resistor("w", 2, 1, 0.02), BATTERY), (0,))
    assert Solver().solve(network).modes == {"t": "sun"}
    monkeypatch.setattr(solver_of, "_ROUNDS", 1)
    answer = Solver().solve(network)
    assert not answer.solved
    assert not answer.collapse
    assert answer.reason.endswith("the peak of an array and what its controller gives do not settle together.")
    assert answer.voltages == (None,) * 6


def test_a_battery_at_no_voltage_leaves_a_controller_with_poles_of_its_own_in_peace() -> None:
    """A converter is joined to an empty battery: by connection it feeds the controller, by its voltage it does not."""
    empty = Emf("empty", 1, 0, 0.0, 0.1)
    converter = Converter("c", 1, 0, 3, 2, 20.0, 0.0, 0.9, 0.0)
    controller = SeriesController("s", 3, 2, 5, 4, 14.4, 10.0)
    battery = Emf("b", 5, 4, 12.8, 0.01)
    answer = Solver().solve(Network(6, (empty, converter, controller, battery, Resistor("r", 5, 4, 6.39)), (0,)))
    assert answer.solved
    assert answer.currents["s.in"] == answer.currents["s.out"] == answer.currents["c.in"] == 0.0
    assert answer.currents["r"] == pytest.approx(2.0)


def test_an_array_side_by_leads_on_both_poles_or_turned_round() -> None:
    """The leads of both poles add up to one; an array that is wired the wrong way round gives nothing."""
    tracker = Tracker("t", 3, 6, 2, 0, 0.97, 14.4, 20.0)
    array = Array("pv", 4, 5, 6.0, 2.5e-9, 1.0, 0.2, 200.0)
    box = (tracker, Resistor("w", 2, 1, 0.02), BATTERY, Resistor("plus", 4, 3, 0.06), Resistor("minus", 6, 5, 0.04))
    right = Solver().solve(Network(7, (array, *box), (0,)))
    volt, ampere = peak(Array("pv", 4, 5, 6.0, 2.5e-9, 1.0, 0.3, 200.0))
    assert right.powers["t.in"] == pytest.approx(volt * ampere, rel=1e-9)
    turned = Array("pv", 5, 4, 6.0, 2.5e-9, 1.0, 0.2, 200.0)
    wrong = Solver().solve(Network(7, (turned, *box), (0,)))
    assert wrong.solved
    assert wrong.modes == {"t": "off"}
    assert wrong.powers["t.out"] == 0.0


def test_currents_beyond_all_numbers_are_no_answer_and_no_error() -> None:
    """A battery that gives next to nothing, on a ring of milliohms, and an array side whose curve bends too little for a number."""
    ring = (Resistor("w1", 2, 3, 0.001), Resistor("w2", 3, 1, 0.0006), Resistor("w3", 1, 2, 0.00819))
    more = (Resistor("w4", 4, 1, 0.02), Resistor("w5", 4, 3, 0.003), Emf("b", 1, 0, 50.0, 6e74))
    answer = Solver().solve(Network(5, (*ring, *more), (0,)))
    assert not answer.solved
    assert "found no operating point" in answer.reason
    flat = (Diode("d", 0, 1, 1e-9, 2e199, 6e198), Tracker("t", 1, 0, 0, 2, 1.0, 10.0, 1.0), Emf("b", 1, 2, 1e87, 1e85))
    assert Solver().solve(Network(3, flat, (0,))).modes == {"t": "off"}
