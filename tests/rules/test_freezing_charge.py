"""Rule freezing-charge: the fault catalogue's example B5 end to end, what stops the charge and what does not, edges, what is missing."""

from __future__ import annotations

import pytest

BUILD = """rig "Field box", revision 1
site { AMBIENT }
zone shed { ZONE }
battery house { BATTERY; in shed }
mains charger shore { 10 A; absorption 14.2 V; SAID }
wires 10 AWG, 2 m {
  more from shore.plus to house.plus
  less from shore.minus to house.minus
}
"""
BARE = "LFP, 4 cells, 100 Ah; bms { no cold cut }"


def build(battery: str = BARE, said: str = "no cold cut", ambient: str = "ambient -8 degC to 30 degC", zone: str = "") -> str:
    text = BUILD.replace("BATTERY", battery).replace("SAID", said).replace("AMBIENT", ambient).replace("ZONE", zone)
    return text.replace("site {  }\n", "")


def test_catalogue_b5(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, B5, Ex: field box, dawn -8 degC, PV live, no cut-off -> error."""
    found = said(build(), "freezing_charge")
    assert found.grades == [("shore", "too-cold", "error")]
    finding = found.finding("shore")
    assert (finding.measured.value, finding.limit.value, finding.margin) == (-8.0, 0.0, pytest.approx(-0.08))
    assert finding.subject == ("shore", "house")
    assert finding.message == (
        "shore: it can charge house at -8 degC, and nothing stops it; its cells may be charged from 0 degC up."
        " Below that lithium plates, a loss for good."
    )


@pytest.mark.parametrize(
    ("ambient", "battery", "broken"),
    [
        ("ambient 0.1 degC to 30 degC", BARE, False),
        ("ambient 0 degC to 30 degC", BARE, False),
        ("ambient -0.1 degC to 30 degC", BARE, True),
        ("ambient 4 degC to 30 degC", f"{BARE}; charge at 5 degC to 45 degC", True),
        ("ambient 5 degC to 30 degC", f"{BARE}; charge at 5 degC to 45 degC", False),
        ("ambient -2 degC to 30 degC", f"{BARE}; cells 2 K above the zone", False),
        ("ambient -2 degC to 30 degC", f"{BARE}; cells 1.9 K above the zone", True),
        ("ambient -2 degC to 30 degC", f"{BARE}; cells 1 K to 3 K above the zone", True),
    ],
)
def test_edge(said, ambient: str, battery: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    assert bool(said(build(battery, ambient=ambient), "freezing_charge").findings) is broken


@pytest.mark.parametrize(
    ("battery", "charger", "reaches"),
    [
        ("LFP, 4 cells, 100 Ah; bms { blocks charge below 0 degC }", "no cold cut", None),
        ("LFP, 4 cells, 100 Ah; bms { blocks charge below -5 degC }", "no cold cut", -5.0),
        ("LFP, 4 cells, 100 Ah; bms { blocks charge below 0 degC; cuts discharge }", "no cold cut", -8.0),
        ("LFP, 4 cells, 100 Ah; no bms", "no cold cut", -8.0),
        (BARE, "blocks charge below 0 degC; sensor on house", None),
        (BARE, "blocks charge below 0 degC; battery temperature sensor", None),  # it charges no other battery
        (BARE, "blocks charge below 0 degC; no battery temperature sensor", -8.0),
        (BARE, "blocks charge below -3 degC; sensor on house", -3.0),
        ("LFP, 4 cells, 100 Ah; bms { blocks charge below -5 degC }", "blocks charge below -3 degC; sensor on house", -3.0),
        ("LFP, 4 cells, 100 Ah; bms { blocks charge below 1 degC plus or minus 2 degC }", "no cold cut", -1.0),
        (BARE, "blocks charge below 1 degC plus or minus 2 degC; sensor on house", -1.0),
        (f"{BARE}; heater; charges only when warm", "no cold cut", None),
        (f"{BARE}; heater; not charges only when warm", "no cold cut", -8.0),
    ],
)
def test_what_stops_the_charge(said, battery: str, charger: str, reaches: float | None) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, B5: its own BMS, or that charger with a sensor on that pack; a heater only where charging waits."""
    found = said(build(battery, charger), "freezing_charge")
    if reaches is None:
        assert found.passed("shore")
    else:
        assert found.finding("shore").measured.value == reaches


def test_a_sensor_on_one_pack_does_not_guard_another(said) -> None:  # type: ignore[no-untyped-def]
    text = build(BARE, "blocks charge below 0 degC; sensor on house") + (
        "battery pack { LFP, 4 cells, 50 Ah; bms { no cold cut } }\nwire p from pack.plus to house.plus\nwire q from pack.minus to house.minus\n"
    )
    found = said(text, "freezing_charge")
    assert [finding.subject for finding in found.findings] == [("shore", "pack")]
    assert [passed.subject for passed in found.passes] == [("shore", "house")]


def test_where_the_battery_lies_and_where_the_charger_is_used(said) -> None:  # type: ignore[no-untyped-def]
    """Readings, B5: the low end of the ambient range, or of the range at which that charger is used; a zone's range already holds its rise."""
    assert not said(build(zone="5 degC to 32 degC"), "freezing_charge").findings
    assert said(build(zone="-12 degC to 50 degC"), "freezing_charge").finding("shore").measured.value == -12.0
    indoors = said(build(said="no cold cut; used only at 10 degC to 30 degC"), "freezing_charge")
    assert indoors.passed("shore").measured.value == 10.0
    assert (
        said(build(said="no cold cut; used only at -4 degC to 30 degC"), "freezing_charge").finding("shore").measured.value
        == -4.0
    )


@pytest.mark.parametrize(
    ("battery", "charger", "ambient", "missing"),
    [
        ("LFP, 4 cells", "no cold cut", "ambient -8 degC to 30 degC", "low-temperature charge cut of house"),
        ("LFP, 4 cells; bms { cuts both }", "no cold cut", "ambient -8 degC to 30 degC", "low-temperature charge cut of the BMS of house"),
        (BARE, "float 13.5 V", "ambient -8 degC to 30 degC", "low-temperature charge cut of shore"),
        (BARE, "blocks charge below 0 degC", "ambient -8 degC to 30 degC", "battery that the temperature sensor of shore is on"),
        (BARE, "no cold cut", "record low -20 degC", "ambient range of the site"),
        (BARE, "no cold cut", "ambient at most 40 degC", "ambient range of the site"),
        ("4 cells; bms { no cold cut }", "no cold cut", "ambient -8 degC to 30 degC", "chemistry of house"),
        (f"{BARE}; heater", "no cold cut", "ambient -8 degC to 30 degC", "whether charging of house waits until it is warm"),
    ],
)  # fmt: skip
def test_missing_data_are_named(said, battery: str, charger: str, ambient: str, missing: str) -> None:  # type: ignore[no-untyped-def]
    found = said(build(battery, charger, ambient), "freezing_charge")
    assert not found.findings
    assert found.missing == [("shore", "too-cold", missing)]


def test_what_cannot_matter_is_not_asked_for(said) -> None:  # type: ignore[no-untyped-def]
    assert said(build("LFP, 4 cells", "float 13.5 V", "ambient 2 degC to 30 degC"), "freezing_charge").passed("shore")
    assert said(build("LFP; bms { blocks charge below 0 degC }", "float 13.5 V", ""), "freezing_charge").passed("shore")


def test_lead_acid_does_not_apply(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build("AGM, 6 cells"), "freezing_charge")
    assert [(item.condition, item.count) for item in found.idle] == [("no lithium battery", 1)]
