"""Rule voltage-drop: the fault catalogue's examples D6, classes, converters, chargers, arrays, warm copper, what is missing."""

from __future__ import annotations

import pytest
from ohmwright.constants.metals import resistance_per_metre
from ohmwright_grammar.quantities import Gauge

BUILD = """rig "Pump", revision 1
basis us-small-craft
system 12 V
site { ambient 0 degC to 20 degC }
battery house { LFP, 4 cells, 100 Ah; internal resistance 4 mohm }
load pump { LOAD }
all wires { 105 degC insulation; in free air }
wires GAUGE, LENGTH {
  feed from house.plus to pump.plus
  back from pump.minus to house.minus
}
"""
OHM_16 = resistance_per_metre(Gauge.from_awg(16), "copper", "")


def build(load: str = "5 A; works on 10 V to 15 V", gauge: str = "16 AWG", length: str = "10 m") -> str:
    return BUILD.replace("LOAD", load).replace("GAUGE", gauge).replace("LENGTH", length)


@pytest.mark.parametrize(
    ("gauge", "per_metre", "volt", "share"), [("16 AWG", 13.17e-3, 1.32, 0.110), ("12 AWG", 5.211e-3, 0.52, 0.043)]
)
def test_catalogue_d6_formula(gauge: str, per_metre: float, volt: float, share: float) -> None:
    """Catalogue, D6, Ex: 5 A, 10 m one way 16 AWG: 5 x 20 x 13.17 mohm = 1.32 V = 11.0 %; 12 AWG 0.52 V = 4.3 %."""
    ours = resistance_per_metre(Gauge.from_awg(int(gauge.split()[0])), "copper", "")
    assert ours == pytest.approx(per_metre, rel=5e-4)
    assert 5 * 20 * ours == pytest.approx(volt, abs=0.005)
    assert 5 * 20 * ours / 12 == pytest.approx(share, abs=0.0005)


def warm(current: float, per_metre: float, metres: float, air: float, table: float, insulation: float) -> float:
    """Readings, Solver: copper at T + (I / I_table)^2 (T_ins - T_ref), R = R20 (1 + 0.00393 (T - 20)); worked here by hand."""
    loaded = air + (current / table) ** 2 * (insulation - 30)
    return current * metres * per_metre * (1 + 0.00393 * (loaded - 20))


def test_catalogue_d6(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, D6, Ex: 16 AWG -> warning, 12 AWG -> pass (10 %); here with the copper warm: 16 AWG 105 degC 25 A by table."""
    found = said(build(), "voltage_drop")
    assert found.grades == [("pump", "over-class", "warning")]
    finding = found.finding("pump")
    lost = warm(5, OHM_16, 20, 20, 25, 105)
    assert lost == pytest.approx(1.3329, abs=2e-4)
    assert finding.measured.value == pytest.approx(lost / 12, rel=1e-9)
    assert finding.limit.value == 0.10
    assert finding.message == (
        "pump: 1.33 V, 11.1 % of 12 V, is lost between house and pump in state 'pump on'; 10 %, 1.2 V, is allowed."
    )
    assert finding.remedy == "Use 14 AWG or larger for back and feed, or bring back and feed to at most 9 m."
    assert [step.symbol for step in finding.working] == ["U_back", "U_feed", "U", "u"]
    assert finding.reference.document == "ABYC E-11"
    assert [item.span.line for item in finding.related] == [10, 9]
    assert found.passed("pump", "below-minimum").measured.value == pytest.approx(13.156 - lost, abs=0.06)
    thick = said(build(gauge="12 AWG"), "voltage_drop")
    assert thick.passed("pump", "over-class").measured.value == pytest.approx(0.0436, abs=2e-4)


def test_the_remedy_mends(said) -> None:  # type: ignore[no-untyped-def]
    assert not said(build(gauge="14 AWG"), "voltage_drop").findings
    assert not said(build(length="9 m"), "voltage_drop").findings
    assert said(build(length="9.02 m"), "voltage_drop").findings


def test_double_length_doubles_the_drop(said) -> None:  # type: ignore[no-untyped-def]
    one = said(build(length="2 m"), "voltage_drop").passed("pump", "over-class").measured.value
    two = said(build(length="4 m"), "voltage_drop").passed("pump", "over-class").measured.value
    assert two == pytest.approx(2 * one, rel=1e-9)


def test_warm_air_and_a_warm_wire(said) -> None:  # type: ignore[no-untyped-def]
    """A measured resistance counts as it is; the air is the hot end of the site, or what the state gives."""
    hot = said(build().replace("to 20 degC", "to 60 degC"), "voltage_drop").finding("pump")
    assert hot.measured.value * 12 == pytest.approx(warm(5, OHM_16, 20, 60, 25, 105), rel=1e-6)
    measured = said(build(gauge="measured 100 mohm").replace("in free air", "in free air; 16 AWG"), "voltage_drop")
    assert measured.passed("pump", "over-class").measured.value * 12 == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("load", "grade"),
    [
        ("5 A; works on 11.8 V to 15 V", "below-minimum"),
        ("5 A; works on 11.7 V to 15 V", "over-class"),
        ("5 A; own cut-off 11.8 V", "below-minimum"),
        ("5 A; own cut-off 11.7 V", "over-class"),
        ("4 A; works on 12.2 V to 15 V", ""),  # within its class the low voltage is load-voltage's matter
    ],
)
def test_an_error_where_the_load_no_longer_works(said, load: str, grade: str) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, D6: warning; error if load falls below its minimum: 13.11 V less 1.33 V leaves 11.78 V."""
    found = said(build(load), "voltage_drop")
    assert [item[1] for item in found.grades] == ([grade] if grade else [])
    if grade == "below-minimum":
        assert found.grades[0][2] == "error"
        assert "That leaves 11.8 V; it needs 11.8 V." in found.findings[0].message or "11.78" in found.findings[0].message


def test_without_a_minimum_the_error_is_not_checked(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build("5 A"), "voltage_drop")
    assert found.grades == [("pump", "over-class", "warning")]
    assert found.missing == [("pump", "below-minimum", "voltage window")]
    assert found.unchecked[0].declare == "works on 10.5 V to 15 V"
    assert not said(build("4 A"), "voltage_drop").missing


@pytest.mark.parametrize(
    ("basis", "about", "limit"),
    [
        ("us-small-craft", "", 0.10),
        ("us-small-craft", "; critical", 0.03),
        ("us-premises", "", 0.05),
        ("us-premises", "; critical", 0.03),
        ("iec", "", 0.05),
    ],
)
def test_classes_of_the_bases(said, basis: str, about: str, limit: float) -> None:  # type: ignore[no-untyped-def]
    """ABYC 3 % and 10 %, NFPA 70 notes 3 % and 5 %, IEC 60364-5-52 Table G.52.1 3 % and 5 %, as pages quote them."""
    text = build(f"1 A; works on 10 V to 15 V{about}", "4 mm2" if basis == "iec" else "12 AWG")
    assert said(text, "voltage_drop", basis=basis).passed("pump", "over-class").limit.value == limit


def test_behind_a_converter(said) -> None:  # type: ignore[no-untyped-def]
    """Readings, D6: converter outputs over the converter's voltage; its own input is of the class other."""
    text = build().replace(
        "load pump { 5 A; works on 10 V to 15 V }", "converter step { output 24 V; 10 A; efficiency 100 % }\nload lamp 4 A"
    )
    text = text.replace("pump.plus", "step.in_plus").replace("pump.minus", "step.in_minus").replace("16 AWG", "8 AWG")
    text += "wire out from step.out_plus to lamp.plus { 16 AWG; 20 m }\nwire home from lamp.minus to step.out_minus { 16 AWG; 20 m }\n"
    found = said(text, "voltage_drop")
    lamp = found.passed("lamp", "over-class")
    assert lamp.measured.value * 24 == pytest.approx(warm(4, OHM_16, 40, 20, 25, 105), rel=1e-6)
    assert found.passed("step", "over-class").limit.value == 0.10


def test_a_shared_return_behind_a_converter(said) -> None:  # type: ignore[no-untyped-def]
    """A load that comes home to the bus of the bank: counted from the converter's own minus all the same."""
    text = """rig "Lamp", revision 1
basis us-small-craft
system 12 V
site { ambient 0 degC to 20 degC }
battery house { LFP, 4 cells, 100 Ah; internal resistance 4 mohm }
converter step { output 24 V; 10 A; efficiency 100 %; not isolated }
load lamp { 4 A; works on 20 V to 30 V }
bus minus
all wires { 105 degC insulation; in free air; 16 AWG; measured 50 mohm }
wire a from house.plus to step.in_plus
wire b from step.in_minus to minus
wire c from step.out_plus to lamp.plus
wire d from lamp.minus to minus
wire e from minus to house.minus
wire f from step.out_minus to minus
"""
    passed = said(text, "voltage_drop").passed("lamp", "over-class")
    # Out over c and home over d: 0.2 V each. The converter's minus lies above the bus by what it takes more than it gives
    # there, (96 W / 12.6 V - 4 A) over b and f side by side.
    volt_in = 13.156 - 7.6 * (0.004 + 0.05 + 0.05)
    assert passed.measured.value * 24 == pytest.approx(0.4 - (96 / volt_in - 4) * 0.025, abs=0.01)


def test_chargers_lose_voltage_too(said) -> None:  # type: ignore[no-untyped-def]
    """20 A over 2 x 25 mohm: 1 V, 8.33 % of 12 V; a charger is allowed 3 %."""
    text = build().replace("load pump { 5 A; works on 10 V to 15 V }", "mains charger depot { 20 A; absorption 14.4 V }")
    text = text.replace("pump.", "depot.").replace("16 AWG, 10 m", "4 AWG, measured 25 mohm")
    finding = said(text, "voltage_drop").finding("depot")
    assert finding.measured.value == pytest.approx(20 * 0.05 / 12)
    assert finding.limit.value == 0.03
    assert "is lost between depot and house in state 'all chargers on'" in finding.message


ARRAY = """rig "Roof", revision 1
basis us-small-craft
system 12 V
site { ambient 0 degC to 25 degC }
battery house { LFP, 4 cells, 100 Ah; internal resistance 4 mohm }
array roof { Voc 22.5 V; Vmp 18.5 V; Isc 5.8 A; Imp 5.4 A; 2 in series }
controller mppt { MPPT; 20 A; absorption 14.4 V; efficiency 96 %; common negative }
all wires { 105 degC insulation; in free air; 10 AWG }
wire p from roof.plus to mppt.pv_plus { measured OHM }
wire q from mppt.pv_minus to roof.minus { measured OHM }
wire r from mppt.batt_plus to house.plus { 0.5 m }
wire s from house.minus to mppt.batt_minus { 0.5 m }
"""


def test_array_leads_over_vmp(said) -> None:  # type: ignore[no-untyped-def]
    """Readings, D6: array leads over Vmp, 3 %: about 5 A over 2 x 50 mohm are 0.5 V of 37 V."""
    passed = said(ARRAY.replace("OHM", "50 mohm"), "voltage_drop").passed("roof", "over-class")
    assert passed.limit.value == 0.03
    assert passed.measured.value * 37.0 == pytest.approx(0.54, abs=0.06)
    found = said(ARRAY.replace("OHM", "200 mohm"), "voltage_drop")
    assert ("roof", "over-class", "warning") in found.grades
    assert "is lost between roof and mppt" in found.finding("roof").message


def test_a_string_of_batteries_is_the_bank(said) -> None:  # type: ignore[no-untyped-def]
    """Two 12.8 V batteries in series: the drop is counted from the top plus to the bottom minus, over 24 V."""
    text = (
        build()
        .replace("system 12 V", "system 24 V")
        .replace("battery house", "battery lower { LFP, 4 cells, 100 Ah; internal resistance 4 mohm }\nbattery house")
    )
    text = text.replace("to house.minus", "to lower.minus") + "wire link from house.minus to lower.plus { 6 AWG; 0.2 m }\n"
    finding = said(text.replace("5 A", "10 A"), "voltage_drop").finding("pump")
    assert finding.measured.value * 24 == pytest.approx(warm(10, OHM_16, 20, 20, 25, 105), rel=1e-6)


@pytest.mark.parametrize(
    ("old", "new", "missing"),
    [
        ("basis us-small-craft\n", "", "basis"),
        ("system 12 V\n", "", "nominal system voltage"),
        ("12 AWG, 10 m", "12 AWG", "length of feed"),
        ("12 AWG, 10 m", "10 m", "gauge of feed"),
    ],
)
def test_missing_data_are_named(said, old: str, new: str, missing: str) -> None:  # type: ignore[no-untyped-def]
    text = build(gauge="12 AWG")
    assert old in text
    found = said(text.replace(old, new), "voltage_drop")
    assert found.missing == [("pump", "over-class", missing)]
    assert found.unchecked[0].declare


def test_surges_are_left_to_other_rules(said) -> None:  # type: ignore[no-untyped-def]
    text = build("1 A; works on 10 V to 15 V") + 'state "start" { pump on at 20 A; lasts 1 s }\n'
    assert not said(text, "voltage_drop").findings
    assert said(text.replace("lasts 1 s", "lasts 2 min"), "voltage_drop").findings


def test_what_does_not_apply(said) -> None:  # type: ignore[no-untyped-def]
    text = build() + "inverter box { 300 W; idle 0 W }\nplus on box\nAC load kettle 200 W\n".replace("plus on box\n", "")
    text += "wire w from box.L to kettle.L { 14 AWG; 1 m }\nwire n from kettle.N to box.N { 14 AWG; 1 m }\n"
    conditions = {item.condition for item in said(text, "voltage_drop").idle}
    assert "on mains or an inverter's output" in conditions
    assert "no current passes its leads in any steady state, or it sits on the posts themselves" in conditions


@pytest.mark.parametrize(
    "across",
    [
        "diode clamp { 40 A; anode on house.minus; cathode on house.plus }",
        "resistor r { 50 ohm; a on house.plus; b on house.minus }",
    ],
)
def test_what_lies_across_the_poles_takes_no_drop_away(said, across: str) -> None:  # type: ignore[no-untyped-def]
    """Kirchhoff: a diode that blocks, or a heater, between plus and minus changes the drop of the pump by what it loads the battery alone."""
    measured = [said(text, "voltage_drop").findings[0].measured.value for text in (build(), f"{build()}{across}\n")]
    assert measured[1] == pytest.approx(measured[0], rel=1e-3)
