"""Arrays as their owner may plug them: rules of what breaks, burns or shocks count the worst arrangement, not only the one that is drawn (readings, General: the side that protects)."""

from __future__ import annotations

import pytest

BUILD = """rig "Folding panels", revision 1
basis us-premises
site { ambient 0 degC to 35 degC; record low -10 degC; night 14 h }
battery house { BATTERY; 100 Ah; internal resistance 5 mohm }
array fold { Voc 22.6 V; Vmp 18 V; Isc 6 A; Imp 5.8 A; Voc -0.30 %/K; Vmp -0.4 %/K; DRAWN; ARRANGED; largest series fuse 10 A; dark leakage 8 mA }
switch cut { carries 20 A; breaks 20 A at 48 V dc }
fuse main { 30 A; 58 V dc }
controller sun { CONTROLLER; no current back into the array; needs its battery; headroom 1 V; charges LFP; no temperature compensation }
load lamp { 1 A; works on 11 V to 30 V }
all wires { 75 degC insulation; 30 V insulation; in free air; at 30 degC }
wires 10 AWG, 2 m {
  out from fold.plus to cut.line
  in from cut.load to sun.pv_plus
  home from sun.pv_minus to fold.minus
  charge from sun.batt_plus to main.load
  top from main.line to house.plus
  common from house.minus to sun.batt_minus
  feed from main.load to lamp.plus
  return from lamp.minus to house.minus
}
"""
MPPT = "MPPT; 30 A; PV at most 100 V; absorption 14.2 V"
PWM = "PWM; 30 A; PV at most 100 V; absorption 14.2 V"


def build(drawn: str = "1 in series", arranged: str = "", controller: str = MPPT, battery: str = "LFP, 4 cells") -> str:
    text = BUILD.replace("DRAWN", drawn).replace("ARRANGED; ", f"{arranged}; " if arranged else "")
    return text.replace("CONTROLLER", controller).replace("BATTERY", battery)


STRAIGHT = (
    build(battery="flooded, 6 cells")
    .replace("100 Ah", "500 Ah")
    .replace("controller sun", "#")
    .replace("sun.pv_plus", "main.load")
    .replace("sun.pv_minus", "house.minus")
    .replace("  charge from sun.batt_plus to main.load\n", "")
    .replace("  common from house.minus to sun.batt_minus\n", "")
)


@pytest.mark.parametrize(
    ("module", "grade", "subject", "drawn", "arranged", "controller"),
    [
        ("weak_array_device", "under-voltage", "cut", "1 in series", "2 in series and 1 in parallel", MPPT),  # 49.9 V
        ("weak_array_device", "under-current", "cut", "1 in series", "1 in series and 3 in parallel", MPPT),  # 1.25 x 18 A
        ("thin_array_lead", "over-ampacity", "in", "1 in series", "1 in series and 6 in parallel", MPPT),  # 1.5625 x 36 A
        ("unfused_strings", "over-series-fuse", "sun", "2 in series", "1 in series and 3 in parallel", MPPT),  # 1.25 x 12 A
        ("panel_without_battery", "load-exposed", "sun", "1 in series", "2 in series and 1 in parallel", MPPT),  # lamp 30 V
        ("weak_insulation", "voltage", "out", "1 in series", "2 in series and 1 in parallel", MPPT),  # 30 V insulation
        ("wasted_array_voltage", "pulled-down", "sun", "1 in series", "2 in series and 1 in parallel", PWM),  # 13.3 / 36 V
        ("hot_array_voltage", "too-low", "sun", "2 in series", "1 in series and 2 in parallel", MPPT),  # 18 V hot
    ],
)
def test_the_worst_arrangement_counts(
    said,  # type: ignore[no-untyped-def]
    module: str,
    grade: str,
    subject: str,
    drawn: str,
    arranged: str,
    controller: str,
) -> None:
    as_drawn = said(build(drawn, controller=controller), module)
    assert not [item for item in as_drawn.grades if item[:2] == (subject, grade)], as_drawn.findings
    plugged = said(build(drawn, f"may be plugged as {arranged}", controller), module)
    assert [item[:2] for item in plugged.grades if item[0] == subject] == [(subject, grade)], plugged.grades


def test_the_worst_arrangement_counts_straight_on_a_battery(said) -> None:  # type: ignore[no-untyped-def]
    """6 A are 1.2 % of 500 Ah an hour, 12 A are 2.4 %; two packs' worth of dark leakage doubles with the strings."""
    drawn = said(STRAIGHT, "unregulated_array")
    assert drawn.grades == []
    plugged = STRAIGHT.replace("1 in series;", "1 in series; may be plugged as 1 in series and 2 in parallel;")
    assert [grade for _, grade, _ in said(plugged, "unregulated_array").grades] == ["lead-acid"]
    leaks = [said(text, "night_leakage") for text in (STRAIGHT, plugged)]
    values = [(item.passes or item.findings)[0].measured.value for item in leaks]
    assert values[1] == pytest.approx(2 * values[0])


def test_what_is_drawn_counts_where_no_other_arrangement_is_worse(said) -> None:  # type: ignore[no-untyped-def]
    """2 x 22.6 V x (1 + 0.003 x 35) = 49.9 V as drawn; side by side they reach half of it."""
    finding = said(build("2 in series", "may be plugged as 1 in series and 2 in parallel"), "weak_array_device").finding("cut")
    assert finding.measured.value == pytest.approx(49.946)
