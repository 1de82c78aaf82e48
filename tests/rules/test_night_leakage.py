"""Rule night-leakage: the fault catalogue's example A13, the edge, controllers and diodes, what is missing."""

from __future__ import annotations

import pytest

BUILD = """rig "Gate opener", revision 1
site { night 14 h }
battery gate { AGM, 6 cells, AH; internal resistance 12 mohm }
array panel { Voc 21 V; Vmp 17 V; Isc 0.25 A; Imp 0.2 A; dark leakage 50 mA }
wires 14 AWG, 2 m {
  on from panel.plus to gate.plus
  back from gate.minus to panel.minus
}
"""


def build(ah: str = "18 Ah") -> str:
    return BUILD.replace("AH", ah)


def with_controller(back: str) -> str:
    text = build().replace(
        "on from panel.plus to gate.plus", "in from panel.plus to sun.pv_plus\n  on from sun.batt_plus to gate.plus"
    )
    text = text.replace(
        "back from gate.minus to panel.minus", "back from gate.minus to sun.batt_minus\n  home from sun.pv_minus to panel.minus"
    )
    return f"{text}controller sun {{ PWM; 10 A; {back} }}\n"


def with_diode(anode: str, cathode: str) -> str:
    ends = {"anode": anode, "cathode": cathode}
    first, second = ("anode", "cathode") if ends["anode"] == "panel" else ("cathode", "anode")
    return build().replace(
        "on from panel.plus to gate.plus",
        f"up from panel.plus to gate_diode.{first}\n  on from gate_diode.{second} to gate.plus",
    ) + ("diode gate_diode { blocking }\n")


def test_catalogue_a13(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, A13, Ex: 50 mA x 14 h = 0.7 Ah/night on 18 Ah = 3.9 % -> warning."""
    found = said(build(), "night_leakage")
    assert found.grades == [("gate", "over-share", "warning")]
    finding = found.finding("gate")
    assert (finding.measured.value / 3600, finding.limit.value / 3600) == (pytest.approx(0.7), pytest.approx(0.18))
    assert finding.message == "gate: 0.7 Ah leak into panel in a night of 14 h, 3.89 % of the capacity; 1 % is 0.18 Ah."
    assert finding.remedy == "Put a charge controller, or a blocking diode, between panel and gate."


@pytest.mark.parametrize(("ah", "broken"), [("69.9 Ah", True), ("70 Ah", False), ("70.1 Ah", False)])
def test_edge(said, ah: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    assert bool(said(build(ah), "night_leakage").findings) is broken


@pytest.mark.parametrize(
    ("back", "broken"), [("blocks reverse current", False), ("own drain 1 mA", False), ("backfeed into the array", True)]
)
def test_a_controller_keeps_it_out_unless_it_is_said_not_to(said, back: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    found = said(with_controller(back), "night_leakage")
    assert bool(found.findings) is broken
    assert not found.missing
    if broken:
        assert found.finding("gate").subject == ("gate", "sun", "panel")
        assert "leak into panel through sun in a night" in found.finding("gate").message


@pytest.mark.parametrize(("anode", "cathode", "broken"), [("panel", "gate", False), ("gate", "panel", True)])
def test_a_diode_keeps_it_out_the_right_way_round(said, anode: str, cathode: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    assert bool(said(with_diode(anode, cathode), "night_leakage").findings) is broken


def test_a_diode_behind_the_controller_keeps_it_out_too(said) -> None:  # type: ignore[no-untyped-def]
    text = with_controller("backfeed into the array").replace(
        "on from sun.batt_plus to gate.plus", "up from sun.batt_plus to one.anode\n  on from one.cathode to gate.plus"
    )
    found = said(text + "diode one { blocking }\n", "night_leakage")
    assert [item.condition for item in found.idle] == ["behind a diode"]


def test_strings_side_by_side_add(said) -> None:  # type: ignore[no-untyped-def]
    text = build() + (
        "array more { Voc 21 V; dark leakage 20 mA; 2 in parallel }\nwire p from more.plus to gate.plus\nwire q from more.minus to gate.minus\n"
    )
    assert said(text, "night_leakage").finding("gate").measured.value / 3600 == pytest.approx(0.09 * 14)


def test_ways_into_several_arrays_add(said) -> None:  # type: ignore[no-untyped-def]
    """50 mA straight and 50 mA through a controller in 14 h are 1.4 Ah; 1 % of 100 Ah are 1 Ah, and each alone leaks 0.7 Ah."""
    text = (
        build("100 Ah")
        + """array roof { Voc 21 V; Vmp 17 V; Isc 6 A; Imp 5.5 A; dark leakage 50 mA }
controller sun { PWM; 10 A; BACK }
wires 14 AWG, 2 m {
  roof_1 from roof.plus to sun.pv_plus
  roof_2 from sun.pv_minus to roof.minus
  sun_1 from sun.batt_plus to gate.plus
  sun_2 from sun.batt_minus to gate.minus
}
"""
    )
    finding = said(text.replace("BACK", "lets current back"), "night_leakage").finding("gate")
    assert finding.subject == ("gate", "sun", "panel", "roof")
    assert finding.measured.value == pytest.approx(1.4 * 3600)
    assert "1.4 Ah leak into panel and roof through sun in a night" in finding.message
    assert not said(text.replace("BACK", "no backfeed"), "night_leakage").findings


@pytest.mark.parametrize(
    ("old", "new", "missing"),
    [
        ("; dark leakage 50 mA", "", "leakage of panel in the dark"),
        ("site { night 14 h }\n", "", "length of the night"),
        ("night 14 h", "outdoors", "length of the night"),
        (", 18 Ah", "", "capacity of gate"),
    ],
)
def test_missing_data_are_named(said, old: str, new: str, missing: str) -> None:  # type: ignore[no-untyped-def]
    found = said(build().replace(old, new), "night_leakage")
    assert not found.findings
    assert found.missing == [("gate", "over-share", missing)]
    assert found.unchecked[0].declare
