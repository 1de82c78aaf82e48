"""Rule no-storage-position: the fault catalogue's example K5 end to end, which actions count, management systems, edges, what is missing."""

from __future__ import annotations

import pytest

BUILD = """rig "Winter box", revision 1
battery house { BATTERY }
controller sun { PWM; 10 A; absorption 14.4 V; DRAIN }
KIND main { 60 A; MAIN }
wires 10 AWG, 1 m {
  a from house.plus to main.line
  b from main.load to sun.batt_plus
  c from sun.batt_minus to house.minus
}
"""
AGM = "AGM, 6 cells, 80 Ah"
REACH = "main switch; within reach"


def build(main: str = REACH, drain: str = "own drain 10 mA", battery: str = AGM, kind: str = "switch") -> str:
    return BUILD.replace("MAIN", main).replace("DRAIN", drain).replace("BATTERY", battery).replace("KIND", kind)


@pytest.mark.parametrize(("main", "kind"), [("not within reach", "switch"), ("30 V", "fuse")])
def test_catalogue_k5(said, main: str, kind: str) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, K5, Ex: controller 10 mA cannot be isolated without tools -> note."""
    found = said(build(main, kind=kind), "no_storage_position")
    assert found.grades == [("house", "stays-on", "note")]
    finding = found.finding("house")
    assert (finding.measured.value, finding.limit.value) == (pytest.approx(0.010), 0.001)
    assert finding.message == (
        "house: there is no one position for storage. No switch or plug within reach takes off what drains it:"
        " 10 mA (sun 10 mA); 1 mA is a true off."
    )


def test_one_switch_within_reach_is_enough(said) -> None:  # type: ignore[no-untyped-def]
    assert said(build(), "no_storage_position").passed("house").measured.value == 0.0


@pytest.mark.parametrize(("drain", "broken"), [("0.9 mA", False), ("1 mA", False), ("1.1 mA", True)])
def test_edge(said, drain: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    found = said(build("not within reach", f"own drain {drain}"), "no_storage_position")
    assert bool(found.findings) is broken
    more = "meter gauge 1 mA\nwire x from house.plus to gauge.plus\nwire y from gauge.minus to house.minus\n"
    beside = said(build() + more.replace("1 mA", drain), "no_storage_position")
    assert bool(beside.findings) is broken
    if broken:
        assert "The least stays on with main open: 1.1 mA (gauge 1.1 mA)" in beside.finding("house").message


def test_two_switches_are_one_too_many(said) -> None:  # type: ignore[no-untyped-def]
    more = (
        "switch second { 5 A; within reach }\nmeter gauge 5 mA\nwire x from house.plus to second.line\nwire y from second.load to gauge.plus\n"
        "wire z from gauge.minus to house.minus\n"
    )
    finding = said(build() + more, "no_storage_position").finding("house")
    assert finding.measured.value == pytest.approx(0.005)
    ganged = said(build(f"{REACH}; ganged with second") + more, "no_storage_position")
    assert ganged.passed("house").measured.value == 0.0
    told = said(
        build() + more + 'state stored { main, second open }\nprocedure { to store "turn main and second off" }\n',
        "no_storage_position",
    )
    assert told.passed("house").measured.value == 0.0
    declared = said(build() + more + "state stored { main, second open }\n", "no_storage_position")
    assert declared.passed("house").measured.value == 0.0
    half = said(build() + more + "state stored { main open; second closed }\n", "no_storage_position")
    assert half.finding("house").measured.value == pytest.approx(0.005)


def test_the_way_to_the_largest_drain_decides(said) -> None:  # type: ignore[no-untyped-def]
    more = (
        "switch aside { 5 A; within reach }\nmeter gauge 0.5 mA\nwire x from house.plus to aside.line\nwire y from aside.load to gauge.plus\n"
        "wire z from gauge.minus to house.minus\n"
    )
    assert said(build("within reach") + more, "no_storage_position").passed("house").measured.value == pytest.approx(0.0005)


def test_a_plug_is_an_action_too(said) -> None:  # type: ignore[no-untyped-def]
    text = build("not within reach").replace(
        "  b from main.load to sun.batt_plus", "  b from main.load to socket.1\n  d from plug.1 to sun.batt_plus"
    )
    assert said(text + "connector socket with plug { 2 pins }\n", "no_storage_position").passed("house")


def test_a_switch_that_holds_a_contactor_counts(said) -> None:  # type: ignore[no-untyped-def]
    text = build("coil 12 V; coil 1.2 W; normally open", kind="relay") + (
        "switch key { 5 A; within reach }\nwire x from house.plus to key.line\nwire y from key.load to main.coil_plus\n"
        "wire z from main.coil_minus to house.minus\n"
    )
    assert said(text, "no_storage_position").passed("house").measured.value == 0.0


def test_a_selector_that_is_turned_off(said) -> None:  # type: ignore[no-untyped-def]
    text = (
        build()
        .replace(
            "switch main { 60 A; main switch; within reach }",
            "selector main { position on joins a; position off joins nothing; within reach }",
        )
        .replace("main.line", "main.common")
        .replace("main.load", "main.a")
    )
    assert said(text, "no_storage_position").passed("house").measured.value == 0.0


@pytest.mark.parametrize(("bms", "measured"), [("1 mA", 0.0), ("1.1 mA", 0.0011), ("5 mA", 0.005)])
def test_a_management_system_counts_above_a_milliampere(said, bms: str, measured: float) -> None:  # type: ignore[no-untyped-def]
    """Readings, K5: counts BMS drain only above 1 mA."""
    found = said(build(battery=f"LFP, 4 cells, 80 Ah; bms {{ own drain {bms} }}"), "no_storage_position")
    if measured == 0.0:
        assert found.passed("house").measured.value == 0.0
    else:
        assert found.finding("house").measured.value == pytest.approx(measured)
        assert found.finding("house").remedy.startswith(
            "No switch takes that off: use a battery whose management system takes 1 mA or less"
        )


def test_the_remedy_does_not_put_a_management_system_behind_a_switch(said) -> None:  # type: ignore[no-untyped-def]
    found = said(
        build("not within reach", battery="LFP, 4 cells, 80 Ah; bms { own drain 2 mA }"), "no_storage_position"
    ).finding("house")
    assert found.measured.value == pytest.approx(0.012)
    assert found.remedy.startswith("Put one switch within reach between house and everything but its management system, or")
    small = said(
        build("not within reach", battery="LFP, 4 cells, 80 Ah; bms { own drain 1 mA }"), "no_storage_position"
    ).finding("house")
    assert small.measured.value == pytest.approx(0.010)
    assert small.remedy.startswith("Put one switch within reach between house and all of them, or")


@pytest.mark.parametrize(
    ("main", "drain", "battery", "missing"),
    [
        ("main switch", "own drain 10 mA", AGM, "whether main is within reach with the lid shut"),
        ("not within reach", "float 13.6 V", AGM, "own drain of sun"),
        (REACH, "own drain 10 mA", "LFP, 4 cells, 80 Ah", "own drain of the BMS of house"),
    ],
)
def test_missing_data_are_named(said, main: str, drain: str, battery: str, missing: str) -> None:  # type: ignore[no-untyped-def]
    found = said(build(main, drain, battery), "no_storage_position")
    assert not found.findings
    assert found.missing == [("house", "stays-on", missing)]


def test_an_inverter_is_switched_off_by_itself(said) -> None:  # type: ignore[no-untyped-def]
    """What an inverter takes while it runs is for idle-inverter; what it takes switched off counts."""
    more = (
        "inverter mill { 300 W; idle 8 W; DRAIN }\nwire x from house.plus to mill.plus\nwire y from house.minus to mill.minus\n"
    )
    assert said(build() + more.replace("DRAIN", "own drain 0.5 mA"), "no_storage_position").passed("house")
    finding = said(build() + more.replace("DRAIN", "own drain 2 mA"), "no_storage_position").finding("house")
    assert finding.measured.value == pytest.approx(0.002)
    always = said(build() + more.replace("DRAIN", "own drain 0.5 mA; always on"), "no_storage_position").finding("house")
    assert always.measured.value == pytest.approx(8 / 12.3, rel=0.05)


def test_what_the_main_switch_takes_off_is_not_asked_for(said) -> None:  # type: ignore[no-untyped-def]
    assert said(build(drain="float 13.6 V"), "no_storage_position").passed("house")


def test_without_a_battery_it_does_not_apply(said) -> None:  # type: ignore[no-untyped-def]
    assert [item.condition for item in said('rig "Bench", revision 1\n', "no_storage_position").idle] == ["there is no battery"]
