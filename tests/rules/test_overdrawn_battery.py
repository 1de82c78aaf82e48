"""Rule overdrawn-battery: the fault catalogue's examples C1 and C2, edges, which states count, failures, missing data."""

from __future__ import annotations

import pytest

WIRES = "wire feed from house.plus to LOAD.plus, 2 AWG, 0.3 m\nwire back from LOAD.minus to house.minus, 2 AWG, 0.3 m\n"


def box(facts: str, load: str, more: str = "", name: str = "lamp") -> str:
    """One battery and one thing on it."""
    head = 'rig "Box", revision 1\nsystem 12 V\n'
    return f"{head}battery house {{ LFP, 4 cells, 100 Ah; internal resistance 2 mohm; {facts} }}\n{load}\n{WIRES.replace('LOAD', name)}{more}"


INVERTER = "inverter mains { 1000 W; efficiency 88 %; cut-off 12.0 V; draws 0 W with no load }"


def test_catalogue_c1(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, C1, Ex: 1000 W AC/(0.88 x 12.0) = 94.7 A vs 50 A BMS -> error."""
    found = said(box("bms { discharge at most 50 A }", INVERTER, name="mains"), "overdrawn_battery")
    assert found.grades == [("house", "continuous", "error")]
    finding = found.finding("house")
    assert finding.measured.value == pytest.approx(94.7, abs=0.05)
    assert finding.limit.value == 50.0
    assert finding.state == "mains full"


@pytest.mark.parametrize(("limit", "broken"), [("20 A", False), ("19.9 A", True), ("20.1 A", False)])
def test_continuous_at_its_edge(said, limit: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    """At equality it holds; the smaller of the battery's own limit and that of its management system counts."""
    for facts in (
        f"discharge at most {limit}; bms {{ discharge at most 90 A }}",
        f"discharge at most 90 A; bms {{ discharge at most {limit} }}",
    ):
        found = said(box(facts, "load lamp 20 A"), "overdrawn_battery")
        assert bool(found.grades) == broken


SURGE = 'state "start" { lamp on at 128 A; lasts 1 s }\n'


@pytest.mark.parametrize(
    ("peak", "grades"),
    [
        ("150 A for 3 s", []), ("100 A for 3 s", [("house", "surge", "warning")]), ("128 A for 1 s", []),
        ("127.9 A for 1 s", [("house", "surge", "warning")]), ("128 A for 0.9 s", [("house", "surge", "warning")]),
    ],
)  # fmt: skip
def test_catalogue_c2(said, peak: str, grades: list[tuple[str, str, str]]) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, C2, Ex: 128 A for 1 s vs 150 A/3 s -> pass; vs 100 A -> warning. Then the edges of current and time."""
    found = said(box(f"bms {{ discharge at most 60 A; peak {peak} }}", "load lamp 20 A", SURGE), "overdrawn_battery")
    assert found.grades == grades


def test_time_is_told_as_a_time(said) -> None:  # type: ignore[no-untyped-def]
    finding = said(
        box("bms { discharge at most 60 A; peak 150 A for 500 ms }", "load lamp 20 A", SURGE), "overdrawn_battery"
    ).finding("house")
    assert (finding.measured.value, finding.limit.value) == (1.0, 0.5)
    assert "128 A flows out of it for 1 s in state 'start'" in finding.message


def test_surge_within_the_steady_limit_needs_no_peak(said) -> None:  # type: ignore[no-untyped-def]
    found = said(box("discharge at most 130 A", "load lamp 20 A", SURGE), "overdrawn_battery")
    assert (found.grades, found.missing) == ([], [])
    assert found.passed("house", "surge").limit.value == 130.0
    silent = said(box("discharge at most 120 A", "load lamp 20 A", SURGE), "overdrawn_battery")
    assert silent.missing == [("house", "surge", "discharge peak")]
    timeless = said(box("discharge at most 120 A; peak 200 A", "load lamp 20 A", SURGE), "overdrawn_battery")
    assert timeless.missing == [("house", "surge", "how long it bears its peak")]


def test_start_of_a_load_is_solved(said) -> None:  # type: ignore[no-untyped-def]
    """No state says it: 3 times 20 A, and 6 times for a motor that says nothing of its start."""
    facts = "discharge at most 60 A; peak 61 A for 3 s"
    for load, current in (("load lamp { 20 A; starts at 3.5 times for 1 s }", 70.0), ("load lamp { 20 A; motor }", 120.0), ("load lamp { 240 W; works on 10 V to 15 V; starts at 75 A for 1 s }", 75.0)):  # fmt: skip
        finding = said(box(facts, load), "overdrawn_battery").finding("house")
        assert (finding.grade, finding.measured.value) == ("surge", pytest.approx(current))
    unsaid = said(box("discharge at most 60 A; peak 100 A for 3 s", "load lamp { 20 A; starts at 70 A }"), "overdrawn_battery")
    assert unsaid.missing == [("house", "surge", "how long it lasts at the start of lamp")]
    assert said(box("discharge at most 25 A", "load lamp 20 A"), "overdrawn_battery").missing == []


def test_steady_state_is_no_surge_and_the_other_way_round(said) -> None:  # type: ignore[no-untyped-def]
    found = said(box("discharge at most 60 A; peak 150 A for 3 s", "load lamp 20 A", SURGE), "overdrawn_battery")
    assert found.passed("house", "continuous").measured.value == pytest.approx(20.0)
    assert found.passed("house", "surge").measured.value == pytest.approx(128.0)


def test_charging_is_no_discharge(said) -> None:  # type: ignore[no-untyped-def]
    charger = "mains charger shore { 30 A; absorption 14.4 V }\nwire c1 from shore.plus to house.plus\nwire c2 from shore.minus to house.minus\n"
    found = said(box("discharge at most 21 A", "load lamp 20 A", charger), "overdrawn_battery")
    assert found.grades == []
    assert found.passed("house", "continuous").measured.value == pytest.approx(20.0)


def test_missing_limit_and_no_load(said) -> None:  # type: ignore[no-untyped-def]
    assert said(box("12.8 V", "load lamp 20 A"), "overdrawn_battery").missing == [
        ("house", "continuous", "discharge current limit")
    ]
    idle = said('rig "B", revision 1\nbattery house { LFP, 4 cells, 100 Ah }\n', "overdrawn_battery")
    assert [item.condition for item in idle.idle] == ["gives no current in any state"]


def test_after_a_failure_it_is_a_note(said) -> None:  # type: ignore[no-untyped-def]
    """Readings.md, "States after a failure": an over-limit C1 is a note there. One pack of two opens, and the other gives everything."""
    second = (
        "battery other { LFP, 4 cells, 100 Ah; internal resistance 2 mohm; bms { discharge at most 60 A } }\n"
        "wire p1 from house.plus to other.plus, 2 AWG, 0.3 m\nwire p2 from house.minus to other.minus, 2 AWG, 0.3 m\n"
    )
    text = box("bms { discharge at most 60 A }", "load lamp 80 A", second) + 'state "lit" { lamp on }\n'
    assert said(text, "overdrawn_battery").grades == []
    reached = said(text, "overdrawn_battery", reached=True)
    assert set(reached.grades) == {("house", "continuous", "note"), ("other", "continuous", "note")}


def test_a_declared_state_that_takes_the_place_of_the_implied_one_hides_no_start(said) -> None:  # type: ignore[no-untyped-def]
    """20 A x 3.5 = 70 A over a peak of 60 A, whether all loads on is implied or declared (warm and full, as a builder may say)."""
    declared = 'state "lit" { lamp on; house at 100 %; 20 degC; for 2 h/day }\n'
    for more in ("", declared):
        found = said(
            box("discharge at most 50 A; peak 60 A for 3 s", "load lamp { 20 A; starts at 3.5 times for 1 s }", more),
            "overdrawn_battery",
        )
        assert found.grades == [("house", "surge", "warning")]
        assert found.finding("house", "surge").measured.value == pytest.approx(70.0)
        assert found.finding("house", "surge").state == "lamp starts"


def test_a_start_in_the_sun_begins_in_the_dark(said) -> None:  # type: ignore[no-untyped-def]
    """A declared state with a charger running is none to start from: the other one counts, where there is one."""
    more = 'mains charger depot { 10 A; absorption 14.2 V; plus on house.plus; minus on house.minus }\nstate "lit" { lamp on }\nstate "lit and charged" { lamp on; depot on }\n'
    found = said(
        box("discharge at most 50 A; peak 60 A for 3 s", "load lamp { 20 A; starts at 3.5 times for 1 s }", more),
        "overdrawn_battery",
    )
    assert found.finding("house", "surge").measured.value == pytest.approx(70.0)
