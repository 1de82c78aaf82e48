"""Rule unguarded-outlet: the fault catalogue's example I6, who is exempt, wet places, missing data."""

from __future__ import annotations

import pytest

BUILD = """rig "Stall", revision 1
SITE
battery house { LFP, 4 cells, 50 Ah }
inverter power { 120 V AC; INVERTER }
connector outlet { household socket; pin 1 L; pin 2 N; on the panel; female; outlet; OUTLET }
wire L from power.L to outlet.1, 14 AWG
wire N from power.N to outlet.2, 14 AWG
"""
DRY, WET = "site { not damp }", "site { damp }"
ISOLATED = "600 W; floating; feeds plug-in loads; output isolated from the frame"


def build(inverter: str, outlet: str = "15 A", site: str = DRY) -> str:
    return BUILD.replace("INVERTER", inverter).replace("OUTLET", outlet).replace("SITE", site)


def test_catalogue_i6(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, I6, Ex: 600 W isolated unit, indoor, direct loads -> pass + note; feeding a wired cabin -> warning."""
    assert said(build(ISOLATED), "unguarded_outlet").grades == [("power", "blind", "note")]
    wired = ISOLATED.replace("plug-in loads", "house wiring")
    assert ("outlet", "floating-wiring", "warning") in said(build(wired), "unguarded_outlet").grades


def test_house_wiring_in_the_wet_is_told_for_both(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, I6: each is a fault without the other, and a device mends both."""
    wired = ISOLATED.replace("plug-in loads", "house wiring")
    told = said(build(wired, site=WET), "unguarded_outlet")
    assert {item[:2] for item in told.grades} == {("outlet", "no-device"), ("outlet", "floating-wiring"), ("power", "blind")}
    assert {item[:2] for item in said(build(wired, "GFCI", WET), "unguarded_outlet").grades} == {("power", "blind")}
    bonded = wired.replace("floating", "earthed neutral")
    assert said(build(bonded, site=WET), "unguarded_outlet").grades == [("outlet", "no-device", "warning")]


def test_house_wiring_asks_for_the_neutral(said) -> None:  # type: ignore[no-untyped-def]
    """Readings, Silence: never a pass where it decides."""
    told = said(build("600 W; feeds house wiring"), "unguarded_outlet")
    assert told.missing == [("outlet", "floating-wiring", "whether its neutral is bonded to earth inside")]


@pytest.mark.parametrize(
    ("inverter", "outlet", "found", "missing"),
    [
        (ISOLATED, "15 A", False, ""),  # 29 CFR 1926.404(b)(1)(ii): at most 5 kW, two wires, isolated
        (ISOLATED.replace("600 W", "5000 W"), "15 A", False, ""),
        (ISOLATED.replace("600 W", "5001 W"), "15 A", True, ""),
        (ISOLATED.replace("output isolated", "not output isolated"), "15 A", True, ""),
        (ISOLATED.replace("output isolated", "not output isolated"), "GFCI", False, ""),
        (ISOLATED.replace("output isolated", "not output isolated"), 'exempt because "guarded upstream"', False, ""),
        (ISOLATED.replace("output isolated", "not output isolated"), "not damp or outdoor", False, ""),
        ("600 W; floating; feeds plug-in loads", "15 A", False, "whether its output is isolated from its frame"),
        ("floating; feeds plug-in loads; output isolated", "15 A", False, "rated power"),
    ],
)  # fmt: skip
def test_in_the_wet(said, inverter: str, outlet: str, found: bool, missing: str) -> None:  # type: ignore[no-untyped-def]
    told = said(build(inverter, outlet, WET), "unguarded_outlet")
    assert (("outlet", "no-device", "warning") in told.grades) is found
    assert [item.missing for item in told.unchecked] == ([missing] if missing else [])


def test_silence_about_the_place(said) -> None:  # type: ignore[no-untyped-def]
    told = said(build("600 W; earthed neutral; not output isolated from the frame", site=""), "unguarded_outlet")
    assert [item.missing for item in told.unchecked] == ["whether the outlet is in a damp place or outdoors"]


def test_no_outlet_no_question(said) -> None:  # type: ignore[no-untyped-def]
    told = said('rig "Bare", revision 1\nbattery house { LFP, 4 cells, 50 Ah }\ninverter power { 600 W }\n', "unguarded_outlet")
    assert not told.grades
    assert [item.condition for item in told.idle] == ["nothing is joined to the output of an inverter"]
