"""Rule optimistic-temperature: the fault catalogue's example L6, and declared ranges against the heat of the case."""

from __future__ import annotations

import pytest

BUILD = """rig "Box", revision 1
basis us-small-craft
SITE
case box { CASE }
zone inside { in box; ZONE }
battery house { LFP, 4 cells, 60 Ah; BATTERY }
meter heater { gives off 30 W; in inside; works up to 60 degC }
wire feed from house.plus to heater.plus { 14 AWG; 0.3 m }
wire back from heater.minus to house.minus { 14 AWG; 0.3 m }
"""


def build(
    site: str = "ambient 0 degC to 38 degC", *, case: str = "closed; size 400 x 300 x 250 mm", zone: str = "0 degC to 60 degC",
    battery: str = "internal resistance 10 mohm", more: str = "",
) -> str:  # fmt: skip
    text = BUILD.replace("SITE", f"site {{ {site} }}" if site else "").replace("CASE", case).replace("ZONE", zone)
    return text.replace("BATTERY", battery) + more


@pytest.mark.parametrize(
    ("site", "over"),
    [
        ("ambient 0 degC to 30 degC; vehicle", True), ("ambient 0 degC to 30 degC; direct sun", True), ("ambient 0 degC to 60 degC; vehicle", False),
        ("ambient 0 degC to 59.9 degC; vehicle", True), ("ambient 0 degC to 30 degC; portable", False),
    ],
)  # fmt: skip
def test_catalogue_l6(said, site: str, over: bool) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, L6, Ex: van box with T_amb 30 degC: note; 60 degC from memory."""
    found = said(build(site, zone="0 degC to 90 degC"), "optimistic_temperature")
    assert found.grades == ([("site", "sun-heated", "note")] if over else [])


def test_a_state_may_give_the_heat_of_the_sun(said) -> None:  # type: ignore[no-untyped-def]
    text = build("ambient 0 degC to 38 degC; vehicle", zone="0 degC to 90 degC", more='state "parked in the sun" { 60 degC }\n')
    assert said(text, "optimistic_temperature").grades == []


@pytest.mark.parametrize(
    ("zone", "over"), [("0 degC to 51 degC", True), ("0 degC to 51.876 degC", True), ("0 degC to 51.877 degC", False)]
)
def test_a_range_is_held_against_the_heat_of_the_case(said, zone: str, over: bool) -> None:  # type: ignore[no-untyped-def]
    """Catalogue's L5: 38 + 30 / (4.6 x 0.47) = 51.876 degC (51.87604)."""
    found = said(build(zone=zone), "optimistic_temperature")
    assert found.grades == ([("inside", "below-own-heat", "note")] if over else [])
    if zone.endswith(" 51 degC"):
        assert "inside: it declares 51 degC at most" in found.finding("inside").message
        assert "13.9 K above the air outside: 51.9 degC" in found.finding("inside").message


def test_each_state_counts_from_its_own_ambient(said) -> None:  # type: ignore[no-untyped-def]
    """50 degC outside make 63.9 degC inside in that state."""
    found = said(build(more='state "hot day" { 50 degC }\n'), "optimistic_temperature")
    assert found.finding("inside").state == "hot day"
    assert found.finding("inside").measured.value == pytest.approx(63.876, abs=1e-3)


@pytest.mark.parametrize(
    ("change", "missing"),
    [
        ({"case": "size 400 x 300 x 250 mm"}, "whether it is closed"),
        ({"case": "closed; size 400 x 300 x 250 mm; fan"}, "heat through its walls with the fan running"),
    ],
)
def test_what_is_missing(said, change: dict[str, str], missing: str) -> None:  # type: ignore[no-untyped-def]
    assert [item.missing for item in said(build(zone="0 degC to 50 degC", **change), "optimistic_temperature").unchecked] == [
        missing
    ]
    assert said(build(zone="0 degC to 60 degC", **change), "optimistic_temperature").unchecked == []


def test_a_loss_that_is_not_known_is_asked_for_where_it_decides(said) -> None:  # type: ignore[no-untyped-def]
    loaded = "load pump 20 A\nwire p from house.plus to pump.plus { 8 AWG; 0.1 m }\nwire q from pump.minus to house.minus { 8 AWG; 0.1 m }\n"
    text = build(battery="in inside", more=loaded)
    assert [item.missing for item in said(text, "optimistic_temperature").unchecked] == ["internal resistance of house"]
    assert said(text.replace("60 degC }", "130 degC }", 1), "optimistic_temperature").unchecked == []


@pytest.mark.parametrize(
    ("change", "condition"),
    [
        ({"case": "closed"}, "a zone in no case of declared size"), ({"zone": "no loose things"}, "a zone that declares no range"),
        ({"case": "not closed; size 400 x 300 x 250 mm"}, "a zone in a case that is not closed"),
    ],
)  # fmt: skip
def test_what_does_not_apply(said, change: dict[str, str], condition: str) -> None:  # type: ignore[no-untyped-def]
    assert condition in [item.condition for item in said(build(**change), "optimistic_temperature").idle]


def test_vehicle_without_an_ambient_is_not_checked(said) -> None:  # type: ignore[no-untyped-def]
    assert said(build("vehicle", zone="0 degC to 90 degC"), "optimistic_temperature").missing[0][2] == "temperature of the air"
