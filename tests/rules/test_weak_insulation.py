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


def test_words_where_the_air_alone_is_too_hot_and_no_basis_is_declared(said) -> None:  # type: ignore[no-untyped-def]
    text = lamp("0.001 A", "60 degC", "site { ambient 0 degC to 61 degC }").replace("basis us-small-craft\n", "")
    text = text.replace(
        "battery house", "load off 1 A\nwire idle from off.plus to off.minus { 14 AWG; 1 m; 60 degC; 600 V }\nbattery house"
    )
    found = said(text, "weak_insulation")
    assert sorted(item[0] for item in found.grades) == ["feed", "idle"]
    assert found.finding("idle").message == (
        "idle: it gets 61 degC hot in state 'stored' (as hot as the air around it); its insulation bears 60 degC."
    )
    assert found.finding("idle").limit.value == 60


def test_what_is_inside_a_device_is_left_out(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build("30 V; inside a bought device"), "weak_insulation")
    assert found.grades == []
    assert {item.condition: item.count for item in found.idle}["inside a bought device or part of it"] == 1


def test_class_of_an_insulation_that_is_not_said(said) -> None:  # type: ignore[no-untyped-def]
    """14 AWG of 60 degC carries 20 A (33 CFR 183.425 Table 5): at 40 degC it reaches 60 degC with 20 x sqrt(20/30) = 16.33 A."""
    assert said(lamp("16.3 A", ""), "weak_insulation").missing == []
    assert said(lamp("16.4 A", ""), "weak_insulation").missing == [("feed", "too-hot", "insulation temperature")]


@pytest.mark.parametrize(("volts", "missing"), [("99 V", "record low of the site"), ("101 V", None), ("126 V", None)])
def test_string_of_modules_is_lifted_by_the_cold_at_most_by_a_quarter(said, volts: str, missing: str | None) -> None:  # type: ignore[no-untyped-def]
    """NEC 690.7: the largest factor is 1.25; 2 x 40 V x 1.25 = 100 V."""
    text = build(volts, "site { ambient 0 degC to 40 degC }", "Voc 40 V; 2 in series")
    found = [item.missing for item in said(text, "weak_insulation").unchecked if item.subject == ("up",)]
    assert found == ([missing] if missing else [])


@pytest.mark.parametrize(("volts", "missing"), [("25 V", True), ("28 V", False)])
def test_set_points_that_are_not_said_reach_twice_what_is_known(said, volts: str, missing: bool) -> None:  # type: ignore[no-untyped-def]
    """A full bank of 4 cells rests at 13.6 V (rest voltages of the chemistry): 27.2 V."""
    text = (
        build()
        .replace("absorption 14.4 V; ", "")
        .replace(
            "wire on from sun.batt_plus to house.plus { 12 AWG;",
            f"wire on from sun.batt_plus to house.plus {{ 12 AWG; {volts};",
        )
    )
    found = [item.missing for item in said(text, "weak_insulation").unchecked if item.subject == ("on",)]
    assert found == (["absorption voltage of sun"] if missing else [])


def test_minus_of_an_array_whose_plus_is_the_common_pole(said) -> None:  # type: ignore[no-untyped-def]
    """With a common plus the minus of the array lies below the plus of the battery by the array's cold voltage."""
    text = build("600 V").replace("no temperature compensation }", "no temperature compensation; common positive }")
    text = text.replace("wire down from sun.pv_minus to roof.minus { 12 AWG; 4 m; 105 degC; copper; in free air; 600 V }", "")
    down = "wire down from sun.pv_minus to roof.minus { 12 AWG; 4 m; 105 degC; copper; in free air; 30 V }\n"
    found = said(text + down, "weak_insulation")
    assert found.grades == [("down", "voltage", "error")]
    assert found.finding("down").measured.value == pytest.approx(49.95)


@pytest.mark.parametrize(
    ("cores", "job"), [("core l from outlet.1 to kettle.L; core n from outlet.2 to kettle.N; ", ""), ("", ", earth")]
)
def test_the_earth_core_of_a_mains_cord_is_left_out(said, cores: str, job: str) -> None:  # type: ignore[no-untyped-def]
    """A protective-earth core carries nothing in service (common practice, no source): no marking is asked for."""
    text = LAMP.replace("SITE", SITE).replace("AMPERES", "1 A").replace("INSULATION", "105 degC") + (
        "case cabinet { steel; metal; bonded at house.minus }\nwire pe from outlet.3 to cabinet { 14 AWG; 1 m; copper; earth; in free air; 105 degC }\n"
        "connector outlet { 3 pins; household socket; pin 1 L; pin 2 N; pin 3 PE }\nAC load kettle { 1000 W; 230 V }\n"
        f"cable cord {{ flexible cord; 1.5 mm2; 1 m; {cores}core p from outlet.3 to kettle.PE{job} }}\n"
    )
    found = said(text, "weak_insulation")
    assert [item for item in found.missing if item[0].startswith("cord")] == []
    assert {item.condition: item.count for item in found.idle}["core of a mains cord, or for earth"] == 1
