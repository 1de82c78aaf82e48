"""Loads followed up to where they end: by closed forms, and what is said where no answer can be given."""

from __future__ import annotations

import math

import pytest
from ohmwright.solver import (
    Array,
    Charger,
    Converter,
    CurrentLoad,
    Diode,
    Element,
    Emf,
    Fold,
    Network,
    Operation,
    PowerLoad,
    Resistor,
    SeriesController,
    Solver,
    Tracker,
)
from ohmwright.solver import follow as follow_of
from ohmwright.solver import system as system_of
from ohmwright.solver.photovoltaic import current_at, peak
from ohmwright.solver.system import System

NODES = {"a", "b", "plus", "minus", "anode", "cathode", "in_plus", "in_minus", "out_plus", "out_minus"}


def network(*elements: Element) -> Network:
    nodes = 1 + max(getattr(e, name) for e in elements for name in e.__slots__ if name in NODES)
    return Network(nodes, elements, (0,))


def fold(*elements: Element, load: str | None = None, limit: float = 1.0) -> Fold:
    return Solver().fold(network(*elements), load, limit)


def solve(*elements: Element) -> Operation:
    return Solver().solve(network(*elements))


CONFLICT = (Emf("x", 9, 8, 10.0, 0.0), Resistor("short", 9, 8, 0.0))
LIMITED = (Charger("m", 1, 0, 10.0, 3.0), Diode("d", 1, 2, 1e-9, 0.03))


def behind_diode(ampere: float) -> float:
    """The voltage behind the diode of 1 nA and 0.03 V at a current, 10 V before it."""
    return 10.0 - 0.03 * math.log(ampere / 1e-9 + 1)


def test_one_load_behind_a_diode_beside_another_that_is_followed_up_first() -> None:
    """10 W stand beside it: of 3 A at 9.345 V, 28.04 W in all, 18.04 W are left for the load that asks for 20 W."""
    most = 3.0 * behind_diode(3.0)
    found = fold(*LIMITED, PowerLoad("steady", 2, 0, 10.0), PowerLoad("more", 2, 0, 20.0), load="more")
    assert found.found
    assert found.share == pytest.approx((most - 10.0) / 20.0, rel=1e-8)
    assert set(found.elements) == {"steady", "more"}


def test_one_load_where_the_others_alone_are_too_much() -> None:
    found = fold(*LIMITED, PowerLoad("steady", 2, 0, 30.0), PowerLoad("more", 2, 0, 20.0), load="more")
    assert (found.found, found.share, found.failed) == (True, 0.0, False)
    assert found.elements == ("steady",)
    assert "other loads alone" in found.reason


def test_two_loads_behind_a_diode_and_a_lead() -> None:
    """Both loads at once, on 2 A: what is lost in the lead of 0.1 ohm depends on how they share; between 1 and 2 A flow in it."""
    found = fold(
        Charger("m", 1, 0, 10.0, 2.0),
        Diode("d", 1, 2, 1e-9, 0.03),
        PowerLoad("near", 2, 0, 1000.0),
        PowerLoad("far", 3, 0, 3000.0),
        Resistor("lead", 1, 3, 0.1),
    )
    assert found.found
    # near: s * 1000 = (10 - 0.03 ln(I1 / 1e-9)) I1; far: s * 3000 = (10 - 0.1 I2) I2; I1 + I2 = 2
    low, high = 0.0, 2.0
    for _ in range(100):
        one = (low + high) / 2
        low, high = (one, high) if 3 * behind_diode(one) * one < (10 - 0.1 * (2 - one)) * (2 - one) else (low, one)
    assert found.share == pytest.approx(behind_diode(low) * low / 1000, rel=1e-7)


@pytest.mark.parametrize("load", [None, "l"])
def test_a_conflict_cannot_be_followed(load: str | None) -> None:
    found = fold(*CONFLICT, Emf("b", 1, 0, 12.8, 0.01), PowerLoad("l", 1, 0, 10.0), load=load)
    assert (found.found, found.failed) == (False, True)
    assert found.reason == ("The load could not be followed: no operating point was found with the followed load switched off.")


def test_a_conflict_beside_a_converter_cannot_be_followed() -> None:
    found = fold(*CONFLICT, Emf("b", 1, 0, 12.8, 0.01), Converter("k", 1, 0, 2, 0, 5.0, 0.0, 0.9, 0.1))
    assert (found.found, found.failed) == (False, True)


def test_a_name_that_is_no_load_is_a_key_error() -> None:
    for name in ("b", "nothing"):
        with pytest.raises(KeyError, match=name):
            fold(Emf("b", 1, 0, 12.8, 0.01), PowerLoad("l", 1, 0, 10.0), load=name)


def test_boosting_converter_at_its_limit_of_current() -> None:
    """20 A at 20 V are 400 W of 600 W."""
    box = (Emf("b", 2, 0, 10.0, 0.003), Converter("k", 2, 0, 1, 0, 20.0, 0.0, 1.0, 2.0, 20.0), PowerLoad("l", 1, 0, 600.0))
    assert fold(*box).share == pytest.approx(2 / 3, rel=1e-8)
    answer = solve(*box)
    assert answer.collapse
    assert "0.667 of them is the most" in answer.reason


def test_two_loads_of_fixed_current_share_what_a_charger_gives() -> None:
    """10 A for 30 A and 14 A: the voltage breaks down, and neither gets what it asks for; nothing is left over."""
    answer = solve(Charger("m", 1, 0, 10.0, 10.0), CurrentLoad("i", 1, 0, 30.0), CurrentLoad("j", 1, 0, 14.0))
    assert answer.solved
    assert answer.modes == {"m": "current", "i": "starved", "j": "starved"}
    assert answer.currents["i"] + answer.currents["j"] == pytest.approx(answer.currents["m"]) == pytest.approx(10.0)


def test_modes_that_never_come_to_rest_are_no_answer() -> None:
    """A controller fed across a short from a converter whose input hangs on its own output: nothing is reported that does not hold."""
    answer = solve(
        SeriesController("s", 1, 2, 3, 2, 10.0, 4.0),
        Emf("none", 0, 2, 0.0, 0.0),
        Converter("k", 0, 3, 1, 3, 5.0, 0.05, 0.9, 0.2, 2.0),
        Emf("b", 3, 0, 13.0, 0.008),
    )
    assert not answer.solved
    assert answer.reason == "The solver found no operating point: the modes of s change in a circle."
    assert answer.voltages == (None,) * 4


def test_controller_that_feeds_its_own_input_is_no_answer() -> None:
    answer = solve(Tracker("t", 0, 1, 0, 1, 1.0, 10.0, 10.0), Emf("b", 2, 1, 3.2, 0.001), Resistor("w", 0, 2, 0.2))
    assert not answer.solved
    assert answer.reason


def test_outputs_that_close_no_circuit_are_off() -> None:
    """A tracker between a battery's plus and a charger's minus: no way leads from its output back to it."""
    answer = solve(Emf("b", 0, 1, 10.0, 0.0), Charger("m", 2, 3, 10.0, 0.01), Tracker("t", 4, 5, 0, 3, 1.0, 10.0, 6.0))
    assert answer.solved
    assert answer.modes == {"m": "voltage", "t": "off"}
    assert set(answer.currents.values()) == {0.0}


def test_load_behind_a_diode_of_a_battery() -> None:
    """100 W from 50 V behind 0.02 ohm, the diode's own 0.01 ohm and its drop."""
    answer = solve(PowerLoad("l", 1, 0, 100.0), Emf("b", 2, 0, 50.0, 0.02), Diode("d", 2, 1, 1e-9, 0.03, 0.01))
    current = answer.currents["l"]
    assert current * (50.0 - 0.03 * current - 0.03 * math.log(current / 1e-9 + 1)) == pytest.approx(100.0, rel=1e-9)


def test_converter_beside_a_load_of_fixed_current() -> None:
    """26 V - 0.4 ohm x 20 A leave 18 V: half of it, 9 V, at 22.5 A is the most, 202.5 W; the converter asks for 12^2 / 7 / 0.979 + 0.2 W."""
    found = fold(
        Converter("k", 1, 0, 2, 0, 12.0, 0.0, 0.979, 0.2, 20.0),
        CurrentLoad("i", 1, 0, 20.0),
        Resistor("r", 2, 0, 7.0),
        Emf("b", 1, 0, 26.0, 0.4),
        load="k",
        limit=100.0,
    )
    assert found.elements == ("k",)
    assert found.share == pytest.approx(202.5 / (144 / 7 / 0.979 + 0.2), rel=1e-9)
    assert found.volts == (pytest.approx(9.0, rel=1e-6),)


def test_converters_on_a_throttled_array_end_at_its_limit_of_voltage() -> None:
    """The array alone holds the bus at 10 V, where it gives 2.95 A; below, it gives no more current, so that constant power falls away.

    Two converters ask for 0.2 W and 20 V x 20 V / 0.55 ohm / 0.6 + 2 W.
    """
    array = Array("pv", 4, 0, 3.0, 3e-9, 1.0, 0.2, 200.0)
    found = fold(
        Converter("idle", 1, 0, 2, 0, 9.0, 0.0, 0.7, 0.2, 6.0),
        Converter("k", 1, 0, 3, 0, 20.0, 0.05, 0.6, 2.0),
        array,
        Resistor("heater", 3, 0, 0.5),
        SeriesController("s", 4, 0, 1, 0, 10.0, 20.0),
        limit=100.0,
    )
    assert found.share == pytest.approx(10.0 * current_at(array, 10.0) / (400 / 0.55 / 0.6 + 2.0 + 0.2), rel=1e-6)


def test_converter_wired_across_its_own_input_is_followed() -> None:
    """Its output lies between a battery and a charger that add up: it is off, and draws nothing of its own."""
    found = fold(Charger("m", 0, 1, 10.0, 0.2), Converter("k", 0, 2, 0, 0, 5.0, 0.0, 0.9, 0.0), Emf("b", 1, 2, 10.0, 0.0))
    assert (found.found, found.failed, found.share) == (False, False, 1.0)


def test_two_chargers_of_one_bus_end_at_the_limit_of_the_higher_one() -> None:
    """15 V at 2.8 A are 42 W of 45; the charger of 10 V would only begin far below."""
    box = (
        Charger("m", 1, 0, 15.0, 2.8),
        Charger("n", 1, 0, 10.0, 7.0),
        Diode("d", 2, 1, 1e-9, 0.03),
        PowerLoad("l", 1, 0, 45.0),
    )
    answer = solve(*box)
    assert answer.collapse
    assert fold(*box).share == pytest.approx(42 / 45, rel=1e-8)


def test_controller_on_a_return_that_its_array_shares() -> None:
    """A tracker at its peak beside a series controller that comes in at its own voltage: what that one gives flows back past its input's minus.

    The controller gives what its array has at 13.95 V behind 0.4 ohm: about 3.99 A less 14.8 V / 200 ohm; the tracker 0.97 of its array's peak.
    """
    pv0 = Array("pv0", 4, 5, 4.0, 2.5e-9, 1.256, 0.2, 200.0)
    pv2 = Array("pv2", 7, 8, 5.4, 2.5e-9, 0.817, 0.137, 200.0)

    def box(watt: float) -> tuple[Element, ...]:
        return (
            pv0,
            Resistor("l0", 4, 6, 0.2),
            Resistor("m0", 5, 2, 0.0),
            SeriesController("series", 6, 2, 1, 2, 13.95, 8.3),
            pv2,
            Resistor("l2", 7, 9, 0.09),
            Resistor("m2", 8, 2, 0.15),
            Tracker("track", 9, 2, 1, 2, 0.97, 14.33, 17.0),
            Resistor("return", 2, 0, 0.0155),
            CurrentLoad("i", 1, 0, 1.43),
            PowerLoad("l", 1, 0, watt),
        )

    volt, ampere = peak(Array("both", 7, 8, 5.4, 2.5e-9, 0.817, 0.137 + 0.09 + 0.15, 200.0))
    tracked = 0.97 * volt * ampere / 13.95
    given = current_at(Array("led", 4, 5, 4.0, 2.5e-9, 1.256, 0.4, 200.0), 13.95)
    most = (tracked + given) * (13.95 - 0.0155 * (tracked + given)) - 1.43 * (13.95 - 0.0155 * (tracked + given))
    for watt in (0.3 * most, 0.5 * most, 0.7 * most, 0.99 * most):
        assert solve(*box(watt)).solved
    found = fold(*box(100.0), limit=10.0)
    assert found.found
    assert found.share * 100.0 == pytest.approx(most, rel=1e-6)


# Where the numbers fail. Each of these stands in for a failure that no network in these tests brings about by itself.

TOO_MUCH = (Emf("b", 1, 0, 12.0, 0.1), PowerLoad("l", 1, 0, 720.0))  # E^2 / 4R = 360 W: half of it
CHARGED = (Charger("m", 1, 0, 10.0, 3.0), PowerLoad("l", 1, 0, 40.0))  # 30 W: three quarters


def test_the_stand_ins_are_sound() -> None:
    assert fold(*TOO_MUCH).share == pytest.approx(0.5, rel=1e-12)
    assert fold(*CHARGED).share == pytest.approx(0.75, rel=1e-8)
    assert not fold(*LIMITED, PowerLoad("l", 2, 0, 20.0)).found


@pytest.mark.parametrize(
    ("elements", "name", "value", "reason"),
    [
        (TOO_MUCH, "_LONGEST", 1, "in a bounded number of steps"),
        (TOO_MUCH, "_try", lambda *given: None, "the fold was seen but could not be closed in on"),
        (TOO_MUCH, "_correct", lambda *given: False, "lost between two loads without a fold in sight"),
        (CHARGED, "wrong_modes", lambda case: {0: "voltage"}, "no consistent mode on the way"),
        ((*LIMITED, PowerLoad("l", 2, 0, 20.0)), "settle", lambda system: "lost", "no operating point was found there"),
        ((*LIMITED, PowerLoad("l", 2, 0, 20.0)), "_settle_between", lambda *given: False, "no operating point was found there"),
    ],
)
def test_what_cannot_be_followed_says_why(
    elements: tuple[Element, ...], name: str, value: object, reason: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(follow_of, name, value)
    found = fold(*elements)
    assert (found.found, found.failed) == (False, True)
    assert reason in found.reason
    answer = solve(*elements)
    assert not answer.solved
    assert answer.collapse == (elements is TOO_MUCH)  # a net of resistors tells that by its pivots alone
    assert elements is TOO_MUCH or "found no operating point" in answer.reason


def test_points_of_another_branch_are_not_taken(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the pivots say that a point does not go back to zero load, no step leads there, however short."""
    true = follow_of._tangent
    monkeypatch.setattr(follow_of, "_tangent", lambda system: (False, true(system)[1]))
    found = fold(*TOO_MUCH)
    assert found.failed
    assert "without a fold in sight" in found.reason


@pytest.mark.parametrize("tries", [1, 2, 3, 5])
def test_a_fold_that_is_lost_while_it_is_closed_in_on_is_told_as_far_as_it_is_known(
    tries: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The best point so far bounds the fold from below; before there is one, it cannot be told."""
    true, left = follow_of._try, [1 + tries]

    def fail(*given: object) -> float | None:
        left[0] -= 1
        return true(*given) if left[0] >= 0 else None

    monkeypatch.setattr(follow_of, "_try", fail)
    found = fold(*TOO_MUCH)
    if tries < 2:
        assert found.failed
    else:
        assert found.found
        assert found.share <= 0.5
        assert found.share == pytest.approx(0.5, rel=0.05)


def test_a_fold_is_closed_in_on_in_a_bounded_number_of_steps(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(follow_of, "_NARROW", -1.0)
    assert fold(*TOO_MUCH).share == pytest.approx(0.5, rel=1e-9)


def at_the_fold() -> System:
    """2 V behind 1 ohm and 1 W at 1 V: the conductances 1 / R and -P / U^2 cancel exactly."""
    solver = Solver()
    case = solver._case(network(Emf("b", 1, 0, 2.0, 1.0), PowerLoad("l", 1, 0, 1.0)))
    case.followed = frozenset((1,))
    system = case.build()
    case.load()
    system.high[system.plan.group[1]] = 1.0
    return system


def test_at_the_very_fold_the_voltage_falls_without_end() -> None:
    system = at_the_fold()
    good, tangent = follow_of._tangent(system)
    assert not good
    assert abs(tangent[system.plan.group[1]]) > 1e12


def test_without_any_factor_there_is_no_tangent(monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*given: object) -> list[float]:
        raise ZeroDivisionError

    monkeypatch.setattr(system_of, "factor", fail)
    system = at_the_fold()
    assert follow_of._tangent(system) == (False, [])
    assert follow_of._lead(system, 1.0) == (None, 1.0)


def test_two_points_with_one_voltage_are_no_line_to_start_from() -> None:
    solver = Solver()
    case = solver._case(network(*TOO_MUCH))
    case.followed = frozenset((1,))
    case.build()
    case.load()
    group = case.system.plan.group
    here = follow_of._Point(case.system)
    assert not follow_of._correct_between(case, here, here, (group[1], group[0], 0.0, 1), 6.0)


def test_a_voltage_that_does_not_depend_on_the_load_cannot_lead() -> None:
    solver = Solver()
    case = solver._case(network(Emf("b", 1, 0, 12.0, 0.1), PowerLoad("l", 1, 0, 10.0), Emf("c", 3, 2, 5.0, 1.0)))
    case.followed = frozenset((1,))
    case.build()
    case.load()
    group = case.system.plan.group
    assert not follow_of._correct(case, (group[3], group[2], 0.0, 1), 4.0)
