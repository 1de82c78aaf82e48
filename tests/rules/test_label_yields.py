"""One cause, one finding, where labels, budgets and shorts meet: what is told beside each other, and what yields."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any


def test_holder_that_takes_too_much_is_told_beside_its_missing_label(together: Callable[..., Any]) -> None:
    """Catalogue, F18 and M3: the limit of the wire is not what a missing label says, and another holder mends it without a label."""
    text = """rig "Box", revision 1
basis us-small-craft
system 12 V
site { ambient 0 degC to 30 degC }
all wires { copper; 105 degC insulation; in free air; 16 AWG; 1 m }
battery house { LFP, 4 cells, 100 Ah }
fuse main { 10 A blade; line on house.plus; holder { block; 40 A } }
load winch 5 A
wire a from main.load to winch.plus
wire b from winch.minus to house.minus
"""
    both = {"roomy-holder.unlabelled on main", "unmarked-fuse.no-label on main"}
    assert together(text, "roomy_holder", "unmarked_fuse") == (both, set())
    assert together(text.replace("40 A }", "30 A }"), "roomy_holder", "unmarked_fuse") == (
        {"unmarked-fuse.no-label on main"},
        set(),
    )


def test_short_takes_what_the_main_then_carries(together: Callable[..., Any]) -> None:
    """By the circuit as declared: what flows through the main with the bank shorted is not what its loads draw."""
    text = """rig "Shop", revision 1
system 12 V
battery house { LFP, 4 cells, 100 Ah; internal resistance 5 mohm }
fuse main { 60 A; line on house.plus }
loads { fan { 15 A }; lamp { 10 A } }
wires 8 AWG, 1 m {
  b from main.load to fan.plus
  c from main.load to lamp.plus
  d from fan.minus to house.minus
  e from lamp.minus to house.minus
}
"""
    assert together(text, "short_circuit", "overloaded_main") == (set(), set())
    text = text.replace("c from main.load to lamp.plus", "c from main.load to house.minus")
    assert together(text, "short_circuit", "overloaded_main") == (
        {"short-circuit.shorted on house, main, c"}, {"overloaded-main.over-main on main, fan, lamp"},
    )  # fmt: skip


def test_plug_that_fits_elsewhere_carries_its_own_missing_labels_only(together: Callable[..., Any]) -> None:
    """Catalogue, G2 with M4: what is mistaken carries its labels; the third socket fits nothing else, and its label is missing all the same."""
    text = """rig "Panel", revision 1
system 12 V
battery house { LFP, 4 cells, 100 Ah }
connector one with one_plug { family "round two"; one { female sockets; on the panel; pin 1 plus; pin 2 minus } ; one_plug { bare pins } }
connector two with two_plug { family "round two"; two { female sockets; on the panel; pin 1 minus; pin 2 plus } ; two_plug { bare pins } }
connector three with three_plug { family "square two"; three { female sockets; on the panel; pin 1 plus; pin 2 minus } ; three_plug { bare pins } }
wires 12 AWG, 0.4 m {
  a from house.plus to one.1; b from house.minus to one.2
  c from house.plus to two.2; d from house.minus to two.1
  e from house.plus to three.1; f from house.minus to three.2
}
"""
    standing, yielded = together(text, "mistakable_plug", "unmarked_connector")
    assert standing == {"mistakable-plug.polarity on one, two_plug, one_plug, two", "unmarked-connector.no-label on three"}
    assert yielded == {"unmarked-connector.no-label on one, two"}
    labels = 'label x { "12 V 10 A + - outlet"; at three }\n'
    assert together(text + labels, "mistakable_plug", "unmarked_connector") == (
        {"mistakable-plug.polarity on one, two_plug, one_plug, two"}, {"unmarked-connector.no-label on one, two"},
    )  # fmt: skip


def test_promise_about_touch_leaves_the_thin_harvest(together: Callable[..., Any]) -> None:
    """Catalogue, J3 and R13: the array is dangerous to touch and too small; neither mends the other."""
    text = """rig "Hut", revision 1
system 12 V
site { ambient 12 degC to 30 degC; record low 0 degC; sun 2.1 h/day }
battery house { LFP, 4 cells, 12.8 V, 100 Ah; internal resistance 5 mohm }
array roof { 200 W; Voc 22 V; Isc 12 A; Vmp 18 V; Imp 11 A; share left 70 % }
controller sun { MPPT; 20 A }
load lamp { 60 W; for 20 h/day }
wires 8 AWG, 0.3 m {
  a from roof.plus to sun.pv_plus; b from sun.pv_minus to roof.minus
  c from sun.batt_plus to house.plus; d from house.minus to sun.batt_minus
  e from house.plus to lamp.plus; f from lamp.minus to house.minus
}
require nothing touchable above 15 V
"""
    standing, yielded = together(text, "broken_promise", "thin_harvest")
    assert standing == {"broken-promise.cannot-do on roof, nothing touchable above 15 V", "thin-harvest.no-margin on roof"}
    assert yielded == set()


def test_one_wire_in_two_roles_leaves_the_others_outside_of_the_scheme(together: Callable[..., Any]) -> None:
    """Common practice, no source: a table without orange is told of all orange wires, the one on the other pole as well."""
    text = """rig "Box", revision 1
site { colour red for plus; colour black for minus }
battery house { LFP, 4 cells, 50 Ah }
loads { lamp { 10 W }; fan { 10 W } }
wires 14 AWG, 1 m {
  a from house.plus to lamp.plus, orange; b from house.plus to fan.plus, orange
  c from lamp.minus to house.minus, orange; d from fan.minus to house.minus, black
}
"""
    standing, yielded = together(text, "misleading_colour", "two_schemes")
    assert standing == {"misleading-colour.two-roles on c", "two-schemes.not-in-scheme on a, b, c"}
    assert yielded == set()
