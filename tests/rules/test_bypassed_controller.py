"""Rule bypassed-controller: the fault catalogue's example B9 end to end, ways around, common poles, what is missing."""

from __future__ import annotations

import pytest

BUILD = """rig "Hut", revision 1
case box { steel; BONDED }
battery house { AGM, 6 cells, 80 Ah }
array roof { Voc 22 V; Isc 6 A }
controller sun { PWM; 10 A; SAID }
wires 12 AWG, 1 m {
  in from roof.plus to sun.pv_plus
  home from sun.pv_minus to roof.minus
  charge from sun.batt_plus to house.plus
  back from house.minus to sun.batt_minus
MORE
}
"""
POSITIVE = "common positive"


def build(said: str = POSITIVE, more: str = "", bonded: str = "") -> str:
    return BUILD.replace("SAID", said).replace("MORE", more).replace("; BONDED", f"; {bonded}" if bonded else "")


def test_catalogue_b9(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, B9, Ex: metal case bonded to battery- and module frame lead PV- bonded to case -> error."""
    found = said(build(more="  bond from house.minus to box\n  frame from roof.minus to box"), "bypassed_controller")
    assert found.grades == [("sun", "panel-negative", "error")]
    finding = found.finding("sun")
    assert finding.subject == ("sun", "home", "frame")
    assert finding.message == (
        "sun: it has a common positive and switches its negatives, but its panel's negative is joined to the case box outside of"
        " it by home and frame. The panel charges past it, without an end."
    )


@pytest.mark.parametrize(
    ("more", "bonded", "grades"),
    [
        ("", "", []),
        ("  a from roof.minus to house.minus", "", ["panel-negative"]),
        ("  a from roof.frame to box\n  b from house.minus to box", "", []),
        ("", "bonded at roof.minus", ["panel-negative"]),
        ("", "bonded at house.minus", []),
        ("  a from sun.load_minus to house.minus", "", ["load-negative"]),
        ("  a from sun.load_plus to house.plus", "", []),
    ],
)
def test_ways_around(said, more: str, bonded: str, grades: list[str]) -> None:  # type: ignore[no-untyped-def]
    found = said(build(more=more, bonded=bonded), "bypassed_controller")
    assert [grade for _, grade, _ in found.grades] == grades


@pytest.mark.parametrize(
    ("was", "now", "grades"),
    [
        ("home from sun.pv_minus to roof.minus", "home from house.minus to roof.minus", ["panel-negative"]),
        ("home from sun.pv_minus to roof.minus", "home from lower.minus to house.minus\n  on from roof.minus to lower.plus", ["panel-negative"]),
        ("home from sun.pv_minus to roof.minus", "home from lower.minus to sun.pv_minus\n  on from roof.minus to lower.plus", []),
        ("MORE", "  a from sun.load_plus to lamp.plus\n  b from lamp.minus to house.minus", ["load-negative"]),
        ("MORE", "  a from sun.load_plus to lamp.plus\n  b from lamp.minus to sun.load_minus", []),
        ("MORE", "  a from house.plus to lamp.plus\n  b from lamp.minus to house.minus", []),
        ("MORE", "  a from house.plus to sun.load_plus\n  b from house.plus to lamp.plus\n  c from lamp.minus to house.minus", []),
    ],
)  # fmt: skip
def test_a_negative_that_does_not_come_home_to_the_controller(said, was: str, now: str, grades: list[str]) -> None:  # type: ignore[no-untyped-def]
    text = BUILD.replace(was, now).replace("MORE", "").replace("SAID", POSITIVE).replace("; BONDED", "")
    text += "load lamp 10 W\n" * ("lamp" in now) + "array lower { Voc 22 V; Isc 6 A }\n" * ("lower" in now)
    assert [grade for _, grade, _ in said(text, "bypassed_controller").grades] == grades


def test_a_switch_on_the_way_may_be_closed_and_a_resistor_is_no_way(said) -> None:  # type: ignore[no-untyped-def]
    by_switch = build(more="  a from roof.minus to link.line\n  b from link.load to house.minus") + "switch link 10 A\n"
    assert said(by_switch, "bypassed_controller").findings
    by_resistor = build(more="  a from roof.minus to link.a\n  b from link.b to house.minus") + "resistor link 1 kohm\n"
    assert not said(by_resistor, "bypassed_controller").findings


@pytest.mark.parametrize("pole", ["common negative", "no common pole"])
def test_other_poles_pass(said, pole: str) -> None:  # type: ignore[no-untyped-def]
    found = said(
        build(pole, "  a from roof.minus to house.minus\n  b from sun.load_minus to house.minus"), "bypassed_controller"
    )
    assert not found.findings
    assert {passed.grade for passed in found.passes} == {"panel-negative", "load-negative"}


def test_missing_data_are_named_where_they_decide(said) -> None:  # type: ignore[no-untyped-def]
    silent = said(build("float 13.6 V", "  a from roof.minus to house.minus"), "bypassed_controller")
    assert silent.missing == [("sun", "panel-negative", "pole that its inputs and outputs have in common")]
    assert said(build("float 13.6 V"), "bypassed_controller").passed("sun", "panel-negative")


def test_an_unused_controller_is_counted(said) -> None:  # type: ignore[no-untyped-def]
    found = said('rig "Shelf", revision 1\ncontroller spare { PWM; common positive }\n', "bypassed_controller")
    assert [(item.condition, item.count) for item in found.idle] == [("nothing hangs on its negative terminals", 1)]
