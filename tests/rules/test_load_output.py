"""Rule load-output: the fault catalogue's example B8 end to end, currents and starts at their edges, what is missing."""

from __future__ import annotations

import pytest

BUILD = """rig "Hut", revision 1
system 12 V
battery house { LFP, 4 cells, 100 Ah; internal resistance 5 mohm; lowest 12 V }
controller sun { PWM; 20 A; absorption 14.2 V; OUTPUT }
LOADS
wires measured 1 uohm {
  charge from sun.batt_plus to house.plus
  back from house.minus to sun.batt_minus
WIRES
}
"""
OUTPUT = "load output at most 20 A; load output peak 30 A"


def build(output: str = OUTPUT, **loads: str) -> str:
    said = "\n".join(f"{'inverter' if name == 'mill' else 'load'} {name} {{ {what} }}" for name, what in loads.items())
    wires = "\n".join(
        f"  a{name} from sun.load_plus to {name}.plus\n  b{name} from {name}.minus to sun.load_minus" for name in loads
    )
    return BUILD.replace("OUTPUT", output).replace("LOADS", said).replace("WIRES", wires)


def test_catalogue_b8(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, B8, Ex: 300 W inverter, 600 W surge: 600/(0.85·12)=58.8 A vs 20 A -> error."""
    text = build(mill="300 W; peak 600 W for 2 s; efficiency 85 %; idle 0 W")
    found = said(text, "load_output")
    assert ("sun", "inverter", "error") in found.grades
    finding = found.finding("sun", "inverter")
    assert finding.subject == ("sun", "mill")
    assert finding.working[0].value == pytest.approx(58.8, abs=0.03)
    assert "It takes up to 58.8 A when it starts; the output gives 20 A." in finding.message


@pytest.mark.parametrize(("pole", "broken"), [("common positive", True), ("common negative", False)])
def test_with_a_common_plus_the_negative_is_the_output(said, pole: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    """252 W at 12 V are 21 A; with a common minus that terminal is the battery's own."""
    text = build(f"{OUTPUT}; {pole}", lamp="252 W; starts at 1 A", mill="30 W").replace("from sun.load_plus", "from house.plus")
    found = said(text, "load_output")
    assert sorted(grade for _, grade, _ in found.grades) == (["inverter", "over-current"] if broken else [])
    if broken:
        assert found.finding("sun", "over-current").measured.value >= 21.0


@pytest.mark.parametrize(("watt", "broken"), [("239 W", False), ("240 W", False), ("241 W", True)])
def test_edge_of_the_current(said, watt: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    """240 W at the lowest voltage of 12 V are 20 A."""
    found = said(build(lamp=f"{watt}; starts at 20 A"), "load_output")
    assert [grade for _, grade, _ in found.grades] == (["over-current"] if broken else [])
    if broken:
        finding = found.finding("sun", "over-current")
        assert finding.state == "lamp on"
        assert finding.remedy.startswith("Keep what runs together on it to 20 A, or feed lamp from the battery")


def test_what_runs_together_adds_up(said) -> None:  # type: ignore[no-untyped-def]
    loads = {"lamp": "132 W; starts at 11 A", "heater": "120 W; starts at 10 A"}
    assert said(build(**loads), "load_output").finding("sun", "over-current").measured.value == pytest.approx(21.0)
    apart = build(**loads) + "never lamp, heater together\n"
    assert not said(apart, "load_output").findings


@pytest.mark.parametrize(
    ("pump", "start"),
    [
        ("120 W; starts at 18.9 A", None),
        ("120 W; starts at 19 A", None),
        ("120 W; starts at 19.1 A", 30.1),
        ("120 W; starts at 2 times", 31.0),
        ("120 W; starts at 229 W", 30.083),
        ("60 W; motor", 41.0),  # six times 5 A, weak source, beside the lamp
    ],
)
def test_the_largest_start_on_top_of_the_others(said, pump: str, start: float | None) -> None:  # type: ignore[no-untyped-def]
    """Readings, B8: start current of the largest load on top of all others. The lamp of 132 W takes 11 A at 12 V."""
    found = said(
        build("load output at most 40 A; load output peak 30 A", lamp="132 W; starts at 11 A", pump=pump), "load_output"
    )
    if start is None:
        assert not found.findings
        return
    finding = found.finding("sun", "start")
    assert finding.measured.value == pytest.approx(start, abs=1e-3)
    assert finding.subject == ("sun", "pump")
    assert "beside it" in finding.message
    assert finding.remedy.endswith("starts at 19 A or less.")


def test_a_surge_state_is_no_steady_current(said) -> None:  # type: ignore[no-untyped-def]
    text = build(lamp="60 W; starts at 25 A") + 'state "lamp starts" { lamp on at 25 A; lasts 1 s }\n'
    assert not said(text, "load_output").findings


def test_what_hangs_on_the_battery_is_no_matter_of_the_output(said) -> None:  # type: ignore[no-untyped-def]
    text = (
        build(lamp="24 W; starts at 2 A")
        + "inverter far { 300 W }\nwire x from house.plus to far.plus\nwire y from far.minus to house.minus\n"
    )
    found = said(text, "load_output")
    assert not found.findings
    assert found.passed("sun", "inverter")


@pytest.mark.parametrize(
    ("output", "lamp", "missing"),
    [
        ("load output peak 30 A", "24 W; starts at 3 A", ("over-current", "current of its load output")),
        ("load output at most 20 A", "24 W; starts at 3 A", ("start", "peak current of its load output")),
        (OUTPUT, "24 W", ("start", "start current of lamp")),
    ],
)
def test_missing_data_are_named(said, output: str, lamp: str, missing: tuple[str, str]) -> None:  # type: ignore[no-untyped-def]
    found = said(build(output, lamp=lamp), "load_output")
    assert not found.findings
    assert found.missing == [("sun", *missing)]


def test_an_unused_output_is_counted(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build(), "load_output")
    assert [(item.condition, item.count) for item in found.idle] == [("its load output is not used", 1)]


def test_loads_that_never_run_together_start_alone(said) -> None:  # type: ignore[no-untyped-def]
    loads = {"lamp": "132 W; starts at 11 A", "pump": "60 W; starts at 25 A"}
    text = build("load output at most 40 A; load output peak 30 A", **loads)
    assert said(text, "load_output").finding("sun", "start").measured.value == pytest.approx(36.0)
    apart = said(text + "never lamp, pump together\n", "load_output")
    assert apart.passed("sun", "start").measured.value == pytest.approx(25.0)
