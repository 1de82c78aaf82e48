"""Modes of chargers, converters and charge controllers, each against arithmetic by hand."""

from __future__ import annotations

import math

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
from ohmwright.solver.photovoltaic import current_at, open_circuit, peak


def solve(*elements: Element) -> Operation:
    nodes = 1 + max(
        getattr(e, name)
        for e in elements
        for name in e.__slots__
        if name in {"a", "b", "plus", "minus", "anode", "cathode", "in_plus", "in_minus", "out_plus", "out_minus"}
    )
    answer = Solver().solve(Network(nodes, elements, (0,)))
    assert answer.solved, answer.reason
    assert not answer.reason
    return answer


def close(value: float) -> object:
    return pytest.approx(value, rel=1e-12)


class TestCharger:
    def test_alone_holds_its_voltage(self) -> None:
        answer = solve(Charger("c", 1, 0, 14.4, 10.0), Resistor("r", 1, 0, 14.4))
        assert answer.modes == {"c": "voltage"}
        assert answer.currents["c"] == close(1.0)

    def test_alone_at_its_limit(self) -> None:
        answer = solve(Charger("c", 1, 0, 14.4, 10.0), Resistor("r", 1, 0, 1.0))
        assert answer.modes == {"c": "current"}
        assert answer.voltages == close((0.0, 10.0))

    @pytest.mark.parametrize(
        ("ohm", "share"), [(1e-6, 0.0), (0.01, 0.01 * 15.0**2 / 4 / 10.0), (0.1, 0.1 * 15.0**2 / 4 / 10.0)]
    )
    def test_power_beside_a_current_load_that_takes_all(self, ohm: float, share: float) -> None:
        """15 A into a load of 20 A leave no voltage at it; before its lead power has at most U (15 A - U / R), R (15 A)^2 / 4 at half of the voltage there."""
        loads = (CurrentLoad("l", 2, 0, 20.0), PowerLoad("p", 1, 0, 10.0))
        network = Network(3, (Charger("c", 1, 0, 14.4, 15.0), Resistor("w", 1, 2, ohm), *loads), (0,))
        answer = Solver().solve(network)
        assert (answer.solved, answer.collapse) == (False, True)
        fold = Solver().fold(network)
        assert fold.found and fold.elements == ("p",)
        assert fold.share == pytest.approx(share, abs=1e-6)
        same = Network(2, (Charger("c", 1, 0, 14.4, 15.0), CurrentLoad("l", 1, 0, 20.0), PowerLoad("p", 1, 0, 10.0)), (0,))
        assert Solver().fold(same).share == 0.0

    def test_into_a_battery(self) -> None:
        answer = solve(Emf("b", 1, 0, 12.8, 0.01), Charger("c", 2, 0, 14.4, 10.0), Resistor("w", 1, 2, 0.02))
        assert answer.modes == {"c": "current"}
        assert answer.voltages == close((0.0, 12.9, 13.1))
        assert answer.currents["b"] == close(-10.0)

    def test_into_a_nearly_full_battery(self) -> None:
        answer = solve(Emf("b", 1, 0, 14.3, 0.01), Charger("c", 2, 0, 14.4, 10.0), Resistor("w", 1, 2, 0.02))
        assert answer.modes == {"c": "voltage"}
        assert answer.currents["c"] == close(0.1 / 0.03)

    def test_stays_off_above_its_voltage(self) -> None:
        answer = solve(Emf("b", 1, 0, 14.5, 0.01), Charger("c", 2, 0, 14.4, 10.0), Resistor("w", 1, 2, 0.02))
        assert answer.modes == {"c": "off"}
        assert answer.currents["c"] == 0.0
        assert answer.voltages[2] == close(14.5)

    def test_does_not_press_against_a_diode(self) -> None:
        answer = solve(Charger("c", 1, 0, 14.4, 10.0), Diode("d", 2, 1, 1e-9, 0.03), Resistor("r", 2, 0, 5.0))
        assert answer.modes == {"c": "voltage"}
        assert abs(answer.currents["c"]) <= 1e-8

    @pytest.mark.parametrize(("volts", "modes"), [((14.4, 14.4), ("voltage", "voltage")), ((14.4, 14.2), ("voltage", "off"))])
    def test_two_at_one_point(self, volts: tuple[float, float], modes: tuple[str, str]) -> None:
        answer = solve(Charger("c", 1, 0, volts[0], 10.0), Charger("d", 1, 0, volts[1], 10.0), Resistor("r", 1, 0, 2.0))
        assert (answer.modes["c"], answer.modes["d"]) == modes
        assert answer.voltages[1] == pytest.approx(14.4, rel=1e-9)
        shares = (3.6, 3.6) if modes[1] == "voltage" else (7.2, 0.0)
        assert (answer.currents["c"], answer.currents["d"]) == pytest.approx(shares, rel=1e-8)
        assert answer.shared == ((("c", "d"),) if modes[1] == "voltage" else ())

    def test_the_weaker_one_of_two_gives_all_it_has(self) -> None:
        answer = solve(Charger("c", 1, 0, 14.4, 5.0), Charger("d", 1, 0, 14.2, 10.0), Resistor("r", 1, 0, 2.0))
        assert (answer.modes["c"], answer.modes["d"]) == ("current", "voltage")
        assert (answer.currents["c"], answer.currents["d"]) == close((5.0, 2.1))

    def test_starves_a_load_of_fixed_current(self) -> None:
        answer = solve(Charger("c", 1, 0, 14.4, 5.0), CurrentLoad("l", 1, 0, 8.0))
        assert answer.modes == {"c": "current", "l": "starved"}
        assert answer.currents["l"] == close(5.0)
        assert answer.voltages[1] == 0.0


class TestConverter:
    SUPPLY = Emf("b", 1, 0, 12.8, 0.01)

    def test_holds_its_voltage(self) -> None:
        answer = solve(self.SUPPLY, Converter("k", 1, 0, 2, 0, 5.0, 0.0, 0.9, 0.1, 3.0), Resistor("r", 2, 0, 5.0))
        assert answer.modes == {"k": "voltage"}
        assert answer.voltages[2] == close(5.0)
        assert answer.powers["k.in"] == close(5.0 / 0.9 + 0.1)
        assert answer.powers["k"] == close(5.0 / 0.9 + 0.1 - 5.0)

    def test_output_resistance_is_outside_the_efficiency(self) -> None:
        answer = solve(self.SUPPLY, Converter("k", 1, 0, 2, 0, 5.0, 0.25, 0.9, 0.0), Resistor("r", 2, 0, 2.25))
        assert answer.currents["k.out"] == close(2.0)
        assert answer.powers["k.in"] == close(5.0 * 2.0 / 0.9)
        assert answer.powers["k.out"] == close(4.5 * 2.0)

    @pytest.mark.parametrize("ohm", [0.0, 0.1])
    def test_held_by_its_current(self, ohm: float) -> None:
        answer = solve(self.SUPPLY, Converter("k", 1, 0, 2, 0, 5.0, ohm, 0.9, 0.1, 3.0), Resistor("r", 2, 0, 1.0))
        assert answer.modes == {"k": "current"}
        assert answer.voltages[2] == close(3.0)
        assert answer.powers["k.in"] == close((3.0 + 3.0 * ohm) * 3.0 / 0.9 + 0.1)

    @pytest.mark.parametrize("ohm", [0.0, 0.1])
    def test_input_does_not_jump_at_the_limit(self, ohm: float) -> None:
        """Just below and just above the load at which the limit is reached, the input takes the same."""
        limit = 2.0
        load = (5.0 - limit * ohm) / limit
        converter = Converter("k", 1, 0, 2, 0, 5.0, ohm, 0.9, 0.1, limit)
        below = solve(self.SUPPLY, converter, Resistor("r", 2, 0, load * (1 + 1e-9)))
        above = solve(self.SUPPLY, converter, Resistor("r", 2, 0, load * (1 - 1e-9)))
        assert (below.modes["k"], above.modes["k"]) == ("voltage", "current")
        assert below.powers["k.in"] == pytest.approx(above.powers["k.in"], rel=1e-8)

    def test_off_where_its_output_is_driven_higher(self) -> None:
        answer = solve(
            self.SUPPLY, Converter("k", 1, 0, 2, 0, 5.0, 0.0, 0.9, 0.1), Emf("c", 2, 0, 6.0, 0.1), Resistor("r", 2, 0, 60.0)
        )
        assert answer.modes == {"k": "off"}
        assert answer.currents["k.out"] == 0.0
        assert answer.powers["k.in"] == close(0.1)  # it idles on

    def test_off_without_an_input(self) -> None:
        answer = solve(self.SUPPLY, Converter("k", 3, 0, 2, 0, 5.0, 0.0, 0.9, 0.1), PowerLoad("l", 2, 0, 10.0))
        assert answer.modes == {"k": "off", "l": "dead"}
        assert answer.dead == ("l",)
        assert answer.voltages[2] is None
        assert answer.powers["k"] == 0.0

    def test_off_with_reversed_input(self) -> None:
        answer = solve(
            self.SUPPLY, Converter("k", 0, 1, 2, 3, 5.0, 0.0, 0.9, 0.1), PowerLoad("l", 2, 3, 10.0), Resistor("x", 1, 0, 100.0)
        )
        assert answer.modes == {"k": "off", "l": "dead"}

    def test_isolated_output_is_an_island_of_its_own(self) -> None:
        answer = solve(self.SUPPLY, Converter("k", 1, 0, 3, 2, 24.0, 0.0, 0.9, 0.1), Resistor("r", 3, 2, 12.0))
        assert answer.voltages[2:] == close((0.0, 24.0))
        assert [(island.nodes, island.reference) for island in answer.islands] == [((0, 1), 0), ((2, 3), 2)]

    def test_chain(self) -> None:
        answer = solve(
            self.SUPPLY,
            Converter("k", 1, 0, 2, 0, 24.0, 0.0, 0.9, 0.2),
            Converter("m", 2, 0, 3, 0, 5.0, 0.0, 0.8, 0.1),
            PowerLoad("l", 3, 0, 10.0),
        )
        assert answer.powers["m.in"] == close(10.0 / 0.8 + 0.1)
        assert answer.powers["k.in"] == close((10.0 / 0.8 + 0.1) / 0.9 + 0.2)

    def test_shared_return(self) -> None:
        """Input and output return through one wire: its drop is that of the difference of the two currents."""
        answer = solve(
            self.SUPPLY,
            Resistor("return", 3, 0, 0.05),
            Converter("k", 1, 3, 2, 3, 5.0, 0.0, 0.9, 0.1),
            PowerLoad("l", 2, 0, 10.0),
        )
        drop = answer.currents["return"] * 0.05
        assert answer.voltages[3] == close(drop)
        assert answer.currents["return"] == close(answer.currents["k.in"] - answer.currents["k.out"])
        assert answer.voltages[2] == close(5.0 + drop)
        assert answer.powers["k.in"] == close(5.0 * answer.currents["k.out"] / 0.9 + 0.1)


ARRAY = Array("pv", 4, 0, 6.0, 2.5e-9, 1.0, 0.2, 200.0)
LEAD = Resistor("lead", 4, 3, 0.1)
WIRE = Resistor("w", 2, 1, 0.02)
BATTERY = Emf("b", 1, 0, 12.8, 0.01)
DARK = Array("pv", 4, 0, 0.0, 2.5e-9, 1.0, 0.2, 200.0)
ARRAY_5A = Array("pv", 5, 4, 5.0, 2.5e-9, 1.0, 0.2, 200.0)
BEHIND_LEAD = Array("pv", 4, 0, 6.0, 2.5e-9, 1.0, 0.3, 200.0)  # the same array with the lead counted in


def tracker(volt: float = 14.4, ampere: float = 20.0) -> Tracker:
    return Tracker("t", 3, 0, 2, 0, 0.97, volt, ampere)


class TestTracker:
    def test_sun(self) -> None:
        answer = solve(ARRAY, LEAD, tracker(), WIRE, BATTERY)
        volt, ampere = peak(BEHIND_LEAD)
        assert answer.modes == {"t": "sun"}
        assert answer.voltages[3] == close(volt)
        assert answer.currents["t.in"] == close(ampere)
        assert answer.powers["t.out"] == close(0.97 * volt * ampere)

    def test_current(self) -> None:
        answer = solve(ARRAY, LEAD, tracker(ampere=4.0), WIRE, BATTERY)
        assert answer.modes == {"t": "current"}
        assert answer.currents["t.out"] == close(4.0)
        assert answer.powers["t.in"] == close(12.92 * 4.0 / 0.97)
        assert answer.voltages[3] > peak(BEHIND_LEAD)[0]  # the high-voltage side of the peak

    def test_voltage(self) -> None:
        answer = solve(ARRAY, LEAD, tracker(volt=12.9), WIRE, BATTERY)
        assert answer.modes == {"t": "voltage"}
        assert answer.voltages[2] == close(12.9)
        assert answer.powers["t.in"] == close(12.9 * (0.1 / 0.03) / 0.97)
        assert answer.voltages[3] > peak(BEHIND_LEAD)[0]

    def test_off_above_its_voltage(self) -> None:
        answer = solve(ARRAY, LEAD, tracker(volt=12.7), WIRE, BATTERY)
        assert answer.modes == {"t": "off"}
        assert answer.voltages[3] == close(open_circuit(ARRAY))

    def test_off_in_the_dark(self) -> None:
        answer = solve(DARK, LEAD, tracker(), WIRE, BATTERY)
        assert answer.modes == {"t": "off"}
        assert answer.currents["b"] == pytest.approx(0.0, abs=1e-15)

    def test_without_battery_it_regulates(self) -> None:
        answer = solve(ARRAY, LEAD, tracker(), WIRE, Resistor("lamp", 1, 0, 7.18))
        assert answer.modes == {"t": "no battery"}
        assert answer.voltages[2] == close(14.4)
        assert answer.currents["lamp"] == close(2.0)

    def test_without_battery_and_too_much_load(self) -> None:
        """A heater takes all that the peak gives: U^2 / R = efficiency x peak."""
        answer = solve(ARRAY, LEAD, tracker(), Resistor("heater", 2, 0, 0.5))
        volt, ampere = peak(BEHIND_LEAD)
        assert answer.modes == {"t": "no battery"}
        assert answer.voltages[2] == close((0.97 * volt * ampere * 0.5) ** 0.5)

    def test_a_battery_on_the_same_return_alone_is_no_battery(self) -> None:
        """The battery of another circuit shares the minus, but holds nothing at the tracker's output."""
        answer = solve(ARRAY, LEAD, tracker(), Resistor("lamp", 2, 0, 7.2), BATTERY, Resistor("other", 1, 0, 10.0))
        assert answer.modes == {"t": "no battery"}
        assert answer.voltages[2] == close(14.4)

    def test_two_arrays_in_parallel(self) -> None:
        second = Array("pv2", 5, 0, 3.0, 2.5e-9, 1.0, 0.2, 200.0)
        answer = solve(ARRAY, LEAD, second, Resistor("lead2", 5, 3, 0.3), tracker(), WIRE, BATTERY)
        best = max(
            u * (current_at(BEHIND_LEAD, u) + current_at(Array("", 1, 0, 3.0, 2.5e-9, 1.0, 0.5, 200.0), u))
            for u in (16.9 + k * 1e-5 for k in range(10000))
        )
        assert answer.powers["t.in"] == pytest.approx(best, rel=1e-9)

    def test_from_a_stiff_supply(self) -> None:
        """A bench supply at the input: E^2 / 4R is far above what is needed, so the current limit holds."""
        answer = solve(Emf("bench", 3, 0, 24.0, 0.1), tracker(ampere=5.0), WIRE, BATTERY)
        assert answer.modes == {"t": "current"}
        power = (12.8 + 5.0 * 0.03) * 5.0 / 0.97
        assert answer.voltages[3] == close(12.0 + (144.0 - 0.1 * power) ** 0.5)

    def test_shared_return(self) -> None:
        """Input and output share a wire: the peak stands where dP/dI = 0 for the given output current."""
        answer = solve(ARRAY, LEAD, Resistor("return", 5, 0, 0.05), Tracker("t", 3, 5, 2, 5, 0.97, 14.4, 20.0), WIRE, BATTERY)
        assert answer.modes == {"t": "sun"}
        given, taken = answer.currents["t.out"], answer.currents["t.in"]
        lift = 0.05 * given  # what the output current adds to the input's voltage
        wider = Array("pv", 4, 0, 6.0, 2.5e-9, 1.0, 0.35, 200.0)

        def power(ampere: float) -> float:
            low, high = 0.0, 30.0
            for _ in range(80):
                middle = 0.5 * (low + high)
                low, high = (middle, high) if current_at(wider, middle) > ampere else (low, middle)
            return ampere * (low + lift)

        assert power(taken) >= max(power(taken * (1 + d)) for d in (-1e-4, 1e-4))
        assert answer.powers["t.in"] == pytest.approx(power(taken), rel=1e-9)

    @pytest.mark.parametrize("watt", [55.0, 56.0, 57.0, 58.0, 60.0])
    def test_shared_return_that_carries_too_much_has_no_operating_point(self, watt: float) -> None:
        """The output's current flows back through 0.2 ohm together with the array's, which lowers the peak at the controller's input.

        With U across the loads, i = watt / U + U / 20 flows out of the controller, 4.56 A or more up to its 14.4 V, and I from the array.
        The controller has to give i * (U + 0.2 * (i + I)), at least 72.3 W from 55 W on, whatever U is (scanned by hand in steps of 0.1 V).
        It is fed at most the largest of U_pv * I - 0.2 * I * (I + i), of which 97 % are 70.9 W.
        How much of the load would be carried is never said: the peak changes with it.
        """
        loads = (Resistor("r", 1, 0, 20.0), PowerLoad("p", 1, 0, watt))
        box = (ARRAY_5A, Resistor("back", 4, 0, 0.2), Tracker("t", 5, 0, 1, 4, 0.97, 14.4, 20.0), *loads)
        answer = Solver().solve(Network(6, box, (0,)))
        assert not answer.solved
        assert "the most" not in answer.reason


def series(volt: float = 14.4, ampere: float = 20.0, ohm: float = 0.0) -> SeriesController:
    return SeriesController("s", 3, 0, 2, 0, volt, ampere, ohm)


class TestSeriesController:
    @pytest.mark.parametrize("ohm", [0.0, 0.05])
    def test_sun(self, ohm: float) -> None:
        answer = solve(ARRAY, LEAD, series(ohm=ohm), WIRE, BATTERY)
        assert answer.modes == {"s": "sun"}
        current = answer.currents["s.out"]
        assert answer.currents["s.in"] == current
        assert answer.voltages[3] - answer.voltages[2] == pytest.approx(ohm * current, abs=1e-12)
        assert current == close(current_at(ARRAY, answer.voltages[4]))

    def test_current(self) -> None:
        answer = solve(ARRAY, LEAD, series(ampere=4.0), WIRE, BATTERY)
        assert answer.modes == {"s": "current"}
        assert (answer.currents["s.in"], answer.currents["s.out"]) == (4.0, 4.0)
        assert answer.voltages[3] > answer.voltages[2]

    def test_voltage(self) -> None:
        answer = solve(ARRAY, LEAD, series(volt=12.9), WIRE, BATTERY)
        assert answer.modes == {"s": "voltage"}
        assert answer.voltages[2] == close(12.9)
        assert answer.currents["s.in"] == close(0.1 / 0.03)
        assert answer.currents["s.out"] == close(0.1 / 0.03)
        assert answer.powers["s"] == close((answer.voltages[3] - 12.9) * 0.1 / 0.03)

    def test_off_above_its_voltage(self) -> None:
        answer = solve(ARRAY, LEAD, series(volt=12.7), WIRE, BATTERY)
        assert answer.modes == {"s": "off"}
        assert answer.currents["s.in"] == 0.0

    def test_no_current_back_into_a_weak_array(self) -> None:
        weak = Array("pv", 4, 0, 0.5, 2.5e-5, 1.0, 0.2, 200.0)
        assert open_circuit(weak) < 12.8
        answer = solve(weak, LEAD, series(), WIRE, BATTERY)
        assert answer.modes == {"s": "off"}
        assert answer.currents["b"] == pytest.approx(0.0, abs=1e-15)

    def test_night(self) -> None:
        answer = solve(DARK, LEAD, series(), WIRE, BATTERY)
        assert answer.modes == {"s": "off"}
        assert answer.currents["pv"] == pytest.approx(0.0, abs=1e-15)

    def test_without_battery(self) -> None:
        answer = solve(ARRAY, LEAD, series(), WIRE, Resistor("lamp", 1, 0, 7.18))
        assert answer.modes == {"s": "no battery"}
        assert answer.voltages[2] == close(14.4)

    def test_poles_apart(self) -> None:
        """Minus poles that are not one node: still one current through both sides."""
        array = Array("pv", 4, 5, 6.0, 2.5e-9, 1.0, 0.2, 200.0)
        apart = solve(array, LEAD, SeriesController("s", 3, 5, 2, 0, 12.9, 20.0), WIRE, BATTERY)
        joined = solve(ARRAY, LEAD, series(volt=12.9), WIRE, BATTERY)
        assert apart.modes == joined.modes
        assert apart.currents["s.in"] == close(joined.currents["s.in"])
        sun = solve(array, LEAD, SeriesController("s", 3, 5, 2, 0, 14.4, 20.0, 0.01), WIRE, BATTERY)
        same = solve(ARRAY, LEAD, series(ohm=0.01), WIRE, BATTERY)
        assert sun.currents["s.in"] == close(same.currents["s.in"])

    def test_bypassed_by_a_wire(self) -> None:
        """Nothing is left to control: the array is simply joined to the battery."""
        answer = solve(ARRAY, LEAD, series(volt=12.0), Resistor("bypass", 3, 2, 0.0), WIRE, BATTERY)
        assert answer.modes == {"s": "sun"}
        assert answer.currents["pv"] > 5.0


class TestCurrentSource:
    def test_gives_its_current(self) -> None:
        answer = solve(CurrentSource("s", 1, 0, 2.0), Resistor("r", 1, 0, 3.0))
        assert answer.voltages[1] == close(6.0)
        assert answer.powers["s"] == close(12.0)

    def test_on_nothing(self) -> None:
        answer = solve(BATTERY, CurrentSource("s", 2, 0, 2.0), PowerLoad("l", 2, 0, 5.0))
        assert answer.modes == {"s": "open", "l": "dead"}
        assert answer.currents["s"] == 0.0
        assert answer.voltages[2] is None

    def test_against_a_diode(self) -> None:
        answer = solve(BATTERY, CurrentSource("s", 2, 0, 2.0), Diode("d", 1, 2, 1e-9, 0.03))
        assert answer.modes == {"s": "open"}


@pytest.mark.parametrize("share", [0.5, 0.7, 0.8, 0.85, 0.9, 0.95, 0.97, 0.98, 0.985, 0.99, 0.995, 0.999])
@pytest.mark.parametrize("ohm", [0.01, 0.05, 0.2])
def test_load_that_an_array_alone_does_not_carry_collapses_at_its_peak(share: float, ohm: float) -> None:
    """Without a battery the output holds its voltage up to the array's peak: there 0.97 P_peak = P_load + I^2 R with I = 0.97 P_peak / U.

    The converter that gives nothing stands at a limit of its own all the way, and must not hide how far the other is from its limit.
    """
    volt, ampere = peak(BEHIND_LEAD)
    most = 0.97 * volt * ampere
    carried = most - (most / 14.4) ** 2 * ohm
    load = PowerLoad("p", 1, 0, carried / share)
    idle = Converter("c", 1, 0, 5, 0, 5.0, 0.0, 0.9, 0.0, 5.0)
    fold = Solver().fold(Network(6, (ARRAY, LEAD, tracker(), Resistor("w", 2, 1, ohm), load, idle), (0,)))
    assert fold.found
    assert fold.share == pytest.approx(share, rel=1e-8)
    assert fold.elements[0] == "p"


SMALL = Array("pv", 5, 2, 2.0, 2.5e-9, 1.0, 0.0, 1e9)  # 2 A up to its knee at 18 V, 37 W at most
CONVERTER = Converter("c", 1, 0, 3, 2, 13.0, 0.0, 0.9, 0.0, 6.0)
CHARGER = Charger("c", 3, 2, 13.0, 6.0)
SERIES = SeriesController("s", 5, 2, 3, 2, 14.4, 10.0, 0.01)
PEAK = Tracker("s", 5, 2, 3, 2, 0.97, 14.4, 10.0)


@pytest.mark.parametrize("load", [CurrentLoad("l", 3, 2, 5.0), PowerLoad("l", 3, 2, 65.0)])
@pytest.mark.parametrize("device", [CONVERTER, CHARGER])
@pytest.mark.parametrize("controller", [SERIES, PEAK])
def test_what_was_driven_off_without_load_gives_with_it(load: Element, device: Element, controller: Element) -> None:
    """Without load the sun holds the bus at 14.4 V and the other source of 13 V is off; 5 A are more than the sun gives: it comes in at 13 V.

    The sun alone would carry 29 W, or 36 W at the peak: that is no collapse, for what lies below takes over.
    """
    answer = solve(BATTERY, SMALL, device, controller, load)
    sun = 2.0 if controller is SERIES else 0.97 * peak(SMALL)[0] * peak(SMALL)[1] / 13.0
    given = answer.currents["c.out" if device is CONVERTER else "c"]
    assert answer.modes["c"] == "voltage"
    assert answer.voltages[3] is not None and answer.voltages[2] is not None
    assert answer.voltages[3] - answer.voltages[2] == close(13.0)
    assert answer.currents["s.out"] == pytest.approx(sun, abs=2e-3)
    assert given == close(5.0 - answer.currents["s.out"])


@pytest.mark.parametrize("controller", [SERIES, PEAK])
def test_more_than_all_outputs_together_give_is_still_a_collapse(controller: Element) -> None:
    """6 A at 13 V and at most 36 W from the sun: 150 W are too much."""
    answer = Solver().solve(Network(6, (BATTERY, SMALL, CHARGER, controller, PowerLoad("l", 3, 2, 150.0)), (0,)))
    assert not answer.solved
    assert answer.collapse


def test_what_was_driven_off_in_the_dark_stays_off() -> None:
    dark = Array("pv", 5, 2, 0.0, 2.5e-9, 1.0, 0.0, 1e9)
    answer = Solver().solve(Network(6, (BATTERY, dark, CHARGER, PEAK, PowerLoad("l", 3, 2, 150.0)), (0,)))
    assert not answer.solved
    assert answer.collapse
    assert solve(BATTERY, dark, CHARGER, PEAK, PowerLoad("l", 3, 2, 65.0)).modes == {"c": "voltage", "s": "off"}


def test_controller_limited_by_its_current_beside_a_lower_output() -> None:
    """The controller passes 1 A of what the peak would give, the converter the other 4 A of 65 W at 13 V."""
    answer = solve(BATTERY, SMALL, CONVERTER, Tracker("s", 5, 2, 3, 2, 0.97, 14.4, 1.0), PowerLoad("l", 3, 2, 65.0))
    assert answer.modes == {"c": "voltage", "s": "current"}
    assert answer.currents["c.out"] == close(4.0)


def test_controller_with_poles_of_its_own_beside_a_held_bus() -> None:
    """The array floats; what it passes, all that it gives at 13 V, saves the converter as much."""
    array = Array("pv", 5, 4, 2.0, 2.5e-9, 1.0, 0.0, 1e9)
    controller = SeriesController("s", 5, 4, 3, 2, 14.4, 10.0, 0.01)
    answer = solve(BATTERY, CONVERTER, array, controller, CurrentLoad("l", 3, 2, 5.0))
    assert answer.modes == {"c": "voltage", "s": "sun"}
    assert answer.currents["s.in"] == answer.currents["s.out"] == pytest.approx(2.0, abs=2e-3)
    assert answer.currents["c.out"] == close(5.0 - answer.currents["s.out"])


@pytest.mark.parametrize("load", [PowerLoad("l", 2, 0, 2.0), Converter("k", 2, 0, 3, 0, 3.0, 0.0, 0.8, 2.0)])
def test_output_behind_a_diode_carries_what_lies_below_its_limit(load: Element) -> None:
    """2 W from 10 V less the drop of the diode, 0.03 ln(I / 1e-9): 0.212 A of 3 A.

    The diode is nearly flat without current, so that the load is followed up, and the search for its end runs past the whole load.
    """
    answer = solve(Charger("m", 1, 0, 10.0, 3.0), Diode("d", 1, 2, 1e-9, 0.03), load)
    current = answer.currents["d"]
    assert current * (10.0 - 0.03 * math.log(current / 1e-9 + 1)) == pytest.approx(2.0, rel=1e-6)
    assert answer.modes["m"] == "voltage"


def test_output_behind_a_diode_collapses_at_its_limit() -> None:
    """3 A at 10 V less 0.03 ln(3 / 1e-9) = 0.655 V: 28.04 W of 40 W are 0.7009."""
    network = Network(3, (Charger("m", 1, 0, 10.0, 3.0), Diode("d", 1, 2, 1e-9, 0.03), PowerLoad("l", 2, 0, 40.0)), (0,))
    most = 3.0 * (10.0 - 0.03 * math.log(3.0 / 1e-9 + 1))
    assert Solver().fold(network).share == pytest.approx(most / 40, rel=1e-8)
    assert "0.701 of them is the most" in Solver().solve(network).reason


def test_controller_that_nothing_hangs_on_regulates_from_an_array_at_open_circuit() -> None:
    """No current flows but inside the array; it stands at its open-circuit voltage."""
    array = Array("pv", 2, 0, 3.0, 3e-9, 1.0, 0.2, 200.0)
    answer = solve(array, SeriesController("s", 2, 0, 1, 0, 14.4, 5.0))
    assert answer.modes == {"s": "no battery"}
    assert answer.voltages == close((0.0, 14.4, open_circuit(array)))
    assert answer.currents == {"pv": pytest.approx(0.0, abs=1e-12), "s.in": 0.0, "s.out": 0.0}


def test_charger_behind_a_diode_drives_another_off() -> None:
    """(14 V - 0.03 V ln(I / 1 nA + 1)) I = 40 W, above the 10 V of the other."""
    answer = solve(
        Charger("low", 1, 0, 10.0, 3.0),
        Diode("d", 2, 1, 1e-9, 0.03),
        Charger("high", 2, 0, 14.0, 7.0),
        PowerLoad("l", 1, 0, 40.0),
    )
    assert answer.modes == {"low": "off", "high": "voltage"}
    current = answer.currents["high"]
    assert (14.0 - 0.03 * math.log(current / 1e-9 + 1)) * current == pytest.approx(40.0, rel=1e-9)


def test_load_whose_voltage_another_load_turns_round_takes_nothing() -> None:
    """A controller between two returns: of what the array gives, 3 A go through the load across both, the rest through 10 mohm and 50 mohm."""
    array = Array("pv", 3, 0, 4.0, 3e-9, 1.0, 0.1, 200.0)
    answer = solve(
        array,
        Resistor("lead", 3, 4, 0.1),
        SeriesController("s", 4, 0, 1, 2, 10.0, 10.0, 0.02),
        Resistor("w", 1, 5, 0.007),
        CurrentLoad("turned", 5, 0, 1.0),
        CurrentLoad("across", 5, 2, 3.0),
        Resistor("return", 2, 0, 0.05),
        Resistor("shunt", 0, 1, 0.01),
    )
    given = answer.currents["s.out"]
    assert answer.currents["across"] == close(3.0)
    assert answer.currents["turned"] == 0.0
    assert answer.modes["turned"] == "reversed"
    assert answer.voltages[1] == pytest.approx(0.01 * (given - 3.0), rel=1e-9)
    assert answer.voltages[2] == pytest.approx(-0.05 * (given - 3.0), rel=1e-9)
    assert given == pytest.approx(current_at(array, answer.voltages[3]), rel=1e-9)  # type: ignore[arg-type]


def test_load_behind_a_converter_runs_with_the_whole_box() -> None:
    """5 V x 0.07 A / 0.7 + 2 W = 2.5 W of 10 V behind 1.07 ohm; a diode from the converter's output to the bus blocks, with its 1 nA."""
    answer = solve(
        Diode("d", 3, 1, 1e-9, 0.03, 0.01),
        Converter("k", 2, 0, 3, 0, 5.0, 0.0, 0.7, 2.0),
        CurrentLoad("l", 3, 0, 0.07),
        Emf("b", 1, 0, 10.0, 1.0),
        Resistor("w", 1, 2, 0.07),
    )
    assert answer.currents["l"] == 0.07
    assert answer.voltages[3] == close(5.0)
    assert answer.currents["k.in"] == pytest.approx((10.0 - math.sqrt(100.0 - 4 * 2.5 * 1.07)) / 2.14, rel=1e-7)


def test_no_answer_stands_on_a_voltage_that_a_pressed_source_reached_before() -> None:
    """A fixed current behind a diode finds no way without load; what it drove up to must not pass for a solution beside it."""
    answer = Solver().solve(
        Network(
            5,
            (
                Charger("high", 2, 0, 14.4, 2.0),
                Diode("d", 2, 1, 1e-9, 0.03),
                CurrentSource("fixed", 3, 0, 8.7),
                Diode("e", 3, 1, 1e-9, 0.03),
                Charger("low", 1, 0, 13.8, 2.2),
                Charger("lower", 1, 0, 12.5, 7.0),
                PowerLoad("l", 1, 0, 245.0),
            ),
            (0,),
        )
    )
    assert all(v is None or abs(v) < 15 for v in answer.voltages)
    assert all(abs(i) < 30 for i in answer.currents.values())
