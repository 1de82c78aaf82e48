"""Rule load-voltage: the fault catalogue's example J8, set-points moved by the cold, arrays, surges, what is not said."""

from __future__ import annotations

import pytest

BUILD = """rig "Porch lamp", revision 1
basis us-small-craft
site { ambient -5 degC to 20 degC; record low -20 degC }
battery house { LFP, 4 cells, 100 Ah; internal resistance 4 mohm }
mains charger depot { 20 A; CHARGE }
load lamp { LOAD }
all wires { 105 degC insulation; in free air }
wires copper, GAUGE {
  feed from house.plus to lamp.plus
  back from lamp.minus to house.minus
}
wires copper, 4 AWG, 0.5 m {
  charge from depot.plus to house.plus
  home from house.minus to depot.minus
}
"""
PLAIN = "absorption 14.4 V; no equalise; no temperature compensation"


def build(load: str = "2 A; works on 11 V to 15 V", charge: str = PLAIN, gauge: str = "12 AWG, 2 m") -> str:
    return BUILD.replace("LOAD", load).replace("CHARGE", charge).replace("GAUGE", gauge)


def test_catalogue_j8(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, J8, Ex: lamp max 12.6 V, absorb 14.4 V -> error."""
    found = said(build("2 A; works on 11 V to 12.6 V"), "load_voltage")
    assert found.grades == [("lamp", "over-maximum", "error")]
    finding = found.finding("lamp")
    assert (finding.measured.value, finding.limit.value) == (pytest.approx(14.4), 12.6)
    assert finding.message == (
        "lamp: up to 14.4 V can stand at it in state 'all chargers on' (absorption of depot); it bears 12.6 V."
    )
    assert finding.remedy == (
        "Use one that bears 14.4 V or more, or feed lamp through a converter that gives 12.6 V or less, "
        "or set depot to 12.6 V or less if the battery allows it."
    )
    assert finding.related[0].span.line == 5
    assert found.passed("lamp", "under-minimum").limit.value == 11.0


@pytest.mark.parametrize(
    ("charge", "volt"),
    [
        (PLAIN, 14.4),
        ("absorption 14.4 V; float 13.6 V; no equalise; no temperature compensation", 14.4),
        ("absorption 14.4 V; equalise 15.6 V; no temperature compensation", 15.6),
        ("absorption 14.4 V; no equalise; temperature compensation -24 mV/K", 15.12),  # 14.4 + 0.024 x 30
        ("absorption 14.4 V; no equalise; temperature compensation 24 mV/K", 15.12),
        ("absorption 14.4 V; charges LFP; no temperature compensation", 14.4),
        ("float 13.8 V; no equalise; no temperature compensation", 13.8),
    ],
)
def test_what_a_charger_holds(said, charge: str, volt: float) -> None:  # type: ignore[no-untyped-def]
    """Readings, Voltage lines: absorption, equalising and float with compensation at the lowest temperature."""
    passed = said(build(f"2 A; works on 11 V to {volt:g} V", charge), "load_voltage").passed("lamp", "over-maximum")
    assert passed.measured.value == pytest.approx(volt)
    above = said(build(f"2 A; works on 11 V to {volt - 0.01:g} V", charge), "load_voltage")
    assert above.finding("lamp").measured.value == pytest.approx(volt)


def test_the_cold_of_the_batterys_zone(said) -> None:  # type: ignore[no-untyped-def]
    """14.4 + 0.024 x (25 - 5) = 14.88 V where the battery's zone stays above 5 degC."""
    charge = "absorption 14.4 V; no equalise; temperature compensation -24 mV/K"
    text = build(charge=charge).replace("battery house {", "zone cellar { 5 degC to 15 degC }\nbattery house { in cellar;")
    assert said(text, "load_voltage").passed("lamp", "over-maximum").measured.value == pytest.approx(14.88)
    nowhere = build(charge=charge).replace("ambient -5 degC to 20 degC; ", "")
    assert said(nowhere, "load_voltage").missing == [("lamp", "over-maximum", "temperature of the air")]


@pytest.mark.parametrize(
    ("charge", "missing"),
    [
        ("absorption 14.4 V; no temperature compensation", ["equalising voltage of depot"]),
        ("absorption 14.4 V; no equalise", ["temperature compensation of depot"]),
        ("no equalise; no temperature compensation", ["absorption voltage of depot"]),
        ("absorption 14.4 V", ["equalising voltage of depot", "temperature compensation of depot"]),
        ("absorption 14.4 V; charges LFP, AGM; no temperature compensation", ["equalising voltage of depot"]),
    ],
)
def test_silence_of_a_charger(said, charge: str, missing: list[str]) -> None:  # type: ignore[no-untyped-def]
    found = said(build(charge=charge), "load_voltage")
    assert [item[2] for item in found.missing] == missing
    assert all(item.declare for item in found.unchecked)
    assert said(build("2 A; works on 11 V to 13 V", charge), "load_voltage").grades


def test_a_voltage_that_rests_on_a_guess_is_asked_for(said) -> None:  # type: ignore[no-untyped-def]
    """Nothing says what the alternator of the vehicle or a battery without chemistry holds: no finding, a question."""
    car = """alternator car { 60 A }
converter step { input 9 V to 15 V; output 5 V; efficiency 90 % }
wire a from car.plus to step.in_plus, 12 AWG, 1 m
wire b from car.minus to step.in_minus, 12 AWG, 1 m
"""
    large = build("2 A; works on 22 V to 30 V", charge="absorption 28 V; no equalise; no temperature compensation")
    large = large.replace("4 cells", "8 cells")
    found = said(large + car, "load_voltage")
    assert not found.findings
    assert ("step", "over-maximum", "absorption voltage of car") in found.missing
    said_so = said(large + car.replace("60 A", "60 A; absorption 16 V"), "load_voltage")
    assert said_so.finding("step").measured.value == pytest.approx(16.0)
    pair = BUILD.replace("LFP, 4 cells, ", "").replace("CHARGE", PLAIN).replace("GAUGE", "12 AWG, 2 m")
    pair = pair.replace("LOAD", "2 A; works on 10 V to 11 V").replace("mains charger depot", "system 24 V\nmains charger depot")
    pair = "".join(line for line in pair.splitlines(keepends=True) if "depot" not in line)
    assert ("lamp", "over-maximum", "chemistry and cells of house") in said(pair, "load_voltage").missing


def test_a_load_that_is_not_joined_to_the_charger(said) -> None:  # type: ignore[no-untyped-def]
    """Behind a converter the converter's output counts, and the converter's own window the charger's."""
    text = build("2 A; works on 4.5 V to 5.5 V").replace("feed from house.plus", "feed from step.out_plus")
    text = text.replace("to house.minus\n}\nwires copper, 4", "to step.out_minus\n}\nwires copper, 4")
    text += (
        "converter step { output 5.2 V plus or minus 0.2 V; input 9 V to 14 V; efficiency 90 % }\n"
        "wire in from house.plus to step.in_plus { 12 AWG; 1 m }\nwire out from step.in_minus to house.minus { 12 AWG; 1 m }\n"
    )
    found = said(text, "load_voltage")
    assert found.passed("lamp", "over-maximum").measured.value == pytest.approx(5.4)
    assert found.grades == [("step", "over-maximum", "error")]
    assert found.finding("step").measured.value == pytest.approx(14.4)


def test_a_full_battery_without_a_charger(said) -> None:  # type: ignore[no-untyped-def]
    text = build("2 A; works on 11 V to 13 V").split("wires copper, 4 AWG")[0]
    text = text.replace("mains charger depot { 20 A; " + PLAIN + " }\n", "").replace(
        "internal", "rest 12 V at 0 %, 13.5 V at 100 %; internal"
    )
    finding = said(text, "load_voltage").finding("lamp", "over-maximum")
    assert finding.measured.value == pytest.approx(13.5)
    assert "(house full)" in finding.message


def test_batteries_in_series_add_up(said) -> None:  # type: ignore[no-untyped-def]
    """Two LFP of four cells, full: twice what one holds."""
    one = build("2 A; works on 11 V to 60 V").split("wires copper, 4 AWG")[0]
    one = one.replace("mains charger depot { 20 A; " + PLAIN + " }\n", "")
    alone = said(one, "load_voltage").passed("lamp", "over-maximum").measured.value
    two = one.replace("lamp.minus to house.minus", "lamp.minus to lower.minus") + (
        "battery lower { LFP, 4 cells, 100 Ah; internal resistance 4 mohm }\nwire link from house.minus to lower.plus { 4 AWG; 0.2 m }\n"
    )
    assert said(two, "load_voltage").passed("lamp", "over-maximum").measured.value == pytest.approx(2 * alone)


def test_a_load_on_the_array(said) -> None:  # type: ignore[no-untyped-def]
    """40 V x (1 - 0.003 x (-20 - 25)) = 45.4 V at the record low."""
    text = (
        build("2 A; works on 11 V to 45 V")
        .replace("house.plus to lamp.plus", "roof.plus to lamp.plus")
        .replace("lamp.minus to house.minus", "lamp.minus to roof.minus")
    )
    text += "array roof { Voc 20 V; Vmp 16.5 V; Isc 5 A; Imp 4.6 A; 2 in series; Voc falls 0.3 %/K }\n"
    finding = said(text, "load_voltage").finding("lamp", "over-maximum")
    assert finding.measured.value == pytest.approx(40 * (1 + 0.003 * 45))
    no_record = text.replace("; record low -20 degC", "").replace("to 45 V", "to 60 V")
    assert said(no_record, "load_voltage").missing[0][2] == "record low of the site"
    table = text.replace("; Voc falls 0.3 %/K", "").replace("to 45 V", "to 46 V")
    assert said(table, "load_voltage").finding("lamp", "over-maximum").measured.value == pytest.approx(40 * 1.18)


@pytest.mark.parametrize(("least", "broken"), [("12.9 V", False), ("12.99 V", True)])
def test_the_low_side(said, least: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    """13.156 V at half charge less 5 A x (4 + 2 x 15.2 mohm) of 16 AWG warm is about 12.97 V."""
    found = said(build(f"5 A; works on {least} to 15 V", gauge="16 AWG, 1.15 m"), "load_voltage")
    assert found.grades == ([("lamp", "under-minimum", "warning")] if broken else [])
    if broken:
        finding = found.finding("lamp")
        assert finding.sense == "at-least"
        assert "V is lost on the way out and back." in finding.message
        assert finding.remedy.startswith("Use 14 AWG or larger for back and feed, or bring back and feed to at most")


def test_a_surge_counts_on_the_low_side(said) -> None:  # type: ignore[no-untyped-def]
    text = build("2 A; works on 12 V to 15 V", gauge="16 AWG, 5 m")
    assert not said(text, "load_voltage").findings
    starting = text + 'state "start" { lamp on at 15 A; depot off; lasts 1 s }\n'
    finding = said(starting, "load_voltage").finding("lamp")
    assert finding.state == "start"
    # A surge is heated by the steady 2 A that it starts from: 25 A heat 16 AWG at 105 degC by 75 K in the table.
    ohm = 13.17e-3 * 10 * (1 + 0.00393 * (2 / 25) ** 2 * 75)
    assert finding.measured.value == pytest.approx(13.133 - 15 * (ohm + 0.004), abs=0.002)


def test_an_inverter_below_its_cut_off(said) -> None:  # type: ignore[no-untyped-def]
    text = build().replace(
        "load lamp { 2 A; works on 11 V to 15 V }", "inverter lamp { 300 W; idle 5 W; efficiency 90 %; cut-off 12.5 V }"
    )
    found = said(text.replace("12 AWG, 2 m", "12 AWG, 4 m"), "load_voltage")
    assert found.grades == [("lamp", "under-minimum", "warning")]
    assert "says no permitted input voltage" in [item.condition for item in found.idle]
    assert not found.missing


@pytest.mark.parametrize(
    ("old", "new", "missing"),
    [
        ("; works on 11 V to 15 V", "", ["voltage window", "voltage window"]),
        ("12 AWG, 2 m", "12 AWG", ["length of feed"]),
        ("; internal resistance 4 mohm", "", ["internal resistance of house"]),
        ("LFP, 4 cells, 100 Ah", "100 Ah", ["chemistry and cells of house"]),
    ],
)
def test_missing_data_are_named(said, old: str, new: str, missing: list[str]) -> None:  # type: ignore[no-untyped-def]
    text = build()
    assert old in text
    assert [item[2] for item in said(text.replace(old, new), "load_voltage").missing] == missing


def test_an_own_cut_off_is_a_minimum_and_no_maximum(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build("2 A; own cut-off 11 V"), "load_voltage")
    assert found.passed("lamp", "under-minimum").limit.value == 11.0
    assert found.missing == [("lamp", "over-maximum", "voltage window")]


def picked(state: str, load: str = "2 A; works on 11 V to 13.9 V", more: str = "") -> str:
    """A lamp that hangs on the battery in position "work" of a selector only; implied states stay in its first position."""
    text = build(load).replace("feed from house.plus to lamp.plus", "feed from pick.two to lamp.plus")
    return text + (
        'selector pick { 20 A; position "rest" joins one; position "work" joins two }\nload clock 0.1 A\n'
        "wire in from house.plus to pick.common { 4 AWG; 0.5 m }\nwire rest from pick.one to clock.plus { 12 AWG; 1 m }\n"
        f'wire gone from clock.minus to house.minus {{ 12 AWG; 1 m }}\n{more}state "evening" {{ pick at "work"; lamp on; {state} }}\n'
    )


def test_a_charger_that_a_state_switches_off_holds_nothing_there(said) -> None:  # type: ignore[no-untyped-def]
    off = said(picked("depot off"), "load_voltage")
    assert off.grades == []
    assert off.passed("lamp", "over-maximum").state == "evening"
    on = said(picked("depot on"), "load_voltage").finding("lamp", "over-maximum")
    assert (on.measured.value, on.state) == (pytest.approx(14.4), "evening")


def test_an_array_in_the_dark_and_its_controller_hold_nothing(said) -> None:  # type: ignore[no-untyped-def]
    more = (
        "array roof { Voc 20 V; Vmp 16.5 V; Isc 5 A; Imp 4.6 A; Voc falls 0.3 %/K }\n"
        "controller pump { MPPT; 10 A; absorption 14.2 V; no equalise; no temperature compensation }\n"
        "wires 12 AWG, 1 m {\n  up from roof.plus to pump.pv_plus\n  down from pump.pv_minus to roof.minus\n"
        "  gain from pump.batt_plus to house.plus\n  loss from house.minus to pump.batt_minus\n}\n"
    )
    assert said(picked("depot off", more=more), "load_voltage").grades == []
    bright = said(picked("depot off; sun 100 %", more=more), "load_voltage").finding("lamp", "over-maximum")
    assert bright.measured.value == pytest.approx(14.2)
    assert said(picked("depot off; sun 100 %; pump off", more=more), "load_voltage").grades == []


def test_a_converter_that_is_off_or_not_fed_holds_nothing(said) -> None:  # type: ignore[no-untyped-def]
    more = (
        "converter step { output 24 V; input 9 V to 15 V; efficiency 90 % }\nswitch gate 20 A\n"
        "wires 12 AWG, 1 m {\n  up from house.plus to gate.line\n  on from gate.load to step.in_plus\n  down from step.in_minus to house.minus\n"
        "  gain from step.out_plus to lamp.plus\n  loss from lamp.minus to step.out_minus\n}\n"
    )
    states = "".join(
        f'state "{name}" {{ depot off; lamp on; {words} }}\n'
        for name, words in (("lit", "gate closed"), ("switched off", "gate closed; step off"), ("unfed", "gate open"))
    )
    text = build("2 A; works on 11 V to 13.9 V").replace(
        "feed from house.plus to lamp.plus", "feed from house.plus to horn.plus"
    )
    text = text.replace("back from lamp.minus", "back from horn.minus").replace(
        "wires copper", "load horn 1 A\nwires copper", 1
    )
    found = said(text + more + states, "load_voltage").finding("lamp", "over-maximum")
    assert found.measured.value == pytest.approx(24.0)
    told = {state.state for state in found.states}
    assert "lit" in told
    assert told.isdisjoint({"switched off", "unfed", "stored"})


@pytest.mark.parametrize(
    ("more", "volt"),
    [
        ("", 15.12),  # 14.4 + 0.024 x (25 + 5): the battery's own place, the ambient
        ("; sensor on spare", 14.64),  # 14.4 + 0.024 x (25 - 15): its sensor is on the other pack, in the cellar
        ("; no sensor; in cellar", 14.64),  # without a sensor it knows its own temperature alone
        ("; sensor; in cellar", 15.12),
        ("; used at 15 degC to 30 degC", 14.64),  # readings, B5: the range at which that charger is used
    ],
)
def test_whose_cold_moves_a_set_point(said, more: str, volt: float) -> None:  # type: ignore[no-untyped-def]
    charge = f"absorption 14.4 V; no equalise; temperature compensation -24 mV/K{more}"
    text = build(charge=charge) + (
        "zone cellar { 15 degC to 25 degC }\nbattery spare { LFP, 4 cells, 20 Ah; internal resistance 9 mohm; in cellar }\n"
        "load bell { 1 A; works on 11 V to 16 V }\nwire s1 from spare.plus to bell.plus { 12 AWG; 1 m }\nwire s2 from bell.minus to spare.minus { 12 AWG; 1 m }\n"
    )
    text = text.replace("15 V }", "16 V }", 1)
    assert said(text, "load_voltage").passed("lamp", "over-maximum").measured.value == pytest.approx(volt)


STRAIGHT = """rig "Gate opener", revision 1
site { ambient AMBIENT; record low -20 degC }
battery gate { flooded, 6 cells, 220 Ah; internal resistance 4 mohm }
array panel { Voc 21 V; Vmp 17 V; Isc ISC; Imp 0.6 A; Voc falls 0.3 %/K }
fuse main { blade; 10 A; 32 V dc }
load lamp { 0.3 A; works on 11 V to 15.4 V }
wires 14 AWG, 2 m {
  up from gate.plus to main.line
  on from panel.plus to main.load
  feed from main.load to lamp.plus
  back from gate.minus to panel.minus
  home from lamp.minus to gate.minus
}
"""


@pytest.mark.parametrize(
    ("ambient", "isc", "volt"),
    [
        ("25 degC to 30 degC", "0.7 A", 14.4),  # 0.32 % of 220 Ah an hour: 6 x 2.4 V
        ("-5 degC to 30 degC", "0.88 A", 15.12),  # 0.4 %: 14.4 + 6 x 0.004 x 30
        ("25 degC to 30 degC", "0.89 A", 15.6),  # above: 6 x 2.6 V
        ("25 degC to 30 degC", "3.3 A", 15.6),  # 1.5 %: what unregulated-array still accepts
        ("25 degC to 30 degC", "3.31 A", 23.835),  # more: 21 x (1 + 0.003 x 45), until the cells are dry
    ],
)
def test_a_battery_holds_a_small_array_straight_on_it(said, ambient: str, isc: str, volt: float) -> None:  # type: ignore[no-untyped-def]
    """Common practice, no source: readings count the open-circuit voltage on the array's side, and here is none while the battery is joined."""
    found = said(STRAIGHT.replace("AMBIENT", ambient).replace("ISC", isc), "load_voltage")
    told = found.findings[0] if volt > 15.4 else found.passed("lamp", "over-maximum")
    assert told.measured is not None
    assert told.measured.value == pytest.approx(volt)
    severities = [severity for _, grade, severity in found.grades if grade == "over-maximum"]
    assert severities == {15.6: ["warning"], 23.835: ["error"]}.get(volt, [])  # a remembered voltage makes no error


def test_a_battery_that_a_fuse_parts_from_array_and_load_holds_nothing(said) -> None:  # type: ignore[no-untyped-def]
    text = STRAIGHT.replace("AMBIENT", "25 degC to 30 degC").replace("ISC", "0.7 A")
    finding = said(text, "load_voltage", reached=True).finding("lamp", "over-maximum")
    assert finding.measured.value == pytest.approx(23.835)
    assert "main blown" in finding.state
    beside = text.replace("on from panel.plus to main.load", "on from panel.plus to gate.plus")
    assert said(beside, "load_voltage", reached=True).passed("lamp", "over-maximum").measured.value == pytest.approx(14.4)


def test_a_small_array_on_a_battery_in_an_unknown_cold(said) -> None:  # type: ignore[no-untyped-def]
    text = STRAIGHT.replace("ambient AMBIENT; ", "").replace("ISC", "0.7 A")
    assert said(text, "load_voltage").missing == [("lamp", "over-maximum", "temperature of the air")]


def test_a_load_that_gets_next_to_nothing_is_not_told_to_work_on_it(said) -> None:  # type: ignore[no-untyped-def]
    text = STRAIGHT.replace("AMBIENT", "25 degC to 30 degC").replace("ISC", "0.7 A").replace("0.3 A;", "2 A;")
    finding = said(text, "load_voltage", reached=True).finding("lamp", "under-minimum")
    assert finding.measured.value == 0.0
    assert finding.remedy == "Let it run only in states in which what feeds it can carry it."
