"""Rule panel-in-storage: the fault catalogue's example K6 end to end, what takes the panel off, loads, what is missing, what it yields to."""

from __future__ import annotations

from datetime import date

import pytest
from ohmwright.inspecting import InspectOptions, inspect_files
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.resolve import Loader
from ohmwright_rules import PACK

BUILD = """rig "Shed", revision 1
site { RECORD }
battery house { AGM, 6 cells, 50 Ah; internal resistance 10 mohm }
array roof { Voc 22.5 V; Isc 6 A; Voc -0.30 %/K }
controller sun { PWM; 10 A; absorption 14.4 V; BEARS }
switch main 20 A
connector sun_socket with sun_plug { 15 A; pins 1, 2 }
all wires { 10 AWG, 1 m }
wire a from house.plus to main.line
wire b from main.load to sun.batt_plus
wire c from sun.batt_minus to house.minus
wire d from roof.plus to sun_plug.1
wire e from roof.minus to sun_plug.2
wire f from sun_socket.1 to sun.pv_plus
wire i from sun_socket.2 to sun.pv_minus
"""
LAMP = "load lamp { 10 W; BEARS }\nwire g from sun.batt_plus to lamp.plus\nwire h from lamp.minus to sun.batt_minus\n"
NEEDS = "not bears PV with no battery"


def build(*parts: str, bears: str = NEEDS, record: str = "record low -10 degC") -> str:
    return BUILD.replace("BEARS", bears).replace("RECORD", record) + "".join(parts)


def lamp(window: str = "works on 10.5 V to 15 V") -> str:
    return LAMP.replace("BEARS", window)


@pytest.mark.parametrize("state", ["", "state stored { main open }\n", "state stored { main open; sun 0 % }\n"])
def test_catalogue_k6(said, state: str) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, K6, Ex: BAT off, panel still plugged by a window -> warning."""
    found = said(build(state), "panel_in_storage")
    assert found.grades == [("sun", "panel-alone", "warning")]
    finding = found.finding("sun")
    assert finding.subject == ("sun", "roof")
    assert finding.message == (
        "sun: stored as in state 'stored', roof stays on it and the battery is off; by any window its output may follow the panel."
        " It takes its logic supply from the battery."
    )


@pytest.mark.parametrize(
    "says",
    [
        "state stored { main open; sun_plug apart }\n",
        "state stored { main closed }\n",
        "procedure { PV unplugged in storage }\n",
    ],
)
def test_what_takes_it_off(said, says: str) -> None:  # type: ignore[no-untyped-def]
    found = said(build(says), "panel_in_storage")
    assert not found.findings
    assert {passed.grade for passed in found.passes} == {"load-exposed", "panel-alone"}


def test_a_procedure_that_leaves_it_plugged_is_no_excuse(said) -> None:  # type: ignore[no-untyped-def]
    assert said(build("procedure { not PV unplugged in storage }\n"), "panel_in_storage").findings


@pytest.mark.parametrize(
    ("window", "grade"),
    [
        ("works on 10.5 V to 15 V", "load-exposed"),
        ("works on 10.5 V to 24.86 V", "load-exposed"),
        ("works on 10.5 V to 24.8625 V", "panel-alone"),
        ("works on 10.5 V to 30 V", "panel-alone"),
    ],
)
def test_loads_that_stay_on(said, window: str, grade: str) -> None:  # type: ignore[no-untyped-def]
    """22.5 V x (1 + 0.003 x 35) = 24.8625 V at the record low, as in the example of B1."""
    found = said(build(lamp(window)), "panel_in_storage")
    assert found.grades == [("sun", grade, "error" if grade == "load-exposed" else "warning")]
    if grade == "load-exposed":
        finding = found.finding("sun")
        assert finding.measured.value == pytest.approx(24.8625)
        assert finding.subject == ("sun", "roof", "lamp")
        posted = said(build(lamp(window), "procedure { connection order posted }\n"), "panel_in_storage")
        assert posted.grades == [("sun", "load-exposed", "warning")]
    else:
        assert "up to 24.9 V at -10 degC" in found.finding("sun").message


def test_a_load_behind_the_switch_is_off(said) -> None:  # type: ignore[no-untyped-def]
    aside = lamp().replace("sun.batt_plus to lamp.plus", "house.plus to lamp.plus")
    assert [grade for _, grade, _ in said(build(aside), "panel_in_storage").grades] == ["panel-alone"]


def test_missing_data_are_named(said) -> None:  # type: ignore[no-untyped-def]
    silent = said(build(lamp(), bears="float 13.6 V"), "panel_in_storage")
    what = "whether it bears PV with no battery"
    assert not silent.findings
    assert sorted(silent.missing) == [("sun", "load-exposed", what), ("sun", "panel-alone", what)]
    cold = said(build(lamp(), record="ambient 0 degC to 30 degC"), "panel_in_storage")
    assert [grade for _, grade, _ in cold.grades] == ["panel-alone"]
    assert cold.missing == [("sun", "load-exposed", "record low of the site")]
    window = said(build(lamp("5 W").replace("10 W; 5 W", "10 W")), "panel_in_storage")
    assert window.missing == [("sun", "load-exposed", "highest voltage that lamp bears")]
    nothing = said(build("state stored { sun_plug apart }\n", bears="float 13.6 V"), "panel_in_storage")
    assert not nothing.unchecked


def test_a_controller_that_bears_it_passes(said) -> None:  # type: ignore[no-untyped-def]
    assert not said(build(lamp(), bears="bears PV with no battery"), "panel_in_storage").findings


def test_a_controller_without_an_array_does_not_apply(said) -> None:  # type: ignore[no-untyped-def]
    found = said('rig "Shelf", revision 1\ncontroller spare { PWM }\n', "panel_in_storage")
    assert [(item.condition, item.count) for item in found.idle] == [("no array can be joined to it", 1)]


def test_it_yields_to_panel_without_battery() -> None:
    """Readings, One cause, one finding: B1 > K6."""
    options = InspectOptions(today=date(2026, 1, 1), only=("panel-in-storage", "panel-without-battery"))
    (both,) = inspect_files(["a.rig"], Loader(MemoryFiles({"a.rig": build(lamp())})), options, (PACK,)).builds
    assert [item.rule.id for item in both.findings] == ["panel-without-battery"]
    assert [item.rule.id for item in both.yielded] == ["panel-in-storage"]
