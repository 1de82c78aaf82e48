"""Rule weak-insulation: the fault catalogue's example D10, voltages and temperatures at the edge, missing data, what yields."""

from __future__ import annotations

import pytest

# Voc 45 V x (1 + 0.0022 x 50) = 49.95 V at -25 degC
BUILD = """rig "Roof", revision 1
basis us-small-craft
SITE
array roof { VOC; Isc 5 A; Vmp 36 V; Imp 4.7 A; Voc -0.22 %/K }
controller sun { MPPT; 20 A; absorption 14.4 V; no equalise; no temperature compensation }
battery house { LFP, 4 cells, 60 Ah }
wire up from roof.plus to sun.pv_plus { 12 AWG; 4 m; 105 degC; copper; in free air; PV }
wire down from sun.pv_minus to roof.minus { 12 AWG; 4 m; 105 degC; copper; in free air; 600 V }
wire on from sun.batt_plus to house.plus { 12 AWG; 1 m; 105 degC; copper; in free air }
wire back from house.minus to sun.batt_minus { 12 AWG; 1 m; 105 degC; copper; in free air }
"""
SITE = "site { ambient 0 degC to 40 degC; record low -25 degC }"
LAMP = """rig "Lamp", revision 1
basis us-small-craft
SITE
battery house { LFP, 4 cells, 60 Ah }
load lamp AMPERES
wire feed from house.plus to lamp.plus { 14 AWG; 2 m; copper; in free air; INSULATION }
wire home from lamp.minus to house.minus { 4 AWG; 2 m; copper; in free air; 105 degC }
"""


def build(volts: str = "30 V", site: str = SITE, voc: str = "Voc 45 V") -> str:
    return BUILD.replace("; PV }", f"; {volts} }}" if volts else " }").replace("SITE", site).replace("VOC", voc)


def lamp(amperes: str, insulation: str = "75 degC", site: str = "site { ambient 0 degC to 40 degC }") -> str:
    text = LAMP.replace("AMPERES", amperes).replace("SITE", site)
    return text.replace("; INSULATION", f"; {insulation}" if insulation else "")


def test_catalogue_d10(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, D10, Ex: 30 V lamp flex on 49.95 V PV -> error."""
    found = said(build(), "weak_insulation")
    assert found.grades == [("up", "voltage", "error")]
    finding = found.finding("up")
    assert finding.measured.value == pytest.approx(49.95)
    assert (
        finding.message
        == "up: 50 V can stand on it (roof with nothing connected at -25 degC); its insulation is rated for 30 V."
    )


@pytest.mark.parametrize(("volts", "broken"), [("49.9 V", True), ("49.95 V", False), ("50 V", False)])
def test_edge_of_the_voltage(said, volts: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    assert bool(said(build(volts), "weak_insulation").grades) is broken


def test_voltage_that_is_missing(said) -> None:  # type: ignore[no-untyped-def]
    """Only asked for above 30 V; the battery's side stays below."""
    found = said(build(""), "weak_insulation")
    assert found.missing == [("up", "voltage", "insulation voltage")]
    assert {item.condition: item.count for item in found.idle} == {
        "not above 30 V, for which every insulation is good": 1,  # on
        "no source holds a voltage on it": 2,  # down and back, on the minus
    }


@pytest.mark.parametrize(
    ("volts", "site", "voc", "missing"),
    [
        ("50 V", "site { ambient 0 degC to 40 degC }", "Voc 45 V", ["record low of the site"]),
        ("600 V", "site { ambient 0 degC to 40 degC }", "Voc 45 V", []),
        ("600 V", SITE, "900 W", ["open-circuit voltage of roof"]),
    ],
)
def test_what_could_lift_the_voltage(said, volts: str, site: str, voc: str, missing: list[str]) -> None:  # type: ignore[no-untyped-def]
    found = said(build(volts, site, voc), "weak_insulation")
    assert [item[2] for item in found.missing if item[0] == "up" and item[1] == "voltage"] == missing


@pytest.mark.parametrize(("amperes", "broken"), [("17.6 A", False), ("17.7 A", True)])
def test_temperature(said, amperes: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    """14 AWG of 75 degC carries 20 A (33 CFR 183.425 Table 5): at 40 degC it reaches 75 degC with 20 x sqrt(35/45) = 17.64 A."""
    found = said(lamp(amperes), "weak_insulation")
    assert found.grades == ([("feed", "too-hot", "error")] if broken else [])
    measured = (found.finding("feed") if broken else found.passed("feed", "too-hot")).measured
    assert measured.value == pytest.approx(40 + (float(amperes[:4]) / 20) ** 2 * 45)


def test_air_alone_is_hotter_than_it_bears(said) -> None:  # type: ignore[no-untyped-def]
    found = said(lamp("0.001 A", "60 degC", "site { ambient 0 degC to 61 degC }"), "weak_insulation")
    assert found.grades == [("feed", "too-hot", "error")]


def test_temperature_that_is_missing(said) -> None:  # type: ignore[no-untyped-def]
    assert said(lamp("2 A", ""), "weak_insulation").missing == []
    assert said(lamp("19 A", ""), "weak_insulation").missing == [("feed", "too-hot", "insulation temperature")]
    assert [item[1:] for item in said(lamp("2 A", site=""), "weak_insulation").missing] == [
        ("too-hot", "temperature of the air"),
        ("too-hot", "temperature of the air"),
    ]
