"""Rule cut-off-order: the fault catalogue's example B11 end to end, order, margins, banks, edges, what is missing."""

from __future__ import annotations

import pytest

BUILD = """rig "Van", revision 1
SYSTEM
battery house { BATTERY }
inverter mill { 300 W; MILL }
wires 8 AWG, 1 m {
  a from house.plus to mill.plus
  b from house.minus to mill.minus
}
"""
LFP = "LFP, 4 cells, 100 Ah; lowest 10.8 V; bms { low cut-off 11.2 V }"
GUARD = """disconnect guard { 60 A; GUARD }
load lamp 20 W
wires 8 AWG, 1 m {
  c from house.plus to guard.line
  d from guard.load to lamp.plus
  e from lamp.minus to house.minus
}
"""


def build(battery: str = LFP, mill: str = "cut-off 11.5 V", guard: str = "", system: str = "system 12 V") -> str:
    text = BUILD.replace("BATTERY", battery).replace("MILL", mill).replace("SYSTEM", system)
    return text + (GUARD.replace("GUARD", guard) if guard else "")


def test_catalogue_b11(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, B11, Ex: LFP BMS low 11.2 V, inverter cut-off 10.0 V, no LVD -> warning."""
    found = said(build(mill="cut-off 10.0 V"), "cut_off_order")
    assert found.grades == [("mill", "below-battery", "warning")]
    finding = found.finding("mill")
    assert (finding.measured.value, finding.limit.value) == (10.0, pytest.approx(11.4))
    assert finding.subject == ("mill", "house")
    assert finding.message == (
        "mill: it cuts off at 10 V; the BMS of house opens at 11.2 V. The BMS comes first, or too soon after (0.2 V for each 12 V is"
        " the margin): everything goes dark at once, the charge controller too."
    )
    assert finding.remedy == "Set its cut-off to 11.4 V or more."


@pytest.mark.parametrize(
    ("battery", "mill", "broken"),
    [
        (LFP, "cut-off 11.39 V", True),
        (LFP, "cut-off 11.4 V", False),
        (LFP, "cut-off 11.41 V", False),
        (LFP, "cut-off 11.45 V plus or minus 0.1 V", True),
        ("LFP, 4 cells; lowest 10.8 V; bms { low cut-off 11.2 V plus or minus 0.1 V }", "cut-off 11.4 V", True),
        ("AGM, 6 cells; lowest 10.5 V", "cut-off 10.6 V", True),  # without a BMS the battery's minimum takes its place
        ("AGM, 6 cells; lowest 10.5 V", "cut-off 10.7 V", False),
        ("AGM, 6 cells; lowest 10.5 V to 10.6 V", "cut-off 10.7 V", True),
        ("LFP, 4 cells; lowest 11.0 V; no bms", "cut-off 11.1 V", True),
        ("LFP, 4 cells; lowest 11.0 V; bms { cuts charge; low cut-off 9 V }", "cut-off 11.1 V", True),
        ("LFP, 4 cells; lowest 11.0 V; bms { no low cut-off }", "cut-off 11.2 V", False),
        (
            "LFP, 4 cells; lowest 11.0 V; bms { low cut-off 10.0 V }",
            "cut-off 10.9 V",
            True,
        ),  # catalogue: all >= battery minimum
        ("LFP, 4 cells; lowest 11.0 V; bms { low cut-off 10.0 V }", "cut-off 11.0 V", False),
        ("LFP, 4 cells; bms { low cut-off 10.0 V }", "cut-off 10.2 V", False),
    ],
)
def test_edge(said, battery: str, mill: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    grades = [grade for _, grade, _ in said(build(battery, mill), "cut_off_order").grades]
    assert ("below-battery" in grades) is broken


def test_words_without_a_management_system(said) -> None:  # type: ignore[no-untyped-def]
    finding = said(build("AGM, 6 cells; lowest 10.8 V", "cut-off 10.5 V"), "cut_off_order").finding("mill")
    assert finding.message == (
        "mill: it cuts off at 10.5 V; house is at the lowest voltage at 10.8 V. It empties the battery as far as that bears, or further"
        " (0.2 V for each 12 V is the margin)."
    )


def test_the_margin_grows_with_the_system(said) -> None:  # type: ignore[no-untyped-def]
    two = "battery second { LFP, 4 cells; lowest 10.8 V; bms { low cut-off 11.2 V } }\nwire link from second.minus to house.plus\n"
    text = (build(mill="cut-off 22.7 V", system="system 24 V") + two).replace(
        "from house.plus to mill", "from second.plus to mill"
    )
    finding = said(text, "cut_off_order").finding("mill")
    assert finding.limit.value == pytest.approx(22.4 + 0.4)
    assert said(text.replace("system 24 V", ""), "cut_off_order").finding("mill").limit.value == pytest.approx(22.8)
    assert not said(text.replace("22.7 V", "22.8 V"), "cut_off_order").findings


def test_of_packs_side_by_side_the_first_to_open_counts(said) -> None:  # type: ignore[no-untyped-def]
    pack = "battery pack { LFP, 4 cells; lowest 10.8 V; bms { low cut-off 11.5 V } }\nwire p from pack.plus to house.plus\nwire q from pack.minus to house.minus\n"
    finding = said(build(mill="cut-off 11.5 V") + pack, "cut_off_order").finding("mill")
    assert finding.limit.value == pytest.approx(11.7)
    assert "the BMS of pack opens at 11.5 V" in finding.message


@pytest.mark.parametrize(
    ("guard", "mill", "grades"),
    [
        ("opens at 11.8 V", "cut-off 11.8 V", []),
        ("opens at 11.79 V", "cut-off 11.8 V", ["loads-last"]),
        ("opens at 11.9 V plus or minus 0.2 V", "cut-off 11.8 V", ["loads-last"]),
        ("opens at 11.8 V", "cut-off 11.7 V to 11.9 V", ["loads-last"]),
        ("opens at 11.0 V", "cut-off 11.5 V", ["loads-last", "below-battery"]),
        ("opens at 11.0 V", "no cut-off", ["below-battery"]),
        ("60 A", "cut-off 11.5 V", []),  # a threshold that is not there drops out
    ],
)
def test_loads_before_the_inverter(said, guard: str, mill: str, grades: list[str]) -> None:  # type: ignore[no-untyped-def]
    found = said(build(mill=mill, guard=guard.replace("60 A", "electronic")), "cut_off_order")
    assert sorted(grade for _, grade, _ in found.grades) == sorted(grades)
    assert {chief for chief, _, _ in found.grades} <= {"guard"}


def test_a_load_output_counts_where_it_is_used(said) -> None:  # type: ignore[no-untyped-def]
    sun = (
        "controller sun { PWM; 10 A; load output opens at 11.0 V }\nload lamp 5 W\nwires 10 AWG, 1 m {\n  c from sun.batt_plus to house.plus\n"
        "  d from sun.batt_minus to house.minus\n  USED\n}\n"
    )
    used = "e from sun.load_plus to lamp.plus\n  f from lamp.minus to sun.load_minus"
    found = said(build() + sun.replace("USED", used), "cut_off_order")
    assert [grade for _, grade, _ in found.grades] == ["below-battery", "loads-last"]
    assert found.finding("sun", "loads-last").message.startswith(
        "sun: its load output cuts off at 11 V, after the inverter mill at 11.5 V."
    )
    assert not said(build() + sun.replace("USED", ""), "cut_off_order").findings


@pytest.mark.parametrize(("low", "broken"), [("10.79 V", True), ("10.8 V", False), ("10.9 V plus or minus 0.2 V", True)])
def test_bms_above_the_minimum(said, low: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    found = said(build(LFP.replace("11.2 V", low)), "cut_off_order")
    assert bool(found.findings) is broken
    if broken:
        assert found.finding("house").grade == "bms-under-minimum"


@pytest.mark.parametrize(
    ("battery", "mill", "system", "missing"),
    [
        (LFP, "idle 5 W", "system 12 V", ("mill", "below-battery", "cut-off voltage of mill")),
        ("LFP, 4 cells", "cut-off 11.5 V", "system 12 V", ("mill", "below-battery", "low cut-off of the BMS of house")),
        ("12 V; lowest 10 V", "cut-off 11.5 V", "system 12 V", ("mill", "below-battery", "low cut-off of the BMS of house")),
        ("LFP, 4 cells; bms { cuts both }", "cut-off 11.5 V", "system 12 V", ("mill", "below-battery", "low cut-off of the BMS of house")),
        ("AGM, 6 cells", "cut-off 11.5 V", "system 12 V", ("mill", "below-battery", "lowest voltage of house")),
        ("AGM; lowest 10.5 V", "cut-off 11.5 V", "", ("mill", "below-battery", "nominal system voltage")),
        ("LFP, 4 cells; bms { low cut-off 11 V }", "cut-off 11.5 V", "system 12 V", ("house", "bms-under-minimum", "lowest voltage of house")),
    ],
)  # fmt: skip
def test_missing_data_are_named(said, battery: str, mill: str, system: str, missing: tuple[str, str, str]) -> None:  # type: ignore[no-untyped-def]
    found = said(build(battery, mill, system=system), "cut_off_order")
    assert not found.findings
    assert found.missing == [missing]


def test_nothing_that_cuts_off(said) -> None:  # type: ignore[no-untyped-def]
    found = said('rig "Torch", revision 1\nbattery house { AGM, 6 cells, 7 Ah }\n', "cut_off_order")
    assert [(item.condition, item.count) for item in found.idle] == [("nothing but the battery cuts off", 1)]
