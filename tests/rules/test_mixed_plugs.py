"""Rule mixed-plugs: the fault catalogue's example G11, makes, series, approvals, the array's side, missing data."""

from __future__ import annotations

import pytest

BUILD = """rig "Panel on a plug", revision 1
array roof { Voc 22 V; Isc 6 A }
battery house { LFP, 4 cells, 60 Ah }
load lamp { 5 W }
controller sun { MPPT; 20 A }
connector inlet with plug { pins 1, 2; inlet { ONE } ; plug { TWO } }
connector lamp_out with lamp_plug { pins 1, 2; lamp_out { made by "A" } ; lamp_plug { made by "B" } }
wires 12 AWG, 0.4 m {
  a from roof.plus to plug.1
  b from roof.minus to plug.2
  c from inlet.1 to sun.pv_plus
  d from inlet.2 to sun.pv_minus
  e from sun.batt_plus to house.plus
  f from sun.batt_minus to house.minus
  g from house.plus to lamp_out.1
  h from house.minus to lamp_out.2
  i from lamp_plug.1 to lamp.plus
  j from lamp_plug.2 to lamp.minus
}
"""
A = 'made by "A"; product series "lock 4"'


def build(here: str, there: str) -> str:
    return BUILD.replace("ONE", here).replace("TWO", there)


def test_catalogue_g11(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, G11, Ex: maker A plug + "compatible" socket -> warning."""
    found = said(build('made by "A"', 'made by "B"; product series "compatible"'), "mixed_plugs")
    assert found.grades == [("inlet", "mixed", "warning")]
    assert found.finding("inlet").message.startswith("inlet (A) and plug (B compatible) go together")
    assert [(item.condition, item.count) for item in found.idle] == [("does not lie on the array's side", 1)]


@pytest.mark.parametrize(
    ("here", "there", "outcome"),
    [
        (A, A, "passes"), (A, A.replace("lock 4", "Lock  4"), "passes"), (A, A.replace("lock 4", "lock 5"), "finds"),
        (A, 'made by "A"', "series of both halves"), (A, "10 A", "make of both halves"), ("10 A", A, "make of both halves"),
        (f'{A}; approved with "B lock 9"', 'made by "B"; product series "lock 9"', "passes"),
        (f'{A}; approved with "B"', 'made by "B"; product series "lock 9"', "passes"),
        (A, 'made by "B"; approved with "A lock 4"', "passes"),
        (f'{A}; approved with "B lock 8"', 'made by "B"; product series "lock 9"', "finds"),
        (f'{A}; approved with "C lock 9"', 'made by "B"; product series "lock 9"', "finds"),
    ],
)  # fmt: skip
def test_makes_and_series(said, here: str, there: str, outcome: str) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, G11: make and series equal, or the pair listed."""
    found = said(build(here, there), "mixed_plugs")
    assert bool(found.findings) is (outcome == "finds")
    assert bool(found.passes) is (outcome == "passes")
    assert [item.missing for item in found.unchecked] == ([] if outcome in ("finds", "passes") else [outcome])


def test_battery_side_is_not_the_arrays(said) -> None:  # type: ignore[no-untyped-def]
    text = (
        build("10 A", "10 A")
        .replace("c from inlet.1 to sun.pv_plus", "c from inlet.1 to house.plus")
        .replace("sun.pv_minus", "house.minus")
    )
    found = said(text, "mixed_plugs")
    assert found.unchecked == [] and found.findings == []
