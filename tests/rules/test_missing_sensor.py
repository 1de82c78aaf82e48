"""Rule missing-sensor: the fault catalogue's example B13 end to end, whose range counts, edges, what is missing."""

from __future__ import annotations

import pytest

BUILD = """rig "Hut", revision 1
SITE
zone shed { ZONE }
battery house { BATTERY; in shed }
mains charger shore { 10 A; float 13.6 V; SAID }
wires 10 AWG, 2 m {
  more from shore.plus to house.plus
  less from shore.minus to house.minus
}
"""


def build(site: str = "0 degC to 40 degC", said: str = "no timer", zone: str = "", battery: str = "AGM, 6 cells") -> str:
    text = BUILD.replace("SITE", f"site {{ ambient {site} }}" if site else "").replace("SAID", said)
    return text.replace("ZONE", zone).replace("BATTERY", battery)


def test_catalogue_b13(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, B13, Ex: 0...40 degC, none -> note."""
    found = said(build(), "missing_sensor")
    assert found.grades == [("shore", "wide-range", "note")]
    finding = found.finding("shore")
    assert (finding.measured.value, finding.limit.value) == (20.0, 10.0)
    assert finding.message == (
        "shore: house lies at 0 degC to 40 degC, 20 K either way, and no sensor tells it; beyond 10 K the right voltage of"
        " lead-acid moves too far. It is overcharged when warm and never full when cold."
    )


@pytest.mark.parametrize(
    ("site", "broken"), [("5 degC to 24.9 degC", False), ("5 degC to 25 degC", False), ("5 degC to 25.1 degC", True)]
)
def test_edge(said, site: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    assert bool(said(build(site), "missing_sensor").findings) is broken


@pytest.mark.parametrize(
    ("said_of_it", "broken"),
    [
        ("battery temperature sensor", False),
        ("sensor on house", False),
        ("no battery temperature sensor", True),
        ("used only at 10 degC to 25 degC", False),
        ("used only at 0 degC to 25 degC", True),
    ],
)
def test_sensor_and_use(said, said_of_it: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    assert bool(said(build(said=said_of_it), "missing_sensor").findings) is broken


@pytest.mark.parametrize(("place", "broken"), [("in shed", False), ("in cellar", True)])
def test_a_sensor_on_a_battery_elsewhere_feels_nothing(said, place: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    other = f"zone cellar {{ 8 degC to 14 degC }}\nbattery spare {{ AGM, 6 cells; {place} }}\n"
    found = said(build(said="sensor on spare") + other, "missing_sensor")
    assert bool(found.findings) is broken
    if broken:
        assert "20 K either way, and its sensor is on spare; beyond 10 K" in found.finding("shore").message


def test_the_zone_of_the_battery_goes_before_the_site(said) -> None:  # type: ignore[no-untyped-def]
    assert said(build(zone="10 degC to 25 degC"), "missing_sensor").passed("shore").measured.value == 7.5
    assert said(build("15 degC to 20 degC", zone="0 degC to 32 degC"), "missing_sensor").finding("shore").measured.value == 16.0


def test_of_batteries_in_series_the_widest_range_counts(said) -> None:  # type: ignore[no-untyped-def]
    text = build(zone="10 degC to 25 degC") + "battery second { AGM, 6 cells }\nwire link from second.minus to house.plus\n"
    text = text.replace("shore.plus to house.plus", "shore.plus to second.plus")
    finding = said(text, "missing_sensor").finding("shore")
    assert finding.subject == ("shore", "house", "second")
    assert finding.measured.value == 20.0


@pytest.mark.parametrize(
    ("site", "battery", "missing"),
    [
        ("", "AGM, 6 cells", "ambient range of the site"),
        ("at most 40 degC", "AGM, 6 cells", "ambient range of the site"),
        ("0 degC to 40 degC", "12 V", "chemistry of house"),
    ],
)
def test_missing_data_are_named(said, site: str, battery: str, missing: str) -> None:  # type: ignore[no-untyped-def]
    found = said(build(site, battery=battery), "missing_sensor")
    assert not found.findings
    assert found.missing == [("shore", "wide-range", missing)]


def test_lithium_does_not_apply(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build(battery="LFP, 4 cells"), "missing_sensor")
    assert [(item.condition, item.count) for item in found.idle] == [("no lead-acid battery", 1)]
