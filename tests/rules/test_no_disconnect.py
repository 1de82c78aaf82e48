"""Rule no-disconnect: the fault catalogue's example H2, what counts as a device, reach, arrays, banks, edges."""

from __future__ import annotations

import pytest

BUILD = """rig "Box", revision 1
battery house { LFP, 4 cells, 100 Ah }
DEVICE
load pump LOAD
wire a from house.plus to IN, 4 AWG, 0.5 m
wire b from OUT to pump.plus, 4 AWG, 0.5 m
wire c from pump.minus to house.minus, 4 AWG, 0.5 m
"""


def build(device: str, load: str = "60 A", name: str = "it") -> str:
    return BUILD.replace("DEVICE", device).replace("LOAD", load).replace("IN", f"{name}.line").replace("OUT", f"{name}.load")


def test_catalogue_h2(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, H2, Ex: only way to isolate is to pull a bolted fuse, 60 A -> error."""
    found = said(build("fuse it { bolt-down; 100 A }"), "no_disconnect")
    assert found.grades == [("house", "none-over-50-a", "error")]
    assert "Only pulling it would." in found.finding("house").message


@pytest.mark.parametrize(("load", "grade"), [("50 A", "none"), ("50.1 A", "none-over-50-a")])
def test_edge(said, load: str, grade: str) -> None:  # type: ignore[no-untyped-def]
    assert said(build("fuse it { bolt-down; 100 A }", load), "no_disconnect").grades[0][1] == grade


@pytest.mark.parametrize(("load", "grade"), [("20 A", "none"), ("60 A", "none-over-50-a")])
def test_what_charges_a_battery_is_not_what_it_gives(said, load: str, grade: str) -> None:  # type: ignore[no-untyped-def]
    """An alternator pushes 70 A and more into the battery, which gives 20 A while the engine rests."""
    text = build("fuse it { bolt-down; 100 A }", load).replace(
        "LFP, 4 cells, 100 Ah", "flooded; 6 cells; 70 Ah; internal resistance 6 mohm"
    )
    engine = "alternator engine { 90 A; absorption 14.2 V; plus on house.plus; minus on house.minus }\n"
    found = said(text + engine + "state driving { engine on; pump on; house at 60 % }\n", "no_disconnect")
    assert found.grades == [("house", grade, "error" if load == "60 A" else "warning")]
    assert f"It gives up to {load}" in found.finding("house").message


@pytest.mark.parametrize("device", ["switch it { 100 A; within reach }", "breaker it 80 A", "relay it { 100 A; within reach }"])
def test_devices_that_a_hand_opens(said, device: str) -> None:  # type: ignore[no-untyped-def]
    found = said(build(device), "no_disconnect")
    assert not found.findings and not found.unchecked


@pytest.mark.parametrize("device", ["disconnect it { 100 A; opens at 11 V }", "relay it { 100 A }"])
def test_devices_that_no_hand_opens(said, device: str) -> None:  # type: ignore[no-untyped-def]
    assert said(build(device, "10 A"), "no_disconnect").grades == [("house", "none", "warning")]


def test_reach(said) -> None:  # type: ignore[no-untyped-def]
    assert said(build("switch it { 100 A; not within reach }"), "no_disconnect").grades == [
        ("house", "out-of-reach-over-50-a", "error")
    ]
    found = said(build("switch it 100 A"), "no_disconnect")
    assert found.missing == [("house", "out-of-reach-over-50-a", "whether it is within reach with the lid shut")]


def test_a_switch_in_the_return_takes_it_off(said) -> None:  # type: ignore[no-untyped-def]
    text = build("switch it { 100 A; within reach }").replace("from house.plus to it.line", "from house.plus to pump.plus")
    text = text.replace("from it.load to pump.plus", "from pump.minus to it.line").replace(
        "from pump.minus to house", "from it.load to house"
    )
    assert said(text, "no_disconnect").passed("house")


def test_what_is_always_on_and_what_drains_may_stay(said) -> None:  # type: ignore[no-untyped-def]
    text = build("switch it { 100 A; within reach }") + (
        "load clock { 0.1 A; always on }\nmeter gauge { own drain 2 mA }\nwire d from house.plus to clock.plus, 18 AWG, 1 m\n"
        "wire e from clock.minus to house.minus, 18 AWG, 1 m\nwire f from house.plus to gauge.plus, 18 AWG, 1 m\n"
        "wire g from gauge.minus to house.minus, 18 AWG, 1 m\n"
    )
    assert said(text, "no_disconnect").passed("house")
    assert said(text.replace("; always on", ""), "no_disconnect").grades[0][1] == "none-over-50-a"


def test_more_than_three_switches_are_no_main_switch(said) -> None:  # type: ignore[no-untyped-def]
    def text(count: int) -> str:
        lines = ['rig "Box", revision 1', "battery house { LFP, 4 cells, 100 Ah }"]
        for k in range(count):
            lines += [
                f"switch s{k} {{ 10 A; within reach }}", f"load l{k} 2 A", f"wire a{k} from house.plus to s{k}.line, 12 AWG, 1 m",
                f"wire b{k} from s{k}.load to l{k}.plus, 12 AWG, 1 m", f"wire c{k} from l{k}.minus to house.minus, 12 AWG, 1 m",
            ]  # fmt: skip
        return "\n".join(lines) + "\n"

    assert said(text(3), "no_disconnect").passed("house")
    assert "4 have to be opened" in said(text(4), "no_disconnect").finding("house").message


ARRAY = """rig "Box", revision 1
battery house { LFP, 4 cells, 100 Ah }
array roof { Voc 22 V; Vmp 18 V; Isc 6 A; Imp 5.5 A }
controller sun { MPPT; 20 A }
DEVICE
wire b from OUT to sun.pv_plus, 10 AWG, 1 m
wire c from sun.pv_minus to roof.minus, 10 AWG, 1 m
wire d from sun.batt_plus to house.plus, 10 AWG, 1 m
wire e from sun.batt_minus to house.minus, 10 AWG, 1 m
"""


def test_array(said) -> None:  # type: ignore[no-untyped-def]
    bare = ARRAY.replace("DEVICE\n", "").replace("OUT", "roof.plus")
    assert said(bare, "no_disconnect").grades == [("roof", "none", "warning")]
    switched = ARRAY.replace(
        "DEVICE", "switch it { 20 A; within reach }\nwire a from roof.plus to it.line, 10 AWG, 1 m"
    ).replace("OUT", "it.load")
    assert said(switched, "no_disconnect").passed("roof")
    plugged = ARRAY.replace(
        "DEVICE", "connector it with that { 2 pins; 20 A }\nwire a from roof.plus to that.1, 10 AWG, 1 m"
    ).replace("OUT", "it.1")
    assert said(plugged, "no_disconnect").passed("roof")


def test_series_strings_are_one_bank(said) -> None:  # type: ignore[no-untyped-def]
    text = build("switch it { 100 A; within reach }").replace(
        "c from pump.minus to house.minus", "c from pump.minus to low.minus"
    )
    text += "battery low { LFP, 4 cells, 100 Ah }\nwire d from low.plus to house.minus, 4 AWG, 0.3 m\n"
    assert said(text, "no_disconnect").passed("house").measured.value == pytest.approx(60)
