"""Rule overloaded-switch: the fault catalogue's examples H11 and I2 end to end, curves by temperature, poles and positions."""

from __future__ import annotations

import pytest
from ohmwright_grammar.kinds.values import ShareAt
from ohmwright_grammar.quantities import Celsius, Quantity, Share
from ohmwright_rules.temperature_curve import share_at

BUILD = """rig "Box", revision 1
site { ambient 0 degC to 40 degC }
battery house { LFP, 4 cells, 100 Ah; internal resistance 2 mohm }
PART
load lamp LOAD
wire feed from house.plus to main.line { 4 AWG; 0.5 m }
wire tail from main.load to lamp.plus { 4 AWG; 0.5 m }
wire back from lamp.minus to house.minus { 4 AWG; 0.5 m }
"""


def build(part: str = "switch main { carries 75 A }", load: str = "70 A") -> str:
    return BUILD.replace("PART", part).replace("LOAD", load)


def test_catalogue_h11(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, H11, Ex: 30 A + 54.1 A through 75 A switch: 84 A -> error; 54.1 A = 500 W / (0.88 x 10.5 V) (I2, Ex)."""
    text = build(load="30 A") + (
        "inverter box { 500 W; efficiency 88 %; idle 0 W; cut-off 10.5 V }\n"
        "wire two from main.load to box.plus { 4 AWG; 0.5 m }\nwire home from box.minus to house.minus { 4 AWG; 0.5 m }\n"
        'state "all at once" { main closed; lamp on; box on at 100 % }\n'
    )
    found = said(text, "overloaded_switch")
    assert found.grades == [("main", "over-rating", "error")]
    finding = found.finding("main")
    assert finding.measured.value == pytest.approx(30 + 500 / (0.88 * 10.5), rel=1e-9)
    assert finding.limit.value == 75.0
    assert finding.message.startswith(
        "main: 84.1 A flows through this switch in state 'all at once' once the voltage has fallen to the cut-off (7"
    )
    assert finding.remedy == "Use one that carries 84.1 A or more, or bring the current to 75 A or less."
    assert found.rule.covers == ("H11",)


@pytest.mark.parametrize(("load", "broken"), [("74.9 A", False), ("75 A", False), ("75.1 A", True)])
def test_edges(said, load: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    found = said(build(load=load), "overloaded_switch")
    assert bool(found.findings) is broken
    assert bool(found.passes) is not broken


@pytest.mark.parametrize(
    "part",
    [
        "relay main { carries 75 A; normally closed }",
        "disconnect main { carries 75 A; opens at 10 V }",
        "switch main { carries 75 A; 2 poles }",
    ],
)
def test_every_kind_that_switches(said, part: str) -> None:  # type: ignore[no-untyped-def]
    assert said(build(part, "76 A"), "overloaded_switch").grades == [("main", "over-rating", "error")]


def test_a_position_of_a_selector(said) -> None:  # type: ignore[no-untyped-def]
    text = build("selector main { carries 75 A; position one joins load; position off }", "76 A").replace(
        "main.line", "main.common"
    )
    finding = said(text, "overloaded_switch").finding("main")
    assert "one way of this selector" in finding.message


def test_two_poles_are_told_once_for_each_state(said) -> None:  # type: ignore[no-untyped-def]
    text = build("switch main { carries 75 A; 2 poles }", "76 A").replace("to house.minus", "to main.load2")
    text += "wire home from main.line2 to house.minus { 4 AWG; 0.5 m }\n"
    assert [state.state for state in said(text, "overloaded_switch").finding("main").states] == ["lamp on"]


def test_a_curve_lowers_the_rating(said) -> None:  # type: ignore[no-untyped-def]
    """Straight lines between 100 % at 25 degC and the declared points: 90 % at 40 degC."""
    text = build("switch main { carries 75 A; carries 80 % at 55 degC }", "68 A")
    finding = said(text, "overloaded_switch").finding("main")
    assert finding.limit.value == pytest.approx(75 * 0.9)
    assert "it carries 67.5 A, 75 A times 0.9 in air of 40 degC" in finding.message
    assert finding.remedy.startswith("Use one that carries 75.6 A or more")
    no_air = text.replace("site { ambient 0 degC to 40 degC }\n", "")
    assert said(no_air, "overloaded_switch").missing == [("main", "over-rating", "temperature of the air")]
    flat = build(load="68 A").replace("site { ambient 0 degC to 40 degC }\n", "")
    assert said(flat, "overloaded_switch").passed("main").limit.value == 75.0


def test_missing_rating_and_idle_switch(said) -> None:  # type: ignore[no-untyped-def]
    text = (
        build("switch main { 1 pole }")
        + "switch spare { carries 5 A }\nwire s from house.plus to spare.line { 16 AWG; 0.1 m }\n"
    )
    found = said(text, "overloaded_switch")
    assert found.missing == [("main", "over-rating", "current that it carries for long")]
    assert found.unchecked[0].declare == "carries 40 A"
    assert [item.condition for item in found.idle] == ["carries no steady current in any state"]


def _point(share: float, temperature: float) -> ShareAt:
    part, warm = Share(share), Celsius(temperature)
    return ShareAt(Quantity(part, part, part, "%"), Quantity(warm, warm, warm, "degC"))


@pytest.mark.parametrize(
    ("points", "temperature", "expected"),
    [
        ([(0.8, 55.0)], 20.0, 1.0),
        ([(0.8, 55.0)], 25.0, 1.0),
        ([(0.8, 55.0)], 40.0, 0.9),
        ([(0.8, 55.0)], 55.0, 0.8),
        ([(0.8, 55.0)], 70.0, 0.7),
        ([(0.8, 55.0)], 300.0, 0.0),
        ([(1.0, 40.0), (0.5, 60.0)], 30.0, 1.0),
        ([(0.5, 60.0), (1.0, 40.0)], 50.0, 0.75),
        ([(0.9, 20.0)], 20.0, 0.9),
        ([(0.9, 20.0)], 60.0, 0.9),
        ([(1.2, 0.0), (0.8, 50.0)], 10.0, 1.0),
        ([(1.2, 0.0), (0.8, 50.0)], 30.0, 0.96),
    ],
)
def test_straight_lines_between_points(points: list[tuple[float, float]], temperature: float, expected: float) -> None:
    """Common practice, no source: lines between the points, from 100 % at 25 degC, never above 100 %."""
    assert share_at([_point(*point) for point in points], temperature) == pytest.approx(expected)
