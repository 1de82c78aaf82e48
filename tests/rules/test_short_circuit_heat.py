"""D12: the heat that a device lets through, against what the insulation of a conductor bears."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from ohmwright.study import StudyOptions
from ohmwright.studying import make_study
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.kinds.fuse import Fuse
from ohmwright_grammar.resolve import Loader, Resolved, resolve
from ohmwright_rules.fault_heat import exposures_of
from ohmwright_rules.opening import Curve, Point, curve_of
from ohmwright_rules.withstand import awg_at_least, factor


def box(
    fuse: str = "30 A; lets through 30000 A2s",
    wire: str = "16 AWG; 70 degC insulation",
    battery: str = "LFP, 4 cells, 100 Ah; rest 12 V at 0 %, 12 V at 100 %; internal resistance 6 mohm plus or minus 1 mohm",
    leads: str = "2 m",
    more: str = "",
) -> str:
    return f"""rig "Box", revision 1
basis us-small-craft
system 12 V
site {{ ambient 0 degC to 30 degC }}
all wires {{ copper; in free air }}
battery house {{ {battery} }}
fuse main {{ {fuse}; line on house.plus }}
load heater 10 A
wire out from main.load to heater.plus {{ {wire}; {leads} }}
wire back from heater.minus to house.minus {{ 2 AWG; 105 degC insulation; measured 0.01 mohm }}
{more}"""


def test_catalogue_example(said: Callable[..., Any]) -> None:
    # Catalogue, D12, Ex: 16 AWG 1.31 mm2: 115^2 x 1.716 = 22 700 A2s; the fuse lets 30 000 through -> warning
    finding = said(box(), "short_circuit_heat").finding("out")
    assert finding.measured.value == 30_000
    assert finding.limit.value == pytest.approx(22_700, rel=3e-3)
    assert said(box(), "short_circuit_heat").grades == [("out", "over-limit", "warning")]
    assert (
        "lets 30000 A2s through before it opens (as declared); the insulation of this 16 AWG bears 22700 A2s" in finding.message
    )
    assert finding.remedy.startswith("Use a conductor of 14 AWG (1.51 mm2) or more")


def test_k_table() -> None:
    # IEC 60364-4-43 Table 43A as printed in three texts; readings.md, F: 75 degC 111 and 105 degC 87 computed
    cases = {70.0: 115, 75.0: 111, 90.0: 100, 105.0: 87, 60.0: 115, 80.0: 100}
    assert {degrees: factor("thermoplastic", degrees, 10.0)[0] for degrees in cases} == cases
    assert (factor("thermoplastic", 70, 400.0)[0], factor("XLPE", 90, 10.0)[0], factor("rubber", 60, 4.0)[0]) == (103, 143, 141)
    value, _, reference = factor("XLPE", 125, 10.0)
    assert value == pytest.approx(123.4, abs=0.1)  # 226 sqrt(ln(484.5 / 359.5))
    assert reference.status == "computed"


@pytest.mark.parametrize(("heat", "count"), [(22650, 0), (22600, 0), (22651, 1)])
def test_edge_of_a_let_through(said: Callable[..., Any], heat: int, count: int) -> None:
    # (115 x 1.30868 mm2)^2 = 22 650.25 A2s (area by the AWG law)
    curve = "opens in 0.001 s at 100 A"
    found = said(box(f"30 A; lets through {heat} A2s; {curve}"), "short_circuit_heat")
    assert len(found.grades) == count


def test_points_of_a_declared_curve_between_the_weakest_and_the_largest(said: Callable[..., Any]) -> None:
    # 5 s at 50 A: 12 500 A2s; 1 s at 160 A: 25 600 A2s; 0.01 s at 500 A: 2 500 A2s. Weakest short about 170 A over 5 m: the point at 160 A does not count
    curve = "30 A; opens in 5 s at 50 A, 1 s at 160 A, 0.01 s at 500 A"
    long = said(box(curve, leads="10 m"), "short_circuit_heat").finding("out")  # weakest 12 V over some 161 mohm: 74.5 A
    assert long.measured.value == pytest.approx(25_600)
    assert long.message.count("160 A") == 1
    short = said(box(curve, leads="0.4 m"), "short_circuit_heat").passed("out")
    assert short.measured.value < 22_000


def test_what_does_not_open_within_five_seconds_is_left_to_others(said: Callable[..., Any]) -> None:
    found = said(box("300 A; opens in 100 s at 600 A, 6 s at 5000 A", leads="10 m"), "short_circuit_heat")
    assert found.grades == []
    assert "no short opens its device within 5 s (weak-fault and the ampacity tell of that)" in [
        item.condition for item in found.idle
    ]


def test_limits_of_a_family_are_remembered(said: Callable[..., Any]) -> None:
    # fuse_times_blade.csv: 200 % at most 5 s: 30 A blade -> 60 A, 5 s: 18 000 A2s; 18 AWG 105 degC: (87 x 0.823)^2 = 5 127 A2s
    finding = said(box("30 A blade", "18 AWG; 105 degC insulation", leads="10 m"), "short_circuit_heat").finding("out")
    assert finding.measured.value == pytest.approx(18_000)
    assert finding.reference.status == "from-memory"
    assert said(box("5 A blade", "18 AWG; 105 degC insulation", leads="5 m"), "short_circuit_heat").grades == []


def test_missing_data(said: Callable[..., Any]) -> None:
    assert said(box("30 A"), "short_circuit_heat").missing == [("main", "over-limit", "time-current curve of main")]
    assert said(box("30 A; lets through 100 A2s"), "short_circuit_heat").missing == [
        ("main", "over-limit", "time-current curve of main")
    ]
    assert ("out", "over-limit", "insulation temperature") in said(box(wire="16 AWG"), "short_circuit_heat").missing
    upper = "LFP, 4 cells, 100 Ah; internal resistance at most 6 mohm"
    breaker = box("30 A; opens in 0.02 s at 300 A", battery=upper).replace("fuse main", "breaker main")
    assert (
        said(breaker, "short_circuit_heat").missing[0][2] == "measured internal resistance, or short-circuit current, of house"
    )


def test_device_of_which_nothing_is_known_where_five_seconds_do_no_harm(said: Callable[..., Any]) -> None:
    # 12 V over 1 ohm: 12 A, 5 s: 720 A2s
    weak = "LFP, 4 cells, 100 Ah; rest 12 V at 0 %, 12 V at 100 %; internal resistance 1 ohm plus or minus 1 mohm"
    assert said(box("3 A", battery=weak), "short_circuit_heat").passed("out").measured.value == pytest.approx(721, abs=3)


def test_thin_return(said: Callable[..., Any]) -> None:
    text = box(wire="2 AWG; 105 degC insulation").replace(
        "back from heater.minus to house.minus { 2 AWG; 105 degC insulation; measured 0.01 mohm",
        "back from heater.minus to house.minus { 16 AWG; 70 degC insulation; 1 m",
    )
    assert said(text, "short_circuit_heat").grades == [("back", "over-limit", "warning")]


def test_conductor_before_the_first_device(said: Callable[..., Any]) -> None:
    text = box(more="load lamp 1 A\nwire bare from house.plus to lamp.plus { 16 AWG; 70 degC insulation; 1 m }\n")
    found = said(text, "short_circuit_heat")
    assert any(item.condition.startswith("no short behind a device passes it") for item in found.idle)


def test_curve_beyond_its_last_point() -> None:
    # common practice: a fuse that melts before heat leaves it lets the same I2t through; a breaker's parts take their time
    points = (Point(50.0, 5.0), Point(500.0, 0.05))
    fuse, breaker = Curve(points, None), Curve(points, None, mechanical=True)  # type: ignore[arg-type]
    assert fuse.heat(1000.0) == pytest.approx(500.0**2 * 0.05)
    assert breaker.heat(1000.0) == pytest.approx(1000.0**2 * 0.05)
    assert fuse.heat(49.0) is None
    assert fuse.time(158.11388) == pytest.approx(0.5, rel=1e-6)  # halfway between by logarithms
    assert fuse.current_at(0.5) == pytest.approx(158.11388, rel=1e-6)


def test_breaker_has_no_family_of_fuses() -> None:
    part: Fuse = type("Part", (), {"curve": None, "family": "curve C"})()
    assert curve_of(part, 16.0) is None


def test_gauges() -> None:
    # awg_dimensions.csv: 14 AWG 2.08 mm2, 12 AWG 3.31 mm2, 2/0 AWG 67.4 mm2
    assert [awg_at_least(area) for area in (2.08, 2.09, 60.0, 0.5)] == ["14 AWG", "12 AWG", "2/0 AWG", "20 AWG"]


SERIES = """rig "Breaker behind a fuse", revision 1
basis us-small-craft
site {{ ambient 0 degC to 30 degC }}
all wires {{ copper; 105 degC insulation; in free air }}
battery house {{ AGM; 6 cells; 100 Ah; rest 12.9 V at 100 %; internal resistance 5.5 mohm }}
fuse main {{ 60 A; line on house.plus; {fuse} }}
breaker nav {{ 5 A; opens in 5 s at 20 A, 10 ms at 70 A }}
load lamp 12 W
wire feed from {first} to nav.line {{ 6 AWG; 0.5 m }}
wire out from nav.load to lamp.plus {{ 14 AWG; 5 m }}
wire back from lamp.minus to house.minus {{ 14 AWG; 5 m }}
{more}
"""


def series(fuse: str, first: str = "main.load", more: str = "") -> str:
    return SERIES.format(fuse=fuse, first=first, more=more)


def test_of_devices_in_series_the_one_that_lets_less_through_counts(said: Callable[..., Any]) -> None:
    # readings.md, D12; by hand: the breaker 0.01 s x 2097 A^2 = 44 000 A2s at the largest short, the fuse 480^2 x 0.1 s = 23 040 A2s there; both are
    # alike at (23 040 / 0.01)^0.5 = 1518 A. 14 AWG at 105 degC bears (87 x 2.081)^2 = 32 800 A2s.
    passed = said(series("opens in 5 s at 180 A, 0.1 s at 480 A"), "short_circuit_heat").passed("out")
    assert passed.measured.value == pytest.approx(23_040, rel=1e-6)
    assert passed.limit.value == pytest.approx(32_780, rel=1e-3)


def test_the_crossing_of_two_curves_tells_the_largest_heat(said: Callable[..., Any]) -> None:
    # by hand: fuse 1900^2 x 0.01 s = 36 100 A2s from 1900 A on (at 700 A 0.2 s: 98 000 A2s), breaker 0.01 s: at 1900 A both let 36 100 A2s through
    found = said(series("opens in 5 s at 180 A, 0.2 s at 700 A, 0.01 s at 1900 A"), "short_circuit_heat").finding("out")
    assert found.measured.value == pytest.approx(36_100, rel=1e-6)


def test_a_device_beside_the_way_does_not_help(said: Callable[..., Any]) -> None:
    fast = "opens in 5 s at 180 A, 0.1 s at 480 A"
    apart = "load other 10 A\nwire o from main.load to other.plus { 6 AWG; 1 m }\nwire p from other.minus to house.minus { 6 AWG; 1 m }"
    assert said(series(fast, "house.plus", apart), "short_circuit_heat").finding("out").measured.value > 40_000
    second = (
        "battery spare { AGM; 6 cells; 100 Ah; rest 12.9 V at 100 %; internal resistance 5.5 mohm }\n"
        "wire q from spare.plus to main.load { 6 AWG; 0.1 m }\nwire r from spare.minus to house.minus { 6 AWG; 0.1 m }"
    )
    found = said(series(fast, more=second), "short_circuit_heat").finding("out")  # the spare feeds it past the fuse
    assert found.measured.value > 40_000


STRING = """rig "Two in series", revision 1
system 12 V
basis us-small-craft
all wires { copper; 105 degC insulation }
all batteries { LFP; 2 cells; rest 6.6 V full; rest 5.4 V empty; internal resistance 5 mohm }
battery upper
battery lower
battery beside { 4 cells; rest 13.2 V full; rest 10.8 V empty }
fuse post 100 A
fuse other 100 A
fuse tail 30 A
load lamp 5 A
wire link from lower.plus to upper.minus { 6 AWG; 0.2 m }
wire top from upper.plus to post.line { 6 AWG; 0.2 m }
wire second from beside.plus to other.line { 6 AWG; 0.2 m }
wire join from post.load to other.load { 6 AWG; 0.2 m }
wire on from post.load to tail.line { 10 AWG; 0.3 m }
wire feed from tail.load to lamp.plus { 14 AWG; 2 m }
wire return from lamp.minus to lower.minus { 14 AWG; 2 m }
wire ground from beside.minus to lower.minus { 6 AWG; 0.2 m }
"""


def test_a_short_behind_a_string_runs_to_the_return_and_not_to_its_middle() -> None:
    """The upper battery of a string has a live wire at its minus: a short at the bar is fed by the whole string and by what stands beside it (arithmetic)."""
    resolved = resolve("box.rig", Loader(MemoryFiles({"box.rig": STRING})))
    assert isinstance(resolved, Resolved) and not resolved.problems
    most = {(item.wire.name, item.device.name): item.most for item in exposures_of(make_study(resolved.build, StudyOptions()))}
    six = 0.2 * 0.017241 / (3.141592653589793 / 4 * (0.127 * 92 ** (30 / 39)) ** 2)  # ohm of 0.2 m of 6 AWG
    whole = 13.2 / (0.010 + 2 * six) + 13.2 / (0.005 + 2 * six)
    assert most["on", "post"] == pytest.approx(whole, rel=1e-9)
    assert most["on", "other"] == pytest.approx(whole, rel=1e-9)
