"""Rule unsafe-order: the fault catalogue's example H5, bars and posted orders, selectors that short or reverse, and how it yields."""

from __future__ import annotations

from datetime import date

import pytest
from ohmwright.inspecting import InspectOptions, inspect_files
from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.resolve import Loader

BUILD = """rig "Sun box", revision 1
site { record low -10 degC }
battery house { LFP, 4 cells, 60 Ah }
array roof { Voc 22 V; Isc 6 A; Voc -0.30 %/K }
controller sun { PWM; 10 A; CONTROLLER }
SWITCHES
wires 10 AWG, 0.4 m {
  a from roof.plus to PV.line
  b from PV.load to sun.pv_plus
  c from sun.pv_minus to roof.minus
  d from sun.batt_plus to BAT.lineN
  e from BAT.loadN to house.plus
  f from sun.batt_minus to house.minus
}
"""
LAMP = "load lamp { 10 W; works on 10 V to 15 V }\nwire g from sun.batt_plus to lamp.plus, 10 AWG, 1 m\nwire h from lamp.minus to sun.batt_minus, 10 AWG, 1 m\n"


def two(switches: str = "switch pv 20 A\nswitch bat 20 A", controller: str = "not bears PV with no battery") -> str:
    text = BUILD.replace("SWITCHES", switches).replace("CONTROLLER", controller)
    return text.replace("PV.", "pv.").replace("BAT.", "bat.").replace("lineN", "line").replace("loadN", "load")


def one() -> str:
    text = BUILD.replace("SWITCHES", "switch both { 20 A; 2 poles }").replace("CONTROLLER", "not bears PV with no battery")
    return text.replace("PV.", "both.").replace("BAT.", "both.").replace("lineN", "line2").replace("loadN", "load2")


def test_catalogue_h5(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, H5, Ex: two separate toggles PV and BAT: combination ON/OFF fires B1 -> warning; one 2-pole switch -> pass."""
    found = said(two(), "unsafe_order")
    assert [item[1:] for item in found.grades] == [("panel-alone", "warning")]
    assert found.findings[0].subject[:2] == ("bat", "sun")
    assert not said(one(), "unsafe_order").findings


def test_a_load_that_is_exposed_is_an_error_and_a_posted_order_lowers_it(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, H5: that of the rule broken; a clear label lowers B1 to a warning."""
    assert [item[1:] for item in said(two() + LAMP, "unsafe_order").grades] == [("exposes-load", "error")]
    posted = two() + LAMP + "procedure { connection order posted }\n"
    assert [item[1:] for item in said(posted, "unsafe_order").grades] == [("exposes-load", "warning")]


@pytest.mark.parametrize("controller", ["bears PV with no battery", "float 13.5 V"])
def test_controllers_that_may_stand_alone_or_do_not_say(said, controller: str) -> None:  # type: ignore[no-untyped-def]
    found = said(two(controller=controller), "unsafe_order")
    assert not found.findings and not found.unchecked and found.idle


SELECTORS = """rig "Two selectors", revision 1
battery house { LFP, 4 cells, 60 Ah }
selector first { 50 A; position one joins a; position two joins b }
selector second { 50 A; position one joins a; position two joins b }
load pump 5 A
wires 10 AWG, 0.4 m {
  a from house.plus to first.a
  b from house.minus to first.b
  c from house.minus to second.a
  d from house.plus to second.b
  f from second.common to pump.minus
  g from first.common to pump.plus
}
"""


def test_selectors(said) -> None:  # type: ignore[no-untyped-def]
    assert [item[1:] for item in said(SELECTORS, "unsafe_order").grades] == [("reverses", "error")]
    link = SELECTORS + "wire k from first.common to second.common, 10 AWG, 0.3 m\n"
    assert ("shorts", "error") in [item[1:] for item in said(link, "unsafe_order").grades]
    fine = SELECTORS.replace("c from house.minus", "c from house.minus").replace(
        "d from house.plus to second.b", "d from house.minus to second.b"
    )
    fine = fine.replace("b from house.minus to first.b", "b from house.plus to first.b")
    found = said(fine, "unsafe_order")
    assert not found.findings and len(found.passes) == 2


def test_a_motor_that_selectors_turn_both_ways_is_meant_so(said) -> None:  # type: ignore[no-untyped-def]
    """As reversed-polarity leaves it out; one that only turns backward is found there."""
    winch = SELECTORS.replace("load pump 5 A", "load pump { 5 A; motor }")
    assert not said(winch, "unsafe_order").findings
    lamp = (
        winch
        + "load lamp 1 A\nwire x from first.common to lamp.plus, 16 AWG, 1 m\nwire y from lamp.minus to second.common, 16 AWG, 1 m\n"
    )
    assert [item.subject[-1] for item in said(lamp, "unsafe_order").findings] == ["lamp"]
    second = "selector second { 50 A; position one joins a; position two joins b }"
    one_way = winch.replace(second, "selector second { 50 A; position off joins nothing; position one joins a }")
    one_way = one_way.replace("  d from house.plus to second.b\n", "")
    assert not said(one_way, "unsafe_order").findings
    backward = one_way.replace("g from first.common to pump.plus", "g from first.common to pump.minus")
    backward = backward.replace("f from second.common to pump.minus", "f from second.common to pump.plus")
    assert said(backward, "reversed_polarity").grades == [("pump", "swapped", "error")]


def test_it_yields_to_the_rule_that_is_broken() -> None:
    """Readings, One cause, one finding: B1 > H5; any rule > H5."""
    options = InspectOptions(today=date(2026, 1, 1), only=("unsafe-order", "panel-without-battery"))
    result = inspect_files(["box.rig"], Loader(MemoryFiles({"box.rig": two()})), options)
    (build,) = result.builds
    assert [item.rule.id for item in build.findings] == ["panel-without-battery"]
    assert [item.rule.id for item in build.yielded] == ["unsafe-order"]
