"""F16: what a short at a far end draws, against what opens the device before it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from ohmwright_rules.opening import must_open


def box(
    fuse: str = "15 A",
    leads: str = "18 AWG; measured 419 mohm",
    battery: str = "6 cells, AGM; rest 12 V at 0 %, 12.8 V at 100 %; internal resistance 0.001 mohm",
    more: str = "",
) -> str:
    return f"""rig "Box", revision 1
basis us-small-craft
system 12 V
site {{ ambient 0 degC to 30 degC }}
all wires {{ copper; 60 degC insulation; in free air }}
battery house {{ {battery} }}
fuse tail {{ {fuse}; line on house.plus }}
load lamp 1 A
wire out from tail.load to lamp.plus {{ {leads} }}
wire back from lamp.minus to house.minus {{ {leads} }}
{more}"""


def test_catalogue_example(said: Callable[..., Any]) -> None:
    # Catalogue, F16, Ex: 40 x 20.95 mohm = 0.838 ohm; 12 / 0.838 = 14.3 A: 15 A error, 5 A warning, 3 A passes
    finding = said(box("15 A"), "weak_fault").finding("tail")
    assert finding.measured.value == pytest.approx(12 / 0.838, rel=1e-4)
    assert finding.message == (
        "tail: a short at lamp.plus draws 14.3 A; this 15 A fuse never opens at that, and the 18 AWG of out carries 10 A."
    )
    assert said(box("15 A"), "weak_fault").grades == [("tail", "never-opens", "error")]
    assert said(box("5 A"), "weak_fault").grades == [("tail", "slow", "warning")]
    assert said(box("3 A"), "weak_fault").grades == []
    assert said(box("3 A"), "weak_fault").passed("tail", "slow").limit.value == 9.0


def test_hot_copper_and_the_resistance_of_the_battery_count(said: Callable[..., Any]) -> None:
    # Readings, Solver: copper at 70 degC; 40 m of 18 AWG (0.8230 mm2) = 0.838 ohm at 20 degC, 1.0026 ohm at 70 degC; 0.1 ohm in the battery
    text = box("3 A", "18 AWG; 20 m", "AGM, 6 cells; rest 12 V at 0 %; internal resistance 90 mohm plus or minus 10 mohm")
    passed = said(text, "weak_fault").passed("tail", "slow")
    expected = 12 / (40 * 0.017241 / 0.8230 * (1 + 0.00393 * 50) + 0.1)
    assert passed.measured.value == pytest.approx(expected, rel=1e-3)


@pytest.mark.parametrize(
    ("multiple", "grade"),
    [("2.8639 times its rating", "slow"), ("2.863 times its rating", "slow"), ("2.864 times its rating", "below-must-open")],
)
def test_edge_of_a_declared_multiple(said: Callable[..., Any], multiple: str, grade: str) -> None:
    # 12 / 0.838 = 14.3198 A behind 5 A: 2.86396 times
    assert said(box(f"5 A; must open at {multiple}"), "weak_fault").grades == [("tail", grade, "warning")]


@pytest.mark.parametrize(("rating", "count"), [(4.0, 0), (4.001, 1), (3.999, 0)])
def test_edge_of_three_times_the_rating(said: Callable[..., Any], rating: float, count: int) -> None:
    # 12 V over 1 ohm: 12 A, exactly 3 times 4 A
    text = box(f"{rating} A", "18 AWG; measured 0.5 ohm", "AGM, 6 cells; rest 12 V at 0 %; internal resistance 0.0001 mohm")
    if count == 0 and rating == 4.0:
        text = box(
            f"{rating} A", "18 AWG; measured 0.499999 ohm", "AGM, 6 cells; rest 12 V at 0 %; internal resistance 0.0001 mohm"
        )
    assert len(said(text, "weak_fault").grades) == count


def test_conductors_that_carry_the_current_make_it_a_warning(said: Callable[..., Any]) -> None:
    # Readings, F16: an error only while I_far is above the conductor's ampacity; the 14 AWG carries 20 A and more
    text = box("15 A", "14 AWG; measured 419 mohm")
    assert said(text, "weak_fault").grades == [("tail", "slow", "warning")]
    assert said(box("15 A blade", "14 AWG; measured 419 mohm"), "weak_fault").grades == [("tail", "below-must-open", "warning")]


def test_wound_cord_counts_as_wound(said: Callable[..., Any]) -> None:
    # Catalogue, F16: "wound value if coiled"; 14 AWG cord 18 A, wound 18 x 0.22 = 3.96 A
    cord = """load far_lamp 1 A
fuse reel { 15 A; line on house.plus }
cable cord { flexible cord; 14 AWG; measured 419 mohm; COILED
  core p from reel.load to far_lamp.plus
  core m from far_lamp.minus to house.minus }
"""
    assert said(box("3 A", more=cord.replace("COILED", "used coiled")), "weak_fault").grades == [
        ("reel", "never-opens", "error")
    ]
    assert said(box("3 A", more=cord.replace("COILED", "not coiled")), "weak_fault").grades == [("reel", "slow", "warning")]


def test_missing_data(said: Callable[..., Any]) -> None:
    silent = said(box("", "18 AWG; 20 m").replace("{ ; line", "{ line"), "weak_fault")
    assert silent.missing == [("tail", "never-opens", "rated current")]
    assert said(box("3 A", "18 AWG"), "weak_fault").missing == [("tail", "never-opens", "gauge or length of out")]
    no_ohm = box("3 A", battery="AGM, 6 cells; rest 12 V at 0 %")
    assert said(no_ohm, "weak_fault").missing == [("tail", "never-opens", "internal resistance of house")]
    no_basis = said(box("15 A").replace("basis us-small-craft\n", ""), "weak_fault")
    assert no_basis.missing == [("tail", "never-opens", "basis")]
    assert no_basis.grades == [("tail", "slow", "warning")]


def test_weak_without_what_is_missing_is_a_finding_all_the_same(said: Callable[..., Any]) -> None:
    text = box("15 A", battery="AGM, 6 cells; rest 12 V at 0 %")
    assert said(text, "weak_fault").grades == [("tail", "never-opens", "error")]


def test_packs_that_may_be_missing_do_not_help(said: Callable[..., Any]) -> None:
    # Readings, F16: the bank without expansion packs; two equal batteries in parallel halve the resistance of the bank only where they stay
    more = "battery second { same as house }\nwire p from second.plus to house.plus { 2 AWG; measured 0.0001 mohm }\nwire m from second.minus to house.minus { 2 AWG; measured 0.0001 mohm }\n"
    weak = "AGM, 6 cells; rest 12 V at 0 %; internal resistance 1 ohm"
    one = said(box("1 A", "18 AWG; measured 1 mohm", weak), "weak_fault").passed("tail", "slow").measured.value
    two = said(box("1 A", "18 AWG; measured 1 mohm", weak, more), "weak_fault").passed("tail", "slow").measured.value
    assert one == pytest.approx(12 / 1.002, rel=1e-3)
    assert two == pytest.approx(12 / 0.502, rel=1e-3)
    row = """assembly spare_pack {
  battery cells { AGM, 6 cells; rest 12 V at 0 %; internal resistance 1 ohm }
  connector inlet { 2 pins }
  connector outlet { 2 pins }
  wires 2 AWG, measured 0.1 mohm { a from cells.plus to inlet.1; b from inlet.2 to cells.minus; c from inlet.1 to outlet.1; d from outlet.2 to inlet.2 }
  port inlet at inlet
  port outlet at outlet
}
assembly lead {
  connector near_end { 2 pins }
  connector far_end { 2 pins }
  wires 2 AWG, measured 0.1 mohm { a from near_end.1 to far_end.1; b from near_end.2 to far_end.2 }
  port near at near_end
  port far at far_end
}
connector socket { 2 pins }
wires 2 AWG, measured 0.1 mohm { s1 from house.plus to socket.1; s2 from socket.2 to house.minus }
row packs of 1 spare_pack { starts at socket; joins inlet to outlet; cord lead from near to far; 0 to 1 joined }
"""
    with_row = said(box("1 A", "18 AWG; measured 1 mohm", weak, row), "weak_fault").passed("tail", "slow").measured.value
    assert with_row == pytest.approx(one, rel=1e-6)


def test_post_fuses_side_by_side_share(said: Callable[..., Any]) -> None:
    # Two equal batteries behind equal fuses: each carries half of a short on the bar that they feed
    text = """rig "Pair", revision 1
basis us-small-craft
system 12 V
site { ambient 0 degC to 30 degC }
all wires { copper; 105 degC insulation; in free air }
battery a { AGM, 6 cells; rest 12 V at 0 %; internal resistance 100 mohm }
battery b { same as a }
fuse fa { 10 A; line on a.plus; load on bar }
fuse fb { 10 A; line on b.plus; load on bar }
bus bar 100 A
load lamp 1 A
wire on from bar to lamp.plus { 10 AWG; measured 50 mohm }
wire back from lamp.minus to floor { 10 AWG; measured 0.0001 mohm }
bus floor 100 A
a.minus on floor
b.minus on floor
"""
    passed = said(text, "weak_fault").passed("fa", "slow")
    assert passed.measured.value == pytest.approx(12 / (0.05 + 0.05) / 2, rel=1e-3)


def test_short_before_the_next_device_belongs_to_the_one_before(said: Callable[..., Any]) -> None:
    more = """fuse small { 1 A; line on bar }
bus bar 10 A
load clock 0.1 A
wire feed from main.load to bar { 18 AWG; measured 1 ohm }
fuse main { 8 A; line on house.plus }
wire on from small.load to clock.plus { 18 AWG; measured 1 mohm }
wire home from clock.minus to house.minus { 18 AWG; measured 1 mohm }
"""
    found = said(box("3 A", more=more), "weak_fault")
    assert found.grades == [("main", "slow", "warning")]
    assert found.finding("main").measured.value == pytest.approx(12.0, rel=1e-3)


def test_device_on_the_array_alone(said: Callable[..., Any]) -> None:
    found = said(box("3 A", more="array roof { Voc 22 V; Isc 5 A }\nfuse string { 10 A; line on roof.plus }\n"), "weak_fault")
    assert [item.condition for item in found.idle] == [
        "no battery feeds a short behind it, or a smaller device before it has to open"
    ]


def test_multiples_of_families() -> None:
    # fuse_conventional_currents.csv: gG 2.1 to 4 A, 1.9 below 16 A, 1.6 from 16 A; blade 1.35; bolt-down 2.0
    from ohmwright_grammar.kinds.fuse import Fuse

    class _Part:
        must_open = None

        def __init__(self, family: str) -> None:
            self.family = family

    def multiple(family: str, rating: float) -> float | None:
        part: Fuse = _Part(family)  # type: ignore[assignment]
        return must_open(part, rating)[1]

    assert [multiple("gG", rating) for rating in (4, 6, 15, 16, 63, 80)] == [2.1, 1.9, 1.9, 1.6, 1.6, 1.6]
    assert (multiple("blade", 15), multiple("bolt-down", 100), multiple("class T", 100)) == (1.35, 2.0, None)


def test_a_diode_that_blocks_the_battery_takes_nothing_from_a_short(said: Callable[..., Any]) -> None:
    # Kirchhoff: a diode from the return to the live side carries nothing, so that 12 / 0.838 = 14.3 A flow as without it
    spike = "diode spike { 1 A; anode on house.minus; cathode on tail.load }\n"
    assert said(box("15 A", more=spike), "weak_fault").finding("tail").measured.value == pytest.approx(12 / 0.838, rel=1e-4)
    heat = said(box("15 A", more=spike), "short_circuit_heat")
    assert heat.grades == said(box("15 A"), "short_circuit_heat").grades
