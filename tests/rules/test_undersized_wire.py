"""Rule undersized-wire: the fault catalogue's examples D1, D3 and D4 end to end, its edges, what is missing, what does not apply.

The ampacities themselves are tested in test_ampacity.py. Numbers beside "catalogue" are that entry's own example, worked by hand.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

BUILD = """rig "Bench", revision 1
basis us-small-craft
site { ambient 5 degC to 30 degC }
battery house { LFP, 4 cells, 100 Ah; internal resistance 4 mohm }
load lamp { LOAD }
all wires { 105 degC insulation; in free air }
wires 0.6 m, copper, GAUGE {
  feed from house.plus to lamp.plus
  back from lamp.minus to house.minus
}
"""
Said = Callable[..., object]


def build(load: str = "25 A", gauge: str = "14 AWG", **changes: str) -> str:
    text = BUILD.replace("LOAD", load).replace("GAUGE", gauge)
    for old, new in changes.items():
        assert old in text, old
        text = text.replace(old, new)
    return text


def test_catalogue_d1_bundle_of_five(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, D1, Ex: 14 AWG 105 degC 35 A, bundle of 5 (0.8): 28 A; load 30 A -> error."""
    found = said(build("30 A").replace("in free air", "with 4 others over 0.9 m"), "undersized_wire")
    assert found.grades == [("feed", "over-ampacity", "error"), ("back", "over-ampacity", "error")]
    feed = found.finding("feed")
    assert feed.measured.value == pytest.approx(30.0)
    assert feed.limit.value == pytest.approx(28.0)
    assert feed.margin == pytest.approx(-2 / 28)
    assert feed.state == "lamp on"
    assert feed.message == (
        "feed: 30 A flows here in state 'lamp on'; this 14 AWG is rated for 28 A."
        " Its table gives 35 A; the wires it lies with (0.80) take the rest."
    )
    assert feed.remedy == "Use 12 AWG or larger, or bring the current to 28 A or less."
    assert [step.symbol for step in feed.working] == ["I_table", "k_ambient", "k_bundle", "I_z", "I"]


@pytest.mark.parametrize(("load", "broken"), [("28 A", False), ("27.99 A", False), ("28.01 A", True)])
def test_edge_at_the_corrected_ampacity(said, load: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    """35 A x 0.80 = 28 A, 33 CFR 183.425 Table 5 and NEC 310.15(C)(1): at equality it holds."""
    found = said(build(load).replace("in free air", "with 4 others over 0.9 m"), "undersized_wire")
    assert bool(found.findings) is broken
    if not broken:
        assert found.passed("feed").limit.value == pytest.approx(28.0)


def test_catalogue_d3_hot_box(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, D3, Ex: 75 degC wire, box 55 degC: sqrt(20/45) = 0.667; 12 AWG 25 A -> 16.7 A; load 20 A -> error."""
    text = build("20 A", "12 AWG").replace("105 degC", "75 degC").replace("to 30 degC", "to 55 degC")
    found = said(text, "undersized_wire").finding("feed")
    assert found.limit.value == pytest.approx(25 * (20 / 45) ** 0.5)
    assert "air of 55 degC (0.67) take the rest" in found.message


def test_catalogue_d4_bundle_of_six(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, D4, Ex: 6 x 14 AWG 75 degC: 20 x 0.8 = 16 A; 18 A -> error."""
    text = build("18 A").replace("105 degC", "75 degC").replace("in free air", "with 5 others over 1 m")
    assert said(text, "undersized_wire").finding("feed").limit.value == pytest.approx(16.0)


def test_a_short_bundle_needs_no_factor(said) -> None:  # type: ignore[no-untyped-def]
    """NEC 310.15(C)(1): up to 600 mm no factor, so that 30 A pass in 35 A; without its length the bundle is not checked."""
    short = said(build("30 A").replace("in free air", "with 4 others over 0.6 m"), "undersized_wire")
    assert short.passed("feed").limit.value == pytest.approx(35.0)
    unsaid = said(build("30 A").replace("in free air", "with 4 others"), "undersized_wire")
    assert unsaid.missing[1] == ("feed", "over-ampacity", "length over which the wires lie together")


def test_constant_power_counts_at_the_cut_off(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, I2, Ex: 500 W at 88 % take 500 / (0.88 x 10.5) = 54.1 A at the cut-off; readings, design current."""
    text = build().replace("load lamp { 25 A }", "inverter box { 500 W; efficiency 88 %; idle 0 W; cut-off 10.5 V }")
    found = said(text.replace("lamp.", "box.").replace("14 AWG", "10 AWG"), "undersized_wire")
    assert found.passed("feed").measured.value == pytest.approx(500 / (0.88 * 10.5))
    thin = said(text.replace("lamp.", "box.").replace("14 AWG", "12 AWG"), "undersized_wire").finding("feed")
    assert "in state 'box full' once the voltage has fallen to the cut-off (4" in thin.message
    assert thin.limit.value == pytest.approx(45.0)


def test_continuous_current_counts_more_on_premises(said) -> None:  # type: ignore[no-untyped-def]
    """NEC 210.19: 1.25 x 21 A = 26.25 A over the 25 A of 14 AWG at 90 degC (Table 310.16), 20 A x 1.25 = 25 A at it."""
    wires = build("20 A").replace("in free air", "in conduit; with 1 other over 0.6 m").replace("us-small-craft", "us-premises")
    assert said(wires, "undersized_wire").passed("feed").measured.value == pytest.approx(25.0)
    found = said(wires.replace("20 A }", "21 A }"), "undersized_wire").finding("feed")
    assert found.measured.value == pytest.approx(26.25)
    assert "21 A flows here in state 'lamp on'; continuous current counts 1.25 times: 26.2 A; this 14 AWG" in found.message
    assert found.remedy == "Use 12 AWG or larger, or bring the current to 20 A or less."


@pytest.mark.parametrize(("hours", "measured"), [("2 h/day", 21.0), ("3 h/day", 26.25), ("2.9 h/day", 21.0)])
def test_short_duty_is_not_continuous(said, hours: str, measured: float) -> None:  # type: ignore[no-untyped-def]
    """Readings, Continuous: three hours a day or more."""
    text = build(f"21 A; {hours}").replace("in free air", "in conduit; with 1 other over 0.6 m")
    found = said(text, "undersized_wire", basis="us-premises")
    outcome = found.findings[0] if found.findings else found.passed("feed")
    assert outcome.measured.value == pytest.approx(measured)


def test_of_two_loads_only_the_lasting_one_counts_more(said) -> None:  # type: ignore[no-untyped-def]
    """1.25 x 12 A + 9 A = 24 A: the pump of half an hour a day is not continuous."""
    text = build("12 A").replace("in free air", "in conduit; with 1 other over 0.6 m")
    text += "load pump { 9 A; 0.5 h/day }\n"
    text += "wire p from lamp.plus to pump.plus { 10 AWG; 1 m }\nwire q from pump.minus to lamp.minus { 10 AWG; 1 m }\n"
    found = said(text, "undersized_wire", basis="us-premises")
    assert found.passed("feed").measured.value == pytest.approx(1.25 * 12 + 9)
    assert found.passed("feed").state == "all loads on"


SURGE = """
state "start" { lamp on at 300 A; LASTS }
"""


@pytest.mark.parametrize(
    ("lasts", "counted"),
    [
        ("lasts 6 s; back after 10 min", 30.0),  # 300 A x sqrt(6 / 600)
        ("lasts 6 s", 30.0),  # undeclared: once in ten minutes
        ("lasts 6 s; back after 150 s", 60.0),
        ("lasts 6 s; back after 11 min", 5.0),  # does not count: the lamp alone
        ("lasts 59.9 s; back after 1 s", 300.0),
        ("lasts 60 s; back after 2 h", 300.0),  # no surge
    ],
)
def test_surges_count_by_their_heat(said, lasts: str, counted: float) -> None:  # type: ignore[no-untyped-def]
    """Readings, General: a surge counts where it comes back within 10 min, by the rms over the cycle."""
    found = said(build("5 A", "14 AWG") + SURGE.replace("LASTS", lasts), "undersized_wire")
    outcome = found.findings[0] if found.findings else found.passed("feed")
    assert outcome.measured.value == pytest.approx(counted, rel=1e-6)


@pytest.mark.parametrize(
    ("old", "new", "missing"),
    [
        ("basis us-small-craft\n", "", "basis"),
        ("14 AWG", "tinned copper", "gauge"),
        ("105 degC insulation; ", "", "insulation temperature"),
        ("; in free air", "", "how it lies (in free air, or with how many others)"),
        ("site { ambient 5 degC to 30 degC }\n", "", "temperature of the air"),
    ],
)
def test_missing_data_are_named(said, old: str, new: str, missing: str) -> None:  # type: ignore[no-untyped-def]
    text = build("21 A").replace("copper, 14 AWG", "14 AWG")
    assert old in text
    found = said(text.replace(old, new), "undersized_wire")
    assert not found.findings
    assert not found.passes
    assert [item[0] for item in found.missing] == ["back", "feed"]
    assert {item[2] for item in found.missing} == {missing}
    assert all(item.declare for item in found.unchecked)


def test_what_is_not_said_is_tried_at_its_harshest(said) -> None:  # type: ignore[no-untyped-def]
    """6 AWG at 60 degC, 80 A, with forty together (0.40): 32 A pass without a word on either, and 32.1 A are not checked."""
    text = build("32 A", "6 AWG").replace("all wires { 105 degC insulation; in free air }\n", "")
    assert said(text, "undersized_wire").passed("feed").limit.value == pytest.approx(32.0)
    assert said(text.replace("32 A", "32.1 A"), "undersized_wire").missing[0][2] == "insulation temperature"


def test_a_wire_that_fails_at_its_kindest_is_found_all_the_same(said) -> None:  # type: ignore[no-untyped-def]
    text = build("36 A").replace("; in free air", "").replace("site { ambient 5 degC to 30 degC }\n", "")
    assert len(said(text, "undersized_wire").findings) == 2


def test_what_does_not_apply_is_counted(said) -> None:  # type: ignore[no-untyped-def]
    text = build("20 A") + (
        "wire inner from house.plus to lamp.plus { 20 AWG; 0.1 m; inside a bought device }\n"
        "load spot 1 A\ncable cord { flexible cord; 16 AWG; 2 m; core a from house.plus to spot.plus; core b from spot.minus to house.minus }\n"
        "bus far\nwire dead from house.plus to far { 14 AWG; 0.1 m }\n"
    )
    found = said(text, "undersized_wire")
    assert {item.condition: item.count for item in found.idle} == {
        "inside a bought device or part of it": 1,
        "a cord, which its own table judges (overloaded-cord)": 2,
        "carries no steady current in any state": 1,
    }


def test_a_zone_warms_its_wires(said) -> None:  # type: ignore[no-untyped-def]
    """35 A x sqrt(45/75) = 27.1 A at 60 degC; a state's own temperature takes the place of the site's in that state only."""
    hot = build("28 A").replace("feed from", "feed in box from")
    found = said(hot + "zone box { 10 degC to 60 degC }\n", "undersized_wire")
    assert found.grades == [("feed", "over-ampacity", "error")]
    assert found.finding("feed").limit.value == pytest.approx(35 * 0.6**0.5)
    warm = said(build("28 A") + 'state "noon" { lamp on; 60 degC }\n', "undersized_wire")
    assert warm.finding("feed").state == "noon"


def test_one_failure_leaves_an_error_and_two_leave_a_note(said) -> None:  # type: ignore[no-untyped-def]
    """Readings, States after a failure: what burns stands for one failure and is a note for two at once."""
    text = """rig "Three packs", revision 1
basis us-small-craft
site { ambient 5 degC to 30 degC }
all wires { 105 degC insulation; in free air; 0.5 m }
bus plus
bus minus
load heater 60 A
wire out from plus to heater.plus { 2 AWG }
wire home from heater.minus to minus { 2 AWG }
"""
    for name in ("one", "two", "three"):
        text += f"battery {name} {{ LFP, 4 cells, 100 Ah; internal resistance 4 mohm }}\nfuse f{name} 80 A\n"
        text += (
            f"wire a{name} from {name}.plus to f{name}.line {{ GAUGE }}\nwire b{name} from f{name}.load to plus {{ GAUGE }}\n"
        )
        text += f"wire c{name} from {name}.minus to minus {{ GAUGE }}\n"
    text += 'state "heating" { heater on }\n'
    one = said(text.replace("GAUGE", "16 AWG"), "undersized_wire", reached=True)
    assert {grade[2] for grade in one.grades} == {"error"}
    two = said(text.replace("GAUGE", "12 AWG"), "undersized_wire", reached=True)
    assert two.grades
    assert {grade[2] for grade in two.grades} == {"note"}
    assert not said(text.replace("GAUGE", "12 AWG"), "undersized_wire").findings
