"""Rule arcing-switch: the fault catalogue's examples H1 end to end, figures by voltage, inrush, edges, silence."""

from __future__ import annotations

import pytest

BUILD = """rig "Box", revision 1
battery house { LFP, CELLS cells, 100 Ah; charge voltage at most LIMIT V }
switch it { FACTS }
load lamp { LOAD }
wires 10 AWG, 0.5 m {
  a from house.plus to it.line
  b from it.load to lamp.plus
  c from lamp.minus to house.minus
}
"""


def build(facts: str, load: str = "12 A", cells: int = 4, limit: str = "14.6") -> str:
    return BUILD.replace("FACTS", facts).replace("LOAD", load).replace("CELLS", str(cells)).replace("LIMIT", limit)


def test_catalogue_h1_at_12_v(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, H1, Ex: 15 A/125 VAC toggle, no DC figure, 12 V 12 A -> unknown/warning."""
    assert said(build("15 A; AC only"), "arcing_switch").grades == [("it", "low-voltage", "warning")]
    found = said(build("15 A"), "arcing_switch")
    assert found.missing == [("it", "low-voltage", "DC current that it breaks")]


def test_catalogue_h1_at_pv(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, H1, Ex: same at 49.95 V PV -> error."""
    text = """rig "Box", revision 1
site { record low -10 degC; ambient -10 degC to 35 degC }
battery house { LFP, 4 cells, 100 Ah }
array roof { 2 in series; Voc 22.5 V; Vmp 18.5 V; Isc 12.5 A; Imp 12 A; Voc -0.3143 %/K }
controller sun { MPPT; 30 A; common negative; absorption 14.2 V; no equalise; no temperature compensation }
switch it { 15 A; AC only }
wires 10 AWG, 1 m {
  a from roof.plus to it.line
  b from it.load to sun.pv_plus
  c from sun.pv_minus to roof.minus
  d from sun.batt_plus to house.plus
  e from sun.batt_minus to house.minus
}
"""
    found = said(text, "arcing_switch")
    assert found.grades == [("it", "high-voltage", "error")]
    assert "at 50 V" in found.finding("it").message


@pytest.mark.parametrize(
    ("figure", "broken"),
    [("12 A at 14.6 V", False), ("11.9 A at 30 V", True), ("12 A at 30 V", False), ("12.1 A at 14.7 V", False)],
)
def test_edge(said, figure: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    assert bool(said(build(f"15 A; breaks {figure} dc"), "arcing_switch").findings) is broken


def test_a_figure_at_a_lower_voltage_does_not_count(said) -> None:  # type: ignore[no-untyped-def]
    found = said(build("30 A; breaks 30 A at 12 V dc"), "arcing_switch").finding("it")
    assert found.measured.dimension == "voltage" and found.limit.value == 12
    both = said(build("30 A; breaks 30 A at 12 V dc, 10 A at 30 V dc"), "arcing_switch").finding("it")
    assert both.limit.value == 10


@pytest.mark.parametrize(("cells", "limit", "severity"), [(8, "29.2", "warning"), (8, "30", "warning"), (9, "30.1", "error")])
def test_thirty_volts(said, cells: int, limit: str, severity: str) -> None:  # type: ignore[no-untyped-def]
    text = build("15 A; AC only", cells=cells, limit=limit) + CHARGER.replace("SET", limit)
    assert said(text, "arcing_switch").grades[0][2] == severity


CHARGER = """mains charger post { 10 A; absorption SET V; no equalise; no temperature compensation }
wire d from post.plus to house.plus, 10 AWG, 1 m
wire e from post.minus to house.minus, 10 AWG, 1 m
"""


def test_a_switch_in_the_return_breaks_the_same_voltage(said) -> None:  # type: ignore[no-untyped-def]
    text = build("15 A; AC only", cells=16, limit="58").replace(
        "a from house.plus to it.line", "a from house.plus to lamp.plus"
    )
    text = text.replace("b from it.load to lamp.plus", "b from lamp.minus to it.line").replace(
        "c from lamp.minus", "c from it.load"
    )
    assert said(text, "arcing_switch").grades == [("it", "high-voltage", "error")]


def test_inrush(said) -> None:  # type: ignore[no-untyped-def]
    start = "12 A; starts at 30 A for 1 s"
    assert said(build("15 A; breaks 15 A at 30 V dc; makes 25 A", start), "arcing_switch").grades == [
        ("it", "inrush", "warning")
    ]
    assert said(build("15 A; breaks 15 A at 30 V dc; makes 30 A", start), "arcing_switch").passed("it", "inrush")
    assert said(build("15 A; breaks 30 A at 30 V dc", start), "arcing_switch").passed("it", "inrush")
    assert said(build("15 A; breaks 15 A at 30 V dc", start), "arcing_switch").missing == [
        ("it", "inrush", "inrush that it makes")
    ]


def test_a_switch_without_current(said) -> None:  # type: ignore[no-untyped-def]
    text = 'rig "Box", revision 1\nbattery house { LFP, 4 cells, 100 Ah }\nswitch it 5 A\nwire a from house.plus to it.line, 10 AWG, 1 m\n'
    assert [item.condition for item in said(text, "arcing_switch").idle] == ["carries no current in any state"]


def test_a_fuse_between_a_return_and_its_source_hides_nothing(said) -> None:  # type: ignore[no-untyped-def]
    text = build("15 A; AC only", cells=16, limit="58").replace(
        "a from house.plus to it.line", "a from house.plus to lamp.plus"
    )
    text = text.replace("b from it.load to lamp.plus", "b from lamp.minus to it.line").replace(
        "c from lamp.minus to house.minus", "c from it.load to second.line\n  d from second.load to house.minus"
    )
    assert said(text + "fuse second 30 A\n", "arcing_switch").grades == [("it", "high-voltage", "error")]


SUN = """rig "Box", revision 1
site { record low -10 degC }
battery house { LFP, 8 cells, 100 Ah; charge voltage at most 29.2 V }
array roof { Voc 22.6 V; Vmp 18 V; Isc 6.2 A; Imp 5.8 A; Voc -0.30 %/K; 2 in series }
controller sun { MPPT; 20 A; PV at most 75 V; absorption 28.4 V; no equalise; no temperature compensation; common negative }
switch it { 15 A; breaks 15 A at 32 V dc }
load lamp 5 A
wires 10 AWG, 0.5 m {
  a from house.plus to lamp.plus
  b from lamp.minus to LAMP
  c from sun.batt_plus to house.plus
  d from house.minus to sun.batt_minus
  e from roof.plus to sun.pv_plus
  f from sun.pv_minus to ROOF
  g from it.load to END
}
"""


def test_the_cold_array_arcs_only_in_the_return_that_its_current_takes(said) -> None:  # type: ignore[no-untyped-def]
    # readings.md, Voltage lines: cold open-circuit voltage on the array's side: 2 x 22.6 V x 1.105 = 49.9 V; the lamp's return is held at the battery's 29.2 V
    lamp = SUN.replace("LAMP", "it.line").replace("ROOF", "roof.minus").replace("END", "house.minus")
    assert said(lamp, "arcing_switch").grades == []
    assert said(lamp, "arcing_switch").passed("it", "low-voltage").limit.value == 15
    roof = SUN.replace("LAMP", "house.minus").replace("ROOF", "it.line").replace("END", "roof.minus")
    assert said(roof, "arcing_switch").grades == [("it", "high-voltage", "error")]
    back = SUN.replace("LAMP", "sun.batt_minus").replace("ROOF", "roof.minus").replace("d from house.minus", "d from it.line")
    back = back.replace("END", "house.minus")
    assert said(back, "arcing_switch").grades == []


def test_inrush_of_a_switch_in_the_return_and_of_one_that_only_hangs_there(said) -> None:  # type: ignore[no-untyped-def]
    """The current of a loop is the same in both leads; what leads on to a coil alone carries none of the pump's start."""
    start = "12 A; starts at 2 times for 1 s"
    swapped = build("15 A; breaks 15 A at 30 V dc; makes 15 A", start).replace(
        "a from house.plus to it.line", "a from house.minus to it.line"
    )
    swapped = swapped.replace("b from it.load to lamp.plus", "b from it.load to lamp.minus").replace(
        "c from lamp.minus to house.minus", "c from lamp.plus to house.plus"
    )
    assert said(swapped, "arcing_switch").grades == [("it", "inrush", "warning")]
    coil = (
        "switch float { 5 A; breaks 5 A at 30 V dc }\nrelay far { 5 A; coil 12 V; coil 1 W }\n"
        "wires 16 AWG, 1 m { x from lamp.plus to float.line; y from float.load to far.coil_plus; z from far.coil_minus to house.minus }\n"
    )
    found = said(build("30 A; breaks 30 A at 30 V dc", start) + coil, "arcing_switch")
    assert not found.grades and not found.missing


def test_arrays_in_series_add_up_across_a_switch_in_their_lead(said) -> None:  # type: ignore[no-untyped-def]
    """Two of 22.6 V x 1.105 in series: 49.9 V, which a figure at 32 V does not reach (catalogue, A1 and H1)."""
    text = SUN.replace("2 in series }", "1 in series }").replace("switch it", "array other same as roof\nswitch it")
    text = text.replace("b from lamp.minus to LAMP", "b from lamp.minus to house.minus").replace(
        "f from sun.pv_minus to ROOF", "f from sun.pv_minus to other.minus"
    )
    text = (
        text.replace("e from roof.plus to sun.pv_plus", "e from roof.plus to it.line")
        .replace("END", "sun.pv_plus")
        .replace("g from", "h from other.plus to roof.minus\n  g from")
    )
    finding = said(text, "arcing_switch").finding("it", "high-voltage")
    assert finding.measured.value == pytest.approx(49.946)
