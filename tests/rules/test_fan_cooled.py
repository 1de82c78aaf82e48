"""Rule fan-cooled: the fault catalogue's example L15, what the stopped fan leaves, parts that derate themselves, what is missing."""

from __future__ import annotations

import pytest

BUILD = """rig "Box", revision 1
basis us-small-craft
SITE
case box { closed; size 400 x 300 x 250 mm; CASE }
zone inside { in box; ZONE }
battery house { LFP, 4 cells, 60 Ah; BATTERY }
meter heater { gives off WATTS; in inside; METER }
wire feed from house.plus to heater.plus { 14 AWG; 0.3 m }
wire back from heater.minus to house.minus { 14 AWG; 0.3 m }
"""


def build(
    watts: str = "30 W", *, case: str = "fan; with the fan 4.6 W/m2K; fan stopped 1.877 W/m2K", site: str = "site { ambient 0 degC to 38 degC }",
    zone: str = "no loose things", battery: str = "internal resistance 10 mohm", meter: str = "works up to 60 degC", more: str = "",
) -> str:  # fmt: skip
    text = BUILD.replace("SITE", site).replace("CASE", case).replace("ZONE", zone).replace("BATTERY", battery)
    return text.replace("METER", meter).replace("WATTS", watts) + more


def test_catalogue_l15(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, L15, Ex: 13.9 K with the fan, 34 K without: 72 degC: warning. 30 / (34 x 0.47) = 1.877 W/m2K."""
    found = said(build(), "fan_cooled")
    assert found.grades == [("box", "too-hot", "warning")]
    finding = found.finding("box")
    assert finding.measured.value == pytest.approx(72.0, abs=0.05)
    assert finding.limit.value == 60
    assert "34 K above the air outside, 13.9 K with the fan" in finding.message
    assert said(build(), "hot_case").grades == []


@pytest.mark.parametrize(
    ("watts", "meter", "over"),
    [
        ("19.408 W", "works up to 60 degC", False), ("19.409 W", "works up to 60 degC", True),
        ("30 W", "works up to 60 degC; derates itself", False), ("30 W", "works up to 73 degC", False),
    ],
)  # fmt: skip
def test_edges(said, watts: str, meter: str, over: bool) -> None:  # type: ignore[no-untyped-def]
    """22 K x 1.877 x 0.47 = 19.408 W reach 60 degC."""
    assert bool(said(build(watts, meter=meter), "fan_cooled").grades) is over


@pytest.mark.parametrize(
    ("case", "over"),
    [
        ("fan; with the fan 9 W/m2K; walls pass 1.877 W/m2K", True), ("fan; with the fan 9 W/m2K; walls pass 4 W/m2K", False),
        ("fan; fan stopped 1.877 W/m2K", True),
    ],
)  # fmt: skip
def test_figures_of_the_walls(said, case: str, over: bool) -> None:  # type: ignore[no-untyped-def]
    """What is said for the stopped fan, else what the walls pass beside a figure of their own for the fan."""
    assert bool(said(build(case=case), "fan_cooled").grades) is over


def test_a_range_of_the_zone_holds_with_the_fan_running(said) -> None:  # type: ignore[no-untyped-def]
    assert said(build(zone="0 degC to 50 degC"), "fan_cooled").grades == [("box", "too-hot", "warning")]


@pytest.mark.parametrize(
    ("change", "missing"),
    [
        ({"case": "fan"}, "heat through its walls with the fan stopped"), ({"case": "fan; walls pass 5 W/m2K"}, "heat through its walls with the fan stopped"),
        ({"site": ""}, "temperature of the air"), ({"meter": "always on"}, "highest temperature of heater"),
    ],
)  # fmt: skip
def test_what_is_missing(said, change: dict[str, str], missing: str) -> None:  # type: ignore[no-untyped-def]
    found = said(build(**change), "fan_cooled")
    assert [item.missing for item in found.unchecked] == [missing]
    assert found.grades == []


def test_a_loss_that_is_not_known_is_asked_for_where_it_decides(said) -> None:  # type: ignore[no-untyped-def]
    loaded = "load pump 20 A\nwire p from house.plus to pump.plus { 8 AWG; 0.1 m }\nwire q from pump.minus to house.minus { 8 AWG; 0.1 m }\n"
    inside = build("5 W", battery="in inside", more=loaded)
    assert [item.missing for item in said(inside, "fan_cooled").unchecked] == ["internal resistance of house"]
    assert said(build("5 W", battery="in inside; internal resistance 2 mohm", more=loaded), "fan_cooled").unchecked == []


@pytest.mark.parametrize(("case", "condition"), [("no fan", "a case without a fan"), ("plastic", "a case without a fan")])
def test_what_does_not_apply(said, case: str, condition: str) -> None:  # type: ignore[no-untyped-def]
    found = said(build(case=case), "fan_cooled")
    assert [item.condition for item in found.idle] == [condition]
    opened = build().replace("closed;", "not closed;")
    assert [item.condition for item in said(opened, "fan_cooled").idle] == ["a case that is not closed"]


def test_remedy_by_hand(said) -> None:  # type: ignore[no-untyped-def]
    """22 K x 1.877 x 0.47 = 19.4 W; 30 / (22 x 1.877) = 0.726 m2."""
    assert said(build(), "fan_cooled").finding("box").remedy == (
        "Use a meter that derates itself when hot, bring the heat inside to 19.4 W or less, or use a case with 0.726 m2 of free walls or more (0.47 m2 now)."
    )
